"""How near the frame's metal comes to shaft, exhaust, ground and what else must stay clear.

Every piece of metal against every obstacle: the least distance over all of it, and where.  The
shaft counts over its whole travel: the triangle that its axis sweeps as the axle rises and
falls.  An overlap is the least movement that would part the worst two solids.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.frame.clear import Exhaust, Gearbox, Ground, KeepClear, Shaft
from fea.frame.model import Frame
from fea.shop.convex import Solid, between, block, capsule, prism, triangle
from fea.shop.metal_solids import SIDES, Metal, pieces

if TYPE_CHECKING:
    from fea.document.schema import CrossmemberEntry, FrameDocument

Array = NDArray[np.float64]
Kind = Literal["shaft", "exhaust", "keep clear", "ground"]


@dataclass(frozen=True, eq=False)
class Obstacle:
    """Something that must stay clear, as solids; `near` names what may come near it."""

    name: str
    kind: Kind
    asked: float
    solids: tuple[Solid, ...]
    near: tuple[str, ...] = ()
    travel: tuple[float, float] | None = None
    """A shaft's bump and droop, mm."""


@dataclass(frozen=True, eq=False)
class Clearance:
    """The least distance of a piece of metal, or a pipe, to an obstacle.

    Attributes
    ----------
    least, asked : float, mm; `least` below nothing is an overlap
    at : (3,), mm, where on the metal; in an overlap, a point of both
    way : (3,), the way that the obstacle lies, or has to move to part
    lift : how far the shaft's rear joint has risen where it is nearest, mm; None for others
    jounce : height left over the ground at full jounce, mm; None for others
    hump : from and to which offset a crossmember would have to give way, mm; None for others
    """

    metal: str
    part: str | None
    obstacle: str
    kind: Kind
    least: float
    asked: float
    at: Array
    way: Array
    lift: float | None = None
    jounce: float | None = None
    hump: tuple[float, float] | None = None

    @property
    def status(self) -> Literal["clear", "too near", "overlap"]:
        """Whether the asked clearance is kept; less than a micrometre short is."""
        left = self.least if self.jounce is None else min(self.least, self.jounce)
        if left < -1e-3:
            return "overlap"
        return "clear" if self.least >= self.asked - 1e-3 else "too near"


@dataclass(frozen=True)
class Reach:
    """How a position of the gearbox crossmember suits the gearbox's mount, mm."""

    station: float
    turned: bool
    mount: float
    off: float
    """How far its seat is behind the mount as the gearbox stands."""
    inside: bool
    """Whether the mount may sit there."""


@dataclass(frozen=True, eq=False)
class ClearanceStudy:
    """All distances, the nearest to its limit first, and the gearbox crossmember's positions."""

    frame: Frame
    everything: bool
    found: tuple[Clearance, ...]
    metals: tuple[Metal, ...]
    obstacles: tuple[Obstacle, ...]
    reaches: tuple[Reach, ...] = ()
    face: float | None = None
    """From the gearbox crossmember's upper face up to the mount's lower face, mm."""

    @property
    def broken(self) -> tuple[Clearance, ...]:
        """Those that are nearer than asked."""
        return tuple(one for one in self.found if one.status != "clear")


def study_clearance(
    document: "FrameDocument", frame: Frame, *, everything: bool = False
) -> ClearanceStudy:
    """Return the clearances of a frame's added parts; of all its members with `everything`.

    Raises
    ------
    ModelError
        If the document tells of nothing that must stay clear.
    """
    packaging = frame.packaging
    if packaging.is_empty:
        raise ModelError(
            Complaint(
                "the document must tell what has to stay clear",
                frame.source,
                do="add a table [[shaft]], [[exhaust]], [[keep_clear]] or [ground]",
            )
        )
    metals = pieces(frame, everything=everything)
    obstacles = [
        *(_shaft(shaft) for shaft in packaging.shafts),
        *(_exhaust(pipe) for pipe in packaging.exhausts),
        *(_kept(kept) for kept in packaging.keep_clear),
    ]
    found = [
        _least(metal.name, metal.part, metal.solids, one, frame.member(metal.member).kind)
        for metal in metals
        for one in obstacles
        if not _may(metal.member, one)
    ]
    pipes = [one for one in obstacles if one.kind == "exhaust"]
    kept = [one for one in obstacles if one.kind == "keep clear"]
    found += [
        _least(pipe.name, None, pipe.solids, one)
        for pipe in pipes
        for one in kept
        if not _may(pipe.name, one)
    ]
    if packaging.ground is not None:
        named = [(m.name, m.part, m.solids) for m in metals]
        named += [(one.name, None, one.solids) for one in pipes]
        found += [_over_ground(frame, packaging.ground, *one) for one in named]
    found.sort(key=lambda one: one.least - one.asked)
    box = packaging.gearbox
    reaches = () if box is None else tuple(_reaches(document, box))
    face = None if box is None else _face(frame, box)
    return ClearanceStudy(
        frame, everything, tuple(found), tuple(metals), tuple(obstacles), reaches, face
    )


def _shaft(shaft: Shaft) -> Obstacle:
    front, rear = np.array(shaft.front), np.array(shaft.rear)
    up = np.array([0.0, 0.0, 1.0])
    corners = np.array([front, rear + shaft.bump * up, rear - shaft.droop * up])
    solid = triangle(corners, 0.5 * shaft.diameter)
    travel = (shaft.bump, shaft.droop)
    return Obstacle(shaft.name, "shaft", shaft.margin, (solid,), travel=travel)


def _exhaust(pipe: Exhaust) -> Obstacle:
    points = np.array(pipe.points)
    solids = tuple(capsule(a, b, 0.5 * pipe.diameter) for a, b in pairwise(points))
    return Obstacle(pipe.name, "exhaust", pipe.clearance, solids)


def _kept(kept: KeepClear) -> Obstacle:
    start, end = np.array(kept.start), np.array(kept.end)
    if kept.diameter is None:
        solid = block(np.minimum(start, end), np.maximum(start, end))
    else:
        solid = prism(*_rings(start, end, kept.diameter))
    return Obstacle(kept.name, "keep clear", kept.clearance, (solid,), kept.near)


def _rings(start: Array, end: Array, diameter: float) -> tuple[Array, Array]:
    """Return the two ends of a cylinder as polygons round the circle, (n, 3) each."""
    along = (end - start) / np.linalg.norm(end - start)
    aside = np.eye(3)[int(np.argmin(np.abs(along)))]
    y = np.cross(aside, along)
    y = y / np.linalg.norm(y)
    z = np.cross(along, y)
    half = np.pi / SIDES
    angle = half * (2.0 * np.arange(SIDES) + 1.0)[:, None]
    ring = 0.5 * diameter / np.cos(half) * (np.cos(angle) * y + np.sin(angle) * z)
    return start + ring, end + ring


def _may(member: str, obstacle: Obstacle) -> bool:
    """Return whether a member is allowed near; a pair of rails by its own name too."""
    return bool({member, member.removesuffix(" right"), member.removesuffix(" left")}
                & set(obstacle.near))  # fmt: skip


def _least(
    name: str, part: str | None, solids: Sequence[Solid], obstacle: Obstacle, kind: str = ""
) -> Clearance:
    """Return the least distance of some metal to an obstacle."""
    one = np.array([solid.box for solid in solids])
    other = np.array([solid.box for solid in obstacle.solids])
    apart = np.maximum(one[:, None, 0] - other[None, :, 1], other[None, :, 0] - one[:, None, 1])
    bound = np.linalg.norm(np.maximum(apart, 0.0), axis=2)
    best = None
    for flat in np.argsort(bound, axis=None):
        i, j = divmod(int(flat), len(obstacle.solids))
        # Boxes apart by more than the best gap cannot hold a smaller one.
        if best is not None and bound[i, j] > max(best[0].size, 0.0):
            break
        gap = between(solids[i], obstacle.solids[j])
        if best is None or gap.size < best[0].size:
            best = gap, solids[i].radius, obstacle.solids[j].radius
    if best is None:
        raise ValueError(name)
    gap, radius, round_it = best
    at = gap.first + min(radius, max(0.0, gap.size + radius)) * gap.way
    lift = None
    if obstacle.travel is not None:
        bump, droop = obstacle.travel
        up, down = gap.shares.get(1, 0.0), gap.shares.get(2, 0.0)
        # At the front joint the shaft does not move.
        lift = (up * bump - down * droop) / (up + down) if up + down > 1e-9 else 0.0
        if gap.size < -round_it:  # its axis passes through: deepest at the end it moves away from
            lift = bump if gap.way[2] < 0.0 else -droop
    hump = None
    if kind == "crossmember" and round_it > 0.0:
        middle, room = float(gap.second[1]), round_it + obstacle.asked
        hump = (middle - room, middle + room)
    return Clearance(
        name, part, obstacle.name, obstacle.kind, gap.size, obstacle.asked, at, gap.way, lift,
        hump=hump,
    )  # fmt: skip


def _over_ground(
    frame: Frame, ground: Ground, name: str, part: str | None, solids: Iterable[Solid]
) -> Clearance:
    """Return the least height of some metal over the ground, laden."""
    heights, places, further = [], [], []
    for solid in solids:
        laden = solid.points[:, 2] - solid.radius - _sunk(frame, ground.drop, solid.points[:, 0])
        heights.append(laden)
        places.append(solid.points - [0.0, 0.0, solid.radius])
        further.append(laden - _sunk(frame, ground.jounce, solid.points[:, 0]))
    height, place = np.concatenate(heights), np.concatenate(places)
    k = int(np.argmin(height))
    left = float(np.concatenate(further).min()) if any(ground.jounce) else None
    down = np.array([0.0, 0.0, -1.0])
    least = float(height[k])
    return Clearance(
        name, part, "ground", "ground", least, ground.clearance, place[k], down, jounce=left
    )


def _sunk(frame: Frame, by: tuple[float, float], stations: Array) -> Array:
    """Return how far the frame sinks at stations, mm, straight between and beyond the axles."""
    front, rear = frame.axle("front"), frame.axle("rear")
    if front is None or rear is None:
        return np.full_like(stations, max(by))
    share = (stations - front.station) / (rear.station - front.station)
    return np.asarray(by[0] + share * (by[1] - by[0]))


def _reaches(document: "FrameDocument", box: Gearbox) -> list[Reach]:
    """Return every position of the gearbox crossmember, the nearest to the mount first."""
    from fea.frame.build import allowed_positions
    from fea.frame.slots import crossmember_entries, mount_station

    entry: CrossmemberEntry = crossmember_entries(document)[box.crossmember]
    stations = allowed_positions(document).get(entry.name, (entry.station,))
    low, high = box.stations
    found = []
    for station in stations:
        for turned in (False, True) if entry.reversible else (False,):
            seat = mount_station(entry, station, turned=turned)
            inside = low - 1e-6 <= seat <= high + 1e-6
            found.append(Reach(station, turned, seat, seat - box.mount[0], inside))
    return sorted(found, key=lambda one: (abs(one.off), one.turned))


def _face(frame: Frame, box: Gearbox) -> float | None:
    """Return the height from the crossmember's upper face to the mount, None if not fitted."""
    from fea.shop.metal_solids import solids_of

    member = next((m for m in frame.members if m.name == box.crossmember), None)
    if member is None:
        return None
    solids = solids_of(member, frame.packaging.arch(member.name))
    return box.mount[2] - max(float(solid.points[:, 2].max()) for solid in solids)
