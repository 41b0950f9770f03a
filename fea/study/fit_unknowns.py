"""What a fit may look for: loss of walls, softness of bolted joints, give of stands, zero errors.

Each unknown is one number for the solver: millimetres lost, the natural logarithm of a
factor, millimetres of give per newton, millimetres of zero error.  Its bounds are what can
be in metal.
"""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
from numpy.typing import NDArray

from fea import units
from fea.document.edit import Value, value_at
from fea.document.schema import FrameDocument
from fea.document.spelling import choices
from fea.document.wear_added import with_wear
from fea.errors import Complaint, DocumentError, ModelError
from fea.frame.model import Frame
from fea.study.fit_readings import Readings
from fea.study.fit_wear import LEAST_LOSS, MOST_LOSS, ranges_left, thinnest, told_loss
from fea.study.tolerances import spread_in

if TYPE_CHECKING:
    from fea.document.schema_walls import WearEntry

Array = NDArray[np.float64]
Kind = Literal["loss", "factor", "give", "zero"]

DEFAULT = ("wear", "joints", "stands")
"""Unknowns where none is asked for."""

MOST_GIVE = 1e-3
"""mm/N, of a stand: 1 kN/mm is a stack of soft wood."""

FACTORS = {"wall": (0.3, 1.15), "plate": (0.3, 1.15), "E": (0.8, 1.2), "joints": (0.02, 50.0)}
"""Bounds of factors by the last word of their path; anything else may be a tenth to ten."""

_FIGURE = re.compile(
    r"(?P<number>\d*\.?\d+(?:[eE][+-]?\d+)?)(?:/(?P<under>[1-9]\d*))?(?P<unit>\s*[^\d\s/].*)"
)


@dataclass(frozen=True)
class Unknown:
    """One unknown.

    Attributes
    ----------
    name : as it is asked for; words : as it is spoken of
    start, lower, upper : in the solver's own number; scale : a usual change of it
    keys : per place in the document (path, unit, figure there); a unit of "" is a plain number;
        of a loss the figure is the thinnest wall, mm
    fixed : further edits that go with it
    supports : which of "right", "left" (the stands) and "pivot" give
    gauges : numbers of the gauges that are off
    written : the number that leaves the document as it is, if that is not the least
    ranged : whether the bounds are a range that the document tells
    """

    name: str
    words: str
    kind: Kind
    start: float
    lower: float
    upper: float
    scale: float
    keys: tuple[tuple[str, str, float], ...] = ()
    fixed: tuple[tuple[str, Value], ...] = ()
    supports: tuple[str, ...] = ()
    gauges: tuple[int, ...] = ()
    written: float | None = None
    ranged: bool = False

    @property
    def structural(self) -> bool:
        """Whether it is in the frame's document."""
        return bool(self.keys)

    @property
    def as_written(self) -> float:
        """What leaves the document as it is, or all but so."""
        if self.written is not None:
            return self.written
        return self.lower if self.kind == "loss" else 0.0

    def edits(self, x: float) -> dict[str, Value]:
        """Return what it makes of the document."""
        out: dict[str, Value] = dict(self.fixed)
        for path, unit, base in self.keys:
            out[path] = _written(self._figure(path, unit, x, base), unit)
        return out

    def _figure(self, path: str, unit: str, x: float, base: float) -> float:
        if self.kind == "loss":
            if unit == "%":
                return 100.0 * x / base
            return base - x if path.endswith(".left") else x
        return base * math.exp(x)

    def value(self, x: float) -> float:
        """Return it as it is told: mm lost, the factor itself, mm/N, mm."""
        return math.exp(x) if self.kind == "factor" else x

    def show(self, x: float) -> str:
        """Return it in words, with its unit."""
        if self.kind == "factor":
            return f"{math.exp(x):.3g} times"
        if self.kind == "give":
            return f"{1000.0 * x:.3g} mm/kN"
        return f"{x:+.3f} mm" if self.kind == "zero" else f"{x:.3f} mm"


def _written(figure: float, unit: str) -> Value:
    return f"{figure:.12g} {unit}" if unit else float(figure)


@dataclass(frozen=True, eq=False)
class Asked:
    """The unknowns of a fit, and the document that has a place for each.

    `original` is the document as it was; `worn` are rails that wear was added to, at the
    document's end; `notes` what was left out.
    """

    document: FrameDocument
    original: FrameDocument
    unknowns: tuple[Unknown, ...]
    worn: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def edits(self, x: Sequence[float]) -> dict[str, Value]:
        """Return the edits that unknowns make of the document."""
        out: dict[str, Value] = {}
        for unknown, value in zip(self.unknowns, x, strict=True):
            out |= unknown.edits(float(value))
        return out


def ask(
    document: FrameDocument, frame: Frame, readings: Readings, names: Sequence[str] = ()
) -> Asked:
    """Return the unknowns called by name; those of `DEFAULT` that the frame has if none is.

    Parameters
    ----------
    frame : as the document's figures have it, with the parts fitted for the test
    names : "wear", "stretches", "joints", "stands", "stand right", "stand left", "pivot",
        "zero", "zero GAUGE", or a path of :mod:`fea.document.edit`

    Raises
    ------
    DocumentError, ModelError
        If a name means nothing here, or two mean the same.
    """
    maker = _Maker(document, frame, readings)
    for name in names or DEFAULT:
        maker.add(name.strip(), asked=bool(names))
    return maker.finish()


class _Maker:
    """Gathers unknowns by name."""

    def __init__(self, document: FrameDocument, frame: Frame, readings: Readings) -> None:
        self.document, self.original = document, document
        self.frame, self.readings = frame, readings
        self.found: list[Unknown] = []
        self.worn: tuple[str, ...] = ()
        self.notes: list[str] = []

    def add(self, name: str, *, asked: bool) -> None:
        word, _, rest = name.partition(" ")
        if name == "wear":
            self._wear()
        elif name == "stretches":
            self._stretches()
        elif name == "joints":
            self._joints(asked=asked)
        elif name in ("stands", "pivot") or word == "stand":
            self._support(name)
        elif word == "zero":
            self._zero(rest)
        else:
            self._path(name)

    def finish(self) -> Asked:
        paths: set[tuple[str, ...]] = set()
        for unknown in self.found:
            places = [*(p for p, _, _ in unknown.keys), *unknown.supports]
            places += [f"gauge {g}" for g in unknown.gauges]
            for place in places:
                if (place,) in paths:
                    rule = "an unknown must be asked for once"
                    raise DocumentError(Complaint(rule, "--unknown", unknown.name))
                paths.add((place,))
        self.notes += ranges_left(self.original, {p for u in self.found for p, _, _ in u.keys})
        return Asked(self.document, self.original, tuple(self.found), self.worn, tuple(self.notes))

    def _wear(self) -> None:
        told = [w for w in self.document.wear if w.applied and w.rail is not None]
        if told:
            raise ModelError(
                Complaint(
                    "one loss for all rails cannot be looked for where wear is told already",
                    self.document.origin.where(("wear", self.document.wear.index(told[0]))),
                    do='ask for --unknown stretches, or put "applied = false" there',
                )
            )
        rails = tuple(rail.name for rail in self.document.rail)
        wall = min(thinnest(m) for m in self.frame.members if m.kind == "rail")
        first = len(self.document.wear) + 1
        self.document = with_wear(self.document, rails, f"{LEAST_LOSS} mm")
        self.worn = rails
        keys = tuple((f"wear.{first + k}.loss", "mm", 0.0) for k in range(len(rails)))
        self.found.append(_loss("wear", "wall loss of the rails", wall, keys))

    def _stretches(self) -> None:
        tables = list(enumerate(self.document.wear, start=1))
        if not tables:
            rule = "this document has no [[wear]] to divide the rails"
            do = "ask for --unknown wear, or add tables of wear with applied = false"
            raise ModelError(Complaint(rule, self.document.origin.where(), do=do))
        for number, entry in tables:
            one = self._stretch(number, entry)
            if one is not None:
                self.found.append(one)

    def _stretch(self, number: int, entry: "WearEntry") -> Unknown | None:
        """Return the loss that one table of wear tells; None if what it is of is not fitted."""
        wall = min(
            (
                thinnest(m, entry.start, entry.end, entry.walls)
                for m in self.frame.members
                if _means(m.name, entry.rail or entry.member or "")
            ),
            default=math.inf,
        )
        if not math.isfinite(wall):
            return None
        key = "loss" if entry.loss is not None else "left"
        unit = "%" if entry.loss is not None and entry.loss.kind == "share" else "mm"
        path = f"wear.{number}"
        name = entry.about or entry.rail or entry.member or ""
        words = f"wall loss, {name}" if name else f"wall loss of wear {number}"
        one = _loss(path, words, wall, ((f"{path}.{key}", unit, wall),))
        middle, half = told_loss(entry, wall)
        if half > 0.0:  # what is told beforehand bounds it
            low, high = max(middle - half, LEAST_LOSS), middle + half
            one = replace(one, start=middle, lower=low, upper=high, scale=half, ranged=True)
        if entry.applied:
            return replace(one, written=middle)
        return replace(one, fixed=((f"{path}.applied", True),))

    def _joints(self, *, asked: bool) -> None:
        keys: list[tuple[str, str, float]] = []
        standing = {j.member for j in self.frame.joints if j.kind == "bolted"}
        by_bolts = {
            j.member for j in self.frame.joints if j.kind == "bolted" and j.stiffness is None
        }
        for path, entry in _bolted(self.document.origin.data):
            if str(entry["name"]) in standing:
                for key, text in entry["joint_stiffness"].items():
                    figure = _quantity(text)
                    if figure is not None and figure[0] > 0.0:
                        keys.append((f"{path}.joint_stiffness.{key}", figure[1], figure[0]))
        for name in sorted(by_bolts):
            self.notes.append(
                f"{name} is held as its bolts have it: give joint_stiffness to have it fitted"
            )
        if keys:
            words = "stiffness of the bolted joints"
            self.found.append(_factor("joints", words, "joints", tuple(keys), math.log(2.0)))
        elif asked:
            do = "leave it out, or give a bolted crossmember joint_stiffness with figures"
            raise ModelError(
                Complaint("there is no bolted joint whose stiffness is told", "--unknown", do=do)
            )
        else:
            self.notes.append("No bolted joint has a stiffness of its own: none was fitted.")

    def _support(self, name: str) -> None:
        stands = {"stand right": ("right",), "stand left": ("left",), "stands": ("right", "left")}
        if name != "pivot" and name not in stands:
            do = "stands, stand right, stand left or pivot"
            raise DocumentError(Complaint("unknown support", "--unknown", name, do))
        rows = ("pivot",) if name == "pivot" else stands[name]
        words = {"stands": "give of the stands", "pivot": "give of the pivot"}.get(
            name, f"give of the {name.partition(' ')[2]} stand"
        )
        self.found.append(Unknown(name, words, "give", 2e-5, 0.0, MOST_GIVE, 5e-5, supports=rows))

    def _zero(self, name: str) -> None:
        names = [g.name for g in self.readings.gauges]
        if name and name not in names:
            raise DocumentError(
                Complaint(
                    "there is no such gauge", "--unknown", f"zero {name}", choices(names, name)
                )
            )
        for number, one in enumerate(names):
            if not name or one == name:
                words = f"zero error of gauge {one}"
                self.found.append(
                    Unknown(f"zero {one}", words, "zero", 0.0, -2.0, 2.0, 0.05, gauges=(number,))
                )

    def _path(self, path: str) -> None:
        try:
            text = value_at(self.document, path)
        except DocumentError as error:
            own = ", ".join(("wear", "stretches", "joints", "stands", "pivot", "zero"))
            raise DocumentError(
                *(
                    Complaint(c.rule, c.where, c.found, f"{c.do}; or {own}")
                    for c in error.complaints
                )
            ) from None
        words = path.split(".")
        if words[0] == "wear" and words[-1] in ("loss", "left"):
            number = int(words[1])
            one = self._stretch(number, self.document.wear[number - 1])
            if one is not None:
                self.found.append(one)
                return
        figure = _quantity(text)
        if figure is None or figure[0] <= 0.0:
            rule = "what is looked for must be a figure above zero"
            raise DocumentError(Complaint(rule, f'--unknown "{path}"', str(text)))
        word = words[-1]
        scale = 0.1 if word in FACTORS else math.log(2.0)
        self.found.append(_factor(path, path, word, ((path, figure[1], figure[0]),), scale))


def _loss(name: str, words: str, wall: float, keys: tuple[tuple[str, str, float], ...]) -> Unknown:
    return Unknown(name, words, "loss", 0.05 * wall, LEAST_LOSS, MOST_LOSS * wall, 0.3, keys)


def _factor(
    name: str, words: str, word: str, keys: tuple[tuple[str, str, float], ...], scale: float
) -> Unknown:
    low, high = FACTORS.get(word, (0.1, 10.0))
    return Unknown(name, words, "factor", 0.0, math.log(low), math.log(high), scale, keys)


def _means(member: str, name: str) -> bool:
    """Whether a name of the document means a member, or the pair that it is one of."""
    return member == name or member in (f"{name} right", f"{name} left")


def _quantity(text: Value) -> tuple[float, str] | None:
    """Return figure and unit of what a document says; None if it is not one."""
    if isinstance(text, bool):
        return None
    if isinstance(text, int | float):
        return float(text), ""
    told = spread_in(str(text))
    if told is not None and told[2] > 0.0:  # its middle, without its tolerance
        unit = units.KINDS[told[0]].si
        return float(units.convert(told[1], told[0], unit)), unit
    match = _FIGURE.fullmatch(str(text).strip())
    if match is None:
        return None
    figure = float(match["number"]) / float(match["under"] or 1.0)
    return figure, match["unit"].strip()


def _bolted(data: Mapping[str, Any]) -> list[tuple[str, Mapping[str, Any]]]:
    """Return path and table of every crossmember and brace that gives joint_stiffness."""
    tables = [("", data)]
    tables += [(f"part.{p['name']}.", p) for p in data.get("part", ()) if "name" in p]
    return [
        (f"{prefix}{kind}.{m['name']}", m)
        for prefix, table in tables
        for kind in ("crossmember", "brace")
        for m in table.get(kind, ())
        if isinstance(m.get("joint_stiffness"), Mapping)
    ]
