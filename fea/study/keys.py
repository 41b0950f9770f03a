"""The measured figures of a frame document, by path: gauges, sizes, plates, stiffnesses."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from fea import units
from fea.document.edit import value_at
from fea.document.schema import FrameDocument
from fea.errors import Complaint, DocumentError

Sort = Literal["gauge", "size", "plate", "mount", "joint"]

_SIZES = frozenset({"depth", "width", "flange", "lip", "diameter", "top", "bottom", "radius"})
_GAUGES = frozenset({"wall", "left", "loss", "bracket_wall"})
_MOUNTS = frozenset({"vertical", "lateral", "longitudinal", "bracket"})
_BODIES = frozenset({"body"})


@dataclass(frozen=True)
class NumericKey:
    """One figure of a document that can be varied.

    Attributes
    ----------
    sort : what it is to a builder
    kind : the kind of quantity, a key of :data:`fea.units.KINDS`
    value : in base units; the mean where the document gives a tolerance
    """

    path: str
    sort: Sort
    kind: str
    value: float

    def text(self, value: float) -> str:
        """Return another value of it, in base units, as a document would write it."""
        return as_text(value, self.kind)


def as_text(value: float, kind: str) -> str:
    """Return a value in base units as a document would write it, all digits kept."""
    unit = units.KINDS[kind].si
    return f"{float(units.convert(value, kind, unit))!r} {unit}"


def numeric_keys(document: FrameDocument, *, bodies: bool = False) -> list[NumericKey]:
    """Return every wall, size, plate, mount and joint stiffness of a document.

    What is rigid, free or left out has no figure to vary.  The figures of bodies are
    counted only if asked for.
    """
    found = []
    for words, value in leaves(document.origin.data):
        if words[0] in _BODIES and not bodies:
            continue
        sort = _sort(words)
        read = None if sort is None else _read(value, sort)
        if sort is not None and read is not None:
            found.append(NumericKey(".".join(words), sort, *read))
    return found


def key_at(document: FrameDocument, path: str) -> NumericKey:
    """Return the figure under a path, which may name all sections along a member.

    Raises
    ------
    DocumentError
        If the path names nothing, or what cannot be varied.
    """
    value = value_at(document, path)
    words = path.strip().split(".")
    sort = _sort(words) or _sort(["section", *words])
    read = None if sort is None else _read(value, sort)
    if sort is None or read is None:
        raise DocumentError(
            Complaint(
                "must be a wall, a size, a plate or a stiffness with a figure",
                f'path "{path}"',
                str(value),
                'such as "rail.wall" or "mount.M2.vertical"',
            )
        )
    return NumericKey(path, sort, *read)


def leaves(data: Any, words: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:  # noqa: ANN401 - what tomllib makes
    """Return every single value of a document with the words of its path."""
    if isinstance(data, Mapping):
        for name, inner in data.items():
            yield from leaves(inner, (*words, str(name)))
    elif isinstance(data, list):
        names = [item.get("name") if isinstance(item, Mapping) else None for item in data]
        for number, (item, name) in enumerate(zip(data, names, strict=True), start=1):
            once = isinstance(name, str) and names.count(name) == 1 and "." not in name
            yield from leaves(item, (*words, str(name) if once else str(number)))
    else:
        yield words, data


def _sort(words: "tuple[str, ...] | list[str]") -> Sort | None:
    """Return what a figure is, told by its key and the tables around it."""
    key, tables = words[-1], words[:-1]
    sort: Sort | None = None
    if key == "plate":
        sort = "plate"
    elif key in _GAUGES or (tables and tables[-1] == "wall"):
        sort = "gauge"
    elif "joint_stiffness" in tables:
        sort = "joint"
    elif "mount" in tables and key in _MOUNTS:
        sort = "mount"
    elif tables and tables[0] == "section" and key in _SIZES:
        sort = "size"
    return sort


def _read(value: Any, sort: Sort) -> tuple[str, float] | None:  # noqa: ANN401
    """Return the kind and the value of a text, None if it holds no such figure."""
    kinds = {
        "gauge": ("thickness", "share"),
        "plate": ("thickness",),
        "size": ("length",),
        "mount": ("stiffness",),
        "joint": ("stiffness", "rotational_stiffness"),
    }
    for kind in kinds[sort]:
        try:
            number = units.parse_spread(value, kind)[0] if isinstance(value, str) else 0.0
        except DocumentError:
            continue
        if number > 0.0:
            return kind, number
    return None
