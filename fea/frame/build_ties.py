"""Ties between frame and body: both ends of each, on each side it is given for."""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fea.document.spelling import choices
from fea.frame.body import Body, BodyBeam, Bracket, Tie
from fea.frame.build_carried import MOST_REACH
from fea.frame.build_draft import Array, Draft, Loc
from fea.frame.build_rails import SAME, sided
from fea.frame.model import Member, Side
from fea.frame.path import distance_at_station, lengths, nearest, point_at
from fea.frame.ties import place

if TYPE_CHECKING:
    from fea.document.schema_body import TieEntry

LONGEST = 400.0
"""The longest tie that is taken as one, mm; a longer one is more likely a slip."""


@dataclass(frozen=True)
class TieItem:
    """A table of a tie, where it stands, and whether it is fitted."""

    entry: "TieEntry"
    loc: Loc
    fitted: bool


def build_ties(
    draft: Draft,
    items: Sequence[TieItem],
    members: Mapping[str, Member],
    kinds: Mapping[str, Sequence[Body]],
    gone: Collection[str] = (),
) -> dict[str, tuple[Tie, ...]]:
    """Return the ties to the bodies of each kind; complain of what is wrong, each slip once.

    Ties to a brace that no body of a kind has are not among that kind's.  `gone` are
    crossmembers that are not fitted: a tie that starts from one is not there either.
    """
    told = len(draft.complaints)
    for item in items:
        _check_brace(draft, item)
    ties: dict[str, tuple[Tie, ...]] = {}
    for kind, bodies in kinds.items():
        made: list[Tie] = []
        for item in items:
            if item.entry.crossmember is None or item.entry.crossmember not in gone:
                made += _Maker(draft, item, members).ties(bodies)
        ties[kind] = tuple(made)
    draft.complaints[told:] = dict.fromkeys(draft.complaints[told:])
    return ties


def _check_brace(draft: Draft, item: TieItem) -> None:
    """Refuse a brace that no body has as a floor brace, or two bodies of a kind have."""
    document, name = draft.document, item.entry.brace
    floor = [beam.name for body in document.body for beam in body.beam if beam.floor]
    if name not in floor:
        other = [beam.name for body in document.body for beam in body.beam]
        rule = f'there is no floor brace "{name}" in a body'
        do = "put floor = true in that beam" if name in other else choices(floor, name)
        draft.complain(rule, (*item.loc, "brace"), do=do or "add a body with one")
        return
    homes = [
        (body.name, set(beam.kind or body.kind))
        for body in document.body
        for beam in body.beam
        if beam.floor and beam.name == name
    ]
    clash = [
        (one, other)
        for k, (one, kinds) in enumerate(homes)
        for other, others in homes[k + 1 :]
        if kinds & others
    ]
    if clash:
        draft.complain(
            f'floor brace "{name}" of a tie must be in one body only',
            (*item.loc, "brace"),
            found=f'body "{clash[0][0]}" and body "{clash[0][1]}"',
            do="give one of the two braces another name",
        )


@dataclass(frozen=True)
class _Maker:
    """One tie of the document in the making."""

    draft: Draft
    item: TieItem
    members: Mapping[str, Member]

    def ties(self, bodies: Sequence[Body]) -> list[Tie]:
        """Return the tie of each side; none after a complaint or without its brace."""
        entry = self.item.entry
        sides: tuple[Side, ...] = ("right", "left") if entry.side == "both" else (entry.side,)
        made: list[Tie] = []
        for side in sides:
            found = _brace(bodies, entry.brace, side)
            if found is None:
                return []
            start = self._start(side)
            if start is None:
                return []
            onto, distance, frame_point = start
            body, beam = found
            body_point = self._end(beam, side, frame_point)
            if body_point is None or not self._fits(frame_point, body_point):
                return []
            made.append(
                Tie(
                    entry.name,
                    side,
                    onto,
                    distance,
                    place(frame_point),
                    body.name,
                    beam.name,
                    place(body_point),
                    self._bracket(float(np.linalg.norm(body_point - frame_point))),
                    self._stiffness(),
                    self.item.fitted,
                )
            )
        return made

    def _start(self, side: Side) -> tuple[str, float, Array] | None:
        """Return the member a tie starts from, where on it, and the tie's end there."""
        entry = self.item.entry
        line = self._on_rail(side) if entry.rail is not None else self._on_crossmember(side)
        if line is None:
            return None
        member, distance = line
        point = point_at(member.path, distance)
        sign = -1.0 if side == "left" else 1.0
        if entry.station is not None:
            point[0] = entry.station
        if entry.offset is not None:
            point[1] = sign * entry.offset
        if entry.height is not None:
            point[2] = entry.height
        gap = float(np.linalg.norm(point - point_at(member.path, distance)))
        if gap > MOST_REACH:
            self.draft.complain(
                f'tie "{entry.name}" starts from nothing: it must be within {MOST_REACH:g} mm '
                "of a member's line",
                self.item.loc,
                found=f'{gap:.0f} mm from "{member.name}"',
                do="correct station, offset or height",
            )
            return None
        return member.name, distance, point

    def _on_rail(self, side: Side) -> tuple[Member, float] | None:
        entry = self.item.entry
        names = {rail.name: sided(rail) for rail in self.draft.document.rail}
        own = names.get(entry.rail or "", {})
        if side not in own:
            rule = f'there is no rail "{entry.rail}"' + (f" on the {side}" if own else "")
            do = choices(names, entry.rail or "")
            self.draft.complain(rule, (*self.item.loc, "rail"), do=do)
            return None
        rail = self.members.get(own[side])
        if rail is None or entry.station is None:
            return None  # complained of already
        front, rear = float(rail.path[0, 0]), float(rail.path[-1, 0])
        if not front - SAME <= entry.station <= rear + SAME:
            self.draft.complain(
                f"a tie must lie on its rail: stations {front:g} mm to {rear:g} mm",
                (*self.item.loc, "station"),
                do="correct the station",
            )
            return None
        return rail, distance_at_station(rail.path, entry.station)

    def _on_crossmember(self, side: Side) -> tuple[Member, float] | None:
        entry = self.item.entry
        known = {m.name: m for m in self.members.values() if m.kind == "crossmember"}
        member = known.get(entry.crossmember or "")
        if member is None:
            rule = f'there is no crossmember "{entry.crossmember}"'
            do = choices(known, entry.crossmember or "")
            self.draft.complain(rule, (*self.item.loc, "crossmember"), do=do)
            return None
        offset = math.copysign(entry.offset or 0.0, -1.0 if side == "left" else 1.0)
        distance = _at_offset(member.path, offset)
        if distance is None:
            low, high = np.sort(np.abs(member.path[[0, -1], 1])).tolist()
            self.draft.complain(
                f"a tie must lie on its crossmember: offsets up to {min(low, high):g} mm",
                (*self.item.loc, "offset"),
                do="correct the offset",
            )
            return None
        return member, distance

    def _end(self, beam: BodyBeam, side: Side, start: Array) -> Array | None:
        """Return the tie's end on the brace, None after a complaint."""
        wanted = self.item.entry.body_offset
        if wanted is None:
            return point_at(beam.path, nearest(beam.path, start)[0])
        distance = _at_offset(beam.path, math.copysign(wanted, -1.0 if side == "left" else 1.0))
        if distance is None:
            spans = np.abs(beam.path[:, 1])
            least = 0.0 if beam.side == "centre" else float(spans.min())
            self.draft.complain(
                f'a tie must end on its brace "{self.item.entry.brace}": offsets {least:g} mm '
                f"to {float(spans.max()):g} mm",
                (*self.item.loc, "body_offset"),
                do="correct it, or leave it out for the nearest point",
            )
            return None
        return point_at(beam.path, distance)

    def _fits(self, start: Array, end: Array) -> bool:
        """Return whether a tie is of a length that can be, with a complaint if not."""
        entry, gap = self.item.entry, float(np.linalg.norm(end - start))
        if gap > LONGEST:
            self.draft.complain(
                f"a tie must not be longer than {LONGEST:g} mm",
                self.item.loc,
                found=f'{gap:.0f} mm from frame to brace "{entry.brace}"',
                do="correct its station, or choose a brace that is nearer",
            )
        elif gap <= SAME and entry.bracket is not None and entry.bracket.length is None:
            self.draft.complain(
                "the two points of a tie are one, so its bracket needs a length",
                (*self.item.loc, "bracket"),
                do="add length, or move one of the points",
            )
        else:
            return True
        return False

    def _bracket(self, gap: float) -> Bracket | None:
        given = self.item.entry.bracket
        if given is None:
            return None
        length = gap if given.length is None else given.length
        return Bracket(
            length, given.width, given.wall, given.bolts, given.bolt, given.ends,
            given.ends_stiffness,
        )  # fmt: skip

    def _stiffness(self) -> tuple[float, float, float] | None:
        given = self.item.entry.stiffness
        if given is None:
            return None
        if isinstance(given, float):
            return given, given, given
        return given.station, given.offset, given.height


def _brace(bodies: Sequence[Body], name: str, side: Side) -> tuple[Body, BodyBeam] | None:
    for body in bodies:
        for beam in body.beams:
            names = (name, "centre"), (f"{name} {side}", side)
            if beam.floor and (beam.name, beam.side) in names:
                return body, beam
    return None


def _at_offset(path: Array, offset: float) -> float | None:
    """Return the distance along a path where it first has an offset, None if it never does."""
    s = lengths(path)
    for k in range(len(path) - 1):
        one, other = path[k, 1], path[k + 1, 1]
        if min(one, other) - SAME <= offset <= max(one, other) + SAME:
            part = 0.0 if abs(other - one) <= SAME else (offset - one) / (other - one)
            return float(s[k] + min(1.0, max(0.0, part)) * (s[k + 1] - s[k]))
    return None
