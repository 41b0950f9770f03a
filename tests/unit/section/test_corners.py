"""Rounded corners against closed forms and published sections."""

import math

import numpy as np
import pytest

from fea.errors import ModelError
from fea.section import shapes
from fea.section.properties import properties


def rounded_box(depth, width, wall, corner):
    """Area, J of a box with mid-thickness radius: developed length and Bredt, own torsion added."""
    radius = corner - wall / 2
    off = radius**2 * (4 - math.pi)
    length = 2 * (depth + width - 2 * wall) - 2 * radius * (4 - math.pi)
    area = (depth - wall) * (width - wall) - off
    return length * wall, 4 * area**2 * wall / length + length * wall**3 / 3


@pytest.mark.parametrize(
    ("depth", "width", "wall", "corner"),
    [(100, 100, 5, 10), (120, 80, 5, 10), (60, 40, 3, 6), (152.4, 101.6, 5.92, 11.84)],
)
def test_a_box(depth, width, wall, corner):
    p = properties(shapes.box(depth=depth, width=width, wall=wall, corner=corner))
    area, J = rounded_box(depth, width, wall, corner)
    assert pytest.approx(area, rel=1e-12) == p.A
    assert pytest.approx(J, rel=1e-3) == p.J
    sharp = properties(shapes.box(depth=depth, width=width, wall=wall))
    assert sharp.A > 1.02 * p.A


def test_a_box_that_is_nearly_a_tube():
    p = properties(shapes.box(depth=100, width=100, wall=4, corner=49.999))
    radius = 48.0
    assert pytest.approx(2 * math.pi * radius * 4, rel=1e-4) == p.A
    assert pytest.approx(2 * math.pi * radius**3 * 4, rel=0.013) == p.J


def test_a_channel_and_its_lips():
    """Area from the developed strip: each bend's arc in place of two lengths to the corner."""
    less = 2 * 6.0 - math.pi / 2 * 6.0
    channel = shapes.channel(depth=150, flange=60, wall=4, corner=8)
    assert shapes.area(channel) == pytest.approx((146 + 2 * 58 - 2 * less) * 4, rel=1e-12)
    lipped = shapes.lipped_channel(depth=150, flange=60, lip=20, wall=4, corner=8)
    strip = 146 + 2 * 56 + 2 * 18 - 4 * less
    assert shapes.area(lipped) == pytest.approx(strip * 4, rel=1e-12)
    assert shapes.is_open(channel)
    boxed = shapes.boxed_channel(depth=150, flange=60, wall=4, corner=8, plate=3)
    assert shapes.area(boxed) == pytest.approx(shapes.area(channel) + 146 * 3, rel=1e-12)
    assert not shapes.is_open(boxed)


def test_a_published_lipped_channel():
    """AISI 9CS2.5x059: inside radius 3/16 in; the printed values count rounded corners."""
    wall = 0.059
    lipped = shapes.lipped_channel(
        depth=9.0, flange=2.5, lip=0.773, wall=wall, corner=0.1875 + wall
    )
    p = properties(lipped)
    assert pytest.approx(0.881, rel=2e-3) == p.A
    assert pytest.approx(10.3, rel=2e-3) == p.Iy
    assert pytest.approx(0.698, rel=4e-3) == p.Iz
    assert p.centroid[0] == pytest.approx(0.612, rel=4e-3)
    assert pytest.approx(0.00102, rel=4e-3) == p.J


def test_the_held_wall_stays_the_web():
    for corner in (None, 9.0):
        for midline in (
            shapes.channel(depth=150, flange=60, wall=4, corner=corner),
            shapes.boxed_channel(depth=150, flange=60, wall=4, plate=3, corner=corner),
            shapes.lipped_channel(depth=150, flange=60, lip=20, wall=4, corner=corner),
        ):
            web = midline.points[midline.walls[midline.held_wall]]
            assert midline.names[midline.held_wall] == "web"
            assert set(web[:, 0].round(12)) == {0.0}
            reach = 73.0 if corner is None else 66.0
            assert sorted(web[:, 1]) == pytest.approx([-reach, reach])


def test_names_follow_the_section_as_it_stands():
    channel = shapes.channel(depth=150, flange=60, wall=4)
    assert channel.names == ("bottom flange", "web", "top flange")
    assert shapes.mirror(channel).names == channel.names
    over = shapes.mirror(channel, axis="z")
    box = shapes.box(depth=90, width=60, wall=3)
    for midline in (over, shapes.turn(box, 1), shapes.turn(box, 2), shapes.mirror(box), box):
        middle = midline.points[midline.walls].mean(axis=1)
        for name, (y, z) in zip(midline.names, middle, strict=True):
            assert ("top" in name) <= (z > 0)
            assert ("bottom" in name) <= (z < 0)
            assert ("right" in name) <= (y > 0)
            assert ("left" in name) <= (y < 0)
    assert shapes.turn(channel, 1).names == ("right flange", "web", "left flange")
    assert shapes.mirror(shapes.mirror(box)).names == box.names


def test_half_of_a_bend_belongs_to_each_wall():
    channel = shapes.channel(depth=150, flange=60, wall=4, corner=8)
    ends = channel.points[channel.walls]
    length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    web = length[np.array([name == "web" for name in channel.names])].sum()
    assert web == pytest.approx(150 - 2 * 8 + math.pi / 2 * 6, rel=1e-12)


@pytest.mark.parametrize(
    ("corner", "rule"),
    [
        (3.9, "corner must be at least the wall"),
        (math.nan, "corner must be at least the wall"),
        (60.0, "corner must leave some of the flange flat"),
        (75.0, "corner must leave some of the depth flat"),
    ],
)
def test_radii_that_are_refused(corner, rule):
    with pytest.raises(ModelError, match=rule):
        shapes.channel(depth=150, flange=60 if corner < 61 else 80, wall=4, corner=corner)


def test_lips_need_room_for_their_bends():
    with pytest.raises(ModelError, match="some of the lip flat"):
        shapes.lipped_channel(depth=150, flange=60, lip=8, wall=3, corner=9)
