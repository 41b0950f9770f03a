"""A frame's shape from a table: what its rail points are off the sheet by.

The file is what ``plumbrail survey --fitted`` writes, or one made by hand with a column ``point``
and one or more of ``station_off_mm``, ``offset_off_mm`` and ``height_off_mm``; lines that start
with ``#`` say what you like.  A point that is not a named one of the rails needs its
``station_mm``.  An empty cell is not told.
"""

import csv
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, DocumentError
from fea.frame import path
from fea.frame.model import Frame
from fea.shop.rig import At
from fea.shop.survey_points import Point, on_rail, rail_points, sheet

Array = NDArray[np.float64]

AXES = ("station", "offset", "height")
FARTHEST = 200.0
"""A point further off its sheet, mm, is a slip of the unit or the column."""
ON_THE_LINE = 1.0
"""A point this near to its rail's reference line, mm, is on it."""


@dataclass(frozen=True, eq=False)
class Shape:
    """What points of the rails are off by, (n, 3) mm, and which of it is told.

    `beside` names the surveyed points that are not on a rail: they are left out.
    """

    source: str
    points: tuple[Point, ...]
    at: tuple[At, ...]
    off: Array
    told: NDArray[np.bool_]
    beside: tuple[str, ...] = ()


def read_shape(text: str, source: str, frame: Frame) -> Shape:
    """Return the shape in a file's text.

    Raises
    ------
    DocumentError
        With everything that is wrong, by line and column.
    """
    return _Reader(source, frame).read(text)


class _Reader:
    def __init__(self, source: str, frame: Frame) -> None:
        self.source, self.frame = source, frame
        self.wrong: list[Complaint] = []
        self.beside: list[str] = []

    def refuse(self, rule: str, line: int, found: str, do: str) -> None:
        where = f"{self.source}, line {line}" if line else self.source
        self.wrong.append(Complaint(rule, where, found, do))

    def read(self, text: str) -> Shape:
        lines = [(k, s) for k, s in enumerate(text.splitlines(), 1)]
        lines = [(k, s) for k, s in lines if s.strip() and not s.lstrip().startswith("#")]
        rows = list(csv.DictReader([s for _, s in lines], skipinitialspace=True))
        heads = {h.strip() for h in (rows[0] if rows else {}) if h}
        if "point" not in heads or not heads & {f"{a}_off_mm" for a in AXES}:
            do = "a column point, and one or more of station_off_mm, offset_off_mm, height_off_mm"
            self.refuse("this file holds no shape", 0, ", ".join(sorted(heads)) or "nothing", do)
            raise DocumentError(*self.wrong)
        known = rail_points(self.frame)
        taken: dict[str, tuple[Point, At, list[float | None]]] = {}
        for (line, _), row in zip(lines[1:], rows, strict=False):
            cells = {str(k).strip(): str(v or "").strip() for k, v in row.items()}
            self._one(line, cells, known, taken)
        told = sum(v is not None for _, _, off in taken.values() for v in off)
        if not self.wrong and told < 4:
            do = "at least the heights of four points"
            self.refuse("there is too little to tell a shape from", 0, f"{told} figures", do)
        if self.wrong:
            raise DocumentError(*self.wrong)
        off = [[np.nan if v is None else v for v in off] for _, _, off in taken.values()]
        table = np.array(off)
        return Shape(
            self.source,
            tuple(p for p, _, _ in taken.values()),
            tuple(a for _, a, _ in taken.values()),
            np.nan_to_num(table),
            ~np.isnan(table),
            tuple(self.beside),
        )

    def _one(
        self,
        line: int,
        cells: Mapping[str, str],
        known: Mapping[str, Point],
        taken: dict[str, tuple[Point, At, list[float | None]]],
    ) -> None:
        name = cells.get("point", "")
        point = known.get(name) or self._on_rail(name, cells.get("station_mm", ""))
        at = None if point is None else _seat(self.frame, point)
        whole = all(cells.get(f"{a}_mm") for a in AXES)  # a survey's point, anywhere
        if whole and name and not name.endswith((" right", " left")):
            self.beside.append(name)
            return
        if point is None or at is None:
            do = "a named point of a rail with its side, as A3 right, or with its station_mm"
            self.refuse("every point must be one of a rail", line, name or "no name", do)
            return
        if name in taken:
            self.refuse("every point must be given once", line, name, "leave one out")
            return
        off = [self._number(line, f"{a}_off_mm", cells.get(f"{a}_off_mm", "")) for a in AXES]
        taken[name] = (point, at, off)

    def _on_rail(self, name: str, station: str) -> Point | None:
        base, _, side = name.rpartition(" ")
        try:
            at = float(station)
        except ValueError:
            return None
        if side == "right":
            return on_rail(self.frame, base, "right", at)
        return on_rail(self.frame, base, "left", at) if side == "left" else None

    def _number(self, line: int, column: str, text: str) -> float | None:
        if not text:
            return None
        try:
            value = float(text)
        except ValueError:
            value = np.nan
        if not abs(value) <= FARTHEST:
            rule = f"must be a number of mm, {FARTHEST:.0f} at most"
            self.refuse(f"{column} {rule}", line, text, "see what plumbrail survey --fitted writes")
            return None
        return value


def _seat(frame: Frame, point: Point) -> At | None:
    """Return the place on a rail where a point of the sheet is."""
    (where,) = sheet((point,))
    for m in frame.members:
        if m.kind == "rail" and m.side == point.side:
            distance, gap = path.nearest(m.path, where)
            if gap <= ON_THE_LINE:
                x, y, z = path.point_at(m.path, distance).tolist()
                return At(m.name, distance, (x, y, z))
    return None
