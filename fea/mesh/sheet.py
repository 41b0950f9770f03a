"""Part or all of a frame as sheet metal: swept members welded to each other.

Freedoms: six a node (ux uy uz rx ry rz), then seven for every cut, where a member goes on
as a beam.  Over a cut the metal moves as the beam's section does: rigid in its plane,
axially by the plane and by warping; how a wall bends out of its plane is left free.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.element import beam
from fea.element.beam import Beams, beam_axes
from fea.element.shell import Shells
from fea.frame import path
from fea.frame.model import Frame, Joint, Member
from fea.mesh import weld
from fea.mesh.joints import runs_at
from fea.mesh.mesh import Rows, stack_rows
from fea.mesh.sweep import Profile, Swept, cut, place_section, sweep
from fea.section.properties import SectionProperties, properties

Array = NDArray[np.float64]
Index = NDArray[np.intp]

SIZE = 12.0
"""Wanted edge of a quadrilateral across a member, mm."""

LONG = 2.0
"""Edge along a member away from welds and kinks, over the edge across."""

FINE = 0.5
"""Edge along the path near a weld, over the edge elsewhere."""

MARGIN = 25.0
"""How far beyond the welded edges the fine mesh reaches, mm."""

LAP_GAP = 30.0
"""Flanges nearer than this, mm, are welded to each other through a shim."""


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


def sheet(
    frame: Frame,
    lengths: Sequence[Length],
    seats: Mapping[str, Sequence[float]],
    size: float = SIZE,
) -> Sheet:
    """Return the sheet metal of some lengths of a frame's members.

    Parameters
    ----------
    lengths : which members, from where to where
    seats : member -> places where something outside acts on the reference line
    size : mm, wanted edge of the quadrilaterals
    """
    return _Build(frame, lengths, seats, size).finish()


class _Build:
    def __init__(
        self,
        frame: Frame,
        lengths: Sequence[Length],
        seats: Mapping[str, Sequence[float]],
        size: float,
    ) -> None:
        self.frame, self.size = frame, size
        self.lengths = list(lengths)
        self.seats = seats
        self.joints = [j for j in frame.joints if self._meets(j)]
        self.trims = {(j.member, j.end): trim(frame, j) for j in self.joints}
        self.swept = [self._sweep(length) for length in self.lengths]
        self.offset = np.cumsum([0] + [len(s.points) for s in self.swept])
        self.points = np.concatenate([s.points for s in self.swept])
        self.n = 6 * len(self.points)
        self.slave: list[int] = []
        self.rows: list[Rows] = []
        self.taken = np.zeros(len(self.points), dtype=bool)
        self.cuts: list[Cut] = []
        self.unwelded: list[str] = []

    def _meets(self, joint: Joint) -> bool:
        """Whether both sides of a joint are among the lengths."""
        if joint.kind == "bolted":
            return False
        member = self.frame.member(joint.member)
        whole = float(path.lengths(member.path)[-1])
        tip = 0.0 if joint.end == "start" else whole
        return any(
            le.member == joint.member and (le.start if joint.end == "start" else le.end) == tip
            for le in self.lengths
        ) and any(
            le.member == joint.onto and le.start <= joint.distance <= le.end for le in self.lengths
        )

    def _sweep(self, length: Length) -> Swept:
        member = self.frame.member(length.member)
        whole = float(path.lengths(member.path)[-1])
        start, end = length.start, length.end
        if start == 0.0:
            start += self.trims.get((member.name, "start"), 0.0)
        if end == whole:
            end -= self.trims.get((member.name, "end"), 0.0)
        hints, levels = self._marks(length)
        stations = [s for s in self.seats.get(member.name, ()) if start < s < end]
        return sweep(
            member,
            start,
            end,
            LONG * self.size,
            across=self.size,
            stations=stations,
            hints=hints,
            levels=levels,
            zones=self._zones(member),
        )

    def _zones(self, member: Member) -> list[tuple[float, float, float]]:
        """Return where a member is meshed finely: under and beside what is welded to it."""
        out = []
        fine = FINE * self.size
        for joint in self.joints:
            other = self.frame.member(joint.member)
            if joint.onto == member.name:
                tip = _tip(other, joint)
                section = other.runs[0 if joint.end == "start" else -1].section.midline
                at, _ = _on_member(
                    member, joint.distance, place_section(other, tip, section.points)
                )
                out.append((float(at.min()) - MARGIN, float(at.max()) + MARGIN, fine))
            if joint.member == member.name:
                lip = max(
                    r.section.width for r in runs_at(self.frame.member(joint.onto), joint.distance)
                )
                whole = float(path.lengths(member.path)[-1])
                reach = lip + MARGIN
                out.append(
                    (0.0, reach, fine) if joint.end == "start" else (whole - reach, whole, fine)
                )
        corners = path.lengths(member.path)
        for corner in corners[1:-1]:  # where the mitre slants the rows
            out.append((float(corner) - 60.0, float(corner) + 60.0, self.size))
        return out

    def _marks(self, length: Length) -> tuple[list[float], list[tuple[int, float]]]:
        """Return stations and wall lines of a member where others are welded to it."""
        onto = self.frame.member(length.member)
        hints: list[float] = []
        levels: list[tuple[int, float]] = []
        for joint in self.joints:
            if joint.onto == onto.name:
                member = self.frame.member(joint.member)
                section = member.runs[0 if joint.end == "start" else -1].section.midline
                tip = _tip(member, joint)
                end_points = place_section(member, tip, cut(section, self.size).points)
                if len(end_points) > 8:
                    corners = place_section(member, tip, _corner_points(section.points))
                    distance, level = _on_member(onto, joint.distance, corners)
                    hints += distance.tolist()
                    levels += [(1, float(v)) for v in level]
                distance, _ = _on_member(onto, joint.distance, end_points)
                hints += distance.tolist()
            if joint.member == onto.name:
                hints += self._crossings(joint)
        return hints, levels

    def _crossings(self, joint: Joint) -> list[float]:
        """Return where along a member its axis passes through walls of what it ends on."""
        member = self.frame.member(joint.member)
        whole = float(path.lengths(member.path)[-1])
        reach = _ray(self.frame, joint)
        return [t if joint.end == "start" else whole - t for t in reach if 1.0 < t < 0.5 * whole]

    def finish(self) -> Sheet:
        quads = [s.quads + o for s, o in zip(self.swept, self.offset[:-1], strict=True)]
        self.quads = np.concatenate(quads)
        self.member = np.repeat(np.arange(len(quads)), [len(q) for q in quads])
        for k, length in enumerate(self.lengths):
            self._cut_ends(k, length)
            for node, i, j, f in self.swept[k].follows:
                at = self.offset[k]
                self._follow(node + at, np.array([i, j]) + at, np.array([1.0 - f, f]))
        for joint in self.joints:
            self._weld(joint)
        thickness, E, nu = (
            np.concatenate([getattr(s, v) for s in self.swept]) for v in ("thickness", "E", "nu")
        )
        return Sheet(
            points=self.points,
            quads=self.quads,
            shells=Shells(self.points[self.quads], thickness, E, nu),
            member=self.member,
            members=tuple(le.member for le in self.lengths),
            ties=stack_rows(self.rows),
            slaves=np.array(self.slave, dtype=np.intp),
            cuts=tuple(self.cuts),
            seats=self._seat_rows(),
            n_freedoms=self.n,
            unwelded=tuple(self.unwelded),
        )

    def _tie(self, freedom: int, freedoms: Index, coefficients: Array) -> None:
        keep = coefficients != 0.0
        count = int(keep.sum())
        self.slave.append(int(freedom))
        self.rows.append(
            Rows(
                np.zeros(count, dtype=np.intp),
                freedoms[keep].astype(np.intp),
                coefficients[keep],
                1,
            )
        )

    def _follow(self, node: int, masters: Index, weight: Array, gap: Array | None = None) -> None:
        """Tie a node to the weighted motion of others, across a rigid gap."""
        if self.taken[node]:
            return
        self.taken[node] = True
        if gap is None:
            gap = self.points[node] - weight @ self.points[masters]
        move = np.zeros((6, 6))
        move[:3, :3] = move[3:, 3:] = np.eye(3)
        move[:3, 3:] = -beam.cross_matrix(gap)
        freedoms = (6 * masters[:, None] + np.arange(6)).ravel()
        for c in range(6):
            self._tie(6 * node + c, freedoms, np.outer(weight, move[c]).ravel())

    def _cut_ends(self, k: int, length: Length) -> None:
        for distance in length.cuts:
            self._cut(k, self.frame.member(length.member), distance)

    def _cut(self, k: int, member: Member, distance: float) -> None:
        first = self.n
        self.n += beam.N_FREEDOMS
        point = path.point_at(member.path, distance)
        self.cuts.append(Cut(member.name, distance, point, first))
        swept = self.swept[k]
        profile, row = swept.profiles[distance], swept.rows[distance]
        inside = runs_at(member, distance)
        section = inside[0].section.midline
        p = properties(section)
        corners = path.lengths(member.path)
        leg = int(np.clip(np.searchsorted(corners, distance) - 1, 0, len(corners) - 2))
        direction = path.leg_axes(member.path, member.up)[leg, 0][None]
        frame_axes = beam_axes(direction, member.up[None], np.array([p.angle]))
        block = _section_motion(p, frame_axes, held=1.0 if member.kind == "rail" else 0.0)
        place = (profile.points - p.centroid) @ p.principal_axes.T
        omega = _omega_at(p, section.walls, profile)
        shear = p.principal_axes @ (p.shear_centre - p.centroid)
        freedoms = np.arange(first, first + 7)
        ahead = (self.points[row + self.offset[k]] - point) @ frame_axes[0, 0]
        for node, (y, z), x, w in zip(row + self.offset[k], place, ahead, omega, strict=True):
            self.taken[node] = True
            # Beside a corner the row is slanted: x is how far a node lies ahead of the plane.
            natural = np.stack(
                [
                    block[0] + z * block[4] - y * block[5] + w * block[6],
                    block[1] - (z - shear[1]) * block[3] + x * block[5],
                    block[2] + (y - shear[0]) * block[3] - x * block[4],
                ]
            )
            motion = frame_axes[0].T @ natural
            for c in range(3):
                self._tie(6 * node + c, freedoms, motion[c])
            self._turn_with(node, frame_axes[0, 0], freedoms, block[3])

    def _turn_with(self, node: int, axis: Array, freedoms: Index, twist: Array) -> None:
        """Tie a node's rotation about `axis`; the other two stay free."""
        c = int(np.argmax(np.abs(axis)))
        others = [m for m in range(3) if m != c]
        self._tie(
            6 * node + 3 + c,
            np.concatenate([freedoms, [6 * node + 3 + m for m in others]]),
            np.concatenate([twist, -axis[others]]) / axis[c],
        )

    def _weld(self, joint: Joint) -> None:
        mine = next(k for k, le in enumerate(self.lengths) if le.member == joint.member)
        onto = next(
            k
            for k, le in enumerate(self.lengths)
            if le.member == joint.onto and le.start <= joint.distance <= le.end
        )
        target = np.flatnonzero(self.member == onto)
        near = self._near(target, joint)
        swept = self.swept[mine]
        tip = min(swept.rows) if joint.end == "start" else max(swept.rows)
        row = swept.rows[tip] + self.offset[mine]
        found = self._attach(row, near, reach=2.0 * self.size)
        if joint.kind == "web_and_flanges":
            found += self._lap(mine, near)
        for s in self._crossings(joint):
            key = min(swept.rows, key=lambda r: abs(r - s))
            if abs(key - s) < 1e-3 and key != tip:
                found += self._attach(swept.rows[key] + self.offset[mine], near, reach=0.5)
        if not found:
            self.unwelded.append(f"{joint.member}, {joint.end}, on {joint.onto}")

    def _near(self, target: Index, joint: Joint) -> Index:
        member = self.frame.member(joint.member)
        run = member.runs[0 if joint.end == "start" else -1]
        reach = 2.0 * max(run.section.depth, run.section.width) + 100.0
        centre = path.point_at(self.frame.member(joint.onto).path, joint.distance)
        middle = self.points[self.quads[target]].mean(axis=1)
        return np.asarray(target[np.linalg.norm(middle - centre, axis=1) < reach + 200.0])

    def _attach(self, nodes: Index, target: Index, reach: float) -> int:
        """Tie nodes to the nearest metal of a target within reach; say how many."""
        free = nodes[~self.taken[nodes]]
        found = weld.locate(self.points[free], self.points[self.quads[target]], reach)
        count = 0
        for node, q, w, gap in zip(free, found.quad, found.weight, found.gap, strict=True):
            if q >= 0:
                self._follow(int(node), self.quads[target[q]], w, gap)
                count += 1
        return count

    def _lap(self, mine: int, target: Index) -> int:
        """Weld a member's flanges to the flanges they lie against; say how many nodes."""
        own = np.flatnonzero(self.member == mine)
        corners = self.points[self.quads[target]]
        normal = weld.normals(corners)
        count = 0
        own_normal = weld.normals(self.points[self.quads[own]])
        for direction in np.unique(np.round(own_normal, 3), axis=0):
            walls = own[np.abs(own_normal @ direction) > 0.97]
            flat = np.abs(normal @ direction) > 0.97
            if not np.any(flat):
                continue
            nodes = np.unique(self.quads[walls])
            nodes = nodes[~self.taken[nodes]]
            found = weld.locate(self.points[nodes], corners[flat], LAP_GAP)
            for node, q, w, gap in zip(nodes, found.quad, found.weight, found.gap, strict=True):
                inside = q >= 0 and abs(abs(gap @ direction) - np.linalg.norm(gap)) < 0.1
                if inside:
                    self._follow(int(node), self.quads[target[flat][q]], w, gap)
                    count += 1
        return count

    def _seat_rows(self) -> dict[tuple[str, float], Rows]:
        out: dict[tuple[str, float], Rows] = {}
        for k, length in enumerate(self.lengths):
            member = self.frame.member(length.member)
            for distance in self.seats.get(length.member, ()):
                rows = self.swept[k].rows
                key = min(rows, key=lambda r: abs(r - distance))
                if abs(key - distance) < 0.6:
                    out[member.name, distance] = self._reference(k, member, key)
        return out

    def _reference(self, k: int, member: Member, distance: float) -> Rows:
        """Return six rows: the mean motion of the wall that holds the reference line."""
        run = runs_at(member, distance)[0]
        profile, row = self.swept[k].profiles[distance], self.swept[k].rows[distance]
        strips = np.arange(len(profile.strips))
        if run.section.is_open:
            strips = strips[profile.wall == run.section.midline.held_wall]
        weight = np.zeros(len(profile.points))
        for s in strips:
            a, b = profile.strips[s]
            half = 0.5 * float(np.linalg.norm(profile.points[b] - profile.points[a]))
            weight[a] += half
            weight[b] += half
        nodes = row[weight > 0.0] + self.offset[k]
        share = weight[weight > 0.0] / weight.sum()
        return mean_motion(nodes, self.points[nodes], share, path.point_at(member.path, distance))


def mean_motion(nodes: Index, points: Array, share: Array, at: Array) -> Rows:
    """Return the weighted mean motion of nodes as six rows at a point.

    Rotations are those that fit the nodes' movements best; about the line of nodes that
    lie in one, the mean of their own rotations.
    """
    centre = share @ points
    r = points - centre
    second = np.einsum("k,ki,kj->ij", share, r, r)
    inertia = np.trace(second) * np.eye(3) - second
    value, vector = np.linalg.eigh(inertia)
    good = value > 1e-9 * value[-1]
    inverse = (vector[:, good] / value[good]) @ vector[:, good].T
    along = vector[:, ~good] @ vector[:, ~good].T
    turn = np.zeros((3, len(nodes), 6))
    turn[:, :, :3] = np.einsum("ij,kjl,k->ikl", inverse, beam.cross_matrix(r), share)
    turn[:, :, 3:] += np.einsum("ij,k->ikj", along, share)
    move = np.zeros((3, len(nodes), 6))
    move[:, :, :3] = np.einsum("ij,k->ikj", np.eye(3), share)
    move += np.einsum("ij,jkl->ikl", -beam.cross_matrix(at - centre), turn)
    both = np.concatenate([move, turn]).reshape(6, -1)
    freedom = (6 * nodes[:, None] + np.arange(6)).ravel()
    row, column = np.nonzero(both)
    return Rows(row.astype(np.intp), freedom[column].astype(np.intp), both[row, column], 6)


def _tip(member: Member, joint: Joint) -> float:
    return 0.0 if joint.end == "start" else float(path.lengths(member.path)[-1])


def _corner_points(points: Array) -> Array:
    """Return the extreme corners of a section, so that a ring gives four levels only."""
    if len(points) <= 12:
        return points
    low, high = points.min(axis=0), points.max(axis=0)
    middle = 0.5 * (low + high)
    return np.array(
        [[low[0], middle[1]], [high[0], middle[1]], [middle[0], low[1]], [middle[0], high[1]]]
    )


def _on_member(onto: Member, distance: float, points: Array) -> tuple[Array, Array]:
    """Return distances along a member, and section heights, of points near a place on it."""
    corners = path.lengths(onto.path)
    leg = int(np.clip(np.searchsorted(corners, distance) - 1, 0, len(corners) - 2))
    axes = path.leg_axes(onto.path, onto.up)[leg]
    local = (points - path.point_at(onto.path, distance)) @ axes.T
    return distance + local[:, 0], local[:, 2]


def _ray(frame: Frame, joint: Joint) -> list[float]:
    """Return how far inward from a member's end its axis meets walls of what it ends on."""
    member, onto = frame.member(joint.member), frame.member(joint.onto)
    tip = _tip(member, joint)
    axes = path.leg_axes(member.path, member.up)
    inward = axes[0, 0] if joint.end == "start" else -axes[-1, 0]
    point = path.point_at(member.path, tip)
    corners = path.lengths(onto.path)
    leg = int(np.clip(np.searchsorted(corners, joint.distance) - 1, 0, len(corners) - 2))
    local = path.leg_axes(onto.path, onto.up)[leg]
    start = ((point - path.point_at(onto.path, joint.distance)) @ local.T)[1:]
    step = (inward @ local.T)[1:]
    found: list[float] = []
    for run in runs_at(onto, joint.distance):
        midline = run.section.midline
        for a, b in midline.walls:
            pa, wall = midline.points[a], midline.points[b] - midline.points[a]
            det = step[0] * -wall[1] + step[1] * wall[0]
            if abs(det) > 1e-9:
                rel = pa - start
                t = (rel[0] * -wall[1] + rel[1] * wall[0]) / det
                f = (step[0] * rel[1] - step[1] * rel[0]) / det
                if -0.01 <= f <= 1.01:
                    found.append(float(t))
    return sorted(set(np.round(found, 6).tolist()))


def trim(frame: Frame, joint: Joint) -> float:
    """Return how much of a member's end lies beyond the wall it is welded to, mm.

    It is welded to the wall nearest to the end of its path; of two equally near (a box on
    its centre line) to the one it meets first.
    """
    found = _ray(frame, joint)
    if not found or joint.kind == "rigid":
        return 0.0
    return max(found, key=lambda t: (-round(abs(t), 3), t))


def _section_motion(p: SectionProperties, axes: Array, held: float) -> Array:
    """Return a section's natural motions from its node's seven freedoms, (7, 7)."""
    one, none = np.ones(1), np.zeros((1, 2, 3))
    at = p.principal_axes
    beams = Beams(
        length=one,
        axes=axes,
        arms=none,
        centroid=(at @ p.centroid)[None],
        shear_centre=(at @ p.shear_centre)[None],
        held=none + held * p.held * (p.Cw > 0.0),
        EA=one,
        EI1=one,
        EI2=one,
        GJ=one,
        ECw=one,
        shear=np.zeros((1, 2, 2)),
    )
    return np.asarray(beam.geometry(beams)[0, :7, :7])


def _omega_at(p: SectionProperties, walls: Index, profile: Profile) -> Array:
    """Return the sectorial coordinate of every profile point, linear along each wall."""
    if len(walls) * 2 != len(p.omega) or p.Cw == 0.0 or profile.wall.max() >= len(walls):
        return np.zeros(len(profile.points))
    omega = np.zeros(len(profile.points))
    ends = p.omega.reshape(-1, 2)
    at = np.stack([p.point_y, p.point_z], axis=1).reshape(-1, 2, 2)
    place = (profile.points - p.centroid) @ p.principal_axes.T
    for s, (a, b) in enumerate(profile.strips):
        w = profile.wall[s]
        step = at[w, 1] - at[w, 0]
        for node in (a, b):
            f = float((place[node] - at[w, 0]) @ step / (step @ step))
            omega[node] = ends[w, 0] + f * (ends[w, 1] - ends[w, 0])
    return omega
