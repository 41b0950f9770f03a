"""What a fleet is made of: frame documents, and the variants that each of them is solved in.

Rows are numbered: documents in the order given, the variants of one together, and of the
varied keys the last changes fastest.  Nothing of a row is kept but its fingerprint; what it
asks for is worked out from its number.
"""

import csv
import glob
import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import prod
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.document.find import find_frame
from fea.document.read import read_text
from fea.errors import Complaint, DocumentError
from fea.study.vary import numbers, tidy, told

MOST_ROWS = 1_000_000
"""A fleet larger than this is a slip of the hand."""

Asked = tuple[tuple[str, str], ...]
"""Pairs of a key and its value as told, for one variant."""


@dataclass(frozen=True)
class Source:
    """One document of a fleet: its path, the digest of its text, or why it cannot be read."""

    path: Path
    digest: str
    complaints: tuple[Complaint, ...] = ()


@dataclass(frozen=True)
class Axis:
    """Keys that are varied together, and the rows of values they take.

    A value that is empty leaves the key as the document has it.
    """

    keys: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, eq=False)
class Plan:
    """All rows of a fleet; `shared` is what the fingerprints of all of them begin with."""

    sources: tuple[Source, ...]
    axes: tuple[Axis, ...]
    shared: str

    @property
    def keys(self) -> tuple[str, ...]:
        """The varied keys, in order."""
        return tuple(k for axis in self.axes for k in axis.keys)

    @cached_property
    def n_variants(self) -> int:
        """How many variants every document has."""
        return prod(len(axis.rows) for axis in self.axes)

    @property
    def n_rows(self) -> int:
        """How many rows there are."""
        return len(self.sources) * self.n_variants

    def asked(self, variant: int) -> Asked:
        """Return what a variant, counted from 0, puts where; what is left as it is left out."""
        found: list[tuple[str, str]] = []
        for axis in reversed(self.axes):
            variant, row = divmod(variant, len(axis.rows))
            found[:0] = zip(axis.keys, axis.rows[row], strict=True)
        return tuple((key, text) for key, text in found if text)

    @cached_property
    def fingerprints(self) -> NDArray[np.bytes_]:
        """What tells each row, (n_rows,): of the document, the variant and all that is shared.

        Rows of documents that cannot be read have none.
        """
        variants = [
            json.dumps(self.asked(v), ensure_ascii=False).encode() for v in range(self.n_variants)
        ]
        found = np.zeros(self.n_rows, dtype="S32")
        for place, source in enumerate(self.sources):
            if not source.complaints:
                begun = hashlib.sha256(f"{self.shared}\n{source.path}\n{source.digest}\n".encode())
                for v, text in enumerate(variants):
                    one = begun.copy()
                    one.update(text)
                    found[place * self.n_variants + v] = one.hexdigest()[:32].encode()
        return found

    def fingerprint(self, number: int) -> bytes:
        """Return the fingerprint of a row, counted from 0."""
        return bytes(self.fingerprints[number])

    @cached_property
    def figured(self) -> dict[str, tuple[Mapping[str, float], str]]:
        """The keys whose values are figures of one unit: those by what is told, and the unit."""
        found: dict[str, tuple[Mapping[str, float], str]] = {}
        for axis in self.axes:
            for column, key in enumerate(axis.keys):
                texts = list(dict.fromkeys(row[column] for row in axis.rows if row[column]))
                figures, unit = numbers(texts) if texts else (None, "")
                if figures is not None:
                    found[key] = (dict(zip(texts, figures, strict=True)), unit)
        return found


def sources(names: Sequence[str]) -> tuple[Source, ...]:
    """Return the documents that names lead to, each once.

    Parameters
    ----------
    names : frame documents by path or shipped name, folders, and patterns such as ``*.toml``

    Raises
    ------
    DocumentError
        If a name leads to no document at all.
    """
    paths: dict[Path, None] = {}
    wrong: list[Complaint] = []
    for name in names:
        try:
            found = list(_paths(name))
        except DocumentError as error:
            wrong += error.complaints
            continue
        if not found:
            wrong.append(Complaint("no document is there", "FRAME", name, "name TOML files"))
        paths |= dict.fromkeys(found)
    if wrong:
        raise DocumentError(*wrong)
    return tuple(_source(path) for path in paths)


def _paths(name: str) -> Iterator[Path]:
    path = Path(name)
    if path.is_dir():
        yield from sorted(path.glob("*.toml"))
    elif glob.has_magic(name) and not path.exists():
        yield from sorted(Path(p) for p in glob.glob(name, recursive=True))  # noqa: PTH207 - may be absolute
    else:
        yield find_frame(name)


def _source(path: Path) -> Source:
    try:
        return Source(path, digest(read_text(path)))
    except DocumentError as error:
        return Source(path, "", tuple(error.complaints))


def digest(text: str) -> str:
    """Return the digest of a document's text."""
    return hashlib.sha256(text.encode()).hexdigest()


def axes(vary: Sequence[str], table: Path | None = None) -> tuple[Axis, ...]:
    """Return what is varied: the rows of a table, if there is one, times every key with a list.

    Raises
    ------
    DocumentError
        If something cannot be read, or a key is varied twice.
    """
    found = [] if table is None else [read_table(table)]
    for text in vary:
        key, texts = told(text)
        found.append(Axis((key,), tuple((t,) for t in texts)))
    keys = [k for axis in found for k in axis.keys]
    if len(set(keys)) < len(keys):
        twice = ", ".join(dict.fromkeys(k for k in keys if keys.count(k) > 1))
        raise DocumentError(Complaint("each key can be varied once", "--vary, --table", twice))
    return tuple(found)


def read_table(path: Path) -> Axis:
    """Return a table of variants: a heading of keys, then one line per variant.

    The file is text with commas, or with semicolons or tabs if its heading has them.

    Raises
    ------
    DocumentError
        With every line that is wrong.
    """
    text = read_text(path)
    first = text.partition("\n")[0]
    mark = max(",;\t", key=first.count)
    rows = [
        [cell.strip() for cell in row]
        for row in csv.reader(text.split("\n"), delimiter=mark)
        if any(cell.strip() for cell in row) or not row
    ]
    heads = tuple(rows[0]) if rows else ()
    wrong = []
    if not heads or "" in heads:
        rule = "the first line of a table names a key over every column"
        do = "such as rail.wall,part.NAME"
        wrong.append(Complaint(rule, f"{path}, line 1", first[:60], do))
    lines = [(n, row) for n, row in enumerate(rows[1:], start=2) if row]
    wrong += [
        Complaint(f"a line needs {len(heads)} values, as many as the heading has keys",
                  f"{path}, line {n}", f"{len(row)} values", "leave a cell empty to change nothing")
        for n, row in lines if len(row) != len(heads)
    ]  # fmt: skip
    if not lines and not wrong:
        wrong.append(Complaint("a table needs a line for every variant", str(path), "no lines"))
    if wrong:
        raise DocumentError(*wrong)
    return Axis(heads, tuple(tuple(tidy(cell) for cell in row) for _, row in lines))


def plan(names: Sequence[str], varied: Sequence[Axis], shared: str) -> Plan:
    """Return the rows of a fleet.

    Raises
    ------
    DocumentError
        If a name leads nowhere, or there are too many rows.
    """
    made = Plan(sources(names), tuple(varied), shared)
    if made.n_rows > MOST_ROWS:
        rule = f"a fleet has {MOST_ROWS:,} rows at most".replace(",", " ")
        raise DocumentError(Complaint(rule, found=str(made.n_rows), do="vary in fewer steps"))
    return made
