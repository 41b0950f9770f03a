"""A frame to a mesh: nodes where something happens, one exact element in between.

Nodes along a member: its corners, the ends of its runs, and every place where a joint,
mount, seat, meeting or load sits.  Elements are exact between nodes, so finer meshes
(`refine`) change nothing but round-off; they serve tests and modes.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import Beams, beam_axes
from fea.errors import Complaint, ModelError
from fea.frame import path
from fea.frame.model import Frame, Member, Run
from fea.mesh import joints
from fea.mesh.mesh import SAME_PLACE, Elements, Index, Mesh
from fea.mesh.vehicle import with_bodies
from fea.section.midline import metal
from fea.section.properties import SectionProperties, properties

if TYPE_CHECKING:
    from fea.mesh.patches import Patch
    from fea.mesh.piece import Group, Length

Array = NDArray[np.float64]


@dataclass
class _Draft:
    """Lists that grow while members are walked, turned to arrays at the end."""

    points: list[Array] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    nodes: list[tuple[int, int]] = field(default_factory=list)
    place: list[tuple[float, float]] = field(default_factory=list)
    member: list[int] = field(default_factory=list)
    run: list[Run] = field(default_factory=list)
    up: list[Array] = field(default_factory=list)
    arms: list[tuple[Array, Array]] = field(default_factory=list)
    held: list[tuple[float, float]] = field(default_factory=list)
    nodes_of: dict[str, tuple[Array, Index]] = field(default_factory=dict)

    def add_node(self, point: Array, name: str) -> int:
        self.points.append(point)
        self.names.append(name)
        return len(self.points) - 1


def discretise(
    frame: Frame,
    places: Mapping[str, Iterable[float]] | None = None,
    refine: int = 1,
    joint_bound: joints.Bound = "rule",
    *,
    sheet_joints: bool = False,
    stiff_ends: AbstractSet[tuple[str, str]] = frozenset(),
    coarse: float = 1.0,
) -> Mesh:
    """Return the mesh of a frame.

    Parameters
    ----------
    frame : Frame
    places : member name -> further distances along its path, mm, that need a node
    refine : int
        Elements per stretch between two places.
    joint_bound : "rule", "soft" or "stiff"
        The joint rule of :mod:`fea.mesh.joints`, or its soft or stiff bound.
    sheet_joints : bool
        Take joints and plate ends as sheet metal (:mod:`fea.mesh.patches`) instead.
    stiff_ends : see :func:`fea.mesh.patches.plan`
    coarse : see :func:`fea.mesh.sheet.edge`

    Raises
    ------
    ModelError
        If a member has no length, or a joint names a member that is not there.
    """
    if not frame.members:
        raise ModelError(Complaint("a frame needs at least one member", where=frame.source))
    wanted = _places(frame, places or {})
    groups = _plan(frame, wanted, stiff_ends) if sheet_joints else []
    draft = _Draft()
    for number, member in enumerate(frame.members):
        spans = [le for g in groups for le in g.lengths if le.member == member.name]
        if spans:
            seats = [d for g in groups for n, d in g.seat_places if n == member.name]
            _walk_between(draft, number, member, wanted[member.name], refine, spans, seats)
        else:
            ends = joints.end_rules(frame, member)
            _walk(draft, number, member, wanted[member.name], refine, ends)
    points = np.array(draft.points)
    metal = _patches(frame, groups, draft, coarse)
    links = joints.link(frame, draft.nodes_of, points, joint_bound, in_metal(groups))
    every = draft.run or [r for m in frame.members for r in m.runs]  # all may be sheet metal
    sections, section_index = _unique_sections(every)
    section_index = section_index[: len(draft.run)]
    elements = _elements(frame, draft, section_index)
    mesh = Mesh(
        points=points,
        elements=elements,
        beams=_beams(draft, points, sections, section_index),
        ties=links.ties,
        slaves=links.slaves,
        springs=links.springs,
        members=tuple(m.name for m in frame.members),
        sections=tuple(properties(r.section.midline) for r in sections),
        section_names=tuple(r.section.name for r in sections),
        parts=tuple(p.name for p in frame.parts),
        nodes_of=draft.nodes_of,
        node_names=tuple(draft.names),
        assumed=links.assumed,
        patches=metal,
    )
    return with_bodies(frame, mesh)


def _plan(
    frame: Frame, wanted: dict[str, list[float]], stiff_ends: AbstractSet[tuple[str, str]]
) -> list[Group]:
    from fea.mesh import patches  # shells and all: only where they are asked for

    return patches.plan(frame, wanted, stiff_ends)


def in_metal(groups: list[Group]) -> set[tuple[str, str]]:
    """Return the (member, end) of every joint that a patch takes in."""
    return {joint for g in groups for joint in g.joints}


def _patches(frame: Frame, groups: list[Group], draft: _Draft, coarse: float) -> tuple[Patch, ...]:
    """Give every patch its nodes in the mesh."""
    if not groups:
        return ()
    from fea.mesh import patches
    from fea.mesh.canon import canon
    from fea.mesh.piece import cut_places, seat_places

    out = []
    for g in groups:
        cuts = cut_places(g.lengths)
        nodes = []
        for name, distance in (*cuts, *seat_places(g.lengths, g.seats)):
            at, numbers = draft.nodes_of[name]
            nodes.append(int(numbers[int(np.argmin(np.abs(at - distance)))]))
        points = np.array([draft.points[n] for n in nodes])
        form = canon(frame, g, points, len(cuts), coarse)
        index = np.array(nodes, dtype=np.intp)
        out.append(patches.Patch(g.name, frame, g.lengths, g.seats, index, len(cuts), form, coarse))
    return tuple(out)


def _places(frame: Frame, extra: Mapping[str, Iterable[float]]) -> dict[str, list[float]]:
    wanted: dict[str, list[float]] = {m.name: [] for m in frame.members}
    for joint in frame.joints:
        if joint.onto not in wanted or joint.member not in wanted:
            raise ModelError(
                Complaint(
                    "a joint must name two members of the frame",
                    where=f"{joint.member}, {joint.end}",
                    found=joint.onto,
                )
            )
        wanted[joint.onto].append(joint.distance)
    for meeting in frame.meetings:
        for name, distance in meeting.members:
            wanted[name].append(distance)
    # What the document names has a node in every case, so that joints condensed for one case
    # serve the others.
    for mount in frame.mounts:
        wanted[mount.onto].append(mount.distance)
    for tie in frame.ties:
        wanted[tie.onto].append(tie.distance)
    for seat in (s for axle in frame.axles for s in axle.seats):
        wanted[seat.onto].append(seat.distance)
    for axle in frame.axles:  # the profile is read there
        for m in frame.members:
            if m.kind == "rail" and m.path[0, 0] <= axle.station <= m.path[-1, 0]:
                wanted[m.name].append(path.distance_at_station(m.path, axle.station))
    for name, distances in extra.items():
        wanted[name].extend(distances)
    return wanted


def _breaks(
    member: Member, wanted: list[float], refine: int, rigid: tuple[float, float]
) -> tuple[Array, tuple[float, float]]:
    """Return the ends of the elements along a member, and the rigid lengths kept.

    The first element begins where the rigid start ends, the last one ends where the
    rigid end begins.  A member too short for its rigid ends, or with something
    fixed to them, is flexible over its whole length.
    """
    s = _distinct(member, wanted)
    length = float(s[-1])
    start, end = rigid
    if start + end >= 0.95 * (length - start - end):
        start = end = 0.0
    if np.any(s[1:-1] <= start) or np.any(s[1:-1] >= length - end):
        start = end = 0.0
    s[0], s[-1] = start, length - end
    if refine > 1:
        steps = np.linspace(0.0, 1.0, refine + 1)[:-1]
        fine = s[:-1, None] + np.diff(s)[:, None] * steps
        s = np.append(fine.ravel(), s[-1])
    return s, (start, end)


def _distinct(member: Member, wanted: list[float], first: Iterable[float] = ()) -> Array:
    """Return the places along a member that get nodes, rising.

    Of places nearer than :data:`SAME_PLACE` one stays: ends before corners, corners
    before changes of section, these before what is fixed there (it keeps its own
    position on a short rigid arm).
    """
    corners = path.lengths(member.path)
    length = float(corners[-1])
    changes = [x for run in member.runs for x in (run.start, run.end)]
    kept: list[float] = []
    for x in (0.0, length, *first, *corners.tolist(), *changes, *sorted(wanted)):
        if 0.0 <= x <= length and all(abs(x - y) > SAME_PLACE for y in kept):
            kept.append(x)
    return np.array(sorted(kept))


def _walk(
    draft: _Draft,
    number: int,
    member: Member,
    wanted: list[float],
    refine: int,
    ends: tuple[joints.EndRule, joints.EndRule],
) -> None:
    s, rigid = _breaks(member, wanted, refine, (ends[0].rigid, ends[1].rigid))
    nodes_at = s.copy()
    nodes_at[0], nodes_at[-1] = 0.0, s[-1] + rigid[1]
    points = path.point_at(member.path, nodes_at)
    first = len(draft.points)
    for distance, point in zip(nodes_at, points, strict=True):
        draft.add_node(point, _node_name(member, float(distance), float(nodes_at[-1]), point))
    nodes = np.arange(first, first + len(s), dtype=np.intp)
    draft.nodes_of[member.name] = (nodes_at, nodes)
    direction = np.diff(points, axis=0) / np.diff(nodes_at)[:, None]
    run_end = np.array([r.end for r in member.runs])
    inside = 0.5 * (nodes_at[:-1] + nodes_at[1:])
    inner = 1.0 if member.kind == "rail" else 0.0
    last = len(s) - 2
    none = np.zeros(3)
    for k, middle in enumerate(inside):
        draft.nodes.append((int(nodes[k]), int(nodes[k + 1])))
        draft.place.append((float(nodes_at[k]), float(nodes_at[k + 1])))
        draft.member.append(number)
        draft.run.append(member.runs[min(int(np.searchsorted(run_end, middle)), len(run_end) - 1)])
        draft.up.append(member.up)
        draft.arms.append(
            (
                rigid[0] * direction[k] if k == 0 else none,
                -rigid[1] * direction[k] if k == last else none,
            )
        )
        draft.held.append((ends[0].held if k == 0 else inner, ends[1].held if k == last else inner))


def _walk_between(
    draft: _Draft,
    number: int,
    member: Member,
    wanted: list[float],
    refine: int,
    spans: list[Length],
    seats: list[float],
) -> None:
    """Make the elements of a member outside its lengths of sheet metal, and its nodes."""
    whole = float(path.lengths(member.path)[-1])
    cuts = [d for le in spans for d in le.cuts]

    def inside(d: float) -> bool:
        return any(le.start < d < le.end for le in spans)

    # A member's own end inside a patch gets a node only if it is a cut or a seat.
    swallowed = {d for le in spans for d in (le.start, le.end)} - set(cuts)
    s = _distinct(member, wanted, cuts)
    outside = {d for d in s.tolist() if not inside(d) and d not in swallowed}
    places = sorted(outside | set(seats))
    at: list[float] = []
    nodes: list[int] = []
    for d in places:
        point = path.point_at(member.path, d)
        at.append(d)
        nodes.append(draft.add_node(point, _node_name(member, d, whole, point)))
    draft.nodes_of[member.name] = (np.array(at), np.array(nodes, dtype=np.intp))
    run_end = np.array([r.end for r in member.runs])
    held = 1.0 if member.kind == "rail" else 0.0
    none = np.zeros(3)
    for k in range(len(at) - 1):
        middle = 0.5 * (at[k] + at[k + 1])
        if inside(middle):
            continue
        steps = np.linspace(at[k], at[k + 1], refine + 1)
        chain = [nodes[k]]
        for d in steps[1:-1]:
            point = path.point_at(member.path, float(d))
            chain.append(draft.add_node(point, _node_name(member, float(d), whole, point)))
        chain.append(nodes[k + 1])
        run = member.runs[min(int(np.searchsorted(run_end, middle)), len(run_end) - 1)]
        for i in range(refine):
            draft.nodes.append((chain[i], chain[i + 1]))
            draft.place.append((float(steps[i]), float(steps[i + 1])))
            draft.member.append(number)
            draft.run.append(run)
            draft.up.append(member.up)
            draft.arms.append((none, none))
            draft.held.append((held, held))


def _node_name(member: Member, distance: float, length: float, point: Array) -> str:
    word = member.name if member.kind == "rail" else f"{member.kind} {member.name}"
    if distance == 0.0 or distance == length:
        if member.kind == "rail":
            end = "front end" if distance == 0.0 else "rear end"
        else:
            side = "left" if point[1] < -1.0 else "right" if point[1] > 1.0 else ""
            end = f"{side} end".strip() if side else ("start" if distance == 0.0 else "end")
        return f"{word}, {end}"
    return f"{word}, station {point[0]:.0f} mm"


def _unique_sections(runs: list[Run]) -> tuple[list[Run], Index]:
    """Return one run per different midline, and each element's index into them."""
    seen: dict[bytes, int] = {}
    unique: list[Run] = []
    index = np.zeros(len(runs), dtype=np.intp)
    for k, run in enumerate(runs):
        key = run.section.midline.key() + run.section.name.encode()
        if key not in seen:
            seen[key] = len(unique)
            unique.append(run)
        index[k] = seen[key]
    return unique, index


def _elements(frame: Frame, draft: _Draft, section: Index) -> Elements:
    part_number = {p.name: k for k, p in enumerate(frame.parts)}
    by_member = [m.part for m in frame.members]
    part = [
        part_number.get(run.part or by_member[m] or "", -1)
        for run, m in zip(draft.run, draft.member, strict=True)
    ]
    area = {id(r): metal(r.section.midline)[0] for r in draft.run}
    return Elements(
        nodes=np.array(draft.nodes, dtype=np.intp).reshape(-1, 2),
        member=np.array(draft.member, dtype=np.intp),
        place=np.array(draft.place).reshape(-1, 2),
        section=section,
        weight=np.array([area[id(r)] * r.material.density for r in draft.run]),
        yield_stress=np.array([r.weakest_yield or r.material.yield_stress for r in draft.run]),
        part=np.array(part, dtype=np.intp),
    )


def _beams(draft: _Draft, points: Array, sections: list[Run], index: Index) -> Beams:
    props = [properties(r.section.midline) for r in sections]
    nodes = np.array(draft.nodes, dtype=np.intp).reshape(-1, 2)
    arms = np.array(draft.arms).reshape(-1, 2, 3)
    chord = points[nodes[:, 1]] + arms[:, 1] - points[nodes[:, 0]] - arms[:, 0]
    length = np.linalg.norm(chord, axis=1)
    E = np.array([r.material.E for r in draft.run])
    G = np.array([r.material.G for r in draft.run])

    def gather(value: str) -> Array:
        return np.array([getattr(p, value) for p in props])[index]

    held = np.array(draft.held).reshape(-1, 2)[:, :, None] * gather("held")[:, None, :]
    return Beams(
        length=length,
        axes=beam_axes(chord / length[:, None], np.array(draft.up).reshape(-1, 3), gather("angle")),
        arms=arms,
        centroid=_to_principal(props, "centroid")[index],
        shear_centre=_to_principal(props, "shear_centre")[index],
        held=held * (gather("Cw") > 0.0)[:, None, None],
        EA=E * gather("A"),
        EI1=E * gather("I1"),
        EI2=E * gather("I2"),
        GJ=G * gather("J"),
        ECw=E * gather("Cw"),
        shear=gather("shear") / G[:, None, None],
    )


def _to_principal(props: list[SectionProperties], value: str) -> Array:
    return np.array([p.principal_axes @ getattr(p, value) for p in props])
