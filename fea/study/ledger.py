"""Finished rows of a study in a file, one line each, so that a run that was stopped goes on.

Every line is whole or was never finished: it is written and flushed when its row is done,
and a torn last line is dropped.  It carries two fingerprints: of the input (document,
cases, settings, what is measured, version) and of the variant.  Rows of another input are
refused; those of other variants of the same input are kept, and stand when asked for.
"""

import hashlib
import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import astuple, replace
from io import BufferedWriter
from pathlib import Path
from typing import Any

from fea.errors import Complaint, DocumentError
from fea.solve.factorise import chosen
from fea.study.attempt import Measure, Outcome
from fea.study.variant import Setting, Variant

_START = b'{"input": "'
"""How every line begins: what is torn must be ours before it is cut off."""

_NOT_OURS = "this is not a file of finished rows"
_OF_OTHERS = "these finished rows are of another document, case, setting or version"
_NOT_USABLE = "the file of finished rows cannot be used"
_NOT_WRITTEN = "a finished row could not be written"


def input_fingerprint(setting: Setting, measure: Measure) -> str:
    """Return the fingerprint of all that the variants of a study share."""
    return fingerprint_of(
        [
            f"{measure.__module__}.{measure.__qualname__}",
            setting.document.origin.data,
            [astuple(replace(case, source="")) for case in setting.cases],
            [setting.sheet_joints, setting.coarse, setting.body, setting.mounts],
            chosen(setting.backend),
        ]
    )


def variant_fingerprint(variant: Variant) -> str:
    """Return the fingerprint of a variant; equal variants share it."""
    parts = None if variant.parts is None else sorted(variant.parts)
    return _digest([parts, variant.positions, variant.edits, variant.turned])


def fingerprint_of(what: list[Any]) -> str:
    """Return the fingerprint of plain data as this version of Plumbrail takes it."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        ours = version("plumbrail")
    except PackageNotFoundError:
        ours = ""
    return _digest([ours, *what])


def _digest(what: Any) -> str:  # noqa: ANN401 - plain data
    # A date or another odd value of a document only has to be told apart.
    text = json.dumps(what, sort_keys=True, ensure_ascii=False, default=repr)
    return hashlib.sha256(text.encode()).hexdigest()[:32]


class Ledger:
    """The rows of one input, read from a file and added to it; without a file, none.

    Parameters
    ----------
    path : the file, or None
    fingerprint : of the input
    """

    def __init__(self, path: Path | None, fingerprint: str) -> None:
        self.path, self.fingerprint = path, fingerprint
        self._file: BufferedWriter | None = None

    @contextmanager
    def opened(self) -> Iterator[dict[str, Outcome]]:
        """Read what is done, by variant, and keep the file open for more.

        Raises
        ------
        DocumentError
            If the file holds rows of another input or something else, or cannot be used.
        """
        if self.path is None:
            yield {}
            return
        try:
            whole, done = self._read(self.path.read_bytes() if self.path.exists() else b"")
            self.path.parent.mkdir(parents=True, exist_ok=True)
            file = self.path.open("ab")
        except OSError as error:
            raise self._refuse(_NOT_USABLE, error) from None
        with file:
            file.truncate(whole)
            self._file = file
            yield done

    def add(self, variant: str, outcome: Outcome) -> None:
        """Append a finished row; one that was lost with its process is tried again next time."""
        if self._file is None or "lost" in outcome:
            return
        line = {"input": self.fingerprint, "variant": variant} | outcome
        try:
            self._file.write(json.dumps(line, ensure_ascii=False).encode() + b"\n")
            self._file.flush()
            os.fsync(self._file.fileno())
        except OSError as error:
            raise self._refuse(_NOT_WRITTEN, error) from None

    def _read(self, raw: bytes) -> tuple[int, dict[str, Outcome]]:
        """Return how many bytes are whole lines, and their rows by variant."""
        whole = raw.rfind(b"\n") + 1
        torn = raw[whole:]
        if torn[: len(_START)] != _START[: len(torn)]:
            raise self._refuse(_NOT_OURS)
        done: dict[str, Outcome] = {}
        for number, text in enumerate(raw[:whole].split(b"\n")[:-1], start=1):
            try:
                row = json.loads(text)
                mine, variant = row.pop("input"), row.pop("variant")
            except (ValueError, KeyError, TypeError, AttributeError):
                raise self._refuse(_NOT_OURS, line=number) from None
            if mine != self.fingerprint:
                raise self._refuse(_OF_OTHERS, line=number)
            if not {"values", "complaints"} & row.keys():
                raise self._refuse(_NOT_OURS, line=number)
            done[variant] = row
        return whole, done

    def _refuse(
        self, rule: str, error: OSError | None = None, line: int | None = None
    ) -> DocumentError:
        where = str(self.path) if line is None else f"{self.path}, line {line}"
        found = "" if error is None else error.strerror or str(error)
        return DocumentError(Complaint(rule, where, found, "give --resume another file"))
