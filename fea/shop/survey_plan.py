"""What to measure: a handful of control points along the rails; lengths, levels, a string."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from fea.frame.model import Frame
from fea.shop.survey_points import Pair, Point, pairs, rail_points
from fea.shop.survey_readings import Kind, Reading, one

MOST = 6
"""Pairs of points: more is more than a shop measures in an hour."""


@dataclass(frozen=True, eq=False)
class Plan:
    """Points and readings to take; a reading's value is what the sheet makes it, mm."""

    points: tuple[Point, ...]
    pairs: tuple[Pair, ...]
    readings: tuple[Reading, ...]

    def of(self, kind: Kind) -> list[Reading]:
        """Return the readings of one kind."""
        return [r for r in self.readings if r.kind == kind]


def plan(frame: Frame) -> Plan:
    """Return a plan for a frame; without pairs if it has no rails on both sides."""
    every = tuple(rail_points(frame).values())
    chosen = _spread(frame, pairs(every))
    points = tuple(every[k] for p in chosen for k in (p.right, p.left))
    twins = pairs(points)
    at = np.array([(p.station, p.offset, p.height) for p in points])
    x = np.append(at.ravel(), 0.0)

    def reading(kind: Kind, first: int, second: int) -> Reading:
        blank = Reading(kind, first, second, 0.0, 1.0)
        return Reading(kind, first, second, one(blank, x)[0], 1.0)

    found = [reading("length", p.left, p.right) for p in twins]
    for a, b in pairwise(twins):
        found += [reading("length", a.right, b.right), reading("length", a.left, b.left)]
        found += [reading("length", a.right, b.left), reading("length", a.left, b.right)]
    if len(twins) > 2:
        for a, b in _long(twins):
            found += [reading("length", a.right, b.left), reading("length", a.left, b.right)]
    found += [reading("length", getattr(twins[0], s), getattr(twins[-1], s))
              for s in ("right", "left") if len(twins) > 2]  # fmt: skip
    found += [reading("level", p.left, p.right) for p in twins]
    found += [reading("offset", k, k) for k in range(len(points))]
    found += [reading("floor", k, k) for k in range(len(points))]
    return Plan(points, twins, tuple(found))


def _long(twins: tuple[Pair, ...]) -> list[tuple[Pair, Pair]]:
    """Return the bays that the long diagonals cross: end to end, and two thirds from each end."""
    n = len(twins)
    spans = {(0, n - 1), (0, (2 * n) // 3 - 1), (n // 3, n - 1), (1, n - 2)}
    return [(twins[a], twins[b]) for a, b in sorted(spans) if b - a > 1]


def _spread(frame: Frame, twins: tuple[Pair, ...]) -> list[Pair]:
    """Return pairs spread along the frame: both ends, those at the axles, then the widest gap."""
    if len(twins) <= MOST:
        return list(twins)
    at = np.array([p.station for p in twins])
    chosen = {0, len(twins) - 1}
    for axle in frame.axles:
        chosen.add(int(np.argmin(np.abs(at - axle.station))))
    while len(chosen) < MOST:
        taken = at[sorted(chosen)]
        gap = np.abs(at[:, None] - taken).min(axis=1)
        chosen.add(int(np.argmax(gap)))
    return [twins[k] for k in sorted(chosen)]
