"""Which reading would help: tried one by one on the covariance of the adjusted points.

A reading j of standard deviation s takes ``(c C j)^2 / (s^2 + j C j)`` off the variance of a
figure c, where C is the covariance of the points, what is not told included.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fea.shop.survey import Judged, Surveyed
from fea.shop.survey_csv import USUAL
from fea.shop.survey_datum import TOLD
from fea.shop.survey_points import Point, pairs
from fea.shop.survey_readings import Kind, Reading, one
from fea.solve.adjust import FREE

Array = NDArray[np.float64]

WORTH = 0.1
"""A reading that takes less than this share off what is not known is no help."""
MOST = 3

CLEAR = 0.5
"""A band this share of the tolerance is enough for most figures."""


@dataclass(frozen=True, eq=False)
class Candidate:
    """A reading that could be taken, with its derivatives by the unknowns."""

    reading: Reading
    row: Array


def candidates(found: Surveyed) -> list[Candidate]:
    """Return the levels, lengths and floor heights that a shop would take."""
    points = found.readings.points
    links: set[tuple[Kind, int, int]] = {("floor", k, k) for k in range(len(points))}
    twins = pairs(points)
    for p in twins:
        links |= {("level", p.left, p.right), ("length", p.left, p.right)}
    for a, b in pairwise(twins):
        for i in (a.right, a.left):
            links |= {("length", i, j) for j in (b.right, b.left)}
        links |= {("level", a.right, b.right), ("level", a.left, b.left)}
    for a, b in zip(twins, twins[2:], strict=False):
        links |= {("length", i, j) for i in (a.right, a.left) for j in (b.right, b.left)}
    links |= _to_neighbours(points)
    x = found.snooped.adjusted.x
    out = []
    for kind, i, j in sorted(links):
        reading = Reading(kind, i, j, 0.0, USUAL[kind])
        out.append(Candidate(reading, one(reading, x)[1]))
    return out


def _to_neighbours(points: Sequence[Point]) -> set[tuple[Kind, int, int]]:
    """Return lengths from points that have no twin to the four nearest ones."""
    alone = {p.name for p in points if p.side != "centre"}
    paired = {p.name for p in points if p.side == "left"} & {
        p.name for p in points if p.side == "right"
    }
    found: set[tuple[Kind, int, int]] = set()
    at = np.array([(p.station, p.offset, p.height) for p in points])
    for k, p in enumerate(points):
        if p.side == "centre" or p.name in alone - paired:
            near = np.argsort(np.linalg.norm(at - at[k], axis=1), kind="stable")[1:5]
            found |= {("length", min(k, int(j)), max(k, int(j))) for j in near}
    return found


def for_measure(found: Surveyed, judged: Judged) -> list[Reading]:
    """Return up to three readings, in order, that would narrow a measure's band most."""
    size = 3 * len(found.readings.points)
    row = np.zeros((1, size + 1))
    if judged.measure.plumb:
        row[0, :size] = judged.measure.row
    else:
        row[0, :size] = _to_shop(found, judged.measure.row[None])[0]
    aim = (CLEAR * (judged.tolerance or TOLD) / judged.measure.per / found.quantile) ** 2
    return _best(found, row, min(aim, TOLD**2))


def for_points(found: Surveyed) -> list[Reading]:
    """Return up to three readings that would tell most of the coordinates that are not told."""
    rows = np.eye(found.placed.off.size)[~found.placed.told]
    if not len(rows):
        return []
    shop = _to_shop(found, rows)
    return _best(found, np.hstack([shop, np.zeros((len(rows), 1))]), TOLD**2)


def _to_shop(found: Surveyed, rows: Array) -> Array:
    """Turn rows over deviations into rows over the shop's coordinates (rigid part off)."""
    from fea.shop.survey_datum import remainder, rigid_modes

    placed = found.placed
    weight = placed.told.astype(np.float64)
    # The turn onto the sheet is a few degrees at most: advice does not need it.
    return np.asarray(rows @ remainder(rigid_modes(placed.places), weight))


def _best(found: Surveyed, rows: Array, aim: float) -> list[Reading]:
    """Return readings, best first, until the largest variance of the rows' figures is `aim`."""
    adjusted = found.snooped.adjusted
    root = np.hstack([found.spread * adjusted.root, FREE * adjusted.free])
    tried, chosen = candidates(found), []
    js = np.array([c.row for c in tried]).reshape(len(tried), -1)
    sigmas = np.array([c.reading.sigma for c in tried])
    for _ in range(MOST):
        figures, seen = rows @ root, js @ root
        now = float((figures**2).sum())
        if (figures**2).sum(axis=1).max() <= aim or not len(tried):
            break
        total = sigmas**2 + (seen**2).sum(axis=1)
        gain = ((figures @ seen.T) ** 2).sum(axis=0) / total
        best = int(np.argmax(gain))
        if gain[best] < WORTH * now:
            break
        chosen.append(tried[best].reading)
        # The same covariance less what this reading tells, as a square root.
        part = seen[best] / np.sqrt(total[best])
        share = 1.0 / (1.0 + sigmas[best] / np.sqrt(total[best]))
        root = root - np.outer(root @ part, part) * share
    return chosen
