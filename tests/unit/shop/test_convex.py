"""Distances of convex solids: against closed forms and a slow twin."""

import numpy as np
import pytest

from fea.shop.convex import between, block, capsule, hull, prism, triangle


def _lines(a, b, c, d, n: int = 4001) -> float:
    """Return the distance of two segments: nearest point of one, over many of the other."""
    s = np.linspace(0.0, 1.0, n)[:, None]
    p = a + s * (b - a)
    step = d - c
    t = np.clip((p - c) @ step / (step @ step), 0.0, 1.0)[:, None]
    return float(np.linalg.norm(p - c - t * step, axis=1).min())


def test_bars_against_many_points() -> None:
    rng = np.random.default_rng(4711)
    for _ in range(40):
        a, b, c, d = rng.uniform(-100.0, 100.0, (4, 3))
        gap = between(capsule(a, b, 3.0), capsule(c, d, 2.0))
        twin = _lines(a, b, c, d)
        if twin > 0.1:
            # The twin misses the nearest point by half a step at most: 0.1 mm along the line.
            assert gap.size + 5.0 == pytest.approx(twin, abs=0.01)
            apart = gap.second - gap.first
            assert np.linalg.norm(apart) == pytest.approx(gap.size + 5.0, abs=1e-7)


@pytest.mark.parametrize(
    ("low", "expected"),
    [
        ((13.0, 0.0, 0.0), 3.0),
        ((13.0, 14.0, 0.0), 5.0),
        ((12.0, 13.0, 16.0), 7.0),  # corner to corner: 2, 3, 6
        ((8.0, 0.0, 0.0), -2.0),
        ((8.0, 9.0, 7.0), -1.0),
        ((2.0, 2.0, 2.0), -8.0),
    ],
)
def test_boxes_along_the_axes(low: tuple[float, float, float], expected: float) -> None:
    one = block(np.zeros(3), np.full(3, 10.0))
    other = block(np.array(low), np.array(low) + 10.0)
    gap = between(one, other)
    assert gap.size == pytest.approx(expected, abs=1e-9)
    back = between(other, one)
    assert back.size == pytest.approx(expected, abs=1e-9)
    assert gap.way == pytest.approx(-back.way, abs=1e-7)


def test_nothing_changes_when_both_turn() -> None:
    rng = np.random.default_rng(91)
    turn, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    ring = np.array([(0.0, -3.0, -5.0), (0.0, 3.0, -5.0), (0.0, 3.0, 5.0), (0.0, -3.0, 5.0)])
    far = np.array([20.0, 0.0, 0.0])
    for shift in ((4.0, 9.0, 1.0), (4.0, 2.0, 1.0), (4.0, 4.1, 4.2)):
        bar = np.array([(-5.0, 0.0, 0.0), (5.0, 3.0, 1.0)]) + shift
        sizes = [
            between(prism(ring @ m, (ring + far) @ m), capsule(*(bar @ m), 1.5)).size
            for m in (np.eye(3), turn)
        ]
        assert sizes[0] == pytest.approx(sizes[1], abs=1e-8)


def test_moving_by_the_overlap_parts_them() -> None:
    rng = np.random.default_rng(15)
    one = block(np.zeros(3), np.array([40.0, 3.5, 75.0]))
    for _ in range(20):
        middle, along = rng.uniform(5.0, 30.0, 3), rng.normal(size=3) * 60.0
        middle[1] = 1.0
        ends = middle - along, middle + along
        gap = between(one, capsule(*ends, 28.5))
        assert gap.size < 0.0
        moved = between(one, capsule(*(e - gap.size * gap.way for e in ends), 28.5))
        assert moved.size == pytest.approx(0.0, abs=1e-6)


def test_a_triangle_and_what_it_shrinks_to() -> None:
    wall = block(np.array([0.0, -50.0, 100.0]), np.array([3.0, 50.0, 110.0]))
    swept = np.array([(-50.0, 0.0, 0.0), (50.0, 0.0, 80.0), (50.0, 0.0, -80.0)])
    gap = between(wall, triangle(swept, 10.0))
    # Upper edge: height 40 + 0.8 x, nearest at the wall's rear lower edge x = 3.
    assert gap.size == pytest.approx((100.0 - 42.4) / np.hypot(1.0, 0.8) - 10.0, abs=1e-9)
    assert gap.shares.get(2, 0.0) == pytest.approx(0.0, abs=1e-9)
    line = np.array([swept[0], swept[1], swept[1]])
    assert between(wall, triangle(line, 10.0)).size == pytest.approx(gap.size, abs=1e-9)


def test_the_hull_of_points() -> None:
    points = np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0), (2.0, 1.0), (2.0, 0.0)])
    assert sorted(map(tuple, hull(points).tolist())) == [(0, 0), (0, 3), (4, 0), (4, 3)]
