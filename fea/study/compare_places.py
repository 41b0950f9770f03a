"""Where stress rose from one state of a frame to another, place by place along its members."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.model import Frame, Member, Run
from fea.result.disturbed import nearest, spots
from fea.result.metal import DEPTHS
from fea.result.stress import stresses

if TYPE_CHECKING:
    from fea.result.answer import Answer
    from fea.result.metal import JointPeak, Sheeting

Array = NDArray[np.float64]

FLOOR = 0.2
"""Share of the later state's highest utilisation below which a rise is no concern: half as much
again of nearly nothing stays nearly nothing."""

ROUND_OFF = 1e-6
"""A rise of less than this share is none, whatever the limit."""

TOUCH = 1.0
"""Pieces of a member that reach within this of a place, mm, are there."""

APART = 200.0
"""A member of the same name whose path lies further off, mm, has no such place."""

TWIN = 0.005
"""Figures on the right and on the left that differ by less than this share are one place."""


@dataclass(frozen=True, eq=False)
class Trace:
    """The highest stress of every cross-section along a member.

    Attributes
    ----------
    start, end : (n,), mm along the member's path, of pieces; they may overlap
    stress : (n, k), MPa, at k even places from start to end; use : likewise, of yield
    """

    start: Array
    end: Array
    stress: Array
    use: Array

    @property
    def places(self) -> Array:
        """Distances of all values, (n, k), mm."""
        part = np.linspace(0.0, 1.0, self.stress.shape[1])
        return self.start[:, None] + part * (self.end - self.start)[:, None]

    def at(self, distance: Array) -> tuple[Array, Array]:
        """Return stress and use at distances, (m,); not a number where no piece is.

        Where several pieces meet, the higher of each.
        """
        there = (distance[:, None] >= self.start - TOUCH) & (distance[:, None] <= self.end + TOUCH)
        part = (distance[:, None] - self.start) / np.maximum(self.end - self.start, 1e-9)
        spot = np.clip(part, 0.0, 1.0) * (self.stress.shape[1] - 1)
        low = np.minimum(spot.astype(np.intp), self.stress.shape[1] - 2)
        right, row = spot - low, np.arange(len(self.start))
        found = []
        for values in (self.stress, self.use):
            between = (1.0 - right) * values[row, low] + right * values[row, low + 1]
            best = np.where(there, between, -np.inf).max(axis=1, initial=-np.inf)
            found.append(np.where(np.isfinite(best), best, np.nan))
        return found[0], found[1]


@dataclass(frozen=True)
class Place:
    """A place that is stressed more after than before; MPa, shares of yield, mm.

    Attributes
    ----------
    member : its name; `members` : it and its mirror image where that is stressed alike
    about : the joint or plate end in whose sheet metal it is, "" for a place along a member
    before, after, use_before, use_after : stress, and share of yield (None about a joint)
    where : what is there, in words
    either_side : both halves of a crossmember are stressed alike
    """

    case: str
    member: str
    members: tuple[str, ...]
    about: str
    station: float
    offset: float
    height: float
    before: float
    after: float
    use_before: float | None
    use_after: float | None
    where: str
    either_side: bool = False

    @property
    def rise(self) -> float:
        """The rise as a share of yield, or in MPa about a joint."""
        if self.use_after is None or self.use_before is None:
            return self.after - self.before
        return self.use_after - self.use_before


def traces(answer: Answer) -> dict[str, Trace]:
    """Return the trace of every member, beams and undisturbed sheet metal together."""
    mesh = answer.solution.mesh
    rows: dict[str, list[tuple[float, float, Array, Array]]] = {}
    for group in stresses(answer.solution):
        highest = group.von_mises.max(axis=2)
        for element, values in zip(group.elements.tolist(), highest, strict=True):
            low, high = sorted(mesh.elements.place[element].tolist())
            if mesh.elements.place[element, 0] != low:
                values = values[::-1]
            limit = float(mesh.elements.yield_stress[element])
            name = mesh.members[int(mesh.elements.member[element])]
            rows.setdefault(name, []).append((low, high, values, values / limit))
    width = len(next(iter(rows.values()))[0][2]) if rows else 2
    for metal in answer.sheeting:
        for name, pieces in _of_metal(answer.frame, metal, width).items():
            rows.setdefault(name, []).extend(pieces)
    return {
        name: Trace(
            np.array([r[0] for r in mine]),
            np.array([r[1] for r in mine]),
            np.array([r[2] for r in mine]),
            np.array([r[3] for r in mine]),
        )
        for name, mine in rows.items()
    }


def _of_metal(
    frame: Frame, metal: Sheeting, width: int
) -> dict[str, list[tuple[float, float, Array, Array]]]:
    """Return one piece for every row of quadrilaterals a depth away from what disturbs them."""
    near = spots(frame)
    found: dict[str, list[tuple[float, float, Array, Array]]] = {}
    for k, name in enumerate(metal.members):
        of = np.flatnonzero((metal.member == k) & ~metal.across)
        if not len(of):
            continue
        runs, distance = frame.member(name).runs, metal.distance[of]
        run = np.searchsorted([r.end for r in runs[:-1]], distance)
        depth = np.array([max(r.section.depth, r.section.width) for r in runs])[run]
        limit = np.array([r.weakest_yield or r.material.yield_stress for r in runs])[run]
        free = nearest(near[name], distance)[1] > DEPTHS[0] * depth
        row = np.floor(distance / metal.width).astype(np.intp)
        for number in np.unique(row[free]):
            mine = free & (row == number)
            stress = float(metal.nominal[of[mine]].max())
            use = float((metal.nominal[of[mine]] / limit[mine]).max())
            piece = (float(distance[mine].min()), float(distance[mine].max()))
            found.setdefault(name, []).append((*piece, np.full(width, stress), np.full(width, use)))
    return found


def worse_places(before: Answer, after: Answer, limit: float) -> list[Place]:
    """Return the places along members, and about joints, that one case stresses more now.

    Parameters
    ----------
    before, after : the same case of two frames
    limit : share by which stress or utilisation must have risen, 0.1 for a tenth

    Returns
    -------
    list of Place
        Along members first, the largest rise first; of every stretch that rose, its worst.
    """
    one, other = traces(before), traces(after)
    floor = FLOOR * max(float(t.use.max()) for t in other.values())
    known = {m.name: m for m in before.frame.members}
    along: list[Place] = []
    for name, trace in other.items():
        if name in known and name in one:
            along += _in_member(before, after, (one[name], trace), (name, limit, floor))
    joints = _about_joints(before, after, one, limit)
    found = [*_twinned(after.frame, along), *_twinned(after.frame, joints)]
    return sorted(found, key=lambda p: (p.about != "", -p.rise))


def _in_member(
    before: Answer, after: Answer, pair: tuple[Trace, Trace], asked: tuple[str, float, float]
) -> list[Place]:
    """Return the worst place of every stretch of one member that rose."""
    old, new = pair
    name, limit, floor = asked
    member = after.frame.member(name)
    factor = 1.0 + max(limit, ROUND_OFF)
    order = np.argsort(new.places, axis=None, kind="stable")
    distance = new.places.ravel()[order]
    stress, use = new.stress.ravel()[order], new.use.ravel()[order]
    was, of_yield = _before_at(before.frame.member(name), member, old, distance)
    more = (stress > factor * was) | (use > factor * of_yield)
    rose = more & (use >= floor)
    depth = max(max(r.section.depth, r.section.width) for r in member.runs)
    out = []
    for stretch in _stretches(distance, rose, depth):
        top = stretch[int(np.argmax((use - of_yield)[stretch]))]
        x, y, z = path.point_at(member.path, float(distance[top])).tolist()
        out.append(
            Place(
                case=after.case.name, member=name, members=(name,), about="",
                station=x, offset=y, height=z,
                before=float(was[top]), after=float(stress[top]),
                use_before=float(of_yield[top]), use_after=float(use[top]),
                where=where(after.frame, member, float(distance[top])),
            )
        )  # fmt: skip
    return out


def _before_at(earlier: Member, member: Member, old: Trace, distance: Array) -> tuple[Array, Array]:
    """Return what an earlier member bore at the places of a later one."""
    if np.array_equal(earlier.path, member.path):
        return old.at(distance)
    points = path.point_at(member.path, distance)
    on, gap = np.array([path.nearest(earlier.path, p) for p in points]).T
    was, use = old.at(on)
    return np.where(gap <= APART, was, np.nan), np.where(gap <= APART, use, np.nan)


def _stretches(distance: Array, rose: NDArray[np.bool_], depth: float) -> list[NDArray[np.intp]]:
    """Return the places that rose in stretches; short stays between them, of a depth, count along.

    Places come in their order along the member: the next one may lie far off on a long piece.
    """
    those = np.flatnonzero(rose)
    if not len(those):
        return []
    apart = (np.diff(those) > 1) & (np.diff(distance[those]) > depth)
    return list(np.split(those, np.flatnonzero(apart) + 1))


def _about_joints(
    before: Answer, after: Answer, one: dict[str, Trace], limit: float
) -> list[Place]:
    """Return the joints and plate ends whose metal is stressed more.

    What was not there before is set against the stress the member had at that place.
    """
    peaks = after.joint_peaks
    if not peaks:
        return []
    earlier = {p.joint: p for p in before.joint_peaks}
    floor = FLOOR * max(p.von_mises for p in peaks)
    factor, out = 1.0 + max(limit, ROUND_OFF), []
    for p in peaks:
        was = earlier[p.joint].von_mises if p.joint in earlier else _bare(before.frame, p, one)
        if p.von_mises < floor or not p.von_mises > factor * was:
            continue
        out.append(
            Place(
                case=after.case.name, member=p.member, members=(p.member,), about=p.joint,
                station=p.station, offset=p.offset, height=p.height,
                before=was, after=p.von_mises, use_before=None, use_after=None, where="",
            )
        )  # fmt: skip
    return out


def _bare(frame: Frame, peak: JointPeak, one: dict[str, Trace]) -> float:
    """Return the stress a member had where there was no joint yet; not a number if unknown."""
    member = next((m for m in frame.members if m.name == peak.member), None)
    if member is None or peak.member not in one:
        return float("nan")
    point = np.array([peak.station, peak.offset, peak.height])
    distance, gap = path.nearest(member.path, point)
    if gap > APART:
        return float("nan")
    return float(one[peak.member].at(np.array([distance]))[0][0])


def where(frame: Frame, member: Member, distance: float) -> str:
    """Return what is at a place of a member, in words; "" if nothing is known."""
    depth = max(max(r.section.depth, r.section.width) for r in member.runs)
    near = [
        (abs(distance - a.end), _change(a, b))
        for a, b in zip(member.runs[:-1], member.runs[1:], strict=True)
        if a.section is not b.section or a.part != b.part
    ]
    for spot in spots(frame)[member.name]:
        gap = max(spot.low - distance, distance - spot.high, 0.0)
        words = _spot(frame, member, spot.name)
        if words:
            near.append((gap + TOUCH, words))  # a plate's end at a joint is told as such
    gap, words = min(near, default=(np.inf, ""))
    if gap <= 0.5 * depth:
        return f"at {words}"
    onto = [(j.distance, j.member) for j in frame.joints if j.onto == member.name]
    ahead = max((o for o in onto if o[0] <= distance), default=None)
    behind = min((o for o in onto if o[0] > distance), default=None)
    if ahead and behind:
        return f"between {ahead[1]} and {behind[1]}"
    if ahead or behind:
        return f"behind {ahead[1]}" if ahead else f"ahead of {behind[1] if behind else ''}"
    return ""


def _change(one: Run, other: Run) -> str:
    """Return what ends or begins between two runs."""
    plates = [r.part for r in (one, other) if r.part]
    if len(set(plates)) == 2:
        return f"the meeting of plates {plates[0]} and {plates[1]}"
    if plates and one.part != other.part:
        return f"the end of plate {plates[0]}"
    return f"the change from {one.section.name} to {other.section.name}"


def _spot(frame: Frame, member: Member, name: str) -> str:
    """Return a disturbance in words, without what the sentence says already."""
    if name.startswith("plate end"):
        return ""  # told by the plate's name
    for joint in frame.joints:
        if name.startswith(f"{joint.member} on {joint.onto}"):
            return joint.member if joint.onto == member.name else f"its end on {joint.onto}"
    if name.startswith(("bulkhead", "kink")):
        return f"the {name.split(' ')[0]}"
    return name


def _twinned(frame: Frame, places: Sequence[Place]) -> list[Place]:
    """Return the places with those on the right and on the left that are alike as one."""
    left, out = list(places), []
    while left:
        place = left.pop(0)
        twin = next((p for p in left if _alike(frame, place, p)), None)
        if twin is not None:
            left.remove(twin)
            first, second = sorted((place, twin), key=lambda p: -p.offset)
            names = tuple(dict.fromkeys((first.member, second.member)))
            place = Place(**{**vars(first), "members": names, "either_side": len(names) == 1})
        out.append(place)
    return out


def _alike(frame: Frame, one: Place, other: Place) -> bool:
    sides = {frame.member(p.member).side for p in (one, other)}
    mirrored = sides == {"right", "left"} or one.member == other.member
    return (
        mirrored
        and one.case == other.case
        and bool(one.about) == bool(other.about)
        and one.offset * other.offset < 0.0
        and abs(one.station - other.station) < 1.0
        and abs(one.offset + other.offset) < 1.0
        and abs(one.height - other.height) < 1.0
        and abs(one.after - other.after) <= TWIN * one.after
        and abs(one.before - other.before) <= TWIN * max(one.before, 1.0)
    )
