"""Placing short texts near their points so that none covers another.

Greedy: labels are placed one after the other, each at the cheapest of many seats around its
point. A seat is refused outright when it leaves the panel or touches a taken box; it costs more
the farther away it is, the more of the drawing it covers, and when its leader line crosses
another. All in pixels, y upwards.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Point = tuple[float, float]

_REACHES = (14.0, 24.0, 38.0, 56.0, 80.0, 110.0, 150.0, 200.0, 260.0, 340.0)
_TURNS = 24
_COVER_COST, _CROSS_COST, _TURN_COST = 260.0, 150.0, 22.0


@dataclass(frozen=True)
class Box:
    """An upright rectangle."""

    left: float
    bottom: float
    right: float
    top: float

    def touches(self, other: "Box", gap: Point = (0.0, 0.0)) -> bool:
        """Return whether two boxes come closer than a gap, sideways and up and down."""
        return (
            self.left < other.right + gap[0]
            and other.left < self.right + gap[0]
            and self.bottom < other.top + gap[1]
            and other.bottom < self.top + gap[1]
        )

    def holds(self, other: "Box") -> bool:
        """Return whether another box lies wholly inside."""
        return (
            self.left <= other.left
            and self.bottom <= other.bottom
            and self.right >= other.right
            and self.top >= other.top
        )

    def nearest(self, point: Point) -> Point:
        """Return the point of the box nearest to a given one."""
        x, y = point
        return min(max(x, self.left), self.right), min(max(y, self.bottom), self.top)


@dataclass(frozen=True)
class Label:
    """A text to place.

    Attributes
    ----------
    point : its point
    size : width and height of the text
    towards : direction in which it would rather stand, or (0, 0)
    led : whether a leader line may tie it to its point; without one it stays near
    """

    point: Point
    size: tuple[float, float]
    towards: Point = (0.0, 0.0)
    led: bool = True


@dataclass(frozen=True)
class Seat:
    """Where a label went: its box, and the leader line from box to point if it has one."""

    box: Box
    leader: tuple[Point, Point] | None


class Cover:
    """How much of any box is drawn upon, by a summed table over a picture mask."""

    def __init__(self, mask: NDArray[np.bool_], cell: float) -> None:
        """Take a mask (rows, columns), bottom row first, of square cells of `cell` pixels."""
        self._cell = cell
        self._sum = np.zeros((mask.shape[0] + 1, mask.shape[1] + 1))
        self._sum[1:, 1:] = mask.astype(float).cumsum(axis=0).cumsum(axis=1)

    def share(self, box: Box) -> float:
        """Return the covered share of a box, 0 to 1."""
        rows, columns = self._sum.shape
        x0, x1 = (int(np.clip(v / self._cell, 0, columns - 1)) for v in (box.left, box.right))
        y0, y1 = (int(np.clip(v / self._cell, 0, rows - 1)) for v in (box.bottom, box.top))
        x1, y1 = min(max(x1, x0 + 1), columns - 1), min(max(y1, y0 + 1), rows - 1)
        area = (x1 - x0) * (y1 - y0)
        if area <= 0:
            return 0.0
        s = self._sum
        return float((s[y1, x1] - s[y0, x1] - s[y1, x0] + s[y0, x0]) / area)


NOTHING = Cover(np.zeros((1, 1), dtype=bool), 1.0)


def place(
    labels: Sequence[Label],
    panel: Box,
    *,
    taken: Sequence[Box] = (),
    cover: Cover = NOTHING,
    gap: Point = (4.0, 4.0),
    unit: float = 1.0,
) -> list[Seat | None]:
    """Return a seat for each label, in their order; None where there is no room at all.

    Parameters
    ----------
    labels : in order of importance
    panel : no label may leave it
    taken : boxes that no label may touch
    cover : what is drawn already, which labels had better not hide
    gap : clear space around a label, sideways and up and down
    unit : length of one step of distance; scales with the picture
    """
    boxes = list(taken)
    leaders: list[tuple[Point, Point]] = []
    seats: list[Seat | None] = []
    for label in labels:
        best: Seat | None = None
        least = np.inf
        for box, cost in _candidates(label, unit):
            if cost >= least or not panel.holds(box):
                continue
            if any(box.touches(other, gap) for other in boxes):
                continue
            seat = Seat(box, _leader(box, label.point, 9.0 * unit) if label.led else None)
            cost += _trouble(seat, boxes, leaders, cover)
            if cost < least:
                best, least = seat, cost
        seats.append(best)
        if best is not None:
            boxes.append(best.box)
            if best.leader is not None:
                leaders.append(best.leader)
    return seats


def _candidates(label: Label, unit: float) -> list[tuple[Box, float]]:
    """Return boxes around a point, each with the cost of its distance and direction."""
    wide, high = label.size
    wish = np.asarray(label.towards, dtype=float)
    wish /= max(float(np.hypot(*wish)), 1e-12)
    found = []
    for reach in _REACHES:
        for turn in range(_TURNS):
            angle = 2.0 * np.pi * turn / _TURNS
            way = np.array([np.cos(angle), np.sin(angle)])
            # the box's border, not its middle, stands `reach` away
            x = label.point[0] + way[0] * (reach * unit + 0.5 * wide)
            y = label.point[1] + way[1] * (reach * unit + 0.5 * high)
            box = Box(x - 0.5 * wide, y - 0.5 * high, x + 0.5 * wide, y + 0.5 * high)
            away = _TURN_COST * (1.0 - float(way @ wish)) if wish.any() else 0.0
            found.append((box, (reach if label.led else 3.0 * reach) + away))
    return found


def _leader(box: Box, point: Point, shortest: float) -> tuple[Point, Point] | None:
    end = box.nearest(point)
    if np.hypot(end[0] - point[0], end[1] - point[1]) < shortest:
        return None
    return end, point


def _trouble(
    seat: Seat, boxes: Sequence[Box], leaders: Sequence[tuple[Point, Point]], cover: Cover
) -> float:
    """Return the cost of what a seat hides and of what its leader crosses."""
    cost = _COVER_COST * cover.share(seat.box)
    for line in leaders:
        cost += _CROSS_COST * (seat.leader is not None and _cross(seat.leader, line))
        cost += _CROSS_COST * _enters(line, seat.box)
    if seat.leader is not None:
        cost += _CROSS_COST * sum(_enters(seat.leader, box) for box in boxes)
    return cost


def _cross(a: tuple[Point, Point], b: tuple[Point, Point]) -> bool:
    """Return whether two line pieces cross."""

    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(*a, b[0]) * side(*a, b[1]) < 0.0 and side(*b, a[0]) * side(*b, a[1]) < 0.0


def _enters(line: tuple[Point, Point], box: Box) -> bool:
    """Return whether a line piece passes through a box."""
    part = np.linspace(0.0, 1.0, 12)[1:-1]
    x = line[0][0] + part * (line[1][0] - line[0][0])
    y = line[0][1] + part * (line[1][1] - line[0][1])
    inside = (x > box.left) & (x < box.right) & (y > box.bottom) & (y < box.top)
    return bool(inside.any())
