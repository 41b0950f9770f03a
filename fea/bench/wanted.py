"""What the page asks for: a variant, told in plain JSON, taken only if all of it makes sense."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fea import units
from fea.bench.controls import LOSS, PART, Controls, Slider
from fea.document.edit import Value
from fea.document.spelling import choices
from fea.errors import Complaint, DocumentError
from fea.study.variant import Variant

KEYS = ("case", "switches", "values", "mounts", "have", "joints")


@dataclass(frozen=True)
class Wanted:
    """A choice of the user; equal ones are equal and hash alike.

    Attributes
    ----------
    variant : parts and edits
    loss : metal lost all along the rails as a document would write it, "" for none
    mounts : the grade of all mounts, None for the document's own
    """

    variant: Variant
    loss: str = ""
    mounts: str | None = None


def wanted(record: Any, offered: Controls) -> Wanted:  # noqa: ANN401 - whatever a client sent
    """Return the choice that a record tells.

    Switches and values that are not told are as the document has them.  What is as the
    document has it anyhow is no edit, so that the frame is built from the document itself.

    Raises
    ------
    DocumentError
        With everything in it that is wrong.
    """
    complaints: list[Complaint] = []
    record = _table(record, "the choice", complaints)
    for name in record:
        if name not in KEYS:
            complaints.append(Complaint("the choice has no such key", found=_short(name)))
    edits: dict[str, Value] = {}
    parts = _switched(_table(record.get("switches", {}), "switches", complaints), offered)
    complaints += parts.complaints
    edits |= parts.edits
    loss = ""
    for path, text in _table(record.get("values", {}), "values", complaints).items():
        slider = offered.slider(str(path))
        if slider is None:
            complaints.append(Complaint("there is no such figure to change", found=_short(path)))
            continue
        try:
            number = figure(text, slider)
        except DocumentError as error:
            complaints += error.complaints
            continue
        if path == LOSS:
            loss = str(text) if number > 0.0 else ""
        elif number != slider.value:
            edits[slider.path] = str(text)
    mounts = record.get("mounts") or None
    if mounts is not None and mounts not in offered.grades:
        do = choices(offered.grades, _short(mounts)) or "start the bench with --body"
        complaints.append(
            Complaint("there is no such grade of mounts", found=_short(mounts), do=do)
        )
    if complaints:
        raise DocumentError(*complaints)
    return Wanted(Variant.of(sorted(parts.fitted), edits=edits), loss, mounts)


def figure(text: Any, slider: Slider) -> float:  # noqa: ANN401
    """Return a typed figure in base units.

    Raises
    ------
    DocumentError
        If it is no such quantity, or not above nothing (metal lost may be nothing).
    """
    if not isinstance(text, str):
        rule = "a figure is written as text with its unit"
        raise DocumentError(Complaint(rule, slider.label, _short(text), 'such as "3 mm"'))
    try:
        number = units.parse(text, slider.kind)
    except DocumentError as error:
        raise DocumentError(
            *(Complaint(c.rule, slider.label, _short(text), c.do) for c in error.complaints)
        ) from None
    if number < 0.0 or (number == 0.0 and slider.path != LOSS):
        rule = "must be more than nothing" if slider.path != LOSS else "must not be below nothing"
        raise DocumentError(Complaint(rule, slider.label, _short(text)))
    return number


@dataclass(frozen=True)
class _Switched:
    fitted: frozenset[str]
    edits: Mapping[str, Value]
    complaints: tuple[Complaint, ...]


def _switched(asked: Mapping[str, Any], offered: Controls) -> _Switched:
    """Return the parts that are fitted and the edits that other switches mean."""
    complaints: list[Complaint] = []
    for key, on in asked.items():
        if offered.switch(key) is None:
            complaints.append(Complaint("there is no such switch", found=_short(key)))
        elif not isinstance(on, bool):
            complaints.append(Complaint("a switch is on or off", _short(key), _short(on)))
    fitted, edits = set(), {}
    for switch in offered.switches:
        on = asked.get(switch.key, switch.on)
        if switch.sort == "part":
            if on is True:
                fitted.add(switch.key.removeprefix(PART))
        elif on != switch.on:
            edits[switch.key] = on
    return _Switched(frozenset(fitted), edits, tuple(complaints))


def _table(value: Any, name: str, complaints: list[Complaint]) -> Mapping[str, Any]:  # noqa: ANN401
    if isinstance(value, dict):
        return value
    complaints.append(Complaint(f"{name} must be a table", found=_short(value)))
    return {}


def _short(value: object) -> str:
    text = str(value)
    return text if len(text) <= 60 else text[:57] + "..."
