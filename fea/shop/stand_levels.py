"""Stands that are off level: when the frame twists, and which stand it lifts off.

One stand is raised or lowered in thought, the others stay.  Between the heights at which a stand
comes free everything is linear, so the way is followed from one such height to the next.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.shop.stands import PUSHES, Bench, Standing, forces_on, heights_on

Array = NDArray[np.float64]
Index = NDArray[np.intp]

FARTHEST = 50.0
"""Heights, mm, up to which a stand is followed."""


@dataclass(frozen=True)
class OffLevel:
    """One stand moved up (`sign` 1) or down (-1).

    Attributes
    ----------
    twists : mm, how far until the frame twists by the tolerance; None if it never does
    lifts, lifted : mm, how far until a stand bears nothing, and which place; None if none does
    rate : twist, rad per mm, of the first little
    most : rad, the largest twist on the way
    """

    place: int
    sign: int
    twists: float | None
    lifts: float | None
    lifted: int | None
    rate: float
    most: float


@dataclass(frozen=True, eq=False)
class _Stretch:
    """Stands `active` from `start` to `end`, mm: forces and twist are a + b t."""

    active: Index
    start: float
    end: float
    forces: tuple[Array, Array]
    twist: tuple[float, float]
    leaves: int | None


def off_level(standing: Standing, tolerance: float) -> list[OffLevel]:
    """Return what every stand does when it is raised and when it is lowered.

    Parameters
    ----------
    tolerance : rad, twist between the axles over what it is on level stands
    """
    count = range(len(standing.stands))
    return [_moved(standing, k, sign, tolerance) for k in count for sign in (1, -1)]


def _moved(standing: Standing, moved: int, sign: int, tolerance: float) -> OffLevel:
    level = standing.twist
    twists: float | None = None
    lifts: float | None = None
    lifted: int | None = None
    rate, most = 0.0, 0.0
    for number, s in enumerate(_way(standing, moved, sign)):
        a, b = s.twist[0] - level, s.twist[1]
        if number == 0:
            rate = sign * b
        ends = [a + b * s.start, a + b * s.end]
        most = max(most, *(abs(e) for e in ends))
        if twists is None and max(abs(e) for e in ends) >= tolerance:
            twists = _reaches(a, b, s, tolerance)
        if lifts is None and s.leaves is not None:
            lifts, lifted = s.end, int(standing.stands[s.leaves])
    return OffLevel(int(standing.stands[moved]), sign, twists, lifts, lifted, rate, most)


def _reaches(a: float, b: float, s: _Stretch, tolerance: float) -> float:
    """Return where |a + b t| first is the tolerance on a stretch."""
    if abs(a + b * s.start) >= tolerance:
        return s.start
    return min(t for t in ((tolerance - a) / b, (-tolerance - a) / b) if s.start <= t <= s.end)


def _way(standing: Standing, moved: int, sign: int) -> Iterator[_Stretch]:
    """Follow a stand until the frame rests on three, or on others alone."""
    on, stands = standing.bench, standing.stands
    active = [k for k in range(len(stands)) if k not in standing.lifted]
    start = 0.0
    while moved in active:
        kept = stands[active]
        zero = np.zeros(len(kept))
        step = np.array([float(sign) if k == moved else 0.0 for k in active])
        f0, q0 = forces_on(on, kept, zero)
        f1, q1 = forces_on(on, kept, step)
        a, b = f0, f1 - f0
        t0 = _twist_of(on, kept, f0, q0)
        t1 = _twist_of(on, kept, f1, q1) - t0
        # On three stands forces are those of statics, and no stand comes free.
        falls = (b < -PUSHES * on.weight / FARTHEST) if len(kept) > 3 else np.zeros(3, dtype=bool)
        until = np.where(falls, -a / np.where(falls, b, 1.0), np.inf)
        k = int(np.argmin(until))
        end = min(max(float(until[k]), start), FARTHEST)
        leaves = active[k] if until[k] <= FARTHEST else None
        yield _Stretch(kept, start, end, (a, b), (t0, t1), leaves)
        if leaves is None:
            return
        active.remove(leaves)
        start = end


def _twist_of(on: Bench, kept: Index, forces: Array, settled: Array) -> float:
    return float(on.twist @ heights_on(on, kept, forces, settled))
