"""The trade's measures of a frame, each a weighted sum of the points' deviations.

Linear in the deviations: those of a frame fit to be welded are small beside its size.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fea.frame.model import Frame
from fea.shop.survey_points import Pair, Point, pairs, sheet

Array = NDArray[np.float64]

SPAN = 2.0 / 3.0
"""Share of the wheelbase that points must cover for its twist to be told."""


@dataclass(frozen=True, eq=False)
class Measure:
    """One figure: ``row @ deviations`` in mm; `plumb` if in the shop's axes, not the frame's.

    `nominal` is the length, mm, that its tolerance goes by; `per` turns mm into rad for
    twist.  `words` say what a positive and a negative figure mean.
    """

    key: str
    title: str
    row: Array
    nominal: float
    words: tuple[str, str]
    plumb: bool = False
    per: float = 1.0

    @property
    def is_angle(self) -> bool:
        """Its tolerance is an angle."""
        return self.key == "twist"


TITLES = {
    "twist": "twist",
    "diamond": "square, end to end",
    "square": "square, bay by bay",
    "sag": "sag or hump",
    "sidesway": "sidesway",
    "mash": "rails' length",
    "width": "width",
    "level_side": "level side to side",
    "level_end": "level end to end",
}
"""Of the measures, in the order of the table."""


def measures(frame: Frame, points: tuple[Point, ...]) -> list[Measure]:
    """Return the measures that the pairs of points allow; several of some keys."""
    twins = pairs(points)
    places = sheet(points)
    if not twins:
        return []
    found = [*_widths(places, twins), _level_side(places, twins)]
    if len(twins) > 1:
        found += [
            *_twist(frame, places, twins),
            _diamond(places, twins[0], twins[-1]),
            *(_square(places, a, b) for a, b in pairwise(twins)),
            *_mash(places, twins),
            _level_end(frame, places, twins),
        ]
    if len(twins) > 2:
        found += [*_strings(places, twins)]
    order = list(TITLES)
    return sorted(found, key=lambda m: order.index(m.key))


def length_row(places: Array, first: int, second: int) -> Array:
    """Return what movements of the points add to a length between two, shape (3 n,)."""
    step = places[second] - places[first]
    unit = step / np.linalg.norm(step)
    row = np.zeros_like(places)
    row[second] += unit
    row[first] -= unit
    return row.ravel()


def roll_row(places: Array, pair: Pair) -> Array:
    """Return the roll of a pair of points, right side up positive, rad per mm, (3 n,)."""
    row = np.zeros_like(places)
    wide = places[pair.right, 1] - places[pair.left, 1]
    row[pair.right, 2], row[pair.left, 2] = 1.0 / wide, -1.0 / wide
    return row.ravel()


def middle_row(places: Array, pair: Pair, axis: int) -> Array:
    """Return the movement of the middle between a pair along an axis, shape (3 n,)."""
    row = np.zeros_like(places)
    row[[pair.right, pair.left], axis] = 0.5
    return row.ravel()


def _width(places: Array, pair: Pair) -> float:
    return float(np.linalg.norm(places[pair.right] - places[pair.left]))


def _widths(places: Array, twins: Sequence[Pair]) -> list[Measure]:
    return [
        Measure("width", f"at {p.name}", length_row(places, p.left, p.right), _width(places, p),
                ("wide", "narrow"))
        for p in twins
    ]  # fmt: skip


def _between(twins: Sequence[Pair], rows: Sequence[Array], station: float) -> Array:
    """Return a row between the pairs' rows at a station inside their reach."""
    at = [p.station for p in twins]
    share = [float(np.interp(station, at, e)) for e in np.eye(len(at))]
    return np.asarray(sum(s * r for s, r in zip(share, rows, strict=True)))


def _ends(frame: Frame, twins: Sequence[Pair]) -> tuple[float, float, bool]:
    """Return the stations between which twist is told, and whether they cover enough."""
    front, rear = frame.axle("front"), frame.axle("rear")
    first, last = twins[0].station, twins[-1].station
    if front is None or rear is None:
        return first, last, True
    a, b = max(front.station, first), min(rear.station, last)
    return a, b, b - a >= SPAN * (rear.station - front.station) - 1e-9


def _twist(frame: Frame, places: Array, twins: Sequence[Pair]) -> list[Measure]:
    a, b, enough = _ends(frame, twins)
    if not enough:
        return []
    rows = [roll_row(places, p) for p in twins]
    wide = float(np.interp(a, [p.station for p in twins], [_width(places, p) for p in twins]))
    turn = _between(twins, rows, a) - _between(twins, rows, b)
    return [
        Measure("twist", f"{a:.0f} to {b:.0f} mm", wide * turn, b - a,
                ("front right high", "front left high"), per=1.0 / wide)
    ]  # fmt: skip


def _diamond(places: Array, front: Pair, rear: Pair) -> Measure:
    """Return the shift of the right rail rearward against the left one.

    A shift d lengthens one diagonal by d L / D and shortens the other as much, with length L
    along the frame and diagonal D: their difference is ``2 L d / D``.
    """
    one = length_row(places, front.right, rear.left)
    other = length_row(places, front.left, rear.right)
    diagonal = float(np.linalg.norm(places[rear.left] - places[front.right]))
    row = (other - one) * diagonal / (2.0 * (rear.station - front.station))
    words = ("right rail rearward", "left rail rearward")
    wide = 0.5 * (_width(places, front) + _width(places, rear))
    return Measure("diamond", f"{front.name} to {rear.name}", row, wide, words)


def _square(places: Array, front: Pair, rear: Pair) -> Measure:
    one = length_row(places, front.right, rear.left)
    other = length_row(places, front.left, rear.right)
    words = ("left one longer", "right one longer")
    return Measure("square", f"{front.name} to {rear.name}", other - one, _width(places, front),
                   words)  # fmt: skip


def _strings(places: Array, twins: Sequence[Pair]) -> list[Measure]:
    """Return how far the middles lie from a string from the first pair to the last.

    Sideways in the frame's own roll, the mean of its pairs: a frame that only leans is straight,
    though its kick-up then lies to one side of a plumb string.
    """
    lean = np.mean([roll_row(places, p) for p in twins], axis=0)

    def middle(p: Pair, axis: int) -> Array:
        row = middle_row(places, p, axis)
        high = 0.5 * (places[p.right, 2] + places[p.left, 2])
        return np.asarray(row + high * lean) if axis == 1 else row

    first, last = twins[0], twins[-1]
    whole = last.station - first.station
    found = []
    for key, axis, words in (
        ("sag", 2, ("hump", "sag")),
        ("sidesway", 1, ("to the right", "to the left")),
    ):
        ends = middle(first, axis), middle(last, axis)
        for p in twins[1:-1]:
            share = (p.station - first.station) / whole
            row = middle(p, axis) - (1.0 - share) * ends[0] - share * ends[1]
            found.append(Measure(key, f"at {p.name}", row, whole, words))
    return found


def _mash(places: Array, twins: Sequence[Pair]) -> list[Measure]:
    found = []
    for side in ("right", "left"):
        a, b = getattr(twins[0], side), getattr(twins[-1], side)
        far = float(np.linalg.norm(places[b] - places[a]))
        title = f"{side}, {twins[0].name} to {twins[-1].name}"
        found.append(Measure("mash", title, length_row(places, a, b), far, ("long", "short")))
    return found


def _level_side(places: Array, twins: Sequence[Pair]) -> Measure:
    """Return the mean roll against plumb, as mm over the mean width."""
    wide = float(np.mean([_width(places, p) for p in twins]))
    row = np.mean([roll_row(places, p) for p in twins], axis=0) * wide
    return Measure("level_side", f"over {wide:.0f} mm", np.asarray(row), wide,
                   ("right high", "left high"), plumb=True)  # fmt: skip


def _level_end(frame: Frame, places: Array, twins: Sequence[Pair]) -> Measure:
    """Return the slope of the middles' heights against the sheet's, as mm over the wheelbase."""
    a, b, enough = _ends(frame, twins)
    if not enough:
        a, b = twins[0].station, twins[-1].station
    at = np.array([p.station for p in twins])
    lean = (at - at.mean()) / ((at - at.mean()) ** 2).sum()
    row = sum(w * middle_row(places, p, 2) for w, p in zip(lean, twins, strict=True)) * (b - a)
    return Measure("level_end", f"over {b - a:.0f} mm", np.asarray(row), b - a,
                   ("rear high", "front high"), plumb=True)  # fmt: skip
