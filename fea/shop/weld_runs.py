"""Every joint and seam that is to be welded, as runs of a chosen length.

Seams: both edges of every boxing plate of the parts that are being welded in, cut at changes of
section and into equal runs no longer than asked for; where the document stitches a plate, a run
is the stitches over that length.  Ends: the outline of every welded end of the parts'
crossmembers and braces, wall by wall.  Bulkheads, gussets, the crossing of an X and welds along
the edges of flanges are not among them.  Whatever else the frame holds is welded already.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.frame import path
from fea.frame.crossing import axes_at, runs_at
from fea.frame.model import Frame, Joint, Member, Run
from fea.mesh.joints import end_rules
from fea.section.midline import Midline
from fea.section.seam import Stitch
from fea.section.wear import walls_called
from fea.shop.weld_shrinkage import fillet_area

Array = NDArray[np.float64]
Kind = Literal["seam", "end"]

PLATE = "plate"
"""What the wall of a boxing plate is called in its section."""

ROUND = "all round"
"""Where a run lies that goes once round a member's end."""

RUN = 75.0
"""Length of a run, mm: about three inches, common practice, no source."""

ZONE = 10.0
"""Length at a member's end over which the weld shrinks and the tacks give, mm: an estimate.
What a joint shortens by does not depend on it."""


@dataclass(frozen=True, eq=False)
class Stretch:
    """A length of a member that the runs on it stiffen: between cuts of a seam, or an end.

    Attributes
    ----------
    start, end : mm along the member
    line : its section as built, cut so that every run has whole walls
    """

    member: str
    kind: Kind
    start: float
    end: float
    line: Midline
    E: float
    G: float


@dataclass(frozen=True, eq=False)
class WeldRun:
    """One run.

    Attributes
    ----------
    part : what is being welded in; stretch : number of its stretch
    side : of the vehicle; edge : where in the section, in words
    end : "start" or "end" of a member, empty for a seam
    length : mm of weld; leg : mm; sheets : mm, both walls together
    weights : (2m,), share of the run at each recovery point of the stretch's section
    walls : (k,), walls of the stretch's section that an end's run welds
    ends : (2, 3), mm, where it begins and ends, vehicle axes
    """

    part: str
    member: str
    kind: Kind
    stretch: int
    side: str
    edge: str
    end: str
    length: float
    leg: float
    sheets: float
    weights: Array
    walls: NDArray[np.intp]
    ends: Array

    @property
    def area(self) -> float:
        """Cross-section of the weld, mm2."""
        return fillet_area(self.leg)

    @property
    def middle(self) -> Array:
        """Its middle, (3,), mm."""
        return np.asarray(self.ends.mean(axis=0))

    def name(self) -> str:
        """Return the run in words."""
        front, rear = sorted(self.ends[:, 0])
        if self.kind == "seam":
            return f"{self.member}, {self.edge} seam, station {front:.0f} to {rear:.0f}"
        return f"{self.member}, {self.side} end, {self.edge}"


@dataclass(frozen=True, eq=False)
class WeldPlan:
    """The runs of some parts of a frame, with the stretches they lie on."""

    frame: Frame
    parts: tuple[str, ...]
    runs: tuple[WeldRun, ...]
    stretches: tuple[Stretch, ...]

    def places(self) -> dict[str, list[float]]:
        """Return where the mesh needs nodes: member -> distances, mm."""
        out: dict[str, list[float]] = {}
        for s in self.stretches:
            out.setdefault(s.member, []).extend((s.start, s.end))
        return out


def plan(
    frame: Frame,
    parts: Collection[str],
    *,
    run: float = RUN,
    leg: float | None = None,
    stitches: Mapping[str | None, Stitch] | None = None,
) -> WeldPlan:
    """Return the runs that weld some parts in.

    Parameters
    ----------
    parts : names of fitted parts
    run : mm, longest run
    leg : mm, of every fillet; the thinner of both walls unless given
    stitches : part -> how its plates are stitched

    Raises
    ------
    ModelError
        If there is nothing to weld.
    """
    stretches: list[Stretch] = []
    runs: list[WeldRun] = []
    for member in frame.members:
        for piece in member.runs:
            if piece.part in parts and piece.part is not None and _has_plate(piece):
                stitch = (stitches or {}).get(piece.part)
                _seams(member, piece, run, leg, stitch, stretches, runs)
    for joint in frame.joints:
        member = frame.member(joint.member)
        if member.part in parts and joint.kind != "bolted":
            _end(frame, member, joint, run, leg, stretches, runs)
    if not runs:
        raise ModelError(
            Complaint(
                "there must be something to weld: a boxing plate or a welded crossmember",
                where=frame.name,
                found=", ".join(sorted(parts)) or "no parts",
                do="name parts with --parts",
            )
        )
    return WeldPlan(frame, tuple(sorted(parts)), tuple(runs), tuple(stretches))


def _has_plate(run: Run) -> bool:
    line = run.section.midline
    return bool(line.names) and bool(walls_called(line, PLATE).any())


def _seams(
    member: Member,
    piece: Run,
    longest: float,
    leg: float | None,
    stitch: Stitch | None,
    stretches: list[Stretch],
    runs: list[WeldRun],
) -> None:
    line = piece.section.midline
    plate = walls_called(line, PLATE)
    edges = sorted(set(line.walls[plate].ravel()) & set(line.walls[~plate].ravel()))
    share = min(1.0, stitch.weld / stitch.pitch) if stitch is not None else 1.0
    count = max(1, int(np.ceil((piece.end - piece.start) / longest - 1e-9)))
    words = _edge_words(line.points[edges])
    cuts = np.linspace(piece.start, piece.end, count + 1)
    for a, b in pairwise(cuts):
        number = len(stretches)
        metal = piece.material
        stretches.append(Stretch(member.name, "seam", float(a), float(b), line, metal.E, metal.G))
        for corner, word in zip(edges, words, strict=True):
            touch = (line.walls == corner).any(axis=1)
            t = (float(line.thickness[touch & plate][0]), float(line.thickness[touch & ~plate][0]))
            weights = (line.walls == corner).astype(np.float64).ravel()
            runs.append(
                WeldRun(
                    part=piece.part or "",
                    member=member.name,
                    kind="seam",
                    stretch=number,
                    side=member.side,
                    edge=word,
                    end="",
                    length=float(b - a) * share,
                    leg=min(t) if leg is None else leg,
                    sheets=sum(t),
                    weights=weights / weights.sum(),
                    walls=np.zeros(0, dtype=np.intp),
                    ends=np.array([_at(member, float(d), line.points[corner]) for d in (a, b)]),
                )
            )


def _edge_words(points: Array) -> list[str]:
    """Return what the two edges of a plate are called."""
    across = 1 if np.ptp(points[:, 1]) >= np.ptp(points[:, 0]) else 0
    low, high = ("bottom", "top") if across == 1 else ("left", "right")
    return [low if p < points[:, across].mean() else high for p in points[:, across]]


def _at(member: Member, distance: float, point: Array) -> Array:
    """Return where a point of the section lies, (3,), vehicle axes, mm."""
    axes = axes_at(member, distance)
    base = path.point_at(member.path, distance)
    return np.asarray(base + point[0] * axes[1] + point[1] * axes[2])


def _end(
    frame: Frame,
    member: Member,
    joint: Joint,
    longest: float,
    leg: float | None,
    stretches: list[Stretch],
    runs: list[WeldRun],
) -> None:
    whole = float(path.lengths(member.path)[-1])
    first, last = end_rules(frame, member)
    at_start = joint.end == "start"
    start, end = (0.0, first.rigid + ZONE) if at_start else (whole - last.rigid - ZONE, whole)
    piece = member.runs[0 if at_start else -1]
    line, group = outline(piece.section.midline, longest)
    number = len(stretches)
    metal = piece.material
    stretches.append(Stretch(member.name, "end", start, end, line, metal.E, metal.G))
    place = first.rigid if at_start else whole - last.rigid
    tip = path.point_at(member.path, 0.0 if at_start else whole)
    onto = runs_at(frame.member(joint.onto), joint.distance)[0].section.midline
    wall = float(onto.thickness[onto.held_wall])
    size = np.linalg.norm(np.diff(line.points[line.walls], axis=1)[:, 0], axis=1)
    words = _facing(axes_at(member, place), line, group)
    side = "right" if tip[1] > 1.0 else "left" if tip[1] < -1.0 else "centre"
    for k in range(int(group.max()) + 1):
        walls = np.flatnonzero(group == k)
        weights = np.zeros((len(line.walls), 2))
        weights[walls] = 0.5 * size[walls, None] / size[walls].sum()
        thinner = float(line.thickness[walls].min())
        corners = line.points[[line.walls[walls[0], 0], line.walls[walls[-1], 1]]]
        runs.append(
            WeldRun(
                part=member.part or "",
                member=member.name,
                kind="end",
                stretch=number,
                side=side,
                edge=words[k],
                end=joint.end,
                length=float(size[walls].sum()),
                leg=min(thinner, wall) if leg is None else leg,
                sheets=thinner + wall,
                weights=weights.ravel(),
                walls=walls,
                ends=np.array([_at(member, place, c) for c in corners]),
            )
        )


def _facing(axes: Array, line: Midline, group: NDArray[np.intp]) -> list[str]:
    """Return in words which way the walls of each run face; twins are told by where they lie."""
    centre = 0.5 * (line.points.min(axis=0) + line.points.max(axis=0))
    names, lies = [], []
    for k in range(int(group.max()) + 1):
        ends = line.points[line.walls[group == k]]
        step = (ends[:, 1] - ends[:, 0]).sum(axis=0)
        if np.linalg.norm(step) < 1e-6 * np.ptp(line.points):
            return [ROUND]  # one run joins its own end
        offset = ends.mean(axis=(0, 1)) - centre
        normal = np.array([step[1], -step[0]]) / np.linalg.norm(step)
        names.append(_way(axes, normal * np.sign(normal @ offset)))
        lies.append(offset - normal * (normal @ offset))
    return [
        f"{name}, {_way(axes, lie)} half" if names.count(name) > 1 else name
        for name, lie in zip(names, lies, strict=True)
    ]


def _way(axes: Array, offset: Array) -> str:
    """Return which way an offset in the section points, in words."""
    way = offset[0] * axes[1] + offset[1] * axes[2]
    k = int(np.argmax(np.abs(way)))
    return (("front", "rear"), ("left", "right"), ("bottom", "top"))[k][int(way[k] > 0.0)]


def outline(line: Midline, longest: float) -> tuple[Midline, NDArray[np.intp]]:
    """Return a section with its walls cut to at most `longest`, and the run of each, (m,).

    Short walls that follow each other, as round a tube, share a run up to that length.
    """
    ends = line.points[line.walls]
    size = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    points = list(line.points)
    walls: list[tuple[int, int]] = []
    source: list[int] = []
    for k, (a, b) in enumerate(line.walls):
        count = max(1, int(np.ceil(size[k] / longest - 1e-9)))
        chain = [int(a)]
        for i in range(1, count):
            points.append(ends[k, 0] + (ends[k, 1] - ends[k, 0]) * i / count)
            chain.append(len(points) - 1)
        walls += list(pairwise([*chain, int(b)]))
        source += [k] * count
    of = np.array(source, dtype=np.intp)
    fine = replace(
        line,
        points=np.array(points),
        walls=np.array(walls, dtype=np.intp),
        thickness=line.thickness[of],
        held_wall=int(np.flatnonzero(of == line.held_wall)[0]),
        names=tuple(line.names[k] for k in of) if line.names else (),
        normal_factor=None if line.normal_factor is None else line.normal_factor[of],
        shear_factor=None if line.shear_factor is None else line.shear_factor[of],
        metal_factor=None if line.metal_factor is None else line.metal_factor[of],
    )
    return fine, _grouped(fine, longest)


def _grouped(line: Midline, longest: float) -> NDArray[np.intp]:
    ends = line.points[line.walls]
    size = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    # As many runs as it takes, about equally long; a wall longer than half a run is one alone.
    short = size < 0.5 * longest
    group = np.zeros(len(size), dtype=np.intp)
    total = float(size[short].sum())
    goal = total / max(1, int(np.ceil(total / longest - 1e-9))) if total else longest
    number, filled = -1, np.inf
    for k, length in enumerate(size):
        if not short[k] or filled + 0.5 * length > goal:
            number, filled = number + 1, 0.0
        group[k] = number
        filled = filled + length if short[k] else np.inf
    return group
