"""Where a gauge would tell most: every place along the rails tried on the slopes of the model."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.frame.case import Motion, Place
from fea.frame.model import Frame
from fea.study.fit import BLIND, Spread, covariance_of
from fea.study.fit_model import Rig
from fea.study.fit_readings import USUAL, Gauge

Array = NDArray[np.float64]

PITCH = 250.0
"""mm, between places that are tried besides the crossmembers' stations."""

CLEAR = 30.0
"""mm, that a gauge keeps from a rail's end."""


@dataclass(frozen=True, eq=False)
class Tried:
    """Gauges that no one has read, with what they tell; k loads, n unknowns.

    `moved` : (g, k), mm, what they would read; `tells` : (g, k, n), for a usual change of each
    unknown, in usual standard deviations of a reading
    """

    gauges: tuple[Gauge, ...]
    moved: Array
    tells: Array


@dataclass(frozen=True)
class Hint:
    """A gauge that would help most; reaches of all combinations after it, largest first."""

    gauge: Gauge
    reach: tuple[float, ...]
    half: tuple[float, ...]
    """Half the unknowns' bands after it, in their own numbers."""


def candidates(frame: Frame, motions: Sequence[Motion] = ("height", "offset")) -> list[Gauge]:
    """Return gauges along both rails, every :data:`PITCH` and at every crossmember."""
    rails = [m for m in frame.members if m.kind == "rail" and m.side in ("right", "left")]
    low = max(float(m.path[0, 0]) for m in rails) + CLEAR
    high = min(float(m.path[-1, 0]) for m in rails) - CLEAR
    even = np.arange(np.ceil(low / PITCH) * PITCH, high, PITCH)
    cross = [float(m.path[0, 0]) for m in frame.members if m.kind == "crossmember"]
    stations = sorted({float(round(x)) for x in (*even, *cross) if low <= x <= high})
    sides = sorted({m.side for m in rails}, reverse=True)
    return [
        Gauge(f"{side} {x:g} {motion}", Place(station=x, side=side), motion)
        for x in stations
        for side in sides
        if side != "centre"
        for motion in motions
    ]


def tried(rig: Rig, x: Array, gauges: Sequence[Gauge]) -> Tried:
    """Return gauges tried on the model at some unknowns."""
    first = len(rig.readings.gauges)
    state = rig.with_gauges(gauges).at(x)
    scale = np.array([u.scale for u in rig.unknowns])
    return Tried(tuple(gauges), state.moved[first:], state.slopes[first:] * scale / USUAL)


def hint(found: Tried, spread: Spread, scale: Array, room: Array) -> Hint | None:
    """Return the gauge that narrows the widest combination most.

    Parameters
    ----------
    scale, room : (n,), usual changes of the unknowns, and half of what their bounds leave
    """
    if not found.gauges:
        return None
    known = spread.combinations.T * spread.strength**2 @ spread.combinations
    with_each = known + np.einsum("gkn,gkm->gnm", found.tells, found.tells)
    values, vectors = np.linalg.eigh(with_each)
    best = int(np.argmax(values[:, 0]))
    wide = spread.times * np.sqrt(spread.factor)
    strength = np.sqrt(np.maximum(values[best], BLIND**2))
    covariance = covariance_of(vectors[best].T, strength, scale, wide, room)
    half = wide * np.sqrt(np.diag(covariance))
    return Hint(
        found.gauges[best],
        tuple(float(r) for r in wide / strength),
        tuple(float(h) for h in half),
    )


def best_set(found: Tried, number: int) -> list[int]:
    """Return numbers of gauges that tell most together, added one by one in that order.

    Each one added makes the product of what is told (the determinant) largest; what a usual
    change moves by one standard deviation counts as known before.
    """
    n = found.tells.shape[2]
    known = np.eye(n)
    chosen: list[int] = []
    for _ in range(min(number, len(found.gauges))):
        with_each = known + np.einsum("gkn,gkm->gnm", found.tells, found.tells)
        size = np.linalg.slogdet(with_each)[1]
        size[chosen] = -np.inf
        best = int(np.argmax(size))
        chosen.append(best)
        known = with_each[best]
    return chosen
