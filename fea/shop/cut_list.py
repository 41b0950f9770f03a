"""The cut list: every piece of the added parts, equal ones counted together."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fea.frame.model import Frame
from fea.shop.cut_plates import Blank, boxing_blanks, bulkhead_blanks, gusset_blanks
from fea.shop.cut_stock import Stock, stock_lengths

if TYPE_CHECKING:
    from fea.document.schema import FrameDocument


@dataclass(frozen=True, eq=False)
class Cut:
    """A line of the list: a blank from sheet or a length of stock, and how many of it.

    `number` counts the lines of the list from 1.
    """

    number: int
    count: int
    piece: Blank | Stock
    sides: tuple[str, ...] = ()
    """On which rails, of a boxing plate."""

    @property
    def mass(self) -> float:
        """Mass of all of them, tonne."""
        return self.count * self.piece.mass

    @property
    def weld(self) -> float:
        """Weld of all of them, mm."""
        return self.count * self.piece.weld


@dataclass(frozen=True, eq=False)
class CutList:
    """All lines, in the order of the document's parts."""

    frame: Frame
    cuts: tuple[Cut, ...]

    @property
    def mass(self) -> float:
        """Mass of everything, tonne."""
        return sum(cut.mass for cut in self.cuts)

    @property
    def weld(self) -> float:
        """Weld of everything, mm."""
        return sum(cut.weld for cut in self.cuts)


def cut_list(document: "FrameDocument", frame: Frame) -> CutList:
    """Return what has to be cut for the fitted parts of a frame."""
    pieces: list[Blank | Stock] = [
        *boxing_blanks(document, frame),
        *bulkhead_blanks(frame),
        *gusset_blanks(frame),
        *stock_lengths(frame),
    ]
    order = {part.name: k for k, part in enumerate(frame.parts)}
    groups: list[list[Blank | Stock]] = []
    for piece in sorted(pieces, key=lambda p: order.get(p.part, len(order))):
        for group in groups:
            if _alike(group[0], piece):
                group.append(piece)
                break
        else:
            groups.append([piece])
    cuts = (Cut(k, len(g), g[0], _sides(g)) for k, g in enumerate(groups, start=1))
    return CutList(frame, tuple(cuts))


def _sides(group: "list[Blank | Stock]") -> tuple[str, ...]:
    """Return the sides that alike plates are on, once each."""
    sides = (piece.side for piece in group if isinstance(piece, Blank) and piece.side)
    return tuple(dict.fromkeys(sides))


def _alike(one: "Blank | Stock", other: "Blank | Stock") -> bool:
    """Return whether two pieces are cut alike; turned over counts as alike."""
    if not isinstance(one, Blank) or not isinstance(other, Blank):
        return False
    same = (one.part, one.wall, one.material) == (other.part, other.wall, other.material)
    if not same or one.name != other.name:
        return False
    a, b = one.pattern, other.pattern
    if len(a.outline) != len(b.outline) or len(a.openings) != len(b.openings):
        return False
    if len(a.outline) == 3 or "bulkhead" in one.name:
        return abs(a.area - b.area) < 1e-6 * a.area and np.allclose(a.size, b.size, atol=1e-6)
    holes = zip(a.openings, b.openings, strict=True)
    return bool(np.allclose(a.outline, b.outline, atol=1e-6)) and all(
        np.allclose(x.centre, y.centre, atol=1e-6) and (x.length, x.height) == (y.length, y.height)
        for x, y in holes
    )
