"""The smallest of a linear function under smooth limits: the one door to scipy.optimize."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Smallest:
    """Where the smallest value was found: x (n,), the value, and whether it converged."""

    x: Array
    value: float
    converged: bool


def smallest(
    cost: Array,
    limits: Callable[[Array], Array],
    slopes: Callable[[Array], Array],
    bounds: tuple[float, float],
    start: Array,
) -> Smallest:
    """Return the smallest ``cost . x`` with ``limits(x) >= 0`` and x within bounds.

    Sequential quadratic programming: a local optimum, the global one if the limits are
    concave.

    Parameters
    ----------
    cost : (n,)
    limits : of (n,), gives (m,); slopes : of (n,), gives (m, n)
    start : (n,), within the bounds

    References
    ----------
    .. [1] D. Kraft, A software package for sequential quadratic programming, DFVLR-FB
       88-28, 1988.
    """
    from scipy.optimize import NonlinearConstraint, minimize

    scale = float(np.max(np.abs(cost)))

    def value(x: Array) -> float:
        return float(cost @ x) / scale

    def slope(x: Array) -> Array:
        return cost / scale + 0.0 * x

    found = minimize(
        value,
        start,
        jac=slope,
        bounds=[bounds] * len(cost),
        constraints=NonlinearConstraint(limits, 0.0, np.inf, jac=slopes),
        method="SLSQP",
        options={"maxiter": 60, "ftol": 1e-6},
    )
    x = np.clip(np.asarray(found.x, dtype=float), *bounds)
    return Smallest(x, float(cost @ x), bool(found.success))
