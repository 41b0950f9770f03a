"""Clearances of the shipped frames, against figures worked by hand from their dimensions."""

from dataclasses import replace

import numpy as np
import pytest
from handmade import demo

from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.errors import ModelError
from fea.frame.clear import Arch, Ground, KeepClear, Packaging
from fea.frame.model import Frame
from fea.shop.clearance import Clearance, study_clearance
from fea.shop.clearance_record import remedy
from fea.shop.metal_solids import arched, outlines, pieces


def _of(frame: Frame, metal: str, obstacle: str) -> Clearance:
    document = read_frame(find_frame(frame.name))
    found = study_clearance(document, frame, everything=True).found
    return next(one for one in found if (one.metal, one.obstacle) == (metal, obstacle))


def test_the_shaft_under_the_arch() -> None:
    """Raised by its bump the axis falls by 25 mm over 1430 mm; the arch is at 525 mm."""
    one = _of(demo("orchard_pickup"), "X4", "propeller shaft")
    front = 2010.0 - 1.75  # outer face of the web
    axis = 470.0 - 25.0 / 1430.0 * (front - 1330.0)
    slope = np.hypot(1.0, 25.0 / 1430.0)
    assert one.least == pytest.approx((525.0 - axis) / slope - 38.0, abs=1e-6)
    assert round(one.least) == 29
    assert one.status == "clear"
    assert one.lift == pytest.approx(90.0, abs=1e-6)
    assert one.at == pytest.approx([front, 0.0, 525.0], abs=1e-6)


def test_the_shaft_under_the_straight_crossmember() -> None:
    frame = demo("orchard_pickup")
    straight = replace(frame, packaging=replace(frame.packaging, arches=()))
    assert _of(straight, "X4", "propeller shaft").status == "overlap"


@pytest.mark.parametrize(
    ("metal", "by_hand", "slant"),
    [("X3", 16.5, 0.0), ("X4", 21.5, 0.0), ("X5", 23.45, 45.0 / 240.0), ("X6", 25.5, 40.0 / 210.0)],
)
def test_the_exhaust_past_stock_members(metal: str, by_hand: float, slant: float) -> None:
    """By hand straight up or down; where the pipe climbs, its distance is a little less."""
    one = _of(demo("orchard_pickup"), metal, "exhaust")
    assert one.status == "clear"
    if slant == 0.0:
        assert one.least == pytest.approx(by_hand, abs=1e-6)
    elif metal == "X5":  # from the tube's middle to the pipe's, square to the pipe
        square = 90.0 / np.hypot(1.0, slant) - 38.05 - 28.5
        assert one.least == pytest.approx(square, abs=0.05)
    else:
        square = (514.0 - 460.0 - slant * (3360.0 - 3358.5)) / np.hypot(1.0, slant) - 28.5
        assert one.least == pytest.approx(square, abs=1e-6)
        assert by_hand - 1.5 < one.least < by_hand


def test_the_planned_exhaust_overlaps() -> None:
    """The pipe's top stands at 286 mm, the channel's lower edge at 237.5 mm."""
    frame = demo("harbour_tourer")
    for side in ("right", "left"):
        one = _of(frame, "Y3", f"twin exhaust {side}")
        # Deepest where the web's front face meets the pipe, which falls by 10 mm per 1000.
        axis = 260.0 - 0.01 * (1178.25 - 900.0)
        assert one.status == "overlap"
        assert -one.least == pytest.approx(axis - 237.5 + 28.5, abs=0.3)
        assert one.way[2] < -0.99
        assert "down by 63 mm, or have the metal raised by it between offsets" in remedy(one)
        assert one.hump is not None
        assert sorted(np.abs(one.hump)) == pytest.approx([286.5, 373.5], abs=1e-6)
    shaft = _of(frame, "Y4", "propeller shaft")
    # Rear face of the box; the axis climbs by 45 mm over 1400 mm when it is up.
    axis = 375.0 + 45.0 / 1400.0 * (2590.0 - 1290.0)
    low = np.interp(2560.0, [2320.0, 2600.0], [430.0, 550.0]) - 45.0
    assert shaft.least == pytest.approx(
        (low - axis) / np.hypot(1.0, 45.0 / 1400.0) - 35.0, abs=1e-6
    )


def test_the_ground_under_the_laden_frame() -> None:
    document = read_frame(find_frame("harbour_tourer"))
    frame = demo("harbour_tourer")
    found = study_clearance(document, frame).found
    plate = next(o for o in found if o.metal == "boxing_side, rail right" and o.kind == "ground")
    assert plate.least == pytest.approx(275.0 - 60.0 - 60.0, abs=1e-6)
    pipe = next(o for o in found if o.metal == "twin exhaust right" and o.kind == "ground")
    assert pipe.least == pytest.approx(250.0 - 28.5 - 60.0, abs=1e-6)
    low = replace(frame.packaging, ground=Ground(200.0, (60.0, 60.0), (160.0, 320.0)))
    sunk = study_clearance(document, replace(frame, packaging=low)).found
    pipe = next(o for o in sunk if o.metal == "twin exhaust right" and o.kind == "ground")
    assert pipe.status == "overlap"  # at 1900 mm, 161.5 less 266.9
    assert pipe.jounce is not None
    assert pipe.least == pytest.approx(161.5, abs=1e-6)
    assert pipe.jounce < 161.5 - 266.8


def test_boxes_cylinders_and_what_may_come_near() -> None:
    document = read_frame(find_frame("orchard_pickup"))
    frame = demo("orchard_pickup")
    kept = (
        KeepClear("tank", 25.0, (1500.0, -40.0, 520.0), (1600.0, 40.0, 700.0)),
        KeepClear("pump", 25.0, (1560.0, 300.0, 540.0), (1560.0, 300.0, 640.0), 50.0),
        KeepClear("hose", 5.0, (1500.0, 90.0, 520.0), (1600.0, 99.0, 700.0), None, ("X8",)),
    )
    packed = replace(frame, packaging=Packaging(keep_clear=kept))
    found = {(o.metal, o.obstacle): o for o in study_clearance(document, packed).found}
    top = 475.0 + 0.5 * 60.3
    assert found["X8", "tank"].least == pytest.approx(520.0 - top, abs=1e-6)
    assert found["X8", "tank"].status == "too near"
    assert found["X8", "pump"].least == pytest.approx(540.0 - top, abs=1e-6)
    assert ("X8", "hose") not in found


def test_where_the_gearbox_crossmember_goes() -> None:
    document = read_frame(find_frame("orchard_pickup"))
    study = study_clearance(document, demo("orchard_pickup"))
    first, second = study.reaches[:2]
    assert (first.station, first.turned, first.mount) == (1220.0, False, 1255.0)
    assert (second.station, second.turned, second.mount) == (1280.0, True, 1245.0)
    assert study.face == pytest.approx(5.0, abs=1e-9)


def test_nothing_to_stay_clear_of() -> None:
    frame = replace(demo("orchard_pickup"), packaging=Packaging())
    with pytest.raises(ModelError, match="has to stay clear"):
        study_clearance(read_frame(find_frame("orchard_pickup")), frame)


def test_outlines_reach_to_the_outer_faces() -> None:
    frame = demo("orchard_pickup", True)
    for member in frame.members:
        for run in member.runs:
            points = np.concatenate(outlines(run.section))
            wide, high = np.ptp(points, axis=0)
            # Square corners of a tube's prism stand out by 0.12 % of its radius.
            assert high == pytest.approx(run.section.depth, rel=1e-9)
            assert wide == pytest.approx(run.section.width, rel=1e-9)


def test_a_frame_and_its_mirror_image() -> None:
    metals = {m.name: m for m in pieces(demo("orchard_pickup"), everything=True)}
    for right, left in (("rail right", "rail left"), ("boxing_cab, rail right",) * 2):
        left = right.replace("right", "left")
        one, other = (np.concatenate([s.points for s in metals[n].solids]) for n in (right, left))
        mirrored = other * [1.0, -1.0, 1.0]
        assert np.allclose(sorted(map(tuple, one.round(6))), sorted(map(tuple, mirrored.round(6))))


def test_an_arched_line() -> None:
    line = arched(np.array([(10.0, -400.0, 500.0), (10.0, 400.0, 500.0)]), Arch("X", 50.0, 200.0))
    assert line[:, 1] == pytest.approx([-400.0, -150.0, -100.0, 100.0, 150.0, 400.0])
    assert line[:, 2] == pytest.approx([500.0, 500.0, 550.0, 550.0, 500.0, 500.0])


def test_a_shaft_through_a_tube() -> None:
    """The tube lies in the shaft's way: down by its top over the tube's lower side."""
    one = _of(demo("orchard_pickup"), "X8", "propeller shaft")
    slope = 25.0 / 1430.0
    axis = 470.0 - slope * (1560.0 - 1330.0)
    # From the tube's middle at 475 to the raised axis, square to it, and both radii.
    square = (axis - 475.0) / np.hypot(1.0, slope) + 38.0 + 0.5 * 60.3
    assert -one.least == pytest.approx(square, abs=0.05)
    assert one.lift == pytest.approx(90.0)
    assert one.way[2] < 0.0
