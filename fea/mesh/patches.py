"""Where a frame is taken as sheet metal: its joints, and the ends of its boxing plates.

A patch reaches far enough that what happens at the joint has died out where beams take
over: one and a half depths along the rail beyond the other member's edge, as much along
the member beyond the rail's lip.  Where a cross-section that has lost its shape takes longer
to find it again (a box that lozenges, the sides of a hat that spread), it reaches further.
Patches that come near each other become one.
"""

from collections.abc import Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.crossing import runs_at
from fea.frame.model import Frame, Joint, Member, Run
from fea.mesh.bolts import has_pattern, pattern
from fea.mesh.canon import Canon
from fea.mesh.distortion import fade_length
from fea.mesh.ends import trim
from fea.mesh.mesh import SAME_PLACE
from fea.mesh.piece import Group, Length, Sheet, cut_places
from fea.mesh.seams import edges, end_distance, legs, lip_width
from fea.mesh.sheet import edge, sheet

Array = NDArray[np.float64]
Index = NDArray[np.intp]

DEPTHS = 1.5
"""Depths that a patch reaches at least along a member."""

FADES = 1.5
"""Lengths in which a distortion of the cross-section fades to 1/e, likewise.

Against whole frames of thin shells, boxes and hats with bays of a metre and more: 1 leaves
up to 12 % of twist stiffness too much, 1.5 up to 5 %, 2 up to 2 %, at a growing cost.
"""

PLATE_FADES = 2.0
"""The same at the ends of plates, where the box starts to lozenge.

Single members with a plate over half their length, no bulkheads: 1.5 leaves 18 % of twist
stiffness too much, 2 up to 3 %.
"""

WELDED = ("web", "web_and_flanges", "through")
"""Joints that are welded to something; a rigid joint is left to its rule."""


@dataclass(frozen=True, eq=False)
class Patch:
    """A piece of a frame to be condensed.

    Attributes
    ----------
    name : str, for tables
    lengths : the lengths of members it is made of
    seats : member -> places where something outside acts
    nodes : (n_nodes,), the mesh's nodes: of every cut, then of every seat
    n_cuts : how many of them are cuts
    canon : what equal patches have in common
    coarse : see :func:`fea.mesh.sheet.edge`
    """

    name: str
    frame: Frame
    lengths: tuple[Length, ...]
    seats: Mapping[str, tuple[float, ...]]
    nodes: Index
    n_cuts: int
    canon: Canon
    coarse: float = 1.0

    def sheet(self) -> Sheet:
        """Return its sheet metal."""
        size = edge(self.frame, self.lengths, self.coarse)
        return sheet(self.frame, self.lengths, self.seats, size)

    def slots(self) -> Index:
        """Return the freedoms per node and where they start in the condensed matrix."""
        count = np.where(np.arange(len(self.nodes)) < self.n_cuts, 7, 6)
        return np.stack([count, np.cumsum(count) - count])

    @property
    def freedoms(self) -> Index:
        """The mesh's freedoms in the order of the patch's nodes."""
        count = self.slots()[0]
        return np.concatenate(
            [7 * n + np.arange(c) for n, c in zip(self.nodes, count, strict=True)]
        )


def plan(
    frame: Frame,
    wanted: Mapping[str, list[float]],
    stiff_ends: AbstractSet[tuple[str, str]] = frozenset(),
) -> list[Group]:
    """Return the groups of lengths to be taken as sheet metal.

    Parameters
    ----------
    wanted : member -> places along it where something is fixed or acts
    stiff_ends : (member, "start" or "end") whose cross-section keeps its shape and is held
        as a whole, warping apart
    """
    spans: dict[str, list[tuple[float, float]]] = {m.name: [] for m in frame.members}
    pairs: list[tuple[tuple[str, float], tuple[str, float], Joint]] = []
    for joint in frame.joints:
        if joint.kind in WELDED or has_pattern(joint):
            _joint_spans(frame, joint, spans)
            tip = end_distance(frame.member(joint.member), joint.end)
            pairs.append(((joint.member, tip), (joint.onto, joint.distance), joint))
    for member in frame.members:
        spans[member.name] += _plate_ends(member) + _kinks(member)
    lengths: list[Length] = []
    for member in frame.members:
        merged = _merge(spans[member.name], _whole(member), _depth(member.runs[0]))
        whole = _whole(member)
        for a, b in merged:
            cut_start = a > 0.0 or (member.name, "start") in stiff_ends
            cut_end = b < whole or (member.name, "end") in stiff_ends
            lengths.append(Length(member.name, a, b, cut_start, cut_end))
    return _groups(frame, lengths, pairs, wanted)


def _whole(member: Member) -> float:
    return float(path.lengths(member.path)[-1])


def _depth(run: Run) -> float:
    return max(run.section.depth, run.section.width)


def _reach(run: Run, fades: float = FADES) -> float:
    """Return how far what happens at a place is felt along a member, mm."""
    return max(DEPTHS * _depth(run), fades * fade_length(run.section.midline))


def _joint_spans(frame: Frame, joint: Joint, spans: dict[str, list[tuple[float, float]]]) -> None:
    member, onto = frame.member(joint.member), frame.member(joint.onto)
    run = member.runs[0 if joint.end == "start" else -1]
    low, high = edges(frame, joint)
    if has_pattern(joint):
        bolts = pattern(frame, joint)
        axis = bolts.axes[0]
        at = joint.distance + (bolts.points - path.point_at(onto.path, joint.distance)) @ axis
        low, high = min(low, float(at.min())), max(high, float(at.max()))
    felt = max(_reach(r) for r in runs_at(onto, joint.distance))
    spans[onto.name].append((low - felt, high + felt))
    reach = trim(frame, joint) + lip_width(frame, joint) + legs(joint) + _reach(run)
    whole = _whole(member)
    at_start = joint.end == "start"
    spans[member.name].append((0.0, reach) if at_start else (whole - reach, whole))


def _plate_ends(member: Member) -> list[tuple[float, float]]:
    """Return spans about every place where an open length becomes a closed one."""
    out = []
    for before, after in pairwise(member.runs):
        if before.section.is_open != after.section.is_open:
            low, high = (_reach(r, PLATE_FADES) for r in (before, after))
            out.append((before.end - low, before.end + high))
    return out


def _kinks(member: Member) -> list[tuple[float, float]]:
    """Return spans about the corners of a path that turn by more than `path.KINK`."""
    corners = path.lengths(member.path)
    direction = path.leg_axes(member.path, member.up)[:, 0]
    out = []
    for k, corner in enumerate(corners[1:-1]):
        if float(direction[k] @ direction[k + 1]) < np.cos(path.KINK):
            reach = max(_reach(r) for r in runs_at(member, float(corner)))
            out.append((float(corner) - reach, float(corner) + reach))
    return out


def _merge(
    spans: list[tuple[float, float]], whole: float, least: float
) -> list[tuple[float, float]]:
    """Return spans that neither meet nor leave a stump shorter than `least`."""
    out: list[tuple[float, float]] = []
    for low, high in sorted(spans):
        low, high = max(low, 0.0), min(high, whole)
        if low < least:
            low = 0.0
        if high > whole - least:
            high = whole
        if out and low - out[-1][1] < least:
            out[-1] = (out[-1][0], max(high, out[-1][1]))
        else:
            out.append((low, high))
    return out


def _groups(
    frame: Frame,
    lengths: list[Length],
    pairs: list[tuple[tuple[str, float], tuple[str, float], Joint]],
    wanted: Mapping[str, list[float]],
) -> list[Group]:
    def find(place: tuple[str, float]) -> int:
        name, d = place
        return next(
            k for k, le in enumerate(lengths) if le.member == name and le.start <= d <= le.end
        )

    group = list(range(len(lengths)))
    for one, other, _ in pairs:
        a, b = group[find(one)], group[find(other)]
        group = [a if g == b else g for g in group]
    out = []
    for g in dict.fromkeys(group):
        mine = tuple(le for le, h in zip(lengths, group, strict=True) if h == g)
        names = {j.member: j.onto for one, _, j in pairs if group[find(one)] == g}
        rails = dict.fromkeys([*names.values(), *(le.member for le in mine if not names)])
        what = f"joint {', '.join(names)} on " if names else "plate end on "
        seats: dict[str, tuple[float, ...]] = {}
        cuts = cut_places(mine)
        for le in mine:
            taken: list[float] = list(seats.get(le.member, ()))
            at_cuts = [d for name, d in cuts if name == le.member]
            for d in sorted(wanted.get(le.member, ())):
                if le.start <= d <= le.end and all(
                    abs(d - t) > SAME_PLACE for t in (*taken, *at_cuts)
                ):
                    taken.append(d)
            seats[le.member] = tuple(taken)
        inside = tuple((j.member, j.end) for one, _, j in pairs if group[find(one)] == g)
        out.append(Group(what + ", ".join(rails), mine, seats, inside))
    return out
