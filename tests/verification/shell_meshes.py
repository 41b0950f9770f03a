"""Plates and straight thin-walled members as shells, small enough to solve in a test."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu

from fea.element import shell
from fea.element.shell import Shells

ALL = UX, UY, UZ, RX, RY, RZ = tuple(range(6))


class Sheet:
    """Shells on nodes (N, 3) and quads (n, 4): hold, tie and load it, then solve."""

    def __init__(self, nodes, quads, thickness, E, nu, drill_factor=shell.DRILL_FACTOR):
        one = np.ones(len(quads))
        self.nodes, self.quads = nodes, quads
        self.shells = Shells(nodes[quads], one * thickness, one * E, one * nu)
        self.drill_factor = drill_factor
        self.load = np.zeros(6 * len(nodes))
        self.held: dict[int, float] = {}
        self.ties: list[tuple[int, int, float]] = []

    def at(self, **place: float) -> np.ndarray:
        """Return the nodes at the given x, y, z (those given)."""
        far = [abs(self.nodes[:, "xyz".index(axis)] - value) for axis, value in place.items()]
        return np.flatnonzero(np.max(far, axis=0) < 1e-6 * np.ptp(self.nodes))

    def hold(self, nodes, freedoms: Sequence[int] = ALL, value=0.0) -> None:
        for k in freedoms:
            for f, v in np.broadcast(6 * np.asarray(nodes) + k, value):
                self.held[int(f)] = float(v)

    def press(self, pressure: float) -> None:
        """Load every node along z with its share of a pressure, corners alike."""
        force = pressure * shell.area(self.shells) / 4.0
        np.add.at(self.load, 6 * self.quads + UZ, force[:, None])

    def rigid_in_plane(self, nodes, origin: np.ndarray) -> np.ndarray:
        """Tie uy, uz and rx of nodes to a new point; return its uy, uz, rx."""
        new = len(self.load) + np.arange(3)
        self.load = np.append(self.load, np.zeros(3))
        for i in nodes:
            _, y, z = self.nodes[i] - origin
            self.ties += [(6 * i + UY, new[0], 1.0), (6 * i + UY, new[2], -z)]
            self.ties += [(6 * i + UZ, new[1], 1.0), (6 * i + UZ, new[2], y)]
            self.ties += [(6 * i + RX, new[2], 1.0)]
        return new

    def stiffness(self) -> sparse.csc_array:
        blocks = shell.stiffness(self.shells, self.drill_factor)
        freedom = (6 * self.quads[:, :, None] + np.arange(6)).reshape(-1, 24)
        row = np.repeat(freedom, 24, axis=1).ravel()
        column = np.tile(freedom, (1, 24)).ravel()
        return sparse.csc_array((blocks.ravel(), (row, column)), shape=(len(self.load),) * 2)

    def solve(self) -> np.ndarray:
        """Return all motions: ties eliminated, held freedoms moved to the right side."""
        n = len(self.load)
        slaves = np.array([t[0] for t in self.ties], dtype=int)
        masters = np.array([t[1] for t in self.ties], dtype=int)
        factors = np.array([t[2] for t in self.ties])
        own = np.setdiff1d(np.arange(n), slaves)
        row, column = np.append(own, slaves), np.append(own, masters)
        T = sparse.csc_array((np.append(np.ones(len(own)), factors), (row, column)), shape=(n, n))
        q = np.zeros(n)
        fixed = np.array(sorted(self.held), dtype=int)
        q[fixed] = [self.held[f] for f in fixed]
        free = np.setdiff1d(own, fixed)
        K = sparse.csc_array(T.T @ self.stiffness() @ T)
        right = T.T @ self.load - K @ q
        factor = splu(
            K[free][:, free],
            permc_spec="MMD_AT_PLUS_A",  # symmetric, so that less is filled in
            diag_pivot_thresh=0.001,
            options={"SymmetricMode": True},
        )
        q[free] = factor.solve(right[free])
        return T @ q


def grid(n: int, m: int, place) -> tuple[np.ndarray, np.ndarray]:
    """Return nodes and quads of n x m elements; `place` maps s, t in 0..1 to x, y, z."""
    s, t = np.meshgrid(np.linspace(0, 1, n + 1), np.linspace(0, 1, m + 1), indexing="ij")
    nodes = np.column_stack(place(s.ravel(), t.ravel()))
    first = (np.arange(n)[:, None] * (m + 1) + np.arange(m)).ravel()
    return nodes, np.column_stack([first, first + m + 1, first + m + 2, first + 1])


def prism(walls, length: float, thickness: float, size=10.0, across=None, **options) -> Sheet:
    """Return a steel member along x whose section has straight walls ((y, z), (y, z)).

    Walls meet where they share an end.  Elements are rectangles, `size` along and
    `across` (the same unless given) over the walls.
    """
    n = round(length / size)
    points: list[tuple[float, float]] = []
    strips: list[tuple[int, int]] = []
    for a, b in np.asarray(walls, dtype=float):
        m = round(np.hypot(*(b - a)) / (across or size))
        line = np.round(a + np.linspace(0, 1, m + 1)[:, None] * (b - a), 9)
        for point in map(tuple, line):
            if point not in points:
                points.append(point)
        index = [points.index(tuple(point)) for point in line]
        strips += pairwise(index)
    stations = np.repeat(np.linspace(0.0, length, n + 1), len(points))
    nodes = np.column_stack([stations, np.tile(points, (n + 1, 1))])
    i, j = np.array(strips).T
    step = np.arange(n)[:, None] * len(points)
    quads = np.stack([step + i, step + len(points) + i, step + len(points) + j, step + j], axis=-1)
    return Sheet(nodes, quads.reshape(-1, 4), thickness, 205000.0, 0.3, **options)
