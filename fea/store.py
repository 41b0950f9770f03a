"""Condensed joints kept on disk between runs: an equal joint is never condensed twice.

A joint is kept whole, or as its stiffness alone, for studies that look no further: that takes
a hundredth of the room.

Files are named by fingerprint, written under a temporary name and moved into place; one
that cannot be read is condensed again.  The folder is `plumbrail/joints` in the user's
cache folder, or where the environment variable PLUMBRAIL_CACHE says; set to nothing, it
turns keeping off.
"""

import contextlib
import os
import sys
import tempfile
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fea.solve.condense import Kept, Memory

Array = NDArray[np.float64]

FIELDS = (
    "stiffness",
    "recover",
    "points",
    "quads",
    "thickness",
    "E",
    "nu",
    "member",
    "energy",
)

MOST = 2e9
"""Bytes kept; the oldest files go first."""


def folder() -> Path | None:
    """Return where joints are kept, or None if they are not."""
    asked = os.environ.get("PLUMBRAIL_CACHE")
    if asked is not None:
        return Path(asked) if asked else None
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
    elif sys.platform == "darwin":
        base = str(Path.home() / "Library" / "Caches")
    else:
        base = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(base) / "plumbrail" / "joints" if base else None


class Disk:
    """A store on disk, with what was read or made kept in memory too."""

    whole = True

    def __init__(self, place: Path) -> None:
        self.place = place
        self._memory = Memory()

    def get(self, key: str) -> Kept | None:
        """Return what is kept under a key, or None."""
        kept = self._memory.get(key)
        if kept is None:
            arrays = _read(self.place / _whole(key), FIELDS)
            if arrays is not None:
                kept = Kept(**arrays)
                self._memory.put(key, kept)
        return kept

    def put(self, key: str, kept: Kept) -> None:
        """Keep a piece; a full or read-only disk only means that it is not kept."""
        self._memory.put(key, kept)
        self._write(_whole(key), {field: getattr(kept, field) for field in FIELDS})

    def get_stiffness(self, key: str) -> Array | None:
        """Return the stiffness of a piece, kept whole or not, or None."""
        found = self._memory.get_stiffness(key)
        for name in (_alone(key), _whole(key)):
            if found is None:
                arrays = _read(self.place / name, ("stiffness",))
                found = None if arrays is None else arrays["stiffness"]
                if found is not None:
                    self._memory.put_stiffness(key, found)
        return found

    def put_stiffness(self, key: str, stiffness: Array) -> None:
        """Keep a piece's stiffness, (m, m), without what is inside it."""
        self._memory.put_stiffness(key, stiffness)
        self._write(_alone(key), {"stiffness": stiffness})

    def has(self, key: str, *, whole: bool) -> bool:
        """Whether a piece is kept on disk: whole, or its stiffness at least."""
        names = (_whole(key),) if whole else (_whole(key), _alone(key))
        return any((self.place / name).is_file() for name in names)

    def _write(self, name: str, arrays: dict[str, Array]) -> None:
        with contextlib.suppress(OSError):
            self.place.mkdir(parents=True, exist_ok=True)
            _write(self.place / name, arrays)
            _drop_oldest(self.place)


def store() -> Memory | Disk:
    """Return the user's store."""
    place = folder()
    return Memory() if place is None else Disk(place)


def _drop_oldest(place: Path) -> None:
    found = [(path, path.stat()) for path in place.glob("*.npz")]
    room = MOST
    for path, about in sorted(found, key=lambda item: -item[1].st_mtime):
        room -= about.st_size
        if room < 0.0:
            path.unlink(missing_ok=True)


def _whole(key: str) -> str:
    return f"{key}.npz"


def _alone(key: str) -> str:
    return f"{key}.stiffness.npz"


def _read(path: Path, fields: Sequence[str]) -> dict[str, Any] | None:
    try:
        with path.open("rb") as raw, np.load(raw, allow_pickle=False) as file:
            return {name: file[name] for name in fields}
    except (OSError, ValueError, KeyError, zipfile.BadZipFile, EOFError):
        return None


def _write(path: Path, arrays: Mapping[str, Array]) -> None:
    number, name = tempfile.mkstemp(suffix=".tmp", dir=path.parent)
    try:
        with os.fdopen(number, "wb") as file:
            np.savez(file, allow_pickle=False, **arrays)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
