"""Element blocks and springs to one sparse stiffness matrix; no loop over elements."""

from collections.abc import Sequence

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.element import beam
from fea.element.beam import N_FREEDOMS
from fea.mesh.mesh import Mesh, Rows

Array = NDArray[np.float64]


def sparse_rows(rows: Rows, n_freedoms: int) -> sp.csr_array:
    """Return rows as a sparse matrix, shape (n_rows, n_freedoms)."""
    shape = (rows.n_rows, n_freedoms)
    return sp.csr_array((rows.coefficient, (rows.row, rows.freedom)), shape=shape)


def element_freedoms(nodes: NDArray[np.intp]) -> NDArray[np.intp]:
    """Return the freedom numbers of elements between pairs of nodes, shape (n, 14)."""
    each = N_FREEDOMS * nodes[:, :, None] + np.arange(N_FREEDOMS)
    return each.reshape(len(nodes), nodes.shape[1] * N_FREEDOMS)


def stiffness(mesh: Mesh, blocks_at: Sequence[tuple[NDArray[np.intp], Array]] = ()) -> sp.csr_array:
    """Return the stiffness of all elements, springs and further blocks.

    Parameters
    ----------
    blocks_at : (freedoms, stiffness) of pieces condensed elsewhere

    Returns
    -------
    sparse array, shape (n_freedoms, n_freedoms)
    """
    n = mesh.n_freedoms
    blocks = beam.stiffness(mesh.beams)
    freedoms = element_freedoms(mesh.elements.nodes)
    row = np.repeat(freedoms, freedoms.shape[1], axis=1).ravel()
    column = np.tile(freedoms, (1, freedoms.shape[1])).ravel()
    K = sp.csr_array(sp.coo_array((blocks.ravel(), (row, column)), shape=(n, n)))
    if len(mesh.springs.stiffness):
        B = sparse_rows(mesh.springs.rows, n)
        K = K + B.T @ (B * mesh.springs.stiffness[:, None])
    for at_freedoms, block in blocks_at:
        m = len(at_freedoms)
        at = (np.repeat(at_freedoms, m), np.tile(at_freedoms, m))
        K = K + sp.csr_array(sp.coo_array((block.ravel(), at), shape=(n, n)))
    return sp.csr_array(K)
