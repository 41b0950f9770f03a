"""Sections that a part shares with others, given to it alone, so that its walls can differ."""

import copy
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fea.document.edit import Value, locate
from fea.document.origin import Origin
from fea.document.schema import FrameDocument

Tree = Any
"""What tomllib or tomlkit makes of a file, and any part of it."""


@dataclass(frozen=True)
class Split:
    """A section that a part shares, and the name of the copy that the part gets."""

    part: str
    section: str
    name: str


def shared_sections(document: FrameDocument, parts: Sequence[str]) -> tuple[Split, ...]:
    """Return the sections of some parts that the frame or another part uses as well."""
    data = document.origin.data
    users: dict[str, set[str]] = {}
    for owner, member in _users(data):
        users.setdefault(member["section"], set()).add(owner)
    found: dict[Split, None] = {}
    for owner, member in _users(data):
        section = member["section"]
        if owner in parts and users[section] != {owner}:
            found[Split(owner, section, f"{section} {owner}")] = None
    return tuple(found)


def with_splits(document: FrameDocument, splits: Sequence[Split]) -> FrameDocument:
    """Return the document with each part on its own copy of the sections it shares."""
    if not splits:
        return document
    origin = document.origin
    data = copy.deepcopy(dict(origin.data))
    _apply(data, splits)
    out = FrameDocument.model_validate(data)
    out.set_origin(Origin(origin.file, origin.text, data))
    return out


def sized_text(
    text: str, splits: Sequence[Split], edits: Mapping[str, Value], fitted: Mapping[str, bool]
) -> str:
    """Return a document's text with its sections split, edited and parts fitted or not.

    Comments and order stay; a copied section stands after the sections there are.
    """
    import tomlkit

    tree = tomlkit.parse(text)
    _apply(tree, [s for s in splits if fitted.get(s.part, True)])
    for part in tree.get("part", ()):
        if part["name"] in fitted:
            part["fitted"] = fitted[part["name"]]
    for path, value in edits.items():
        for loc in locate(tree.unwrap(), path):
            here: Tree = tree
            for token in loc[:-1]:
                here = here[token]
            here[loc[-1]] = value
    return tomlkit.dumps(tree)


def _apply(tree: Tree, splits: Sequence[Split]) -> None:
    for split in splits:
        tree["section"][split.name] = copy.deepcopy(tree["section"][split.section])
        for part in tree["part"]:
            if part["name"] == split.part:
                for kind in ("crossmember", "brace"):
                    for member in part.get(kind, ()):
                        if member["section"] == split.section:
                            member["section"] = split.name


def _users(data: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Return every table that names a section, with the part it belongs to; "" for stock."""
    for rail in data.get("rail", ()):
        for point in rail.get("points", ()):
            if "section" in point:
                yield "", point
    for body in data.get("body", ()):
        for beam in body.get("beam", ()):
            yield "", beam
    for owner, table in (("", data), *((p["name"], p) for p in data.get("part", ()))):
        for kind in ("crossmember", "brace"):
            for member in table.get(kind, ()):
                yield owner, member
