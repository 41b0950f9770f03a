"""Part or all of a frame as sheet metal: swept members welded and bolted to each other.

Freedoms: six a node (ux uy uz rx ry rz), then seven for every cut, where a member goes on
as a beam (:mod:`fea.mesh.section_motion`).

The end of a welded member is cut to the shape of the wall it stands on and tied to it; nodes
that miss the metal stay free.  A member welded to the flanges too is tied to every flange it
lies against, one that passes through to every wall on its way (the walls are not cut out
inside it).  A bolted member ends in a rigid plate, held on the wall by springs at its bolts.
"""

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from fea.element import beam
from fea.element.shell import Shells, least_corner
from fea.errors import Complaint, ModelError
from fea.frame import path
from fea.frame.crossing import tip
from fea.frame.model import Bulkhead, Frame, Joint
from fea.mesh import bulkhead, seams, weld
from fea.mesh.bolts import Pattern, has_pattern, pattern, ring_springs
from fea.mesh.cope import cope, slides
from fea.mesh.ends import LAP_GAP, trim
from fea.mesh.gusset import Triangle, triangles
from fea.mesh.mesh import Rows, stack_rows, turned
from fea.mesh.piece import Cut, Length, Sheet
from fea.mesh.section_motion import reference, tie_to_beam
from fea.mesh.sweep import Swept, sweep
from fea.mesh.tie import Ties

Array = NDArray[np.float64]
Index = NDArray[np.intp]

SIZE = 12.0
"""Wanted edge of a quadrilateral across a member, mm; see :func:`edge`."""

PER_DEPTH = 10
"""Edges over the depth of the largest section, where that gives longer ones."""

LONG = 4.0
"""Edge along a member away from welds and kinks, over the edge across.

From 2 to 4 the stiffness of ladders changes by 0.1 to 0.2 %; rectangles do not lock.
"""

MISS = 3.0
"""A weld reaches an end node that lies so far off the metal, mm."""

NO_ARM = 0.6
"""A row so near to a seat, mm along the member, stands for it as it is."""

GUSSET_REACH = 30.0
"""Likewise the edge of a gusset, over the gap that a crossmember's flange leaves."""


def edge(frame: Frame, lengths: Sequence[Length], coarse: float = 1.0) -> float:
    """Return the wanted edge of a quadrilateral across the members of some lengths, mm.

    A tenth of the deepest section, :data:`SIZE` at least; `coarse` times as much for studies.
    """
    runs = [r for le in lengths for r in frame.member(le.member).runs]
    deepest = max(max(r.section.depth, r.section.width) for r in runs)
    return coarse * max(SIZE, deepest / PER_DEPTH)


def sheet(
    frame: Frame,
    lengths: Sequence[Length],
    seats: Mapping[str, Sequence[float]],
    size: float | None = None,
) -> Sheet:
    """Return the sheet metal of some lengths of a frame's members.

    Parameters
    ----------
    lengths : which members, from where to where
    seats : member -> places where something outside acts on the reference line
    size : mm, wanted edge of the quadrilaterals; :func:`edge` by default

    Raises
    ------
    ModelError
        If a quadrilateral would not be convex, or bolts do not fit on their wall.
    """
    return _Build(frame, lengths, seats, size or edge(frame, lengths)).finish()


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
        self.patterns: dict[tuple[str, str], Pattern] = {
            (j.member, j.end): pattern(frame, j) for j in self.joints if has_pattern(j)
        }
        self.trims = {(j.member, j.end): trim(frame, j) for j in self.joints}
        self.swept = [self._sweep(length) for length in self.lengths]
        self.offset = np.cumsum([0] + [len(s.points) for s in self.swept])
        self.points = np.concatenate([s.points for s in self.swept])
        self.quads = np.concatenate(
            [s.quads + o for s, o in zip(self.swept, self.offset[:-1], strict=True)]
        )
        self.member = np.repeat(np.arange(len(self.swept)), [len(s.quads) for s in self.swept])
        self.metal = np.concatenate([np.column_stack([s.thickness, s.E, s.nu]) for s in self.swept])
        for joint in self.joints:
            if joint.kind not in ("rigid", "bolted"):
                self._cope(joint)
        self.plates = {key: self._add(p.centre[None]) for key, p in self.patterns.items()}
        self.gussets = [
            (j, t, self._add_gusset(j, t)) for j in self.joints for t in triangles(frame, j, size)
        ]
        self.bulkheads = [
            (k, plate, self._add_bulkhead(k, b, plate))
            for k, length in enumerate(self.lengths)
            for b in frame.bulkheads
            if b.member == length.member and length.start <= b.distance <= length.end
            for plate in [bulkhead.mesh(frame.member(b.member), b, size)]
        ]
        self.n = 6 * len(self.points)
        self.ties = Ties(self.points)
        self.cuts: list[Cut] = []
        self.unwelded: list[str] = []
        self.springs: list[Rows] = []
        self.spring_stiffness: list[float] = []
        self.spring_joint: list[int] = []

    def _meets(self, joint: Joint) -> bool:
        """Whether both sides of a joint are among the lengths."""
        if joint.kind == "bolted" and not has_pattern(joint):
            return False
        at = seams.end_distance(self.frame.member(joint.member), joint.end)
        return any(
            le.member == joint.member and (le.start if joint.end == "start" else le.end) == at
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
        hints, levels = seams.marks(self.frame, self.joints, self.patterns, member, self.size)
        stations = list(self.seats.get(member.name, ()))
        stations += [b.distance for b in self.frame.bulkheads if b.member == member.name]
        stations = [s for s in stations if start < s < end]
        return sweep(
            member,
            start,
            end,
            LONG * self.size,
            across=self.size,
            stations=stations,
            hints=hints,
            levels=levels,
            zones=seams.zones(self.frame, self.joints, member, self.size),
        )

    def _sides(self, joint: Joint) -> tuple[int, Index]:
        """Return which length a joint's member is, and the quads of the other side near it."""
        name, at = joint.member, seams.end_distance(self.frame.member(joint.member), joint.end)
        mine = next(
            k
            for k, le in enumerate(self.lengths)
            if le.member == name and (le.start if joint.end == "start" else le.end) == at
        )
        onto = next(
            k
            for k, le in enumerate(self.lengths)
            if le.member == joint.onto and le.start <= joint.distance <= le.end
        )
        target = np.flatnonzero(self.member == onto)
        run = self.frame.member(name).runs[0 if joint.end == "start" else -1]
        reach = 2.0 * max(run.section.depth, run.section.width) + 300.0 + seams.legs(joint)
        centre = path.point_at(self.frame.member(joint.onto).path, joint.distance)
        middle = self.points[self.quads[target]].mean(axis=1)
        return mine, target[np.linalg.norm(middle - centre, axis=1) < reach]

    def _last_row(self, mine: int, joint: Joint) -> Index:
        rows = self.swept[mine].rows
        at = min(rows) if joint.end == "start" else max(rows)
        return np.asarray(rows[at] + self.offset[mine])

    def _cope(self, joint: Joint) -> None:
        mine, near = self._sides(joint)
        member = self.frame.member(joint.member)
        point, inward = tip(member, joint.end)
        cut_off = self.trims[joint.member, joint.end]
        row = self.points[self._last_row(mine, joint)]
        axis_point = point + cut_off * inward
        slide = slides(row, axis_point, inward, self.points[self.quads[near]])
        if np.max(np.abs(slide)) > 1e-6:
            at = seams.end_distance(member, joint.end)
            walls = [abs(t - at) - cut_off for t in seams.inner_walls(self.frame, joint)]
            own = self.points[self.offset[mine] : self.offset[mine + 1]]
            rows = self.swept[mine].rows
            # The other end may be cut to a wall as well.
            share = 0.95 if self.lengths[mine].cuts else 0.45
            span = (max([0.0, *walls]), share * (max(rows) - min(rows)))
            cope(self.swept[mine], own, joint.end, slide, inward, span)

    def _add(self, points: Array) -> int:
        """Add nodes; return the number of the first."""
        first = len(self.points)
        self.points = np.concatenate([self.points, points])
        return first

    def _add_gusset(self, joint: Joint, plate: Triangle) -> int:
        mine, _ = self._sides(joint)
        metal = self.frame.member(joint.member).runs[0 if joint.end == "start" else -1].material
        assert joint.gusset is not None
        row = [joint.gusset.wall, metal.E, metal.G, metal.nu]
        return self._add_plate(mine, plate.points, plate.quads, row)

    def _add_plate(self, k: int, points: Array, quads: Index, metal: list[float]) -> int:
        """Add a plate to a length's metal; return the number of its first node."""
        first = self._add(points)
        self.quads = np.concatenate([self.quads, quads + first])
        self.member = np.concatenate([self.member, np.full(len(quads), k)])
        self.metal = np.concatenate([self.metal, np.tile(metal, (len(quads), 1))])
        return first

    def _add_bulkhead(self, k: int, b: Bulkhead, plate: bulkhead.Plate) -> int:
        row = [b.wall, b.material.E, b.material.G, b.material.nu]
        return self._add_plate(k, plate.points, plate.quads, row)

    def finish(self) -> Sheet:
        t, E, nu = self.metal[:, 0], self.metal[:, 1:3], self.metal[:, 3]
        shells = Shells(self.points[self.quads], t, E, nu)
        self._check(shells)
        for k, length in enumerate(self.lengths):
            self._cut_ends(k, length)
            for node, i, j, f in self.swept[k].follows:
                at = self.offset[k]
                self.ties.follow(node + at, np.array([i, j]) + at, np.array([1.0 - f, f]))
        for joint in self.joints:
            fixed = self._bolt(joint) if has_pattern(joint) else self._weld(joint)
            if not fixed:
                self.unwelded.append(f"{joint.member}, {joint.end}, on {joint.onto}")
        for joint, plate, first in self.gussets:
            self._weld_gusset(joint, plate, first)
        for k, across, first in self.bulkheads:
            swept = self.swept[k].quads + self.offset[k]
            self.ties.attach(across.rim + first, swept, MISS)
        return Sheet(
            points=self.points,
            quads=self.quads,
            shells=shells,
            member=self.member,
            members=tuple(le.member for le in self.lengths),
            ties=self.ties.rows,
            slaves=self.ties.slaves,
            cuts=tuple(self.cuts),
            seats=self._seat_rows(),
            n_freedoms=self.n,
            unwelded=tuple(self.unwelded),
            springs=stack_rows(self.springs),
            spring_stiffness=np.array(self.spring_stiffness),
            spring_joint=np.array(self.spring_joint, dtype=np.intp),
            bolted=tuple(self.patterns),
        )

    def _check(self, shells: Shells) -> None:
        bad = np.unique(self.member[least_corner(shells) <= 0.0])
        if len(bad):
            raise ModelError(
                *(
                    Complaint(
                        "the sheet metal of a member must not fold back on itself",
                        where=self.lengths[k].member,
                        found=f"between {self.lengths[k].start:.0f} and "
                        f"{self.lengths[k].end:.0f} mm along it",
                        do="look for sharp corners close together, or an end cut very slant",
                    )
                    for k in bad
                )
            )

    def _cut_ends(self, k: int, length: Length) -> None:
        member, swept = self.frame.member(length.member), self.swept[k]
        for distance in length.cuts:
            first = self.n
            self.n += beam.N_FREEDOMS
            point = path.point_at(member.path, distance)
            self.cuts.append(Cut(member.name, distance, point, first))
            row = swept.rows[distance] + self.offset[k]
            tie_to_beam(self.ties, member, distance, row, swept.profiles[distance], first)

    def _weld(self, joint: Joint) -> int:
        """Weld a member's end; say how many nodes were tied."""
        mine, near = self._sides(joint)
        row, quads = self._last_row(mine, joint), self.quads[near]
        # A rigid joint has no wall to be cut to: it takes what is near.
        found = self.ties.attach(row, quads, 2.0 * self.size if joint.kind == "rigid" else MISS)
        if joint.kind == "web_and_flanges":
            found += self._lap(mine, near)
        swept = self.swept[mine]
        for s in seams.inner_walls(self.frame, joint):
            key = min(swept.rows, key=lambda r: abs(r - s))
            if abs(key - s) < 1e-3:
                reach = MISS if joint.kind == "through" else 0.5
                found += self.ties.attach(swept.rows[key] + self.offset[mine], quads, reach)
        return found

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
            nodes = nodes[~self.ties.taken[nodes]]
            found = weld.locate(self.points[nodes], corners[flat], LAP_GAP)
            for node, q, w, gap in zip(nodes, found.quad, found.weight, found.gap, strict=True):
                inside = q >= 0 and abs(abs(gap @ direction) - np.linalg.norm(gap)) < 0.1
                if inside:
                    self.ties.follow(int(node), self.quads[target[flat][q]], w, gap)
                    count += 1
        return count

    def _weld_gusset(self, joint: Joint, plate: Triangle, first: int) -> None:
        mine, near = self._sides(joint)
        own = np.flatnonzero((self.member == mine) & (self.quads.max(axis=1) < self.offset[-1]))
        self.ties.attach(plate.on_rail + first, self.quads[near], GUSSET_REACH)
        self.ties.attach(plate.on_member + first, self.quads[own], MISS)

    def _bolt(self, joint: Joint) -> int:
        """Put a rigid plate on a member's end and bolts between it and the wall."""
        mine, near = self._sides(joint)
        key = (joint.member, joint.end)
        bolts, plate = self.patterns[key], self.plates[key]
        for node in self._last_row(mine, joint):
            self.ties.follow(int(node), np.array([plate]), np.ones(1))
        springs, stiffness = ring_springs(bolts, plate, self.points, self.quads[near])
        self.springs += springs
        self.spring_stiffness += stiffness
        self.spring_joint += [list(self.patterns).index(key)] * len(stiffness)
        return len(springs)

    def _seat_rows(self) -> dict[tuple[str, float], Rows]:
        out: dict[tuple[str, float], Rows] = {}
        for k, length in enumerate(self.lengths):
            member, swept = self.frame.member(length.member), self.swept[k]
            for distance in self.seats.get(length.member, ()):
                if not length.start <= distance <= length.end:
                    continue
                key = min(swept.rows, key=lambda r: abs(r - distance))
                row = swept.rows[key] + self.offset[k]
                own = reference(member, key, row, swept.profiles[key], self.points)
                if abs(key - distance) > NO_ARM:  # beyond where the member is cut off
                    ends = path.point_at(member.path, np.array([key, distance]))
                    move = np.eye(6)
                    move[:3, 3:] = -beam.cross_matrix(ends[1] - ends[0])
                    own = turned(own, move)
                out[member.name, distance] = own
        return out
