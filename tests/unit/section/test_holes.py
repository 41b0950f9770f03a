"""Holes smeared to softer bands, against a plane-stress model of the sheet."""

import numpy as np
import pytest
from slotted_sheet import stiffness_left

from fea.errors import ModelError
from fea.section import shapes
from fea.section.holes import Hole, added_slip, lost_width, pierced
from fea.section.properties import properties
from fea.section.seam import Stitch, stitched

CHANNEL = shapes.channel(depth=150, flange=60, wall=4)
BOXED = shapes.boxed_channel(depth=150, flange=60, wall=4, plate=3)


# pitch, wall height, length and height of the hole
ROWS = [
    (100, 100, 10, 10), (60, 100, 20, 20), (40, 100, 20, 20), (30, 100, 20, 20),
    (200, 100, 40, 40), (60, 100, 40, 40), (75, 100, 50, 50), (300, 100, 60, 60),
    (150, 100, 60, 30), (150, 100, 60, 50), (120, 100, 20, 30), (140, 80, 70, 20),
]  # fmt: skip


@pytest.mark.parametrize(("pitch", "height", "length", "high"), ROWS)
def test_a_row_against_the_sheet(pitch, height, length, high):
    hole = Hole("web", length, high, pitch)
    tension = stiffness_left(pitch, height, (length, high), shear=False)
    shear = stiffness_left(pitch, height, (length, high), shear=True)
    assert lost_width(hole, height) == pytest.approx((1 - tension) * height, rel=0.15)
    assert added_slip(hole, height) == pytest.approx((1 / shear - 1) * height, rel=0.1)


@pytest.mark.parametrize(
    ("height", "length", "high"), [(100, 20, 20), (100, 50, 50), (100, 60, 50)]
)
def test_a_single_hole_against_the_sheet(height, length, high):
    """Taken at even stretch, and at even force: the estimate lies between or within 25 %."""
    pitch = 3.0 * height
    hole = Hole("web", length, high)
    left = stiffness_left(pitch, height, (length, high), shear=False)
    lost = lost_width(hole, height) * hole.stretch
    assert 0.75 * (1 - left) * height * pitch < lost < 1.25 * (1 / left - 1) * height * pitch
    shear = stiffness_left(pitch, height, (length, high), shear=True)
    slip = added_slip(hole, height) * hole.stretch
    assert slip == pytest.approx((1 / shear - 1) * height * pitch, rel=0.1)


def test_small_round_holes_take_what_the_source_says():
    """3 pi d^2 / 4 p in tension, pi d^2 / (1 + nu) p in shear."""
    hole = Hole("web", 1.0, 1.0, 1000.0)
    assert lost_width(hole, 1000.0) == pytest.approx(0.75 * np.pi / 1000.0, rel=1e-4)
    assert added_slip(hole, 1000.0) == pytest.approx(np.pi / 1.3 / 1000.0, rel=1e-4)


def test_a_row_in_the_web():
    hole = Hole("web", 15, 15, 150)
    after = pierced(CHANNEL, hole)
    p, q = properties(CHANNEL), properties(after)
    assert pytest.approx(4 * lost_width(hole, 146), rel=1e-9) == p.A - q.A
    assert q.Iy == pytest.approx(p.Iy, rel=1e-3)  # the middle of the web bends little
    assert q.shear[1, 1] > p.shear[1, 1]
    assert after.names.count("web") == 3
    web = after.points[after.walls[after.held_wall]]
    assert sorted(web[:, 1]) == pytest.approx([-15.0, 15.0])
    # away from its ends the member's own mirror image is pierced alike
    mirrored = pierced(shapes.mirror(CHANNEL), hole)
    np.testing.assert_allclose(mirrored.points, shapes.mirror(after).points)


def test_a_hole_opens_a_cell_a_little():
    hole = Hole("plate", 60, 60)
    p, q = properties(BOXED), properties(pierced(BOXED, hole))
    circuit = 146 / 4 + 2 * 58 / 4 + 146 / 3
    slip = added_slip(hole, 146) / 3
    area = 146.0 * 58.0
    assert q.J_cells == pytest.approx(4 * area**2 / (circuit + slip), rel=1e-12)
    assert 0.6 < q.J / p.J < 0.95


def test_a_hole_in_a_stitched_plate():
    soft = pierced(stitched(BOXED, Stitch(weld=40, pitch=100)), Hole("plate", 60, 60))
    for other in (BOXED, stitched(BOXED, Stitch(weld=40, pitch=100))):
        assert properties(soft).J < properties(other).J


def test_a_hole_that_fills_the_band():
    """Half the wall's height: the band is the whole wall, which is not split."""
    after = pierced(CHANNEL, Hole("web", 73, 73))
    assert len(after.walls) == 3


def test_words():
    assert Hole("web", 60, 60).words() == "web 60"
    assert Hole("web", 80, 50).words() == "web 80x50"
    assert Hole("bottom flange", 12, 12, 150).words() == "bottom flange 12 at 150"


@pytest.mark.parametrize(
    ("hole", "rule"),
    [
        (Hole("web", 90, 90), "at most 87.6 mm of 146 mm"),
        (Hole("web", 130, 60), "at most 87.6 mm"),
        (Hole("web", 20, 20, 25), "pitch must be at least 29.85 mm"),
        (Hole("web", 20, 40), "not be higher than 1.5 times"),
        (Hole("plate", 20, 20), "one that the section has"),
        (Hole("flange", 12, 12), "say which one"),
    ],
)
def test_holes_that_are_refused(hole, rule):
    with pytest.raises(ModelError, match=rule):
        pierced(CHANNEL, hole)


def test_a_tube_has_no_flat_wall():
    with pytest.raises(ModelError, match="at most"):
        pierced(shapes.tube(diameter=60.3, wall=2.6), Hole("wall", 10, 10))
