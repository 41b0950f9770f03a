"""What happens inside the joints that are taken as sheet metal: movement and stress.

At a weld's corner the shells' stress grows without bound as they get smaller: there it
ranks joints, and is no limit.  A depth away it is what a beam's stress is, and where a
member is metal from end to end it stands in the beam's place.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.element import shell
from fea.element.shell import Shells
from fea.frame import path
from fea.frame.model import Frame, Member
from fea.mesh.sheet import edge
from fea.result.disturbed import Spot, nearest, spots
from fea.result.stress import Peak
from fea.solve.condense import MIRROR, Kept, Metal

Array = NDArray[np.float64]
Index = NDArray[np.intp]

ACROSS = 0.7
"""A quadrilateral whose normal lies along its member's path by more than this cosine is of a
plate across it."""

DEPTHS = (1.0, 0.5)
"""Depths of its section within which welds, plate ends and kinks disturb a member's stress, and
what is made do with where nothing lies further off."""

ALIKE = 1e-3
"""Stresses that differ by less than this share are alike: where a section and its load are
symmetric, round-off shall not say which of two places is told."""

_ROWS = 4096
"""Rows of the recovery, kept in single precision, that are widened at a time."""


@dataclass(frozen=True, eq=False)
class Sheeting:
    """The metal of one patch under one case.

    Attributes
    ----------
    points, movement : (n, 3), mm, vehicle axes
    quads : (m, 4); member : (m,), index into `members`
    width : mm, edge across of the quadrilaterals wanted

    The rest (m,), at the middle of each quadrilateral, MPa:
    von_mises, the worse surface; nominal, von Mises of what a beam knows, the mean through
    the wall and the shear of the wall's own twist; normal, that mean along the member; and
    distance, mm along the member's path, with across, whether it is of a plate across the
    member.
    """

    name: str
    points: Array
    movement: Array
    quads: Index
    member: Index
    members: tuple[str, ...]
    width: float
    von_mises: Array
    nominal: Array
    normal: Array
    distance: Array
    across: NDArray[np.bool_]

    @cached_property
    def middle(self) -> Array:
        """The middle of every quadrilateral, (m, 3), mm."""
        return np.asarray(self.points[self.quads].mean(axis=1))


@dataclass(frozen=True)
class JointPeak:
    """The highest von Mises stress in the metal about a joint, MPa, and where, mm.

    `joint` names the joint, plate end, bulkhead or kink, `member` the metal it is in.
    Taken at the middle of quadrilaterals, on the worse surface: it ranks joints, and is no
    limit.
    """

    joint: str
    member: str
    von_mises: float
    station: float
    offset: float
    height: float


def sheeting(solution: Solution) -> list[Sheeting]:
    """Return the metal of every patch as it moves and is stressed."""
    return [_one(piece, solution.u) for piece in solution.metal]


def _one(piece: Metal, u: Array) -> Sheeting:
    kept, canon, frame = piece.kept, piece.patch.canon, piece.patch.frame
    motion = _recover(kept, piece.canonical(u)).reshape(-1, 6)
    shells = Shells(kept.points[kept.quads], kept.thickness, kept.E, kept.nu)
    moved = motion[kept.quads].reshape(len(kept.quads), -1)
    found = shell.stress(shells, moved, places=shell.CENTRE)
    flip = MIRROR[:3] if canon.mirrored else np.ones(3)
    points = (kept.points + canon.origin) * flip
    distance, along = _on_paths(
        [frame.member(name) for name in canon.members],
        kept.member,
        points[kept.quads].mean(axis=1),
    )
    own = np.einsum("nij,nj->ni", shell.axes(shells), along * flip)
    mean = _turned(found.membrane[:, 0], own)
    normal, shear = mean[:, 0].copy(), mean[:, 2]
    twist = _turned(found.top[:, 0] - found.membrane[:, 0], own)[:, 2]
    mean[:, 2] = np.abs(shear) + np.abs(twist)
    return Sheeting(
        name=piece.patch.name,
        points=points,
        movement=motion[:, :3] * flip,
        quads=kept.quads,
        member=kept.member,
        members=canon.members,
        width=edge(frame, piece.patch.lengths),
        von_mises=np.maximum(found.von_mises_top[:, 0], found.von_mises_bottom[:, 0]),
        nominal=shell.von_mises(mean),
        normal=normal,
        distance=distance,
        across=np.abs(own[:, 2]) > ACROSS,
    )


def _turned(stress: Array, own: Array) -> Array:
    """Return sx sy txy, (n, 3), with x along a direction, (n, 3), in the elements' axes."""
    x, y = own[:, :2].T / np.maximum(np.hypot(own[:, 0], own[:, 1]), 1e-12)
    sx, sy, txy = stress.T
    both = 2.0 * x * y * txy
    return np.column_stack(
        [
            x * x * sx + y * y * sy + both,
            y * y * sx + x * x * sy - both,
            x * y * (sy - sx) + (x * x - y * y) * txy,
        ]
    )


def _recover(kept: Kept, q: Array) -> Array:
    """Return the motions of all points, (6 n,); never the whole recovery in double precision."""
    out = np.empty(len(kept.recover))
    for start in range(0, len(out), _ROWS):
        of = slice(start, start + _ROWS)
        out[of] = kept.recover[of].astype(float) @ q
    return out


def _on_paths(members: Sequence[Member], of: Index, points: Array) -> tuple[Array, Array]:
    """Return distances along the members' paths, (n,), and directions there, (n, 3)."""
    distance, direction = np.zeros(len(points)), np.zeros((len(points), 3))
    for k, member in enumerate(members):
        mine = np.flatnonzero(of == k)
        start, step = member.path[:-1], np.diff(member.path, axis=0)
        arm = points[mine, None] - start
        part = np.clip(np.einsum("nlj,lj->nl", arm, step) / np.sum(step**2, axis=1), 0.0, 1.0)
        gap = np.linalg.norm(arm - part[..., None] * step, axis=2)
        leg = np.argmin(gap, axis=1)
        length = np.linalg.norm(step, axis=1)
        distance[mine] = path.lengths(member.path)[leg]
        distance[mine] += np.take_along_axis(part, leg[:, None], axis=1)[:, 0] * length[leg]
        direction[mine] = (step / length[:, None])[leg]
    return distance, direction


def member_peaks(
    frame: Frame, sheets: Sequence[Sheeting], with_beams: Collection[str] = ()
) -> list[Peak]:
    """Return the highest stress of every member with metal, away from what disturbs it.

    The nominal stress further than a depth of the section from everything that is fixed to
    the member and from its plate ends and kinks.  Of a member of which no metal and no beam
    lies so far off, further than half a depth; a shorter one has none.

    Parameters
    ----------
    with_beams : members that are beams in part
    """
    near = spots(frame)
    best: dict[str, Peak] = {}
    for depths in DEPTHS:
        done = {*best} if depths == DEPTHS[0] else {*best, *with_beams}
        for metal in sheets:
            for k, name in enumerate(metal.members):
                of = np.flatnonzero((metal.member == k) & ~metal.across)
                if name not in done and len(of):
                    peak = _highest(frame.member(name), metal, of, near[name], depths)
                    if peak and (name not in best or peak.utilisation > best[name].utilisation):
                        best[name] = peak
    return list(best.values())


def _highest(
    member: Member, metal: Sheeting, of: Index, near: list[Spot], depths: float
) -> Peak | None:
    """Return the peak among some quadrilaterals of a member, None if all lie near a spot."""
    distance = metal.distance[of]
    ends = [r.end for r in member.runs[:-1]]
    run = np.searchsorted(ends, distance)
    depth = np.array([max(r.section.depth, r.section.width) for r in member.runs])
    limit = np.array([r.weakest_yield or r.material.yield_stress for r in member.runs])
    _, gap = nearest(near, distance)
    use = np.where(gap > depths * depth[run], metal.nominal[of] / limit[run], -1.0)
    top = _first(use, metal.middle[of])
    if use[top] < 0.0:
        return None
    quad = int(of[top])
    x, y, z = metal.middle[quad].tolist()
    return Peak(
        member=member.name,
        von_mises=float(metal.nominal[quad]),
        normal=float(metal.normal[quad]),
        station=x,
        offset=y,
        height=z,
        utilisation=float(use[top]),
        section=member.runs[int(run[top])].section.name,
    )


def _first(value: Array, middle: Array) -> int:
    """Return where a value is highest; of places alike the upper one, then the foremost."""
    highest = value.max()
    alike = np.flatnonzero(value >= highest - ALIKE * abs(highest))
    x, _, z = middle[alike].round(1).T
    return int(alike[np.lexsort((x, -z))[0]])


def merged(beams: Sequence[Peak], metal: Sequence[Peak]) -> list[Peak]:
    """Return one peak per member, that of the higher utilisation, highest stress first."""
    best: dict[str, Peak] = {}
    for peak in (*beams, *metal):
        if peak.member not in best or peak.utilisation > best[peak.member].utilisation:
            best[peak.member] = peak
    return sorted(best.values(), key=lambda p: -p.von_mises)


def joint_peaks(frame: Frame, sheets: Sequence[Sheeting]) -> list[JointPeak]:
    """Return the highest stress about every joint, plate end, bulkhead and kink in metal.

    Within a depth of what is fixed there; where two come so near each other, a
    quadrilateral counts to the nearer.  Highest first.
    """
    near = spots(frame)
    best: dict[str, JointPeak] = {}
    for metal in sheets:
        for k, member in enumerate(metal.members):
            of = np.flatnonzero(metal.member == k)
            runs = frame.member(member).runs
            depth = max(max(r.section.depth, r.section.width) for r in runs)
            spot, gap = nearest(near[member], metal.distance[of])
            for s in np.unique(spot[gap <= depth]):
                mine = of[(spot == s) & (gap <= depth)]
                quad = int(mine[_first(metal.von_mises[mine], metal.middle[mine])])
                name, value = near[member][s].name, float(metal.von_mises[quad])
                if name not in best or value > (1.0 + ALIKE) * best[name].von_mises:
                    best[name] = JointPeak(name, member, value, *metal.middle[quad].tolist())
    return sorted(best.values(), key=lambda p: -p.von_mises)
