"""Linear buckling: the factor on a load at which the axial forces leave no stiffness.

``(K + f Kg) x = 0`` with Kg from the beams' axial forces under the load itself: the largest
eigenvalues of ``-Kg x = m K x`` are the lowest factors, f = 1/m.

References
----------
.. [1] J. S. Przemieniecki, Theory of Matrix Structural Analysis, 1968, ch. 15.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.element import inertia
from fea.element.beam import E_AXIAL
from fea.errors import Complaint, SolveError
from fea.solve.assemble import element_freedoms
from fea.solve.system import Held

Array = NDArray[np.float64]

SMALLEST = 1e-9
"""A factor above 1/SMALLEST is none: what little compression there is is round-off."""

RESIDUAL_LIMIT = 1e-5
"""A factor that leaves more of its forces unbalanced is refused."""

SPARE = 4


@dataclass(frozen=True, eq=False)
class Buckling:
    """The lowest factors under which a load buckles the mesh.

    Attributes
    ----------
    factor : (k,), rising, all above zero; fewer than asked if nothing more is compressed
    shape : (n_freedoms, k), largest freedom 1
    work : (k, n_elements), each element's share of -x' Kg x: where it gives way
    residual : (k,)
    """

    factor: Array
    shape: Array
    work: Array
    residual: Array


def buckling(held: Held, forces: Array, count: int) -> Buckling:
    """Return the lowest factors.

    Parameters
    ----------
    held : the system, held and factorised
    forces : (n_elements, 8), the elements' forces under the load

    Raises
    ------
    SolveError
        If a factor does not pass its check.
    """
    mesh = held.system.mesh
    beams = mesh.beams
    radius = (beams.EI1 + beams.EI2) / beams.EA
    blocks = inertia.geometric_stiffness(beams, forces[:, E_AXIAL], radius)
    freedoms = element_freedoms(mesh.elements.nodes)
    n = mesh.n_freedoms
    at = (np.repeat(freedoms, 14, axis=1).ravel(), np.tile(freedoms, (1, 14)).ravel())
    G = sp.csr_array(sp.coo_array((blocks.ravel(), at), shape=(n, n)))
    T = sp.csr_array(held.system.links.matrix @ held.supports.matrix)
    reduced = sp.csr_array(T.T @ G @ T)
    x, value = _largest(held, reduced, count)
    kept = value > SMALLEST
    x, value = x[:, kept][:, :count], value[kept][:count]
    shape = np.asarray(T @ x)
    largest = np.argmax(np.abs(shape), axis=0)
    shape = shape / shape[largest, np.arange(shape.shape[1])]
    ends = shape[freedoms]  # (n_elements, 14, k)
    work = -np.einsum("nik,nij,njk->kn", ends, blocks, ends)
    out = _residual(held, T, G, shape, value)
    if not np.all(out < RESIDUAL_LIMIT):
        raise SolveError(
            Complaint(
                "a buckling factor does not pass its own check and is withheld",
                found=f"relative residual {float(out.max()):.1e}, limit {RESIDUAL_LIMIT:.0e}",
            )
        )
    total = work.sum(axis=1, keepdims=True)
    return Buckling(1.0 / value, shape, work / np.where(total != 0.0, total, 1.0), out)


def _largest(held: Held, G: sp.csr_array, count: int) -> tuple[Array, Array]:
    """Return the eigenvectors of the largest m of ``-G x = m K x``, and those m, falling."""
    from scipy.linalg import eigh
    from scipy.sparse.linalg import LinearOperator, eigsh

    n = G.shape[0]
    if not len(G.data) or float(np.max(np.abs(G.data))) == 0.0:
        return np.zeros((n, 0)), np.zeros(0)
    k = min(count + SPARE, n)
    if k > n - 2:  # too few motions for Lanczos
        value, x = eigh(-G.toarray(), held.K.toarray())
    else:
        inverse = LinearOperator((n, n), matvec=held.factor.solve, dtype=np.float64)
        start = np.cos(np.arange(n) + 0.5) / np.sqrt(held.K.diagonal())
        ncv = min(n, max(2 * k + 10, 30))
        value, x = eigsh(-G, k, held.K, Minv=inverse, which="LA", v0=start, ncv=ncv)
    order = np.argsort(-value)
    return np.asarray(x[:, order]), np.asarray(value[order])


def _residual(held: Held, T: sp.csr_array, G: sp.csr_array, shape: Array, value: Array) -> Array:
    scale = 1.0 / np.sqrt(held.K.diagonal())[:, None]
    stiff = scale * (T.T @ held.system.structure.internal(shape))
    soft = scale * (T.T @ (G @ shape))
    size = np.linalg.norm(stiff, axis=0)
    return np.asarray(np.linalg.norm(stiff * value + soft, axis=0) / (size * value))
