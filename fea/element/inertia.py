"""Consistent mass and geometric stiffness of the beam elements.

Both integrate the element's own shape functions (exact under end loads) by Gauss.

References
----------
.. [1] J. S. Przemieniecki, Theory of Matrix Structural Analysis, 1968, ch. 11
   (consistent mass, rotary inertia) and ch. 15 (geometric stiffness).
.. [2] V. Z. Vlasov, Thin-Walled Elastic Beams, 2nd ed., 1961, ch. V (axial force on a
   section whose shear centre is not its centroid).
"""

import numpy as np
from numpy.typing import NDArray

from fea.element import beam
from fea.element.beam import Beams

Array = NDArray[np.float64]

_N_GAUSS = 6


def _gauss() -> tuple[Array, Array]:
    x, w = np.polynomial.legendre.leggauss(_N_GAUSS)
    return 0.5 * (x + 1.0), 0.5 * w


def _at_centroid(beams: Beams, rows: Array) -> Array:
    """Return v and w of the centroid from rows v, w, tx at the shear centre, in place order."""
    off = beams.centroid - beams.shear_centre
    out = rows.copy()
    out[:, :, 0] -= off[:, None, 1, None] * rows[:, :, 2]
    out[:, :, 1] += off[:, None, 0, None] * rows[:, :, 2]
    return out


def mass(beams: Beams, per_length: Array, rotary: Array) -> Array:
    """Return the consistent mass matrices in the nodes' freedoms, shape (n, 14, 14).

    Parameters
    ----------
    per_length : (n,), tonne/mm
    rotary : (n, 3), tonne mm and tonne mm3: density times I1, I2 and Cw

    Notes
    -----
    Along the element the centroid moves by u, v and w, and a point of the section beyond it
    by its turn and by chi times the principal warping function.  In principal axes these
    do not couple, so that centroid and shear centre may lie anywhere, and `held` ends too.
    """
    x, weight = _gauss()
    motion, _ = beam.shape_functions(beams, x)
    side = _at_centroid(beams, motion[:, :, [1, 2, 3]])
    rows = np.concatenate([motion[:, :, [0]], side, motion[:, :, 4:7]], axis=2)
    polar = rotary[:, 0] + rotary[:, 1]
    density = np.stack([per_length] * 3 + [polar, rotary[:, 0], rotary[:, 1], rotary[:, 2]], axis=1)
    scale = density[:, None, :] * (weight[None, :] * beams.length[:, None])[:, :, None]
    natural = np.einsum("nsri,nsr,nsrj->nij", rows, scale, rows, optimize=True)
    return _to_nodes(beams, natural)


def arm_mass(beams: Beams, per_length: Array, rotary: Array) -> Array:
    """Return the mass of the rigid metal between nodes and flexible parts, (n, 14, 14).

    A rigid end is a straight bar of the element's section along its arm.  It moves with its
    node alone, so each end has a block of six freedoms of its own; warping moves none of it.

    Parameters
    ----------
    per_length, rotary : as for :func:`mass`
    """
    n = len(beams.length)
    out = np.zeros((n, 14, 14))
    across = np.einsum("nk,nkj->nj", beams.centroid, beams.axes[:, 1:])
    # Inertia per length of a slice about its centroid: polar about x, rotary about y', z'.
    about = np.stack([rotary[:, 0] + rotary[:, 1], rotary[:, 0], rotary[:, 1]], axis=1)
    turn = np.einsum("nki,nk,nkj->nij", beams.axes, about, beams.axes)
    points, weights = _gauss()
    for end in (0, 1):
        long = np.linalg.norm(beams.arms[:, end], axis=1)
        for x, w in zip(points, weights, strict=True):
            lump = (w * long * per_length)[:, None, None]
            X = beam.cross_matrix(x * beams.arms[:, end] + across)
            at = slice(7 * end, 7 * end + 3)
            by = slice(7 * end + 3, 7 * end + 6)
            out[:, at, at] += lump * np.eye(3)
            out[:, at, by] -= lump * X
            out[:, by, at] += lump * X
            out[:, by, by] += (w * long)[:, None, None] * turn - lump * (X @ X)
    return out


def geometric_stiffness(beams: Beams, axial: Array, radius_squared: Array) -> Array:
    """Return the stiffness an axial force adds, in the nodes' freedoms, (n, 14, 14).

    Parameters
    ----------
    axial : (n,), N, tension positive, even along the element
    radius_squared : (n,), mm2, (I1 + I2)/A

    Notes
    -----
    Axial force only: bending moments (lateral-torsional buckling) are left out.
    """
    x, weight = _gauss()
    _, slope = beam.shape_functions(beams, x)
    rows = _at_centroid(beams, slope)
    factor = np.stack([np.ones_like(axial), np.ones_like(axial), radius_squared], axis=1)
    scale = (axial * beams.length)[:, None, None] * weight[None, :, None] * factor[:, None, :]
    natural = np.einsum("nsri,nsr,nsrj->nij", rows, scale, rows, optimize=True)
    return _to_nodes(beams, natural)


def _to_nodes(beams: Beams, natural: Array) -> Array:
    A = beam.geometry(beams)
    return np.asarray(np.swapaxes(A, 1, 2) @ (natural @ A))
