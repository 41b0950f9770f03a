"""Springs added to a solved system, or taken from it, without factorising again.

A held system is seen through a few rows: motions along which springs may act.  With the
flexibility G between them, springs of stiffness k along some rows bear forces f with
``(1/k + G) f = b``, b the motions there without them (the formula of Woodbury [1]_); every
motion then changes by what f makes of it.  A negative k takes stiffness away.

References
----------
.. [1] W. W. Hager, Updating the inverse of a matrix, SIAM Review 31, 1989, pp. 221-239.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.errors import Complaint, SolveError
from fea.mesh.mesh import Rows
from fea.solve.system import Held

Array = NDArray[np.float64]
Index = NDArray[np.intp]

STIFF = 1e-9
"""Flexibility along a row less than this of the largest: its ends are rigidly linked."""

NOTHING = 1e-15
"""Likewise: what is left is round-off, and a spring there bears nothing however stiff."""


WORST = 1e13
"""Condition beyond which springs that are taken away were all that held something."""


@dataclass(frozen=True, eq=False)
class Flexibility:
    """A system seen through m rows, under L sets of loads, with q readings.

    Attributes
    ----------
    G : (m, m), motions along the rows under unit forces along them
    b : (m, L), motions along the rows under the loads
    C : (q, m), readings under unit forces along the rows
    c : (q, L), readings under the loads
    """

    G: Array
    b: Array
    C: Array
    c: Array

    def bear(self, rows: Index, stiffness: Array) -> Array:
        """Return the forces in springs added along rows, (k, m + L).

        The first m columns are those under unit forces along the rows, the others those
        under the loads.  A spring of no stiffness bears nothing; an infinite one is allowed.
        """
        out = np.zeros((len(rows), self.G.shape[1] + self.b.shape[1]))
        live = self._live(rows, stiffness)
        S = rows[live]
        out[live] = self._solve(S, stiffness[live], np.hstack([self.G[S], self.b[S]]))
        return out

    def with_springs(self, rows: Index, stiffness: Array) -> "Flexibility":
        """Return the system with springs added along some of its rows, (k,) each."""
        f = self.bear(rows, stiffness)
        m = self.G.shape[1]
        from_rows, from_loads = f[:, :m], f[:, m:]
        return Flexibility(
            self.G - self.G[:, rows] @ from_rows,
            self.b - self.G[:, rows] @ from_loads,
            self.C - self.C[:, rows] @ from_rows,
            self.c - self.C[:, rows] @ from_loads,
        )

    def read_with(self, rows: Index, stiffness: Array) -> tuple[Array, Array]:
        """Return the readings with springs added, (q, L), and the forces in them, (k, L)."""
        live = self._live(rows, stiffness)
        force = np.zeros((len(rows), self.b.shape[1]))
        S = rows[live]
        force[live] = self._solve(S, stiffness[live], self.b[S])
        return self.c - self.C[:, rows] @ force, force

    def read_scaled(self, rows: Index, stiffness: Array, factors: Array) -> Array:
        """Return the readings with springs added times every factor, (n_factors, q, L)."""
        live = self._live(rows, stiffness)
        S = rows[live]
        force = self._solve(S, factors[:, None] * stiffness[live], self.b[S])
        return np.asarray(self.c - self.C[:, S] @ force)

    def linked(self, rows: Index) -> bool:
        """Whether the ends of all these springs are rigidly linked already."""
        return bool(len(rows) and np.all(self._own[rows] <= STIFF * self._most))

    def _solve(self, rows: Index, stiffness: Array, motion: Array) -> Array:
        """Return the forces in live springs from the motions (k, n) without them.

        `stiffness`: (k,), or (..., k) for several sets; the forces are (..., k, n).
        """
        soft = 1.0 / stiffness
        A = self.G[np.ix_(rows, rows)] + soft[..., None] * np.eye(len(rows))
        size = np.sqrt(np.maximum(self._own[rows], np.abs(soft)))
        unit = A / (size[..., :, None] * size[..., None, :])
        if len(rows) and not np.all(np.linalg.cond(unit) < WORST):
            raise SolveError(
                Complaint(
                    "with these springs part of the vehicle hangs on nothing",
                    do="fit its mounts, or choose a grade for them",
                )
            )
        size = size[..., :, None]
        return np.asarray(np.linalg.solve(unit, motion / size) / size)

    @cached_property
    def _own(self) -> Array:
        """How easily each row moves by itself, (m,)."""
        return np.ascontiguousarray(np.diagonal(self.G))

    @cached_property
    def _most(self) -> float:
        """The largest of those."""
        return float(self._own.max(initial=0.0))

    def _live(self, rows: Index, stiffness: Array) -> Index:
        """Return which of the springs can bear something."""
        return np.flatnonzero((stiffness != 0.0) & (self._own[rows] > NOTHING * self._most))


@dataclass(frozen=True, eq=False)
class Seen:
    """A held system with what it takes to see it through rows.

    Attributes
    ----------
    answers : (n_independent, m), motions under unit forces along the rows
    base : (n_freedoms, L), motions under the loads
    rows : (m, n_independent)
    """

    held: Held
    answers: Array
    base: Array
    rows: sp.csr_array

    def flexibility(self, readings: Rows) -> Flexibility:
        """Return the system through its rows, with readings that are rows over all freedoms."""
        system = self.held.system
        independent = self.base[system.links.independent]
        read = system.over_links(readings)
        own = np.asarray(self.rows @ self.answers)
        return Flexibility(
            0.5 * (own + own.T),
            np.asarray(self.rows @ independent),
            np.asarray(read @ self.answers),
            np.asarray(read @ independent),
        )

    def motion(self, rows: Index, stiffness: Array, flexibility: Flexibility) -> Array:
        """Return all motions with springs added along some rows, (n_freedoms, L)."""
        _, force = flexibility.read_with(rows, stiffness)
        change = self.held.system.links.matrix @ (self.answers[:, rows] @ force)
        return np.asarray(self.base - change)


def see(held: Held, rows: Rows, base: Array) -> Seen:
    """Return a held system as seen through rows over all freedoms.

    Parameters
    ----------
    base : (n_freedoms, L), its motions under the loads
    """
    over = held.system.over_links(rows)
    answers = np.asarray(held.supports.matrix @ held.answers_to(over))
    return Seen(held, answers, base, over)
