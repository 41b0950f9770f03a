"""Where a load case acts on a frame: its places as points held by members.

A place of a case ("the rear axle, each side") becomes a spot per side; a push becomes the
forces on its spots.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.frame import path
from fea.frame.case import ROTATIONS, Case, Place, Push
from fea.frame.model import Frame, Mass, Mount

Array = NDArray[np.float64]

_AT_THE_END = 0.5
"""A place nearer than this, mm, to a rail's end is at its end: they share a node of the mesh."""


@dataclass(frozen=True, eq=False)
class Spot:
    """A point of the case on one side: nodes with shares, and the arm from node to point."""

    side: str
    members: tuple[str, ...]
    distances: tuple[float, ...]
    points: Array
    shares: Array


def rails_at(frame: Frame, station: float, case: str) -> list[tuple[str, str, float]]:
    """Return (side, rail, distance) of every rail that reaches a station, right first."""
    found = [
        (m.side, m.name, path.distance_at_station(m.path, station))
        for m in frame.members
        if m.kind == "rail" and m.path[0, 0] - 1e-6 <= station <= m.path[-1, 0] + 1e-6
    ]
    if not found:
        reach = [m.path[[0, -1], 0] for m in frame.members if m.kind == "rail"]
        low, high = np.min(reach, initial=0.0), np.max(reach, initial=0.0)
        raise ModelError(
            Complaint(
                "a place of a load case must lie on the rails",
                where=f"case {case}",
                found=f"station {station:g} mm",
                do=f"give a station between {low:g} and {high:g} mm",
            )
        )
    return sorted(found, key=lambda item: item[0] != "right")


def spots(frame: Frame, place: Place, case: str) -> list[Spot]:
    """Return the right and the left spot (or the single one) of a place."""
    if place.axle is not None:
        return _axle_spots(frame, place.axle, case)
    if place.mount is not None:
        return _mount_spots(frame, place.mount, case)
    if place.point is not None:
        return _point_spots(frame, place.point, case)
    if place.wheelbase is not None:
        front, rear = _stations(frame, case)
        station = front + place.wheelbase * (rear - front)
    elif place.station is not None:
        station = place.station
    else:
        raise ModelError(Complaint("a place needs an axle, station or point", where=f"case {case}"))
    out = []
    for side, name, distance in rails_at(frame, station, case):
        point = path.point_at(frame.member(name).path, distance)
        out.append(Spot(side, (name,), (distance,), point[None], np.ones(1)))
    return out


def _stations(frame: Frame, case: str) -> tuple[float, float]:
    front, rear = frame.axle("front"), frame.axle("rear")
    if front is None or rear is None:
        raise ModelError(
            Complaint(
                "this case needs a front and a rear axle",
                where=f"case {case}",
                found=", ".join(a.name for a in frame.axles) or "no axle",
                do="add [axle.front] and [axle.rear] to the frame document",
            )
        )
    return front.station, rear.station


def _axle_spots(frame: Frame, name: str, case: str) -> list[Spot]:
    _stations(frame, case)
    axle = frame.axle(name)
    if axle is None:
        raise ModelError(Complaint("no such axle", where=f"case {case}", found=name))
    out = []
    for side in ("right", "left", "centre"):
        seats = [s for s in axle.seats if s.side == side]
        if seats:
            total = sum(s.share for s in seats)
            out.append(
                Spot(
                    side,
                    tuple(s.onto for s in seats),
                    tuple(s.distance for s in seats),
                    np.array([s.position for s in seats]),
                    np.array([s.share / total for s in seats]),
                )
            )
    return out


def _mount_spots(frame: Frame, name: str, case: str) -> list[Spot]:
    found = [m for m in frame.mounts if name in (m.name, m.name.rsplit(" ", 1)[0])]
    if not found:
        names = ", ".join(m.name for m in frame.mounts) or "none"
        raise ModelError(Complaint("no such mount", where=f"case {case}", found=name, do=names))
    return [
        Spot(m.side, (m.onto,), (m.distance,), np.array([m.position]), np.ones(1)) for m in found
    ]


def _point_spots(frame: Frame, name: str, case: str) -> list[Spot]:
    out = []
    for m in frame.members:
        if name in m.point_names:
            k = m.point_names.index(name)
            distance = float(path.lengths(m.path)[k])
            out.append(Spot(m.side, (m.name,), (distance,), m.path[k][None], np.ones(1)))
    if not out:
        raise ModelError(Complaint("no such point on any member", where=f"case {case}", found=name))
    return out


def places(frame: Frame, case: Case) -> dict[str, list[float]]:
    """Return where a case needs nodes: member name -> distances along its path, mm."""
    wanted: dict[str, list[float]] = {}
    for term in case.combine:
        for name, distances in places(frame, term.case).items():
            wanted.setdefault(name, []).extend(distances)
    named = [h.place for h in case.holds] + [p.place for p in case.pushes]
    named += case.road.places if case.road else []
    for place in (*named, *(r.place for r in case.reads)):
        for spot in spots(frame, place, case.name):
            for name, distance in zip(spot.members, spot.distances, strict=True):
                wanted.setdefault(name, []).append(distance)
    for spread in case.spreads:
        for m in frame.members:
            if m.kind == "rail":
                ends = np.clip([spread.start, spread.end], m.path[0, 0], m.path[-1, 0])
                where = [path.distance_at_station(m.path, float(x)) for x in ends]
                wanted.setdefault(m.name, []).extend(where)
    if case.road is not None or (case.weight is not None and case.weight.masses):
        for mass in frame.masses:
            if mass.spread is not None:
                for rail in (m for m in frame.members if m.kind == "rail"):
                    ends = np.clip(mass.spread, rail.path[0, 0], rail.path[-1, 0])
                    where = [path.distance_at_station(rail.path, float(x)) for x in ends]
                    wanted.setdefault(rail.name, []).extend(where)
            for name, distance in mass_places(frame, mass):
                wanted.setdefault(name, []).append(distance)
    return wanted


def stiff_ends(frame: Frame, case: Case) -> set[tuple[str, str]]:
    """Return the (member, "start" or "end") where a case takes hold of a whole cross-section.

    These are the ends of rails where it holds a rotation or warping, or pushes a moment or a
    force on an arm: what does so in metal is a plate or a clamp that keeps the section in
    shape.  Reading a motion changes nothing.
    """
    taken = [h.place for h in case.holds if {*ROTATIONS, "warping"} & {*h.motions}]
    taken += [p.place for p in case.pushes if any(p.moment) or any(p.arm)]
    ends: set[tuple[str, str]] = set()
    for term in case.combine:
        ends |= stiff_ends(frame, term.case)
    for place in taken:
        for _, group in sides(frame, place, case.name):
            for spot, _ in group:
                for name, distance in zip(spot.members, spot.distances, strict=True):
                    member = frame.member(name)
                    whole = float(path.lengths(member.path)[-1])
                    for end, at in (("start", 0.0), ("end", whole)):
                        if member.kind == "rail" and abs(distance - at) <= _AT_THE_END:
                            ends.add((name, end))
    return ends


def sides(frame: Frame, place: Place, case: str) -> list[tuple[str, list[tuple[Spot, float]]]]:
    """Return per motion of a place the side it is on, and its spots with their weights.

    Raises
    ------
    ModelError
        If the frame has no such place, or the place lacks the side asked for.
    """
    found = spots(frame, place, case)
    if place.side == "each":
        return [(s.side, [(s, 1.0)]) for s in found]
    if place.side == "mean":
        return [("mean", [(s, 1.0 / len(found)) for s in found])]
    return [(place.side, [(s, 1.0) for s in _chosen(found, place, case)])]


def _chosen(found: list[Spot], place: Place, case: str) -> list[Spot]:
    """Return the spots on the side that a place asks for."""
    side = place.side
    chosen = found if side in ("each", "mean") else [s for s in found if s.side == side]
    if not chosen:
        raise ModelError(
            Complaint(f"the place has no {side} side", f"case {case}", place_words(place))
        )
    return chosen


def push_moments(found: list[Spot], push: Push, case: str = "") -> list[tuple[Spot, Array]]:
    """Return the moment on every spot of a push, N mm, about the vehicle's axes.

    Raises
    ------
    ModelError
        If the place lacks the side asked for.
    """
    if not any(push.moment):
        return []
    weight = 1.0 / len(found) if push.place.side == "mean" else 1.0
    return [(spot, weight * np.asarray(push.moment)) for spot in _chosen(found, push.place, case)]


def all_places(frame: Frame, cases: Iterable[Case]) -> dict[str, list[float]]:
    """Return where any of some cases needs nodes, as :func:`places` has it."""
    wanted: dict[str, list[float]] = {}
    for case in cases:
        for name, distances in places(frame, case).items():
            wanted.setdefault(name, []).extend(distances)
    return wanted


def couple_forces(found: list[Spot], push: Push, case: str = "") -> list[tuple[Spot, Array]]:
    """Return the force on every spot of a push, N, its couple as a pair of forces.

    The spots of the force itself are moved by the push's arm.

    Raises
    ------
    ModelError
        If the place lacks the side asked for, or a couple has no pair of rails.
    """
    chosen = _chosen(found, push.place, case)
    weight = 1.0 / len(found) if push.place.side == "mean" else 1.0
    forces = [
        (replace(spot, points=spot.points + np.asarray(push.arm)), weight * np.asarray(push.force))
        for spot in chosen
    ]
    if push.couple:
        pair = [[s for s in found if s.side == side] for side in ("right", "left")]
        if [len(p) for p in pair] != [1, 1]:
            raise ModelError(
                Complaint(
                    "a couple needs a right and a left rail to act on",
                    where=f"case {case}",
                    found=place_words(push.place),
                )
            )
        right, left = pair[0][0], pair[1][0]
        base = float(right.shares @ right.points[:, 1] - left.shares @ left.points[:, 1])
        lift = np.array([0.0, 0.0, push.couple / base])
        forces += [(right, lift), (left, -lift)]
    return forces


def place_words(place: Place) -> str:
    """Return a place in words, for messages and tables."""
    if place.axle:
        return f"{place.axle} axle"
    if place.station is not None:
        return f"station {place.station:g} mm"
    if place.wheelbase is not None:
        return f"{place.wheelbase:g} of the wheelbase"
    return f"point {place.point}" if place.point else f"mount {place.mount}"


def carriers(frame: Frame, mass: Mass) -> list[Mount]:
    """Return the mounts that carry a mass."""
    names = set(mass.mounts)
    return [m for m in frame.mounts if m.name in names or m.name.rsplit(" ", 1)[0] in names]


def mass_places(frame: Frame, mass: Mass) -> list[tuple[str, float]]:
    """Return the (member, distance) of everything a mass bears on; none if unsprung."""
    if mass.carrier == "unsprung":
        return []
    if mass.carrier == "mounts":
        return [(m.onto, m.distance) for m in carriers(frame, mass)]
    rails = [m for m in frame.members if m.kind == "rail"]
    low = max(float(m.path[0, 0]) for m in rails)
    high = min(float(m.path[-1, 0]) for m in rails)
    station = float(np.clip(mass.position[0], low, high))
    return [(m.name, path.distance_at_station(m.path, station)) for m in rails]
