"""What a result rests on, in sentences: joints by kind, warping, members too short."""

from itertools import pairwise

import numpy as np

from fea.analyse import Solution
from fea.frame import path
from fea.frame.crossing import runs_at
from fea.frame.model import Frame, Joint
from fea.result.forces import section_forces

WARPING_SHARE = 0.25
"""Share of the torque beyond which warping is worth a word."""

SHORT = 3.0
"""Depths below which beam theory is doubtful for a member."""


def assumptions(frame: Frame, solution: Solution) -> tuple[str, ...]:
    """Return the sentences that belong beside a solution's figures."""
    lines = [*solution.mesh.assumed]
    warped = _warping(solution)
    if warped:
        lines.append(f"warping carries over a quarter of the torque in {', '.join(warped)}")
    kinked = [] if solution.metal else _kinked(frame)
    if kinked:
        lines.append(
            f"open and kinked: {', '.join(kinked)}; beam rules miss that open channels give at"
            " kinks, so bending may come out a third too stiff (--joints sheet has it)"
        )
    ends = 0 if solution.metal else _box_ends(frame)
    if ends:
        lines.append(
            f"{ends} plate ends along open rails: beam rules let the box begin at once, so that"
            " twist may come out too stiff and bending too soft (--joints sheet has it)"
        )
    lines += _webs(frame, in_metal=bool(solution.metal))
    short = _short(frame)
    if short:
        lines.append(f"shorter than three depths, so hardly a beam: {', '.join(short)}")
    return tuple(lines)


def _webs(frame: Frame, *, in_metal: bool) -> list[str]:
    """Return what is to be said of ends that are welded to a web alone."""
    onto_open: list[Joint] = []
    onto_closed: list[Joint] = []
    for joint in frame.joints:
        if joint.kind == "web":
            runs = runs_at(frame.member(joint.onto), joint.distance)
            is_open = any(r.section.is_open for r in runs)
            (onto_open if is_open else onto_closed).append(joint)
    lines = []
    if in_metal and onto_open:
        lines.append(
            f"{len(onto_open)} ends on the bare web of an open rail: between shells and solid metal"
            " the twist stiffness of such a frame differs by up to 12 % either way"
        )
    if in_metal and onto_closed:
        lines.append(
            f"{len(onto_closed)} ends on the wall of a closed rail: between shells and solid metal"
            " the twist stiffness of such a frame differs by up to 3 %"
        )
    if not in_metal and onto_closed:
        lines.append(
            f"{len(onto_closed)} ends on the wall of a closed rail: beam rules miss that the wall"
            " gives, so that twist may come out far too stiff (--joints sheet has it)"
        )
    return lines


def _warping(solution: Solution) -> list[str]:
    """Return the members whose torque is carried by warping for more than a quarter."""
    elements = solution.mesh.elements
    if not len(elements.nodes):
        return []
    forces = section_forces(solution)
    length = solution.mesh.beams.length
    n = len(solution.mesh.members)
    warping = np.abs(forces.T_warping).mean(axis=1) * length
    whole = (np.abs(forces.T_warping) + np.abs(forces.T_uniform)).mean(axis=1) * length
    mine = np.bincount(elements.member, warping, n)
    total = np.bincount(elements.member, whole, n)
    large = total > 1e-6 * max(float(total.max(initial=0.0)), 1e-300)
    return [
        name
        for k, name in enumerate(solution.mesh.members)
        if large[k] and mine[k] > WARPING_SHARE * total[k]
    ]


def _kinked(frame: Frame) -> list[str]:
    """Return the members that turn a corner of over 3 degrees with an open section."""
    found = []
    for m in frame.members:
        corners = path.lengths(m.path)[1:-1]
        direction = path.leg_axes(m.path, m.up)[:, 0]
        turns = [a @ b < np.cos(path.KINK) for a, b in pairwise(direction)]
        bent = [s for s, turn in zip(corners, turns, strict=True) if turn]
        if any(r.section.is_open and r.start <= s <= r.end for s in bent for r in m.runs):
            found.append(m.name)
    return found


def _box_ends(frame: Frame) -> int:
    """Return at how many places a rail goes over from open to closed."""
    return sum(
        a.section.is_open != b.section.is_open
        for m in frame.members
        if m.kind == "rail"
        for a, b in pairwise(m.runs)
    )


def _short(frame: Frame) -> list[str]:
    return [
        m.name
        for m in frame.members
        if m.runs[-1].end < SHORT * max(r.section.depth for r in m.runs)
    ]
