"""Control points of a frame: the named points of its rails, and points given by place.

A point has a key such as ``"A3 right"``; a point off the rails may have a name alone.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.model import Frame

Array = NDArray[np.float64]
Side = Literal["right", "left", "centre"]


@dataclass(frozen=True)
class Point:
    """A control point: where the frame's sheet has it, mm."""

    name: str
    side: Side
    station: float
    offset: float
    height: float

    @property
    def key(self) -> str:
        """What it is called in readings."""
        return self.name if self.side == "centre" else f"{self.name} {self.side}"


@dataclass(frozen=True)
class Pair:
    """A point on the right and its twin on the left, by their numbers."""

    name: str
    right: int
    left: int
    station: float


def rail_points(frame: Frame) -> dict[str, Point]:
    """Return the named points of the rails, right and left, by key, front to rear."""
    found: dict[str, Point] = {}
    for member in frame.members:
        if member.kind != "rail":
            continue
        for name, at in zip(member.point_names, member.path.tolist(), strict=True):
            if name:
                point = Point(name, member.side, *at)
                found.setdefault(point.key, point)
    return dict(sorted(found.items(), key=lambda item: (item[1].station, -item[1].offset)))


def on_rail(frame: Frame, name: str, side: Side, station: float) -> Point | None:
    """Return a point of a rail's reference line at a station, None where there is no rail."""
    for member in frame.members:
        line = member.path
        if member.kind == "rail" and member.side == side and _reaches(line, station):
            at = path.point_at(line, path.distance_at_station(line, station))
            return Point(name, side, station, float(at[1]), float(at[2]))
    return None


def _reaches(line: Array, station: float) -> bool:
    return bool(line[0, 0] - 1e-6 <= station <= line[-1, 0] + 1e-6)


def sheet(points: tuple[Point, ...]) -> Array:
    """Return where the sheet has the points, shape (n, 3), mm."""
    return np.array([(p.station, p.offset, p.height) for p in points]).reshape(-1, 3)


def pairs(points: tuple[Point, ...]) -> tuple[Pair, ...]:
    """Return the points that stand on both sides, front to rear."""
    number: Mapping[str, int] = {p.key: k for k, p in enumerate(points)}
    found = []
    for p in points:
        left = number.get(f"{p.name} left")
        if p.side == "right" and left is not None:
            station = 0.5 * (p.station + points[left].station)
            found.append(Pair(p.name, number[p.key], left, station))
    return tuple(sorted(found, key=lambda pair: pair.station))
