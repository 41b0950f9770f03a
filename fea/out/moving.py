"""A frame's walls with one or several motions over them, ready for the film and the page."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Motion:
    """One way in which the frame moves.

    Attributes
    ----------
    label : what it is
    movement : (n, 3), the largest is one; how far that is drawn, mm, is `size`
    values : (n,), what the colours show where the motion is largest, 0 to 1; NaN for no value
    key : what a value of 1 stands for; "" where that needs no words
    times : how many times their size movements of `size` are drawn; 0 where they have none
    note : what is worth saying beside it
    """

    label: str
    movement: Array
    size: float
    values: Array
    key: tuple[str, str] = ("", "")
    times: float = 0.0
    note: str = ""

    def words(self) -> str:
        """Return the note, and how large the movements are drawn."""
        drawn = f"movements drawn {self.times:g} x" if self.times else ""
        return "; ".join(text for text in (self.note, drawn) if text)


@dataclass(frozen=True, eq=False)
class Moving:
    """What moves.

    Attributes
    ----------
    points : (n, 3), mm, at rest; quads : (m, 4); lines : (b, 2), pairs of points
    motions : at least one
    loaded : a load comes on and goes off, and colours with it; else the frame swings to both
        sides, and the colours stay
    """

    title: str
    subtitle: str
    points: Array
    quads: Index
    lines: Index
    motions: tuple[Motion, ...]
    loaded: bool

    def shares(self, n: int) -> Array:
        """Return the shares of the motion in `n` pictures of one round, from rest, shape (n,)."""
        phase = 2.0 * np.pi * np.arange(n) / n
        return 0.5 * (1.0 - np.cos(phase)) if self.loaded else np.sin(phase)
