"""A survey of a frame: points adjusted from readings, slips named, measures judged.

The main path of the shop's measuring on one page::

    readings -> adjusted points, slips -> points on the sheet -> measures -> judged
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.frame.model import Frame
from fea.shop.survey_datum import TOLD, Placed, place
from fea.shop.survey_limits import Limits
from fea.shop.survey_measures import TITLES, Measure, measures
from fea.shop.survey_points import sheet
from fea.shop.survey_readings import PLUMB, Reading, Readings
from fea.solve.adjust import Snooped, snoop
from fea.solve.least_squares import chi_square_tail, student

Array = NDArray[np.float64]
Status = Literal["pass", "fail", "cannot tell", "not measured", "not judged"]

WORST: tuple[Status, ...] = ("fail", "not measured", "cannot tell", "pass", "not judged")
"""What a measure of several places is, from the worst of them."""

BAND = 0.95
UNLIKELY = 0.05
"""A sum of squares less likely than this: the readings are worse than was told."""


@dataclass(frozen=True, eq=False)
class Judged:
    """A measure with its figure and half band (mm, or rad of twist), and what it is worth."""

    measure: Measure
    value: float
    half: float
    tolerance: float | None
    status: Status

    @property
    def sense(self) -> str:
        """What the figure's sign means."""
        return self.measure.words[0 if self.value >= 0.0 else 1]


@dataclass(frozen=True, eq=False)
class Surveyed:
    """A survey's outcome.

    Attributes
    ----------
    spread : float
        What the told uncertainties had to be multiplied by, 1 if they are right.
    quantile : float
        Half band over standard deviation.
    judged : one per measure and place
    missing : keys of measures for which there are no points
    half : (n, 3), half bands of the points' deviations, mm
    """

    frame: Frame
    readings: Readings
    limits: Limits
    snooped: Snooped
    placed: Placed
    spread: float
    quantile: float
    judged: tuple[Judged, ...]
    missing: tuple[str, ...]
    half: Array

    @property
    def off(self) -> Array:
        """Points less sheet in the frame's axes, shape (n, 3), mm."""
        return self.placed.off.reshape(-1, 3)

    @property
    def told(self) -> NDArray[np.bool_]:
        """Which coordinates the readings tell, shape (n, 3)."""
        return self.placed.told.reshape(-1, 3)

    @property
    def plumb(self) -> bool:
        """Some reading knows up from down."""
        return any(r.kind in PLUMB for r in self.readings.readings)

    def far(self, reading: Reading) -> float:
        """Return the distance between a reading's points on the sheet, mm."""
        at = sheet(self.readings.points)
        return float(np.linalg.norm(at[reading.second] - at[reading.first]))

    def of(self, key: str) -> list[Judged]:
        """Return what was judged under a key."""
        return [j for j in self.judged if j.measure.key == key]

    def worst(self, key: str) -> Judged | None:
        """Return the place that decides over a key: worst status, then largest figure."""
        found = self.of(key)
        return min(found, key=lambda j: (WORST.index(j.status), -abs(j.value)), default=None)


def survey(frame: Frame, readings: Readings, limits: Limits) -> Surveyed:
    """Return what the readings say of the frame.

    Raises
    ------
    ModelError
        If there are too few readings to tell anything.
    SolveError
        If the adjustment does not settle.
    """
    if len(readings.points) < 3:
        do = "measure from at least three points"
        found = f"{len(readings.points)} points"
        raise ModelError(Complaint("these readings tell no shape", readings.source, found, do))
    snooped = snoop(readings.model, readings.observed, readings.sigma, readings.start())
    placed = place(snooped.adjusted, sheet(readings.points))
    spread, quantile = _spread(snooped)
    scale = spread * quantile
    wanted = measures(frame, readings.points)
    judged = tuple(_judge(m, placed, limits, scale) for m in wanted)
    there = {m.key for m in wanted}
    return Surveyed(
        frame,
        readings,
        limits,
        snooped,
        placed,
        spread,
        quantile,
        judged,
        tuple(key for key in TITLES if key not in there),
        scale * np.linalg.norm(placed.root, axis=1).reshape(-1, 3),
    )


def _spread(snooped: Snooped) -> tuple[float, float]:
    """Return by how much the uncertainties are wider than told, and the quantile of a band."""
    adjusted = snooped.adjusted
    tail = 0.5 * (1.0 - BAND)
    freedom, square = adjusted.freedom, adjusted.square
    if freedom < 1 or chi_square_tail(square, freedom) > UNLIKELY:
        return 1.0, student(tail, np.inf)
    return float(np.sqrt(square / freedom)), student(tail, freedom)


def roots(measure: Measure, placed: Placed) -> tuple[float, float, float]:
    """Return a measure's figure, its deviation by what is told and by what is not, mm."""
    if measure.plumb:
        off, root, free = placed.plumb, placed.plumb_root, placed.plumb_free
    else:
        off, root, free = placed.off, placed.root, placed.free
    row = measure.row
    return (
        float(row @ off),
        float(np.linalg.norm(row @ root)),
        float(np.linalg.norm(row @ free)),
    )


def _judge(measure: Measure, placed: Placed, limits: Limits, scale: float) -> Judged:
    value, sigma, loose = roots(measure, placed)
    value, half = value * measure.per, scale * sigma * measure.per
    tolerance = limits.at(measure.key, measure.nominal)
    status: Status = "cannot tell"
    if loose > TOLD:
        status, half = "not measured", float("inf")
    elif tolerance is None:
        status = "not judged"
    elif abs(value) + half <= tolerance:
        status = "pass"
    elif abs(value) - half > tolerance:
        status = "fail"
    return Judged(measure, value, half, tolerance, status)
