"""Readings of a stand test as plain data, and the load cases that they mean."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

from fea.errors import Complaint, ModelError
from fea.frame.case import Case, Hold, Motion, Place, Push, Read
from fea.frame.model import Frame
from fea.frame.spots import couple_forces, sides, spots

GRAVITY = 9806.65
"""Standard acceleration of gravity, mm/s2 (CGPM 1901)."""

USUAL = 0.02
"""Standard deviation of a reading, mm, where none is told: two divisions of a dial gauge.  An
estimate: the gauge, its stand and the place that its tip finds again."""

FRONT, REAR = Place(axle="front"), Place(axle="rear")


@dataclass(frozen=True)
class Setup:
    """Where the couple comes in, what bears the arm's middle, what stands under the other end."""

    couple_at: Place = FRONT
    pivot_at: Place = FRONT
    stands_at: Place = REAR


@dataclass(frozen=True)
class Gauge:
    """A dial gauge: its place has one side; `sign` turns the motion into its direction."""

    name: str
    place: Place
    motion: Motion
    sign: float = 1.0
    line: int = 0


@dataclass(frozen=True)
class Load:
    """What hangs on the arm: N downward, and the couple of it, N mm, positive lifts the right."""

    force: float
    couple: float


@dataclass(frozen=True)
class Taken:
    """One reading, mm in its gauge's direction; numbers of its gauge and load."""

    gauge: int
    load: int
    value: float
    uncertainty: float | None = None
    line: int = 0


@dataclass(frozen=True)
class Readings:
    """A stand test: how it was set up, and what the gauges said."""

    source: str
    setup: Setup
    gauges: tuple[Gauge, ...]
    loads: tuple[Load, ...]
    taken: tuple[Taken, ...]


def cases(setup: Setup, gauges: Sequence[Gauge], loads: Sequence[Load], name: str) -> list[Case]:
    """Return a load case per load; all hold the same and read every gauge.

    The stands hold the frame's height on each side, the pivot that of the middle between
    the sides; in plan the frame is only kept from drifting away.
    """
    at, pivot, stands = setup.couple_at, setup.pivot_at, setup.stands_at
    holds = (
        Hold(stands, "height"),
        Hold(_mean(pivot), "height"),
        Hold(_mean(stands), "station"),
        Hold(_mean(stands), "offset"),
        Hold(_mean(pivot), "offset"),
    )
    reads = tuple(Read(g.name, g.place, g.motion) for g in gauges)
    return [
        Case(
            name=name,
            title="stand test",
            about="",
            measure="none",
            holds=holds,
            pushes=(Push(_mean(at), (0.0, 0.0, -load.force), load.couple),),
            reads=reads,
        )
        for load in loads
    ]


def check_places(frame: Frame, readings: Readings) -> None:
    """Refuse gauges, stands and couples where the frame has no rails.

    Raises
    ------
    ModelError
        With every one of them.
    """
    found: list[Complaint] = []
    for gauge in readings.gauges:
        where = f"{readings.source}, line {gauge.line}, column station"
        _try_place(found, where, partial(sides, frame, gauge.place, ""))
    setup, at = readings.setup, f"{readings.source}, [test], "
    push = Push(_mean(setup.couple_at), couple=1.0)
    spot_at = setup.couple_at
    _try_place(found, at + "couple at", lambda: couple_forces(spots(frame, spot_at, ""), push))
    _try_place(found, at + "pivot at", lambda: sides(frame, setup.pivot_at, ""))
    _try_place(found, at + "stands at", lambda: sides(frame, setup.stands_at, ""))
    if found:
        raise ModelError(*found)


def _mean(place: Place) -> Place:
    return Place(place.axle, place.station, place.wheelbase, place.point, place.mount, "mean")


def _try_place(found: list[Complaint], where: str, ask: Callable[[], object]) -> None:
    try:
        ask()
    except ModelError as error:
        found += [Complaint(c.rule, where, c.found, c.do) for c in error.complaints]
