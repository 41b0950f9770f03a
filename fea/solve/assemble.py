"""Element blocks and springs to one sparse stiffness matrix; no loop over elements.

Two nodes that an element joins have a block of 7 by 7.  Which blocks there are is found once,
from the pairs of nodes; the elements' own blocks then go straight to their places, a batch of
elements at a time, and are summed in one order always.
"""

from collections.abc import Callable, Sequence

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.element import beam
from fea.element.beam import N_FREEDOMS
from fea.mesh.mesh import Mesh, Rows

Array = NDArray[np.float64]
Index = NDArray[np.intp]

_BATCH = 512
"""Elements at a time: their arrays stay in the cache, and take no memory to speak of."""


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
    K = gather(
        mesh.elements.nodes, lambda of: beam.stiffness(mesh.beams.part(of)), len(mesh.points)
    )
    if len(mesh.springs.stiffness):
        B = sparse_rows(mesh.springs.rows, n)
        K = sp.csr_array(K + B.T @ (B * mesh.springs.stiffness[:, None]))
    return K + placed(blocks_at, n) if blocks_at else K


def placed(blocks_at: Sequence[tuple[NDArray[np.intp], Array]], n: int) -> sp.csr_array:
    """Return dense blocks (m, m), each at its own m freedoms, as one sparse (n, n)."""
    row = np.concatenate([np.repeat(at, len(at)) for at, _ in blocks_at])
    column = np.concatenate([np.tile(at, len(at)) for at, _ in blocks_at])
    data = np.concatenate([block.ravel() for _, block in blocks_at])
    return sp.csr_array(sp.coo_array((data, (row, column)), shape=(n, n)))


def gather(nodes: Index, blocks: Callable[[slice], Array], n_nodes: int) -> sp.csr_array:
    """Return the sum of elements' blocks on their nodes' freedoms, (n_freedoms, n_freedoms).

    Parameters
    ----------
    nodes : (n, 2)
    blocks : of a slice of the elements, gives (k, 14, 14)
    """
    place, order, start, column = _pattern(nodes, n_nodes)
    data = np.empty((len(column), N_FREEDOMS, N_FREEDOMS))
    for first in range(0, len(nodes), _BATCH):
        of = slice(first, first + _BATCH)
        _put(data, place[of], order[of], blocks(of))
    shape = (N_FREEDOMS * n_nodes, N_FREEDOMS * n_nodes)
    return sp.csr_array(sp.bsr_array((data, column, start), shape=shape).tocsr())


def _put(data: Array, place: Index, order: Index, blocks: Array) -> None:
    """Put blocks (k, 14, 14) in their places: the first there is set, the next are added."""
    own = blocks.reshape(-1, 2, N_FREEDOMS, 2, N_FREEDOMS)
    for turn in range(int(order.max()) + 1):
        for i, j in ((0, 0), (0, 1), (1, 0), (1, 1)):
            here = order[:, i, j] == turn
            if turn == 0 and here.all():
                data[place[:, i, j]] = own[:, i, :, j]
                continue
            now = np.flatnonzero(here)
            at = place[now, i, j]
            if turn == 0:
                data[at] = own[now, i, :, j]
            elif len(now):
                data[at] += own[now, i, :, j]


def _pattern(nodes: Index, n_nodes: int) -> tuple[Index, Index, Index, Index]:
    """Return which blocks there are, and where those of the elements go.

    Returns
    -------
    place : (n, 2, 2), number of the block from end to end
    order : (n, 2, 2), how many earlier elements share that block
    start, column : the blocks row by row, as in a compressed sparse matrix
    """
    pair = nodes[:, :, None] * n_nodes + nodes[:, None, :]
    sort = np.argsort(pair, axis=None, kind="stable")
    in_order = pair.ravel()[sort]
    is_first = np.ones(len(sort), dtype=bool)
    is_first[1:] = in_order[1:] != in_order[:-1]
    number = np.cumsum(is_first) - 1
    first = np.flatnonzero(is_first)
    place, order = np.empty(pair.shape, dtype=np.intp), np.empty(pair.shape, dtype=np.intp)
    place.ravel()[sort] = number
    order.ravel()[sort] = np.arange(len(sort)) - first[number]
    row, column = np.divmod(in_order[first], n_nodes)
    start = np.concatenate([[0], np.cumsum(np.bincount(row, minlength=n_nodes))])
    small = np.int32 if N_FREEDOMS**2 * len(first) < np.iinfo(np.int32).max else np.intp
    return place, order, start.astype(small), column.astype(small)
