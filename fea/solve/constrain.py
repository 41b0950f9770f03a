"""Rigid links and supports as one transformation: ``u = T q + u0``.

Links come first (a tied freedom is a sum of others), then the supports, which are rows
``C u = c``; each row gives up one freedom, chosen by full pivoting.
"""

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.element.beam import N_FREEDOMS
from fea.errors import Complaint, ModelError, SolveError
from fea.mesh.mesh import Index, Mesh, Rows
from fea.solve.assemble import sparse_rows

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Links:
    """All freedoms from the independent ones, shape (n_freedoms, n_independent)."""

    matrix: sp.csr_array
    independent: Index


@dataclass(frozen=True, eq=False)
class Supports:
    """The held system: ``u_independent = matrix q + imposed``.

    Attributes
    ----------
    matrix : (n_independent, n_free)
    imposed : (n_independent, n_sets), mm or rad; one column per set of imposed motions
    rows : (m, n_independent), the support rows themselves
    free : (n_free,), numbers of the free among the independent freedoms
    """

    matrix: sp.csr_array
    imposed: Array
    rows: sp.csr_array
    free: Index


def eliminate(ties: Rows, slaves: Index, n: int) -> Links:
    """Return all n freedoms from those that no tie defines.

    Raises
    ------
    ModelError
        If ties chase each other in a ring.
    """
    keep = np.ones(n)
    keep[slaves] = 0.0
    pick = sp.csr_array((np.ones(len(slaves)), (slaves, np.arange(len(slaves)))), (n, len(slaves)))
    step = sp.csr_array(sp.diags_array(keep) + pick @ sparse_rows(ties, n))
    whole = step
    for _ in range(8):
        if len(slaves) == 0 or abs(whole[:, slaves]).sum() == 0.0:
            break
        whole = sp.csr_array(whole @ step)
    else:
        raise ModelError(Complaint("joints must not hold each other in a ring"))
    independent = np.flatnonzero(keep)
    return Links(sp.csr_array(sp.csc_array(whole)[:, independent]), independent.astype(np.intp))


def links(mesh: Mesh, K: sp.csr_array) -> Links:
    """Return the transformation that a mesh's rigid ties make.

    Warping freedoms that nothing resists (round tubes, flat plates) are left out: they
    take no part in the motion.

    Raises
    ------
    ModelError
        If ties chase each other in a ring, or a freedom is tied twice.
    """
    slaves = mesh.slaves
    if len(np.unique(slaves)) != len(slaves):
        count = np.bincount(slaves, minlength=mesh.n_freedoms)
        twice = slaves[count[slaves] > 1][0] // N_FREEDOMS
        raise ModelError(
            Complaint(
                "the end of a member can be joined to one other member only",
                where=mesh.node_names[int(twice)],
                do="join it once, and join the other member to this one",
            )
        )
    tied = eliminate(mesh.ties, slaves, mesh.n_freedoms)
    diagonal = np.asarray((tied.matrix.multiply(K @ tied.matrix)).sum(axis=0)).ravel()
    idle = (tied.independent % N_FREEDOMS == N_FREEDOMS - 1) & (diagonal == 0.0)
    used = np.flatnonzero(~idle)
    return Links(sp.csr_array(sp.csc_array(tied.matrix)[:, used]), tied.independent[used])


def _ease(diagonal: Array) -> Array:
    """Return how easily each freedom moves; what nothing resists moves most easily."""
    stiff = diagonal[diagonal > 0.0]
    least = float(stiff.min()) if len(stiff) else 1.0
    return 1.0 / np.sqrt(np.where(diagonal > 0.0, diagonal, 1e-6 * least))


def supports(rows: sp.csr_array, values: Array, diagonal: Array) -> Supports:
    """Return the transformation of support rows over independent freedoms.

    Parameters
    ----------
    rows : (m, n)
    values : (m, n_sets), imposed motion of each row, one column per set
    diagonal : (n,), stiffness of each freedom: a row gives up the freedom that moves
        most for its stiffness, so that a rotation at a short arm is never the one

    Raises
    ------
    SolveError
        If two rows ask for motions that cannot both be.
    """
    n = rows.shape[1]
    touched = np.unique(rows.indices).astype(np.intp)
    work = np.hstack([rows[:, touched].toarray(), values])
    ease = _ease(diagonal[touched])
    m, t = rows.shape[0], len(touched)
    pivots: list[tuple[int, int]] = []
    left = list(range(m))
    largest = np.max(np.abs(work[:, :t]) * ease, axis=1, initial=0.0)
    work /= np.where(largest > 0.0, largest, 1.0)[:, None]  # a row may hold only idle freedoms
    while left:
        block = np.abs(work[left, :t]) * ease
        r, c = divmod(int(np.argmax(block)), t)
        if block[r, c] <= 1e-10:
            wrong = np.abs(work[left, t:]) > 1e-9
            if np.any(wrong):
                msg = "two supports ask the frame for motions that cannot both be"
                raise SolveError(msg)
            break
        row = left.pop(r)
        work[row] /= work[row, c]
        others = np.arange(m) != row
        work[others] -= np.outer(work[others, c], work[row])
        pivots.append((row, c))
    pivot_rows = [r for r, _ in pivots]
    pivot_columns = np.array([c for _, c in pivots], dtype=np.intp)
    given_up = touched[pivot_columns]
    free = np.setdiff1d(np.arange(n), given_up)
    rest = np.setdiff1d(np.arange(t), pivot_columns)
    # u_pivot = value - sum of the rest
    position = np.full(n, -1)
    position[free] = np.arange(len(free))
    coupling = -work[pivot_rows][:, rest]
    at_row, at_column = np.nonzero(coupling)
    rows_all = np.concatenate([free, given_up[at_row]])
    columns = np.concatenate([np.arange(len(free)), position[touched[rest[at_column]]]])
    entries = np.concatenate([np.ones(len(free)), coupling[at_row, at_column]])
    matrix = sp.csr_array((entries, (rows_all, columns)), shape=(n, len(free)))
    imposed = np.zeros((n, values.shape[1]))
    imposed[given_up] = work[pivot_rows, t:]
    return Supports(matrix, imposed, rows, free.astype(np.intp))
