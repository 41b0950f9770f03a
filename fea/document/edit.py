"""Other figures in a document: keys named by a path, set anew, and read again.

A path names tables as the user does: ``section.C150x60.wall``, ``mount.M2.vertical``,
``part.boxing_cab.boxing.1.plate`` (the first of several nameless tables), and, short for
all sections along a member, ``rail.wall`` or ``X4.depth`` by the member's name.
"""

import copy
from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError

from fea.document.complain import complain
from fea.document.origin import Origin
from fea.document.schema import FrameDocument
from fea.document.spelling import choices
from fea.errors import Complaint, DocumentError

Loc = tuple[str | int, ...]
Value = str | float | bool
Tree = Any
"""What tomllib makes of a file, and any part of it."""


def locate(data: Mapping[str, Any], path: str) -> list[Loc]:
    """Return the places of the keys that a path names, one or more.

    Raises
    ------
    DocumentError
        If a word of the path names nothing; with what would.
    """
    words = [w for w in path.strip().split(".") if w]
    if len(words) == 2:
        found = _along_member(data, words[0], words[1])
        if found:
            return found
    loc: Loc = ()
    here: Tree = data
    for word in words:
        token = _step(here, word)
        if token is None:
            raise DocumentError(
                Complaint(
                    f'"{word}" names nothing here',
                    where=f'path "{path}"',
                    do=choices(_names(here), word) or "it is a value itself",
                )
            )
        here = here[token]
        loc = (*loc, token)
    if not words or isinstance(here, Mapping | list):
        rule = "a path must lead to one value"
        raise DocumentError(Complaint(rule, f'path "{path}"', do=choices(_names(here), "")))
    return [loc]


def edited(document: FrameDocument, edits: Mapping[str, Value]) -> FrameDocument:
    """Return a document with other values under some paths; the text it came from stays.

    Raises
    ------
    DocumentError
        If a path names nothing, or a value is refused where it is put.
    """
    origin = document.origin
    data: Tree = dict(origin.data)
    # What no edit touches keeps the tables it was read into: nothing of them is read twice.
    known: Tree = _as_read(document, data)
    for path, value in edits.items():
        for loc in locate(data, path):
            known = _put(data, known, loc, value)
            data = _put(data, data, loc, value)
    new = Origin(origin.file, origin.text, data)
    try:
        out = FrameDocument.model_validate(known)
    except ValidationError as error:
        found = complain(FrameDocument, error.errors(include_url=False), new)
        raise DocumentError(*found) from None
    out.set_origin(new)
    return out


def _as_read(document: FrameDocument, data: Mapping[str, Any]) -> dict[str, Any]:
    """Return a document's keys with the tables they were read into."""
    fields = type(document).model_fields
    names = {field.alias or name: name for name, field in fields.items()}
    return {key: getattr(document, names[key]) for key in data}


def _put(data: Tree, known: Tree, loc: Loc, value: Value) -> Tree:
    """Return a tree with another value at `loc`; only what lies on the way is made anew.

    On the way `known` goes on as long as it has dictionaries and lists, then `data`, which
    is as it was written.
    """
    if not loc:
        return value
    first, rest = loc[0], loc[1:]
    if not isinstance(known, dict | list):
        known = data
    out: Tree = copy.copy(known)
    out[first] = _put(data[first], known[first], rest, value)
    return out


def value_at(document: FrameDocument, path: str) -> Value:
    """Return what is written under a path; the first of several places."""
    here: Tree = document.origin.data
    for token in locate(here, path)[0]:
        here = here[token]
    return here  # type: ignore[no-any-return]


def edited_text(text: str, edits: Mapping[str, Value]) -> str:
    """Return a document's text with other values under some paths, all else as it was."""
    import tomlkit

    tree = tomlkit.parse(text)
    for path, value in edits.items():
        for loc in locate(tree.unwrap(), path):
            here: Tree = tree
            for token in loc[:-1]:
                here = here[token]
            here[loc[-1]] = value
    return tomlkit.dumps(tree)


def _step(here: Tree, word: str) -> str | int | None:
    if isinstance(here, Mapping):
        return word if word in here else None
    if isinstance(here, list):
        for number, item in enumerate(here):
            if isinstance(item, Mapping) and item.get("name") == word:
                return number
        if word.isdigit() and 1 <= int(word) <= len(here):
            return int(word) - 1
    return None


def _names(here: Tree) -> list[str]:
    if isinstance(here, Mapping):
        return [str(k) for k in here]
    if isinstance(here, list):
        return [
            str(item["name"]) if isinstance(item, Mapping) and "name" in item else str(n)
            for n, item in enumerate(here, start=1)
        ]
    return []


def _members(data: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    tables = [data, *data.get("part", ())]
    return [
        *data.get("rail", ()),
        *(m for t in tables for kind in ("crossmember", "brace") for m in t.get(kind, ())),
    ]


def _along_member(data: Mapping[str, Any], member: str, key: str) -> list[Loc]:
    """Return a key of every section along a member, where those sections have it."""
    sections: dict[str, None] = {}
    for m in _members(data):
        if m.get("name") == member:
            sections |= dict.fromkeys(
                p["section"] for p in (m, *m.get("points", ())) if "section" in p
            )
    table = data.get("section", {})
    return [("section", s, key) for s in sections if key in table.get(s, {})]
