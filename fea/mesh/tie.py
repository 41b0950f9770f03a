"""Ties between the nodes of sheet metal: what follows what, gathered one by one."""

import numpy as np
from numpy.typing import NDArray

from fea.element import beam
from fea.mesh import weld
from fea.mesh.mesh import Rows, stack_rows

Array = NDArray[np.float64]
Index = NDArray[np.intp]


class Ties:
    """The ties of a sheet in the making; a node is tied once, by whatever comes first."""

    def __init__(self, points: Array) -> None:
        self.points = points
        self.taken = np.zeros(len(points), dtype=bool)
        self._slaves: list[int] = []
        self._rows: list[Rows] = []

    @property
    def slaves(self) -> Index:
        """The freedoms that are tied."""
        return np.array(self._slaves, dtype=np.intp)

    @property
    def rows(self) -> Rows:
        """What each of them equals."""
        return stack_rows(self._rows)

    def tie(self, freedom: int, freedoms: Index, coefficients: Array) -> None:
        """Let a freedom equal a sum of others."""
        keep = coefficients != 0.0
        count = int(keep.sum())
        self._slaves.append(int(freedom))
        on = freedoms[keep].astype(np.intp)
        self._rows.append(Rows(np.zeros(count, dtype=np.intp), on, coefficients[keep], 1))

    def follow(self, node: int, masters: Index, weight: Array, gap: Array | None = None) -> None:
        """Tie a node to the weighted motion of others, across a rigid gap (3,), mm."""
        if self.taken[node]:
            return
        self.taken[node] = True
        if gap is None:
            gap = self.points[node] - weight @ self.points[masters]
        move = np.zeros((6, 6))
        move[:3, :3] = move[3:, 3:] = np.eye(3)
        move[:3, 3:] = -beam.cross_matrix(gap)
        freedoms = (6 * masters[:, None] + np.arange(6)).ravel()
        for c in range(6):
            self.tie(6 * node + c, freedoms, np.outer(weight, move[c]).ravel())

    def turn_with(self, node: int, axis: Array, freedoms: Index, twist: Array) -> None:
        """Tie a node's rotation about `axis`; the other two stay free."""
        c = int(np.argmax(np.abs(axis)))
        others = [m for m in range(3) if m != c]
        self.tie(
            6 * node + 3 + c,
            np.concatenate([freedoms, [6 * node + 3 + m for m in others]]),
            np.concatenate([twist, -axis[others]]) / axis[c],
        )

    def attach(self, nodes: Index, quads: Index, reach: float) -> int:
        """Tie nodes to the nearest of quads (k, 4) within reach, mm; say how many."""
        free = nodes[~self.taken[nodes]]
        found = weld.locate(self.points[free], self.points[quads], reach)
        for node, q, w, gap in zip(free, found.quad, found.weight, found.gap, strict=True):
            if q >= 0:
                self.follow(int(node), quads[q], w, gap)
        return int(np.sum(found.quad >= 0))
