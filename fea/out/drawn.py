"""What stands on the drawing of a blank, whatever the file: text and dimensions in mm."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.shop.cut_list import Cut
from fea.shop.cut_plates import Blank
from fea.shop.flat import LEAST_BEND

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Dimension:
    """A length between two points, its line `away` mm to the left of the way between them."""

    start: Array
    end: Array
    away: float

    @property
    def length(self) -> float:
        """The length, mm."""
        return float(np.linalg.norm(self.end - self.start))


def text_height(piece: Blank) -> float:
    """Return a height of text, mm, that suits the size of a blank."""
    return float(np.clip(0.012 * piece.pattern.size[0], 4.0, 12.0))


def dimensions(cut: Cut) -> list[Dimension]:
    """Return overall length and height, the height of either end, bends and first openings."""
    piece = cut.piece
    if not isinstance(piece, Blank):
        return []
    outline = piece.pattern.outline
    wide, high = piece.pattern.size
    step = 4.0 * text_height(piece)
    found = [
        Dimension(np.array([0.0, 0.0]), np.array([wide, 0.0]), -2.0 * step),
        Dimension(np.array([0.0, 0.0]), np.array([0.0, high]), 2.0 * step),
    ]
    half = len(outline) // 2
    if len(outline) > 3:
        # Lower corners come first, the upper ones back again.
        found.append(Dimension(outline[0], outline[-1], step))
        found.append(Dimension(outline[half - 1], outline[half], -step))
    places = [float(b.line[np.argmin(b.line[:, 1]), 0]) for b in piece.pattern.bends]
    places += _kinks(outline[:half])
    for place in dict.fromkeys(round(x, 6) for x in places):
        found.append(Dimension(np.array([0.0, 0.0]), np.array([place, 0.0]), -step))
    for k, opening in enumerate(piece.pattern.openings[:3]):
        x = float(opening.centre[0])
        away = (1.0 + 0.6 * k) * step
        found.append(Dimension(np.array([0.0, high]), np.array([x, high]), away))
    return found


def _kinks(edge: Array) -> list[float]:
    """Return where along the blank its lower edge, (n, 2), turns, mm."""
    steps = np.diff(edge, axis=0)
    turns = np.abs(np.diff(np.arctan2(steps[:, 1], steps[:, 0])))
    return [float(x) for x, turn in zip(edge[1:-1, 0], turns, strict=True) if turn > LEAST_BEND]
