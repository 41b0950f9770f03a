"""Where to start and where to stop a boxing plate: both ends moved along its rail.

Cracks start where a plate ends, since the section changes there at once.  The stress there
is that of the section's corners just ahead of the end and just behind it; with joints as
sheet metal that in the metal about it, which is higher and ranks ends, and is no limit.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from fea.document.schema import FrameDocument, RailEntry
from fea.errors import Complaint, ModelError
from fea.frame.build_rails import sided
from fea.frame.model import Frame
from fea.frame.path import point_at
from fea.result.answer import Answer
from fea.result.stress import Stress, stresses
from fea.solve.condense import Store
from fea.solve.stores import Passing
from fea.study.attempt import Values
from fea.study.engine import Row, Runner, run
from fea.study.variant import Setting, Variant, solve_variant

SAME = 0.5
"""Stations closer than this, mm, are one."""

STEPS = 20
"""Of the wheelbase, where no step is told."""

MOST = 5000
"""Variants that are tried at most."""

LEAST = 4.0
"""Depths of the rail below which beam rules are not believed of a plate: they let its ends keep
the open rail from warping.  Measured on the shipped pickup's cab bay (rail 150 mm deep), twist
stiffness gained by beam rules and in sheet metal: both ends in the open, 137 mm 22 and 1 %,
275 mm 19 and 3 %, 412 mm 40 and 8 %, 550 mm 46 and 18 %; one end at another plate, 550 mm 54 and
38 %, 600 mm 19 and 22 %; 1100 mm between two plates 107 and 121 %."""


@dataclass(frozen=True)
class Place:
    """A plate of a part and where it may lie, mm: `low` to `high`; `start`, `stop` as it is."""

    part: str
    number: int
    rail: str
    low: float
    high: float
    start: float
    stop: float
    depth: float
    """Of the deepest section there, mm."""

    def variant(self, base: Variant, start: float, stop: float) -> Variant:
        """Return a variant with the plate between two stations."""
        path = f"part.{self.part}.boxing.{self.number}"
        edits = dict(base.edits) | {f"{path}.from": f"{start:g} mm", f"{path}.to": f"{stop:g} mm"}
        parts = sorted({*(base.parts or ()), self.part})
        return Variant.of(parts, dict(base.positions), edits, base.turned)


@dataclass(frozen=True, eq=False)
class Tried:
    """A plate from `start` to `stop`, mm; base units, None where it was refused.

    `ends`: MPa, the highest stress at the plate's ends by case; of a plate that ends at
    another plate or at the rail's own end on both sides there is none.
    """

    start: float
    stop: float
    twist: float | None = None
    bending: float | None = None
    steel: float | None = None
    ends: tuple[tuple[str, float], ...] = ()
    complaints: tuple[Complaint, ...] = ()

    @property
    def length(self) -> float:
        """Along the stations, mm."""
        return self.stop - self.start

    def end_stress(self, case: str) -> float | None:
        """Return the highest stress at its ends under a case, MPa."""
        return dict(self.ends).get(case)


@dataclass(frozen=True, eq=False)
class BoxingSweep:
    """All lengths of plate that were tried, and the frame without it."""

    place: Place
    stations: tuple[float, ...]
    bare: Tried
    tried: tuple[Tried, ...]
    of_length: tuple[Tried, ...]
    case: str
    """The case whose stress at the ends is told first."""
    least: float
    """Plates shorter than this, mm, are not ranked; 0 with joints as sheet metal."""

    def gain(self, plate: Tried) -> float:
        """Return the twist stiffness that a plate adds, N mm/rad."""
        return _known(plate.twist) - _known(self.bare.twist)

    def per_tonne(self, plate: Tried) -> float:
        """Return that over the plate's mass, N mm/rad per tonne."""
        return self.gain(plate) / (_known(plate.steel) - _known(self.bare.steel))

    def ranked(self, plate: Tried) -> bool:
        """Whether a plate was not refused and is long enough to be told of."""
        return plate.twist is not None and plate.length >= self.least - SAME

    def good(self) -> list[Tried]:
        """Return the plates that are ranked."""
        return [t for t in self.tried if self.ranked(t)]

    def stiffest(self) -> list[Tried]:
        """Return for every length the stiffest plate, the shortest first."""
        best: dict[float, Tried] = {}
        for plate in self.good():
            length = round(plate.length, 1)
            if length not in best or _known(plate.twist) > _known(best[length].twist):
                best[length] = plate
        return [best[length] for length in sorted(best)]


def find_place(document: FrameDocument, frame: Frame, part: str, number: int = 1) -> Place:
    """Return the plate of a part and the stretch of rail that is free for it.

    Parameters
    ----------
    frame : with the parts that are fitted beside it, whose plates it must not overlap
    number : which of the part's plates, from 1

    Raises
    ------
    ModelError
        If the part has no such plate.
    """
    entry = next((p for p in document.part if p.name == part), None)
    plates = [] if entry is None else entry.boxing
    if not 1 <= number <= len(plates):
        boxed = ", ".join(p.name for p in document.part if p.boxing)
        rule = f'there is no part "{part}"' if entry is None else f'"{part}" has no such plate'
        found = f"plate {number} of {len(plates)}" if plates else ""
        do = f"parts with boxing plates: {boxed}" if boxed else "no part of this frame boxes a rail"
        raise ModelError(Complaint(rule, frame.source, found, do))
    own = plates[number - 1]
    rail = next(r for r in document.rail if r.name == own.rail)
    low, high = rail.points[0].station, rail.points[-1].station
    middle = 0.5 * (own.start + own.end)
    fitted = [*document.boxing]
    fitted += [b for p in document.part if p.name in {*frame.fitted, part} for b in p.boxing]
    for other in fitted:
        apart = {own.side, other.side} == {"right", "left"}
        if other is own or other.rail != own.rail or apart:
            continue
        if other.start < middle:
            low = max(low, other.end)
        else:
            high = min(high, other.start)
    low, high = _within_channel(document, rail, middle, (low, high))
    depth = max(
        run.section.depth
        for member in frame.members
        if member.name in sided(rail).values()
        for run in member.runs
        if point_at(member.path, run.end)[0] > low and point_at(member.path, run.start)[0] < high
    )
    return Place(part, number, own.rail, low, high, own.start, own.end, depth)


def _within_channel(
    document: FrameDocument, rail: RailEntry, middle: float, free: tuple[float, float]
) -> tuple[float, float]:
    """Return a free stretch without what is no channel: only a channel can be boxed."""
    low, high = free
    section = rail.points[0].section
    for point, after in pairwise(rail.points):
        section = point.section or section
        if section is None or document.section[section].shape == "channel":
            continue
        if after.station <= middle:
            low = max(low, after.station)
        elif point.station >= middle:
            high = min(high, point.station)
    return low, high


def grid(place: Place, step: float) -> tuple[float, ...]:
    """Return the stations, mm, at which the plate may start or stop.

    The free stretch in equal steps, the longest that are not longer than `step`.

    Raises
    ------
    ModelError
        If nothing of the rail is free, or the step so small that too many would be tried.
    """
    room = place.high - place.low
    count = math.ceil(room / step - 1e-9) if room > SAME and step > 0.0 else 0
    if not 1 <= count <= MOST or count * (count + 1) / 2 > MOST:
        rule = f"the step must leave 1 to {MOST} plates to try"
        found = f"{step:g} mm on {room:g} mm of rail"
        raise ModelError(Complaint(rule, f"rail {place.rail}", found, "give another --step"))
    return tuple(np.linspace(place.low, place.high, count + 1).round(3).tolist())


def pairs(place: Place, stations: Sequence[float], length: float | None) -> list[list[float]]:
    """Return starts and stops: between all stations, or from every station for one length."""
    if length is None:
        return [[a, b] for k, a in enumerate(stations) for b in stations[k + 1 :]]
    if not SAME < length <= place.high - place.low + SAME:
        rule = "the plate must fit the free stretch of its rail"
        found = f"{length:g} mm on {place.high - place.low:g} mm"
        raise ModelError(Complaint(rule, f"rail {place.rail}", found, "give another --length"))
    last = round(place.high - length, 3)
    starts = [x for x in stations if x < last - SAME]
    return [[x, round(x + length, 3)] for x in (*starts, last)]


def boxing_sweep(
    setting: Setting,
    base: Variant,
    place: Place,
    stations: Sequence[float],
    length: float | None = None,
    runner: Runner | None = None,
) -> BoxingSweep:
    """Return all plates between the stations, and those of one length if it is told.

    Parameters
    ----------
    base : with the parts that are fitted; whether this one is makes no difference
    """
    free = Variant.of(
        sorted((base.parts or frozenset()) - {place.part}),
        dict(base.positions), dict(base.edits), base.turned,
    )  # fmt: skip
    all_pairs = pairs(place, stations, None)
    told = [] if length is None else pairs(place, stations, length)
    chosen = [place.variant(base, a, b) for a, b in (*all_pairs, *told)]
    rows = run(setting, [free, *chosen], plate_values, runner)
    bare = _tried([0.0, 0.0], rows[0])
    if bare.twist is None:
        raise ModelError(*bare.complaints or ("no case measures twist",))
    plates = [_tried(p, row) for p, row in zip([*all_pairs, *told], rows[1:], strict=True)]
    return BoxingSweep(
        place,
        tuple(stations),
        bare,
        tuple(plates[: len(all_pairs)]),
        tuple(plates[len(all_pairs) :]),
        next(c.name for c in setting.cases if c.measure == "twist"),
        0.0 if setting.sheet_joints else LEAST * place.depth,
    )


def plate_values(setting: Setting, variant: Variant, store: Store | None) -> Values:
    """Return stiffness, mass and the highest stress at plate ends, by station and case."""
    found = solve_variant(setting, variant, None if store is None else Passing(store))
    return {
        "twist": next((a.twist_stiffness for a in found if a.twist_stiffness), None),
        "bending": next((a.bending_stiffness for a in found if a.bending_stiffness), None),
        "steel": float(found[0].mass.steel),
        "ends": {a.case.name: end_stresses(a) for a in found},
    }


def end_stresses(answer: Answer) -> list[list[float]]:
    """Return station, mm, and stress, MPa, of every place where a plate ends along a rail.

    In sheet metal the highest about it; else the highest of the section's corners at the
    two beams that meet there.
    """
    frame = answer.frame
    wanted = [
        (rail.name, before.end)
        for rail in frame.members
        if rail.kind == "rail"
        for before, after in zip(rail.runs[:-1], rail.runs[1:], strict=True)
        if before.section.is_open != after.section.is_open
    ]
    if answer.solution.metal:
        named = {f" on {rail}" for rail, _ in wanted}
        return [
            [_station(p.joint), float(p.von_mises)]
            for p in sorted(answer.joint_peaks, key=lambda p: p.joint)
            if p.joint.startswith(_PLATE_END) and any(p.joint.endswith(n) for n in named)
        ]
    groups = stresses(answer.solution) if wanted else []
    return [[_at(frame, r, s), _beside(answer, groups, r, s)] for r, s in wanted]


_PLATE_END = "plate end at station "
"""How :mod:`fea.result.disturbed` names them; the station is rounded to 1 mm there."""


def _station(joint: str) -> float:
    return float(joint.removeprefix(_PLATE_END).split(" ")[0])


def _at(frame: Frame, rail: str, distance: float) -> float:
    return float(point_at(frame.member(rail).path, distance)[0])


def _beside(answer: Answer, groups: Sequence[Stress], rail: str, distance: float) -> float:
    """Return the highest stress of the beams of a rail that end at a distance along it."""
    solution = answer.solution
    elements = solution.mesh.elements
    mine = elements.member == solution.mesh.members.index(rail)
    highest = 0.0
    for group in groups:
        of = group.elements
        for column, place in ((0, 0), (1, -1)):
            here = mine[of] & (np.abs(elements.place[of, column] - distance) < SAME)
            highest = max(highest, float(group.von_mises[here, place].max(initial=0.0)))
    return highest


def _tried(pair: Sequence[float], row: Row) -> Tried:
    start, stop = pair
    if row.values is None:
        return Tried(start, stop, complaints=row.complaints)
    ends = []
    for case, found in row.values["ends"].items():
        near = [s for x, s in found if min(abs(x - start), abs(x - stop)) <= SAME + 0.5]
        if near:
            ends.append((case, max(near)))
    values = row.values
    return Tried(start, stop, values["twist"], values["bending"], values["steel"], tuple(ends))


def _known(value: float | None) -> float:
    assert value is not None
    return value
