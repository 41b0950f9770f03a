"""Section makers: outer dimensions in, midline out."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fea.errors import ModelError
from fea.section import shapes
from fea.section.midline import Midline

# One of each maker: area from the developed strip of sheet, outer depth and width, open or not.
EVERY: list[tuple[Callable[[], Midline], float, float, float, bool]] = [
    (lambda: shapes.channel(depth=150, flange=60, wall=4), (146 + 2 * 58) * 4, 150, 60, True),
    (
        lambda: shapes.lipped_channel(depth=150, flange=60, lip=20, wall=2),
        (148 + 2 * 58 + 2 * 19) * 2, 150, 60, True,
    ),
    (
        lambda: shapes.boxed_channel(depth=150, flange=60, wall=4, plate=3),
        (146 + 2 * 58) * 4 + 146 * 3, 150, 61.5, False,
    ),
    (
        lambda: shapes.capped_channel(depth=150, flange=60, wall=4, plate=3),
        (146 + 2 * 59.5) * 4 + 150 * 3, 150, 63, False,
    ),
    (lambda: shapes.toe_to_toe(depth=80, flange=40, wall=3), 2 * (77 + 77) * 3, 80, 80, False),
    (lambda: shapes.box(depth=90, width=60, wall=3), 2 * (87 + 57) * 3, 90, 60, False),
    (lambda: shapes.tube(diameter=60.3, wall=2.6), math.pi * 57.7 * 2.6, 60.3, 60.3, False),
    (
        lambda: shapes.hat(depth=80, width=60, lip=16.25, wall=2.5),
        (57.5 + 2 * 77.5 + 2 * 15) * 2.5, 80, 87.5, True,
    ),
    (lambda: shapes.angle(depth=50, flange=40, wall=4), (48 + 38) * 4, 50, 40, True),
    (lambda: shapes.zed(depth=100, flange=40, wall=4), (96 + 2 * 38) * 4, 100, 76, True),
    (
        lambda: shapes.i_section(depth=100, flange=50, wall=4, flange_wall=6),
        94 * 4 + 2 * 50 * 6, 100, 50, True,
    ),
    (lambda: shapes.plate(depth=100, wall=6), 600, 100, 6, True),
    (lambda: shapes.flat(depth=40, width=6), 240, 40, 6, True),
    (lambda: shapes.flat(depth=6, width=40), 240, 6, 40, True),
    (
        lambda: shapes.free({"a": (0, 50), "b": (0, -50), "c": (30, -50)},
                            [("a", "b", 3), ("b", "c", 4)]),
        100 * 3 + 30 * 4, 102, 31.5, True,
    ),
]  # fmt: skip


@pytest.mark.parametrize(("make", "area", "depth", "width", "is_open"), EVERY)
def test_area_outline_and_cells(
    make: Callable[[], Midline], area: float, depth: float, width: float, is_open: bool
) -> None:
    midline = make()
    assert shapes.area(midline) == pytest.approx(area, rel=1e-12)
    # a tube's polygon has its corners a little off the circle
    assert shapes.extent(midline) == pytest.approx((depth, width), rel=2e-4)
    assert shapes.is_open(midline) == is_open


@pytest.mark.parametrize(("make", "area", "depth", "width", "is_open"), EVERY)
def test_turning_changes_nothing_but_the_direction(
    make: Callable[[], Midline], area: float, depth: float, width: float, is_open: bool
) -> None:
    midline = make()
    turned = shapes.turn(midline, 1)
    assert shapes.area(turned) == pytest.approx(area, rel=1e-12)
    assert shapes.extent(turned) == pytest.approx((width, depth), rel=2e-4)
    assert shapes.is_open(turned) == is_open
    assert turned.held_wall == midline.held_wall
    for same in (shapes.turn(turned, -1), shapes.turn(midline, 4)):
        np.testing.assert_array_equal(same.points, midline.points)
    for axis in ("y", "z"):
        twice = shapes.mirror(shapes.mirror(midline, axis=axis), axis=axis)
        np.testing.assert_array_equal(twice.points, midline.points)
    # two mirrors make half a turn
    both = shapes.mirror(shapes.mirror(midline), axis="z")
    np.testing.assert_array_equal(both.points, shapes.turn(midline, 2).points)


def test_a_channel_opens_to_y_and_its_web_is_held() -> None:
    midline = shapes.channel(depth=150, flange=60, wall=4)
    web = midline.points[midline.walls[midline.held_wall]]
    np.testing.assert_array_equal(web, [[0, -73], [0, 73]])
    assert midline.points[:, 0].max() == 58.0
    np.testing.assert_array_equal(shapes.turn(midline, 1).points[:, 1].max(), 58.0)
    np.testing.assert_array_equal(shapes.mirror(midline).points[:, 0].min(), -58.0)


@pytest.mark.parametrize(
    "midline",
    [
        shapes.boxed_channel(depth=150, flange=60, wall=4, plate=3),
        shapes.box(depth=90, width=60, wall=3),
        shapes.tube(diameter=60.3, wall=2.6),
    ],
)
def test_the_held_wall_is_the_one_furthest_from_the_open_side(midline: Midline) -> None:
    middles = midline.points[midline.walls].mean(axis=1)
    assert middles[midline.held_wall, 0] == pytest.approx(middles[:, 0].min())
    assert middles[midline.held_wall, 1] == pytest.approx(0.0, abs=1e-12)


def test_a_hat_opens_downward() -> None:
    midline = shapes.hat(depth=80, width=60, lip=15, wall=2.5)
    top = midline.points[midline.walls[midline.held_wall]]
    assert set(top[:, 1]) == {38.75}
    assert abs(top[:, 0]).max() == 28.75
    lips = midline.points[midline.points[:, 1] < 0]
    assert abs(lips[:, 0]).max() == pytest.approx(27.5 + 15)


@given(st.floats(10, 500), st.floats(0.01, 0.4))
def test_a_tube_has_the_thin_circles_area_and_inertia(diameter: float, part: float) -> None:
    wall = part * diameter
    midline = shapes.tube(diameter=diameter, wall=wall)
    radius = (diameter - wall) / 2
    a, b = midline.points[midline.walls[:, 0]], midline.points[midline.walls[:, 1]]
    length = np.linalg.norm(b - a, axis=1)
    # integral of y^2 along a straight wall, exactly
    square = (a**2 + a * b + b**2) / 3
    inertia = (square * (length * midline.thickness)[:, None]).sum(axis=0)
    exact = math.pi * radius**3 * wall
    assert shapes.area(midline) == pytest.approx(2 * math.pi * radius * wall, rel=1e-12)
    assert inertia == pytest.approx([exact, exact], rel=1e-12)


@pytest.mark.parametrize(
    ("make", "rule"),
    [
        (lambda: shapes.channel(depth=150, flange=60, wall=0), "wall must be greater than 0 mm"),
        (lambda: shapes.channel(depth=150, flange=60, wall=-3), "wall must be greater"),
        (lambda: shapes.channel(depth=150, flange=60, wall=math.nan), "wall must be greater"),
        (lambda: shapes.channel(depth=20, flange=60, wall=10), "half the depth, 10 mm"),
        (lambda: shapes.channel(depth=150, flange=4, wall=4), "thinner than the flange, 4 mm"),
        (lambda: shapes.box(depth=90, width=6, wall=3), "half the width, 3 mm"),
        (lambda: shapes.tube(diameter=10, wall=5), "half the diameter, 5 mm"),
        (lambda: shapes.lipped_channel(depth=50, flange=40, lip=30, wall=2), "two lips"),
        (lambda: shapes.boxed_channel(depth=150, flange=60, wall=4, plate=0), "plate must be"),
        (
            lambda: shapes.capped_channel(depth=150, flange=60, wall=4, plate=3, plate_depth=99),
            "must reach over both flanges",
        ),
        (lambda: shapes.flat(depth=-1, width=3), "depth must be greater"),
        (lambda: shapes.free({"a": (0, 0)}, [("a", "b", 2)]), "between two named corners"),
        (lambda: shapes.free({"a": (0, 0), "b": (0, 0)}, [("a", "b", 2)]), "a length greater"),
        (
            lambda: shapes.free({"a": (0, 0), "b": (0, 9), "c": (9, 9)}, [("a", "b", 2)]),
            "every corner must belong to a wall",
        ),
        (
            lambda: shapes.free(
                {"a": (0, 0), "b": (0, 9), "c": (9, 9), "d": (9, 0)},
                [("a", "b", 2), ("c", "d", 2)],
            ),
            "hang together",
        ),
    ],
)
def test_a_shape_that_cannot_be_is_refused(make: Callable[[], Midline], rule: str) -> None:
    with pytest.raises(ModelError, match=rule):
        make()
