"""Readings of a stand test from a table as a spreadsheet saves it.

The file is text with commas (or semicolons, or tabs)::

    # Lines that start with # say what you like.
    [test]
    couple at,front axle
    stands at,rear axle
    [readings]
    load,arm,gauge,side,station,direction,reading,uncertainty
    20 kg,1200 mm right,G1,right,460 mm,up,-0.61 mm,0.02 mm

``load`` is a mass or a force hung from the arm, ``arm`` how far from the centreline and on
which side; ``couple`` may stand for both, positive where it lifts the right side.
``station`` is a length or the name of a rail's point.  A reading is positive where the rail
moves in the gauge's direction; gauges stand at zero with the bare arm.  ``uncertainty`` is
one standard deviation.  Of the test, ``couple at``, ``pivot at`` (what bears the middle of
the arm; where the couple comes in if left out) and ``stands at`` are places: an axle, a
station or a point.
"""

import csv
from collections.abc import Mapping
from dataclasses import dataclass, field

from fea import units
from fea.document.spelling import choices
from fea.errors import Complaint, DocumentError
from fea.frame.case import Motion, Place
from fea.study.fit_readings import FRONT, GRAVITY, REAR, Gauge, Load, Readings, Setup, Taken

LARGEST = 100.0
"""A reading beyond this, mm, is a slip of the unit: no dial gauge runs so far."""

COLUMNS = ("load", "arm", "couple", "gauge", "side", "station", "direction", "reading",
           "uncertainty")  # fmt: skip
NEEDED = ("gauge", "side", "station", "direction", "reading")
TEST = ("couple at", "pivot at", "stands at")
DIRECTIONS: Mapping[str, tuple[Motion, float]] = {
    "up": ("height", 1.0),
    "down": ("height", -1.0),
    "right": ("offset", 1.0),
    "left": ("offset", -1.0),
    "side": ("offset", 1.0),
}
"""What a gauge's direction means; "side" is to the right."""


def read_readings(text: str, source: str) -> Readings:
    """Return the readings in a file's text.

    Raises
    ------
    DocumentError
        With everything that is wrong, by line and column.
    """
    return _Reader(source).read(text)


def parse_place(text: str) -> Place:
    """Return the place that a cell names: an axle, a station or a point of a rail.

    Raises
    ------
    DocumentError
        If it looks like a figure and is none.
    """
    words = text.strip()
    if words.lower() in ("front axle", "rear axle"):
        return Place(axle="front" if words.lower().startswith("front") else "rear")
    if words[:1].isdigit() or words[:1] in "+-.":
        return Place(station=units.parse(words, "length"))
    return Place(point=words.removeprefix("point ").strip())


@dataclass
class _Reader:
    """Walks the rows of a file and gathers readings and complaints."""

    source: str
    complaints: list[Complaint] = field(default_factory=list)
    test: dict[str, Place] = field(default_factory=dict)
    gauges: dict[str, Gauge] = field(default_factory=dict)
    loads: dict[Load, int] = field(default_factory=dict)
    taken: list[Taken] = field(default_factory=list)
    columns: list[str] = field(default_factory=list)

    def read(self, text: str) -> Readings:
        part = "readings"
        for line, cells in _rows(text, self.source):
            head = cells[0].lower()
            if head in ("[test]", "[readings]"):
                part = head.strip("[]")
            elif head.startswith("["):
                do = "[test] or [readings]"
                self.refuse("unknown part of the file", line, "", cells[0], do)
            elif part == "test":
                self._test(line, cells)
            elif not self.columns:
                self._heads(line, cells)
                if self.complaints:
                    break  # without columns nothing below has a meaning
            else:
                self._row(line, dict(zip(self.columns, cells, strict=False)), len(cells))
        if not self.taken and not self.complaints:
            do = "a row of column names, then a row for each gauge and load"
            self.complaints.append(
                Complaint("there is no reading in this file", self.source, do=do)
            )
        if self.complaints:
            raise DocumentError(*self.complaints)
        couple = self.test.get("couple at", FRONT)
        setup = Setup(
            couple,
            self.test.get("pivot at", couple),
            self.test.get("stands at", REAR),
        )
        return Readings(
            self.source, setup, tuple(self.gauges.values()), tuple(self.loads), tuple(self.taken)
        )

    def refuse(self, rule: str, line: int, column: str, found: str = "", do: str = "") -> None:
        where = f"{self.source}, line {line}" + (f", column {column}" if column else "")
        self.complaints.append(Complaint(rule, where, found, do))

    def _test(self, line: int, cells: list[str]) -> None:
        key = cells[0].lower()
        if key not in TEST:
            self.refuse("unknown line of the test", line, "", cells[0], choices(TEST, key))
        elif len(cells) < 2 or not cells[1]:
            self.refuse(f'"{key}" needs a place', line, "", do='such as "front axle" or "2300 mm"')
        elif key in self.test:
            self.refuse(f'"{key}" must be told once', line, "", cells[1])
        else:
            place = self._place(line, key, cells[1])
            if place is not None:
                self.test[key] = place

    def _heads(self, line: int, cells: list[str]) -> None:
        self.columns = [c.lower() for c in cells]
        for name in self.columns:
            if name not in COLUMNS:
                self.refuse("unknown column", line, name or "(empty)", do=choices(COLUMNS, name))
            elif self.columns.count(name) > 1:
                self.refuse("a column must be there once", line, name)
        for name in NEEDED:
            if name not in self.columns:
                self.refuse(f'there must be a column "{name}"', line, "", ", ".join(cells))
        if "couple" not in self.columns and not {"load", "arm"} <= {*self.columns}:
            do = "add both columns, or a column couple"
            self.refuse("there must be columns load and arm", line, "", ", ".join(cells), do)

    def _row(self, line: int, row: dict[str, str], count: int) -> None:
        before = len(self.complaints)
        if count > len(self.columns):
            do = "leave commas out of the cells, and write a decimal point"
            self.refuse("a row must not have more cells than there are columns", line, "", do=do)
            return
        for name in NEEDED:
            if not row.get(name):
                self.refuse("this cell must be filled in", line, name)
        load = self._load(line, row)
        gauge = self._gauge(line, row) if len(self.complaints) == before else None
        value = self._length(line, row, "reading")
        if value is not None and abs(value) > LARGEST:
            rule = f"a reading must not be over {LARGEST:g} mm"
            self.refuse(rule, line, "reading", row["reading"], "check the figure and its unit")
        spread = self._length(line, row, "uncertainty")
        if spread is not None and not 0.0 < spread <= LARGEST:
            do = 'one standard deviation, such as "0.02 mm"; or leave the cell empty'
            self.refuse("must be above zero", line, "uncertainty", row["uncertainty"], do)
        if len(self.complaints) == before and load and gauge and value is not None:
            at = self.loads.setdefault(load, len(self.loads))
            number = list(self.gauges).index(gauge.name)
            self.taken.append(Taken(number, at, value, spread, line))

    def _gauge(self, line: int, row: dict[str, str]) -> Gauge | None:
        name, side, way = row["gauge"], row["side"].lower(), row["direction"].lower()
        if side not in ("right", "left"):
            self.refuse("unknown side", line, "side", row["side"], "right or left")
        if way not in DIRECTIONS:
            self.refuse("unknown direction", line, "direction", way, choices(DIRECTIONS, way))
        place = self._place(line, "column station", row["station"])
        if place is None or side not in ("right", "left") or way not in DIRECTIONS:
            return None
        if place.axle is not None:
            do = "give a station or a rail's point"
            self.refuse("a gauge stands at a rail", line, "station", row["station"], do)
            return None
        at = Place(
            station=place.station, point=place.point, side="right" if side == "right" else "left"
        )
        motion, sign = DIRECTIONS[way]
        mine = Gauge(name, at, motion, sign, line)
        first = self.gauges.setdefault(name, mine)
        if (first.place, first.motion, first.sign) != (at, motion, sign):
            rule = f"gauge {name} must stand where it stood, in the same direction"
            do = f"as in line {first.line}; or give it another name"
            self.refuse(rule, line, "gauge", f"{side}, {row['station']}, {way}", do)
            return None
        return first

    def _load(self, line: int, row: dict[str, str]) -> Load | None:
        load, arm, couple = (row.get(name, "") for name in ("load", "arm", "couple"))
        if couple and (load or arm):
            do = "leave the cells of one empty"
            self.refuse("give either load and arm or the couple", line, "couple", couple, do)
        elif couple:
            value = self._parse(line, "couple", couple, "moment")
            return None if value is None else Load(0.0, value)
        elif not load or not arm:
            column = "load" if not load else "arm"
            do = 'such as "40 kg" on an arm of "1200 mm right"'
            self.refuse("this cell must be filled in", line, column, do=do)
        else:
            return self._on_arm(line, load, arm)
        return None

    def _on_arm(self, line: int, load: str, arm: str) -> Load | None:
        force = self._force(line, load)
        out, _, side = arm.rpartition(" ")
        sign = {"right": -1.0, "left": 1.0}.get(side.lower())
        if sign is None or not out:
            do = 'such as "1200 mm right"'
            self.refuse("an arm is a length and the side it is on", line, "arm", arm, do)
            return None
        reach = self._parse(line, "arm", out, "length")
        if reach is not None and reach <= 0.0:
            do = "measure from the centreline, and name the side"
            self.refuse("an arm must be longer than nothing", line, "arm", arm, do)
            return None
        if force is None or reach is None:
            return None
        return Load(force, sign * force * reach)

    def _force(self, line: int, text: str) -> float | None:
        try:
            force = units.parse(text, "mass") * GRAVITY
        except DocumentError:
            try:
                force = units.parse(text, "force")
            except DocumentError as error:
                rule = error.complaints[0].rule.replace("of force", "of mass or force")
                self.refuse(rule, line, "load", text, 'such as "40 kg", "400 N" or "90 lbf"')
                return None
        if force < 0.0:
            do = "the side of the arm says which way it turns"
            self.refuse("a load must not be negative", line, "load", text, do)
            return None
        return force

    def _length(self, line: int, row: dict[str, str], column: str) -> float | None:
        text = row.get(column, "")
        return self._parse(line, column, text, "length") if text else None

    def _parse(self, line: int, column: str, text: str, kind: str) -> float | None:
        try:
            return units.parse(text, kind)
        except DocumentError as error:
            for c in error.complaints:
                self.refuse(c.rule, line, column, text, c.do.replace(" in quotes", ""))
            return None

    def _place(self, line: int, column: str, text: str) -> Place | None:
        try:
            return parse_place(text)
        except DocumentError as error:
            for c in error.complaints:
                self.refuse(c.rule, line, column.removeprefix("column "), text, 'such as "1260 mm"')
            return None


def _rows(text: str, source: str) -> list[tuple[int, list[str]]]:
    """Return the rows that hold something, with their lines; comments are left out."""
    lines = [
        "" if line.lstrip(' \t",;').startswith("#") else line
        for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    ]
    marks = {sign: sum(line.count(sign) for line in lines) for sign in ",;\t"}
    sign = max(marks, key=lambda s: marks[s])
    out: list[tuple[int, list[str]]] = []
    found: list[Complaint] = []
    for number, line in enumerate(lines, start=1):
        try:
            cells = [c.strip() for c in next(csv.reader([line], delimiter=sign), [])]
        except csv.Error as error:
            found.append(
                Complaint(f"this line cannot be read: {error}", f"{source}, line {number}")
            )
            continue
        while cells and not cells[-1]:
            cells.pop()
        if cells:
            out.append((number, cells))
    if found:
        raise DocumentError(*found)
    return out
