"""A thin wall round a washer, against the published solutions and an integration in steps."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from fea.element.wall_seat import NU, E, ring_stiffness


def rigidity(wall: float) -> float:
    return E * wall**3 / (12.0 * (1.0 - NU**2))


def test_a_force_in_the_middle_of_a_clamped_plate() -> None:
    """P a^2 / 16 pi D; the ring is a thousandth of the plate."""
    want = 16.0 * math.pi * rigidity(2.0) / 50.0**2
    assert ring_stiffness(2.0, 0.0, 0.1, 50.0) == pytest.approx(want, rel=1e-4)


def test_a_ring_on_a_clamped_plate_without_a_hole() -> None:
    """The deflection under the ring: P / 8 pi D ((a^4 - b^4) / 2 a^2 - 2 b^2 ln(a/b))."""
    a, b = 50.0, 20.0
    bent = (a**4 - b**4) / (2.0 * a**2) - 2.0 * b**2 * math.log(a / b)
    want = 8.0 * math.pi * rigidity(3.0) / bent
    assert ring_stiffness(3.0, 0.0, 2.0 * b, a) == pytest.approx(want, rel=1e-12)


def test_a_plate_clamped_to_a_stiff_disc() -> None:
    """P a^2 / 16 pi D (1 - s - s (ln s)^2 / (1 - s)), with s = (b/a)^2."""
    a, b = 50.0, 15.0
    s = (b / a) ** 2
    bent = 1.0 - s - s * math.log(s) ** 2 / (1.0 - s)
    want = 16.0 * math.pi * rigidity(2.0) / (a**2 * bent)
    assert ring_stiffness(2.0, 10.0, 2.0 * b, a, welded=True) == pytest.approx(want, rel=1e-12)


@pytest.mark.parametrize(("hole", "ring"), [(12.0, 30.0), (20.0, 64.0), (29.0, 30.0)])
def test_a_plate_with_a_hole_by_integration(hole: float, ring: float) -> None:
    """The plate's equation in the slope s, in two stretches, solved as a boundary value problem."""
    wall, a = 2.0, 50.0
    b, c, D = ring / 2.0, hole / 2.0, rigidity(2.0)

    def stretch(t, y):
        inner, outer = c + (b - c) * t, b + (a - b) * t
        # y: slope and its derivative inside, the same outside, deflection outside
        return np.stack([
            (b - c) * y[1],
            (b - c) * (y[0] / inner**2 - y[1] / inner),
            (a - b) * y[3],
            (a - b) * (1.0 / (2.0 * math.pi * outer * D) + y[2] / outer**2 - y[3] / outer),
            (a - b) * y[2],
        ])  # fmt: skip

    def ends(at_0, at_1):
        return np.array(
            [at_0[1] + NU * at_0[0] / c, at_1[0] - at_0[2], at_1[1] - at_0[3], at_1[2], at_1[4]]
        )

    t = np.linspace(0.0, 1.0, 41)
    scale = 1e-6
    start = np.full((5, len(t)), scale)
    found = solve_bvp(stretch, ends, t, start, tol=1e-8, max_nodes=20000)
    assert found.success
    # To the tolerance of the integration.
    assert ring_stiffness(wall, hole, ring, a) == pytest.approx(1.0 / found.y[4, 0], rel=1e-5)


def test_what_it_grows_with() -> None:
    plain = ring_stiffness(2.0, 12.0, 40.0, 50.0)
    assert ring_stiffness(4.0, 12.0, 40.0, 50.0) == pytest.approx(8.0 * plain, rel=1e-12)
    assert ring_stiffness(2.0, 24.0, 80.0, 100.0) == pytest.approx(plain / 4.0, rel=1e-12)
    rings = [ring_stiffness(2.0, 12.0, ring, 50.0) for ring in (20.0, 40.0, 60.0, 99.0)]
    assert np.all(np.diff(rings) > 0.0)
    assert ring_stiffness(2.0, 30.0, 40.0, 50.0) < plain
    assert ring_stiffness(2.0, 12.0, 40.0, 50.0, welded=True) > plain


def test_a_washer_that_reaches_the_walls_and_one_in_the_hole() -> None:
    assert math.isinf(ring_stiffness(2.0, 12.0, 100.0, 50.0))
    assert ring_stiffness(2.0, 30.0, 30.0, 50.0) == 0.0
