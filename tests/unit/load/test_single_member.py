"""A single member clamped at one end: every motion and moment against closed forms."""

from dataclasses import replace

import numpy as np
import pytest
from handmade import SMALL_TUBE, STEEL, cantilever, simply_held, two_rails

from fea.analyse import Solution, analyse
from fea.errors import ModelError
from fea.frame.case import MOTIONS, Case, Hold, Motion, Place, Push, Read
from fea.frame.model import Frame
from fea.frame.spots import stiff_ends
from fea.load import loads
from fea.mesh.discretise import discretise
from fea.result.readings import readings
from fea.section import shapes
from fea.section.properties import properties

LENGTH = 1000.0
ROOT, TIP = Place(point="rail 0"), Place(point="rail 1")
CLAMPED = Hold(ROOT, "clamped")
TUBE = cantilever(LENGTH, SMALL_TUBE)
P = properties(SMALL_TUBE.midline)
E, G = STEEL.E, STEEL.G
TIGHT = 1e-9  # both sides are closed forms; what is left is round-off


def held(
    pushes: tuple[Push, ...] = (), holds: tuple[Hold, ...] = (), reads: tuple[Motion, ...] = MOTIONS
) -> Case:
    seen = tuple(Read(f"tip {m}", TIP, m) for m in reads)
    return Case("one", "One", "", "none", (CLAMPED, *holds), pushes, reads=seen)


def solved(case: Case, frame: Frame = TUBE) -> tuple[dict[str, float], Solution]:
    (solution,) = analyse(frame, [case]).solutions
    return {r.motion: r.value for r in readings(solution)}, solution


def borne(solution: Solution) -> dict[str, float]:
    """Return what the clamp bears, by motion."""
    motions, bears = solution.loads.motions[:7], solution.reactions[:7].tolist()
    return dict(zip(motions, bears, strict=True))


MOVED: tuple[Motion, ...] = MOTIONS[:6]
"""A square tube has no warping to read."""


def test_a_roll_moment_on_a_tube() -> None:
    found, solution = solved(held((Push(TIP, moment=(1e5, 0.0, 0.0)),), reads=MOVED))
    assert found["roll"] == pytest.approx(1e5 * LENGTH / (G * P.J), rel=TIGHT)
    assert borne(solution)["roll"] == pytest.approx(-1e5, rel=TIGHT)


def test_a_pitch_moment_on_a_tube() -> None:
    """Positive pitch lifts the front: here the root, so that the tip goes down."""
    found, solution = solved(held((Push(TIP, moment=(0.0, 1e5, 0.0)),), reads=MOVED))
    assert found["pitch"] == pytest.approx(1e5 * LENGTH / (E * P.I1), rel=TIGHT)
    assert found["height"] == pytest.approx(-1e5 * LENGTH**2 / (2.0 * E * P.I1), rel=TIGHT)
    assert borne(solution)["pitch"] == pytest.approx(-1e5, rel=TIGHT)


def test_a_yaw_moment_on_a_tube() -> None:
    found, solution = solved(held((Push(TIP, moment=(0.0, 0.0, 1e5)),), reads=MOVED))
    assert found["yaw"] == pytest.approx(1e5 * LENGTH / (E * P.I2), rel=TIGHT)
    assert found["offset"] == pytest.approx(1e5 * LENGTH**2 / (2.0 * E * P.I2), rel=TIGHT)
    assert borne(solution)["yaw"] == pytest.approx(-1e5, rel=TIGHT)


def test_a_force_on_a_tube() -> None:
    """Bending and shear; the tip turns by F L^2 / 2EI, the clamp bears F L."""
    found, solution = solved(held((Push(TIP, (0.0, 0.0, 1000.0)),), reads=MOVED))
    bent = 1000.0 * LENGTH**3 / (3.0 * E * P.I1) + 1000.0 * LENGTH * P.shear[1, 1] / G
    assert found["height"] == pytest.approx(bent, rel=TIGHT)
    assert found["pitch"] == pytest.approx(-1000.0 * LENGTH**2 / (2.0 * E * P.I1), rel=TIGHT)
    assert borne(solution)["height"] == pytest.approx(-1000.0, rel=TIGHT)
    assert borne(solution)["pitch"] == pytest.approx(1000.0 * LENGTH, rel=TIGHT)


def test_a_force_on_an_arm_is_a_force_and_its_moment() -> None:
    force, arm = np.array([100.0, -200.0, 1000.0]), np.array([-30.0, 17.79, 55.0])
    on_arm = Push(TIP, tuple(force), arm=tuple(arm))
    both = Push(TIP, tuple(force), moment=tuple(np.cross(arm, force)))
    one, _ = solved(held((on_arm,), reads=MOVED))
    two, _ = solved(held((both,), reads=MOVED))
    assert [one[m] for m in MOVED] == pytest.approx([two[m] for m in MOVED], rel=TIGHT)
    turned = float(np.cross(arm, force)[0]) * LENGTH / (G * P.J)
    assert one["roll"] == pytest.approx(turned, rel=TIGHT)
    assert turned != 0.0


# ------------------------------------------------------------------------ imposed motions


@pytest.mark.parametrize(
    ("motion", "stiffness"),
    [
        ("station", E * P.A / LENGTH),
        ("roll", G * P.J / LENGTH),
        ("pitch", E * P.I1 / LENGTH),
        ("yaw", E * P.I2 / LENGTH),
    ],
)
def test_an_imposed_motion_costs_its_stiffness(motion: Motion, stiffness: float) -> None:
    value = 0.01
    found, solution = solved(held(holds=(Hold(TIP, motion, value),), reads=MOVED))
    assert found[motion] == pytest.approx(value, rel=TIGHT)
    assert solution.reactions[7] == pytest.approx(stiffness * value, rel=TIGHT)
    assert borne(solution)[motion] == pytest.approx(-stiffness * value, rel=TIGHT)
    assert solution.loads.labels[7] == f"point rail 1 centre, {motion}"


@pytest.mark.parametrize("motion", MOVED)
def test_a_clamp_holds_every_motion(motion: Motion) -> None:
    """Nothing at the root moves, whichever way the tip is moved."""
    roots = tuple(Read(m, ROOT, m) for m in MOVED)
    case = replace(held(holds=(Hold(TIP, motion, 0.01),)), reads=roots)
    found, _ = solved(case)
    assert list(found.values()) == pytest.approx([0.0] * 6, abs=1e-15)


def test_clamped_is_all_seven_one_by_one(channel: Frame) -> None:
    push = Push(TIP, (100.0, 200.0, 300.0), moment=(1e5, 2e5, 3e5))
    whole = held((push,))
    apart = replace(whole, holds=tuple(Hold(ROOT, m) for m in MOTIONS))
    one, two = solved(whole, channel)[0], solved(apart, channel)[0]
    assert one == two
    loose = replace(whole, holds=apart.holds[:-1])  # the root free to warp
    assert solved(loose, channel)[0]["roll"] > 1.5 * one["roll"]


# ------------------------------------------------------------------- torsion with warping


@pytest.fixture(scope="module")
def channel() -> Frame:
    """Return a channel 120 x 50 x 3 at the middle of its sheet."""
    midline = shapes.channel(depth=123.0, flange=51.5, wall=3.0)
    section = replace(SMALL_TUBE, name="channel", midline=midline, is_open=True)
    return cantilever(LENGTH, section)


J = (120.0 + 2.0 * 50.0) * 3.0**3 / 3.0
"""Saint-Venant, thin wall."""
CW = 3.0 * 50.0**3 * 120.0**2 / 12.0 * (3.0 * 50.0 + 2.0 * 120.0) / (6.0 * 50.0 + 120.0)
"""Warping constant of a channel by its usual formula (flange, web at mid-thickness)."""
K = float(np.sqrt(G * J / (E * CW)))


def test_a_channel_twisted_at_a_tip_free_to_warp(channel: Frame) -> None:
    """Vlasov's cantilever: T L / GJ (1 - tanh kL / kL), and the rate of twist at its tip."""
    found, solution = solved(held((Push(TIP, moment=(1e5, 0.0, 0.0)),)), channel)
    kL = K * LENGTH
    assert found["roll"] == pytest.approx(1e5 * LENGTH / (G * J) * (1.0 - np.tanh(kL) / kL))
    assert found["warping"] == pytest.approx(1e5 / (G * J) * (1.0 - 1.0 / np.cosh(kL)))
    assert borne(solution)["warping"] == pytest.approx(-1e5 * np.tanh(kL) / K)


def test_a_channel_twisted_with_an_end_plate(channel: Frame) -> None:
    """Both ends held against warping: T L / GJ (1 - tanh(kL/2) / (kL/2))."""
    plate = (Hold(TIP, "warping"),)
    found, solution = solved(held((Push(TIP, moment=(1e5, 0.0, 0.0)),), plate), channel)
    half = K * LENGTH / 2.0
    assert found["roll"] == pytest.approx(1e5 * LENGTH / (G * J) * (1.0 - np.tanh(half) / half))
    assert found["warping"] == pytest.approx(0.0, abs=1e-18)
    # The rate of twist rises from the root and falls again to the tip: both ends are held back.
    assert solution.reactions[7] == pytest.approx(-1e5 * np.tanh(half) / K)
    assert borne(solution)["warping"] == pytest.approx(-1e5 * np.tanh(half) / K)


def test_a_force_through_the_shear_centre_does_not_twist(channel: Frame) -> None:
    """It lies 3 b^2 / (h + 6 b) outside the web; the web here is at offset 0, open side left."""
    outside = 3.0 * 50.0**2 / (120.0 + 6.0 * 50.0)
    middle = channel.members[0].runs[0].section.midline.points[:, 0].mean()
    arm = (0.0, float(-np.sign(middle)) * outside, 0.0)
    beside, _ = solved(held((Push(TIP, (0.0, 0.0, 1000.0), arm=arm),)), channel)
    at_web, _ = solved(held((Push(TIP, (0.0, 0.0, 1000.0)),)), channel)
    assert abs(beside["roll"]) < 1e-9 * abs(at_web["roll"])


# ----------------------------------------------------------------- rows, places, complaints


def test_the_mean_of_two_sides_is_read_and_held() -> None:
    frame = two_rails(2000.0, 800.0, SMALL_TUBE, SMALL_TUBE, [0.0, 1000.0, 2000.0])
    place = Place(station=700.0)
    reads = tuple(
        Read(side, replace(place, side=side), "pitch") for side in ("each", "mean", "right")
    )
    push = Push(Place(station=700.0, side="right"), (0.0, 0.0, -1000.0))
    case = replace(simply_held([push]), reads=reads)
    (solution,) = analyse(frame, [case]).solutions
    found = [(r.name, r.side, r.value) for r in readings(solution)]
    assert [(name, side) for name, side, _ in found] == [
        ("each", "right"), ("each", "left"), ("mean", "mean"), ("right", "right")
    ]  # fmt: skip
    right, left, mean, again = (value for _, _, value in found)
    assert mean == pytest.approx(0.5 * (right + left), rel=TIGHT)
    assert again == right
    assert right != pytest.approx(left, rel=0.1)
    turned = Hold(replace(place, side="mean"), "pitch", 0.002)
    (solution,) = analyse(frame, [replace(case, holds=(*case.holds, turned))]).solutions
    assert readings(solution)[2].value == pytest.approx(0.002, rel=TIGHT)


@pytest.mark.parametrize(("side", "factor"), [("each", 2.0), ("mean", 1.0), ("left", 1.0)])
def test_a_moment_is_shared_as_a_force_is(side: str, factor: float) -> None:
    frame = two_rails(2000.0, 800.0, SMALL_TUBE, SMALL_TUBE, [0.0, 1000.0, 2000.0])
    push = Push(Place(station=0.0, side=side), moment=(1e5, -2e5, 3e5))  # type: ignore[arg-type]
    made = loads(frame, discretise(frame, {}), simply_held([push]))
    expected = factor * np.array([0.0, 0.0, 0.0, 1e5, -2e5, 3e5])
    np.testing.assert_allclose(made.total, expected, atol=1e-6)


def test_a_place_that_is_only_read_gets_a_node() -> None:
    reads = (Read("a", Place(station=333.0), "height"), Read("b", Place(station=666.0), "height"))
    case = replace(held((Push(TIP, (0.0, 0.0, 1.0)),)), reads=reads)
    (solution,) = analyse(TUBE, [case]).solutions
    low, high = (r.value for r in readings(solution))
    assert 0.0 < low < high


def test_a_warping_that_is_nothing_is_not_read() -> None:
    with pytest.raises(ModelError, match="resists no warping") as error:
        analyse(TUBE, [held((Push(TIP, (0.0, 0.0, 1.0)),), reads=("warping",))])
    assert "read tip warping" in str(error.value)


def test_the_side_that_is_missing_is_told() -> None:
    push = Push(replace(TIP, side="left"), moment=(1.0, 0.0, 0.0))
    with pytest.raises(ModelError, match="no left side"):
        analyse(TUBE, [held((push,), reads=MOVED)])
    with pytest.raises(ModelError, match="no left side"):
        analyse(TUBE, [held(holds=(Hold(replace(TIP, side="left"), "roll"),), reads=MOVED)])


def test_the_ends_that_a_case_takes_hold_of() -> None:
    root, tip = ("rail", "start"), ("rail", "end")

    def ends(*pushes: Push, holds: tuple[Hold, ...] = ()) -> set[tuple[str, str]]:
        return stiff_ends(TUBE, replace(held(pushes), holds=holds))

    assert ends(holds=(CLAMPED,)) == {root}
    assert ends(holds=(Hold(TIP, "warping"), Hold(ROOT, "height"))) == {tip}
    assert ends(holds=(Hold(TIP, "yaw"), Hold(ROOT, "roll"))) == {root, tip}
    assert ends(Push(TIP, moment=(0.0, 1.0, 0.0))) == {tip}
    assert ends(Push(TIP, (1.0, 0.0, 0.0), arm=(0.0, 5.0, 0.0))) == {tip}
    assert ends(Push(TIP, (1.0, 0.0, 0.0))) == set()
    assert ends(Push(Place(station=500.0), moment=(0.0, 1.0, 0.0))) == set()
