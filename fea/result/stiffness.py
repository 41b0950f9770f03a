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

Array = NDArray[np.float64]


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


def _rail_line(frame: Frame, solution: Solution, side: str) -> tuple[Array, Array, Array]:
    """Return stations, points and movements of one side's rail nodes, front to rear."""
    nodes = np.concatenate(
        [solution.mesh.nodes_of[m.name][1] for m in frame.members
         if m.kind == "rail" and m.side == side] or [np.zeros(0, np.intp)]
    )  # fmt: skip
    points = solution.mesh.points[nodes]
    order = np.argsort(points[:, 0], kind="stable")
    moves = solution.u.reshape(-1, N_FREEDOMS)[nodes, :3]
    return points[order, 0], points[order], moves[order]


def profile(frame: Frame, solution: Solution) -> Profile | None:
    """Return the profile of the two rails, or None if there is no such pair."""
    right, left = (_rail_line(frame, solution, side) for side in ("right", "left"))
    if not (len(right[0]) and len(left[0])):
        return None
    low, high = max(right[0][0], left[0][0]), min(right[0][-1], left[0][-1])
    stations = np.unique(np.round(np.concatenate([right[0], left[0]]), 6))
    stations = stations[(stations >= low) & (stations <= high)]

    def at(line: tuple[Array, Array, Array], values: Array) -> Array:
        return np.asarray(np.interp(stations, line[0], values))

    width = at(right, right[1][:, 1]) - at(left, left[1][:, 1])
    z_right, z_left = at(right, right[2][:, 2]), at(left, left[2][:, 2])
    y_mean = 0.5 * (at(right, right[2][:, 1]) + at(left, left[2][:, 1]))
    return Profile(stations, (z_right - z_left) / width, 0.5 * (z_right + z_left), y_mean)


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
    total, moment = 0.0, 0.0
    for push in case.pushes:
        for spot, force in couple_forces(spots(frame, push.place, case.name), push, case.name):
            total += force[2]
            moment += force[2] * float(spot.shares @ spot.points[:, 0])
    if total == 0.0:
        raise ModelError(
            Complaint("bending stiffness needs a vertical load", where=f"case {case.name}")
        )
    under = abs(float(np.interp(moment / total, line.stations, line.height)))
    if under * MOST_BENDING <= abs(total):
        raise _nothing_moves(case, "moves")
    return abs(total) / under


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
