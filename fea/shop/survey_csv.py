"""A survey from a table as a spreadsheet saves it.

The file is text with commas (or semicolons, or tabs), in parts; lines that start with ``#`` say
what you like::

    [units]
    length,mm
    angle,deg
    [points]
    name,side,station,offset,height
    P1,both,-520 mm,,
    [readings]
    kind,from,to,reading,uncertainty
    length,A3 left,A8 right,2323 mm,1 mm
    level,A3 left,A3 right,4 mm,0.4 mm
    level,A8 left,A8 right,0.1 deg,0.1 deg
    floor,A3 right,,519 mm,1 mm
    [coordinates]
    point,station,offset,height,uncertainty
    A8 right,2600 mm,431 mm,,1 mm

A point is a named point of a rail with its side (``A3 right``), or one of ``[points]``: on the
rail (``both`` makes two) at a station, or anywhere with all three figures.  ``length`` is from
point to point, ``plan`` the same with both carried to one height (plumb bobs to the floor, or a
tram's pointers set to the sheet's heights); ``level`` is how much higher the second point is, as
a length, an angle or in mm/m; ``floor`` the height over the floor.  Units stand in the cells; a
bare number has the unit of ``[units]``.  ``uncertainty`` is one standard deviation, the usual
one where the cell is empty.
"""

import csv
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fea import units
from fea.document.spelling import choices
from fea.errors import Complaint, DocumentError
from fea.frame.model import Frame
from fea.shop.survey_points import Point, Side, on_rail, rail_points
from fea.shop.survey_readings import AXES, Kind, Reading, Readings

if TYPE_CHECKING:
    from collections.abc import Iterator

USUAL: Mapping[str, float] = {
    "length": 1.0, "plan": 1.0, "level": 0.5, "tilt": 0.0026, "floor": 1.0, "station": 1.0,
    "offset": 1.0, "height": 1.0,
}  # fmt: skip
"""Standard deviations, mm (rad of a tilt: 0.15 deg), where none is told.  Estimates of what one
person reads with a tape's hook or point, a water level, a digital level."""

FARTHEST = 20e3
"""A longer reading, mm, is a slip of the unit: no frame is so long."""
WIDEST = 100.0
"""A larger uncertainty, mm, tells nothing."""

PARTS: Mapping[str, tuple[str, ...]] = {
    "units": (),
    "points": ("name", "side", "station", "offset", "height"),
    "readings": ("kind", "from", "to", "reading", "uncertainty"),
    "coordinates": ("point", "station", "offset", "height", "uncertainty"),
}
NEEDED: Mapping[str, tuple[str, ...]] = {
    "points": ("name", "station"),
    "readings": ("kind", "from", "reading"),
    "coordinates": ("point",),
}
KINDS: Mapping[str, Kind] = {"length": "length", "plan": "plan", "level": "level", "floor": "floor"}
SIDES = ("right", "left", "both", "")

MOST_ROWS = 1000
"""Of a file: a careful survey has a hundred, and the adjustment grows with the third power."""


def read_survey(text: str, source: str, frame: Frame) -> Readings:
    """Return the survey in a file's text.

    Raises
    ------
    DocumentError
        With everything that is wrong, by line and column.
    """
    return _Reader(source, frame, rail_points(frame)).read(text)


@dataclass
class _Reader:
    """Walks the rows of a file and gathers points, readings and complaints."""

    source: str
    frame: Frame
    known: dict[str, Point]
    complaints: list[Complaint] = field(default_factory=list)
    units: dict[str, str] = field(default_factory=dict)
    used: dict[str, int] = field(default_factory=dict)
    taken: list[Reading] = field(default_factory=list)
    told: dict[str, int] = field(default_factory=dict)

    def read(self, text: str) -> Readings:
        part, broken = "", False
        columns: tuple[str, ...] = ()
        own: list[tuple[int, dict[str, str]]] = []
        rows: list[tuple[str, int, dict[str, str]]] = []
        for line, cells in self._rows(text):
            if cells[0].startswith("["):
                part, columns, broken = cells[0].lower().strip("[] "), (), False
                if part not in PARTS:
                    do = choices([f"[{p}]" for p in PARTS], cells[0])
                    self.refuse("unknown part of the file", line, "", cells[0], do)
                    broken = True
            elif broken:
                continue
            elif not part:
                do = "start with [readings] on a line of its own"
                self.refuse("a row must stand in a part of the file", line, "", cells[0], do)
                broken = True
            elif part == "units":
                self._unit(line, cells)
            elif not columns:
                columns = tuple(c.lower() for c in cells)
                broken = not self._heads(line, part, columns)
            elif len(cells) > len(columns):
                do = "leave commas out of the cells, and write a decimal point"
                rule = "a row must not have more cells than there are columns"
                self.refuse(rule, line, f"{len(columns) + 1}", cells[len(columns)], do)
            elif part == "points":
                own.append((line, dict(zip(columns, cells, strict=False))))
            else:
                rows.append((part, line, dict(zip(columns, cells, strict=False))))
        if len(own) + len(rows) > MOST_ROWS:
            rule = f"a survey has at most {MOST_ROWS} points and readings"
            found, do = str(len(own) + len(rows)), "leave out what was measured many times over"
            raise DocumentError(*self.complaints, Complaint(rule, self.source, found, do))
        for line, row in own:  # before the readings, wherever they stand
            self._point(line, row)
        for part, line, row in rows:
            (self._reading if part == "readings" else self._coordinates)(line, row)
        if not self.taken and not self.complaints:
            do = "a part [readings], a row of column names, then a row for each reading"
            rule = "there is no reading in this file"
            self.complaints.append(Complaint(rule, self.source, do=do))
        if self.complaints:
            raise DocumentError(*self.complaints)
        return Readings(self.source, tuple(self.known[k] for k in self.used), tuple(self.taken))

    def refuse(self, rule: str, line: int, column: str, found: str = "", do: str = "") -> None:
        where = f"{self.source}, line {line}" + (f", column {column}" if column else "")
        self.complaints.append(Complaint(rule, where, found, do))

    def _rows(self, text: str) -> "Iterator[tuple[int, list[str]]]":
        """Yield the rows that hold something, with their lines; comments are left out."""
        lines = [
            "" if line.lstrip(' \t",;').startswith("#") else line
            for line in text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
            .split("\n")
        ]  # fmt: skip
        marks = {sign: sum(line.count(sign) for line in lines) for sign in ",;\t"}
        sign = max(marks, key=lambda s: marks[s])
        for number, line in enumerate(lines, start=1):
            try:
                cells = [c.strip() for c in next(csv.reader([line], delimiter=sign), [])]
            except csv.Error as error:
                self.refuse(f"this line cannot be read: {error}", number, "")
                continue
            while cells and not cells[-1]:
                cells.pop()
            if cells:
                yield number, cells

    def _heads(self, line: int, part: str, columns: tuple[str, ...]) -> bool:
        before = len(self.complaints)
        for name in dict.fromkeys(columns):
            if name not in PARTS[part]:
                do = choices(PARTS[part], name)
                self.refuse(f"unknown column of [{part}]", line, name or "(empty)", do=do)
            elif columns.count(name) > 1:
                self.refuse("a column must be there once", line, name)
        for name in NEEDED[part]:
            if name not in columns and len(self.complaints) == before:
                self.refuse(f'there must be a column "{name}"', line, "", ", ".join(columns))
        return len(self.complaints) == before

    def _unit(self, line: int, cells: list[str]) -> None:
        kind, unit = cells[0].lower(), cells[1] if len(cells) > 1 else ""
        if kind not in ("length", "angle"):
            self.refuse("unknown kind of unit", line, "1", cells[0], '"length" or "angle"')
        elif self._parse(line, "2", f"1 {unit}", kind, bare=False) is not None:
            self.units[kind] = unit

    def _point(self, line: int, row: dict[str, str]) -> None:
        before, name, side = len(self.complaints), row.get("name", ""), row.get("side", "").lower()
        if not name:
            self.refuse("this cell must be filled in", line, "name")
        if side not in SIDES:
            do = '"right", "left", "both", or empty for a point off the rails'
            self.refuse("unknown side", line, "side", row["side"], do)
        at = {key: self._length(line, key, row.get(key, "")) for key in AXES}
        if not row.get("station"):
            self.refuse("this cell must be filled in", line, "station")
        if (at["offset"] is None) != (at["height"] is None) and len(self.complaints) == before:
            do = "fill in both, or neither for a point on the rail"
            self.refuse("offset and height go together", line, "offset", do=do)
        if len(self.complaints) > before or at["station"] is None:
            return
        sides: tuple[Side, ...] = ("right", "left") if side == "both" else ()
        sides = sides or (("right",) if side == "right" else ("left",) if side else ("centre",))
        for one in sides:
            self._add(line, name, one, at, twins=side == "both")

    def _add(
        self, line: int, name: str, side: Side, at: Mapping[Kind, float | None], *, twins: bool
    ) -> None:
        x, y, z = at["station"] or 0.0, at["offset"], at["height"]
        if y is not None and z is not None:
            turn = -1.0 if twins and side == "left" else 1.0
            point: Point | None = Point(name, side, x, turn * y, z)
        elif side == "centre":
            do = "give its side, or its offset and height as well"
            self.refuse("a point off the rails needs all three figures", line, "side", "", do)
            return
        else:
            point = on_rail(self.frame, name, side, x)
        if point is None:
            low, high = (f(p.station for p in self.known.values()) for f in (min, max))
            do = f"a station between {low:g} and {high:g} mm"
            self.refuse("there is no rail at this station", line, "station", f"{x:g} mm", do)
        elif point.key in self.known:
            do = "give it another name"
            self.refuse("a point must be there once", line, "name", point.key, do)
        else:
            self.known[point.key] = point

    def _number(self, line: int, column: str, name: str) -> int | None:
        """Return the number of a point; refuse a name that the frame does not have."""
        folded = {k.casefold(): k for k in self.known}
        key = folded.get(" ".join(name.split()).casefold())
        if not name:
            self.refuse("this cell must be filled in", line, column)
        elif key is None:
            twins = [k for k in self.known if k.rpartition(" ")[0].casefold() == name.casefold()]
            if twins:
                self.refuse("a point needs its side", line, column, name, choices(twins))
            else:
                near = choices(self.known, name) or "a point of the frame, such as A1 right"
                self.refuse("there is no such point", line, column, name, near)
        else:
            return self.used.setdefault(key, len(self.used))
        return None

    def _reading(self, line: int, row: dict[str, str]) -> None:
        before, kind = len(self.complaints), row.get("kind", "").lower()
        if kind not in KINDS:
            self.refuse("unknown kind of reading", line, "kind", kind, choices(KINDS, kind))
            return
        text, told = row.get("reading", ""), row.get("uncertainty", "")
        as_angle = kind == "level" and self._is_angle(text)
        what = "angle" if as_angle else "length"
        first = self._number(line, "from", row.get("from", ""))
        second: int | None = first
        if kind == "floor":
            if row.get("to"):
                do = "leave the cell empty"
                self.refuse("a height over the floor has one point", line, "to", row["to"], do)
        else:
            second = self._number(line, "to", row.get("to", ""))
            if first is not None and first == second:
                rule = "a reading between two points needs two of them"
                self.refuse(rule, line, "to", row["to"])
        if not text:
            self.refuse("this cell must be filled in", line, "reading")
        value = self._parse(line, "reading", text, what) if text else None
        if value is not None and kind in ("length", "plan") and value <= 0.0:
            self.refuse("a length must be longer than nothing", line, "reading", text)
        elif value is not None and as_angle and abs(value) > 0.5:
            do = "check the figure and its unit"
            self.refuse("a frame is not so steep", line, "reading", text, do)
        self._far(line, "reading", text, value)
        mine: Kind = "tilt" if as_angle else KINDS[kind]
        sigma = self._sigma(line, told, mine)
        if len(self.complaints) == before and first is not None and second is not None:
            assert value is not None  # or there would be a complaint
            self.taken.append(Reading(mine, first, second, value, sigma, line, not told))

    def _coordinates(self, line: int, row: dict[str, str]) -> None:
        before, told = len(self.complaints), row.get("uncertainty", "")
        number = self._number(line, "point", row.get("point", ""))
        found = [(key, text) for key in AXES if (text := row.get(key, ""))]
        if not found:
            do = "fill in one of them at least"
            self.refuse("there is no station, offset or height", line, "station", "", do)
        sigma = self._sigma(line, told, "station")
        for key, text in found:
            value = self._length(line, key, text)
            self._far(line, key, text, value)
            if len(self.complaints) == before and number is not None and value is not None:
                self.taken.append(Reading(key, number, number, value, sigma, line, not told))

    def _sigma(self, line: int, text: str, kind: Kind) -> float:
        if not text:
            return USUAL[kind]
        value = self._parse(line, "uncertainty", text, "angle" if kind == "tilt" else "length")
        most = 0.2 if kind == "tilt" else WIDEST
        if value is not None and not 0.0 < value <= most:
            do = "one standard deviation; or leave the cell empty"
            self.refuse("must be above zero, and not huge", line, "uncertainty", text, do)
        return value or 1.0

    def _far(self, line: int, column: str, text: str, value: float | None) -> None:
        if value is not None and abs(value) > FARTHEST:
            do = "check the figure and its unit"
            rule = f"a reading must not be over {FARTHEST / 1e3:g} m"
            self.refuse(rule, line, column, text, do)

    def _is_angle(self, text: str) -> bool:
        unit = text.lstrip("+-0123456789. ").lower()
        return unit.startswith(("deg", "°", "rad", "mrad", "mm/m"))

    def _length(self, line: int, column: str, text: str) -> float | None:
        return self._parse(line, column, text, "length") if text else None

    def _parse(
        self, line: int, column: str, text: str, kind: str, *, bare: bool = True
    ) -> float | None:
        whole = text
        if bare and kind in self.units and text.replace("/", "")[-1:].isdigit():
            whole = f"{text} {self.units[kind]}"
        if kind == "angle":  # a millimetre to the metre is a thousandth
            whole = whole.replace("mm/m", "mrad")
        try:
            return units.parse(whole, kind)
        except DocumentError as error:
            for c in error.complaints:
                self.refuse(c.rule, line, column, text, c.do.replace(" in quotes", ""))
            return None
