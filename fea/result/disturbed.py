"""Where along a member the stress is raised by what is fixed to it, and by its own corners."""

from collections import Counter
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.model import Frame, Joint, Member
from fea.mesh.bolts import has_pattern, pattern
from fea.mesh.ends import trim
from fea.mesh.seams import edges, end_distance, inner_walls, legs, lip_width

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True)
class Spot:
    """A length of a member, mm along its path, that a joint, plate end or corner disturbs.

    Both members of a joint have one, of the same name.
    """

    name: str
    low: float
    high: float


def spots(frame: Frame) -> dict[str, list[Spot]]:
    """Return what disturbs every member."""
    found: dict[str, list[Spot]] = {m.name: _own(frame, m) for m in frame.members}
    held = Counter((j.member, j.onto) for j in frame.joints)
    for joint in frame.joints:
        name = f"{joint.member} on {joint.onto}"
        if held[joint.member, joint.onto] > 1:
            name += f", {_station(frame.member(joint.onto), joint.distance)}"
        found[joint.onto].append(Spot(name, *_taken(frame, joint)))
        found[joint.member].append(Spot(name, *_end(frame, joint)))
    for meeting in frame.meetings:
        for member, distance in meeting.members:
            found[member].append(Spot(meeting.name, distance, distance))
    return found


def nearest(of: list[Spot], distance: Array) -> tuple[Index, Array]:
    """Return which spot each place along a member is nearest to, and how far off it is, mm.

    Inside several, it belongs to the one whose middle is nearest.  Without spots, -1 and
    infinity.
    """
    if not of:
        return np.full(len(distance), -1, dtype=np.intp), np.full(len(distance), np.inf)
    low, high = (np.array([getattr(s, end) for s in of]) for end in ("low", "high"))
    at = distance[:, None]
    gap = np.maximum(np.maximum(low - at, at - high), 0.0)
    least = gap.min(axis=1)
    middle = np.where(gap <= least[:, None], np.abs(at - 0.5 * (low + high)), np.inf)
    return np.argmin(middle, axis=1), least


def _own(frame: Frame, member: Member) -> list[Spot]:
    """Return a member's plate ends, bulkheads and kinks."""
    out = []

    def add(what: str, distance: float) -> None:
        out.append(Spot(f"{what} at {_station(member, distance)} on {member.name}",
                        distance, distance))  # fmt: skip

    for before, after in pairwise(member.runs):
        if before.section.is_open != after.section.is_open:
            add("plate end", before.end)
    for b in frame.bulkheads:
        if b.member == member.name:
            add("bulkhead", b.distance)
    corners = path.lengths(member.path)
    direction = path.leg_axes(member.path, member.up)[:, 0]
    for k, corner in enumerate(corners[1:-1].tolist()):
        if float(direction[k] @ direction[k + 1]) < np.cos(path.KINK):
            add("kink", corner)
    return out


def _station(member: Member, distance: float) -> str:
    return f"station {path.point_at(member.path, distance)[0]:.0f}"


def _taken(frame: Frame, joint: Joint) -> tuple[float, float]:
    """Return the length of `onto` that a joint takes up, bolts and gussets too."""
    low, high = edges(frame, joint)
    if has_pattern(joint):
        bolts = pattern(frame, joint)
        centre = path.point_at(frame.member(joint.onto).path, joint.distance)
        at = joint.distance + (bolts.points - centre) @ bolts.axes[0]
        low, high = min(low, float(at.min())), max(high, float(at.max()))
    return low, high


def _end(frame: Frame, joint: Joint) -> tuple[float, float]:
    """Return the length of a joint's own member that is fixed to the other one."""
    whole = end_distance(frame.member(joint.member), "end")
    at = end_distance(frame.member(joint.member), joint.end)
    # A tube that passes through a wall on its way is welded there too.
    reach = max([trim(frame, joint), *(abs(t - at) for t in inner_walls(frame, joint))])
    reach += legs(joint)
    if joint.kind in ("web_and_flanges", "through"):
        reach += lip_width(frame, joint)
    return (0.0, reach) if joint.end == "start" else (whole - reach, whole)
