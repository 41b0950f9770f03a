"""A structure that grows stiffer element by element, solved again after every step.

What never changes is assembled once, into the band that a reverse Cuthill-McKee order leaves;
elements that change are added to it or exchanged in place, and the band is factorised anew: for
a frame that is quicker than any low-rank formula once more than a few elements have changed.
Everything is scaled by the first stiffness to a unit diagonal.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.element.beam import N_FREEDOMS
from fea.errors import Complaint, SolveError
from fea.mesh.mesh import Rows
from fea.solve.assemble import element_freedoms
from fea.solve.factorise import PIVOT_LIMIT
from fea.solve.system import System, hold

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Change:
    """What one element adds to the band: `at` entries of the flat band, `value` there."""

    at: Index
    value: Array


@dataclass(frozen=True, eq=False)
class Reach:
    """Where an element's freedoms lie: free freedoms in band order, and what they make of it.

    `matrix` : (14, k), the element's freedoms from the scaled free ones; `at` : (k,)
    """

    at: Index
    matrix: Array


class Staged:
    """A held mesh whose elements may be exchanged.

    Parameters
    ----------
    system : System, with every element as it stands at first
    support_rows : Rows, that hold it
    """

    def __init__(self, system: System, support_rows: Rows) -> None:
        from scipy.sparse.csgraph import reverse_cuthill_mckee

        held = hold(system, support_rows, np.zeros((support_rows.n_rows, 1)))
        scale = 1.0 / np.sqrt(held.K.diagonal())
        whole = sp.csr_array(system.links.matrix @ held.supports.matrix)
        pattern = _pattern(system, whole) + abs(held.K)
        order = reverse_cuthill_mckee(sp.csr_array(pattern), symmetric_mode=True).astype(np.intp)
        self._motion = sp.csr_array((whole @ sp.diags_array(scale))[:, order])
        scaled = sp.diags_array(scale) @ held.K @ sp.diags_array(scale)
        coo = sp.csr_array(scaled)[order][:, order].tocoo()
        i, j = (np.asarray(c, dtype=np.intp) for c in coo.coords)
        self._n = len(order)
        a, b = sp.csr_array(pattern)[order][:, order].tocoo().coords
        self._width = int(np.max(np.abs(a.astype(np.intp) - b)))
        self._band = np.zeros((self._width + 1) * self._n)
        lower = i >= j
        self._band[self._flat(i[lower], j[lower])] = coo.data[lower]
        self._factor: Array | None = None

    def _flat(self, i: Index, j: Index) -> Index:
        """Return where the entry of row i and column j lies in the flat band, by columns."""
        return np.asarray((i - j) + (self._width + 1) * j)

    def reach(self, nodes: Sequence[int] | Index) -> Reach:
        """Return where the freedoms of an element between two nodes lie."""
        freedoms = element_freedoms(np.asarray(nodes, dtype=np.intp).reshape(1, -1))[0]
        rows = self._motion[freedoms]
        at = np.unique(rows.indices).astype(np.intp)
        return Reach(at, np.asarray(rows[:, at].toarray()))

    def change(self, reach: Reach, stiffness: Array) -> Change:
        """Return what a stiffness (14, 14) more in an element's place changes."""
        block = reach.matrix.T @ stiffness @ reach.matrix
        i, j = np.meshgrid(reach.at, reach.at, indexing="ij")
        lower = (i >= j) & (block != 0.0)
        return Change(self._flat(i[lower], j[lower]), block[lower])

    def apply(self, change: Change) -> None:
        """Add a change to the stiffness."""
        self._band[change.at] += change.value
        self._factor = None

    def copy(self) -> Staged:
        """Return the same structure, to be changed on its own."""
        twin = object.__new__(Staged)
        twin.__dict__ |= self.__dict__ | {"_band": self._band.copy()}
        return twin

    def load(self, reach: Reach, force: Array) -> tuple[Index, Array]:
        """Return an element's forces (14,) on the free freedoms: where, how much."""
        return reach.at, reach.matrix.T @ force

    def reading(self, rows: Rows) -> Array:
        """Return rows over all freedoms as rows over the free ones, (m, n_free)."""
        shape = (rows.n_rows, self._motion.shape[0])
        matrix = sp.csr_array((rows.coefficient, (rows.row, rows.freedom)), shape=shape)
        return np.asarray((matrix @ self._motion).toarray())

    def answers(self, rhs: Array) -> Array:
        """Return the free motions under forces on them, (n_free,) or (n_free, k).

        Raises
        ------
        SolveError
            If something can move freely.
        """
        from scipy.linalg.lapack import dpbtrf, dpbtrs

        if self._factor is None:
            band = self._band.reshape((self._width + 1, self._n), order="F")
            self._factor, info = dpbtrf(band, lower=1)
            if info > 0 or not float(np.min(self._factor[0]) ** 2) > PIVOT_LIMIT:
                rule = "while it is being welded the frame must not fall apart"
                raise SolveError(Complaint(rule, do="weld in fewer parts at once, or tack more"))
        found, _ = dpbtrs(self._factor, rhs, lower=1)
        return np.asarray(found).reshape(rhs.shape)

    @property
    def n_free(self) -> int:
        """Number of free freedoms."""
        return self._n


def _pattern(system: System, whole: sp.csr_array) -> sp.csr_array:
    """Return which free freedoms any element can join, whatever its section is then."""
    freedoms = element_freedoms(system.mesh.elements.nodes)
    row = np.repeat(np.arange(len(freedoms)), freedoms.shape[1])
    shape = (len(freedoms), whole.shape[0])
    own = sp.csr_array((np.ones(freedoms.size), (row, freedoms.ravel())), shape=shape)
    touched = own @ abs(whole)
    return sp.csr_array(touched.T @ touched)


def three_points(a: int, b: int, c: int | None = None) -> Rows:
    """Return supports that hold a body without forcing it, at three of its nodes.

    `a` and `b` are far apart along the vehicle (held at a along x, y, z; at b along y, z), `c`
    is one far off to the side (held along z); without it a is kept from turning about x.
    """
    held = [(a, 0), (a, 1), (a, 2), (b, 1), (b, 2), (a, 3) if c is None else (c, 2)]
    freedom = np.array([N_FREEDOMS * n + k for n, k in held], dtype=np.intp)
    return Rows(np.arange(6, dtype=np.intp), freedom, np.ones(6), 6)
