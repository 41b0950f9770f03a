"""What must not change frequencies: the other hand, a finer mesh, more modes asked for."""

import numpy as np
import pytest
from handmade import DEMOS, case, demo, mirror
from hypothesis import given, seed, settings
from ladders import PROPERTY, SEED, build, ladders

from fea.errors import SolveError
from fea.result.modes import frame_modes, solutions


def frequencies(frame: object, count: int = 6, **options: object) -> np.ndarray:
    return np.array([m.frequency for m in frame_modes(frame, count, **options).modes])


@pytest.mark.parametrize(("name", "stock"), DEMOS)
def test_the_mirror_image_of_a_shipped_frame(name: str, stock: bool) -> None:
    frame = demo(name, stock)
    np.testing.assert_allclose(
        frequencies(mirror(frame), bare=True), frequencies(frame, bare=True), rtol=1e-7
    )


@settings(PROPERTY, max_examples=8)  # each is refined twice and more
@seed(SEED)
@given(ladders())
def test_the_mirror_image(ladder: object) -> None:
    frame = build(ladder)
    ours, theirs = (frequencies(f, bare=True, count=4) for f in (frame, mirror(frame)))
    np.testing.assert_allclose(ours, theirs, rtol=1e-6)


@pytest.mark.parametrize(("name", "stock"), DEMOS)
def test_refinement_settles_where_it_says(name: str, stock: bool) -> None:
    frame = demo(name, stock)
    once, finer = (frame_modes(frame, 6, settled=limit) for limit in (1e-3, 1e-4))
    ours, theirs = ([m.frequency for m in f.modes] for f in (once, finer))
    assert finer.refine >= once.refine
    np.testing.assert_allclose(ours, theirs, rtol=1e-3)
    # Consistent mass: every refinement brings frequencies down, never up.
    assert np.all(np.array(theirs) <= np.array(ours) * (1.0 + 1e-9))


def test_what_is_carried_slows_a_frame() -> None:
    frame = demo("orchard_pickup")
    bare, kerb, laden = (frequencies(frame, **how) for how in ({"bare": True}, {}, {"laden": True}))
    assert np.all(kerb < bare)
    assert np.all(laden < kerb * (1.0 + 1e-9))


def test_on_its_springs_a_frame_heaves_rolls_and_pitches_first() -> None:
    found = frame_modes(demo("orchard_pickup"), 4, standing="springs")
    assert found.n_rigid == 3
    first = {m.name for m in found.modes[:3]}
    assert first == {f"whole vehicle, {w}" for w in ("bounce", "roll", "pitch")}
    # Four springs under the sprung mass: the mean of 45 and 50 N/mm a corner.
    by_hand = np.sqrt(2.0 * (45.0 + 50.0) / (found.metal + found.carried)) / (2.0 * np.pi)
    heave = next(m.frequency for m in found.modes if m.name.endswith("bounce"))
    assert heave == pytest.approx(by_hand, rel=0.1)  # the frame gives, and bounce is not pure


def test_a_case_that_holds_everything_leaves_no_rigid_motion() -> None:
    found = frame_modes(demo("ladder_tubes"), 4, standing="case", case=case("twist"))
    assert found.n_rigid == 0


def test_sheet_metal_joints_weigh_what_the_frame_does() -> None:
    frame = demo("ladder_tubes")
    found = frame_modes(frame, 4, bare=True, sheet_joints=True)
    assert found.metal == pytest.approx(found.summary.steel, rel=2e-3)
    assert max(m.residual for m in found.modes) < 1e-8


def test_a_mode_can_be_drawn_as_a_solution() -> None:
    found = frame_modes(demo("ladder_tubes"), 3, bare=True)
    for mode, solved in zip(found.modes, solutions(found), strict=True):
        strain = 0.5 * float(np.sum(solved.deformations * solved.forces))
        strain += 0.5 * float(solved.spring_motion @ solved.spring_force)
        # Mass-normalised: twice the strain energy is the square of the circular frequency.
        assert 2.0 * strain == pytest.approx((2.0 * np.pi * mode.frequency) ** 2, rel=1e-8)


def test_too_many_modes_are_refused() -> None:
    with pytest.raises(SolveError):
        frame_modes(demo("ladder_tubes"), 5000, bare=True)
