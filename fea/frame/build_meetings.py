"""Where members meet at points of their own, and where they all but meet."""

from collections.abc import Mapping, Sequence
from itertools import product

import numpy as np
from numpy.typing import NDArray

from fea.frame.build_draft import Draft, Loc
from fea.frame.build_members import Built
from fea.frame.build_rails import SAME, sided
from fea.frame.model import Meeting, Member
from fea.frame.path import nearest, point_at

Array = NDArray[np.float64]

# What comes as near as this to a member's line was meant to lie on it, mm: less than the
# depth of any member here, so the metal of the two would run into each other.
NEAR = 25.0


def find_meetings(
    draft: Draft, members: Mapping[str, Member], built: Sequence[Built]
) -> list[Meeting]:
    """Return the points where members are welded as one.

    Every free point joins all members whose lines run through it, and so does a rail's
    end that lies on another rail.  A point that misses a line by more than a hundredth of
    a millimetre but not by 25 mm is a slip, and complained of.
    """
    meetings = [meeting for one in built for meeting in one.meetings]
    for name, point in draft.document.point.items():
        position = np.array([point.station, point.offset, point.height])
        through = {one.member.name for one in built if name in one.points}
        meeting = _gather(draft, name, position, members, through, ("point", name))
        if meeting is not None:
            meetings.append(meeting)
    rails = {name: member for name, member in members.items() if member.kind == "rail"}
    for meeting in _rail_ends(draft, rails):
        if all(np.linalg.norm(np.subtract(meeting.position, m.position)) > SAME for m in meetings):
            meetings.append(meeting)
    return meetings


def _gather(
    draft: Draft,
    name: str,
    position: Array,
    members: Mapping[str, Member],
    through: set[str],
    loc: Loc,
    told: set[frozenset[str]] | None = None,
) -> Meeting | None:
    """Return the meeting at a point, None if fewer than two members run through it.

    Of two rails whose ends miss each other only one is told of: `told` keeps the pairs.
    """
    met: list[tuple[str, float]] = []
    for member in members.values():
        distance, gap = nearest(member.path, position)
        if gap <= SAME:
            met.append((member.name, distance))
        elif gap < NEAR and member.name not in through:
            pair = frozenset(_pair_name(n) for n in (*through, member.name))
            if told is not None and pair in told:
                continue
            if told is not None:
                told.add(pair)
            by = f" of {_list(sorted(through))}" if through else ""
            draft.complain(
                f'"{name}"{by} misses {member.kind} "{member.name}" by {gap:.3g} mm',
                loc,
                found=_place(position),
                do=f"move it onto the line, to {_place(point_at(member.path, distance))}, "
                f"or further off than {NEAR:g} mm",
            )
    if len(met) < 2:
        return None
    x, y, z = position.tolist()
    return Meeting(name, (x, y, z), tuple(met))


def _rail_ends(draft: Draft, rails: Mapping[str, Member]) -> list[Meeting]:
    """Return the meetings of rails end to end, or end on another's line."""
    meetings = []
    told: set[frozenset[str]] = set()
    for number, entry in enumerate(draft.document.rail):
        own = [rails[name] for name in sided(entry).values() if name in rails]
        for rail, (end, last) in product(own, ((0, 0), (-1, len(entry.points) - 1))):
            others = {name: other for name, other in rails.items() if other is not rail}
            name, position = rail.point_names[end], rail.path[end]
            met = _gather(
                draft, name, position, {rail.name: rail, **others}, {rail.name},
                ("rail", number, "points", last), told,
            )  # fmt: skip
            if met is not None:
                meetings.append(met)
    return meetings


def _pair_name(name: str) -> str:
    return name.removesuffix(" right").removesuffix(" left")


def _place(position: Array) -> str:
    return "(" + ", ".join(f"{value:.6g}" for value in position) + ") mm"


def _list(names: Sequence[str]) -> str:
    return ", ".join(f'"{name}"' for name in names)
