"""A structure of a validation case as mesh and loads.

Built straight from the case, without a frame document in between: nodes, bars and links are
as the case says, and nothing is assumed of joints.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.document.spelling import choices
from fea.document.validation import BarEntry, StructureDocument
from fea.element import beam
from fea.element.beam import N_FREEDOMS, Beams, beam_axes
from fea.errors import Complaint, DocumentError
from fea.load import Loads, resultant
from fea.mesh.mesh import Elements, Mesh, Rows, Springs, arm_rows, stack_rows
from fea.section.properties import SectionProperties
from fea.solve.assemble import element_freedoms
from fea.verify.section import section_properties

Array = NDArray[np.float64]

FREEDOMS = ("ux", "uy", "uz", "rx", "ry", "rz", "warp")


@dataclass(frozen=True, eq=False)
class Structure:
    """A case's model, with the names that its answers are read by.

    Attributes
    ----------
    node : node name -> number
    elements : bar name -> its elements' numbers, from start to end
    spring : spring name -> its number
    """

    mesh: Mesh
    loads: Loads
    node: Mapping[str, int]
    elements: Mapping[str, NDArray[np.intp]]
    spring: Mapping[str, int]


@dataclass(frozen=True, eq=False)
class _Pieces:
    """Bars cut into elements: nodes, their names, and per element what its bar gives it."""

    points: Array
    names: tuple[str, ...]
    nodes: NDArray[np.intp]
    bar: NDArray[np.intp]
    place: Array
    roll: Array
    arms: Array
    ground: int | None
    """The fixed node that springs to the ground end on, so that their forces show among the
    reactions; None without such springs."""


def build(document: StructureDocument) -> Structure:
    """Return the model of a case.

    Raises
    ------
    DocumentError
        With every name in the case that is not there, or a section that cannot be.
    """
    _check_names(document)
    origin = document.origin
    sections = {
        name: section_properties(entry, origin.where(("section", name)))
        for name, entry in document.section.items()
    }
    pieces = _cut(document)
    node = {name: k for k, name in enumerate(pieces.names)}
    beams = _beams(document, pieces, sections)
    ties, slaves = _ties(document, pieces.points, node)
    elements = {b.name: np.flatnonzero(pieces.bar == k) for k, b in enumerate(document.bar)}
    mesh = Mesh(
        points=pieces.points,
        elements=_elements(document, pieces, sections),
        beams=beams,
        ties=ties,
        slaves=slaves,
        springs=_springs(document, pieces, node),
        members=tuple(b.name for b in document.bar),
        sections=tuple(sections.values()),
        section_names=tuple(sections),
        parts=(),
        nodes_of={},
        node_names=pieces.names,
    )
    loads = _loads(document, mesh, pieces, node, elements)
    spring = {s.name: k for k, s in enumerate(document.spring)}
    return Structure(mesh, loads, node, elements, spring)


def _check_names(document: StructureDocument) -> None:
    """Refuse a case that names what it does not have."""
    nodes = [*document.node, *(f"{b.name} {k}" for b in document.bar for k in range(1, b.segments))]
    bars, springs = [b.name for b in document.bar], [s.name for s in document.spring]
    asked: list[tuple[tuple[str | int, ...], str | None, list[str]]] = []
    for k, bar in enumerate(document.bar):
        asked += [(("bar", k, "from"), bar.start, nodes), (("bar", k, "to"), bar.end, nodes)]
        asked.append((("bar", k, "section"), bar.section, list(document.section)))
    for k, link in enumerate(document.link):
        asked += [(("link", k, "from"), link.start, nodes), (("link", k, "to"), link.end, nodes)]
    for k, spring in enumerate(document.spring):
        asked += [(("spring", k, "node"), spring.node, nodes)]
        asked.append((("spring", k, "other"), spring.other, nodes))
    asked += [(("bed", k, "bar"), bed.bar, bars) for k, bed in enumerate(document.bed)]
    for k, hold in enumerate(document.hold):
        asked += [(("hold", k, "nodes"), name, nodes) for name in hold.nodes]
    asked += [(("load", k, "node"), load.node, nodes) for k, load in enumerate(document.load)]
    asked += [(("mass", k, "node"), lump.node, nodes) for k, lump in enumerate(document.mass)]
    asked += [(("spread", k, "bar"), item.bar, bars) for k, item in enumerate(document.spread)]
    for k, answer in enumerate(document.expect):
        asked += [(("expect", k, "node"), answer.node, nodes)]
        asked += [(("expect", k, "less"), answer.less, nodes)]
        asked += [(("expect", k, "bar"), answer.bar, bars)]
        asked += [(("expect", k, "spring"), answer.spring, springs)]
    complaints = [
        Complaint(
            "the case must have what it names",
            document.origin.where(loc),
            f'"{name}"',
            choices(names, name),
        )
        for loc, name, names in asked
        if name is not None and name not in names
    ]
    if complaints:
        raise DocumentError(*complaints)


def _cut(document: StructureDocument) -> _Pieces:
    points = [np.array(p) for p in document.node.values()]
    names = list(document.node)
    number = {name: k for k, name in enumerate(names)}
    nodes: list[tuple[int, int]] = []
    of: list[int] = []
    place: list[tuple[float, float]] = []
    arms: list[Array] = []
    for k, bar in enumerate(document.bar):
        start, end = points[number[bar.start]], points[number[bar.end]]
        steps = np.linspace(0.0, 1.0, bar.segments + 1)
        chain = [number[bar.start]]
        for j, x in enumerate(steps[1:-1], start=1):
            number[f"{bar.name} {j}"] = len(points)
            chain.append(len(points))
            names.append(f"{bar.name} {j}")
            points.append(_along(bar, start, end, float(x)))
        chain.append(number[bar.end])
        for j in range(bar.segments):
            nodes.append((chain[j], chain[j + 1]))
            of.append(k)
            place.append((float(steps[j]), float(steps[j + 1])))
            first, last = j == 0, j == bar.segments - 1
            arms.append(np.array([bar.arm_start, bar.arm_end]) * [[first], [last]])
    bars = document.bar
    ground = None
    if document.bed or any(spring.other is None for spring in document.spring):
        ground = len(points)
        names.append("ground")
        points.append(np.zeros(3))
    middle = np.mean(place, axis=1)
    return _Pieces(
        points=np.array(points),
        names=tuple(names),
        nodes=np.array(nodes, dtype=np.intp),
        bar=np.array(of, dtype=np.intp),
        place=np.array(place),
        roll=np.array([bars[b].turn + bars[b].twist * x for b, x in zip(of, middle, strict=True)]),
        arms=np.array(arms),
        ground=ground,
    )


def _along(bar: BarEntry, start: Array, end: Array, x: float) -> Array:
    """Return the point at a fraction of a straight bar, or of an arc about its centre."""
    a, b = start + np.array(bar.arm_start), end + np.array(bar.arm_end)
    if bar.centre is None:
        return np.asarray(a + x * (b - a))
    centre = np.array(bar.centre)
    p, q = a - centre, b - centre
    whole = np.arccos(np.clip(p @ q / np.linalg.norm(p) / np.linalg.norm(q), -1.0, 1.0))
    return np.asarray(
        centre + (np.sin((1 - x) * whole) * p + np.sin(x * whole) * q) / np.sin(whole)
    )


def _beams(
    document: StructureDocument, pieces: _Pieces, sections: Mapping[str, SectionProperties]
) -> Beams:
    bars = [document.bar[k] for k in pieces.bar]
    props = [sections[b.section] for b in bars]
    E, G = document.material.E, document.material.G
    ends = pieces.points[pieces.nodes] + pieces.arms
    chord = ends[:, 1] - ends[:, 0]
    length = np.linalg.norm(chord, axis=1)
    n = len(bars)

    def gather(value: str) -> Array:
        return np.array([getattr(p, value) for p in props])

    def principal(value: str) -> Array:
        return np.array([p.principal_axes @ getattr(p, value) for p in props]).reshape(n, 2)

    up = np.array([b.up for b in bars]).reshape(n, 3)
    return Beams(
        length=length,
        axes=beam_axes(chord / length[:, None], up, gather("angle") + pieces.roll),
        arms=pieces.arms,
        centroid=principal("centroid"),
        shear_centre=principal("shear_centre"),
        held=np.zeros((n, 2, 3)),
        EA=E * gather("A"),
        EI1=E * gather("I1"),
        EI2=E * gather("I2"),
        GJ=G * gather("J"),
        ECw=E * gather("Cw"),
        shear=gather("shear").reshape(n, 2, 2) / G,
    )


def _elements(
    document: StructureDocument, pieces: _Pieces, sections: Mapping[str, SectionProperties]
) -> Elements:
    n = len(pieces.bar)
    density = document.material.density or 0.0
    number = {name: k for k, name in enumerate(document.section)}
    section = [number[document.bar[k].section] for k in pieces.bar]
    return Elements(
        nodes=pieces.nodes,
        member=pieces.bar,
        place=pieces.place,
        section=np.array(section, dtype=np.intp),
        weight=np.array([density * sections[document.bar[k].section].A for k in pieces.bar]),
        yield_stress=np.full(n, np.inf),
        part=np.full(n, -1, dtype=np.intp),
    )


def _ties(
    document: StructureDocument, points: Array, node: Mapping[str, int]
) -> tuple[Rows, NDArray[np.intp]]:
    rows: list[Rows] = []
    slaves: list[int] = []
    for link in document.link:
        lead, follow = node[link.start], node[link.end]
        for word in link.freedoms:
            c = FREEDOMS.index(word)
            warp = word == "warp"
            rows.append(
                _one(N_FREEDOMS * lead + c, 1.0) if warp else _motion(points, lead, follow, c)
            )
            slaves.append(N_FREEDOMS * follow + c)
    return stack_rows(rows), np.array(slaves, dtype=np.intp)


def _one(freedom: int, coefficient: float) -> Rows:
    return Rows(np.zeros(1, np.intp), np.array([freedom], np.intp), np.array([coefficient]), 1)


def _springs(document: StructureDocument, pieces: _Pieces, node: Mapping[str, int]) -> Springs:
    rows: list[Rows] = []
    stiffness: list[float] = []
    labels: list[str] = []

    def add(first: int, second: int | None, freedom: str, k: float, label: str) -> None:
        """Add a spring at the place of the first node, on a rigid arm from the second."""
        base, c = N_FREEDOMS * first, FREEDOMS.index(freedom)
        own = _one(base + c, 1.0)
        if second is not None and c < 6:
            rows.append(_less(own, _motion(pieces.points, second, first, c)))
        elif second is not None and second != pieces.ground:
            rows.append(_less(own, _one(N_FREEDOMS * second + c, 1.0)))
        else:
            rows.append(own)
        stiffness.append(k)
        labels.append(label)

    for spring in document.spring:
        second = pieces.ground if spring.other is None else node[spring.other]
        add(node[spring.node], second, spring.freedom, spring.stiffness, spring.name)
    bars = [b.name for b in document.bar]
    for bed in document.bed:
        of_bar = pieces.nodes[pieces.bar == bars.index(bed.bar)]
        lengths = np.linalg.norm(np.diff(pieces.points[of_bar], axis=1)[:, 0], axis=1)
        for ends, length in zip(of_bar, lengths, strict=True):
            for end in ends:  # half an element's bed at each of its nodes
                k = bed.stiffness * float(length) / 2.0
                add(int(end), pieces.ground, bed.freedom, k, f"bed of {bed.bar}")
    return Springs(stack_rows(rows), np.array(stiffness), tuple(labels))


def _motion(points: Array, lead: int, follow: int, component: int) -> Rows:
    """Return the motion at one node if it followed another rigidly, as a row."""
    arm = (points[follow] - points[lead])[None]
    motion = arm_rows(np.array([lead], dtype=np.intp), arm)
    mine = motion.row == component
    zero = np.zeros(int(mine.sum()), dtype=np.intp)
    return Rows(zero, motion.freedom[mine], motion.coefficient[mine], 1)


def _less(first: Rows, second: Rows) -> Rows:
    return Rows(
        np.concatenate([first.row, second.row]),
        np.concatenate([first.freedom, second.freedom]),
        np.concatenate([first.coefficient, -second.coefficient]),
        1,
    )


def _loads(
    document: StructureDocument,
    mesh: Mesh,
    pieces: _Pieces,
    node: Mapping[str, int],
    elements: Mapping[str, NDArray[np.intp]],
) -> Loads:
    force = np.zeros((len(mesh.points), N_FREEDOMS))
    for load in document.load:
        force[node[load.node]] += [*load.force, *load.moment, load.bimoment]
    n = len(mesh.elements.nodes)
    per_length, point = np.zeros((n, 3)), np.zeros((n, 2))
    even = np.zeros((n, 6))
    for spread in document.spread:
        per_length[:] = point[:] = 0.0
        per_length[elements[spread.bar]] = spread.force
        point[elements[spread.bar]] = spread.point
        even += beam.even_load(mesh.beams, per_length, point)
    natural = beam.end_loads(mesh.beams, even)
    at_nodes = np.einsum("nij,ni->nj", beam.geometry(mesh.beams), natural)
    flat = force.ravel()
    np.add.at(flat, element_freedoms(mesh.elements.nodes), at_nodes)
    held = list(_held(document, node, pieces.ground))
    columns = np.array([freedom for freedom, _, _ in held], dtype=np.intp)
    count = np.arange(len(held), dtype=np.intp)
    rows = Rows(count, columns, np.ones(len(held)), len(held))
    return Loads(
        name=f"validation case {document.id}",
        rows=rows,
        values=np.array([value for _, value, _ in held]),
        labels=tuple(label for _, _, label in held),
        force=flat,
        element_load=even,
        total=resultant(mesh.points, flat),
    )


def _held(
    document: StructureDocument, node: Mapping[str, int], ground: int | None
) -> Iterator[tuple[int, float, str]]:
    """Yield freedom, imposed motion and label of everything that is held."""
    for hold in document.hold:
        for name in hold.nodes:
            for word in hold.freedoms:
                freedom = N_FREEDOMS * node[name] + FREEDOMS.index(word)
                yield freedom, hold.value, f"{name}, {word}"
    if ground is not None:
        for c in range(6):
            yield N_FREEDOMS * ground + c, 0.0, f"ground, {FREEDOMS[c]}"
