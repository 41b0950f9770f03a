"""Where a member's mesh must have rows, lines and short edges: where others are fixed to it."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.crossing import axes_at, runs_at, tip
from fea.frame.model import Frame, Joint, Member
from fea.mesh.bolts import Pattern
from fea.mesh.ends import walls_crossed
from fea.mesh.sweep import cut, place_section

Array = NDArray[np.float64]

FINE = 0.5
"""Edge along the path near a weld, over the edge elsewhere."""

MARGIN = 25.0
"""How far beyond the welded edges the fine mesh reaches, mm."""

CORNER = 60.0
"""How far the finer mesh about a corner of the path or the end of a plate reaches, mm."""


def end_distance(member: Member, end: str) -> float:
    """Return where a member's start or end is along its path, mm."""
    return 0.0 if end == "start" else float(path.lengths(member.path)[-1])


def legs(joint: Joint) -> float:
    """Return the legs of a joint's gusset, mm; 0 without one."""
    return joint.gusset.legs if joint.gusset else 0.0


def edges(frame: Frame, joint: Joint) -> tuple[float, float]:
    """Return from where to where a member's end takes up another's length, mm along that."""
    member, onto = frame.member(joint.member), frame.member(joint.onto)
    section = member.runs[0 if joint.end == "start" else -1].section.midline
    points = place_section(member, end_distance(member, joint.end), section.points)
    at, _ = _on_member(onto, joint.distance, points)
    return float(at.min()) - legs(joint), float(at.max()) + legs(joint)


def lip_width(frame: Frame, joint: Joint) -> float:
    """Return how far from its end a member may lie inside the other, mm."""
    onto = frame.member(joint.onto)
    _, inward = tip(frame.member(joint.member), joint.end)
    along = float(inward @ axes_at(onto, joint.distance)[0])
    slant = max(0.25, float(np.sqrt(max(0.0, 1.0 - along**2))))
    return max(r.section.width for r in runs_at(onto, joint.distance)) / slant


def zones(
    frame: Frame, joints: Sequence[Joint], member: Member, size: float
) -> list[tuple[float, float, float]]:
    """Return (from, to, edge) where a member is meshed finely."""
    out = []
    for joint in joints:
        if joint.onto == member.name:
            low, high = edges(frame, joint)
            out.append((low - MARGIN, high + MARGIN, FINE * size))
        if joint.member == member.name:
            whole = float(path.lengths(member.path)[-1])
            reach = lip_width(frame, joint) + legs(joint) + MARGIN
            ends = (0.0, reach) if joint.end == "start" else (whole - reach, whole)
            out.append((*ends, FINE * size))
    places = path.lengths(member.path)[1:-1].tolist()
    places += [a.end for a, b in pairwise(member.runs) if a.section.is_open != b.section.is_open]
    for place in places:
        out.append((place - CORNER, place + CORNER, size))
    return out


def marks(
    frame: Frame,
    joints: Sequence[Joint],
    patterns: dict[tuple[str, str], Pattern],
    onto: Member,
    size: float,
) -> tuple[list[float], list[tuple[int, float]]]:
    """Return stations and wall lines of a member where others are fixed to it."""
    hints: list[float] = []
    levels: list[tuple[int, float]] = []
    for joint in joints:
        key = (joint.member, joint.end)
        if joint.onto == onto.name and key in patterns:
            distance, level = _on_member(onto, joint.distance, patterns[key].points)
            hints += distance.tolist()
            levels += [(1, float(v)) for v in level]
        elif joint.onto == onto.name:
            member = frame.member(joint.member)
            section = member.runs[0 if joint.end == "start" else -1].section.midline
            at = end_distance(member, joint.end)
            end_points = place_section(member, at, cut(section, size).points)
            if len(end_points) > 8:
                corners = place_section(member, at, _corner_points(section.points))
                distance, level = _on_member(onto, joint.distance, corners)
                hints += distance.tolist()
                levels += [(1, float(v)) for v in level]
            distance, _ = _on_member(onto, joint.distance, end_points)
            hints += distance.tolist()
        if joint.member == onto.name:
            hints += inner_walls(frame, joint)
            levels += _edge_lines(frame, joint)
    return hints, levels


def _edge_lines(frame: Frame, joint: Joint) -> list[tuple[int, float]]:
    """Return the heights in a member's section where the other one's metal ends."""
    member, onto = frame.member(joint.member), frame.member(joint.onto)
    at = end_distance(member, joint.end)
    up, across = axes_at(member, at)[2], axes_at(onto, joint.distance)[2]
    if up @ across < 0.9:
        return []
    drop = (path.point_at(onto.path, joint.distance) - path.point_at(member.path, at)) @ up
    z = np.concatenate([r.section.midline.points[:, 1] for r in runs_at(onto, joint.distance)])
    return [(1, float(drop + z.min())), (1, float(drop + z.max()))]


def inner_walls(frame: Frame, joint: Joint) -> list[float]:
    """Return where along a member its axis passes through walls of what it ends on."""
    whole = float(path.lengths(frame.member(joint.member).path)[-1])
    found = [t for t in walls_crossed(frame, joint) if 1.0 < t < 0.5 * whole]
    return [t if joint.end == "start" else whole - t for t in found]


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
    local = (points - path.point_at(onto.path, distance)) @ axes_at(onto, distance).T
    return distance + local[:, 0], local[:, 2]
