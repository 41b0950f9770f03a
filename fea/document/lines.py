"""On which line of a TOML file each key stands.

`tomllib` tells values but not places, so the text is gone through once more, and only when
there is something to complain of.  It has been read without error by then: this walk trusts
its form and looks only for keys, brackets and strings.
"""

import re
from bisect import bisect_right
from collections.abc import Mapping

Loc = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'', re.DOTALL
)
_BARE = re.compile(r"[^\s.,\[\]{}=#\"']+")
_SCALAR = re.compile(r"[^,\]}\n#]*")


def find_lines(text: str) -> Mapping[Loc, int]:
    """Return the line number, from 1, of every table, key and array entry of a TOML text.

    Entries of an array carry their number, from 0, in the place of a key, as in the nested
    dictionaries and lists that `tomllib` makes.
    """
    return _Walk(text).lines


class _Walk:
    """A walk through a TOML text that notes where things stand."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.breaks = [m.start() for m in re.finditer("\n", text)]
        self.lines: dict[Loc, int] = {}
        self.counts: dict[Loc, int] = {}
        self.at = 0
        table: Loc = ()
        self._skip_blank()
        while self.at < len(text):
            if text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._skip_blank()

    def _skip_blank(self) -> None:
        match = _BLANK.match(self.text, self.at)
        self.at = match.end() if match else self.at

    def _take(self, sign: str) -> None:
        self._skip_blank()
        if self.text.startswith(sign, self.at):
            self.at += len(sign)

    def _note(self, loc: Loc, at: int) -> None:
        self.lines.setdefault(loc, bisect_right(self.breaks, at - 1) + 1)

    def _header(self) -> Loc:
        start = self.at
        repeated = self.text.startswith("[[", self.at)
        self.at += 2 if repeated else 1
        names = self._names()
        self.at = self.text.index("]", self.at) + (2 if repeated else 1)
        loc: Loc = ()
        for name in names[:-1]:
            loc += (name,)
            if loc in self.counts:  # a table of the last entry so far
                loc += (self.counts[loc] - 1,)
        loc += (names[-1],)
        self._note(loc, start)
        if repeated:
            self.counts[loc] = self.counts.get(loc, 0) + 1
            loc += (self.counts[loc] - 1,)
            self._note(loc, start)
        return loc

    def _names(self) -> list[str]:
        """Read a key, dotted or not, up to what ends it."""
        names: list[str] = []
        while True:
            self._skip_blank()
            quoted = _STRING.match(self.text, self.at)
            match = quoted or _BARE.match(self.text, self.at)
            if match is None:
                return names
            names.append(match.group()[1:-1] if quoted else match.group())
            self.at = match.end()
            self._skip_blank()
            if not self.text.startswith(".", self.at):
                return names
            self.at += 1

    def _pair(self, table: Loc) -> None:
        start = self.at
        loc = table
        names = self._names()
        for name in names:
            loc += (name,)
            self._note(loc, start)
        self._take("=")
        self._value(loc)
        if self.at == start:  # not TOML after all: never stand still
            self.at += 1

    def _value(self, loc: Loc) -> None:
        self._skip_blank()
        opening = self.text[self.at : self.at + 1]
        if opening == "[":
            self._entries(loc)
        elif opening == "{":
            self.at += 1
            self._skip_blank()
            while self.at < len(self.text) and self.text[self.at] != "}":
                self._pair(loc)
                self._take(",")
                self._skip_blank()
            self.at += 1
        else:
            match = _STRING.match(self.text, self.at) or _SCALAR.match(self.text, self.at)
            self.at = match.end() if match else self.at

    def _entries(self, loc: Loc) -> None:
        self.at += 1
        self._skip_blank()
        number = 0
        while self.at < len(self.text) and self.text[self.at] != "]":
            before = self.at
            self._note((*loc, number), self.at)
            self._value((*loc, number))
            self._take(",")
            self._skip_blank()
            number += 1
            if self.at == before:
                self.at += 1
        self.at += 1
