"""Twist and bending stiffness, and the profiles they are read from.

Twist angle at a station: difference of the vertical movements of the right and the left
rail's reference line over the distance between them.  Twist stiffness: the couple over
the difference of the twist angles at the two axle stations.  Bending stiffness: the
vertical load over the mean vertical movement of the two rails under it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.element.beam import N_FREEDOMS
from fea.errors import Complaint, ModelError
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.frame.spots import couple_forces, spots
from fea.mesh.mesh import Mesh, Rows
from fea.solve.accuracy import bound

Array = NDArray[np.float64]
Index = NDArray[np.intp]


MOST_TWIST = 1e15
"""A twist stiffness beyond this, N mm/rad, is no frame's: only round-off moves."""

MOST_BENDING = 1e12
"""The same for bending, N/mm."""


@dataclass(frozen=True, eq=False)
class Profile:
    """Movement of the pair of rails along the stations.

    Attributes
    ----------
    stations : (k,), mm, rising
    angle : (k,), rad, twist angle, right side up positive
    height : (k,), mm, mean vertical movement
    offset : (k,), mm, mean sideways movement
    """

    stations: Array
    angle: Array
    height: Array
    offset: Array


@dataclass(frozen=True)
class Bay:
    """A stretch between two neighbouring crossmembers and its share of the twist."""

    start: float
    end: float
    words: str
    share: float


@dataclass(frozen=True, eq=False)
class Line:
    """Where a pair of rails is read, and from which nodes.

    Attributes
    ----------
    stations : (k,), mm, rising
    right, left : (k, n) shares of the nodes `right_nodes`, `left_nodes` in each station
    width : (k,), mm, between the two
    """

    stations: Array
    right: Array
    left: Array
    right_nodes: Index
    left_nodes: Index
    width: Array

    def reading(self, weight: Array, measure: str, n_freedoms: int) -> Array:
        """Return what a weighted sum over the stations reads of the motions, (n_freedoms,).

        Parameters
        ----------
        weight : (k,)
        measure : "twist" for the twist angle, "bending" for the mean height
        """
        rows = self.rows()[0 if measure == "twist" else 1]
        return rows.transposed(weight, n_freedoms)

    def rows(self) -> tuple[Rows, Rows]:
        """Return the twist angle, and the mean height, at every station as rows."""
        k = len(self.stations)
        share = np.hstack([self.right, -self.left]) / self.width[:, None]
        mean = 0.5 * np.hstack([self.right, self.left])
        freedoms = N_FREEDOMS * np.concatenate([self.right_nodes, self.left_nodes]) + 2
        out = []
        for matrix in (share, mean):
            row, column = np.nonzero(matrix)
            out.append(Rows(row, freedoms[column], matrix[row, column], k))
        return out[0], out[1]


def _rail_nodes(frame: Frame, mesh: Mesh, side: str) -> Index:
    """Return the nodes of one side's rails from front to rear."""
    nodes = np.concatenate(
        [mesh.nodes_of[m.name][1] for m in frame.members
         if m.kind == "rail" and m.side == side] or [np.zeros(0, np.intp)]
    )  # fmt: skip
    return nodes[np.argsort(mesh.points[nodes, 0], kind="stable")]


def line(frame: Frame, mesh: Mesh) -> Line | None:
    """Return where the pair of rails is read, or None if there is no such pair."""
    right, left = (_rail_nodes(frame, mesh, side) for side in ("right", "left"))
    if not (len(right) and len(left)):
        return None
    x_right, x_left = mesh.points[right, 0], mesh.points[left, 0]
    low, high = max(x_right[0], x_left[0]), min(x_right[-1], x_left[-1])
    stations = np.unique(np.round(np.concatenate([x_right, x_left]), 6))
    stations = stations[(stations >= low) & (stations <= high)]

    def shares(x: Array) -> Array:
        return np.stack([np.interp(stations, x, one) for one in np.eye(len(x))], axis=1)

    of_right, of_left = shares(x_right), shares(x_left)
    width = of_right @ mesh.points[right, 1] - of_left @ mesh.points[left, 1]
    return Line(stations, of_right, of_left, right, left, width)


def profile(frame: Frame, solution: Solution) -> Profile | None:
    """Return the profile of the two rails, or None if there is no such pair."""
    found = line(frame, solution.mesh)
    return None if found is None else profile_along(found, solution)


def profile_along(found: Line, solution: Solution) -> Profile:
    """Return the profile of the two rails, read where a line says."""
    moves = solution.u.reshape(-1, N_FREEDOMS)[:, 1:3]
    right, left = found.right @ moves[found.right_nodes], found.left @ moves[found.left_nodes]
    mean = 0.5 * (right + left)
    angle = (right[:, 1] - left[:, 1]) / found.width
    return Profile(found.stations, angle, mean[:, 1], mean[:, 0])


def twist_stiffness(frame: Frame, case: Case, line: Profile) -> float:
    """Return couple over twist between the axle stations, N mm/rad.

    Raises
    ------
    ModelError
        If the case applies no couple, or the frame has not both axles.
    """
    couples = [p.couple for p in case.pushes]
    couple = sum(couples)
    if abs(couple) < 1e-9 * sum(map(abs, couples)):  # one at each axle, balanced
        couple = 0.5 * sum(map(abs, couples))
    front, rear = frame.axle("front"), frame.axle("rear")
    if couple == 0.0 or front is None or rear is None:
        raise ModelError(
            Complaint(
                "twist stiffness needs a couple, a front and a rear axle",
                where=f"case {case.name}",
            )
        )
    angle = np.interp([front.station, rear.station], line.stations, line.angle)
    twist = float(abs(angle[0] - angle[1]))
    if twist * MOST_TWIST <= abs(couple):
        raise _nothing_moves(case, "twists")
    return abs(couple) / twist


def bending_stiffness(frame: Frame, case: Case, line: Profile) -> float:
    """Return vertical load over the mean movement under it, N/mm.

    Raises
    ------
    ModelError
        If the case pushes nothing up or down.
    """
    total, station = _load_line(frame, case)
    if total == 0.0:
        raise ModelError(
            Complaint("bending stiffness needs a vertical load", where=f"case {case.name}")
        )
    under = abs(float(np.interp(station, line.stations, line.height)))
    if under * MOST_BENDING <= abs(total):
        raise _nothing_moves(case, "moves")
    return abs(total) / under


def _load_line(frame: Frame, case: Case) -> tuple[float, float]:
    """Return the vertical load of a case, N, and the station of its resultant, mm."""
    total, moment = 0.0, 0.0
    for push in case.pushes:
        for spot, force in couple_forces(spots(frame, push.place, case.name), push, case.name):
            total += force[2]
            moment += force[2] * float(spot.shares @ spot.points[:, 0])
    return total, moment / total if total else 0.0


def round_off(frame: Frame, case: Case, solution: Solution, found: Line) -> float | None:
    """Return how far round-off may have moved the stiffness a case measures, relative.

    None where the case measures none; see :mod:`fea.solve.accuracy`.

    Parameters
    ----------
    found : where the pair of rails is read
    """
    if solution.held is None or case.measure not in ("twist", "bending"):
        return None
    each = np.eye(len(found.stations))

    def at(station: float) -> Array:
        return np.array([np.interp(station, found.stations, one) for one in each])

    if case.measure == "twist":
        front, rear = frame.axle("front"), frame.axle("rear")
        if front is None or rear is None:
            return None
        weight = at(front.station) - at(rear.station)
    else:
        weight = at(_load_line(frame, case)[1])
    reading = found.reading(weight, case.measure, solution.mesh.n_freedoms)
    return bound(solution.held, solution.u, solution.loads.force, reading)


def _nothing_moves(case: Case, verb: str) -> ModelError:
    return ModelError(
        Complaint(
            f"nothing {verb} where the case measures",
            where=f"case {case.name}",
            do="free what its supports hold there, or set measure to none",
        )
    )


def bays(frame: Frame, line: Profile) -> list[Bay]:
    """Return the bays between crossmembers within the wheelbase, with their twist shares."""
    front, rear = frame.axle("front"), frame.axle("rear")
    if front is None or rear is None:
        return []
    marks = {front.station: "front axle", rear.station: "rear axle"}
    for m in frame.members:
        if m.kind == "crossmember" and front.station < m.path[0, 0] < rear.station:
            marks[float(m.path[0, 0])] = m.name
    stations = np.array(sorted(marks))
    angle = np.interp(stations, line.stations, line.angle)
    whole = angle[-1] - angle[0]
    if whole == 0.0:
        return []
    return [
        Bay(float(a), float(b), f"{marks[float(a)]} to {marks[float(b)]}", float(share))
        for a, b, share in zip(stations[:-1], stations[1:], np.diff(angle) / whole, strict=True)
    ]
