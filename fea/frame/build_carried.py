"""What the frame carries and stands on: body mounts, axles with their seats, masses."""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from fea.document.spelling import choices
from fea.frame.build_draft import Draft, Loc
from fea.frame.build_rails import SAME, sided
from fea.frame.model import Axle, Fastening, Mass, Member, Mount, Seat, Side
from fea.frame.mounts import GRADES
from fea.frame.path import distance_at_station, nearest, point_at

if TYPE_CHECKING:
    from fea.document.schema import AxleEntry, MassEntry, SeatEntry
    from fea.document.schema_body import MountEntry

Array = NDArray[np.float64]

# The longest bracket or outrigger that is taken as one, mm; beyond it the figures are
# more likely a slip than a bracket.
MOST_REACH = 400.0


def build_mounts(
    draft: Draft, entry: "MountEntry", loc: Loc, members: Mapping[str, Member]
) -> list[Mount]:
    """Return the one or two mounts of a table; none after a complaint."""
    sides: Sequence[Side] = ("right", "left") if entry.side == "both" else (entry.side,)
    if entry.side == "both" and entry.offset <= 0.0:
        draft.complain(
            "a mount on both sides is given for the right side: offset greater than 0 mm",
            (*loc, "offset"),
            do="give the right side's offset, or side for this mount alone",
        )
        return []
    like = _like(entry)
    mounts = []
    for side in sides:
        sign = -1.0 if entry.side == "both" and side == "left" else 1.0
        position = (entry.station, sign * entry.offset, entry.height)
        held = _holder(draft, entry, loc, members, side, np.array(position))
        if held is None:
            return []
        onto, distance = held
        mounts.append(replace(like, side=side, position=position, onto=onto, distance=distance))
    return mounts


def _like(entry: "MountEntry") -> Mount:
    """Return what the mounts of a table have in common; the place is nowhere yet."""
    grade = None if entry.grade is None else GRADES[entry.grade]
    vertical, lateral = entry.vertical, entry.lateral
    own = [k for k in (vertical, lateral, entry.longitudinal) if k is not None]
    if grade is not None:
        vertical = grade.vertical if vertical is None else vertical
        lateral = grade.lateral if lateral is None else lateral
    upright, across = vertical or 0.0, lateral or 0.0
    along = across if entry.longitudinal is None else entry.longitudinal
    washer = entry.washer
    return Mount(
        entry.name,
        "centre",
        (0.0, 0.0, 0.0),
        "",
        0.0,
        (along, across, upright),
        math.inf if entry.bracket is None else entry.bracket,
        entry.carries,
        turn=(entry.turn,) * 3,
        state=entry.state,
        grade=None if own else entry.grade,
        fastening=Fastening(
            entry.wall,
            entry.hole,
            None if washer is None else washer.diameter,
            None if washer is None else washer.wall,
            entry.bolt,
            entry.torque,
        ),
    )


def build_axle(
    draft: Draft, name: Literal["front", "rear"], entry: "AxleEntry", rails: Sequence[Member]
) -> Axle:
    """Return an axle with its seats on both sides; seats that cannot be placed are left out."""
    loc: Loc = ("axle", name)
    shares = [seat.share for seat in entry.seats]
    given = [share for share in shares if share is not None]
    if given and len(given) < len(shares):
        rule = "give the share of every seat of an axle, or of none"
        draft.complain(rule, (*loc, "seats"), do="the shares of a side's seats add up to 1")
    elif given and not math.isclose(sum(given), 1.0, abs_tol=1e-6):
        rule = "the shares of a side's seats must add up to 1"
        draft.complain(rule, (*loc, "seats"), found=f"{sum(given):g}", do="correct the shares")
    equal = 1.0 / len(shares)
    seats: list[Seat] = []
    for number, seat in enumerate(entry.seats):
        share = equal if seat.share is None else seat.share
        seats += _seats(draft, seat, share, (*loc, "seats", number), rails)
    return Axle(
        name,
        entry.station,
        entry.track,
        tuple(sorted(seats, key=lambda seat: seat.side != "right")),
        entry.spring_rate,
        entry.spring_base,
        entry.bar_rate,
    )


def build_mass(
    draft: Draft, entry: "MassEntry", loc: Loc, *, known: Collection[str], fitted: Collection[str]
) -> Mass:
    """Return a mass; of the mounts that carry it, only those that are `fitted`.

    `known` are all mounts of the document, also those of parts that are left off.
    """
    wrong = [name for name in entry.mounts if name not in known]
    for name in wrong:
        do = choices(known, name)
        draft.complain(f'there is no mount "{name}"', (*loc, "mounts"), do=do)
    mounts = tuple(name for name in entry.mounts if name in fitted)
    if entry.mounts and not mounts and not wrong:
        rule = f'no mount that carries "{entry.name}" is fitted'
        draft.complain(rule, (*loc, "mounts"), do="name a mount that is fitted")
    spread = None
    station = entry.station
    if entry.start is not None and entry.end is not None:
        spread = (entry.start, entry.end)
        station = (entry.start + entry.end) / 2 if station is None else station
    position = (0.0 if station is None else station, entry.offset, entry.height)
    return Mass(entry.name, entry.mass, position, entry.carried, mounts, spread, entry.laden)


def _seats(
    draft: Draft, entry: "SeatEntry", share: float, loc: Loc, rails: Sequence[Member]
) -> list[Seat]:
    """Return a seat on each side, none after a complaint."""
    own = [sided(rail) for rail in draft.document.rail if entry.rail in {None, rail.name}]
    if not own:
        do = choices([rail.name for rail in draft.document.rail], entry.rail or "")
        draft.complain(f'there is no rail "{entry.rail}"', (*loc, "rail"), do=do)
        return []
    seats = []
    for side, sign in (("right", 1.0), ("left", -1.0)):
        names = [name for sides in own for s, name in sides.items() if s == side]
        reached = [r for r in rails if r.name in names and _reaches(r, entry.station)]
        if not reached:
            if all(name in {r.name for r in rails} for name in names):
                draft.complain(
                    f"a seat must lie on a rail: none on the {side} reaches there",
                    (*loc, "station"),
                    do=_spans(rails, side),
                )
            return []
        rail = reached[0]
        distance = distance_at_station(rail.path, entry.station)
        x, y, z = point_at(rail.path, distance).tolist()
        y = y if entry.offset is None else sign * entry.offset
        z = z if entry.height is None else entry.height
        here: Side = "right" if side == "right" else "left"
        seats.append(Seat(here, (x, y, z), rail.name, distance, share))
    return seats


def _holder(
    draft: Draft,
    entry: "MountEntry",
    loc: Loc,
    members: Mapping[str, Member],
    side: Side,
    position: Array,
) -> tuple[str, float] | None:
    """Return the member a mount stands on and where along it, None after a complaint."""
    if entry.crossmember is not None or side == "centre":
        return _on_crossmember(draft, entry, loc, members, position)
    names = {rail.name: sided(rail) for rail in draft.document.rail}
    if entry.rail is not None and entry.rail not in names:
        do = choices(names, entry.rail)
        draft.complain(f'there is no rail "{entry.rail}"', (*loc, "rail"), do=do)
        return None
    wanted = [entry.rail] if entry.rail is not None else list(names)
    due = [names[name][side] for name in wanted if side in names[name]]
    rails = [members[name] for name in due if name in members]
    reached = [rail for rail in rails if _reaches(rail, entry.station)]
    if not reached:
        if len(rails) == len(due):  # else a rail is complained of already
            draft.complain(
                f'mount "{entry.name}" stands on nothing: no {side} rail reaches its station',
                (*loc, "station"),
                do=_spans(rails, side),
            )
        return None
    found = []
    for rail in reached:
        distance = distance_at_station(rail.path, entry.station)
        gap = float(np.linalg.norm(point_at(rail.path, distance) - position))
        found.append((gap, rail.name, distance))
    return _near_enough(draft, entry, loc, min(found))


def _on_crossmember(
    draft: Draft,
    entry: "MountEntry",
    loc: Loc,
    members: Mapping[str, Member],
    position: Array,
) -> tuple[str, float] | None:
    crossmembers = {m.name: m for m in members.values() if m.kind == "crossmember"}
    if entry.crossmember is not None and entry.crossmember not in crossmembers:
        rule = f'there is no crossmember "{entry.crossmember}", or it is not fitted'
        draft.complain(rule, (*loc, "crossmember"), do=choices(crossmembers, entry.crossmember))
        return None
    names = [entry.crossmember] if entry.crossmember is not None else list(crossmembers)
    found = []
    for name in names:
        distance, gap = nearest(crossmembers[name].path, position)
        found.append((gap, name, distance))
    if not found:
        rule = f'mount "{entry.name}" stands on nothing: there is no crossmember'
        draft.complain(rule, loc, do='give side = "right" or "left"')
        return None
    return _near_enough(draft, entry, loc, min(found))


def _near_enough(
    draft: Draft, entry: "MountEntry", loc: Loc, found: tuple[float, str, float]
) -> tuple[str, float] | None:
    gap, name, distance = found
    if gap > MOST_REACH:
        draft.complain(
            f'mount "{entry.name}" stands on nothing: it must be within '
            f"{MOST_REACH:g} mm of a member's line",
            loc,
            found=f'{gap:.0f} mm from "{name}"',
            do="correct station, offset or height",
        )
        return None
    return name, distance


def _reaches(rail: Member, station: float) -> bool:
    return bool(rail.path[0, 0] - SAME <= station <= rail.path[-1, 0] + SAME)


def _spans(rails: Sequence[Member], side: str) -> str:
    texts = [
        f'"{rail.name}" runs from station {rail.path[0, 0]:g} mm to {rail.path[-1, 0]:g} mm'
        for rail in rails
        if rail.side == side
    ]
    return "; ".join(texts)
