"""Stores of condensed sheet metal that keep less than all."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.solve.condense import Kept, Memory, Store

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Lean:
    """A store for answers that read motions of the frame only, no stress and no energy.

    Pieces are condensed to their stiffness alone, in half the time and a hundredth of the
    room; what is inside one is made when it is asked for, and kept in the store behind.
    """

    behind: Store
    whole: bool = False

    def get(self, key: str) -> Kept | None:
        """Return what is kept under a key, or None."""
        return self.behind.get(key)

    def put(self, key: str, kept: Kept) -> None:
        """Keep a piece."""
        self.behind.put(key, kept)

    def get_stiffness(self, key: str) -> Array | None:
        """Return the stiffness of a piece, kept whole or not, or None."""
        return self.behind.get_stiffness(key)

    def put_stiffness(self, key: str, stiffness: Array) -> None:
        """Keep a piece's stiffness, (m, m), without what is inside it."""
        self.behind.put_stiffness(key, stiffness)


class Passing(Memory):
    """A store in front of another, for variants whose large pieces are met once.

    What the one behind has is read from it; of what is new only small pieces are passed on, as
    a run of a hundred variants would drive all else from a disk.
    """

    LARGE = 5e6
    """Bytes of a piece's recovery from which it is large: a length of boxed rail."""

    def __init__(self, behind: Store) -> None:
        super().__init__()
        self._behind = behind

    def get(self, key: str) -> Kept | None:
        """Return what is kept under a key, or None."""
        return super().get(key) or self._behind.get(key)

    def put(self, key: str, kept: Kept) -> None:
        """Keep a piece."""
        if kept.recover.nbytes > self.LARGE:
            super().put(key, kept)
        else:
            self._behind.put(key, kept)

    def get_stiffness(self, key: str) -> Array | None:
        """Return the stiffness of a piece, kept whole or not, or None."""
        found = super().get_stiffness(key)
        return self._behind.get_stiffness(key) if found is None else found

    def put_stiffness(self, key: str, stiffness: Array) -> None:
        """Keep a piece's stiffness, (m, m), without what is inside it."""
        self._behind.put_stiffness(key, stiffness)
