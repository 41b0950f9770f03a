"""What must not change the answer: finer meshes, the other hand, the units, the solver."""

from dataclasses import replace

import numpy as np
import pytest
from handmade import DEMOS, Ladder, case, demo, mirror, section, simply_held, two_rails
from hypothesis import given, seed
from hypothesis import strategies as st
from ladders import PROPERTY, SEED, build, finest, ladders, stiffnesses

from fea.analyse import analyse
from fea.element.beam import N_FREEDOMS
from fea.frame.case import Place, Push, Weight
from fea.frame.model import Frame, Member
from fea.result.answer import answers
from fea.result.stress import peaks
from fea.section import shapes

SAME = 1e-9

IMAGE = np.array([1.0, -1.0, 1.0, -1.0, 1.0, -1.0, -1.0])
"""What a node's freedoms become in the mirror: axial vectors and the rate of twist turn over."""


def assert_same(ours: object, theirs: object) -> None:
    np.testing.assert_allclose(ours, theirs, rtol=SAME, atol=0.0)


@pytest.mark.parametrize(("name", "stock"), DEMOS)
def test_a_finer_mesh_of_a_shipped_frame(name: str, stock: bool) -> None:
    frame = demo(name, stock)
    for refine in {2, finest(frame, 5), finest(frame, 10)}:
        assert_same(stiffnesses(frame, refine=refine), stiffnesses(frame))


@PROPERTY
@seed(SEED)
@given(ladders(), st.integers(2, 10))
def test_a_finer_mesh(ladder: Ladder, refine: int) -> None:
    frame = build(ladder)
    assert_same(stiffnesses(frame, refine=finest(frame, refine)), stiffnesses(frame))


@PROPERTY
@seed(SEED)
@given(ladders())
def test_the_other_solver(ladder: Ladder) -> None:
    frame = build(ladder)
    assert_same(stiffnesses(frame, backend="superlu"), stiffnesses(frame, backend="banded"))


@pytest.mark.parametrize(("name", "stock"), DEMOS)
def test_the_other_solver_on_a_shipped_frame(name: str, stock: bool) -> None:
    frame = demo(name, stock)
    assert_same(stiffnesses(frame, backend="superlu"), stiffnesses(frame, backend="banded"))


@PROPERTY
@seed(SEED)
@given(ladders())
def test_inches_and_pounds(ladder: Ladder) -> None:
    assert '" in"' not in ladder.toml("mm")
    assert " mm" not in ladder.toml("in")
    assert_same(stiffnesses(build(ladder, "in")), stiffnesses(build(ladder, "mm")))


def assert_mirrored(frame: Frame) -> None:
    """Compare the frame twisted one way with its image twisted the other way, node by node."""
    ours = analyse(frame, [case("twist"), case("bending")])
    theirs = analyse(mirror(frame), [case("twist_mirror"), case("bending")])
    for one, other in zip(ours.solutions, theirs.solutions, strict=True):
        here = one.u.reshape(-1, N_FREEDOMS)
        there = other.u.reshape(-1, N_FREEDOMS) * IMAGE
        for part in (slice(0, 3), slice(3, 6), slice(6, 7)):
            size = np.max(np.abs(here[:, part]))
            assert np.max(np.abs(there[:, part] - here[:, part])) <= SAME * size
    for one, other in zip(answers(ours), answers(theirs), strict=True):
        stress = {p.member: p.von_mises for p in one.peaks}
        image = {p.member: p.von_mises for p in other.peaks}
        largest = max(stress.values())
        for name, value in stress.items():
            assert abs(image[name] - value) <= 1e-8 * largest


@PROPERTY
@seed(SEED)
@given(ladders())
def test_the_mirror_image(ladder: Ladder) -> None:
    assert_mirrored(build(ladder))


@pytest.mark.parametrize(("name", "stock"), DEMOS)
def test_the_mirror_image_of_a_shipped_frame(name: str, stock: bool) -> None:
    assert_mirrored(demo(name, stock))


def test_the_mirror_image_of_braces_that_meet() -> None:
    for name in ("orchard_pickup", "harbour_tourer"):
        assert_mirrored(demo(name, fit=("x_member",)))


def rolled(one: Member, angle: float) -> Member:
    """Return the same metal with its section axes rolled about the member, up and all.

    The midline turns one way in its own axes, these turn the other way in space.
    """
    c, s = np.cos(angle), np.sin(angle)
    along = one.path[-1] - one.path[0]
    side = np.cross(one.up, along / np.linalg.norm(along))
    turn = np.array([[c, -s], [s, c]])
    runs = []
    for run in one.runs:
        line = run.section.midline
        moved = replace(run.section, midline=replace(line, points=line.points @ turn.T))
        runs.append(replace(run, section=moved))
    return replace(one, runs=tuple(runs), up=s * side + c * one.up)


SHAPES = {
    "channel": shapes.channel(depth=120.0, flange=50.0, wall=3.0),
    "angle": shapes.angle(depth=80.0, flange=50.0, wall=4.0),
    "hat": shapes.hat(depth=80.0, width=60.0, lip=20.0, wall=3.0),
    "Z": shapes.zed(depth=110.0, flange=45.0, wall=3.0),
    "box": shapes.box(depth=100.0, width=60.0, wall=3.0),
}


@PROPERTY
@seed(SEED)
@given(
    st.sampled_from(sorted(SHAPES)),
    st.sampled_from(sorted(SHAPES)),
    st.lists(st.floats(-3.0, 3.0), min_size=5, max_size=5),
)
def test_where_a_section_has_its_axes(rail: str, cross: str, angles: list[float]) -> None:
    """The axes that a section is described in are nobody's business but its own."""
    bars = [section(SHAPES[name], name, is_open=name != "box") for name in (rail, cross)]
    frame = two_rails(2400.0, 800.0, bars[0], bars[1], [0.0, 1000.0, 2400.0])
    members = tuple(rolled(m, a) for m, a in zip(frame.members, angles, strict=True))
    load = simply_held([Push(Place(wheelbase=0.4), (300.0, 200.0, -1000.0))])
    load = replace(load, weight=Weight())
    one, other = (analyse(f, [load]).solutions[0] for f in (frame, replace(frame, members=members)))
    turn = np.max(np.abs(one.u.reshape(-1, N_FREEDOMS)[:, 3:6]))
    for part in (slice(0, 3), slice(3, 6), slice(6, 7)):
        here, there = (s.u.reshape(-1, N_FREEDOMS)[:, part] for s in (one, other))
        # Where nothing warps (boxes), a rate of twist of the turning over a metre is nothing.
        size = max(np.max(np.abs(here)), turn / 1000.0)
        assert np.max(np.abs(there - here)) <= SAME * size
    stress = [{p.member: p.von_mises for p in peaks(s)} for s in (one, other)]
    for name, value in stress[0].items():
        assert abs(stress[1][name] - value) <= 1e-8 * max(stress[0].values())


@PROPERTY
@seed(SEED)
@given(ladders())
def test_twist_the_other_way(ladder: Ladder) -> None:
    one, other = answers(analyse(build(ladder), [case("twist"), case("twist_mirror")]))
    assert_same(other.twist_stiffness, one.twist_stiffness)
    assert_same(other.solution.u, -one.solution.u)


@pytest.mark.parametrize(("name", "stock"), DEMOS)
def test_a_shipped_frame_is_alike_on_both_sides(name: str, stock: bool) -> None:
    assert_same(stiffnesses(mirror(demo(name, stock))), stiffnesses(demo(name, stock)))
