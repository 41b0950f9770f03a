"""Readings of a survey as plain data, and what they would be for given places of the points.

Unknowns are the points' places in the shop's axes (x and y as on the sheet, but from anywhere;
z plumb upward), flattened, and last the height of the sheet's ground over the floor.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fea.shop.survey_points import Point, sheet

Array = NDArray[np.float64]
Kind = Literal["length", "plan", "level", "tilt", "floor", "station", "offset", "height"]

AXES: Mapping[Kind, int] = {"station": 0, "offset": 1, "height": 2}
PLUMB = ("level", "tilt", "floor", "height")
"""Kinds that know up from down."""


@dataclass(frozen=True)
class Reading:
    """One reading: mm, or rad of a tilt; `sigma` is one standard deviation.

    ``length`` from `first` to `second`, ``plan`` the same seen from above; ``level``: how much
    higher `second` is; ``tilt``: the same as an angle; ``floor``: height over the floor; the
    others a coordinate of `first`.
    """

    kind: Kind
    first: int
    second: int
    value: float
    sigma: float
    line: int = 0
    assumed: bool = False
    """Its uncertainty is the usual one, not told."""

    def words(self, points: tuple[Point, ...]) -> str:
        """Return what was read, such as "the length A3 left to A8 right"."""
        a = points[self.first].key
        if self.kind in AXES:
            return f"the {self.kind} of {a}"
        if self.kind == "floor":
            return f"the height over the floor of {a}"
        noun = {
            "length": "the length",
            "plan": "the length in plan",
            "level": "the level",
            "tilt": "the tilt",
        }[self.kind]
        return f"{noun} {a} to {points[self.second].key}"

    def amount(self, value: float, *, digits: int = 0) -> str:
        """Return a value of this kind with its unit."""
        if self.kind == "tilt":
            return f"{np.degrees(value):.2f} deg"
        return f"{value:.{digits}f} mm"


@dataclass(frozen=True)
class Readings:
    """What a survey file holds: the points that are read, and the readings."""

    source: str
    points: tuple[Point, ...]
    readings: tuple[Reading, ...]

    @property
    def observed(self) -> Array:
        """What was read, shape (m,)."""
        return np.array([r.value for r in self.readings])

    @property
    def sigma(self) -> Array:
        """Standard deviations, shape (m,)."""
        return np.array([r.sigma for r in self.readings])

    def model(self, x: Array) -> tuple[Array, Array]:
        """Return the readings (m,) and their derivatives (m, 3 n + 1) at unknowns (3 n + 1,)."""
        values = np.zeros(len(self.readings))
        rows = np.zeros((len(self.readings), len(x)))
        for k, reading in enumerate(self.readings):
            values[k], rows[k] = one(reading, x)
        return values, rows

    def start(self) -> Array:
        """Return the sheet's places, moved to where the coordinates are counted from."""
        places = sheet(self.points)
        for kind, axis in AXES.items():
            off = [r.value - places[r.first, axis] for r in self.readings if r.kind == kind]
            places[:, axis] += np.median(off) if off else 0.0
        off = [r.value - places[r.first, 2] for r in self.readings if r.kind == "floor"]
        return np.append(places.ravel(), np.median(off) if off else 0.0)


def one(reading: Reading, x: Array) -> tuple[float, Array]:
    """Return a reading's value and its derivatives, shape (3 n + 1,)."""
    row = np.zeros(len(x))
    a, b = 3 * reading.first, 3 * reading.second
    if reading.kind in AXES:
        axis = AXES[reading.kind]
        row[a + axis] = 1.0
        return float(x[a + axis]), row
    if reading.kind == "floor":
        row[[a + 2, -1]] = 1.0
        return float(x[a + 2] + x[-1]), row
    if reading.kind == "level":
        row[a + 2], row[b + 2] = -1.0, 1.0
        return float(x[b + 2] - x[a + 2]), row
    step = x[b : b + 3] - x[a : a + 3]
    if reading.kind == "plan":
        step[2] = 0.0
    far = float(np.linalg.norm(step))
    if reading.kind in ("length", "plan"):
        slope, value = step / far, far
    else:
        flat = float(np.hypot(step[0], step[1]))
        slope = np.append(-step[:2] * step[2] / flat, flat) / far**2
        value = float(np.arctan2(step[2], flat))
    row[a : a + 3], row[b : b + 3] = -slope, slope
    return value, row
