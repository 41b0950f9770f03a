"""A flat quadrilateral in its own plane: stretching, shear, and the drilling rotation.

Plane freedoms of a corner: ux uy rz, in the axes of the quadrilateral.  The membrane is
bilinear with two incompatible displacement modes a component, ``1 - xi^2`` and
``1 - eta^2`` [1]_, whose gradients are taken with the Jacobian of the centre so that a
constant strain does no work on them on any shape [2]_.  They let a rectangle bend in its
plane without false shear; they belong to one element and are condensed.

The drilling rotation rz is tied to the in-plane rotation ``(v,x - u,y) / 2`` by a penalty
``drill G t`` on the square of their difference [3]_.

- The rotation counts the incompatible modes too: in pure in-plane bending the difference
  then vanishes everywhere in a rectangle, so the tie does no work there and the corners
  turn by the true angle, which is what passes over a fold into the bending of the next
  wall.
- The mean difference over the element bears the full penalty, its variation over the
  element only `VARIATION` of it: nearly the one-point rule, with enough left that no
  pattern of drilling rotations is free.  At a fold the two walls need not agree: a wall
  sheared by g turns by g/2 less than the line of the fold, which bends the next wall.
  A full penalty on the variation would take that for strain, in a strip of one element.

References
----------
All from memory.

.. [1] E. L. Wilson, R. L. Taylor, W. P. Doherty, J. Ghaboussi, Incompatible displacement
   models, in: Numerical and Computer Methods in Structural Mechanics, 1973.
.. [2] R. L. Taylor, P. J. Beresford, E. L. Wilson, A non-conforming element for stress
   analysis, Int. J. Numerical Methods in Engineering 10, 1976.
.. [3] T. J. R. Hughes, F. Brezzi, On drilling degrees of freedom, Computer Methods in
   Applied Mechanics and Engineering 72, 1989.
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

CORNERS = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
"""Natural coordinates xi, eta of the corners, in order round the quadrilateral."""
GAUSS = CORNERS / np.sqrt(3.0)
"""The 2 x 2 Gauss points; every weight is 1."""
VARIATION = 0.01
"""Penalty on the drilling lag's variation in an element over that on its mean.

Bredt's twist of a square tube, six elements a side: -0.2 % at 1, -0.004 % at 0.01.
"""


def shapes(places: Array) -> tuple[Array, Array]:
    """Return the bilinear shape functions and their natural derivatives.

    Parameters
    ----------
    places : (s, 2), natural coordinates xi, eta

    Returns
    -------
    (s, 4) and (s, 2, 4), rows d/dxi, d/deta
    """
    xi, eta = places[:, None, 0], places[:, None, 1]
    a, b = CORNERS.T
    values = 0.25 * (1.0 + a * xi) * (1.0 + b * eta)
    slopes = np.stack([0.25 * a * (1.0 + b * eta), 0.25 * b * (1.0 + a * xi)], axis=1)
    return values, slopes


def jacobians(plane: Array, places: Array) -> tuple[Array, Array]:
    """Return J^-1 and det J, J[a, b] the derivative of coordinate b by natural coordinate a.

    Parameters
    ----------
    plane : (n, 4, 2), mm, corners in the plane of the element
    places : (s, 2), natural

    Returns
    -------
    (n, s, 2, 2), 1/mm; (n, s), mm2
    """
    _, slopes = shapes(places)
    J = slopes[None] @ plane[:, None]
    det = J[..., 0, 0] * J[..., 1, 1] - J[..., 0, 1] * J[..., 1, 0]
    inverse = np.empty_like(J)
    inverse[..., 0, 0], inverse[..., 1, 1] = J[..., 1, 1], J[..., 0, 0]
    inverse[..., 0, 1], inverse[..., 1, 0] = -J[..., 0, 1], -J[..., 1, 0]
    inverse /= det[..., None, None]
    return inverse, det


def strains(plane: Array, places: Array) -> Array:
    """Return membrane strains and the lag of the drilling rotation, shape (n, s, 4, 16).

    Rows: ex, ey, gxy, and ``(v,x - u,y) / 2 - rz``.  Columns: ux uy rz of the four
    corners, then the amplitudes (mm) of u and v of the first and of the second
    incompatible mode.
    """
    values, slopes = shapes(places)
    inverse, det = jacobians(plane, places)
    grad = inverse @ slopes[None]
    n, s = det.shape
    B = np.zeros((n, s, 4, 16))
    _differentiate(B[..., 0:12:3], B[..., 1:12:3], grad)
    B[:, :, 3, 2:12:3] = -values
    # Modes 1 - xi^2 and 1 - eta^2, through the centre's Jacobian and scaled by det0/det,
    # so that their integral vanishes (Taylor, Beresford and Wilson).
    inner = np.zeros((s, 2, 2))
    inner[:, 0, 0], inner[:, 1, 1] = -2.0 * places[:, 0], -2.0 * places[:, 1]
    centre, det0 = jacobians(plane, np.zeros((1, 2)))
    inner_grad = (det0 / det)[..., None, None] * (centre @ inner[None])
    _differentiate(B[..., 12:16:2], B[..., 13:16:2], inner_grad)
    return B


def _differentiate(of_u: Array, of_v: Array, grad: Array) -> None:
    """Fill the rows of strain and rotation in the columns of u and of v."""
    of_u[:, :, 0] = of_v[:, :, 2] = grad[:, :, 0]
    of_v[:, :, 1] = of_u[:, :, 2] = grad[:, :, 1]
    of_u[:, :, 3] = -0.5 * grad[:, :, 1]
    of_v[:, :, 3] = 0.5 * grad[:, :, 0]


def rigidity(E: Array, nu: Array) -> Array:
    """Return the plane-stress matrix, shape (n, 3, 3), MPa."""
    D = np.zeros((len(E), 3, 3))
    D[:, 0, 0] = D[:, 1, 1] = E / (1.0 - nu**2)
    D[:, 0, 1] = D[:, 1, 0] = nu * D[:, 0, 0]
    D[:, 2, 2] = E / (2.0 * (1.0 + nu))
    return D


def full_stiffness(plane: Array, thickness: Array, D: Array, drill: Array) -> Array:
    """Return the stiffness before condensation, shape (n, 16, 16), columns as `strains`.

    Parameters
    ----------
    plane : (n, 4, 2), mm
    thickness : (n,), mm
    D : (n, 3, 3), MPa, of `rigidity`
    drill : (n,), MPa, factor of the drilling tie times G
    """
    B = strains(plane, GAUSS)
    _, det = jacobians(plane, GAUSS)
    lag = B[:, :, 3]
    share = (det / det.sum(axis=1, keepdims=True))[..., None]
    mean = (share * lag).sum(axis=1, keepdims=True)
    B[:, :, 3] = mean + np.sqrt(VARIATION) * (lag - mean)
    weight = (thickness[:, None] * det)[..., None, None]
    stress = np.empty_like(B)
    stress[:, :, :3] = weight * (D[:, None] @ B[:, :, :3])
    stress[:, :, 3:] = weight * (drill[:, None, None, None] * B[:, :, 3:])
    n = len(plane)
    flat, flat_stress = B.reshape(n, 16, 16), stress.reshape(n, 16, 16)
    return np.asarray(np.swapaxes(flat, 1, 2) @ flat_stress)


def inner_motion(full: Array) -> Array:
    """Return the incompatible amplitudes that carry no force, per corner motion, (n, 4, 12)."""
    return np.asarray(-np.linalg.solve(full[:, 12:, 12:], full[:, 12:, :12]))


def stiffness(plane: Array, thickness: Array, D: Array, drill: Array) -> Array:
    """Return the stiffness in ux uy rz of the corners, shape (n, 12, 12)."""
    full = full_stiffness(plane, thickness, D, drill)
    return np.asarray(full[:, :12, :12] + full[:, :12, 12:] @ inner_motion(full))
