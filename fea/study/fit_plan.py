"""A stand test planned: stands, arm, weights, and the gauges that would tell most."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.frame.case import Place
from fea.frame.model import Frame
from fea.frame.spots import spots
from fea.study.fit import rig_for
from fea.study.fit_gauges import best_set, candidates, tried
from fea.study.fit_readings import FRONT, GRAVITY, REAR, Load, Readings, Setup, Taken
from fea.study.variant import Setting

Array = NDArray[np.float64]

MASS = 40e-3
"""tonne, the larger weight: two men lift it, and it twists a light frame by millimetres."""

ARM = 1200.0
"""mm from the centreline: the weight hangs outside the wheels."""

GAUGES = 8
"""Dial gauges in the plan; a shop that has two moves them from place to place."""


@dataclass(frozen=True, eq=False)
class Plan:
    """A planned test: readings without figures.

    `masses` : kg, per load, and `sides` of the arm; `expected` : (gauges, loads), mm
    """

    readings: Readings
    masses: tuple[float, ...]
    sides: tuple[str, ...]
    arm: float
    expected: Array
    stands: tuple[tuple[float, float], ...]
    """Station and offset of the stands' places, mm: where each holds the frame."""
    pivot: float
    """Station of what bears the middle of the arm, mm."""


def plan(
    setting: Setting,
    frame: Frame,
    names: Sequence[str] = (),
    *,
    positions: Mapping[str, float] | None = None,
    setup: Setup | None = None,
) -> Plan:
    """Return a planned test of a frame, for the unknowns called by name.

    Raises
    ------
    ModelError
        If the frame lacks the axles that the test stands on.
    """
    setup = setup or across_the_rails(frame)
    steps = [(0.5 * MASS, "right"), (MASS, "right"), (0.5 * MASS, "left"), (MASS, "left")]
    loads = tuple(
        Load(m * GRAVITY, (-1.0 if side == "right" else 1.0) * m * GRAVITY * ARM)
        for m, side in steps
    )
    every = tuple(candidates(frame, ("height",)))
    # What is planned is read nowhere yet: a rig needs a reading to stand for the loads.
    bare = Readings("sheet", setup, every[:1], loads, (Taken(0, 0, 0.0),))
    rig = rig_for(setting, frame, bare, names, positions=positions)
    x = np.array([u.start for u in rig.unknowns])
    found = tried(rig, x, every)
    chosen = sorted(best_set(found, GAUGES), key=lambda k: (every[k].place.station, every[k].name))
    gauges = tuple(replace(every[k], name=f"G{n}") for n, k in enumerate(chosen, start=1))
    return Plan(
        readings=replace(bare, gauges=gauges, taken=()),
        masses=tuple(1000.0 * m for m, _ in steps),
        sides=tuple(side for _, side in steps),
        arm=ARM,
        expected=found.moved[chosen],
        stands=tuple(_middles(frame, setup.stands_at)),
        pivot=float(np.mean([at for at, _ in _middles(frame, setup.pivot_at)])),
    )


def across_the_rails(frame: Frame) -> Setup:
    """Return a test with arm and stands straight on the rails, in the middle of the axles' seats.

    A bar across lies at one station, where an axle's seats may be two.
    """
    front, rear = (
        Place(station=10.0 * round(0.1 * float(np.mean([x for x, _ in _middles(frame, at)]))))
        for at in (FRONT, REAR)
    )
    return Setup(front, front, rear)


def _middles(frame: Frame, place: Place) -> list[tuple[float, float]]:
    """Return station and offset of a place on each side; of several seats, their middle."""
    return [
        (float(spot.shares @ spot.points[:, 0]), float(spot.shares @ spot.points[:, 1]))
        for spot in spots(frame, place, "stand test")
    ]
