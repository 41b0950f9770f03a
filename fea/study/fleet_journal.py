"""Finished rows of a fleet in a file beside the one they end up in, one line each.

A Parquet file can only be read once its footer stands, so rows are kept here until all are
there.  Every line is whole or was never finished: a torn last line, left by a process that
was killed, is cut off.  Of a line only its place in the file stays in memory.
"""

import json
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from io import BufferedRandom
from pathlib import Path
from typing import NoReturn

from fea.errors import Complaint, DocumentError
from fea.study.attempt import Outcome

_HEAD = b'{"plumbrail fleet": 1}\n'

SYNC = 1.0
"""Seconds of work that a loss of power may cost; a killed process costs none."""


class Journal:
    """Rows by their fingerprints, in a file that lasts until the fleet is done.

    Parameters
    ----------
    path : the file
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._file: BufferedRandom | None = None
        self._synced = 0.0

    @contextmanager
    def opened(self, known: Callable[[bytes, int], None]) -> Iterator["Journal"]:
        """Keep the file open, alone; tell fingerprint and place of every row in it.

        Raises
        ------
        DocumentError
            If it is something else, is in use, or cannot be written.
        """
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            file = self.path.open("a+b")
        except OSError as error:
            self._refuse("the file of finished rows cannot be used", error.strerror)
        with file:
            self._lock(file)
            self._file = file
            self._read(file, known)
            try:
                yield self
            finally:
                self._file = None

    def add(self, fingerprint: bytes, row: Outcome) -> int:
        """Append a finished row; return its place."""
        file = self._open()
        line = json.dumps([fingerprint.decode(), row], ensure_ascii=False)
        try:
            place = file.seek(0, os.SEEK_END)
            file.write(line.encode() + b"\n")
            file.flush()
            if time.monotonic() - self._synced > SYNC:
                os.fsync(file.fileno())
                self._synced = time.monotonic()
        except OSError as error:
            self._refuse("a finished row could not be written", error.strerror)
        return place

    def row(self, place: int) -> Outcome:
        """Return the row at a place."""
        file = self._open()
        file.seek(place)
        row: Outcome = json.loads(file.readline())[1]
        return row

    def _open(self) -> BufferedRandom:
        if self._file is None:
            rule = "the journal of a fleet is used while it is open"
            raise RuntimeError(rule)
        return self._file

    def _lock(self, file: BufferedRandom) -> None:
        """Hold the file for this process alone, where the system can; its end lets go."""
        try:
            import fcntl
        except ImportError:
            return
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            self._refuse("another run is at work on this fleet", None)

    def _read(self, file: BufferedRandom, known: Callable[[bytes, int], None]) -> None:
        file.seek(0)
        first = file.readline()
        if not first or (first != _HEAD and _HEAD.startswith(first)):  # new, or torn at birth
            file.truncate(0)
            file.write(_HEAD)
            file.flush()
            return
        if first != _HEAD:
            self._refuse("this is not a file of a fleet's finished rows", None)
        place = len(_HEAD)
        for line in file:
            if not line.endswith(b"\n"):
                break
            try:
                fingerprint, row = json.loads(line)
                row["status"]
                known(fingerprint.encode(), place)
            except (ValueError, KeyError, TypeError, AttributeError):
                self._refuse("this is not a file of a fleet's finished rows", line[:60].decode(
                    errors="replace"))  # fmt: skip
            place += len(line)
        file.truncate(place)

    def _refuse(self, rule: str, found: str | None) -> NoReturn:
        do = "give --parquet another name, or remove that file"
        raise DocumentError(Complaint(rule, str(self.path), found or "", do)) from None
