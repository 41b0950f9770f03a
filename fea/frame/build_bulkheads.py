"""Bulkheads: which rails a table of them means, and whether they fit there."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from fea.document.spelling import choices
from fea.frame.build_draft import Array, Draft, Loc
from fea.frame.crossing import runs_at
from fea.frame.model import Bulkhead, Material, Member
from fea.frame.path import distance_at_station
from fea.section.bay import bay

if TYPE_CHECKING:
    from fea.document.schema_walls import BulkheadEntry

# A bulkhead that is closer to a rail's end than this, mm, lies on it all the same.
_SAME = 0.01


def build_bulkheads(
    draft: Draft,
    entry: "BulkheadEntry",
    loc: Loc,
    rails: Mapping[str, Member],
    part: str | None,
) -> list[Bulkhead]:
    """Return the bulkheads of one table, on each rail it names; complain of what is wrong."""
    sides = ("right", "left") if entry.side in (None, "both") else (entry.side,)
    names = (entry.rail, *(f"{entry.rail} {side}" for side in sides))
    members = [rails[name] for name in names if name in rails]
    if not members:
        known = dict.fromkeys(r.name for r in draft.document.rail)
        rule = f'there is no rail "{entry.rail}"'
        if entry.rail in known:
            rule += f" on side {entry.side}" if entry.side else " that could be built"
        draft.complain(rule, (*loc, "rail"), do=choices(known, entry.rail))
        return []
    metal = draft.material(entry.material, loc) if entry.material else None
    out = []
    for number, station in enumerate(entry.at):
        for member in members:
            made = _one(draft, (*loc, "at", number), member, station)
            if made is None:
                break  # the other side would tell it twice
            distance, corners, own = made
            out.append(Bulkhead(member.name, distance, corners, entry.plate, metal or own, part))
    return out


def _one(
    draft: Draft,
    loc: Loc,
    member: Member,
    station: float,
) -> tuple[float, Array, Material] | None:
    """Return where a bulkhead sits, its corners and the rail's metal."""
    front, rear = float(member.path[0, 0]), float(member.path[-1, 0])
    if not front - _SAME <= station <= rear + _SAME:
        draft.complain(
            f"a bulkhead must lie on its rail: stations {front:g} mm to {rear:g} mm",
            loc,
            found=f"{station:g} mm",
            do="correct the station",
        )
        return None
    distance = distance_at_station(member.path, station)
    run = runs_at(member, distance)[0]
    corners = bay(run.section.midline)
    if corners is None:
        draft.complain(
            "a bulkhead needs a web with a flange at each end to be welded to",
            loc,
            found=f'section "{run.section.name}" at {station:g} mm',
            do="leave it out there",
        )
        return None
    return distance, corners, run.material
