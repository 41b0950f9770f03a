"""From the tables of what must stay clear to a `Packaging`, with the checks that span tables."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from fea.document.spelling import choices
from fea.frame.build_draft import Draft, Loc
from fea.frame.clear import Arch, Exhaust, Gearbox, Ground, KeepClear, Packaging, Shaft, Spot
from fea.frame.model import Member

if TYPE_CHECKING:
    from fea.document.schema import CrossmemberEntry
    from fea.document.schema_clear import ExhaustEntry, KeepClearEntry, SpotEntry


def build_packaging(draft: Draft, members: Mapping[str, Member]) -> Packaging:
    """Return what must stay clear of a frame; complain of what is wrong.

    Parameters
    ----------
    members : mapping, the fitted ones by name
    """
    document = draft.document
    entries: list[tuple[CrossmemberEntry, Loc]] = [
        (entry, ("crossmember", k)) for k, entry in enumerate(document.crossmember)
    ]
    entries += [
        (entry, ("part", k, "crossmember", n))
        for k, part in enumerate(document.part)
        for n, entry in enumerate(part.crossmember)
    ]
    arches = [
        Arch(entry.name, entry.arch.height, entry.arch.width)
        for entry, loc in entries
        if entry.arch is not None and _room(draft, entry, loc, members)
    ]
    _check_names(draft, [entry.name for entry, _ in entries])
    ground, gearbox = document.ground, document.gearbox
    return Packaging(
        shafts=tuple(
            Shaft(s.name, s.diameter, s.margin, _spot(s.front), _spot(s.rear), s.bump, s.droop)
            for s in document.shaft
        ),
        exhausts=tuple(pipe for entry in document.exhaust for pipe in _pipes(entry)),
        keep_clear=tuple(_kept(entry) for entry in document.keep_clear),
        ground=None
        if ground is None
        else Ground(
            ground.clearance,
            (ground.drop_front, ground.drop_rear),
            (ground.jounce_front, ground.jounce_rear),
        ),
        gearbox=None
        if gearbox is None
        else Gearbox(
            gearbox.crossmember,
            _spot(gearbox.mount),
            (
                gearbox.mount.station if gearbox.start is None else gearbox.start,
                gearbox.mount.station if gearbox.end is None else gearbox.end,
            ),
        ),
        arches=tuple(arches),
    )


def _spot(entry: "SpotEntry") -> Spot:
    return entry.station, entry.offset, entry.height


def _pipes(entry: "ExhaustEntry") -> list[Exhaust]:
    """Return a pipe, or the two of a mirrored pair by the side they start on."""
    points = tuple(_spot(p) for p in entry.points)
    if not entry.mirrored:
        return [Exhaust(entry.name, entry.diameter, entry.clearance, points)]
    sides = ("right", "left") if points[0][1] >= 0.0 else ("left", "right")
    other = tuple((x, -y, z) for x, y, z in points)
    return [
        Exhaust(f"{entry.name} {side}", entry.diameter, entry.clearance, line)
        for side, line in zip(sides, (points, other), strict=True)
    ]


def _kept(entry: "KeepClearEntry") -> KeepClear:
    ends = entry.axis or [spot for spot in (entry.start, entry.end) if spot is not None]
    start, end = _spot(ends[0]), _spot(ends[1])
    near = tuple(entry.near)
    return KeepClear(entry.name, entry.clearance, start, end, entry.diameter, near)


def _room(draft: Draft, entry: "CrossmemberEntry", loc: Loc, members: Mapping[str, Member]) -> bool:
    """Refuse an arch that is wider than its crossmember; one that is left off is not tried."""
    if entry.arch is None or entry.name not in members:
        return entry.arch is not None
    path = members[entry.name].path
    span = float(abs(path[-1, 1] - path[0, 1]))
    foot = entry.arch.width + 2.0 * entry.arch.height
    if foot < span:
        return True
    draft.complain(
        f"an arch with its sides at 45 degrees must fit between the rails: {span:g} mm",
        (*loc, "arch"),
        found=f"{foot:g} mm at its foot",
        do="make width or height smaller",
    )
    return False


def _check_names(draft: Draft, crossmembers: list[str]) -> None:
    """Refuse names given twice, and names of what is not there."""
    document = draft.document
    seen: set[str] = set()
    for table in ("shaft", "exhaust", "keep_clear"):
        for number, entry in enumerate(getattr(document, table)):
            if entry.name in seen:
                draft.complain(
                    "the name of what must stay clear must be given only once",
                    (table, number, "name"),
                    do="give one of them another name",
                )
            seen.add(entry.name)
    braces = [b.name for b in document.brace]
    braces += [b.name for part in document.part for b in part.brace]
    pipes = [pipe.name for entry in document.exhaust for pipe in _pipes(entry)]
    known = [*(rail.name for rail in document.rail), *crossmembers, *braces, *pipes]
    for number, kept in enumerate(document.keep_clear):
        for k, name in enumerate(kept.near):
            if name not in known:
                rule = f'there is no member or exhaust "{name}"'
                draft.complain(rule, ("keep_clear", number, "near", k), do=choices(known, name))
    box = document.gearbox
    if box is not None and box.crossmember not in crossmembers:
        rule = f'there is no crossmember "{box.crossmember}"'
        draft.complain(rule, ("gearbox", "crossmember"), do=choices(crossmembers, box.crossmember))
