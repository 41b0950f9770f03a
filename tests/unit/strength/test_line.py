"""A weld as a line: its loads balance what acts on it; a straight one has no torsion."""

import numpy as np
import pytest

from fea.errors import ModelError
from fea.strength.line import WeldLine, joined, polyline

RNG = np.random.default_rng(1741)
FORCE = np.array([120.0, -300.0, 450.0, 9000.0, -21000.0, 15000.0])


def space_line() -> WeldLine:
    return WeldLine(RNG.uniform(-50.0, 50.0, (6, 2, 3)))


def test_loads_along_the_line_add_up_to_force_and_moment() -> None:
    line, about = space_line(), np.array([30.0, -20.0, 80.0])
    load = line.loads(FORCE, about)
    # Load and place both go linearly along a stretch: Simpson's rule is exact.
    total, moment = np.zeros(3), np.zeros(3)
    for (a, b), (p, q), length in zip(line.ends, load, line.lengths, strict=True):
        for place, f, weight in (
            (a, p, 1.0), (0.5 * (a + b), 0.5 * (p + q), 4.0), (b, q, 1.0)
        ):  # fmt: skip
            total += weight / 6.0 * length * f
            moment += weight / 6.0 * length * np.cross(place - about, f)
    assert total == pytest.approx(FORCE[:3], rel=1e-12)
    assert moment == pytest.approx(FORCE[3:], rel=1e-10)


def test_inertia_is_that_of_many_points() -> None:
    line = space_line()
    t = (np.arange(4000) + 0.5) / 4000
    points = line.ends[:, :1] + t[None, :, None] * (line.ends[:, 1:] - line.ends[:, :1])
    r = (points - line.centroid).reshape(-1, 3)
    weight = np.repeat(line.lengths / 4000, 4000)
    slow = np.einsum("n,ni,ni->", weight, r, r) * np.eye(3)
    slow -= np.einsum("n,ni,nj->ij", weight, r, r)
    assert line.inertia == pytest.approx(slow, rel=1e-6, abs=1.0)


def test_cutting_a_stretch_in_two_changes_nothing() -> None:
    line = space_line()
    middle = line.ends.mean(axis=1)
    halves = joined(
        [
            WeldLine(np.stack([line.ends[:, 0], middle], axis=1)),
            WeldLine(np.stack([middle, line.ends[:, 1]], axis=1)),
        ]
    )
    assert halves.length == pytest.approx(line.length, rel=1e-13)
    assert halves.inertia == pytest.approx(line.inertia, rel=1e-12)


def test_a_straight_weld_bends_but_does_not_twist_about_itself() -> None:
    line = polyline(np.array([[0.0, -50.0, 0.0], [0.0, 50.0, 0.0]]))
    bent = line.loads(np.array([0.0, 0.0, 0.0, 1e5, 0.0, 0.0]), np.zeros(3))
    assert np.abs(bent).max() == pytest.approx(1e5 / (100.0**2 / 6.0))
    with pytest.raises(ModelError, match="resists no moment about itself"):
        line.loads(np.array([0.0, 0.0, 0.0, 0.0, 1e5, 0.0]), np.zeros(3))
