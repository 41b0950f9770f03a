"""Condensed metal at hand: as much of it as memory has room for, the rest where it is kept."""

import threading
from collections import OrderedDict
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, SolveError
from fea.solve.condense import Kept, Memory, Store

Array = NDArray[np.float64]

MOST = 500e6
"""Bytes of condensed metal held in memory; the longest unused goes first."""


class NotAtHandError(SolveError):
    """The metal would have to be condensed, or fetched, first."""


class SupersededError(SolveError):
    """Something else is wanted by now."""


class Shelf:
    """A store that holds the latest metal in memory, before another store; any thread may ask."""

    whole = True

    def __init__(self, behind: Callable[[], Store] = Memory) -> None:
        """Take what makes the store behind; made anew each time, so that it holds nothing."""
        self._behind = behind
        self._held: OrderedDict[str, Kept] = OrderedDict()
        self._lock = threading.Lock()

    def at_hand(self, key: str) -> Kept | None:
        """Return what memory holds under a key, or None."""
        with self._lock:
            if key in self._held:
                self._held.move_to_end(key)
            return self._held.get(key)

    def get(self, key: str) -> Kept | None:
        """Return what is kept under a key, or None."""
        found = self.at_hand(key)
        if found is None:
            found = self._behind().get(key)
            if found is not None:
                self._hold(key, found)
        return found

    def put(self, key: str, kept: Kept) -> None:
        """Keep a piece."""
        self._hold(key, kept)
        self._behind().put(key, kept)

    def get_stiffness(self, key: str) -> Array | None:
        """Return the stiffness of a piece, kept whole or not, or None."""
        found = self.at_hand(key)
        return self._behind().get_stiffness(key) if found is None else found.stiffness

    def put_stiffness(self, key: str, stiffness: Array) -> None:
        """Keep a piece's stiffness, (m, m), without what is inside it."""
        self._behind().put_stiffness(key, stiffness)

    def _hold(self, key: str, kept: Kept) -> None:
        with self._lock:
            self._held[key] = kept
            room = MOST - sum(_size(k) for k in self._held.values())
            while room < 0.0 and len(self._held) > 1:
                room += _size(self._held.popitem(last=False)[1])


class AtHand:
    """A shelf seen by one who cannot wait: what is not in memory is refused."""

    whole = True

    def __init__(self, shelf: Shelf) -> None:
        self._shelf = shelf

    def get(self, key: str) -> Kept:
        """Return what memory holds under a key.

        Raises
        ------
        NotAtHandError
            If it holds nothing there.
        """
        found = self._shelf.at_hand(key)
        if found is None:
            raise NotAtHandError(Complaint("this sheet metal is not at hand"))
        return found

    def put(self, key: str, kept: Kept) -> None:
        """Keep a piece."""
        self._shelf.put(key, kept)

    def get_stiffness(self, key: str) -> Array:
        """Return the stiffness of what memory holds under a key; see :meth:`get`."""
        return self.get(key).stiffness

    def put_stiffness(self, key: str, stiffness: Array) -> None:
        """Keep a piece's stiffness, (m, m), without what is inside it."""
        self._shelf.put_stiffness(key, stiffness)


class Watched:
    """A store that gives up between two pieces once nobody waits for them any more."""

    whole = True

    def __init__(self, store: Store, wanted: Callable[[], bool]) -> None:
        self._store, self._wanted = store, wanted

    def get(self, key: str) -> Kept | None:
        """Return what is kept under a key, or None.

        Raises
        ------
        SupersededError
            If something else is wanted by now.
        """
        if not self._wanted():
            raise SupersededError(Complaint("another variant is wanted by now"))
        return self._store.get(key)

    def put(self, key: str, kept: Kept) -> None:
        """Keep a piece: it was worked out, wanted or not."""
        self._store.put(key, kept)

    def get_stiffness(self, key: str) -> Array | None:
        """Return the stiffness of a piece, kept whole or not, or None; see :meth:`get`."""
        found = self.get(key)
        return self._store.get_stiffness(key) if found is None else found.stiffness

    def put_stiffness(self, key: str, stiffness: Array) -> None:
        """Keep a piece's stiffness, (m, m), without what is inside it."""
        self._store.put_stiffness(key, stiffness)


def _size(kept: Kept) -> int:
    return kept.recover.nbytes + kept.energy.nbytes + kept.stiffness.nbytes
