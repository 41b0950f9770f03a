"""What `plumbrail new` asks, and the answers read to base units or complained of."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from fea import units
from fea.document.spelling import choices
from fea.errors import Complaint, DocumentError

Shape = Literal["channel", "box"]

INCH = 25.4
"""mm"""

END = 60.0
"""Distance of the outermost crossmembers from the rails' ends by default, mm."""

# Behind the front axle, as parts of the wheelbase: between the turns of either kind of frame.
_BETWEEN = {"ladder": (0.05, 0.4, 0.7, 0.9), "perimeter": (0.05, 0.4, 0.62, 0.9)}


@dataclass(frozen=True)
class Answers:
    """The answers; lengths in mm, `gauge` as it was written (mm, inches or a gauge number)."""

    title: str
    kind: str
    units: str
    wheelbase: float
    length: float
    front: float
    width: float
    shape: Shape
    depth: float
    flange: float
    gauge: str
    wall: float
    crossmembers: tuple[float, ...]


@dataclass(frozen=True)
class Question:
    """One question: its key, its words, and the default given the answers before it."""

    key: str
    words: str
    default: Callable[[Mapping[str, str]], str]


def _either(metric: str, inches: str) -> Callable[[Mapping[str, str]], str]:
    return lambda given: inches if given.get("units") == "in" else metric


def _stations(given: Mapping[str, str]) -> str:
    """Return crossmembers near the rails' ends and between the axles, in round figures."""
    unit = given.get("units", "mm")
    try:
        wheelbase, length, front = (
            length_of(given[key], unit) for key in ("wheelbase", "length", "front")
        )
    except (KeyError, DocumentError):
        return ""
    parts = _BETWEEN.get(given.get("kind", ""), _BETWEEN["ladder"])
    found = (END - front, *(part * wheelbase for part in parts), length - front - END)
    step = 10.0 if unit == "mm" else 0.5 * INCH
    return ", ".join(bare(round(x / step) * step, unit) for x in found)


QUESTIONS: tuple[Question, ...] = (
    Question("title", "What the vehicle is called", lambda _: "My frame"),
    Question("units", "Units of bare numbers, mm or in", lambda _: "mm"),
    Question("kind", "Kind of frame, ladder or perimeter", lambda _: "ladder"),
    Question("wheelbase", "Wheelbase", _either("2900", "114")),
    Question("length", "Length of the rails, end to end", _either("4400", "173")),
    Question("front", "From the rails' front end to the front axle", _either("650", "25.5")),
    Question("width", "Width over the rails where they stand widest", _either("860", "34")),
    Question(
        "section",
        "Rail section, channel or box, depth x width outside",
        _either("channel 150 x 60", "channel 6 x 2.5"),
    ),
    Question("gauge", "Gauge of the rails, such as 4 mm, 3/16 in or 8 ga", _either("4 mm", "8 ga")),
    Question(
        "crossmembers",
        "Stations of the crossmembers, behind the front axle positive, commas between",
        _stations,
    ),
)
"""In the order they are asked: defaults may lean on the answers before."""


def bare(value: float, unit: str) -> str:
    """Return a length in mm as a number in mm or inches: to 0.1 mm or 0.01 in."""
    number = f"{value:.1f}" if unit == "mm" else f"{value / INCH:.2f}"
    number = number.rstrip("0").rstrip(".")
    return "0" if number == "-0" else number


def length_of(text: str, unit: str, kind: str = "length") -> float:
    """Return a length in mm; a number without a unit is in mm or in inches, as `unit` says."""
    if re.search(r"[A-Za-z\"']", text) is None:
        text = f"{text.strip()} {unit}"
    return units.parse(text, kind)


def completed(given: Mapping[str, str]) -> dict[str, str]:
    """Return the answers with defaults where none is given.

    Raises
    ------
    DocumentError
        If an answer is to no question.
    """
    keys = [q.key for q in QUESTIONS]
    unknown = [key for key in given if key not in keys]
    if unknown:
        raise DocumentError(
            *(Complaint("no such question", "--answer", k, choices(keys, k)) for k in unknown)
        )
    found: dict[str, str] = {}
    for question in QUESTIONS:
        found[question.key] = given.get(question.key) or question.default({**given, **found})
    return found


def read_answers(given: Mapping[str, str]) -> Answers:
    """Return the answers read.

    Raises
    ------
    DocumentError
        With every answer that will not do.
    """
    reading = _Reading(completed(given))
    unit = reading.one_of("units", ("mm", "in"))
    kind = reading.one_of("kind", ("ladder", "perimeter"))
    wheelbase = reading.length("wheelbase", unit, 500.0, 8000.0)
    length = reading.length("length", unit, 700.0, 14000.0)
    front = reading.length("front", unit, 0.0, 3000.0)
    width = reading.length("width", unit, 300.0, 2500.0)
    shape, depth, flange = reading.section(unit)
    wall = reading.length("gauge", unit, 0.5, 25.0, "thickness")
    stations = reading.stations(unit)
    gauge = reading.given["gauge"]
    if re.search(r"[A-Za-z]", gauge) is None:
        gauge = f"{gauge.strip()} {unit}"
    if not reading.complaints:
        reading.together(wheelbase, length, front, stations)
        if wall >= 0.25 * min(depth, flange):
            reading.complain("gauge", "must be thinner than a quarter of the section's sides")
        if width < 4.0 * flange:
            reading.complain("width", "must leave room between the rails")
    if reading.complaints:
        raise DocumentError(*reading.complaints)
    title = " ".join(reading.given["title"].split())
    return Answers(
        title, kind, unit, wheelbase, length, front, width, shape, depth, flange, gauge, wall,
        stations,
    )  # fmt: skip


class _Reading:
    """Answers being read, with what is wrong with them so far."""

    def __init__(self, given: Mapping[str, str]) -> None:
        self.given = given
        self.complaints: list[Complaint] = []

    def complain(self, key: str, rule: str, do: str = "") -> None:
        where = f"the answer to {key}"
        self.complaints.append(Complaint(rule, where, self.given[key], do))

    def one_of(self, key: str, known: tuple[str, ...]) -> str:
        word = self.given[key].strip().lower()
        if word in known:
            return word
        self.complain(key, "must be one of a few words", " or ".join(known))
        return known[0]

    def length(self, key: str, unit: str, least: float, most: float, kind: str = "length") -> float:
        try:
            value = length_of(self.given[key], unit, kind)
        except DocumentError as error:
            self.complain(key, error.complaints[0].rule, error.complaints[0].do)
            return least
        if not least <= value <= most:
            low, high = (f"{bare(limit, unit)} {unit}" for limit in (least, most))
            self.complain(key, f"must be from {low} to {high}", "check figure and unit")
        return value

    def section(self, unit: str) -> tuple[Shape, float, float]:
        do = '"channel 150 x 60" or "box 100 x 50": outer depth and width'
        match = re.fullmatch(r"(channel|box)\s+(.+?)\s*x\s*(.+)", self.given["section"].strip())
        if match is None:
            self.complain("section", "must be a shape, a depth and a width", do)
            return "channel", 100.0, 50.0
        try:
            depth, width = (length_of(text, unit) for text in match.groups()[1:])
        except DocumentError as error:
            self.complain("section", error.complaints[0].rule, do)
            return "channel", 100.0, 50.0
        if not (30.0 <= depth <= 400.0 and 20.0 <= width <= 200.0):
            self.complain("section", "must be 30 to 400 mm deep and 20 to 200 mm wide", do)
        return ("channel" if match[1] == "channel" else "box"), depth, width

    def stations(self, unit: str) -> tuple[float, ...]:
        if not self.given["crossmembers"]:  # no default without a wheelbase: told of already
            return ()
        found = []
        for text in self.given["crossmembers"].split(","):
            try:
                found.append(length_of(text, unit))
            except DocumentError as error:
                self.complain("crossmembers", error.complaints[0].rule, "such as -590, 145, 1160")
                return ()
        return tuple(found)

    def together(
        self, wheelbase: float, length: float, front: float, stations: tuple[float, ...]
    ) -> None:
        """Complain of answers that each could be right, but not all of them."""
        if length < front + wheelbase:
            self.complain("length", "the rails must reach from the front end to the rear axle")
            return
        room, near = END / 2.0, 2.0 * END
        if len(stations) < 2:
            self.complain("crossmembers", "two crossmembers are the least that make a frame")
        if any(b - a < near for a, b in pairwise(stations)):
            rule = f"stations must rise by {near:g} mm or more from one to the next"
            self.complain("crossmembers", rule, "list them from front to rear, each once")
        if any(not room - front <= x <= length - front - room for x in stations):
            self.complain(
                "crossmembers",
                f"crossmembers must stand {room:g} mm or more inside the rails' ends",
                f"the rails go from {-front:g} mm to {length - front:g} mm",
            )
