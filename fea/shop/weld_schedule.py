"""When each run is welded, with pauses for cooling: no run beside one that is still hot.

A run waits until every earlier run whose middle is nearer than `near` has cooled
(:func:`fea.shop.weld_shrinkage.cooling_time`).  Times are estimates: arc time from the
process's rate, and a fixed time to move on and clean.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fea.shop.weld_runs import WeldRun
from fea.shop.weld_shrinkage import Process, cooling_time, heat_per_length

NEAR = 150.0
"""Distance, mm, within which a run must have cooled; common practice, no source."""

MOVE = 20.0
"""Time to move on and clean, s; an estimate."""

HAND_WARM = 40.0
"""Above the shop's air, K: about 60 C, hand-warm."""


@dataclass(frozen=True)
class Step:
    """One run of a schedule.

    Attributes
    ----------
    number : place in the order, from 1; run : number in the plan
    start : s, when the arc starts; pause : s, of it waited for cooling
    weld : s, arc time; heat : J, into the steel; after : what was waited for (a step's number)
    """

    number: int
    run: int
    start: float
    pause: float
    weld: float
    heat: float
    after: int | None


@dataclass(frozen=True)
class Schedule:
    """The steps of an order."""

    steps: tuple[Step, ...]
    process: Process
    near: float

    @property
    def total(self) -> float:
        """Time to the last arc's end, s."""
        return max((s.start + s.weld for s in self.steps), default=0.0)

    @property
    def waited(self) -> float:
        """All pauses together, s."""
        return sum(s.pause for s in self.steps)

    @property
    def heat(self) -> float:
        """All heat, J."""
        return sum(s.heat for s in self.steps)


def cool_for(run: WeldRun, process: Process, above: float = HAND_WARM) -> float:
    """Return how long a run takes to cool to `above` kelvins over the air, s."""
    return cooling_time(heat_per_length(run.area, process), run.length, run.sheets, above)


def schedule(
    runs: Sequence[WeldRun],
    order: Sequence[int],
    process: Process,
    *,
    near: float = NEAR,
    above: float = HAND_WARM,
) -> Schedule:
    """Return an order with its pauses.

    Parameters
    ----------
    near : mm, from middle to middle, within which nothing may be hotter than
    above : K over the air
    """
    middles = np.array([r.middle for r in runs])
    cooled = np.zeros(len(runs))
    done: list[int] = []
    steps: list[Step] = []
    now = 0.0
    for k, number in enumerate(order):
        run = runs[number]
        ready = now + (MOVE if k else 0.0)
        start, after = ready, None
        if done:
            gap = np.linalg.norm(middles[done] - middles[number], axis=1)
            hot = [d for d, g in zip(done, gap, strict=True) if g < near and cooled[d] > start]
            if hot:
                last = max(hot, key=lambda d: cooled[d])
                start, after = float(cooled[last]), done.index(last) + 1
        weld = run.area * run.length / process.speed
        heat = heat_per_length(run.area, process) * run.length
        steps.append(Step(k + 1, number, start, start - ready, weld, heat, after))
        now = start + weld
        cooled[number] = now + cool_for(run, process, above)
        done.append(number)
    return Schedule(tuple(steps), process, near)


CSV_HEADS = (
    "number", "run", "part", "member", "side", "edge", "from_station_mm", "from_offset_mm",
    "from_height_mm", "to_station_mm", "to_offset_mm", "to_height_mm", "weld_mm", "leg_mm",
    "heat_kj", "pause_min", "start_min",
)  # fmt: skip


def csv_rows(runs: Sequence[WeldRun], found: Schedule) -> list[tuple[str, ...]]:
    """Return the schedule as rows of text, the heads first."""
    out: list[tuple[str, ...]] = [CSV_HEADS]
    for step in found.steps:
        r = runs[step.run]
        where = (f"{v:.1f}" for v in r.ends.ravel())
        out.append(
            (
                str(step.number), r.name(), r.part, r.member, r.side, r.edge, *where,
                f"{r.length:.1f}", f"{r.leg:.2f}", f"{step.heat / 1e3:.2f}",
                f"{step.pause / 60.0:.2f}", f"{step.start / 60.0:.2f}",
            )
        )  # fmt: skip
    return out
