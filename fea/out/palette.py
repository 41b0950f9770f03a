"""The colours of every picture: one sequential map and one neutral theme.

The map runs from pale sand over teal to ink blue. Its path is laid through the OKLab colour
space (B. Ottosson, "A perceptual color space for image processing", 2020) and walked at an even
pace, so that equal steps of a value are equal steps to the eye. Lightness falls all the way:
it reads in grey print and with any kind of colour blindness. Warm colours are kept for the
loads, which therefore never look like a value of the field.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Theme:
    """The colours that are not values, as #rrggbb."""

    paper: str = "#ffffff"
    ink: str = "#20272d"
    quiet: str = "#69727a"
    rule: str = "#d9d7d1"
    wash: str = "#f3f2ee"
    ghost: str = "#eceae5"
    ghost_edge: str = "#c4c1b9"
    edge: str = "#1d262e"
    load: str = "#b2431a"
    hold: str = "#2c5364"
    bar: str = "#7d9a9e"
    curve: str = "#1f6f7d"
    no_value: str = "#cfcfcb"


THEME = Theme()

_STOPS = np.array(  # lightness, chroma, hue in degrees: chosen by eye, inside the sRGB gamut
    [
        (0.885, 0.070, 98.0),
        (0.790, 0.085, 145.0),
        (0.660, 0.092, 190.0),
        (0.500, 0.092, 236.0),
        (0.300, 0.085, 276.0),
    ]
)

# OKLab to the cube roots of the cone responses, and those to linear sRGB (Ottosson 2020).
_LAB_TO_CONES = np.array(
    [
        [1.0, 0.3963377774, 0.2158037573],
        [1.0, -0.1055613458, -0.0638541728],
        [1.0, -0.0894841775, -1.2914855480],
    ]
)
_CONES_TO_RGB = np.array(
    [
        [4.0767416621, -3.3077115913, 0.2309699292],
        [-1.2684380046, 2.6097574011, -0.3413193965],
        [-0.0041960863, -0.7034186147, 1.7076147010],
    ]
)


def oklab_to_srgb(lab: Array) -> Array:
    """Return sRGB values, shape (..., 3), not clipped, of OKLab colours of the same shape."""
    linear = (lab @ _LAB_TO_CONES.T) ** 3 @ _CONES_TO_RGB.T
    root = np.sign(linear) * 1.055 * np.abs(linear) ** (1.0 / 2.4) - 0.055
    return np.asarray(np.where(linear <= 0.0031308, 12.92 * linear, root))


def _path(n: int) -> Array:
    """Return `n` OKLab colours along the stops, evenly spaced to the eye, shape (n, 3)."""
    at = np.linspace(0.0, len(_STOPS) - 1.0, 4001)
    lightness, chroma, hue = (np.interp(at, np.arange(len(_STOPS)), c) for c in _STOPS.T)
    angle = np.deg2rad(hue)
    lab = np.stack([lightness, chroma * np.cos(angle), chroma * np.sin(angle)], axis=1)
    walked = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(lab, axis=0), axis=1))))
    even = np.linspace(0.0, walked[-1], n)
    return np.stack([np.interp(even, walked, lab[:, k]) for k in range(3)], axis=1)


@cache
def _table() -> Array:
    table = np.clip(oklab_to_srgb(_path(256)), 0.0, 1.0)
    table.setflags(write=False)  # shared by every caller
    return table


def table() -> Array:
    """Return the 256 colours of the sequential map, low to high, shape (256, 3), 0 to 1."""
    return _table()


def colours(values: Array, low: float, high: float) -> Array:
    """Return the colour of each value, shape (..., 3), 0 to 1; not-a-number becomes grey."""
    part = (np.asarray(values, dtype=float) - low) / (high - low)
    index = np.rint(np.clip(np.nan_to_num(part), 0.0, 1.0) * 255.0).astype(np.intp)
    found = table()[index]
    found[~np.isfinite(part)] = rgb(THEME.no_value)
    return found


def rgb(text: str) -> Array:
    """Return the three values, 0 to 1, of a colour written #rrggbb."""
    return np.array([int(text[k : k + 2], 16) for k in (1, 3, 5)], dtype=float) / 255.0


def hexes() -> list[str]:
    """Return the sequential map as 256 texts #rrggbb."""
    whole = np.rint(table() * 255.0).astype(int)
    return [f"#{r:02x}{g:02x}{b:02x}" for r, g, b in whole.tolist()]
