"""Equal metal looks equal: a patch moved, mirrored and sorted, and its fingerprint."""

import hashlib
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.model import Frame, Joint, Member
from fea.mesh.bolts import has_pattern
from fea.mesh.bulkhead import corner_points
from fea.mesh.piece import Group, Length, cut_places
from fea.mesh.sheet import edge
from fea.mesh.sweep import place_section

Array = NDArray[np.float64]
Index = NDArray[np.intp]

VERSION = 6
"""Raised when the metal of an equal frame would be meshed or condensed otherwise."""


@dataclass(frozen=True, eq=False)
class Canon:
    """A patch moved, mirrored and sorted so that equal metal looks equal.

    Attributes
    ----------
    key : fingerprint of everything the condensed stiffness depends on
    mirrored : whether y was turned round to get there
    origin : (3,), mm, taken off after that
    order : (n_nodes,), the patch's nodes (cuts, then seats) in canonical order
    members : names of its members in canonical order
    bolted : (member, end) of its joints whose bolts give, likewise
    """

    key: str
    mirrored: bool
    origin: Array
    order: Index
    members: tuple[str, ...]
    bolted: tuple[tuple[str, str], ...]


def canon(frame: Frame, group: Group, points: Array, n_cuts: int, coarse: float = 1.0) -> Canon:
    """Return a group's canonical form.

    Parameters
    ----------
    points : (n_nodes, 3), mm, its nodes in the mesh: cuts, then seats
    """
    size = edge(frame, group.lengths, coarse)
    kind: list[str] = [frame.member(m).kind for m, _ in cut_places(group.lengths)]
    kind += ["seat"] * (len(points) - n_cuts)
    best: Canon | None = None
    for mirrored in (False, True):
        flip = np.array([1.0, -1.0 if mirrored else 1.0, 1.0])
        walls = {le: _walls(frame.member(le.member), le, flip) for le in group.lengths}
        every = np.concatenate([w[:, :12].reshape(-1, 3) for w in walls.values()])
        origin = every.min(axis=0)
        rows = {}
        for le, w in walls.items():
            quads = np.sort((w[:, :12].reshape(-1, 4, 3) - origin).round(4) + 0.0, axis=1)
            flat = np.hstack([quads.reshape(len(w), 12), w[:, 12:]])
            rows[le] = sorted(map(tuple, flat.tolist()))
        at = ((points * flip - origin).round(3) + 0.0).tolist()
        nodes = [(*x, k) for x, k in zip(at, kind, strict=True)]
        order = sorted(range(len(nodes)), key=lambda n: nodes[n])
        lengths = sorted(rows, key=lambda le: rows[le])
        names = tuple(dict.fromkeys(le.member for le in lengths))
        marks = _joint_marks(frame, group, flip, origin)
        joints = sorted(marks, key=lambda j: (marks[j], names.index(j[0])))
        parts = [rows[le] for le in lengths], [nodes[n] for n in order]
        plates = _plate_marks(frame, group, flip, origin)
        text = repr((VERSION, size, *parts, [marks[j] for j in joints], plates))
        key = hashlib.sha256(text.encode()).hexdigest()
        if best is None or key < best.key:
            bolted = tuple(j for j in joints if has_pattern(_joint(frame, j)))
            best = Canon(key, mirrored, origin, np.array(order, dtype=np.intp), names, bolted)
    assert best is not None
    return best


def _walls(member: Member, length: Length, flip: Array) -> Array:
    """Return every wall of a length, (k, 18).

    Four corners (12), thickness, E, nu, held, then the shares that carry normal stress and
    shear.
    """
    corners = path.lengths(member.path)
    out = []
    for run in member.runs:
        low, high = max(run.start, length.start), min(run.end, length.end)
        if high - low < 1e-6:
            continue
        places = [low, *(float(c) for c in corners if low < c < high), high]
        m = run.section.midline
        shares = [np.ones(len(m.walls)) if f is None else f
                  for f in (m.normal_factor, m.shear_factor)]  # fmt: skip
        for a, b in pairwise(places):
            ends = [place_section(member, s, m.points) * flip for s in (a, b)]
            for w, (i, j) in enumerate(m.walls):
                four = np.concatenate([ends[0][i], ends[0][j], ends[1][j], ends[1][i]])
                held = float(w == m.held_wall and member.kind == "rail")
                tail = [m.thickness[w], run.material.E, run.material.nu, held]
                tail += [share[w] for share in shares]
                out.append(np.concatenate([four, tail]))
    return np.array(out)


def _joint(frame: Frame, name: tuple[str, str]) -> Joint:
    return next(j for j in frame.joints if (j.member, j.end) == name)


def _joint_marks(
    frame: Frame, group: Group, flip: Array, origin: Array
) -> dict[tuple[str, str], tuple[float | str, ...]]:
    """Return what tells every joint inside from others, by member and end."""
    marks: dict[tuple[str, str], tuple[float | str, ...]] = {}
    for joint in frame.joints:
        if (joint.member, joint.end) in group.joints:
            at = path.point_at(frame.member(joint.onto).path, joint.distance) * flip - origin
            what = (joint.kind, repr(joint.bolts), repr(joint.gusset))
            marks[joint.member, joint.end] = (*(at.round(3) + 0.0).tolist(), *what)
    return marks


def _plate_marks(frame: Frame, group: Group, flip: Array, origin: Array) -> list[tuple[float, ...]]:
    """Return what tells every bulkhead inside from others, sorted."""
    marks: list[tuple[float, ...]] = []
    for b in frame.bulkheads:
        if any(le.member == b.member and le.start <= b.distance <= le.end for le in group.lengths):
            corners = corner_points(frame.member(b.member), b) * flip - origin
            at = sorted(map(tuple, (corners.round(3) + 0.0).tolist()))
            marks.append((*(x for c in at for x in c), b.wall, b.material.E, b.material.nu))
    return sorted(marks)
