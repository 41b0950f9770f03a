"""How a frame is looked at: a parallel projection shared by picture, annotation and both renderers.

Screen axes: x to the right and y up, in mm of the vehicle seen square on, and a third number,
the nearness: mm towards the viewer. Parallel lines stay parallel, so stations keep their pace.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Camera:
    """A viewing direction.

    Attributes
    ----------
    axes : array (3, 3)
        Unit rows, vehicle axes: screen right, screen up, towards the viewer.
    """

    axes: Array

    def project(self, points: Array) -> Array:
        """Return screen x, screen y and nearness of points, shape (..., 3), mm."""
        return np.asarray(points, dtype=float) @ self.axes.T

    def direction(self, vector: Array) -> Array:
        """Return a vehicle direction as it lies on the screen, shape (..., 2), not normalised."""
        return self.project(vector)[..., :2]


def looking(azimuth: float, elevation: float) -> Camera:
    """Return the camera that stands to the left of the vehicle.

    Parameters
    ----------
    azimuth : float, rad
        0 looks straight at the left side, front at the left hand; growing, the viewer walks
        towards the front.
    elevation : float, rad
        0 is level, pi/2 looks straight down.
    """
    sa, ca, se, ce = np.sin(azimuth), np.cos(azimuth), np.sin(elevation), np.cos(elevation)
    return Camera(np.array([[ca, -sa, 0.0], [sa * se, ca * se, ce], [-sa * ce, -ca * ce, se]]))


STANDARD_AZIMUTH, STANDARD_ELEVATION = float(np.deg2rad(24.0)), float(np.deg2rad(30.0))
STANDARD = looking(STANDARD_AZIMUTH, STANDARD_ELEVATION)
"""The standing view of all pictures: front at the left and near, from above."""

FROM_ABOVE = "From above: front to the left, right side at the top"
"""How every plan lies on its page, and what is written over it."""


@dataclass(frozen=True)
class Window:
    """The part of the screen plane that a picture shows, mm."""

    left: float
    right: float
    bottom: float
    top: float

    @property
    def width(self) -> float:
        """Width in mm."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Height in mm."""
        return self.top - self.bottom

    @property
    def extent(self) -> tuple[float, float, float, float]:
        """Left, right, bottom, top in mm."""
        return (self.left, self.right, self.bottom, self.top)

    def to_pixels(self, projected: Array, size: tuple[int, int]) -> Array:
        """Return projected points in pixels, shape (..., 3): column, row from the top, nearness.

        A whole number is a pixel's border, not its middle: the window's left edge is column 0.0.
        """
        wide, high = size
        column = (projected[..., 0] - self.left) * (wide / self.width)
        row = (self.top - projected[..., 1]) * (high / self.height)
        return np.stack([column, row, projected[..., 2]], axis=-1)


def fit(
    projected: Array, aspect: float, *, pad: tuple[float, float, float, float] = (0.05,) * 4
) -> Window:
    """Return the smallest window of a given shape that holds the points.

    Parameters
    ----------
    projected : array (n, 2) or (n, 3), mm
    aspect : float
        Width over height of the window.
    pad : four floats
        Share of the window's width (left, right) and height (bottom, top) kept free.
    """
    low, high = projected[:, :2].min(axis=0), projected[:, :2].max(axis=0)
    left, right, bottom, top = pad
    wide = (high[0] - low[0]) / (1.0 - left - right)
    tall = (high[1] - low[1]) / (1.0 - bottom - top)
    wide = max(wide, tall * aspect, 1.0)
    tall = wide / aspect
    spare_x = wide * (1.0 - left - right) - (high[0] - low[0])
    spare_y = tall * (1.0 - bottom - top) - (high[1] - low[1])
    x0 = low[0] - left * wide - spare_x / 2.0
    y0 = low[1] - bottom * tall - spare_y / 2.0
    return Window(float(x0), float(x0 + wide), float(y0), float(y0 + tall))


def round_125(value: float) -> float:
    """Return the number of the row 1, 2, 5, 10, 20, ... nearest to a positive value by ratio."""
    power = np.floor(np.log10(value))
    row = np.array([1.0, 2.0, 5.0, 10.0]) * 10.0**power
    return float(row[np.argmin(np.abs(np.log(row / value)))])


def auto_scale(movement: Array, length: float, share: float = 0.06) -> float:
    """Return the factor, 1-2-5, that draws the largest movement as a share of the length.

    Parameters
    ----------
    movement : array (n, 3), mm
    length : float, mm
        Length of the frame.
    share : float
        Part of the length that the largest movement should be drawn as.
    """
    largest = float(np.linalg.norm(movement, axis=1).max(initial=0.0))
    if largest <= 0.0 or length <= 0.0 or not np.isfinite(largest):
        return 1.0
    return round_125(share * length / largest)
