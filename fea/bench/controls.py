"""What of a frame document the bench can change: its switches and its sliders."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from fea import units
from fea.document.schema import FrameDocument
from fea.errors import DocumentError
from fea.frame.model import Frame
from fea.frame.mounts import GRADES
from fea.study.keys import leaves, numeric_keys

Sort = Literal["part", "wear", "tie"]
Group = Literal["walls", "plates", "wear", "ties"]

LOSS = "loss"
"""The key of the slider for metal lost all along the rails; it is no path of the document."""

PART = "part:"
"""What the key of a part's switch begins with."""

MOST_LOSS = 1.5
"""Where the slider of metal lost ends, mm: beyond, a rail is past repair."""

STEP = 0.1
"""Step of the sliders of thickness, mm."""


@dataclass(frozen=True)
class Switch:
    """Something that is there or not; `key` is a part's name after "part:", else a path."""

    key: str
    sort: Sort
    label: str
    about: str
    on: bool


@dataclass(frozen=True)
class Slider:
    """A figure to change, in base units.

    Attributes
    ----------
    path : where it stands in the document, or :data:`LOSS`
    kind, unit : a key of :data:`fea.units.KINDS`, and the unit that a number is shown in
    value : as the document has it
    low, high, step : what the slider reaches; a typed figure may lie outside
    by_factor : whether equal ways along the slider are equal factors
    needs : key of the switch without which it changes nothing, "" for none
    """

    path: str
    group: Group
    label: str
    kind: str
    unit: str
    value: float
    low: float
    high: float
    step: float
    by_factor: bool = False
    needs: str = ""


@dataclass(frozen=True)
class Controls:
    """All that can be changed; `grades` of mounts is empty where no body stands on the frame."""

    switches: tuple[Switch, ...]
    sliders: tuple[Slider, ...]
    grades: tuple[str, ...]

    def switch(self, key: str) -> Switch | None:
        """Return the switch of that key, or None."""
        return next((s for s in self.switches if s.key == key), None)

    def slider(self, path: str) -> Slider | None:
        """Return the slider of that path, or None."""
        return next((s for s in self.sliders if s.path == path), None)


def controls(document: FrameDocument, frame: Frame) -> Controls:
    """Return what can be changed of a document.

    Parameters
    ----------
    frame : the frame as the bench starts with it: its parts, and its bodies if any
    """
    return Controls(
        switches=tuple(_switches(document, frame)),
        sliders=(*_gauges(document), _loss(), *(_ties(document) if frame.bodies else ())),
        grades=tuple(GRADES) if frame.bodies and frame.mounts else (),
    )


def _switches(document: FrameDocument, frame: Frame) -> Iterator[Switch]:
    for part in frame.parts:
        label = part.name.replace("_", " ")
        yield Switch(f"{PART}{part.name}", "part", label, part.about, part.fitted)
    for number, wear in enumerate(document.wear, start=1):
        if "applied" in document.origin.data["wear"][number - 1]:
            label = wear.about or f"wear {number}"
            yield Switch(f"wear.{number}.applied", "wear", label, "", wear.applied)
    for path, about, on in _tie_switches(document) if frame.bodies else ():
        yield Switch(path, "tie", path.split(".")[1], about, on)


def _tie_switches(document: FrameDocument) -> Iterator[tuple[str, str, bool]]:
    """Yield the ties that say whether they are fitted: a key left out cannot be edited."""
    for words, value in leaves(document.origin.data.get("tie", []), ("tie",)):
        if len(words) == 3 and words[2] == "fitted":
            about = next((t.about for t in document.tie if t.name == words[1]), "")
            yield ".".join(words), about, bool(value)


def _gauges(document: FrameDocument) -> Iterator[Slider]:
    """Yield walls of the frame's sections, plates and what wear has left."""
    users = _users(document)
    for key in numeric_keys(document):
        words = key.path.split(".")
        # The page's knobs are of figures in base units: a loss in per cent has none.
        if key.sort not in ("gauge", "plate") or words[0] == "tie" or key.kind == "share":
            continue
        group: Group = "walls"
        label, needs = " ".join(words), ""
        if words[0] == "section":
            if words[1] not in users:
                continue
            label = f"{words[1]} {' '.join(words[2:])} ({', '.join(users[words[1]])})"
        elif words[0] == "wear":
            group, needs = "wear", f"wear.{words[1]}.applied"
            label = f"wear {words[1]}, {words[2]}"
        elif words[0] == "part":
            group, needs = "plates", f"{PART}{words[1]}"
            number = "" if words[3] == "1" else f" {words[3]}"
            label = f"{words[1].replace('_', ' ')}{number} {words[-1]}"
        elif key.sort == "plate":
            group = "plates"
        low, high = max(0.5, round(0.4 * key.value, 1)), round(2.0 * key.value, 1)
        yield Slider(
            key.path, group, label, "thickness", "mm", key.value, low, high, STEP, needs=needs
        )


def _users(document: FrameDocument) -> dict[str, list[str]]:
    """Return which members are made of each section; bodies do not count."""
    made_of = [(rail.name, point.section) for rail in document.rail for point in rail.points]
    made_of += [(m.name, m.section) for m in (*document.crossmember, *document.brace)]
    for part in document.part:
        made_of += [(m.name, m.section) for m in (*part.crossmember, *part.brace)]
    found: dict[str, list[str]] = {}
    for member, section in dict.fromkeys(made_of):
        if section is not None:
            found.setdefault(section, []).append(member)
    return found


def _loss() -> Slider:
    label = "metal lost all along the rails"
    return Slider(LOSS, "wear", label, "thickness", "mm", 0.0, 0.0, MOST_LOSS, 0.05)


def _ties(document: FrameDocument) -> Iterator[Slider]:
    """Yield the walls and stiffnesses of the document's ties."""
    switched = {path for path, _, _ in _tie_switches(document)}
    for words, value in leaves(document.origin.data.get("tie", []), ("tie",)):
        kind = "thickness" if words[-1] == "wall" else "stiffness"
        if not isinstance(value, str) or not ({"wall", "stiffness", "ends_stiffness"} & {*words}):
            continue
        try:
            number = units.parse(value, kind)
        except DocumentError:  # words such as "rigid": no figure to slide
            continue
        needs = f"tie.{words[1]}.fitted"
        needs = needs if needs in switched else ""
        label = " ".join(words[1:]).replace("_", " ")
        ends = (0.4, 2.0) if kind == "thickness" else (0.1, 10.0)
        yield Slider(
            path=".".join(words),
            group="ties",
            label=label,
            kind=kind,
            unit=units.KINDS[kind].si,
            value=number,
            low=ends[0] * number,
            high=ends[1] * number,
            step=STEP if kind == "thickness" else 0.0,
            by_factor=kind == "stiffness",
            needs=needs,
        )
