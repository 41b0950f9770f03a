"""What a sweep varies: a key of the document with the values it is to have, from text.

``rail.wall=2mm..5mm/6`` is seven values, six steps from the first to the last;
``rail.wall=2mm,3mm,4mm`` is these three; ``part.NAME=on,off`` fits a part or leaves it off.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from fea.document.edit import Value, value_at
from fea.document.schema import FrameDocument
from fea.document.spelling import choices
from fea.errors import Complaint, DocumentError
from fea.study.variant import Variant

STEPS = 6
"""From the first value to the last, where none are told."""

MOST_STEPS = 1000

_ONE = re.compile(
    r"\s*(?P<number>[+-]?(?:(?:\d+[ -])?\d+/\d+|\d+\.?\d*(?:[eE][+-]?\d+)?|\.\d+))\s*(?P<unit>.*)"
)
_STEPS = re.compile(r"(?P<last>.*\S)\s*/\s*(?P<steps>\d+)\s*")
_WORDS = {"true": True, "false": False}
_FITTED = {"on": True, "off": False}
_HOW = 'such as --vary "rail.wall=2mm..5mm/6", "X4.depth=80mm,100mm" or "part.NAME=on,off"'


@dataclass(frozen=True)
class Vary:
    """One key and its values.

    Attributes
    ----------
    key : the path of the key, or part.NAME
    values : what is put there
    texts : the same as they are told
    numbers : the same as figures in `unit`, None if they are not figures of one unit
    part : name of the part that is fitted or left off, None for a key
    """

    key: str
    values: tuple[Value, ...]
    texts: tuple[str, ...]
    numbers: tuple[float, ...] | None
    unit: str
    part: str | None = None


def parse(text: str, document: FrameDocument) -> Vary:
    """Return what a text asks to vary.

    Raises
    ------
    DocumentError
        If it cannot be read, or its key names nothing in the document.
    """
    key, texts = told(text)
    part = part_of(key, document)
    if part is not None:
        return Vary(key, _fitted(texts, text), texts, None, "", part)
    now = value_at(document, key)
    return Vary(key, tuple(_value(t, now) for t in texts), texts, *numbers(texts))


def told(text: str) -> tuple[str, tuple[str, ...]]:
    """Return the key that a text asks to vary and its values as they are told.

    Raises
    ------
    DocumentError
        If it cannot be read.
    """
    key, equals, what = (word.strip() for word in text.partition("="))
    if not (key and equals and what):
        raise _refuse(text, "what is varied is written KEY=FROM..TO/STEPS or KEY=VALUE,VALUE")
    texts = _range(what, text) if ".." in what else [tidy(word) for word in what.split(",")]
    if "" in texts:
        raise _refuse(text, "a value is missing between two commas")
    return key, tuple(texts)


def meant(key: str, text: str, document: FrameDocument) -> tuple[str | None, Value]:
    """Return what one value of a key means in a document.

    Returns
    -------
    part : name of the part that is fitted or left off, None for a key
    value : what is put there

    Raises
    ------
    DocumentError
        If the key names nothing in the document, or a part is neither on nor off.
    """
    part = part_of(key, document)
    if part is not None:
        return part, _fitted((text,), f"{key}={text}")[0]
    return None, _value(text, value_at(document, key))


def variants(base: Variant, fitted: Sequence[str], varied: Sequence[Vary]) -> list[Variant]:
    """Return every combination of the varied values, those of the last key changing fastest.

    Parameters
    ----------
    base : what all have in common
    fitted : names of the parts that are fitted otherwise
    """
    found = []
    for values in product(*(v.values for v in varied)):
        parts, edits = set(fitted), dict(base.edits)
        for vary, value in zip(varied, values, strict=True):
            if vary.part is None:
                edits[vary.key] = value
            elif value:
                parts.add(vary.part)
            else:
                parts.discard(vary.part)
        found.append(Variant.of(sorted(parts), dict(base.positions), edits, base.turned))
    return found


def part_of(key: str, document: FrameDocument) -> str | None:
    """Return the part that a key of two words fits or leaves off."""
    first, dot, name = key.partition(".")
    if first != "part" or not dot or "." in name:
        return None
    names = [part.name for part in document.part]
    if name not in names:
        rule = f'there is no part "{name}"'
        do = choices(names, name) or "this frame has no parts"
        raise DocumentError(Complaint(rule, "--vary", key, do))
    return name


def _range(what: str, text: str) -> list[str]:
    first, _, last = what.partition("..")
    steps = STEPS
    counted = _STEPS.fullmatch(last)
    if counted is not None:
        last, steps = counted["last"], int(counted["steps"])
    if not 1 <= steps <= MOST_STEPS:
        raise _refuse(text, f"steps must be 1 to {MOST_STEPS}")
    ends = [_ONE.fullmatch(word) for word in (first, last)]
    if ends[0] is None or ends[1] is None:
        raise _refuse(text, "a range goes from a figure to a figure")
    units = {end["unit"].strip() for end in ends if end is not None} - {""}
    if len(units) > 1:
        raise _refuse(text, "both ends of a range must have the same unit")
    low, high = (_figure(end["number"]) for end in ends if end is not None)
    unit = units.pop() if units else ""
    return [f"{value:.10g} {unit}".strip() for value in np.linspace(low, high, steps + 1).tolist()]


def tidy(word: str) -> str:
    """Return a value as a document would have it: "2mm" is "2 mm"."""
    found = _ONE.fullmatch(word)
    if found is None:
        return word.strip()
    return f"{found['number']} {found['unit'].strip()}".strip()


def _fitted(texts: Sequence[str], text: str) -> tuple[bool, ...]:
    if not set(texts) <= _FITTED.keys():
        raise _refuse(text, "a part is on or off")
    return tuple(_FITTED[t] for t in texts)


def _value(text: str, now: Value) -> Value:
    """Return a value of the sort that is in the document now."""
    if isinstance(now, bool):
        return _WORDS.get(text, text)
    found = _ONE.fullmatch(text)
    if isinstance(now, str) or found is None or found["unit"].strip():
        return text
    figure = _figure(found["number"])
    return int(figure) if isinstance(now, int) and figure == int(figure) else figure


def numbers(texts: Sequence[str]) -> tuple[tuple[float, ...] | None, str]:
    """Return values as figures and their unit, or None if they are not figures of one unit."""
    found = [_ONE.fullmatch(t) for t in texts]
    units = {"?" if f is None else f["unit"].strip() for f in found}
    if len(units) > 1 or "?" in units:
        return None, ""
    return tuple(_figure(f["number"]) for f in found if f is not None), units.pop()


def _figure(text: str) -> float:
    sign = -1.0 if text.startswith("-") else 1.0
    words = text.lstrip("+-").replace("-", " ") if "/" in text else text.lstrip("+-")
    total = 0.0
    for word in words.split(" "):
        top, slash, bottom = word.partition("/")
        if slash and float(bottom) == 0.0:
            raise _refuse(text, "a fraction must not be over zero")
        total += float(top) / float(bottom) if slash else float(top)
    return sign * total


def _refuse(text: str, rule: str) -> DocumentError:
    return DocumentError(Complaint(rule, "--vary", text, _HOW))
