"""From what an axle's wheels pass on to forces on the seats of its springs."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.frame.case import Place
from fea.frame.road import AxleName
from fea.frame.spots import Spot, spots
from fea.load import Gather

Array = NDArray[np.float64]

SPAN = 1.0
"""Seats of a side nearer than this along the vehicle, mm, make no couple."""

LEAST = 1.0
"""Moments below this, N mm, are round-off and not worth a note."""


@dataclass(frozen=True, eq=False)
class Passed:
    """What one side's wheel passes on to the frame: N, and N mm about the origin, (3,) each."""

    force: Array
    moment: Array


@dataclass(frozen=True, eq=False)
class _Side:
    """The seats of one side and the forces on them, (k, 3)."""

    spot: Spot
    force: Array

    @property
    def moment(self) -> Array:
        return np.asarray(np.cross(self.spot.points, self.force).sum(axis=0))


def onto_seats(
    gather: Gather, name: AxleName, right: Passed, left: Passed, more: Array
) -> list[str]:
    """Put on an axle's seats what its wheels pass on, statically equivalent; return notes.

    A side's force goes to its own seats by their shares.  Of the moment that leaves, the roll
    part goes into a couple of upward forces and the yaw part into one of rearward forces
    between the two sides, the pitch part into upward forces between a side's own seats; with
    one seat a side, pitch goes in as a moment.

    Parameters
    ----------
    more : (3,), N mm, moment on the axle as a whole: a shaft's torque
    """
    found = {s.side: s for s in spots(gather.frame, Place(axle=name), gather.case.name)}
    if not {"right", "left"} <= found.keys():
        raise ModelError(
            Complaint(
                "a vehicle on the road needs spring seats on both sides",
                where=f"case {gather.case.name}",
                found=f"{name} axle",
                do="give the frame a right and a left rail",
            )
        )
    sides = [
        _Side(found[side], np.outer(found[side].shares, passed.force))
        for side, passed in (("right", right), ("left", left))
    ]
    pitch = [
        p.moment[1] - s.moment[1] + more[1] / 2.0 for p, s in zip((right, left), sides, strict=True)
    ]
    whole = right.moment + left.moment + more
    rest = whole - sum(s.moment for s in sides)
    base = float(sides[0].spot.shares @ sides[0].spot.points[:, 1])
    base -= float(sides[1].spot.shares @ sides[1].spot.points[:, 1])
    for side, sign in zip(sides, (1.0, -1.0), strict=True):
        side.force[:, 2] += sign * side.spot.shares * rest[0] / base
        side.force[:, 0] -= sign * side.spot.shares * rest[2] / base
    moved = whole - sum(s.moment for s in sides)
    pitch = [p + (moved[1] - sum(pitch)) / 2.0 for p in pitch]
    notes = []
    as_moment = [_pitch(s, p) for s, p in zip(sides, pitch, strict=True)]
    if max(abs(p) for p in as_moment) > LEAST:
        notes.append(f"{name} axle: one seat a side, so that pitch goes into it as a moment")
    last = whole - sum(s.moment for s in sides) - [0.0, sum(as_moment), 0.0]
    for side, own in zip(sides, as_moment, strict=True):
        _put(gather, side, 0.5 * last + [0.0, own, 0.0])
    return notes


def _pitch(side: _Side, moment: float) -> float:
    """Make a pitch moment a couple of a side's seats; return what must go in as a moment."""
    off = side.spot.points[:, 0] - side.spot.points[:, 0].mean()
    if np.ptp(side.spot.points[:, 0]) < SPAN:
        return moment
    side.force[:, 2] -= moment * off / float(off @ off)
    return 0.0


def _put(gather: Gather, side: _Side, moment: Array) -> None:
    spot = side.spot
    for name, distance, point, force in zip(
        spot.members, spot.distances, spot.points, side.force, strict=True
    ):
        node = gather.mesh.node_at(name, distance)
        arm = point - gather.mesh.points[node]
        gather.put(node, force, np.cross(arm, force) + moment / len(spot.members))
