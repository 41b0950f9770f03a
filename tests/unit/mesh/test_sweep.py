"""Members swept as quadrilaterals."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from handmade import member, section, square_tube

from fea.element.shell import Shells, area, least_corner
from fea.frame.model import Run
from fea.mesh.sweep import TUBE_SIDES, coarse, cut, place_section, subdivide, sweep
from fea.section import shapes
from fea.section.holes import Hole, pierced
from fea.section.seam import Stitch, stitched

CHANNEL = section(shapes.channel(depth=123.0, flange=51.5, wall=3.0), "C", is_open=True)


def test_every_wanted_place_gets_a_row_and_no_step_is_longer() -> None:
    places = subdivide((0.0, 100.0), [33.0, 150.0], [34.0, 70.0], 12.0, [(60.0, 80.0, 5.0)])
    assert places[0] == 0.0
    assert places[-1] == 100.0
    assert {33.0, 70.0} <= set(places)
    assert 34.0 not in places  # a hint beside a wanted place
    steps = np.diff(places)
    assert np.all(steps > 0.0)
    assert np.max(steps) <= 12.0 + 1e-9
    inside = [b - a for a, b in pairwise(places) if 60 <= 0.5 * (a + b) <= 80]
    assert max(inside) <= 5.0 + 1e-9


def test_strips_add_up_to_their_walls_and_end_on_the_levels() -> None:
    profile = cut(CHANNEL.midline, 12.0, [(1, 50.0)])
    a, b = profile.points[profile.strips[:, 0]], profile.points[profile.strips[:, 1]]
    long = np.linalg.norm(b - a, axis=1)
    assert [long[profile.wall == w].sum() for w in range(3)] == pytest.approx([50.0, 120.0, 50.0])
    assert np.any(np.all(np.abs(profile.points - [0.0, 50.0]) < 1e-9, axis=1))
    assert np.max(long) <= 12.0 + 1e-9


def test_a_round_tube_keeps_its_perimeter_with_fewer_sides() -> None:
    tube = shapes.tube(diameter=63.0, wall=3.0)
    few = coarse(tube)
    assert len(few.walls) == TUBE_SIDES
    around = [
        np.linalg.norm(m.points[m.walls[:, 1]] - m.points[m.walls[:, 0]], axis=1).sum()
        for m in (tube, few)
    ]
    assert around[1] == pytest.approx(around[0], rel=1e-12)
    assert coarse(CHANNEL.midline) is CHANNEL.midline


def test_the_metal_of_a_straight_member_has_its_surface() -> None:
    swept = sweep(member("m", [(0, 0, 0), (500, 0, 0)], CHANNEL), 0.0, 500.0, 24.0, across=12.0)
    shells = Shells(swept.points[swept.quads], swept.thickness, swept.E, swept.nu)
    assert area(shells).sum() == pytest.approx(500.0 * 220.0, rel=1e-12)
    assert np.min(least_corner(shells)) == pytest.approx(1.0)


def test_at_a_corner_the_section_lies_in_the_mitre() -> None:
    bent = member("m", [(0, 0, 0), (400, 0, 0), (700, 300, 0)], CHANNEL)
    points = place_section(bent, 400.0, CHANNEL.midline.points)
    normal = np.array([1.0 + np.sqrt(0.5), np.sqrt(0.5), 0.0])
    np.testing.assert_allclose((points - [400.0, 0.0, 0.0]) @ normal, 0.0, atol=1e-9)
    away = place_section(bent, 100.0, CHANNEL.midline.points)
    np.testing.assert_allclose(away[:, 0], 100.0, atol=1e-12)


def test_walls_that_go_on_share_their_nodes_and_others_follow() -> None:
    line = member("m", [(0, 0, 0), (400, 0, 0)], CHANNEL)
    run = line.runs[0]
    boxed = section(shapes.boxed_channel(depth=123.0, flange=51.5, wall=3.0, plate=3.0), "boxed")
    small = square_tube(80.0, 3.0)
    for other, shares in ((boxed, True), (small, False)):
        runs = (replace(run, end=200.0), Run(200.0, 400.0, other, run.material))
        swept = sweep(replace(line, runs=runs), 0.0, 400.0, 24.0, across=12.0)
        assert bool(swept.follows) is not shares
        if shares:  # the channel's row is part of the boxed one: no node lies twice
            gap = np.linalg.norm(swept.points[:, None] - swept.points[None], axis=2)
            assert np.min(gap[np.triu_indices(len(gap), 1)]) > 1.0


def test_the_sheet_of_a_wall_has_the_shares_of_its_section() -> None:
    boxed = shapes.boxed_channel(depth=123.0, flange=51.5, wall=3.0, plate=2.0)
    midline = stitched(pierced(boxed, Hole("web", 60.0, 40.0, 120.0)), Stitch(25.0, 150.0))
    line = member("m", [(0, 0, 0), (300, 0, 0)], section(midline, "S"))
    swept = sweep(line, 0.0, 300.0, 24.0, across=12.0)
    metal = line.runs[0].material
    factors = midline.normal_factor, midline.shear_factor
    assert all(f is not None and np.min(f) < 0.9 for f in factors)
    for column, modulus, factor in zip(range(2), (metal.E, metal.G), factors, strict=True):
        assert factor is not None
        assert swept.E[:, column] == pytest.approx(modulus * factor[swept.wall], rel=1e-14)
    # The softer band is twice the hole's height.
    area_ = area(Shells(swept.points[swept.quads], swept.thickness, swept.E, swept.nu))
    assert area_[swept.E[:, 0] < metal.E].sum() == pytest.approx(80.0 * 300.0, rel=1e-12)


@pytest.mark.parametrize("turns", [0, 1])
def test_strips_go_on_past_the_end_of_a_row_of_holes(turns: int) -> None:
    plain = section(shapes.turn(CHANNEL.midline, turns), "C", is_open=True)
    holed = section(pierced(plain.midline, Hole("web", 50.0, 35.0, 120.0)), "H", is_open=True)
    line = member("m", [(0, 0, 0), (600, 0, 0)], plain)
    metal = line.runs[0].material
    runs = (Run(0.0, 200.0, plain, metal), Run(200.0, 400.0, holed, metal),
            Run(400.0, 600.0, plain, metal))  # fmt: skip
    swept = sweep(replace(line, runs=runs), 0.0, 600.0, 24.0, across=12.0)
    assert swept.follows == ()
    gap = np.linalg.norm(swept.points[:, None] - swept.points[None], axis=2)
    assert np.min(gap[np.triu_indices(len(gap), 1)]) > 1.0
