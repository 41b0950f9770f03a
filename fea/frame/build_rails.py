"""Rails and the plates that box them: from the document's points to members and runs."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.document.spelling import choices
from fea.frame.build_draft import UP, Draft, Loc, Work, member_axes
from fea.frame.build_walls import Flaw, Under, check_flaw, flaws_of, work_at
from fea.frame.model import Material, Member, Run, Side
from fea.frame.path import distance_at_station, lengths
from fea.section.seam import Stitch

if TYPE_CHECKING:
    from fea.document.schema import RailEntry, RailPointEntry
    from fea.document.schema_walls import BoxingEntry

Array = NDArray[np.float64]

# Places on a path closer than this are one, mm: a hundredth is less than any tape reads.
SAME = 0.01


@dataclass(frozen=True)
class Plate:
    """A boxing plate as typed: its table, where that stands, whose part it is."""

    entry: "BoxingEntry"
    loc: Loc
    part: str | None
    fitted: bool


@dataclass(frozen=True)
class _Span:
    """A length of a rail with one section, mm along its path."""

    start: float
    end: float
    section: str
    opens: str | None
    material: Material


def sided(rail: "RailEntry") -> dict[Side, str]:
    """Return the names of a rail's members by side; a pair has two."""
    if rail.side == "both":
        return {"right": f"{rail.name} right", "left": f"{rail.name} left"}
    return {rail.side: rail.name}


def build_rails(draft: Draft, plates: Sequence[Plate]) -> list[Member]:
    """Return the rails, the right one of a pair first, with the fitted plates in them."""
    members: list[Member] = []
    rails = draft.document.rail
    for plate in plates:
        if plate.entry.rail not in {rail.name for rail in rails}:
            rule = f'there is no rail "{plate.entry.rail}"'
            do = choices([rail.name for rail in rails], plate.entry.rail)
            draft.complain(rule, (*plate.loc, "rail"), do=do)
    for number, rail in enumerate(rails):
        loc: Loc = ("rail", number)
        path = _path(draft, rail, loc)
        spans = _spans(draft, rail, path, loc) if path is not None else None
        own = [p for p in plates if p.entry.rail == rail.name]
        if path is None or spans is None:
            continue
        own = [p for p in own if _fits(draft, rail, path, spans, p)]
        flaws = [f for f in flaws_of(draft, rail, path) if _holds(draft, path, spans, own, f)]
        for side, name in sided(rail).items():
            here = [p for p in own if p.fitted and p.entry.side in {None, "both", side}]
            flawed = [f for f in flaws if f.on(side)]
            runs = _runs(draft, path, spans, _apart(draft, path, here), flawed)
            member = Member(name, "rail", side, path, tuple(p.name for p in rail.points), runs, UP)
            is_mirror = rail.side == "both" and side == "left"
            members.append(_mirror(draft, member) if is_mirror else member)
    return members


def _path(draft: Draft, rail: "RailEntry", loc: Loc) -> Array | None:
    """Return a rail's corners, shape (n, 3), None after a complaint."""
    good = True
    for k, (before, point) in enumerate(pairwise(rail.points), start=1):
        if point.station <= before.station:
            draft.complain(
                "the stations of a rail must increase from point to point",
                (*loc, "points", k, "station"),
                found=f'{point.station:g} mm, after {before.station:g} mm at "{before.name}"',
                do="list the points from front to rear",
            )
            good = False
    for k, point in enumerate(rail.points):
        if rail.side == "both" and point.offset <= 0.0:
            draft.complain(
                "a rail on both sides is given for the right side: offset greater than 0 mm",
                (*loc, "points", k, "offset"),
                do='give the right side\'s offset, or side = "left" for this rail alone',
            )
            good = False
    if not good:
        return None
    return np.array([(p.station, p.offset, p.height) for p in rail.points])


def _spans(draft: Draft, rail: "RailEntry", path: Array, loc: Loc) -> list[_Span] | None:
    """Return the lengths of one section each, None after a complaint."""
    spans: list[_Span] = []
    good = True
    section: str | None = None
    turned: str | None = None
    material = draft.material(rail.material, loc)
    at = lengths(path).tolist()
    last = len(rail.points) - 1
    for k, point in enumerate(rail.points):
        here = (*loc, "points", k)
        if k == last:
            good &= _check_last(draft, point, here)
            break
        if point.section is not None:
            good &= draft.has_section(point.section, here)
        section = point.section or section
        turned = point.opens or turned
        if point.material is not None:
            material = draft.material(point.material, here)
        if section is None:
            rule = "the first point of a rail needs a section"
            draft.complain(rule, here, do=choices(draft.document.section))
            return None
        if good:
            is_hat = draft.shape(section) == "hat"
            opens = turned or (None if is_hat else rail.opens)
            spans.append(_Span(at[k], at[k + 1], section, _outward(opens, rail), material))
    return _joined(spans) if good else None


def _check_last(draft: Draft, point: "RailPointEntry", loc: Loc) -> bool:
    if point.section is None:
        return True
    draft.complain(
        "the last point of a rail has no section: nothing follows it",
        (*loc, "section"),
        do="leave the section out, or add the point where the rail ends",
    )
    return False


def _outward(opens: str | None, rail: "RailEntry") -> str | None:
    """Return inboard and outboard as right or left."""
    if opens not in {"inboard", "outboard"}:
        return opens
    is_left = rail.side == "left"
    return "right" if is_left == (opens == "inboard") else "left"


def _joined(spans: Iterable[_Span]) -> list[_Span]:
    """Join spans that differ in nothing but their place."""
    joined: list[_Span] = []
    for span in spans:
        if joined and replace(joined[-1], end=span.end) == replace(span, start=joined[-1].start):
            joined[-1] = replace(joined[-1], end=span.end)
        else:
            joined.append(span)
    return joined


def _fits(
    draft: Draft, rail: "RailEntry", path: Array, spans: Sequence[_Span], plate: Plate
) -> bool:
    """Check one plate against its rail, fitted or not."""
    entry, loc = plate.entry, plate.loc
    front, rear = float(path[0, 0]), float(path[-1, 0])
    if entry.end <= entry.start:
        rule = "a boxing plate must end behind its start"
        found = f"from {entry.start:g} mm to {entry.end:g} mm"
        draft.complain(rule, (*loc, "to"), found=found, do="make to larger than from")
        return False
    if entry.start < front - SAME or entry.end > rear + SAME:
        draft.complain(
            f'a boxing plate must lie on its rail, "{rail.name}": '
            f"stations {front:g} mm to {rear:g} mm",
            (*loc, "from" if entry.start < front - SAME else "to"),
            found=f"{entry.start:g} mm to {entry.end:g} mm",
            do="shorten the plate",
        )
        return False
    sides = {None, "both", *sided(rail)}
    if entry.side not in sides or (entry.side == "both" and rail.side != "both"):
        rule = f'rail "{rail.name}" is on one side only'
        draft.complain(rule, (*loc, "side"), do="leave side out")
        return False
    if entry.material is not None:
        _check_metal(draft, plate, spans[0].material)
    start, end = _stretch(path, plate)
    for span in spans:
        if span.end <= start + SAME or span.start >= end - SAME:
            continue
        shape = draft.shape(span.section)
        if shape != "channel":
            draft.complain(
                "only an open channel can be boxed",
                loc,
                found=f'section "{span.section}" of rail "{rail.name}" is a {shape}',
                do="shorten the plate to the channel's length",
            )
            return False
        if not draft.can_box(span.section, entry.plate, loc):
            return False
    return True


def _check_metal(draft: Draft, plate: Plate, rail: Material) -> None:
    """Refuse a plate whose metal differs from the rail's in more than its yield."""
    metal = draft.material(plate.entry.material, plate.loc)
    if (metal.E, metal.nu, metal.density) != (rail.E, rail.nu, rail.density):
        draft.complain(
            f'a plate must have E, nu and density of its rail\'s material, "{rail.name}"',
            (*plate.loc, "material"),
            do="only the yield may differ",
        )


def _stretch(path: Array, plate: Plate) -> tuple[float, float]:
    entry = plate.entry
    return distance_at_station(path, entry.start), distance_at_station(path, entry.end)


def _apart(draft: Draft, path: Array, plates: Sequence[Plate]) -> list[Plate]:
    """Return the plates from front to rear, with a complaint for each two that overlap."""
    ordered = sorted(plates, key=lambda p: p.entry.start)
    kept: list[Plate] = []
    for plate in ordered:
        if kept and plate.entry.start < kept[-1].entry.end - SAME:
            other = kept[-1]
            names = [f'part "{p.part}"' if p.part else "a stock plate" for p in (other, plate)]
            complaint = (
                "two boxing plates must not overlap",
                f"{names[0]} to {other.entry.end:g} mm, {names[1]} from {plate.entry.start:g} mm",
                "leave one of them off, or shorten it",
            )
            where = draft.document.origin.where(plate.loc)
            # A pair of rails would tell it twice.
            if not any(c.rule == complaint[0] and c.where == where for c in draft.complaints):
                draft.complain(complaint[0], plate.loc, found=complaint[1], do=complaint[2])
            continue
        kept.append(plate)
    return kept


def _holds(
    draft: Draft, path: Array, spans: Sequence[_Span], plates: Sequence[Plate], flaw: Flaw
) -> bool:
    """Check wear or a hole against every section it lies on, with each plate and without."""
    under: list[Under] = []
    for span in spans:
        if not flaw.over(span.start, span.end):
            continue
        under.append(Under(span.section, span.opens))
        for plate in plates:
            start, end = _stretch(path, plate)
            start, end = max(start, span.start), min(end, span.end)
            if end > start + SAME and flaw.over(start, end):
                under.append(Under(span.section, span.opens, plate.entry.plate))
    return check_flaw(draft, flaw, member_axes(path)[1], under)


def _runs(
    draft: Draft,
    path: Array,
    spans: Sequence[_Span],
    plates: Sequence[Plate],
    flaws: Sequence[Flaw],
) -> tuple[Run, ...]:
    """Split the spans at the ends of plates, wear and holes; close what lies under a plate."""
    axes = member_axes(path)[1]
    stretches = [(*_stretch(path, plate), plate) for plate in plates]
    runs: list[Run] = []
    for span in spans:
        cuts = [c for start, end, _ in stretches for c in (start, end)]
        cuts += [c for flaw in flaws if flaw.applied for c in (flaw.start, flaw.end)]
        inner = sorted(c for c in cuts if span.start + SAME < c < span.end - SAME)
        inner = [c for k, c in enumerate(inner) if k == 0 or c - inner[k - 1] > SAME]
        for a, b in pairwise([span.start, *inner, span.end]):
            over = [p for start, end, p in stretches if start <= (a + b) / 2 <= end]
            if not over:
                work = work_at(flaws, (a + b) / 2, Work())
                section = draft.section(span.section, axes, span.opens, work=work)
                metal = span.material
                runs.append(Run(a, b, section, metal, None, metal.yield_stress))
                continue
            entry = over[0].entry
            stitch = Stitch(entry.stitch.weld, entry.stitch.pitch) if entry.stitch else None
            work = work_at(flaws, (a + b) / 2, Work(entry.plate, stitch))
            section = draft.section(span.section, axes, span.opens, work=work)
            plate_metal = draft.materials.get(entry.material or "", span.material)
            weakest = min(span.material.yield_stress, plate_metal.yield_stress)
            runs.append(Run(a, b, section, span.material, over[0].part, weakest))
    return tuple(runs)


def _mirror(draft: Draft, member: Member) -> Member:
    """Return the left rail of a pair from one built as if it stood on the right."""
    runs = tuple(replace(r, section=draft.mirrored(r.section)) for r in member.runs)
    return replace(member, path=member.path * np.array([1.0, -1.0, 1.0]), runs=runs)
