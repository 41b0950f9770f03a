"""Crossmembers and braces: from the document's tables to members and their joints."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from fea.document.spelling import choices
from fea.frame.build_draft import UP, Draft, Loc, member_axes
from fea.frame.build_rails import SAME, sided
from fea.frame.build_walls import member_work
from fea.frame.crossing import crossings
from fea.frame.model import Bolts, Gusset, Joint, JointKind, Meeting, Member, Run
from fea.frame.path import distance_at_station, lengths, nearest, point_at

if TYPE_CHECKING:
    from fea.document.schema import BraceEntry, CrossmemberEntry, PathEntry

Array = NDArray[np.float64]
Kinds = tuple[JointKind, JointKind]

WELDED: frozenset[JointKind | None] = frozenset({"web", "web_and_flanges", "through"})
"""Joints that a gusset can stand beside."""


@dataclass(frozen=True)
class Built:
    """A member with what joins it to others; `points` are the free points it runs through."""

    member: Member
    joints: tuple[Joint, ...]
    meetings: tuple[Meeting, ...] = ()
    points: frozenset[str] = frozenset()


@dataclass(frozen=True)
class _Corner:
    """A corner of a brace: where, its name, and the member it lies on, with the distance."""

    position: Array
    name: str
    onto: str = ""
    distance: float = 0.0


def build_crossmember(
    draft: Draft,
    entry: "CrossmemberEntry",
    loc: Loc,
    rails: Mapping[str, Member],
    *,
    part: str | None,
    station: float | None = None,
) -> Built | None:
    """Return a crossmember between its rails, None after a complaint.

    It runs from left to right, straight, at one station: from rail to rail on their
    reference lines, or `drop` below them.
    """
    at = entry.station if station is None else station
    pair = _pair(draft, entry, loc, rails)
    kinds = _kinds(draft, entry, loc)
    if not draft.has_section(entry.section, loc) or pair is None or kinds is None:
        return None
    for rail in pair:
        front, rear = float(rail.path[0, 0]), float(rail.path[-1, 0])
        if not front - SAME <= at <= rear + SAME:
            draft.complain(
                f'a crossmember must lie between the ends of rail "{rail.name}": '
                f"stations {front:g} mm to {rear:g} mm",
                (*loc, "station"),
                do="correct the station",
            )
            return None
    distances = [distance_at_station(rail.path, at) for rail in pair]
    path = (
        np.array([point_at(rail.path, s) for rail, s in zip(pair, distances, strict=True)])
        - entry.drop * UP
    )
    if np.linalg.norm(path[1] - path[0]) < SAME:
        rule = "a crossmember needs two rails that stand apart"
        draft.complain(rule, loc, do="check the offsets of the rails")
        return None
    through = _through(draft, path, kinds, list(zip(pair, distances, strict=True)), loc)
    if through is None:
        return None
    path = through
    _, axes = member_axes(path)
    is_hat = draft.shape(entry.section) == "hat"
    opens = entry.opens or (None if is_hat else "rear")
    member = _member(draft, entry, path, axes, opens, part, kind="crossmember", loc=loc)
    joints = _joints(entry, kinds, zip(("start", "end"), pair, distances, strict=True))
    return Built(member, joints)


def turned_round(draft: Draft, one: Built) -> Built:
    """Return a crossmember bolted in turned round: what faced the front faces the rear."""
    runs = tuple(replace(run, section=draft.mirrored(run.section)) for run in one.member.runs)
    return replace(one, member=replace(one.member, runs=runs))


def build_brace(
    draft: Draft, entry: "BraceEntry", loc: Loc, others: Mapping[str, Member], part: str | None
) -> Built | None:
    """Return a brace along its path, None after a complaint.

    Its ends are joined to the members they lie on; a corner in between that lies on a
    member is welded to it.  Free points are seen to in :mod:`fea.frame.build_meetings`.
    """
    kinds = _kinds(draft, entry, loc)
    corners: list[_Corner] = []
    for k, step in enumerate(entry.path):
        corner = _corner(draft, step, (*loc, "path", k), others, f"{entry.name} corner {k + 1}")
        if corner is not None:
            corners.append(corner)
    if not draft.has_section(entry.section, loc) or kinds is None:
        return None
    if len(corners) < len(entry.path):
        return None
    path = np.array([corner.position for corner in corners])
    for k, length in enumerate(np.linalg.norm(np.diff(path, axis=0), axis=1), start=1):
        if length < SAME:
            rule = "the corners of a brace must lie apart"
            draft.complain(rule, (*loc, "path", k), do="leave out one of the two")
            return None
    held = [(others[c.onto], c.distance) if c.onto else None for c in (corners[0], corners[-1])]
    through = _through(draft, path, kinds, held, loc)
    if through is None:
        return None
    path = through
    _, axes = member_axes(path)
    names = tuple(corner.name for corner in corners)
    opens = _toward(entry.opens, path)
    member = _member(draft, entry, path, axes, opens, part, kind="brace", names=names, loc=loc)
    ends = [(word, corners[k]) for word, k in (("start", 0), ("end", -1))]
    joints = tuple(
        joint
        for (word, corner), kind in zip(ends, kinds, strict=True)
        if corner.onto
        for joint in _joints(entry, (kind, kind), [(word, others[corner.onto], corner.distance)])
    )
    at = lengths(path)
    meetings = tuple(
        Meeting(
            corner.name,
            _triple(corner.position),
            ((entry.name, float(at[k])), (corner.onto, corner.distance)),
        )
        for k, corner in enumerate(corners[1:-1], start=1)
        if corner.onto
    )
    free = frozenset(step.point for step in entry.path if step.point is not None)
    return Built(member, joints, meetings, free)


def _pair(
    draft: Draft, entry: "CrossmemberEntry", loc: Loc, rails: Mapping[str, Member]
) -> tuple[Member, Member] | None:
    """Return the left and the right rail of a crossmember, None after a complaint."""
    here = (*loc, "between")
    names = {rail.name: sided(rail) for rail in draft.document.rail}
    if isinstance(entry.between, list):
        if len(entry.between) != 2:
            do = "write [left rail, right rail]"
            draft.complain("between needs two rails", here, found=f"{len(entry.between)}", do=do)
            return None
        left, right = entry.between
    else:
        twins = [name for name, sides in names.items() if len(sides) == 2]
        wanted = entry.between or (twins[0] if twins else None)
        if wanted not in twins:
            rule = "a crossmember needs a pair of rails"
            do = choices(twins, wanted or "") or "write between = [left rail, right rail]"
            draft.complain(rule, here, found=f'"{wanted}"' if wanted else "", do=do)
            return None
        left, right = names[wanted]["left"], names[wanted]["right"]
    everyone = [name for sides in names.values() for name in sides.values()]
    for name in (left, right):
        if name not in everyone:
            draft.complain(f'there is no rail "{name}"', here, do=choices(everyone, name))
            return None
    if left not in rails or right not in rails:  # complained of already
        return None
    return rails[left], rails[right]


def _kinds(draft: Draft, entry: "CrossmemberEntry | BraceEntry", loc: Loc) -> Kinds | None:
    """Return the joint of each end, None after a complaint."""
    if (entry.joint is None) == (entry.ends is None):
        draft.complain(
            "a member needs either joint, for both ends, or ends",
            loc,
            found="both" if entry.joint else "neither",
            do='such as joint = "web"; one of "web", "web_and_flanges", "through", "rigid", '
            '"bolted"',
        )
        return None
    first, second = (entry.joint, entry.joint)
    if entry.ends is not None:
        first, second = tuple(getattr(entry.ends, n) for n in type(entry.ends).model_fields)
    bolted = "bolted" in (first, second)
    given = [n for n in ("joint_stiffness", "bolts") if getattr(entry, n) is not None]
    if bolted != bool(given):
        name = given[0] if given else "joint_stiffness"
        draft.complain(
            "joint_stiffness and bolts belong to a bolted joint",
            (*loc, name),
            found="a bolted joint without either" if bolted else "no bolted joint",
            do='such as bolts = 4, bolt = "M10", bolt_spacing = "60 mm", bracket_wall = "5 mm"; or '
            'joint_stiffness = { move = "200 kN/mm", turn = "3e8 N mm/rad" }'
            if bolted
            else 'leave it out, or write joint = "bolted"',
        )
        return None
    if entry.gusset is not None and not WELDED & {first, second}:
        rule = "a gusset belongs to a welded end"
        words = ", ".join(f'"{word}"' for word in sorted(map(str, WELDED)))
        do = f"leave it out, or weld the member: {words}"
        draft.complain(rule, (*loc, "gusset"), found="no welded end", do=do)
        return None
    if first is None or second is None:
        return None
    return first, second


def _joints(
    entry: "CrossmemberEntry | BraceEntry",
    kinds: Kinds,
    ends: "Sequence[tuple[str, Member, float]] | zip[tuple[str, Member, float]]",
) -> tuple[Joint, ...]:
    free, gusset = entry.joint_stiffness, entry.gusset
    made = None
    if entry.bolts is not None and entry.bolt is not None and entry.bracket_wall is not None:
        made = Bolts(entry.bolts, entry.bolt, entry.bolt_spacing or 0.0, entry.bracket_wall)
    plates = None if gusset is None else Gusset(gusset.legs, gusset.wall, gusset.at)
    out = []
    for (word, onto, distance), kind in zip(ends, kinds, strict=False):
        end: Literal["start", "end"] = "start" if word == "start" else "end"
        joint = Joint(entry.name, end, onto.name, distance, kind)
        if kind == "bolted":
            stiffness = None if free is None else free.values()
            warping = None if free is None else free.warping
            joint = replace(joint, stiffness=stiffness, warping=warping, bolts=made)
        elif kind in WELDED:
            joint = replace(joint, gusset=plates)
        out.append(joint)
    return tuple(out)


def _through(
    draft: Draft, path: Array, kinds: Kinds, held: Sequence[tuple[Member, float] | None], loc: Loc
) -> Array | None:
    """Return a path whose ends that pass through a member reach its outermost wall.

    Parameters
    ----------
    held : what the start and the end are joined to, and where along it

    None after a complaint.
    """
    out = path.copy()
    for k, next_to_it, kind, onto in zip((0, -1), (1, -2), kinds, held, strict=True):
        if kind != "through" or onto is None:
            continue
        inward = path[next_to_it] - path[k]
        inward = inward / np.linalg.norm(inward)
        walls = crossings(*onto, path[k], inward)
        if not walls:
            rule = f'a member that passes through "{onto[0].name}" must meet its walls'
            do = "make drop smaller, or join it otherwise"
            draft.complain(rule, loc, found="it passes beside them", do=do)
            return None
        out[k] = path[k] + min(0.0, walls[0].t) * inward
    return out


def _member(
    draft: Draft,
    entry: "CrossmemberEntry | BraceEntry",
    path: Array,
    axes: Array,
    opens: str | None,
    part: str | None,
    *,
    kind: str,
    loc: Loc,
    names: tuple[str, ...] = (),
) -> Member:
    work = member_work(draft, entry.name, entry.section, axes, opens)
    section = draft.section(entry.section, axes, opens, work=work)
    metal = draft.material(entry.material, loc)
    run = Run(0.0, float(lengths(path)[-1]), section, metal, part, metal.yield_stress)
    return Member(
        entry.name,
        "crossmember" if kind == "crossmember" else "brace",
        "centre",
        path,
        names or (f"{entry.name} left", f"{entry.name} right"),
        (run,),
        member_axes(path)[0],
        part,
    )


def _corner(
    draft: Draft, step: "PathEntry", loc: Loc, others: Mapping[str, Member], name: str
) -> _Corner | None:
    """Return one corner of a brace, None after a complaint."""
    if step.point is not None:
        point = draft.document.point.get(step.point)
        if point is None:
            do = choices(draft.document.point, step.point)
            do = do or "add it: [point.NAME] with station, offset and height"
            draft.complain(f'there is no point "{step.point}"', (*loc, "point"), do=do)
            return None
        return _Corner(np.array([point.station, point.offset, point.height]), step.point)
    if step.rail is not None and step.station is not None:
        return _on_rail(draft, step, loc, others, name)
    return _on_crossmember(draft, step, loc, others, name)


def _on_rail(
    draft: Draft, step: "PathEntry", loc: Loc, others: Mapping[str, Member], name: str
) -> _Corner | None:
    rails = {rail.name: sided(rail) for rail in draft.document.rail}
    if step.rail not in rails:
        do = choices(rails, step.rail or "")
        draft.complain(f'there is no rail "{step.rail}"', (*loc, "rail"), do=do)
        return None
    sides = rails[step.rail]
    if len(sides) == 2 and step.side is None:
        rule = f'"{step.rail}" is a pair of rails: say which'
        draft.complain(rule, loc, do='add side = "right" or side = "left"')
        return None
    if len(sides) == 1 and step.side is not None and step.side not in sides:
        rule = f'rail "{step.rail}" is on one side only'
        draft.complain(rule, (*loc, "side"), do="leave side out")
        return None
    member = sides[step.side] if step.side in sides else next(iter(sides.values()))
    if member not in others or step.station is None:
        return None
    path = others[member].path
    front, rear = float(path[0, 0]), float(path[-1, 0])
    if not front - SAME <= step.station <= rear + SAME:
        rule = f'rail "{member}" runs from station {front:g} mm to {rear:g} mm'
        draft.complain(rule, (*loc, "station"), do="correct the station")
        return None
    distance = distance_at_station(path, step.station)
    return _Corner(point_at(path, distance), name, member, distance)


def _on_crossmember(
    draft: Draft, step: "PathEntry", loc: Loc, others: Mapping[str, Member], name: str
) -> _Corner | None:
    wanted, offset = step.crossmember or "", step.offset or 0.0
    crossmembers = [m.name for m in others.values() if m.kind == "crossmember"]
    if wanted not in crossmembers:
        rule = f'there is no crossmember "{wanted}", or it is not fitted'
        draft.complain(rule, (*loc, "crossmember"), do=choices(crossmembers, wanted))
        return None
    path = others[wanted].path
    left, right = float(path[0, 1]), float(path[1, 1])
    if not left - SAME <= offset <= right + SAME:
        rule = f'crossmember "{wanted}" runs from offset {left:g} mm to {right:g} mm'
        draft.complain(rule, (*loc, "offset"), do="correct the offset")
        return None
    position = path[0] + (path[1] - path[0]) * (offset - left) / (right - left)
    distance, _ = nearest(path, position)
    return _Corner(position, name, wanted, distance)


def _toward(opens: str | None, path: Array) -> str | None:
    """Return inboard and outboard, for a brace, as right or left."""
    if opens not in {"inboard", "outboard"}:
        return opens
    is_left = bool(path[:, 1].mean() < 0.0)
    return "right" if is_left == (opens == "inboard") else "left"


def _triple(position: Array) -> tuple[float, float, float]:
    x, y, z = position.tolist()
    return x, y, z
