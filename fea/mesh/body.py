"""A body's grillage as arrays: beams with six freedoms a node, and shear panels.

Nodes stand at the corners of the beams' paths and of the panels, where beams cross, and
where a mount, a tie or a load takes hold; places nearer than
:data:`~fea.mesh.mesh.SAME_PLACE` share one.  A beam is split at every node that lies on
it, so that whatever shares a point is joined rigidly there.

What is left out against the frame's beams: the path is the beam's axis, through centroid
and shear centre at once, and warping is free everywhere, so that twist is Saint-Venant's,
``GJ/L``, also in a section with a warping constant.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fea.element import panel
from fea.element.beam import Beams, beam_axes
from fea.element.panel import Panels
from fea.errors import Complaint, ModelError
from fea.frame.body import Body, BodyBeam
from fea.mesh.mesh import SAME_PLACE
from fea.section.properties import properties

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Label = tuple[str, ...]
"""What takes hold at a point: ("mount", "M2", "right"), ("tie", "sill tie", "left")."""

N_FREEDOMS = 6

NEAR = 5.0
"""How far beside a beam, mm, a mount or a tie may take hold; between them it is rigid."""

FLAT = 0.05
"""How far a panel's corners may lie off its plane, of the root of its area."""

UPRIGHT = 0.98
"""Vertical part of a direction from which a beam counts as a pillar, as in the frame."""


@dataclass(frozen=True, eq=False)
class BodyMesh:
    """A meshed body; freedom c of node n is number ``6 n + c``.

    Attributes
    ----------
    name : the body's
    points : (n, 3), mm; names : n, what each node is, in words
    beams : elements, without warping; beam_nodes : (n_elements, 2)
    panels : likewise; panel_nodes : (n_panels, 4)
    labels : what takes hold; mounts first, then the extra points
    label_points : (k, 3), mm, where it does; label_nodes : (k,), the node it is rigid with
    """

    name: str
    points: Array
    names: tuple[str, ...]
    beams: Beams
    beam_nodes: Index
    panels: Panels
    panel_nodes: Index
    labels: tuple[Label, ...]
    label_points: Array
    label_nodes: Index

    @property
    def n_freedoms(self) -> int:
        """Freedoms of all nodes."""
        return N_FREEDOMS * len(self.points)


@dataclass
class _Nodes:
    """Nodes that grow in number; a place near one that is there is that one."""

    points: list[Array] = field(default_factory=list)
    names: list[str] = field(default_factory=list)

    def at(self, point: Array, name: str) -> int:
        if self.points:
            gap = np.linalg.norm(np.array(self.points) - point, axis=1)
            if float(gap.min()) <= SAME_PLACE:
                return int(np.argmin(gap))
        self.points.append(np.asarray(point, dtype=np.float64))
        self.names.append(f"{name}, at {place(point)}")
        return len(self.points) - 1


@dataclass(frozen=True, eq=False)
class _Legs:
    """Straight pieces of beams: whose, and their nodes, (n, 2)."""

    beam: tuple[BodyBeam, ...]
    nodes: Index


def place(point: Array) -> str:
    """Return a point in words."""
    x, y, z = point
    return f"station {x:.0f} mm, offset {y:.0f} mm, height {z:.0f} mm"


def words(label: Label) -> str:
    """Return what a label names, in words."""
    return f"{label[0]} {', '.join(label[1:])}"


def body_mesh(body: Body, extra_points: Mapping[Label, Sequence[float]] | None = None) -> BodyMesh:
    """Return the mesh of a body.

    Parameters
    ----------
    body : Body
    extra_points : what takes hold beside the mounts -> where, mm

    Raises
    ------
    ModelError
        With all that is wrong: a body without beams, a beam without length, a panel that
        is no flat convex quadrilateral, a mount or an extra point beside every beam.
    """
    if not body.beams:
        raise ModelError(Complaint("a body needs at least one beam", where=f"body {body.name}"))
    wrong: list[Complaint] = []
    nodes = _Nodes()
    legs = _legs(body, nodes, wrong)
    panel_nodes = _panel_nodes(body, nodes, wrong)
    if wrong:
        raise ModelError(*wrong)
    for point in _crossings(np.array(nodes.points)[legs.nodes]):
        nodes.at(point, "crossing of beams")
    held: dict[Label, Sequence[float]] = {("mount", *k): p for k, p in body.points.items()}
    held |= extra_points or {}
    ends = np.array(nodes.points)[legs.nodes]
    at = []
    for label, point in held.items():
        foot, gap = _foot(ends, np.array(point))
        at.append(nodes.at(foot, words(label)))
        if gap > NEAR:
            wrong.append(_beside(body, label, np.array(point), gap))
    if wrong:
        raise ModelError(*wrong)
    points = np.array(nodes.points)
    beams, beam_nodes = _split(legs, points)
    return BodyMesh(
        name=body.name,
        points=points,
        names=tuple(nodes.names),
        beams=_beams(beams, points[beam_nodes]),
        beam_nodes=beam_nodes,
        panels=_panels(body, points[panel_nodes]),
        panel_nodes=panel_nodes,
        labels=tuple(held),
        label_points=np.array(list(held.values()), dtype=np.float64).reshape(-1, 3),
        label_nodes=np.array(at, dtype=np.intp),
    )


def beam_gap(body: Body, point: Sequence[float]) -> float:
    """Return how far a point lies beside the body's nearest beam, mm."""
    ends = [np.stack([b.path[:-1], b.path[1:]], axis=1) for b in body.beams]
    return _foot(np.concatenate(ends), np.array(point))[1]


def _beside(body: Body, label: Label, point: Array, gap: float) -> Complaint:
    return Complaint(
        f"what holds a body must take hold of one of its beams, {NEAR:.0f} mm beside it at most",
        where=f"body {body.name}, {words(label)}",
        found=f"{place(point)}: {gap:.1f} mm from the nearest beam",
        do="move the point onto a beam, or run a beam of the body through it",
    )


def _legs(body: Body, nodes: _Nodes, wrong: list[Complaint]) -> _Legs:
    of, pairs = [], []
    for beam in body.beams:
        name = f"beam {beam.name}, {beam.side}"
        along = [nodes.at(p, name) for p in beam.path]
        if len(along) < 2 or any(a == b for a, b in pairwise(along)):
            wrong.append(
                Complaint(
                    f"points that follow each other on a beam's path must lie more than "
                    f"{SAME_PLACE} mm apart, and be two at least",
                    where=f"body {body.name}, {name}",
                )
            )
        pairs += list(pairwise(along))
        of += [beam] * (len(along) - 1)
    return _Legs(tuple(of), np.array(pairs, dtype=np.intp).reshape(-1, 2))


def _panel_nodes(body: Body, nodes: _Nodes, wrong: list[Complaint]) -> Index:
    found = [[nodes.at(c, f"panel {p.name}") for c in p.corners] for p in body.panels]
    for p, four in zip(body.panels, found, strict=True):
        at = np.array([nodes.points[n] for n in four])[None]
        # In this order: a sheet without area has no plane.
        if not panel.is_convex(at)[0]:
            rule = "a panel's corners must go round it in order, without a bay"
        elif panel.flatness(at)[0] > FLAT * np.sqrt(panel.area(at)[0]):
            rule = "a panel's four corners must lie in one plane, or nearly so"
        else:
            continue
        corners = "; ".join(place(c) for c in p.corners)
        wrong.append(Complaint(rule, where=f"body {body.name}, panel {p.name}", found=corners))
    return np.array(found, dtype=np.intp).reshape(-1, 4)


def _crossings(ends: Array) -> Array:
    """Return where legs, (n, 2, 3), pass through each other, (k, 3)."""
    i, j = np.triu_indices(len(ends), 1)
    p, q = ends[i, 0], ends[j, 0]
    d, e = ends[i, 1] - p, ends[j, 1] - q
    dd, ee, de = ((a * b).sum(axis=1) for a, b in ((d, d), (e, e), (d, e)))
    det = dd * ee - de * de
    apart = det > 1e-9 * dd * ee  # the others run side by side
    det = np.where(apart, det, 1.0)
    a, b = ((q - p) * d).sum(axis=1), ((q - p) * e).sum(axis=1)
    s, t = (a * ee - b * de) / det, (a * de - b * dd) / det
    on_1, on_2 = p + s[:, None] * d, q + t[:, None] * e
    inside = (s >= 0.0) & (s <= 1.0) & (t >= 0.0) & (t <= 1.0)
    meet = apart & inside & (np.linalg.norm(on_1 - on_2, axis=1) <= SAME_PLACE)
    return np.asarray(0.5 * (on_1 + on_2)[meet])


def _foot(ends: Array, point: Array) -> tuple[Array, float]:
    """Return the nearest point on any of the legs (n, 2, 3), and how far it is, mm."""
    start, step = ends[:, 0], ends[:, 1] - ends[:, 0]
    square = np.einsum("ij,ij->i", step, step)
    part = np.clip(np.einsum("ij,ij->i", point - start, step) / square, 0.0, 1.0)
    foot = start + part[:, None] * step
    gap = np.linalg.norm(foot - point, axis=1)
    best = int(np.argmin(gap))
    return foot[best], float(gap[best])


def _split(legs: _Legs, points: Array) -> tuple[list[BodyBeam], Index]:
    """Return the beam and the nodes of every element: legs cut at the nodes on them."""
    of, pairs = [], []
    for beam, (i, j) in zip(legs.beam, legs.nodes.tolist(), strict=True):
        step = points[j] - points[i]
        length = float(np.linalg.norm(step))
        off = points - points[i]
        s = off @ step / length
        beside = np.linalg.norm(off - (s / length)[:, None] * step, axis=1)
        on = (beside <= SAME_PLACE) & (s > 0.0) & (s < length)
        on[[i, j]] = False
        between = np.flatnonzero(on)
        chain = [i, *between[np.argsort(s[between])].tolist(), j]
        pairs += list(pairwise(chain))
        of += [beam] * (len(chain) - 1)
    return of, np.array(pairs, dtype=np.intp).reshape(-1, 2)


def _beams(of: list[BodyBeam], ends: Array) -> Beams:
    props = [properties(b.section.midline) for b in of]
    E, G = np.array([b.material.E for b in of]), np.array([b.material.G for b in of])
    chord = ends[:, 1] - ends[:, 0]
    length = np.linalg.norm(chord, axis=1)
    direction = chord / length[:, None]
    steep = np.abs(direction[:, 2]) >= UPRIGHT
    up = np.where(steep[:, None], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0])  # a pillar's: forward

    def gather(value: str) -> Array:
        return np.array([getattr(p, value) for p in props])

    n = len(of)
    return Beams(
        length=length,
        axes=beam_axes(direction, up, gather("angle")),
        arms=np.zeros((n, 2, 3)),
        centroid=np.zeros((n, 2)),
        shear_centre=np.zeros((n, 2)),
        held=np.zeros((n, 2, 3)),
        EA=E * gather("A"),
        EI1=E * gather("I1"),
        EI2=E * gather("I2"),
        GJ=G * gather("J"),
        ECw=np.zeros(n),
        shear=gather("shear") / G[:, None, None],
    )


def _panels(body: Body, corners: Array) -> Panels:
    return Panels(
        corners=corners,
        thickness=np.array([p.wall for p in body.panels], dtype=np.float64),
        G=np.array([p.material.G for p in body.panels], dtype=np.float64),
    )
