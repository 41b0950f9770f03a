"""A length of a member as sheet metal: its midline swept along its path as quadrilaterals.

Corners of the path are mitred.  Where the section changes along the path, walls that go
on share their nodes; a section of another size is carried by the nearest wall of its
neighbour.

Where holes or a stitched seam make a wall softer, its sheet has that much less modulus, as in
the beam's section (:class:`fea.section.midline.Midline`): E times the share that carries normal
stress, along and across the member, since holes weaken both ways; G times the share that
carries shear.  So a seam's slip is spread over the plate that it holds, which shares its
nodes with the flanges.  Bending goes by E: holes take bending stiffness with the metal, and
a stitched plate bends as a plain one.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.model import Member, Run
from fea.section.midline import Midline

Array = NDArray[np.float64]
Index = NDArray[np.intp]

MANY_WALLS = 40
"""A ring of more walls than this stands for a round tube and is meshed with fewer."""

TUBE_SIDES = 24

LEAST_PIECES = 3
"""Elements between two lines that something holds: fewer would miss how a strip bends."""


@dataclass(frozen=True, eq=False)
class Profile:
    """A section's midline cut into pieces.

    Attributes
    ----------
    points : (k, 2), mm, y and z from the section's origin
    strips : (s, 2), pairs of points
    thickness : (s,), mm
    wall : (s,), the midline's wall of each strip
    normal, shear : (s,), shares of its sheet that carry normal stress and shear
    """

    points: Array
    strips: Index
    thickness: Array
    wall: Index
    normal: Array
    shear: Array


@dataclass(frozen=True, eq=False)
class Swept:
    """A swept length of a member.

    Attributes
    ----------
    points : (n, 3), mm
    quads : (m, 4), their x along the member; wall : (m,) of the midline
    thickness, nu : (m,); E : (m, 2), E and G as the sheet has them, MPa
    station : (m,), distance along the path of each quad's middle
    rows : distance along the path -> node numbers of that cross-section, in profile order
    profiles : distance -> the profile of that row
    follows : (slave node, pair of master nodes, share of the second) where sections of
        another size meet
    """

    points: Array
    quads: Index
    thickness: Array
    E: Array
    nu: Array
    wall: Index
    rows: dict[float, Index]
    profiles: dict[float, Profile]
    follows: tuple[tuple[int, int, int, float], ...]


def coarse(midline: Midline) -> Midline:
    """Return a midline with the polygon of a round tube cut down to fewer sides.

    The fewer sides keep the tube's perimeter, so its area; what they enclose is
    (pi/n)^2/3 too small, 0.6 % for 24 sides.
    """
    n = len(midline.walls)
    ring = n > MANY_WALLS and n == len(midline.points) and n % TUBE_SIDES == 0
    if not ring:
        return midline
    keep = midline.points[:: n // TUBE_SIDES]
    centre = keep.mean(axis=0)
    full = np.linalg.norm(np.roll(midline.points, -1, axis=0) - midline.points, axis=1).sum()
    short = np.linalg.norm(np.roll(keep, -1, axis=0) - keep, axis=1).sum()
    number = np.arange(TUBE_SIDES)
    return Midline(
        centre + (keep - centre) * (full / short),
        np.stack([number, (number + 1) % TUBE_SIDES], axis=1),
        np.full(TUBE_SIDES, midline.thickness[0]),
        0,
    )


def cut(midline: Midline, size: float, levels: Iterable[tuple[int, float]] = ()) -> Profile:
    """Return a midline cut into strips of about `size`.

    Parameters
    ----------
    levels : pairs (0 for y or 1 for z, value in mm)
        Lines on which strips must end.
    """
    midline = coarse(midline)
    points = [tuple(p) for p in midline.points.tolist()]
    strips, thickness, wall = [], [], []
    for number, (a, b) in enumerate(midline.walls):
        start, step = midline.points[a], midline.points[b] - midline.points[a]
        length = float(np.linalg.norm(step))
        marks = [0.0, 1.0]
        for axis, value in levels:
            if abs(step[axis]) > 0.2 * length:
                f = float((value - start[axis]) / step[axis])
                if min(abs(f - m) for m in marks) * length > 0.25 * size and 0.0 < f < 1.0:
                    marks.append(f)
        marks.sort()
        before = int(a)
        for low, high in pairwise(marks):
            gap = (high - low) * length
            pieces = max(LEAST_PIECES if gap > 0.4 * size else 1, int(np.ceil(gap / size - 1e-9)))
            if len(midline.walls) == TUBE_SIDES:
                pieces = 1
            for k in range(1, pieces + 1):
                if k == pieces and high == 1.0:
                    after = int(b)
                else:
                    f = low + (high - low) * k / pieces
                    points.append(tuple((start + f * step).tolist()))
                    after = len(points) - 1
                strips.append((before, after))
                thickness.append(float(midline.thickness[number]))
                wall.append(number)
                before = after
    of = np.array(wall, dtype=np.intp)
    shares = [
        np.ones(len(of)) if factor is None else factor[of]
        for factor in (midline.normal_factor, midline.shear_factor)
    ]
    return Profile(np.array(points), np.array(strips), np.array(thickness), of, *shares)


def band_edges(runs: Iterable[Run]) -> list[tuple[int, float]]:
    """Return levels at the edges of softer bands, so that strips go on past their ends."""
    out: dict[tuple[int, float], None] = {}
    for run in runs:
        line = run.section.midline
        if line.normal_factor is None:
            continue
        for a, b in line.points[line.walls[line.normal_factor < 1.0]]:
            axis = int(np.argmax(np.abs(b - a)))
            out |= dict.fromkeys([(axis, float(a[axis])), (axis, float(b[axis]))])
    return list(out)


def place_section(member: Member, distance: float, points: Array) -> Array:
    """Return where section points (k, 2) lie in the vehicle at a place along a member, (k, 3).

    At a corner of the path the section lies in the mitre; away from it the slant fades
    within a depth and a half, or half the leg.
    """
    corners = path.lengths(member.path)
    axes = path.leg_axes(member.path, member.up)
    leg = int(np.clip(np.searchsorted(corners, distance, side="right") - 1, 0, len(axes) - 1))
    across = points[:, :1] * axes[leg, 1] + points[:, 1:] * axes[leg, 2]
    where = path.point_at(member.path, distance) + across
    fade = min(1.5 * float(np.max(np.abs(points))), 0.5 * (corners[leg + 1] - corners[leg]))
    for side, gap in ((-1, distance - corners[leg]), (1, corners[leg + 1] - distance)):
        other = leg + side
        if 0 <= other < len(axes) and gap < fade:
            mitre = axes[leg, 0] + axes[other, 0]
            slide = -(across @ mitre) / float(axes[leg, 0] @ mitre)
            where = where + (1.0 - gap / fade) * slide[:, None] * axes[leg, 0]
    return np.asarray(where)


def sweep(
    member: Member,
    start: float,
    end: float,
    size: float,
    *,
    across: float | None = None,
    stations: Iterable[float] = (),
    hints: Iterable[float] = (),
    levels: Iterable[tuple[int, float]] = (),
    zones: Iterable[tuple[float, float, float]] = (),
) -> Swept:
    """Return the sheet metal of a member between two places along its path.

    Parameters
    ----------
    start, end : float, mm along the path
    size, across : float, mm, wanted edges of the quadrilaterals along and across
    stations : places along the path that need a row of nodes
    hints : places that should have one, where no other is near
    levels : see :func:`cut`
    zones : (from, to, edge) where the quadrilaterals are to be shorter along the path
    """
    zones = list(zones)
    inside = [r for r in member.runs if min(r.end, end) - max(r.start, start) > 1e-6]
    levels = [*band_edges(inside), *levels]
    build = _Build(member, across or size, levels)
    wanted = [*stations, *path.lengths(member.path).tolist()]
    hints = list(hints)
    for run in inside:
        span = max(run.start, start), min(run.end, end)
        build.add(run, subdivide(span, wanted, hints, size, zones))
    return build.finish()


class _Build:
    def __init__(self, member: Member, size: float, levels: list[tuple[int, float]]) -> None:
        self.member, self.size, self.levels = member, size, levels
        self.points: list[Array] = []
        self.count = 0
        self.quads: list[Index] = []
        self.values: list[Array] = []
        self.walls: list[Index] = []
        self.rows: dict[float, Index] = {}
        self.profiles: dict[float, Profile] = {}
        self.follows: list[tuple[int, int, int, float]] = []

    def add(self, run: Run, places: list[float]) -> None:
        profile = cut(run.section.midline, self.size, self.levels)
        rows: list[Index] = []
        for s in places:
            where = place_section(self.member, s, profile.points)
            joins = not rows and s in self.rows
            rows.append(self._join(s, where, profile) if joins else self._new(where))
            self.rows[s], self.profiles[s] = rows[-1], profile
        for before, after in pairwise(rows):
            self._fill(before, after, profile, run)

    def _new(self, where: Array) -> Index:
        self.points.append(where)
        self.count += len(where)
        return np.arange(self.count - len(where), self.count)

    def _join(self, s: float, where: Array, profile: Profile) -> Index:
        """Share the nodes of the run before, or follow its nearest wall."""
        old, old_profile = self.rows[s], self.profiles[s]
        have = np.concatenate(self.points)[old]
        gap = np.linalg.norm(where[:, None] - have[None], axis=2)
        same = gap.min(axis=1) < 1e-3
        other = gap.min(axis=0) < 1e-3
        row = self._new(where[~same]) if not np.all(same) else np.zeros(0, dtype=np.intp)
        out = np.empty(len(where), dtype=np.intp)
        if np.all(same) or np.all(other):  # one section is the other with walls added
            out[same] = old[gap.argmin(axis=1)[same]]
            out[~same] = row
            return out
        out = np.concatenate([row, self._new(where[same])])
        order = np.concatenate([np.flatnonzero(~same), np.flatnonzero(same)])
        result = np.empty(len(where), dtype=np.intp)
        result[order] = out
        a, b = have[old_profile.strips[:, 0]], have[old_profile.strips[:, 1]]
        step = b - a
        for node, point in zip(result, where, strict=True):
            f = np.clip(((point - a) * step).sum(axis=1) / (step**2).sum(axis=1), 0.0, 1.0)
            best = int(np.argmin(np.linalg.norm(a + f[:, None] * step - point, axis=1)))
            i, j = old_profile.strips[best]
            self.follows.append((int(node), int(old[i]), int(old[j]), float(f[best])))
        return result

    def _fill(self, before: Index, after: Index, profile: Profile, run: Run) -> None:
        i, j = profile.strips.T
        quads = np.stack([before[i], after[i], after[j], before[j]], axis=1)
        self.quads.append(quads)
        metal = run.material
        E, G = metal.E * profile.normal, metal.G * profile.shear
        nu = np.full(len(quads), metal.nu)
        self.values.append(np.stack([profile.thickness, E, G, nu], axis=1))
        self.walls.append(profile.wall)

    def finish(self) -> Swept:
        values = np.concatenate(self.values)
        return Swept(
            points=np.concatenate(self.points),
            quads=np.concatenate(self.quads),
            thickness=values[:, 0],
            E=values[:, 1:3],
            nu=values[:, 3],
            wall=np.concatenate(self.walls),
            rows=self.rows,
            profiles=self.profiles,
            follows=tuple(self.follows),
        )


def subdivide(
    span: tuple[float, float],
    wanted: Iterable[float],
    hints: Iterable[float],
    size: float,
    zones: Iterable[tuple[float, float, float]] = (),
) -> list[float]:
    """Return rising places that cover a span in steps of at most `size`.

    Every wanted place inside it is among them, a hint only where no other is near.
    Inside a zone (from, to, edge) the steps are at most its edge.
    """
    low, high = span
    zones = list(zones)
    least = min([size, *(z[2] for z in zones)])
    ends = [low, high]
    for s in wanted:
        if low < s < high and min(abs(s - e) for e in ends) > 1e-3:
            ends.append(s)
    for s in [*hints, *(edge for z in zones for edge in z[:2])]:
        if low < s < high and min(abs(s - e) for e in ends) > 0.3 * least:
            ends.append(s)
    ends.sort()
    out: list[float] = []
    for a, b in pairwise(ends):
        middle = 0.5 * (a + b)
        step = min([size, *(h for z0, z1, h in zones if z0 <= middle <= z1)])
        pieces = max(1, int(np.ceil((b - a) / step - 1e-9)))
        out.extend(np.linspace(a, b, pieces + 1)[:-1].tolist())
    return [*out, high]
