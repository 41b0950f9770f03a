"""Bending and transverse shear of a flat quadrilateral: MITC4.

Plane freedoms of a corner: uz rx ry, in the axes of the quadrilateral.  A normal turns by
ry about y and rx about x, so that a point z above the midsurface moves by ``z ry`` along x
and ``-z rx`` along y (Reissner's and Mindlin's plate).  Shear strains along the natural
coordinates are sampled at the middles of the sides and interpolated between opposite
sides [1]_ [2]_; without that, thin elements would lock.

References
----------
All from memory.

.. [1] E. N. Dvorkin, K. J. Bathe, A continuum mechanics based four-node shell element for
   general non-linear analysis, Engineering Computations 1, 1984.
.. [2] K. J. Bathe, E. N. Dvorkin, A four-node plate bending element based on
   Mindlin/Reissner plate theory and a mixed interpolation, Int. J. Numerical Methods in
   Engineering 21, 1985.
.. [3] E. Reissner, The effect of transverse shear deformation on the bending of elastic
   plates, J. Applied Mechanics 12, 1945 (the factor 5/6).
"""

import numpy as np
from numpy.typing import NDArray

from fea.element.shell_membrane import GAUSS, jacobians, shapes

Array = NDArray[np.float64]

SHEAR_FACTOR = 5.0 / 6.0
"""Effective over actual thickness in transverse shear (Reissner [3]_)."""

_SIDE_MIDDLES = np.array([[0.0, -1.0], [1.0, 0.0], [0.0, 1.0], [-1.0, 0.0]])


def strains(plane: Array, places: Array) -> Array:
    """Return curvatures and transverse shears, shape (n, s, 5, 12).

    Rows: kx, ky, kxy (1/mm; strain at height z is z times them), gxz, gyz.  Columns:
    uz rx ry of the four corners.

    Parameters
    ----------
    plane : (n, 4, 2), mm
    places : (s, 2), natural
    """
    _, slopes = shapes(places)
    inverse, det = jacobians(plane, places)
    grad = inverse @ slopes[None]
    n, s = det.shape
    B = np.zeros((n, s, 5, 12))
    B[:, :, 0, 2::3] = grad[:, :, 0]
    B[:, :, 1, 1::3] = -grad[:, :, 1]
    B[:, :, 2, 2::3] = grad[:, :, 1]
    B[:, :, 2, 1::3] = -grad[:, :, 0]
    B[:, :, 3:] = inverse @ _natural_shears(plane, places)
    return B


def _natural_shears(plane: Array, places: Array) -> Array:
    """Return the shears along xi and eta between those of the sides, shape (n, s, 2, 12)."""
    values, slopes = shapes(_SIDE_MIDDLES)
    along = np.zeros((len(plane), 4, 12))
    for side, axis in ((0, 0), (2, 0), (1, 1), (3, 1)):
        # Shear along the side is the slope of uz plus the turn of the normal towards it.
        slope = slopes[side, axis]
        x, y = (plane.transpose(0, 2, 1) @ slope).T
        along[:, side, 0::3] = slope
        along[:, side, 1::3] = -y[:, None] * values[side]
        along[:, side, 2::3] = x[:, None] * values[side]
    xi, eta = places[:, 0, None], places[:, 1, None]
    low, right, high, left = (along[:, None, side] for side in range(4))
    rows = [
        0.5 * (1.0 - eta) * low + 0.5 * (1.0 + eta) * high,
        0.5 * (1.0 - xi) * left + 0.5 * (1.0 + xi) * right,
    ]
    return np.stack(rows, axis=2)


def stiffness(plane: Array, thickness: Array, D: Array) -> Array:
    """Return the stiffness in uz rx ry of the corners, shape (n, 12, 12).

    Parameters
    ----------
    plane : (n, 4, 2), mm
    thickness : (n,), mm
    D : (n, 3, 3), MPa, the plane-stress matrix
    """
    B = strains(plane, GAUSS)
    _, det = jacobians(plane, GAUSS)
    weight = (thickness[:, None] * det)[..., None, None]
    G = D[:, 2, 2]
    force = np.empty_like(B)
    force[:, :, :3] = weight * ((thickness**2 / 12.0)[:, None, None] * D)[:, None] @ B[:, :, :3]
    force[:, :, 3:] = weight * (SHEAR_FACTOR * G)[:, None, None, None] * B[:, :, 3:]
    n = len(plane)
    flat, flat_force = B.reshape(n, 20, 12), force.reshape(n, 20, 12)
    return np.asarray(np.swapaxes(flat, 1, 2) @ flat_force)
