"""From a validated document to a `Frame`: names to objects, and checks that span tables.

The order is: choose the parts, then rails with their plates, crossmembers, braces, the
points where they meet, and what the frame carries.  Parts that are left off are built
too, so that a slip in one shows at once, and then dropped.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

import numpy as np

from fea.document.spelling import choices
from fea.errors import Complaint, ModelError
from fea.frame.body import Body, Tie
from fea.frame.build_body import Standing, build_bodies, choose_body
from fea.frame.build_bulkheads import build_bulkheads
from fea.frame.build_carried import build_axle, build_mass, build_mounts
from fea.frame.build_clear import build_packaging
from fea.frame.build_draft import Draft, Loc, materials
from fea.frame.build_meetings import find_meetings
from fea.frame.build_members import Built, build_brace, build_crossmember, turned_round
from fea.frame.build_rails import SAME, Plate, build_rails, sided
from fea.frame.build_ties import TieItem, build_ties
from fea.frame.build_walls import check_names
from fea.frame.model import Axle, Bulkhead, Frame, Mass, Member, Mount, Part
from fea.frame.mounts import with_grade
from fea.frame.slots import turned_names

if TYPE_CHECKING:
    from fea.document.schema import CrossmemberEntry, FrameDocument


@dataclass(frozen=True)
class _Item:
    """A table of the document, stock or of a part."""

    entry: Any
    loc: Loc
    part: str | None
    fitted: bool


def build_frame(
    document: "FrameDocument",
    *,
    source: str,
    fit: Iterable[str] = (),
    leave: Iterable[str] = (),
    stock: bool = False,
    positions: Mapping[str, float] | None = None,
    turned: Iterable[str] = (),
    body: str | None = None,
    mounts: str | None = None,
) -> Frame:
    """Return the frame of a document for one choice of parts and of a body.

    Parameters
    ----------
    document, source : FrameDocument and where it came from, for messages and reports
    fit, leave : names of parts to fit or leave off, whatever the document says of them
    stock : bool
        Leave off every part that `fit` does not name.
    positions : mapping of crossmember to station, mm
        Where to bolt the crossmembers that have more than one position.
    turned : names of reversible crossmembers to be bolted in turned round
    body : str, optional
        A kind of body of the document; "none", or left out, for the frame without one.
    mounts : str, optional
        A ready grade for all body mounts, instead of what the document says.

    Raises
    ------
    ModelError
        With everything in the document that does not fit together.
    """
    parts = _choose(document, source, list(fit), list(leave), stock=stock)
    stations = _stations(document, source, positions or {})
    around = turned_names(document, source, turned)
    kind = choose_body(document, source, body)
    draft = Draft(document, materials(document))
    _check_names(draft)
    draft.check_sections()
    fitted = {part.name for part in parts if part.fitted}
    out = _replaced(draft, fitted)

    plates = [
        Plate(item.entry, item.loc, item.part, item.fitted)
        for item in _items(document, "boxing", fitted, out)
    ]
    _check_flaws(draft)
    rails = {rail.name: rail for rail in build_rails(draft, plates)}
    built = _members(draft, rails, (fitted, out), stations, around)
    members = rails | {one.member.name: one.member for one in built}
    meetings = find_meetings(draft, members, built)
    bulkheads = _bulkheads(draft, rails, fitted, out)
    standing, axles, masses = _carried(draft, members, fitted, out)
    bodies = build_bodies(draft, standing)
    ties = _ties(draft, members, bodies, fitted, out)
    packaging = build_packaging(draft, members)
    if draft.complaints:
        raise ModelError(*draft.complaints)
    frame = Frame(
        name=PurePath(source).stem,
        title=document.title,
        source=source,
        members=tuple(members.values()),
        joints=tuple(joint for one in built for joint in one.joints),
        meetings=tuple(meetings),
        mounts=tuple(mount for pair in standing.fitted.values() for mount in pair),
        masses=masses,
        axles=axles,
        parts=parts,
        notes=tuple(document.notes),
        bulkheads=bulkheads,
        bodies=() if kind is None else bodies[kind],
        ties=() if kind is None else ties[kind],
        packaging=packaging,
    )
    return frame if mounts is None else with_grade(frame, mounts)


def allowed_positions(document: "FrameDocument") -> dict[str, tuple[float, ...]]:
    """Return the stations, mm, of each crossmember that can be bolted at more than one."""
    return {
        item.entry.name: _slots(item.entry)
        for item in _items(document, "crossmember", set(), set())
        if item.entry.positions is not None
    }


def _slots(entry: "CrossmemberEntry") -> tuple[float, ...]:
    given = entry.positions
    if given is None:
        return ()
    if isinstance(given, list):
        return tuple(sorted(given))
    count = int((given.end - given.start) / given.step + 1e-6) + 1
    return tuple((given.start + given.step * np.arange(count)).tolist())


def _items(
    document: "FrameDocument", table: str, fitted: set[str], out: set[str]
) -> Iterator[_Item]:
    """Yield the entries of one kind of table: the stock ones, then those of each part."""
    for number, entry in enumerate(getattr(document, table)):
        name = getattr(entry, "name", None)
        yield _Item(entry, (table, number), None, name not in out)
    for k, part in enumerate(document.part):
        for number, entry in enumerate(getattr(part, table)):
            yield _Item(entry, ("part", k, table, number), part.name, part.name in fitted)


def _choose(
    document: "FrameDocument", source: str, fit: list[str], leave: list[str], *, stock: bool
) -> tuple[Part, ...]:
    """Return all parts with their final state."""
    names = [part.name for part in document.part]
    complaints = [
        Complaint(
            f'there is no part "{name}"',
            source,
            do=choices(names, name) or "this frame has no parts to choose from",
        )
        for name in (*fit, *leave)
        if name not in names
    ]
    complaints += [
        Complaint(f'part "{name}" cannot be both fitted and left off', source)
        for name in fit
        if name in leave
    ]
    if complaints:
        raise ModelError(*complaints)
    return tuple(
        Part(
            part.name,
            part.about,
            part.name not in leave and (part.name in fit or (part.fitted and not stock)),
        )
        for part in document.part
    )


def _stations(
    document: "FrameDocument", source: str, positions: Mapping[str, float]
) -> dict[str, float]:
    """Return the chosen stations of crossmembers, each one that its slots allow."""
    allowed = allowed_positions(document)
    complaints = []
    chosen = {}
    for name, station in positions.items():
        if name not in allowed:
            do = choices(allowed, name) or "no crossmember of this frame has more than one"
            rule = f'there is no crossmember "{name}" with more than one position'
            complaints.append(Complaint(rule, source, do=do))
            continue
        near = min(allowed[name], key=lambda slot: abs(slot - station))
        if abs(near - station) > SAME:
            listed = ", ".join(f"{slot:g}" for slot in allowed[name])
            rule = f'crossmember "{name}" cannot be bolted there'
            do = f"one of the stations {listed} mm"
            complaints.append(Complaint(rule, source, f"{station:g} mm", do))
        chosen[name] = near
    if complaints:
        raise ModelError(*complaints)
    return chosen


def _check_names(draft: Draft) -> None:
    """Refuse a name that is given twice among things that are looked up by it."""
    document = draft.document
    everything: list[list[tuple[str, Loc]]] = [[], [], [], [], [], []]
    members, mounts, parts, points, bodies, ties = everything
    for k, rail in enumerate(document.rail):
        members += [(name, ("rail", k)) for name in sided(rail).values()]
        if rail.side == "both":
            members.append((rail.name, ("rail", k)))
        points += [(p.name, ("rail", k, "points", n)) for n, p in enumerate(rail.points)]
    points += [(name, ("point", name)) for name in document.point]
    for table in ("crossmember", "brace"):
        members += [(i.entry.name, i.loc) for i in _items(document, table, set(), set())]
    mounts += [(i.entry.name, i.loc) for i in _items(document, "mount", set(), set())]
    parts += [(part.name, ("part", k)) for k, part in enumerate(document.part)]
    bodies += [(body.name, ("body", k)) for k, body in enumerate(document.body)]
    ties += [(i.entry.name, i.loc) for i in _items(document, "tie", set(), set())]
    words = ("member", "mount", "part", "point", "body", "tie")
    for what, named in zip(words, everything, strict=True):
        first: dict[str, Loc] = {}
        for name, loc in named:
            if name in first:
                line = document.origin.line(first[name])
                where = f", on line {line}" if line else ""
                draft.complain(
                    f"the name of a {what} must be given only once",
                    loc,
                    found=f'"{name}", given before{where}',
                    do="give one of them another name",
                )
            first.setdefault(name, loc)


def _check_flaws(draft: Draft) -> None:
    """Refuse wear and holes in what is not there."""
    document = draft.document
    sides = {rail.name: tuple(sided(rail)) for rail in document.rail}
    others = [
        item.entry.name
        for table in ("crossmember", "brace")
        for item in _items(document, table, set(), set())
    ]
    check_names(draft, sides, others)


def _replaced(draft: Draft, fitted: set[str]) -> set[str]:
    """Return the names of stock pieces that fitted parts stand for."""
    document = draft.document
    stock = [
        entry.name
        for table in (document.crossmember, document.brace, document.mount)
        for entry in table
    ]
    by: dict[str, str] = {}
    for k, part in enumerate(document.part):
        for number, name in enumerate(part.replaces):
            loc: Loc = ("part", k, "replaces", number)
            if name not in stock:
                rule = f'there is no stock piece "{name}" to replace'
                draft.complain(rule, loc, do=choices(stock, name))
            elif part.name in fitted and name in by:
                draft.complain(
                    f'"{name}" can be replaced by only one part',
                    loc,
                    found=f'part "{by[name]}" and part "{part.name}"',
                    do="leave one of them off",
                )
            elif part.name in fitted:
                by[name] = part.name
    return set(by)


def _members(
    draft: Draft,
    rails: Mapping[str, Member],
    chosen: tuple[set[str], set[str]],
    stations: Mapping[str, float],
    turned: frozenset[str],
) -> list[Built]:
    """Build every crossmember and brace; return those that are fitted."""
    fitted, out = chosen
    kept: list[Built] = []
    spare: dict[str, Member] = {}
    for item in _items(draft.document, "crossmember", fitted, out):
        _check_slots(draft, item)
        station = stations.get(item.entry.name)
        one = build_crossmember(draft, item.entry, item.loc, rails, part=item.part, station=station)
        if one is not None and item.entry.name in turned:
            one = turned_round(draft, one)
        if one is not None and item.fitted:
            kept.append(one)
        elif one is not None:
            spare[one.member.name] = one.member
    others = dict(rails) | {one.member.name: one.member for one in kept}
    for item in _items(draft.document, "brace", fitted, out):
        # A brace that is left off may lean on a crossmember that is left off with it.
        around = others if item.fitted else others | spare
        brace = build_brace(draft, item.entry, item.loc, around, item.part)
        if brace is not None and item.fitted:
            kept.append(brace)
    return kept


def _check_slots(draft: Draft, item: _Item) -> None:
    """Refuse a station that is not one of the crossmember's positions."""
    entry: CrossmemberEntry = item.entry
    slots = _slots(entry)
    if slots and min(abs(slot - entry.station) for slot in slots) > SAME:
        draft.complain(
            "the station must be one of the positions",
            (*item.loc, "station"),
            do="one of " + ", ".join(f"{slot:g}" for slot in slots) + " mm",
        )


def _carried(
    draft: Draft, members: Mapping[str, Member], fitted: set[str], out: set[str]
) -> tuple[Standing, tuple[Axle, ...], tuple[Mass, ...]]:
    """Build mounts, axles and masses; keep those that are fitted."""
    document = draft.document
    mounts: dict[str, tuple[Mount, ...]] = {}
    known: list[str] = []
    for item in _items(document, "mount", fitted, out):
        known.append(item.entry.name)
        made = build_mounts(draft, item.entry, item.loc, members)
        if item.fitted:
            mounts[item.entry.name] = tuple(made)
    rails: Sequence[Member] = [m for m in members.values() if m.kind == "rail"]
    axles: list[Axle] = []
    if document.axle.front is not None:
        axles.append(build_axle(draft, "front", document.axle.front, rails))
    if document.axle.rear is not None:
        axles.append(build_axle(draft, "rear", document.axle.rear, rails))
    if len(axles) == 2 and axles[1].station <= axles[0].station:
        draft.complain(
            "the rear axle must stand behind the front axle",
            ("axle", "rear", "station"),
            found=f"{axles[1].station:g} mm, front {axles[0].station:g} mm",
            do="correct the stations",
        )
    # A mount that failed is complained of once, not again by each mass it carries.
    masses = [
        (item, build_mass(draft, item.entry, item.loc, known=known, fitted=mounts))
        for item in _items(document, "mass", fitted, out)
    ]
    stand_ins = {
        name: tuple(mount.name for mount in part.mount)
        for part in document.part
        if part.name in fitted
        for name in part.replaces
    }
    failed = frozenset(name for name, made in mounts.items() if not made)
    standing = Standing(tuple(known), mounts, failed, stand_ins)
    return standing, tuple(axles), tuple(mass for item, mass in masses if item.fitted)


def _bulkheads(
    draft: Draft, rails: Mapping[str, Member], fitted: set[str], out: set[str]
) -> tuple[Bulkhead, ...]:
    """Build every bulkhead; return those that are fitted."""
    return tuple(
        bulkhead
        for item in _items(draft.document, "bulkhead", fitted, out)
        for bulkhead in build_bulkheads(draft, item.entry, item.loc, rails, item.part)
        if item.fitted
    )


def _ties(
    draft: Draft,
    members: Mapping[str, Member],
    bodies: Mapping[str, Sequence[Body]],
    fitted: set[str],
    out: set[str],
) -> dict[str, tuple[Tie, ...]]:
    """Build every tie to the bodies of each kind, fitted or not."""
    document = draft.document
    items = [
        TieItem(item.entry, item.loc, item.fitted and item.entry.fitted)
        for item in _items(document, "tie", fitted, out)
    ]
    named = {item.entry.name for item in _items(document, "crossmember", fitted, out)}
    return build_ties(draft, items, members, bodies, gone=named - members.keys())
