"""A flat bracket bolted at both ends: its stiffness at one end while the other is held.

The bracket is a Timoshenko beam clamped where it is bolted to the frame; its flexibility
at the other end is that of a cantilever.  What the metal round the bolts gives comes in
series, the same each way.  Pinned at both ends, it only pushes and pulls along itself.

References
----------
.. [1] J. S. Przemieniecki, Theory of Matrix Structural Analysis, 1968, ch. 5 and 6.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

E = 205e3
"""Modulus of elasticity of the bracket's steel, MPa (common practice, no source)."""

G = E / 2.6

SHEAR_SHARE = 5.0 / 6.0
"""Of a rectangle, over its area."""


def axes(span: Array) -> Array:
    """Return along, across the width, and across the wall as rows, (3, 3), vehicle axes.

    The plate's width lies as near to the vehicle's long axis as its direction allows: flat
    against a rail's flange and a floor brace.  Between points that coincide it is upright.
    """
    length = float(np.linalg.norm(span))
    along = span / length if length > 0.0 else np.array([0.0, 0.0, 1.0])
    lead = np.eye(3)[0] if abs(along[0]) < 0.9 else np.eye(3)[1]
    width = lead - (lead @ along) * along
    width /= np.linalg.norm(width)
    return np.stack([along, width, np.cross(along, width)])


def flexibility(length: float, width: float, wall: float) -> Array:
    """Return how the free end of the plate, clamped at the other, gives, (6, 6).

    Movements along the axes of :func:`axes`, then turns about them, under the same forces
    and moments; 1/N mm.
    """
    A = width * wall
    flat, upright = width * wall**3 / 12.0, wall * width**3 / 12.0
    J = width * wall**3 / 3.0 * (1.0 - 0.63 * wall / width)
    shear = length / (G * SHEAR_SHARE * A)
    F = np.zeros((6, 6))
    F[0, 0] = length / (E * A)
    F[1, 1] = length**3 / (3.0 * E * upright) + shear
    F[2, 2] = length**3 / (3.0 * E * flat) + shear
    F[3, 3] = length / (G * J)
    F[4, 4] = length / (E * flat)
    F[5, 5] = length / (E * upright)
    F[1, 5] = F[5, 1] = length**2 / (2.0 * E * upright)
    F[2, 4] = F[4, 2] = -(length**2) / (2.0 * E * flat)
    return F


def stiffness(
    span: Array, size: tuple[float, float, float], ends_stiffness: float, *, pinned: bool = False
) -> Array:
    """Return the stiffness at the bracket's free end, (6, 6), vehicle axes, N and mm.

    Parameters
    ----------
    span : (3,), mm, from the held end to the free one; gives the direction
    size : length, width and wall, mm
    ends_stiffness : N/mm, what the metal at the two ends gives together, each way
    pinned : bool
        Both ends turn freely: force along the bracket alone.
    """
    F = flexibility(*size)
    F[:3, :3] += np.eye(3) / ends_stiffness
    along = np.zeros((6, 6))
    along[0, 0] = 1.0 / F[0, 0]
    own = along if pinned else np.asarray(np.linalg.inv(F))
    turn = np.kron(np.eye(2), axes(span))
    K = turn.T @ own @ turn
    return np.asarray(0.5 * (K + K.T))
