"""What can be read alike from the beams and from the whole frame in sheet metal.

Twist and bending stiffness and the twist along the frame, by the one definition of
:mod:`fea.result.stiffness`, and the normal stress along the rails at the middle of every
bay, where the joints are furthest off and beam theory should hold.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.element import shell
from fea.element.shell import Shells
from fea.frame.case import Case
from fea.frame.crossing import axes_at, runs_at
from fea.frame.model import Frame
from fea.frame.spots import rails_at
from fea.mesh.sweep import coarse, place_section
from fea.metal import MetalSolution
from fea.result.stiffness import Bay, Profile, bays, bending_stiffness, twist_stiffness
from fea.result.stress import stresses
from fea.solve.condense import MIRROR

Array = NDArray[np.float64]

ON_LINE = 3.0
"""How far off the line of a section's corner a node of it may lie, mm."""

SAME_ROW = 0.6
"""Nodes that lie no further ahead of a section are its own, mm."""


@dataclass(frozen=True)
class MidBay:
    """The middle of a bay: its station, mm, and where that is on every rail there."""

    bay: Bay
    station: float
    rails: tuple[tuple[str, float], ...]


def mid_bays(frame: Frame) -> list[MidBay]:
    """Return the middles of the bays within the wheelbase, front to rear.

    A stretch shorter than the rails are deep lies within its joints, and has none.
    """
    front, rear = frame.axle("front"), frame.axle("rear")
    if front is None or rear is None:
        return []
    # The bays are told by their ends only: any twist between the axles lists them.
    depth = max(r.section.depth for m in frame.members if m.kind == "rail" for r in m.runs)
    ends, none = np.array([front.station, rear.station]), np.zeros(2)
    found = []
    for bay in bays(frame, Profile(ends, np.array([0.0, 1.0]), none, none)):
        if bay.end - bay.start < depth:
            continue
        middle = 0.5 * (bay.start + bay.end)
        rails = tuple((name, d) for _, name, d in rails_at(frame, middle, "at mid-bay"))
        found.append(MidBay(bay, middle, rails))
    return found


def metal_profile(solution: MetalSolution) -> Profile:
    """Return the profile of the rails of a frame in sheet metal."""
    return Profile(solution.stations, solution.angle, solution.height, solution.offset)


def measure(frame: Frame, case: Case, line: Profile) -> float | None:
    """Return the stiffness that a case measures, N mm/rad or N/mm, None if it has none."""
    if case.measure == "twist":
        return twist_stiffness(frame, case, line)
    if case.measure == "bending":
        return bending_stiffness(frame, case, line)
    return None


def beam_stress(frame: Frame, solution: Solution, places: Sequence[MidBay]) -> list[float | None]:
    """Return the largest normal stress of the rails at each place, MPa, sign dropped.

    Where a rail is taken as sheet metal there, from that.
    """
    elements, members = solution.mesh.elements, solution.mesh.members
    at: list[tuple[int, int, float]] = []  # place, element, fraction along it
    found: list[list[float]] = [[] for _ in places]
    for k, place in enumerate(places):
        for name, d in place.rails:
            low, high = elements.place.T
            beams = (elements.member == members.index(name)) & (low <= d) & (d <= high)
            if np.any(beams):
                e = int(np.flatnonzero(beams)[0])
                at.append((k, e, float((d - low[e]) / (high[e] - low[e]))))
            else:
                for piece in _patches(solution, name, d):
                    found[k] += _corner_stresses(frame, piece, name, d)
    groups = stresses(solution, np.array([f for _, _, f in at])) if at else []
    for group in groups:
        row = {int(e): r for r, e in enumerate(group.elements)}
        for column, (k, e, _) in enumerate(at):
            if e in row:
                found[k].append(float(np.max(np.abs(group.normal[row[e], column]))))
    return [max(each, default=None) for each in found]


def metal_stress(
    frame: Frame, solution: MetalSolution, places: Sequence[MidBay]
) -> list[float | None]:
    """Return the same in the sheet metal: mean through the wall, at the section's corners."""
    metal = solution.sheet
    n = len(metal.points)
    piece = _Piece(
        metal.points,
        solution.u[: 6 * n].reshape(n, 6),
        metal.quads,
        metal.shells,
        metal.member,
        metal.members,
    )
    found = [
        [s for name, d in place.rails for s in _corner_stresses(frame, piece, name, d)]
        for place in places
    ]
    return [max(each, default=None) for each in found]


@dataclass(frozen=True, eq=False)
class _Piece:
    """Sheet metal and how it moves, in any axes that lie as the vehicle's, mirrored or not.

    Attributes
    ----------
    points : (n, 3), mm; motion : (n, 6), mm and rad
    quads : (m, 4); shells : their mechanics; member : (m,), index into `members`
    """

    points: Array
    motion: Array
    quads: NDArray[np.intp]
    shells: Shells
    member: NDArray[np.intp]
    members: tuple[str, ...]


def _patches(solution: Solution, name: str, distance: float) -> Iterator[_Piece]:
    """Yield the patches that hold a place of a member, as they move."""
    for piece in solution.metal:
        if any(le.member == name and le.start <= distance <= le.end for le in piece.patch.lengths):
            kept, canon = piece.kept, piece.patch.canon
            flip = MIRROR[:6] if canon.mirrored else np.ones(6)
            motion = (kept.recover @ piece.canonical(solution.u)).reshape(-1, 6) * flip
            points = (kept.points + canon.origin) * flip[:3]
            # Turned round in a mirror, corners run clockwise: their order is turned as well.
            quads = kept.quads[:, ::-1] if canon.mirrored else kept.quads
            shells = Shells(points[quads], kept.thickness, kept.E, kept.nu)
            yield _Piece(points, motion, quads, shells, kept.member, canon.members)


def _corner_stresses(frame: Frame, piece: _Piece, name: str, distance: float) -> list[float]:
    """Return the normal stress along a member at the ends of its section's walls, MPa, no sign.

    At a node it is the mean over the quadrilaterals that meet there; between two rows of
    nodes it runs evenly.
    """
    member = frame.member(name)
    section = runs_at(member, distance)[0].section.midline
    corners = place_section(member, distance, coarse(section).points)
    direction = axes_at(member, distance)[0]
    mine = piece.member == piece.members.index(name)
    nodes = np.unique(piece.quads[mine])
    arms = piece.points[nodes][:, None] - corners
    ahead = arms @ direction
    aside = np.linalg.norm(arms - ahead[:, :, None] * direction, axis=2)
    pairs = []
    for x, off in zip(ahead.T, aside.T, strict=True):
        on = np.flatnonzero(off < ON_LINE)
        before, behind = on[x[on] <= SAME_ROW], on[x[on] >= -SAME_ROW]
        if not (len(before) and len(behind)):  # beside a corner of the path, or its end
            continue
        i, j = before[np.argmax(x[before])], behind[np.argmin(x[behind])]
        gap = float(x[j] - x[i])
        pairs.append((int(nodes[i]), int(nodes[j]), float(-x[i] / gap) if gap > SAME_ROW else 0.0))
    wanted = np.unique(np.array([n for i, j, _ in pairs for n in (i, j)], dtype=np.intp))
    at = dict(zip(wanted.tolist(), _node_stress(piece, mine, wanted, direction), strict=True))
    return [abs((1.0 - f) * at[i] + f * at[j]) for i, j, f in pairs]


def _node_stress(
    piece: _Piece, mine: NDArray[np.bool_], nodes: NDArray[np.intp], direction: Array
) -> list[float]:
    """Return the normal stress along a direction at nodes, mean through the wall, MPa."""
    touching = np.flatnonzero(mine & np.isin(piece.quads, nodes).any(axis=1))
    s, quads = piece.shells, piece.quads[touching]
    part = Shells(s.corners[touching], s.thickness[touching], s.E[touching], s.nu[touching])
    motion = piece.motion[quads].reshape(len(quads), -1)
    sx, sy, txy = np.moveaxis(shell.stress(part, motion).membrane[:, 1:], -1, 0)
    along = shell.axes(part)[:, :2] @ direction
    a, b = (along / np.linalg.norm(along, axis=1)[:, None]).T[:, :, None]
    normal = sx * a**2 + sy * b**2 + 2.0 * txy * a * b
    return [float(normal[quads == node].mean()) for node in nodes]
