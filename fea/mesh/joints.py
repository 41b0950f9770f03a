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
    Members whose flanges do not lie on each other (a channel on its side) are held as by
    ``web``, whatever the joint is called.
``through``
    Welded all round at every wall of the rail: rigid between the outermost and the
    innermost.  Two walls hold the member's end plane: no warping.  One wall does what a
    joint to the web does.
``rigid``
    Six motions tied, warping of the member free.
``bolted``
    Springs as its bolts have them (:mod:`fea.mesh.bolts`), on a rigid plate at the member's
    end, which does not warp.  Where springs are given instead, those, between the two
    members' reference motions, and between their warpings if that is given too.

A gusset at top and bottom does what a welded flange does, and the member is rigid over
:data:`GUSSET_SHARE` of its legs; at one of them, over half of that alone.  That is an
estimate, made on the thin-shell models.

The rules come from comparing beam with thin-shell models of the same ladder frames
(four-node shells, this project's own study): within 2 % in twist for the family they
were made on.
"""

from collections import Counter
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import N_FREEDOMS, cross_matrix
from fea.frame import path
from fea.frame.crossing import runs_at
from fea.frame.model import Frame, Joint, JointKind, Member
from fea.mesh.bolts import Pattern, has_pattern, pattern
from fea.mesh.ends import LAP_GAP, walls_crossed
from fea.mesh.mesh import Index, Rows, Springs, arm_rows, stack_rows
from fea.section.midline import Midline
from fea.section.properties import properties

Array = NDArray[np.float64]
Bound = Literal["rule", "soft", "stiff"]

STRIP = 0.075
"""Factor of the web strip's stiffness, from the shell study named above (a fit)."""


GUSSET_SHARE = 0.75
"""Of a gusset's legs, over which the member counts as rigid.  An estimate, good to a third:
on ladders with 100 mm gussets top and bottom it gave the twist stiffness 30 % low with
channel crossmembers and 30 % high with round tubes."""

ORDER: tuple[JointKind, ...] = ("web_and_flanges", "web", "through", "rigid", "bolted")
"""In which reports speak of the kinds."""

FLAT = 0.26
"""Sine of the slope up to which a wall counts as a flange."""


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
        if joint.member == member.name:
            rules[joint.end] = _end_rule(frame, member, joint)
    return rules["start"], rules["end"]


def _end_rule(frame: Frame, member: Member, joint: Joint) -> EndRule:
    rigid, held = 0.0, 0.0
    if joint.kind == "through":
        found = walls_crossed(frame, joint)
        rigid = max(0.0, found[-1]) if found else 0.0
    elif _flange_to_flange(frame, joint):
        rigid, held = _lip(frame, member, joint), 1.0
    if joint.gusset is not None:
        share = GUSSET_SHARE if joint.gusset.at == "both" else 0.5 * GUSSET_SHARE
        rigid = max(rigid, _lip(frame, member, joint)) + share * joint.gusset.legs
    return EndRule(rigid, held)


def _flange_to_flange(frame: Frame, joint: Joint) -> bool:
    """Whether rail and member turn together in the planes of their flanges."""
    if joint.gusset is not None and joint.gusset.at == "both":
        return True
    return joint.kind == "web_and_flanges" and flanges_meet(frame, joint)


def _shares_warping(frame: Frame, joint: Joint, bound: Bound) -> bool:
    if _flange_to_flange(frame, joint):
        return True
    return bound == "stiff" and _on_web(frame, joint)


def _on_web(frame: Frame, joint: Joint) -> bool:
    """Whether a member's flanges end on a bare web."""
    if joint.kind == "through":
        return len(walls_crossed(frame, joint)) < 2
    return joint.kind in ("web", "web_and_flanges")


def flanges_meet(frame: Frame, joint: Joint) -> bool:
    """Whether a flange of the member lies on or beside a flange of the rail, shims allowed."""
    own = _flanges(_end_midline(frame, joint))
    drop = _drop(frame, joint)
    return any(
        abs(z + drop - other) <= LAP_GAP
        for r in runs_at(frame.member(joint.onto), joint.distance)
        for other, _ in _flanges(r.section.midline)
        for z, _ in own
    )


def _flanges(line: Midline) -> list[tuple[float, float]]:
    """Return height and whole width of a section's level walls, mm."""
    a, b = line.points[line.walls[:, 0]], line.points[line.walls[:, 1]]
    size = np.linalg.norm(b - a, axis=1)
    level = np.abs(b[:, 1] - a[:, 1]) < FLAT * size
    out: list[tuple[float, float]] = []
    for z, width in sorted(zip((0.5 * (a + b)[level, 1]).tolist(), size[level], strict=True)):
        if out and z - out[-1][0] < 1.0:
            out[-1] = (out[-1][0], out[-1][1] + float(width))
        else:
            out.append((float(z), float(width)))
    return out


def _end_midline(frame: Frame, joint: Joint) -> Midline:
    runs = frame.member(joint.member).runs
    return runs[0 if joint.end == "start" else -1].section.midline


def _lip(frame: Frame, member: Member, joint: Joint) -> float:
    """Return how far the open rail's flanges reach along the member from the web, mm."""
    runs = runs_at(frame.member(joint.onto), joint.distance)
    if not all(r.section.is_open for r in runs):
        return 0.0
    tip, next_to_it = (0, 1) if joint.end == "start" else (-1, -2)
    inward = np.sign(member.path[next_to_it, 1] - member.path[tip, 1])
    return max(0.0, min(float(np.max(inward * r.section.midline.points[:, 0])) for r in runs))


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
        if has_pattern(joint):
            _bolt(pattern(frame, joint), joint, (int(end), int(master)), points, springs)
            ties.append(_nothing())
            slaves.append(N_FREEDOMS * int(end) + 6)
            continue
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


def _nothing() -> Rows:
    """Return one row that is always zero."""
    none = np.zeros(0, dtype=np.intp)
    return Rows(none, none, np.zeros(0), 1)


def _bolt(
    bolts: Pattern,
    joint: Joint,
    nodes: tuple[int, int],
    points: Array,
    springs: list[tuple[Rows, float, str]],
) -> None:
    """Add the springs of a bolt pattern: the end's motion at its centre less the rail's."""
    label = f"{joint.member} on {joint.onto}, bolts"
    turned = np.kron(np.eye(2), bolts.axes)
    blocks = []
    for node, sign in zip(nodes, (1.0, -1.0), strict=True):
        arm = np.eye(6)
        arm[:3, 3:] = -cross_matrix(bolts.centre - points[node])
        blocks.append(sign * turned @ arm)
    motion = np.hstack(blocks)
    freedoms = np.concatenate([N_FREEDOMS * n + np.arange(6) for n in nodes])
    for row, k in zip(motion, bolts.springs(), strict=True):
        used = np.flatnonzero(row)
        zero = np.zeros(len(used), dtype=np.intp)
        springs.append((Rows(zero, freedoms[used].astype(np.intp), row[used], 1), float(k), label))


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
    label = f"{joint.member} on {joint.onto}"
    given = joint.warping if joint.kind == "bolted" else None
    if _shares_warping(frame, joint, bound) or given == np.inf:
        ties.append(same)
        slaves.append(own)
    elif joint.kind == "through" and not _on_web(frame, joint):
        ties.append(_nothing())
        slaves.append(own)
    elif given:
        springs.append((_less(own, same), given, f"{label}, warping"))
    elif _on_web(frame, joint) and bound == "rule":
        k = web_strip_stiffness(frame, joint)
        if k > 0.0:
            springs.append((_less(own, same), k, f"{label}, web strip"))


def web_strip_stiffness(frame: Frame, joint: Joint) -> float:
    """Return the spring between the warpings of rail and crossmember, N mm3.

    Per flange of an open crossmember that ends on a bare web: ``0.075 E t^2 b^2 / g``
    with t the rail's web, b the crossmember's flange and g the gap to the rail's
    flange, at half the crossmember's depth.  Zero when either is closed or has no
    flanges; an edge without a flange (of a channel on its side), or one that stands
    beyond the rail, counts for nothing.
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
    flanges = _flanges(cross.midline)
    drop = _drop(frame, joint)
    rail_z = rail[0].section.midline.points[:, 1]
    t = float(rail[0].section.midline.thickness[rail[0].section.midline.held_wall])
    total = 0.0
    edges = ((np.max(z), np.max(rail_z), 1.0), (np.min(z), np.min(rail_z), -1.0))
    for own, lip, sign in edges:
        flange = sum(width for height, width in flanges if abs(height - own) < 1.0)
        gap = sign * (lip - (own + drop))
        if gap >= -t:  # else the flange stands beyond the rail and is not held
            stiffness = STRIP * end_run.material.E * t**2 * flange**2 / max(t, gap)
            total += stiffness * (np.ptp(z) / 2.0) ** 2
    return float(total)


def _drop(frame: Frame, joint: Joint) -> float:
    """Return how far a member's end lies above the rail's reference line, mm."""
    member, master = frame.member(joint.member), frame.member(joint.onto)
    return _height_on(member, joint) - _height_at(master, joint.distance)


def _height_on(member: Member, joint: Joint) -> float:
    return float(member.path[0 if joint.end == "start" else -1, 2])


def _height_at(member: Member, distance: float) -> float:
    return float(path.point_at(member.path, distance)[2])


def _words(frame: Frame, joint: Joint) -> str:
    """Return what is assumed of a joint."""
    if joint.gusset is not None and joint.kind != "rigid":
        level = "top and bottom" if joint.gusset.at == "both" else f"the {joint.gusset.at}"
        return f"welded, with gussets at {level}: rigid over part of their legs (an estimate)"
    if joint.kind == "web_and_flanges" and not flanges_meet(frame, joint):
        return "welded to web and flanges that do not meet: held as by the web only"
    if has_pattern(joint):
        return "bolted: springs from the bolts' pattern (an estimate), no warping at the plate"
    if joint.kind == "bolted":
        warps = "given" if joint.warping else "free"
        return f"bolted: springs as given, warping {warps}"
    if joint.kind == "through":
        if _on_web(frame, joint):
            return "passed through one wall: warping coupled by the web strip alone (an estimate)"
        return "passed through two walls: rigid between them, no warping there"
    return {
        "web_and_flanges": "welded to web and flanges: rail and crossmember share their warping",
        "web": "welded to the web only: warping coupled by the web strip alone (an estimate)",
        "rigid": "joined rigidly: six motions tied, the member's warping free",
    }[joint.kind]


def _assumed(frame: Frame, bound: Bound, in_metal: AbstractSet[tuple[str, str]]) -> tuple[str, ...]:
    lines = []
    if in_metal:
        metal = [j for j in frame.joints if (j.member, j.end) in in_metal]
        kinds = Counter(_words(frame, j).partition(":")[0] for j in metal)
        lines.append(
            "meshed as sheet metal from the document, without a joint rule: "
            + "".join(f"{count} ends {text}, " for text, count in kinds.items())
            + "every plate end and kink"
        )
    by_rule = [j for j in frame.joints if (j.member, j.end) not in in_metal]
    said = Counter(_words(frame, j) for j in sorted(by_rule, key=lambda j: ORDER.index(j.kind)))
    lines += [f"{count} ends {text}" for text, count in said.items()]
    if bound != "rule":
        lines.append(f"joint rule replaced by its {bound} bound")
    return tuple(lines)
