"""Blanks of what is cut from sheet: boxing plates along their rails, bulkheads, gussets.

A boxing plate is cut to stand between the flanges: it reaches to their inner faces, half a
flange's wall short, on either edge, of the plate that the stiffness is computed with.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.crossing import runs_at
from fea.frame.model import Bulkhead, Frame, Material, Member
from fea.mesh.gusset import triangles
from fea.section import shapes
from fea.section.bay import bay
from fea.section.midline import Midline
from fea.shop.flat import Face, Laid, Pattern, chains, lay_out, pattern
from fea.shop.metal_solids import PLATE, cut_ring

if TYPE_CHECKING:
    from fea.document.schema import FrameDocument
    from fea.document.schema_walls import BoxingEntry

Array = NDArray[np.float64]
MIRROR = np.array([1.0, -1.0, 1.0])


@dataclass(frozen=True, eq=False)
class Blank:
    """A piece to cut from sheet.

    Attributes
    ----------
    wall : mm; weld : mm of seam that joins it
    """

    part: str
    name: str
    pattern: Pattern
    wall: float
    material: Material
    weld: float
    note: str = ""
    side: str = ""
    """Of a boxing plate, the side of its rail: drawn as on the right, seen from inboard."""

    @property
    def mass(self) -> float:
        """Its mass, tonne."""
        return self.pattern.area * self.wall * self.material.density


def boxing_blanks(document: "FrameDocument", frame: Frame) -> Iterator[Blank]:
    """Yield the blanks of every boxing plate of a part, a left rail's as if on the right."""
    for part in document.part:
        if part.name not in frame.fitted:
            continue
        for entry in part.boxing:
            for member in frame.members:
                on = entry.side in (None, "both", member.side)
                if member.kind == "rail" and _base(member) == entry.rail and on:
                    yield from _along(document, member, part.name, entry)


def _along(
    document: "FrameDocument", member: Member, part: str, entry: "BoxingEntry"
) -> Iterator[Blank]:
    """Yield the pieces of one plate along one rail."""
    is_left = member.side == "left" and float(member.path[:, 1].mean()) < 0.0
    seen = _mirrored(member) if is_left else member
    span = [path.distance_at_station(seen.path, v) for v in (entry.start, entry.end)]
    groups = chains(list(_faces(seen, part, span[0], span[1])))
    share = 1.0 if entry.stitch is None else entry.stitch.weld / entry.stitch.pitch
    for number, faces in enumerate(groups, start=1):
        laid = lay_out(faces)
        blank = pattern(laid, list(_holes(document, seen, member.side, laid)))
        ends = (faces[0].start, faces[-1].end)
        first, last = (float(path.point_at(seen.path, s)[0]) for s in ends)
        name = f"plate, {_base(member)}, {first:.0f} to {last:.0f}"
        note = f"piece {number} of {len(groups)}" if len(groups) > 1 else ""
        metal = _metal(document, seen, entry)
        yield Blank(
            part, name, blank, entry.plate, metal, share * sum(laid.edges), note, member.side
        )


def bulkhead_blanks(frame: Frame) -> Iterator[Blank]:
    """Yield the blank of every bulkhead of a part, cut to fit inside its rail."""
    for one in frame.bulkheads:
        if one.part is None:
            continue
        member = frame.member(one.member)
        outline = _fitted(member, one)
        sides = np.linalg.norm(np.roll(outline, -1, axis=0) - outline, axis=1)
        station = float(path.point_at(member.path, one.distance)[0])
        shape = _upright(outline)
        name = f"bulkhead, {_base(member)}, {station:.0f}"
        weld = float(sides[:-1].sum())
        yield Blank(one.part, name, Pattern(shape), one.wall, one.material, weld)


def gusset_blanks(frame: Frame) -> Iterator[Blank]:
    """Yield the blank of every gusset plate beside an end of an added member."""
    for joint in frame.joints:
        member = frame.member(joint.member)
        if joint.gusset is None or member.part is None:
            continue
        metal = member.runs[0 if joint.end == "start" else -1].material
        for plate in triangles(frame, joint, joint.gusset.legs):
            a, b, c = plate.corners
            x = (b - a) / np.linalg.norm(b - a)
            along = float((c - a) @ x)
            across = float(np.linalg.norm((c - a) - along * x))
            outline = np.array([[0.0, 0.0], [np.linalg.norm(b - a), 0.0], [along, across]])
            outline = outline - outline.min(axis=0)
            weld = float(np.linalg.norm(b - a) + np.linalg.norm(c - a))
            name = f"gusset, {joint.member}"
            yield Blank(member.part, name, Pattern(outline), joint.gusset.wall, metal, weld)


def _base(member: Member) -> str:
    return member.name.removesuffix(f" {member.side}")


def _mirrored(member: Member) -> Member:
    runs = []
    for run in member.runs:
        whole = run.section.nominal or run.section
        section = replace(whole, midline=shapes.mirror(whole.midline), nominal=None)
        runs.append(replace(run, section=section))
    return replace(member, path=member.path * MIRROR, runs=tuple(runs))


def _metal(document: "FrameDocument", member: Member, entry: "BoxingEntry") -> Material:
    """Return a plate's metal, the rail's if it names none."""
    named = document.material.get(entry.material or "")
    if named is None or entry.material is None:
        place = path.distance_at_station(member.path, entry.start)
        return runs_at(member, place)[-1].material
    return Material(entry.material, named.E, named.nu, named.density, named.yield_stress)


def _edges(midline: Midline) -> Array:
    """Return where a plate's blank ends in the section, lower edge first, (2, 2), mm."""
    wall = midline.names.index(PLATE)
    ends = midline.walls[wall]
    points = midline.points[ends]
    along = (points[1] - points[0]) / np.linalg.norm(points[1] - points[0])
    for k, inward in ((0, along), (1, -along)):
        beside = [
            float(midline.thickness[w])
            for w, pair in enumerate(midline.walls.tolist())
            if w != wall and int(ends[k]) in pair
        ]
        points[k] = points[k] + 0.5 * max(beside, default=0.0) * inward
    return np.asarray(points[np.argsort(points[:, 1])])


def _faces(member: Member, part: str, begin: float, stop: float) -> Iterator[Face]:
    """Yield the flat stretches of a plate, mm along its rail, front to rear."""
    corners = path.lengths(member.path)
    axes = path.leg_axes(member.path, member.up)
    last: tuple[int, float, Array] | None = None
    start = 0.0
    for leg, (low, high) in enumerate(pairwise(corners.tolist())):
        for run in member.runs:
            a, b = max(low, run.start, begin), min(high, run.end, stop)
            if run.part != part or b - a < 1e-6:
                continue
            ring = _edges((run.section.nominal or run.section).midline)
            same = last is not None and last[0] == leg and abs(last[1] - a) < 1e-6
            if last is not None and same and np.allclose(last[2], ring, atol=1e-9):
                last = (leg, b, ring)
                continue
            if last is not None:
                yield _face(member, axes, corners, last, start)
            last, start = (leg, b, ring), a
    if last is not None:
        yield _face(member, axes, corners, last, start)


def _face(
    member: Member, axes: Array, corners: Array, end: tuple[int, float, Array], start: float
) -> Face:
    leg, stop, ring = end
    front, rear = (cut_ring(member.path, axes, corners, leg, ring, at) for at in (start, stop))
    return Face(front, rear, start, stop)


def _midline_at(member: Member, place: float) -> Midline:
    section = runs_at(member, place)[-1].section
    return (section.nominal or section).midline


def _holes(
    document: "FrameDocument", member: Member, side: str, laid: Laid
) -> Iterator[tuple[float, Array, float, float]]:
    """Yield the document's holes in a plate; those of a row stand a pitch apart from its start."""
    axes = path.leg_axes(member.path, member.up)
    corners = path.lengths(member.path)
    for entry in document.hole:
        if entry.wall != PLATE or entry.rail != _base(member):
            continue
        if entry.side not in (None, "both", side):
            continue
        if entry.at is not None:
            places = [path.distance_at_station(member.path, entry.at)]
        else:
            low, high = (path.distance_at_station(member.path, v or 0.0)
                         for v in (entry.start, entry.end))  # fmt: skip
            count = int((high - low) / (entry.pitch or 1.0) + 1e-6) + 1
            places = [low + k * (entry.pitch or 0.0) for k in range(count)]
        for place in places:
            if not laid.faces[0].start <= place < laid.faces[-1].end:
                continue
            leg = int(np.clip(np.searchsorted(corners, place) - 1, 0, len(axes) - 1))
            middle = _edges(_midline_at(member, place)).mean(axis=0)
            point = path.point_at(member.path, place) + middle @ axes[leg, 1:]
            yield place, point, *entry.size


def _fitted(member: Member, one: Bulkhead) -> Array:
    """Return a bulkhead's corners moved in to the inner faces of web, flanges and plate, (4, 2)."""
    midline = _midline_at(member, one.distance)
    corners = bay(midline)
    if corners is None:
        corners = one.corners
    web = 0.5 * float(midline.thickness[midline.held_wall])
    plate = [float(midline.thickness[k]) for k, n in enumerate(midline.names) if n == PLATE]
    flange = 0.5 * max(
        float(t) for t, n in zip(midline.thickness, midline.names, strict=True) if n != PLATE
    )
    moves = (flange, web, flange, 0.5 * plate[0] if plate else 0.0)
    middle = corners.mean(axis=0)
    lines = []
    for k, move in enumerate(moves):
        a, b = corners[k], corners[(k + 1) % 4]
        along = (b - a) / np.linalg.norm(b - a)
        inward = np.array([-along[1], along[0]])
        inward = inward * np.sign(inward @ (middle - a))
        lines.append((a + move * inward, along))
    return np.array([_meet(*lines[k - 1], *lines[k]) for k in range(4)])


def _meet(p: Array, d: Array, q: Array, e: Array) -> Array:
    shares = np.linalg.solve(np.column_stack((d, -e)), q - p)
    return np.asarray(p + shares[0] * d)


def _upright(outline: Array) -> Array:
    """Return an outline with its lowest corner at nothing, counter-clockwise."""
    x, y = outline.T
    area = float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    ordered = outline if area > 0.0 else outline * [-1.0, 1.0]
    return np.asarray(ordered - ordered.min(axis=0))
