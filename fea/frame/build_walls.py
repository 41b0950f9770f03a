"""Wear and holes: where on a rail or other member they lie, and whether they can be."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

from fea.document.spelling import choices
from fea.errors import Complaint, ModelError
from fea.frame.build_draft import PLATE, Array, Draft, Loc, Work
from fea.frame.path import distance_at_station
from fea.section.holes import Hole
from fea.section.wear import Wear, wall_names, walls_called

if TYPE_CHECKING:
    from fea.document.schema import RailEntry
    from fea.document.schema_walls import HoleEntry, WearEntry

# A hole that is closer to a rail's end than this, mm, lies on it all the same.
_SAME = 0.01


@dataclass(frozen=True)
class Flaw:
    """Wear or a hole over a length of a rail, mm along its path."""

    start: float
    end: float
    what: Wear | Hole
    side: str | None
    loc: Loc
    applied: bool = True

    def over(self, start: float, end: float) -> bool:
        """Return whether it reaches into a stretch by more than an end."""
        return self.start < end - _SAME and self.end > start + _SAME

    def on(self, side: str) -> bool:
        """Return whether it is on the rail of a side."""
        return self.side in {None, "both", side}


@dataclass(frozen=True)
class Under:
    """A section that a flaw lies on: its name, the way it opens, a boxing plate, mm."""

    section: str
    opens: str | None
    plate: float | None = None


def wear_of(entry: "WearEntry") -> Wear:
    """Return what a table of wear says of the walls."""
    left, lost = entry.left, entry.loss
    if left is not None:
        return Wear(entry.walls, left=left.mean, half=left.half)
    if lost is not None and lost.kind == "share":
        return Wear(entry.walls, share=lost.mean, half=lost.half)
    return Wear(entry.walls, lost.mean if lost else None, half=lost.half if lost else 0.0)


def check_names(draft: Draft, sides: Mapping[str, Iterable[str]], others: Sequence[str]) -> None:
    """Refuse wear and holes of rails and members that are not there.

    Parameters
    ----------
    sides : mapping of each rail's name to its sides
    others : names of crossmembers and braces
    """
    document = draft.document
    for table in ("wear", "hole"):
        for number, entry in enumerate(getattr(document, table)):
            loc: Loc = (table, number)
            if entry.rail is not None and entry.rail not in sides:
                rule = f'there is no rail "{entry.rail}"'
                draft.complain(rule, (*loc, "rail"), do=choices(sides, entry.rail))
            elif entry.rail is not None and entry.side is not None:
                here = set(sides[entry.rail])
                if entry.side not in here and not (entry.side == "both" and len(here) == 2):
                    rule = f'rail "{entry.rail}" is on one side only'
                    draft.complain(rule, (*loc, "side"), do="leave side out")
            member = getattr(entry, "member", None)
            if member is not None and member not in others:
                rule = f'there is no crossmember or brace "{member}"'
                rail = member in sides
                do = f'write rail = "{member}"' if rail else choices(others, member)
                draft.complain(rule, (*loc, "member"), do=do)


def flaws_of(draft: Draft, rail: "RailEntry", path: Array) -> list[Flaw]:
    """Return the wear and the holes of a rail, those that lie on it."""
    found = []
    for number, entry in enumerate(draft.document.wear):
        if entry.rail == rail.name:
            found.append(_wear(draft, entry, ("wear", number), path))
    for number, hole in enumerate(draft.document.hole):
        if hole.rail == rail.name:
            found.append(_hole(draft, hole, ("hole", number), path))
    good = [flaw for flaw in found if flaw is not None]
    return [flaw for flaw in good if not _told_twice(draft, flaw, good)]


def _wear(draft: Draft, entry: "WearEntry", loc: Loc, path: Array) -> Flaw | None:
    front, rear = float(path[0, 0]), float(path[-1, 0])
    start = front if entry.start is None else entry.start
    end = rear if entry.end is None else entry.end
    stretch = _stretch(draft, (start, end), loc, path, "wear")
    if stretch is None:
        return None
    return Flaw(*stretch, wear_of(entry), entry.side, loc, entry.applied)


def _hole(draft: Draft, entry: "HoleEntry", loc: Loc, path: Array) -> Flaw | None:
    length, height = entry.size
    hole = Hole(entry.wall, length, height, entry.pitch)
    if entry.at is None:
        ends = (entry.start or 0.0, entry.end or 0.0)
        stretch = _stretch(draft, ends, loc, path, "a row of holes")
        return None if stretch is None else Flaw(*stretch, hole, entry.side, loc)
    front, rear = float(path[0, 0]), float(path[-1, 0])
    room = hole.stretch / 2
    if not front + room - _SAME <= entry.at <= rear - room + _SAME:
        draft.complain(
            f"a hole of this length must lie {room:g} mm clear of the rail's ends: "
            f"from station {front + room:g} mm to {rear - room:g} mm",
            (*loc, "at"),
            do="correct the station, or leave out a hole at the rail's end",
        )
        return None
    middle = distance_at_station(path, entry.at)
    return Flaw(middle - room, middle + room, hole, entry.side, loc)


def _stretch(
    draft: Draft, ends: tuple[float, float], loc: Loc, path: Array, what: str
) -> tuple[float, float] | None:
    """Return a stretch between two stations along a rail's path, None after a complaint."""
    front, rear = float(path[0, 0]), float(path[-1, 0])
    start, end = ends
    found = f"from {start:g} mm to {end:g} mm"
    if end <= start:
        rule = f"{what} must end behind its start"
        draft.complain(rule, (*loc, "to"), found=found, do="make to larger than from")
        return None
    if start < front - _SAME or end > rear + _SAME:
        draft.complain(
            f"{what} must lie on its rail: stations {front:g} mm to {rear:g} mm",
            (*loc, "from" if start < front - _SAME else "to"),
            found=found,
            do="correct the station",
        )
        return None
    return distance_at_station(path, start), distance_at_station(path, end)


def _told_twice(draft: Draft, flaw: Flaw, flaws: Sequence[Flaw]) -> bool:
    """Refuse a second figure for the same wall at the same place."""
    for first, second in combinations(flaws, 2):
        same = type(first.what) is type(second.what) and first.applied and second.applied
        sides = {first.side or "both", second.side or "both"}
        if second is not flaw or not same or not first.over(flaw.start, flaw.end):
            continue
        if sides == {"right", "left"} or not _share_walls(first.what, second.what):
            continue
        what = "wear" if isinstance(flaw.what, Wear) else "holes"
        draft.complain(
            f"{what} of one wall must be given only once for each place",
            flaw.loc,
            found=f"also in {first.loc[0]} {int(first.loc[1]) + 1}",
            do="shorten one of them, or name different walls"
            if what == "wear"
            else "shorten one of them, or describe neighbouring holes as a row",
        )
        return True
    return False


def _share_walls(first: Wear | Hole, second: Wear | Hole) -> bool:
    ours, theirs = (w.walls if isinstance(w, Wear) else (w.wall,) for w in (first, second))
    if not ours or not theirs:  # the whole section, which a boxing plate is no part of
        return any(name != PLATE for name in (*ours, *theirs)) or ours == theirs
    return any(a == b or a.endswith(f" {b}") or b.endswith(f" {a}") for a in ours for b in theirs)


def work_at(flaws: Iterable[Flaw], middle: float, work: Work) -> Work:
    """Return the work on a stretch of rail with the wear and the holes that reach over it."""
    here = [flaw for flaw in flaws if flaw.applied and flaw.start <= middle <= flaw.end]
    return replace(
        work,
        wears=tuple(flaw.what for flaw in here if isinstance(flaw.what, Wear)),
        holes=tuple(flaw.what for flaw in here if isinstance(flaw.what, Hole)),
    )


def check_flaw(draft: Draft, flaw: Flaw, axes: Array, under: Sequence[Under]) -> bool:
    """Return whether a flaw fits every section under it, with a complaint if not.

    Parameters
    ----------
    axes : array, shape (2, 3)
        The member's y and z axes in vehicle axes.
    under : the new sections that it lies on, with and without the plates that may be fitted
    """
    new = [draft.section(u.section, axes, u.opens, work=Work(u.plate)) for u in under]
    for wall in flaw.what.walls if isinstance(flaw.what, Wear) else (flaw.what.wall,):
        bare = [s for s in new if not walls_called(s.midline, wall).any()]
        # A plate need not be there all along; any other wall must.
        if bare and (wall != PLATE or len(bare) == len(new)):
            names = list(dict.fromkeys(n for s in new for n in wall_names(s.midline)))
            rule = f'there is no wall "{wall}" in section "{bare[0].name}"'
            draft.complain(rule, (*flaw.loc, "wall"), found=f'"{wall}"', do=choices(names, wall))
            return False
    alone = [replace(flaw, applied=True)]
    for u in under:
        work = work_at(alone, flaw.start, Work(u.plate))
        try:
            draft.section(u.section, axes, u.opens, work=work)
        except ModelError as error:
            name = Work(u.plate).words(u.section)
            # What is kept for later may have been measured on a thicker wall than the one tried.
            told = [c for c in error.complaints if flaw.applied or "must not be more" not in c.rule]
            if not told:
                continue
            for c in told:
                _tell(draft, flaw, name, c)
            return False
    return True


def _tell(draft: Draft, flaw: Flaw, section: str, c: Complaint) -> None:
    """Tell a rule of the section's maker with the place of the key that it is about."""
    word = c.rule.partition(" must ")[0]
    key = (word,) if word in {"loss", "left", "pitch", "wall"} else ()
    where = draft.document.origin.where((*flaw.loc, *key))
    found = f'{c.found}, section "{section}"' if c.found else f'section "{section}"'
    draft.complaints.append(Complaint(c.rule, where, found, c.do))


def member_work(draft: Draft, name: str, section: str, axes: Array, opens: str | None) -> Work:
    """Return the wear of a crossmember or brace, as far as it can be, with complaints."""
    flaws = [
        Flaw(0.0, 1.0, wear_of(entry), None, ("wear", number), entry.applied)
        for number, entry in enumerate(draft.document.wear)
        if entry.member == name
    ]
    good = [
        flaw
        for flaw in flaws
        if check_flaw(draft, flaw, axes, [Under(section, opens)])
        and not _told_twice(draft, flaw, flaws)
    ]
    return work_at(good, 0.5, Work())
