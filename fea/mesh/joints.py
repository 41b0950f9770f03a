"""Beam rules for joints: where a member grabs another, and what it does to its warping.

A crossmember's end has a node of its own, tied by a rigid arm to the rail's node on the
rail's web.  The rail is held by its web: its node's rotation is the web's, not the
section's (see `held` in :mod:`fea.section.properties`).  What the joint does to warping
depends on its kind:

``web_and_flanges``
    Flange is welded to flange, so both turn together in their plane: rail and
    crossmember share one warping freedom.  Where the rail is open the crossmember is
    rigid as far as the rail's lip.
``web``
    The crossmember's flanges push on the bare web beside the rail's flange.  The two
    warp separately, coupled by the web strip in the gap.  The strip's stiffness is an
    estimate fitted to thin-shell models of one family of ladders, good to 25 %; nothing
    and everything bracket it (the soft and the stiff bound).
``rigid``
    Six motions tied, warping of the member free.
``bolted``
    Springs where given, warping free.

The rules come from comparing beam with thin-shell models of the same ladder frames
(four-node shells, this project's own study): within 2 % in twist for the family they
were made on.
"""

from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import N_FREEDOMS
from fea.frame import path
from fea.frame.model import Frame, Joint, Member, Run
from fea.mesh.mesh import Index, Rows, Springs, arm_rows, stack_rows
from fea.section.properties import properties

Array = NDArray[np.float64]
Bound = Literal["rule", "soft", "stiff"]

STRIP = 0.075
"""Factor of the web strip's stiffness, from the shell study named above (a fit)."""


@dataclass(frozen=True)
class EndRule:
    """How the end of a member sits: rigid length (mm), and whether its own wall is held."""

    rigid: float = 0.0
    held: float = 0.0


@dataclass(frozen=True, eq=False)
class Links:
    """What the joints make of the nodes: ties, the freedoms they define, springs."""

    ties: Rows
    slaves: Index
    springs: Springs
    assumed: tuple[str, ...]


def end_rules(frame: Frame, member: Member) -> tuple[EndRule, EndRule]:
    """Return the rules of a member's start and end."""
    if member.kind == "rail":
        return EndRule(held=1.0), EndRule(held=1.0)
    rules = {"start": EndRule(), "end": EndRule()}
    for joint in frame.joints:
        if joint.member == member.name and joint.kind == "web_and_flanges":
            rules[joint.end] = EndRule(_lip(frame, member, joint), held=1.0)
    return rules["start"], rules["end"]


def _shares_warping(joint: Joint, bound: Bound) -> bool:
    return joint.kind == "web_and_flanges" or (joint.kind == "web" and bound == "stiff")


def _lip(frame: Frame, member: Member, joint: Joint) -> float:
    """Return how far the open rail's flanges reach along the member from the web, mm."""
    runs = runs_at(frame.member(joint.onto), joint.distance)
    if not all(r.section.is_open for r in runs):
        return 0.0
    tip, next_to_it = (0, 1) if joint.end == "start" else (-1, -2)
    inward = np.sign(member.path[next_to_it, 1] - member.path[tip, 1])
    return max(0.0, min(float(np.max(inward * r.section.midline.points[:, 0])) for r in runs))


def runs_at(member: Member, distance: float) -> list[Run]:
    """Return the run, or the two runs, that touch a place along a member."""
    return [r for r in member.runs if r.start - 1e-6 <= distance <= r.end + 1e-6]


def link(
    frame: Frame,
    nodes_of: dict[str, tuple[Array, Index]],
    points: Array,
    bound: Bound,
    in_metal: AbstractSet[tuple[str, str]] = frozenset(),
) -> Links:
    """Return the ties and springs of all joints and meetings of a frame.

    Joints whose (member, end) is `in_metal` are left to their patch of sheet metal.
    """
    ties: list[Rows] = []
    slaves: list[int] = []
    springs: list[tuple[Rows, float, str]] = []
    for joint in frame.joints:
        if (joint.member, joint.end) in in_metal:
            continue
        end = nodes_of[joint.member][1][0 if joint.end == "start" else -1]
        distances, nodes = nodes_of[joint.onto]
        master = nodes[int(np.argmin(np.abs(distances - joint.distance)))]
        motion = arm_rows(np.array([master]), (points[end] - points[master])[None])
        stiffness = joint.stiffness or (np.inf,) * 6
        label = f"{joint.member} on {joint.onto}, joint"
        for c, k in enumerate(stiffness):
            row = _row(motion, c)
            own = N_FREEDOMS * int(end) + c
            if np.isinf(k):
                ties.append(row)
                slaves.append(own)
            elif k > 0.0:
                springs.append((_less(own, row), k, label))
        _couple_warping(frame, joint, (int(end), int(master)), bound, ties, slaves, springs)
    for meeting in frame.meetings:
        at = [_nearest_node(nodes_of[name], distance) for name, distance in meeting.members]
        for other in at[1:]:
            motion = arm_rows(np.array([at[0]]), (points[other] - points[at[0]])[None])
            ties += [_row(motion, c) for c in range(6)]
            slaves += [N_FREEDOMS * other + c for c in range(6)]
    return Links(
        ties=stack_rows(ties),
        slaves=np.array(slaves, dtype=np.intp),
        springs=Springs(
            stack_rows([row for row, _, _ in springs]),
            np.array([k for _, k, _ in springs]),
            tuple(label for _, _, label in springs),
        ),
        assumed=_assumed(frame, bound, in_metal),
    )


def _nearest_node(entry: tuple[Array, Index], distance: float) -> int:
    return int(entry[1][int(np.argmin(np.abs(entry[0] - distance)))])


def _row(rows: Rows, number: int) -> Rows:
    keep = rows.row == number
    zero = np.zeros(int(keep.sum()), dtype=np.intp)
    return Rows(zero, rows.freedom[keep], rows.coefficient[keep], 1)


def _less(own: int, row: Rows) -> Rows:
    """Return the motion of freedom `own` less that of the row."""
    return Rows(
        np.append(row.row, 0).astype(np.intp),
        np.append(row.freedom, own).astype(np.intp),
        np.append(-row.coefficient, 1.0),
        1,
    )


def _couple_warping(
    frame: Frame,
    joint: Joint,
    nodes: tuple[int, int],
    bound: Bound,
    ties: list[Rows],
    slaves: list[int],
    springs: list[tuple[Rows, float, str]],
) -> None:
    own, other = (N_FREEDOMS * n + 6 for n in nodes)
    same = Rows(np.zeros(1, np.intp), np.array([other], dtype=np.intp), np.ones(1), 1)
    if _shares_warping(joint, bound):
        ties.append(same)
        slaves.append(own)
    elif joint.kind == "web" and bound == "rule":
        k = web_strip_stiffness(frame, joint)
        if k > 0.0:
            label = f"{joint.member} on {joint.onto}, web strip"
            springs.append((_less(own, same), k, label))


def web_strip_stiffness(frame: Frame, joint: Joint) -> float:
    """Return the spring between the warpings of rail and crossmember, N mm3.

    Per flange of an open crossmember that ends on a bare web: ``0.075 E t^2 b^2 / g``
    with t the rail's web, b the crossmember's flange and g the gap to the rail's
    flange, at half the crossmember's depth.  Zero when either is closed or has no
    flanges.
    """
    rail = runs_at(frame.member(joint.onto), joint.distance)
    member = frame.member(joint.member)
    end_run = member.runs[0 if joint.end == "start" else -1]
    cross = end_run.section
    if not cross.is_open or not all(r.section.is_open for r in rail):
        return 0.0
    if properties(cross.midline).Cw == 0.0:
        return 0.0
    z = cross.midline.points[:, 1]
    flange = float(np.ptp(cross.midline.points[:, 0]))
    master = frame.member(joint.onto)
    drop = _height_on(member, joint) - _height_at(master, joint.distance)
    rail_z = rail[0].section.midline.points[:, 1]
    t = float(rail[0].section.midline.thickness[rail[0].section.midline.held_wall])
    total = 0.0
    for own, lip in ((np.max(z), np.max(rail_z)), (np.min(z), np.min(rail_z))):
        gap = max(t, abs(lip - (own + drop)))
        total += STRIP * end_run.material.E * t**2 * flange**2 / gap * (np.ptp(z) / 2.0) ** 2
    return float(total)


def _height_on(member: Member, joint: Joint) -> float:
    return float(member.path[0 if joint.end == "start" else -1, 2])


def _height_at(member: Member, distance: float) -> float:
    return float(path.point_at(member.path, distance)[2])


def _assumed(
    frame: Frame, bound: Bound, in_metal: AbstractSet[tuple[str, str]]
) -> tuple[str, ...]:
    said = {
        "web_and_flanges": "welded to web and flanges: rail and crossmember share their warping",
        "web": "welded to the web only: warping coupled by the web strip alone (an estimate)",
        "rigid": "joined rigidly: six motions tied, the member's warping free",
        "bolted": "bolted: springs as given, warping free",
    }
    lines = []
    if in_metal:
        lines.append(
            f"{len(in_metal)} welded ends, the plate ends and the kinks are taken as sheet metal,"
            " meshed from the document: no joint rule enters"
        )
    for kind, text in said.items():
        count = sum(
            j.kind == kind and (j.member, j.end) not in in_metal for j in frame.joints
        )
        if count:
            lines.append(f"{count} ends {text}")
    if bound != "rule":
        lines.append(f"joint rule replaced by its {bound} bound")
    return tuple(lines)
