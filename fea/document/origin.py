"""Where in a file something stands, told by the user's own names."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from pydantic import PrivateAttr

from fea.document.entry import Entry
from fea.document.lines import Loc, find_lines

# What one entry of a list is called, where it is not the list's own name.
_ONE = {"points": "point", "seats": "seat", "walls": "wall", "path": "corner"}
# Tables that hold tables by name.
_BY_NAME = frozenset({"material", "section", "point", "axle"})


@dataclass(frozen=True)
class Origin:
    """A file's name, its text and what the text holds."""

    file: str
    text: str
    data: Mapping[str, Any]

    @cached_property
    def _lines(self) -> Mapping[Loc, int]:
        return find_lines(self.text)

    def line(self, loc: Loc) -> int | None:
        """Return the line of a key, or of the nearest table around it that has one."""
        for end in range(len(loc), 0, -1):
            if loc[:end] in self._lines:
                return self._lines[loc[:end]]
        return None

    def written(self, loc: Loc) -> str:
        """Return what the user wrote at `loc`, nothing if it is not a single value."""
        value: Any = self.data
        for token in loc:
            value = _inside(value, token)
        if isinstance(value, str):
            return f'"{value}"'
        return f"{value:g}" if isinstance(value, int | float) else ""

    def where(self, loc: Loc = ()) -> str:
        """Return file, line, table and key of what stands at `loc`, in the user's names."""
        line = self.line(loc) if self.text else None
        place = [self.file] if self.file else []
        if line is not None:
            place.append(f"line {line}")
        return ", ".join(place + name_place(self.data, loc))


def name_place(data: Any, loc: Loc) -> list[str]:  # noqa: ANN401 - what tomllib makes
    """Return the tables and the key on the way to `loc`, outermost first."""
    words: list[str] = []
    k = 0
    while k < len(loc):
        token, rest = loc[k], loc[k + 1 :]
        inner = _inside(data, token)
        if isinstance(inner, Sequence) and not isinstance(inner, str) and rest:
            entry = _inside(inner, rest[0])
            words += _name_entry(str(token), entry, int(rest[0]))
            data, k = entry, k + 2
        elif token in _BY_NAME and isinstance(inner, Mapping) and rest:
            words.append(f'{token} "{rest[0]}"')
            data, k = _inside(inner, rest[0]), k + 2
        else:
            words.append(str(token) if rest or isinstance(inner, Mapping) else f'key "{token}"')
            data, k = inner, k + 1
    return words


def _name_entry(token: str, entry: Any, number: int) -> list[str]:  # noqa: ANN401
    if not isinstance(entry, Mapping):
        return [f'key "{token}"', f"entry {number + 1}"]
    word = _ONE.get(token, token)
    name = entry.get("name")
    if not isinstance(name, str):
        return [f"{word} {number + 1}"]
    return [f'{word} "{name}"']


def _inside(data: Any, token: str | int) -> Any:  # noqa: ANN401 - what tomllib makes
    try:
        return data[token]
    except (KeyError, IndexError, TypeError):
        return None


class Sourced(Entry):
    """A whole document, which remembers where it was read."""

    _origin: Origin | None = PrivateAttr(default=None)

    def set_origin(self, origin: Origin) -> None:
        """Keep where the document was read; for the reader alone."""
        self._origin = origin

    @property
    def origin(self) -> Origin:
        """Where the document was read; without a file if it was made in Python."""
        return self._origin or Origin("", "", self.model_dump(by_alias=True))
