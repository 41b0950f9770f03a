"""Masses: members and the gussets at their ends."""

import tomllib
from dataclasses import replace

import numpy as np
import pytest
from handmade import STEEL, section, square_tube, two_rails

from fea.document.schema import FrameDocument
from fea.frame.build import build_frame
from fea.frame.model import Frame, Gusset
from fea.result.mass import gussets, masses
from fea.section import shapes

CHANNEL = section(shapes.channel(depth=123.0, flange=51.5, wall=3.0), "C", is_open=True)
LEGS, WALL = 90.0, 4.0


def with_gussets(frame: Frame, at: str) -> Frame:
    plates = Gusset(LEGS, WALL, at)  # type: ignore[arg-type]
    joints = tuple(replace(j, kind="web", gusset=plates) for j in frame.joints)
    return replace(frame, joints=joints)


@pytest.mark.parametrize(("at", "count"), [("top", 2), ("bottom", 2), ("both", 4)])
def test_gussets_weigh_what_their_triangles_do(at: str, count: int) -> None:
    bare = two_rails(1200.0, 600.0, CHANNEL, square_tube(60.0, 3.0), [600.0])
    frame = with_gussets(bare, at)
    each = 0.5 * LEGS**2 * WALL * STEEL.density
    number = count * len(frame.joints)
    assert len(gussets(frame)) == number == 2 * count
    before, after = masses(bare), masses(frame)
    assert after.steel == pytest.approx(before.steel + number * each, rel=1e-12)
    assert after.kerb == pytest.approx(before.kerb + number * each, rel=1e-12)
    # At the height of the tube's upper or lower wall.  Both channels open to the right: the
    # left one's plates start at its lip, 50 mm inboard, the right one's at its web.
    moment = after.centre * after.steel - before.centre * before.steel
    height = {"top": 30.0, "bottom": -30.0, "both": 0.0}[at]
    assert moment / (number * each) == pytest.approx([600.0, 25.0, height], abs=1e-6)


def test_a_gusset_that_has_no_room_weighs_nothing() -> None:
    bare = two_rails(1200.0, 600.0, CHANNEL, square_tube(60.0, 3.0), [60.0])
    assert len(gussets(with_gussets(bare, "top"))) == 2  # behind the crossmember alone


def test_a_plate_is_heaviest_at_its_corner() -> None:
    bare = two_rails(1200.0, 600.0, CHANNEL, square_tube(60.0, 3.0), [600.0])
    for corners, mass in gussets(with_gussets(bare, "both")):
        assert mass > 0.0
        arms = np.linalg.norm(corners[1:] - corners[0], axis=1)
        assert arms == pytest.approx([LEGS, LEGS])


RAIL = """
title = "Holed"
[material.steel]
E = "205 GPa"
nu = 0.3
density = "7850 kg/m3"
yield = "240 MPa"
[section.C]
shape = "channel"
depth = "124 mm"
flange = "52 mm"
wall = "4 mm"
[[rail]]
name = "rail"
points = [
    { name = "P0", station = "0 mm", offset = "400 mm", height = "0 mm", section = "C" },
    { name = "P1", station = "2000 mm", offset = "400 mm", height = "0 mm" },
]
[axle.front]
station = "0 mm"
track = "900 mm"
seats = [{ station = "0 mm" }]
[axle.rear]
station = "2000 mm"
track = "900 mm"
seats = [{ station = "2000 mm" }]
"""
HOLE = '[[hole]]\nrail = "rail"\nwall = "{}"\n{}\n'


def weight(more: str) -> tuple[float, np.ndarray]:
    """Return the mass of the rails, tonne, and its moment, tonne mm."""
    document = FrameDocument.model_validate(tomllib.loads(RAIL + more))
    found = masses(build_frame(document, source="small.toml"))
    return found.steel, found.steel * found.centre


@pytest.mark.parametrize(
    ("holes", "area", "places"),
    [
        ([("web", 'at = "700 mm"\ndiameter = "60 mm"')], np.pi * 900.0, [(700.0, 0.0)]),
        (
            [("web", 'at = "700 mm"\nlength = "80 mm"\nheight = "40 mm"')],
            40.0 * 40.0 + np.pi * 400.0,
            [(700.0, 0.0)],
        ),
        (
            [("web", 'from = "400 mm"\nto = "1000 mm"\npitch = "120 mm"\ndiameter = "60 mm"')],
            np.pi * 900.0,
            [(460.0 + 120.0 * k, 0.0) for k in range(5)],
        ),
        (
            [(f"{side} flange", 'at = "1500 mm"\ndiameter = "20 mm"') for side in ("top", "bottom")]
            + [("web", 'at = "1500 mm"\ndiameter = "20 mm"')],
            np.pi * 100.0,
            [(1500.0, 60.0), (1500.0, -60.0), (1500.0, 0.0)],
        ),
    ],
    ids=["round", "slot", "row", "three walls"],
)
def test_a_hole_takes_its_own_metal(
    holes: list[tuple[str, str]], area: float, places: list[tuple[float, float]]
) -> None:
    """Gross less area times wall times density, on both rails, at the hole's place."""
    gross, gross_moment = weight("")
    assert gross == pytest.approx(2.0 * 2000.0 * (120.0 + 2.0 * 50.0) * 4.0 * 7.85e-9, rel=1e-12)
    net, moment = weight("".join(HOLE.format(*hole) for hole in holes))
    each = area * 4.0 * 7.85e-9
    assert gross - net == pytest.approx(2.0 * len(places) * each, rel=1e-9)
    x, z = np.mean(places, axis=0)
    assert (gross_moment - moment)[[0, 2]] / (gross - net) == pytest.approx([x, z], abs=1e-4)
