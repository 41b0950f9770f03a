"""The walk through TOML text finds the same keys that tomllib does, and their lines."""

import tomllib
from collections.abc import Iterator
from typing import Any

import pytest

from fea.document.find import shipped_cases, shipped_frames
from fea.document.lines import Loc, find_lines
from fea.document.origin import Origin

SHIPPED = [*shipped_frames().values(), *shipped_cases().values()]

TRICKY = '''# a comment with [brackets] and "quotes"
title = "a # no comment" # one
"quoted key" = 'literal ] }'
dotted.key.here = 1
text = """
[not.a.table]
x = 1 \\""" still text
"""
raw = \'\'\'
y = [
\'\'\'
numbers = [ 1, 2.5, [3,
  4], # comment, with ] comma
]
inline = { a = 1, b = { c = "x" }, d.e = 2 }

[a.b]
c = 2001-01-01T00:00:00Z
[[list]]
name = "one"
[[list.inner]]
z = 1
[[list.inner]]
z = 2
[[list]]
name = "two"
[list.table]
deep = true
[[list.inner]]
z = 3
'''


def leaves(value: Any, loc: Loc = ()) -> Iterator[Loc]:
    """Yield the place of every table, list and value in a document."""
    if loc:
        yield loc
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*loc, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from leaves(inner, (*loc, number))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_key_is_on_its_line(path: Any) -> None:
    text = path.read_text(encoding="utf-8")
    lines, rows = find_lines(text), text.split("\n")
    for loc in leaves(tomllib.loads(text)):
        # a table that only others open, [axle.front], has no line of its own
        if loc in lines and isinstance(loc[-1], str):
            assert loc[-1] in rows[lines[loc] - 1]
        else:
            assert isinstance(loc[-1], int) or loc == ("axle",) or len(loc) == 1


def test_a_tricky_text() -> None:
    lines = find_lines(TRICKY)
    rows = TRICKY.split("\n")
    places = set(leaves(tomllib.loads(TRICKY)))
    opened_by_others = {("dotted",), ("dotted", "key"), ("a",), ("inline", "d")}
    assert places - set(lines) <= opened_by_others
    assert set(lines) <= places
    assert rows[lines[("quoted key",)] - 1].startswith('"quoted key"')
    assert rows[lines[("numbers", 2, 1)] - 1].startswith("  4]")
    assert rows[lines[("a", "b", "c")] - 1].startswith("c = 2001")
    assert rows[lines[("list", 0, "inner", 1, "z")] - 1] == "z = 2"
    assert rows[lines[("list", 1, "table", "deep")] - 1] == "deep = true"
    assert rows[lines[("list", 1, "inner", 0, "z")] - 1] == "z = 3"


def test_places_carry_the_users_names() -> None:
    text = '[[rail]]\nname = "long one"\npoints = [\n  { name = "A1", station = 3 },\n]\n'
    origin = Origin("my.toml", text, tomllib.loads(text))
    loc = ("rail", 0, "points", 0, "station")
    assert origin.where(loc) == 'my.toml, line 4, rail "long one", point "A1", key "station"'
    assert origin.written(loc) == "3"
    # a key that is not there is told by its table's line
    assert origin.where(("rail", 0, "side")) == 'my.toml, line 1, rail "long one", key "side"'
