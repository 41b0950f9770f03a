"""The seat of a mount: pressure and punching by hand, with a washer and without."""

import math
from dataclasses import replace

import pytest

from fea.errors import ModelError
from fea.frame.model import Fastening, Mount
from fea.frame.mounts import effective, graded, seat_stiffness
from fea.study.seat import seat_load

TOLD = Fastening(2.0, 13.0, 60.0, 3.0, 12.0, 48e3)
MOUNT = Mount("M2", "right", (0.0, 400.0, 500.0), "rail", 0.0, (200.0, 200.0, 500.0), math.inf)
SEATED = replace(MOUNT, fastening=TOLD)


def test_by_hand() -> None:
    """48 N m on M12: 20 kN; with 1 kN of load over the ring 60/13 mm, 2695 mm2: 7.79 MPa."""
    found = seat_load(SEATED, -1000.0)
    assert found.preload == pytest.approx(20e3)
    assert found.washer is not None
    assert found.washer.pressure == pytest.approx(21e3 / 2694.7, rel=1e-4)
    assert found.washer.low == pytest.approx(7.793 / 120.0, rel=1e-3)
    assert found.washer.high == pytest.approx(7.793 / 72.0, rel=1e-3)
    # pi 60 x 2 mm at 139.2 MPa
    assert found.washer.punching == pytest.approx(52477.0, rel=1e-4)
    assert found.washer.punched == pytest.approx(0.4002, rel=1e-3)
    assert found.washer.stiffness == seat_stiffness(TOLD)


def test_the_bare_head() -> None:
    """18 mm over a hole of 13 mm: 121.7 mm2, 172.5 MPa, far too much for 240 MPa sheet."""
    found = seat_load(replace(SEATED, fastening=replace(TOLD, washer_diameter=None)), 1000.0)
    assert found.washer is None
    assert found.bare.pressure == pytest.approx(21e3 / 121.74, rel=1e-4)
    assert found.bare.low > 1.0
    assert found.bare.punching == pytest.approx(15743.0, rel=1e-4)
    assert found.bare == seat_load(SEATED, 1000.0).bare
    washer = seat_load(SEATED, 1000.0).washer
    assert washer is not None
    assert washer.stiffness > found.bare.stiffness > 0.0


def test_a_head_that_falls_through_its_hole() -> None:
    bare = seat_load(replace(SEATED, fastening=replace(TOLD, hole=20.0)), 1000.0).bare
    assert (bare.stiffness, bare.punching) == (0.0, 0.0)
    assert math.isinf(bare.pressure)
    assert math.isinf(bare.punched)


def test_without_torque_and_hole() -> None:
    told = replace(TOLD, torque=None, hole=None)
    found = seat_load(replace(SEATED, fastening=told), 1000.0)
    assert found.preload == 0.0
    assert found.washer is not None
    assert found.washer.pressure == pytest.approx(1000.0 / (math.pi / 4 * (60.0**2 - 12.0**2)))


def test_a_mount_that_does_not_tell() -> None:
    with pytest.raises(ModelError, match="needs the thickness") as error:
        seat_load(MOUNT, 1000.0)
    assert "add wall and bolt" in str(error.value)


# ------------------------------------------------------------------ in the mount's stiffness


def test_the_seat_is_in_series_upright() -> None:
    k = seat_stiffness(TOLD)
    assert 1e3 < k < 1e6
    x, y, z = effective(SEATED)
    assert (x, y) == (200.0, 200.0)
    assert 1.0 / z == pytest.approx(1.0 / 500.0 + 1.0 / k, rel=1e-12)
    on_bracket = replace(SEATED, bracket=8000.0, state="worn")
    assert 1.0 / effective(on_bracket)[2] == pytest.approx(
        1.0 / 250.0 + 1.0 / 8000.0 + 1.0 / k, rel=1e-12
    )
    assert effective(replace(SEATED, stiffness=(1.0, 1.0, math.inf)))[2] == pytest.approx(k)
    assert effective(replace(SEATED, state="torn")) == (0.0, 0.0, 0.0)
    assert effective(graded(SEATED, "solid"))[2] < 5000.0


@pytest.mark.parametrize("missing", ["wall", "hole", "washer_diameter"])
def test_a_seat_told_in_part_changes_nothing(missing: str) -> None:
    some = replace(SEATED, fastening=replace(TOLD, **{missing: None}))
    assert effective(some) == effective(MOUNT) == (200.0, 200.0, 500.0)


def test_a_washer_as_wide_as_the_sheet_is_held_changes_nothing() -> None:
    wide = replace(SEATED, fastening=replace(TOLD, washer_diameter=100.0))
    assert effective(wide) == effective(MOUNT)
    assert seat_stiffness(TOLD, held=60.0) < seat_stiffness(TOLD)
