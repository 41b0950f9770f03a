"""Pieces of a frame's sheet metal as plain data: lengths of members, and their mesh."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.element.shell import Shells
from fea.mesh.mesh import Rows

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class Length:
    """A length of a member to be meshed, and which of its ends are cuts."""

    member: str
    start: float
    end: float
    cut_start: bool = False
    cut_end: bool = False

    @property
    def cuts(self) -> list[float]:
        """Where it is cut, mm along the member."""
        ends = ((self.start, self.cut_start), (self.end, self.cut_end))
        return [d for d, is_cut in ends if is_cut]


@dataclass(frozen=True, eq=False)
class Cut:
    """Where a swept member goes on as a beam: seven freedoms from `first` on."""

    member: str
    distance: float
    point: Array
    first: int


@dataclass(frozen=True, eq=False)
class Sheet:
    """Sheet metal ready to be assembled.

    Attributes
    ----------
    points : (n, 3), mm
    quads : (m, 4); shells : their mechanics; member, wall : (m,)
    ties, slaves : as in :class:`fea.mesh.mesh.Mesh`
    cuts : where it goes on as beams
    seats : (member, distance) -> six rows, the motion of the reference line there
    n_freedoms : 6 n + 7 per cut
    unwelded : joints of which nothing was found to weld
    springs, spring_stiffness : motions (m rows) that bolts resist, and how much, N/mm
    spring_joint : (m,), the joint of each, index into `bolted`, pairs of member and end
    """

    points: Array
    quads: Index
    shells: Shells
    member: Index
    members: tuple[str, ...]
    ties: Rows
    slaves: Index
    cuts: tuple[Cut, ...]
    seats: dict[tuple[str, float], Rows]
    n_freedoms: int
    unwelded: tuple[str, ...]
    springs: Rows
    spring_stiffness: Array
    spring_joint: Index
    bolted: tuple[tuple[str, str], ...]


def cut_places(lengths: tuple[Length, ...]) -> list[tuple[str, float]]:
    """Return the (member, distance) of every cut of some lengths."""
    return [(le.member, d) for le in lengths for d in le.cuts]


def seat_places(
    lengths: tuple[Length, ...], seats: Mapping[str, tuple[float, ...]]
) -> list[tuple[str, float]]:
    """Return the (member, distance) of every seat of some lengths."""
    return [
        (le.member, d)
        for le in lengths
        for d in seats.get(le.member, ())
        if le.start <= d <= le.end
    ]


@dataclass(frozen=True)
class Group:
    """The lengths of one patch before the mesh gives it freedoms."""

    name: str
    lengths: tuple[Length, ...]
    seats: dict[str, tuple[float, ...]]
    joints: tuple[tuple[str, str], ...] = ()
    """(member, end) of the joints inside."""

    @property
    def seat_places(self) -> list[tuple[str, float]]:
        """(member, distance) of every seat."""
        return seat_places(self.lengths, self.seats)
