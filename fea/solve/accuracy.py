"""How far round-off can have moved an answer: the condition, and a bound for one figure.

The figure is a reading ``c u`` of the motions ``u``, and ``z = K^-1 c`` what the structure
does under unit forces along ``c``.  Forces ``r`` left over at the free freedoms move it by
``z r`` (Higham, Accuracy and Stability of Numerical Algorithms, 2nd ed., section 7.2, with
the reading in the place of the norm); what the computer cannot tell of ``r``, because it
rounds every product and sum, is bounded element by element:

    |z r| <= |z| |r| + g sum over elements of
             |B z| |D| |B| |u| + |B| |z| |D| |B u| + |B z| |D| |B u|

with B from motions to deformations, D the rigidity: the first part for rounded motions and
arms, the second for rounded sums of forces, the third for the rounded rigidity itself.
A condensed piece comes as a dense matrix K_p and counts with |z| |K_p| |u|; and with what
condensing lost, which touches only what is left of u and z after their rigid motion:
:func:`fea.solve.rigid.balanced` sees to it that rigid motions cost nothing.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import N_FREEDOMS
from fea.solve.factorise import Factor
from fea.solve.operator import Operator
from fea.solve.rigid import motions
from fea.solve.system import Held

Array = NDArray[np.float64]

ROUNDING = 8.0 * np.finfo(float).eps
"""What a short product or sum may lose, relative (g above): the elements' and springs' sums
have up to eight terms that cancel."""

LOST = 1e-9
"""What condensing a piece may lose of its stiffness, relative to its entries: the forces found
under rigid motions before they are balanced are that large."""

LIMIT = 1e-4
"""A stiffness that round-off may move further than this, relative, is withheld: it would
not be sure to the four figures that are printed."""


def condition(held: Held) -> float:
    """Return the condition number of what was factorised, estimated in the 1-norm.

    It is that of the matrix scaled to a unit diagonal, so that units do not count.
    N. J. Higham and F. Tisseur, SIAM J. Matrix Anal. Appl. 21 (2000), algorithm 2.4, with one
    column: it starts from the mean of all columns, so that the same matrix gives the same
    figure.
    """
    from scipy.sparse.linalg import LinearOperator, onenormest

    factor, n = held.factor, held.K.shape[0]
    if n == 0:
        return 1.0
    scale = factor.scale
    size = abs(held.K)
    norm = float(np.max(scale * (size.T @ scale)))
    inverse = LinearOperator(
        (n, n), matvec=_scaled(factor), rmatvec=_scaled(factor), dtype=np.float64
    )
    return norm * float(onenormest(inverse, t=1) if n > 1 else abs(inverse.matvec(np.ones(1))[0]))


def _scaled(factor: Factor) -> Callable[[Array], Array]:
    """Return the inverse of the matrix scaled to a unit diagonal, as a function."""

    def solve(x: Array) -> Array:
        flat = np.ravel(x)
        return factor.solve(flat / factor.scale) / factor.scale

    return solve


def bound(held: Held, u: Array, force: Array, reading: Array) -> float:
    """Return how far a reading may be off, relative to it.

    Parameters
    ----------
    u, force : (n_freedoms,), motions and the loads under which they were found
    reading : (n_freedoms,), the shares c of the motions in the figure
    """
    system, supports = held.system, held.supports
    onto_free = supports.matrix.T @ system.links.matrix.T
    structure = system.structure
    z_free = held.factor.solve(onto_free @ reading)
    z = system.links.matrix @ (supports.matrix @ z_free)
    left = onto_free @ (structure.internal(u[:, None])[:, 0] - force)
    # What stays of loads and reactions at one freedom is itself a sum of rounded terms.
    gross = abs(onto_free) @ np.abs(force)
    off = np.abs(z_free) @ (np.abs(left) + ROUNDING * gross) + _rounded(structure, u, z)
    for at, K in structure.blocks_at:
        off += _condensed(system.mesh.points, at, K, u[at], z[at])
    off += ROUNDING * float(np.abs(reading) @ np.abs(u))
    told = abs(float(reading @ u))
    return float(off) / told if told > 0.0 else float("inf")


def _rounded(structure: Operator, u: Array, z: Array) -> float:
    """Return the part of the bound that the elements' arithmetic makes."""
    size_u, size_z = np.abs(u), np.abs(z)
    map_size = np.abs(structure.deformation) @ np.abs(structure.geometry)
    gross_u = _apply(map_size, size_u[structure.freedoms])
    gross_z = _apply(map_size, size_z[structure.freedoms])
    found = structure.recover(np.stack([u, z], axis=1))
    net_u, net_z = np.abs(found.deformations[..., 0]), np.abs(found.deformations[..., 1])
    rigidity = np.abs(structure.rigidity)
    stressed, gross = _apply(rigidity, net_u), _apply(rigidity, gross_u)
    total = float(np.sum(net_z * gross) + np.sum(gross_z * stressed) + np.sum(net_z * stressed))
    rows = abs(structure.springs)
    k, far, near = structure.spring_stiffness, rows @ size_u, rows @ size_z
    move_u, move_z = np.abs(found.spring_motion[:, 0]), np.abs(found.spring_motion[:, 1])
    total += float(k @ (move_z * far + near * move_u + move_z * move_u))
    return ROUNDING * total


def _condensed(points: Array, at: NDArray[np.intp], K: Array, u: Array, z: Array) -> float:
    """Return a condensed piece's part of the bound.

    Parameters
    ----------
    points : (n, 3), mm, the mesh's nodes
    at : (m,), the piece's freedoms; K : (m, m), its stiffness; u, z : (m,)
    """
    rigid = rigid_motions(points, at)
    weight = np.sqrt(np.maximum(np.diagonal(K), 0.0))[:, None]
    both = np.stack([u, z], axis=1)
    share, *_ = np.linalg.lstsq(weight * rigid, weight * both, rcond=None)
    bent, size = np.abs(both - rigid @ share), np.abs(K)
    lost = LOST * float(bent[:, 1] @ (size @ bent[:, 0]))
    return lost + ROUNDING * float(np.abs(z) @ (size @ np.abs(u)))


def rigid_motions(points: Array, at: NDArray[np.intp]) -> Array:
    """Return the six rigid motions over some freedoms of a mesh, (m, 6)."""
    node, component = np.divmod(at, N_FREEDOMS)
    own, place = np.unique(node, return_inverse=True)
    spots = points[own]
    span = max(float(np.max(np.ptp(spots, axis=0))), 1.0)
    return motions(spots, N_FREEDOMS, spots.mean(axis=0), span)[N_FREEDOMS * place + component]


def _apply(matrices: Array, vectors: Array) -> Array:
    """Return the products of (n, a, b) with (n, b)."""
    return np.asarray((matrices @ vectors[..., None])[..., 0])
