"""Rigid motions of condensed pieces, and stiffnesses to which they cost nothing."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def motions(points: Array, freedoms: int, middle: Array, span: float) -> Array:
    """Return the freedoms of points in the six rigid motions, (freedoms n, 6).

    Three movements, then rotations about `middle` in units of 1/span, so that all are of
    one size.

    Parameters
    ----------
    points : (n, 3), mm
    freedoms : 6 a point, or 7 with warping, which no rigid motion moves
    """
    out = np.zeros((len(points), freedoms, 6))
    out[:, :3, :3] = np.eye(3)
    for axis, turn in enumerate(np.eye(3)):
        out[:, :3, 3 + axis] = np.cross(turn, points - middle) / span
        out[:, 3 + axis, 3 + axis] = 1.0 / span
    return out.reshape(-1, 6)


def balanced(K: Array, rigid: Array) -> Array:
    """Return a condensed stiffness to which rigid motions cost nothing.

    Solving leaves forces of about 1e-9 of the largest under them; they are projected out
    in units in which the diagonal is one.
    """
    scale = np.sqrt(np.maximum(np.diagonal(K), 0.0))
    scale[scale == 0.0] = 1.0  # what resists nothing, such as the warping of a tube
    axes, _ = np.linalg.qr(rigid * scale[:, None])
    unit = 0.5 * (K + K.T) / np.outer(scale, scale)
    half = unit - axes @ (axes.T @ unit)
    unit = half - (half @ axes) @ axes.T
    return np.asarray(0.5 * (unit + unit.T) * np.outer(scale, scale))
