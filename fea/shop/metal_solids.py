"""The frame's metal as convex solids: every wall with its thickness, swept along its member.

A closed section is taken as solid: nothing may pass through it.  Walls of an open one stand
alone, so what runs inside a channel is measured to its walls.  Corners are sharp and reach to
the outer faces.  At a kink the solids end in the mitre.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.clear import Arch
from fea.frame.model import Frame, Member, Section
from fea.mesh.gusset import triangles
from fea.section.midline import Midline
from fea.shop.convex import Solid, hull, prism

Array = NDArray[np.float64]

SIDES = 64
"""Sides of the prism round a tube: its corners stand out by 0.12 % of the radius."""
PLATE = "plate"


@dataclass(frozen=True, eq=False)
class Metal:
    """One piece that clearance is told of: a member, a plate in a rail, a gusset."""

    name: str
    member: str
    part: str | None
    solids: tuple[Solid, ...]


def pieces(frame: Frame, *, everything: bool = False) -> list[Metal]:
    """Return what added parts put on the frame; with `everything` the stock members too."""
    found = []
    for member in frame.members:
        arch = frame.packaging.arch(member.name)
        if member.part is not None or everything:
            found.append(Metal(member.name, member.name, member.part, solids_of(member, arch)))
        parts = dict.fromkeys(run.part for run in member.runs if member.kind == "rail")
        for part in parts:
            if part is not None:
                plate = solids_of(member, None, plates_of=part)
                found.append(Metal(f"{part}, {member.name}", member.name, part, plate))
    for joint in frame.joints:
        member = frame.member(joint.member)
        if joint.gusset is None or (member.part is None and not everything):
            continue
        wall = joint.gusset.wall
        flat = [_thick(t.corners, wall) for t in triangles(frame, joint, joint.gusset.legs)]
        name = f"gussets of {joint.member}, {joint.end}"
        found.append(Metal(name, joint.member, member.part, tuple(flat)))
    return [metal for metal in found if metal.solids]


def solids_of(member: Member, arch: Arch | None, plates_of: str | None = None) -> tuple[Solid, ...]:
    """Return a member's solids; with `plates_of` only the plates that this part closes it with."""
    line = member.path if arch is None else arched(member.path, arch)
    corners = path.lengths(line)
    axes = path.leg_axes(line, member.up)
    stretch = corners[-1] / float(path.lengths(member.path)[-1])
    found = []
    for leg, (low, high) in enumerate(pairwise(corners.tolist())):
        for run in member.runs:
            start, end = max(low, run.start * stretch), min(high, run.end * stretch)
            if end - start < 1e-6 or (plates_of is not None and run.part != plates_of):
                continue
            for ring in outlines(run.section, plates=plates_of is not None):
                ends = [cut_ring(line, axes, corners, leg, ring, at) for at in (start, end)]
                found.append(prism(*ends))
    return tuple(found)


def arched(line: Array, arch: Arch) -> Array:
    """Return a crossmember's straight line, (2, 3), with its middle raised, (6, 3), mm."""
    left, right = line[0], line[-1]
    middle, along = 0.5 * (left + right), (right - left) / np.linalg.norm(right - left)
    out = []
    for place, rise in ((-1.0, 0.0), (-1.0, 1.0), (1.0, 1.0), (1.0, 0.0)):
        reach = 0.5 * arch.width + (0.0 if rise else arch.height)
        out.append(middle + place * reach * along + [0.0, 0.0, rise * arch.height])
    return np.array([left, *out, right])


def outlines(section: Section, *, plates: bool = False) -> list[Array]:
    """Return the outer outline of a section as convex polygons, (n, 2) each, mm."""
    midline = section.midline if section.nominal is None else section.nominal.midline
    if plates:
        return [_slab(midline, k) for k, name in enumerate(midline.names) if name == PLATE]
    if _is_round(midline):
        middle = midline.points.mean(axis=0)
        half = np.pi / SIDES
        angle = half * (2.0 * np.arange(SIDES) + 1.0)  # a flat faces each way
        radius = 0.5 * section.depth / np.cos(half)
        return [middle + radius * np.column_stack((np.cos(angle), np.sin(angle)))]
    slabs = [_slab(midline, k) for k in range(len(midline.walls))]
    return slabs if section.is_open else [hull(np.concatenate(slabs))]


def _is_round(midline: Midline) -> bool:
    reach = np.linalg.norm(midline.points - midline.points.mean(axis=0), axis=1)
    return len(reach) >= 12 and float(np.ptp(reach)) < 1e-6 * float(reach.max())


def _slab(midline: Midline, wall: int) -> Array:
    """Return a wall with its thickness, drawn on to the outer faces of its neighbours, (4, 2)."""
    a, b = midline.points[midline.walls[wall]]
    along = (b - a) / np.linalg.norm(b - a)
    across = 0.5 * float(midline.thickness[wall]) * np.array([-along[1], along[0]])
    front = a - _beyond(midline, wall, 0, -along) * along
    rear = b + _beyond(midline, wall, 1, along) * along
    return np.array([front - across, rear - across, rear + across, front + across])


def _beyond(midline: Midline, wall: int, end: int, outward: Array) -> float:
    """Return how far a wall reaches past a corner, mm; nothing at a free edge."""
    corner = midline.walls[wall, end]
    reach = 0.0
    for other, ends in enumerate(midline.walls.tolist()):
        if other == wall or corner not in ends:
            continue
        far = midline.points[ends[0] if ends[1] == corner else ends[1]] - midline.points[corner]
        far = far / np.linalg.norm(far)
        turn = float(np.arccos(np.clip(outward @ far, -1.0, 1.0)))
        # To the mitre of the outer faces; a sharper corner than square is cut there.
        reach = max(reach, 0.5 * float(midline.thickness[other]) * np.tan(min(turn, np.pi / 2) / 2))
    return float(reach)


def cut_ring(line: Array, axes: Array, corners: Array, leg: int, ring: Array, at: float) -> Array:
    """Return a section's outline at a place on a leg, cut square or in the mitre, (n, 3)."""
    out = ring[:, :1] * axes[leg, 1] + ring[:, 1:] * axes[leg, 2]
    where = line[leg] + (at - corners[leg]) * axes[leg, 0] + out
    for k, other in ((leg, leg - 1), (leg + 1, leg + 1)):
        if abs(at - corners[k]) < 1e-6 and 0 <= other < len(axes):
            mitre = axes[leg, 0] + axes[other, 0]
            slide = -(out @ mitre) / float(axes[leg, 0] @ mitre)
            where = where + slide[:, None] * axes[leg, 0]
    return np.asarray(where)


def _thick(corners: Array, wall: float) -> Solid:
    """Return a flat triangle, (3, 3), with its wall."""
    normal = np.cross(corners[1] - corners[0], corners[2] - corners[0])
    out = 0.5 * wall * normal / np.linalg.norm(normal)
    return prism(corners - out, corners + out)
