"""What a tie's bolts and plate carry: by hand, and in equilibrium."""

import math
from dataclasses import replace

import numpy as np
import pytest

from fea.element.bracket import axes
from fea.errors import ModelError
from fea.frame.body import Bracket, Tie
from fea.study.bracket_load import Metal, bracket_load, tie_load

PLATE = Bracket(120.0, 40.0, 6.0, 1, 10.0)
TIE = Tie("link", "right", "rail", 0.0, (1000.0, 560.0, 335.0), "body", "brace",
          (1000.0, 680.0, 335.0), PLATE)  # fmt: skip
# Sideways outward: along it is y, its width x, its normal -z.
SPAN = np.array([0.0, 120.0, 0.0])
AREA = 57.99  # M10


def load(*values: float) -> np.ndarray:
    return np.array(values)


def test_the_axes_meant_here() -> None:
    assert np.allclose(axes(SPAN), [[0, 1, 0], [1, 0, 0], [0, 0, -1]])


def test_a_pull_along_the_plate() -> None:
    """6 kN: 100 MPa on the bolt's side, 25 MPa in the plate, 34.5 MPa beside the hole."""
    found = bracket_load(PLATE, SPAN, load(0.0, 6000.0, 0.0, 0.0, 0.0, 0.0))
    for end in (found.frame, found.body):
        assert (end.shear, end.tension) == pytest.approx((6000.0, 0.0))
        assert end.bearing == pytest.approx(100.0)
        assert end.plate == pytest.approx(25.0)
        assert end.net == pytest.approx(6000.0 / (29.0 * 6.0))
        assert end.bolt_use == pytest.approx(6000.0 / (480.0 * AREA), rel=1e-3)
        assert end.plate_use == pytest.approx(end.net / 240.0)
        assert end.gape == 0.0
        # 0.7 x 580 MPa x 57.99 mm2 = 23.54 kN of preload, 0.15 of it holds
        assert end.slip == pytest.approx(6000.0 / (0.15 * 0.7 * 580.0 * AREA), rel=1e-3)
        assert found.use == pytest.approx(100.0 / 240.0)
    assert found.preload == pytest.approx(23544.0, rel=1e-3)


def test_a_push_upwards_at_the_body_end_bends_the_frame_end() -> None:
    """500 N at 120 mm: 60 N m over 240 mm3 is 250 MPa; the bolt is pried with a lever of 15 mm."""
    found = bracket_load(PLATE, SPAN, load(0.0, 0.0, 500.0, 0.0, 0.0, 0.0))
    assert np.allclose(found.frame.load, [0.0, 0.0, -500.0, -60e3, 0.0, 0.0])
    assert found.body.tension == pytest.approx(500.0)
    assert found.frame.tension == pytest.approx(500.0 + 60e3 / 15.0)
    shear = 1.5 * 500.0 / 240.0
    assert found.frame.plate == pytest.approx(math.hypot(250.0, math.sqrt(3.0) * shear))
    net_shear = 1.5 * 500.0 / 174.0
    assert found.frame.net == pytest.approx(math.hypot(60e3 / 174.0, math.sqrt(3.0) * net_shear))
    assert found.frame.plate_use > 1.0
    assert found.frame.gape == pytest.approx(4500.0 / found.preload)


def test_a_side_force_turns_a_single_bolt_s_end_against_friction() -> None:
    """300 N at 120 mm: 36 N m in the plane, at 6 mm: 6 kN more for friction; none for the bolt."""
    found = bracket_load(PLATE, SPAN, load(300.0, 0.0, 0.0, 0.0, 0.0, 0.0), Metal(torque=40e3))
    assert found.preload == pytest.approx(20e3)
    assert found.frame.shear == pytest.approx(300.0)
    assert found.frame.slip == pytest.approx((300.0 + 36e3 / 6.0) / (0.15 * 20e3))
    assert found.body.slip == pytest.approx(300.0 / 3000.0)
    upright = 6.0 * (40.0**3 - 11.0**3) / 240.0
    assert found.frame.net == pytest.approx(
        math.hypot(36e3 / upright, math.sqrt(3.0) * 1.5 * 300.0 / 174.0)
    )


def test_two_bolts_bear_the_same_as_a_couple() -> None:
    """Thirty millimetres apart: 36 N m is 1.2 kN on each, besides half of 300 N."""
    found = bracket_load(replace(PLATE, bolts=2), SPAN, load(300.0, 0, 0, 0, 0, 0))
    assert found.frame.shear == pytest.approx(150.0 + 1200.0)
    assert found.body.shear == pytest.approx(150.0)
    # levers of 15 and 45 mm: the far bolt bears 45 / (15^2 + 45^2) of the moment
    lifted = bracket_load(replace(PLATE, bolts=2), SPAN, load(0, 0, 500.0, 0, 0, 0))
    assert lifted.frame.tension == pytest.approx(250.0 + 60e3 * 45.0 / 2250.0)


def test_twist_of_the_plate() -> None:
    """10 N m about its length: half the width is the bolt's lever; J/t = 434.6 mm3."""
    found = bracket_load(PLATE, SPAN, load(0, 0, 0, 0, 10e3, 0))
    for end in (found.frame, found.body):
        assert end.tension == pytest.approx(10e3 / 20.0)
        assert end.plate == pytest.approx(math.sqrt(3.0) * 10e3 / (480.0 * (1.0 - 0.63 * 0.15)))


def test_a_bolt_pulled_off_its_preload_holds_nothing_by_friction() -> None:
    found = bracket_load(PLATE, SPAN, load(0, 100.0, 3000.0, 0, 0, 0), Metal(torque=2e3))
    assert found.body.gape == pytest.approx(3.0)
    assert math.isinf(found.body.slip)
    assert found.body.bolt_use == pytest.approx(
        math.hypot(100.0 / (480.0 * AREA), 3000.0 / (580.0 * AREA)), rel=1e-3
    )


def test_metal() -> None:
    pull = load(0.0, 6000.0, 0.0, 0.0, 0.0, 0.0)
    soft = bracket_load(PLATE, SPAN, pull)
    hard = bracket_load(PLATE, SPAN, pull, Metal(480.0, "10.9", None, 0.2))
    assert hard.body.plate_use == pytest.approx(0.5 * soft.body.plate_use)
    assert hard.body.bolt_use == pytest.approx(0.96 * soft.body.bolt_use)
    assert hard.body.slip == pytest.approx(soft.body.slip * 0.75 * 580.0 / 830.0)


@pytest.mark.parametrize("k", range(8))
def test_both_ends_are_in_equilibrium(k: int) -> None:
    rng = np.random.default_rng(20611 + k)
    span = rng.normal(size=3)
    span *= PLATE.length / np.linalg.norm(span)
    given = rng.normal(size=6) * [1e3, 1e3, 1e3, 1e5, 1e5, 1e5]
    found = bracket_load(PLATE, span, given)
    about = rng.normal(size=3) * 1e3  # any point
    force = found.frame.load[:3] + found.body.load[:3]
    moment = found.frame.load[3:] + found.body.load[3:]
    moment += np.cross(-about, found.frame.load[:3]) + np.cross(span - about, found.body.load[:3])
    assert np.abs(force).max() < 1e-9 * np.abs(given[:3]).max()
    assert np.abs(moment).max() < 1e-9 * np.abs(given[3:]).max()
    twice = bracket_load(PLATE, span, -2.0 * given)
    assert twice.use == pytest.approx(2.0 * found.use, rel=1e-12)  # either way alike


def test_a_tie_has_its_direction_from_its_points() -> None:
    given = load(10.0, 20.0, 30.0, 40.0, 50.0, 60.0)
    found, same = tie_load(TIE, given), bracket_load(PLATE, SPAN, given)
    assert found.use == same.use
    assert np.array_equal(found.frame.load, same.frame.load)


def test_refused() -> None:
    with pytest.raises(ModelError, match="only a tie with a bracket"):
        tie_load(replace(TIE, bracket=None, stiffness=(1.0, 1.0, 1.0)), np.zeros(6))
    with pytest.raises(ModelError, match="wider than its bolt's hole"):
        tie_load(replace(TIE, bracket=replace(PLATE, width=11.0)), np.zeros(6))
    with pytest.raises(ModelError, match="no property class"):
        tie_load(TIE, np.zeros(6), Metal(bolts="9.9"))
