"""Least squares between bounds, and Student's distribution: what fitting needs of scipy."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from fea.errors import SolveError

Array = NDArray[np.float64]

CLOSE = 1e-10
"""Relative change of residuals, unknowns and gradient at which the search is done."""


def bounded(
    residual: Callable[[Array], Array],
    jacobian: Callable[[Array], Array],
    start: Array,
    *,
    bounds: tuple[Array, Array],
    scale: Array,
    close: float = CLOSE,
) -> tuple[Array, int]:
    """Return the unknowns of the least sum of squares, and how often residuals were taken.

    Parameters
    ----------
    residual : (n,) -> (m,), in standard deviations
    jacobian : (n,) -> (m, n)
    start : (n,), between the bounds
    bounds : ((n,), (n,))
    scale : (n,), what is a usual step of each unknown

    Raises
    ------
    SolveError
        If the search does not come to an end.
    """
    from scipy.optimize import least_squares

    found = least_squares(
        residual,
        start,
        jac=jacobian,
        bounds=bounds,
        x_scale=scale,
        method="trf",
        ftol=close,
        xtol=close,
        gtol=close,
        max_nfev=100,
    )
    if found.status < 1:
        msg = f"the search for the best fit did not end within {found.nfev} trials"
        raise SolveError(msg)
    return np.asarray(found.x, dtype=np.float64), int(found.nfev)


def student(tail: float, freedom: float) -> float:
    """Return the t that is exceeded with probability `tail`; infinite `freedom` is the normal."""
    from scipy.special import ndtri, stdtrit

    value = -ndtri(tail) if np.isinf(freedom) else -stdtrit(freedom, tail)
    return float(value)


def chi_square_tail(value: float, freedom: int) -> float:
    """Return the probability of a larger sum of squares of that many standard normals."""
    from scipy.special import chdtrc

    return float(chdtrc(freedom, value))
