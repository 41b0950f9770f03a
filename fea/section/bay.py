"""The four corners of the space that a section's web and flanges enclose."""

import numpy as np
from numpy.typing import NDArray

from fea.section.midline import Midline

Array = NDArray[np.float64]

ARC = 0.1
"""A wall shorter than this, over the web, belongs to a rounded corner."""


def bay(midline: Midline) -> Array | None:
    """Return the corners between web and flanges, (4, 2), mm, in order round the space.

    From the tip of one flange along it, the web and the other flange to its tip.  Rounded
    corners count as sharp.  None if the held wall has not one flange at each end: a tube, an
    angle.
    """
    web = midline.walls[midline.held_wall]
    least = ARC * _length(midline, midline.held_wall)
    first, second = (_side(midline, int(web[1 - k]), int(web[k]), least) for k in (0, 1))
    if first is None or second is None:
        return None
    (root0, tip0), (root1, tip1) = first, second
    return np.array([tip0, root0, root1, tip1])


def _side(midline: Midline, start: int, corner: int, least: float) -> tuple[Array, Array] | None:
    """Return where a flange meets the web, and its tip, walking on from the web's corner."""
    web_line = (midline.points[start], midline.points[corner])
    flange = _long_wall(midline, start, corner, least)
    if flange is None:
        return None
    line = (midline.points[flange[0]], midline.points[flange[1]])
    root = _crossing(web_line, line)
    if root is None:
        return None
    beyond = _long_wall(midline, *flange, least)
    ends = None if beyond is None else _crossing(line, tuple(midline.points[list(beyond)]))
    return root, line[1] if ends is None else ends


def _long_wall(midline: Midline, before: int, corner: int, least: float) -> tuple[int, int] | None:
    """Return the next wall of some length beyond a corner, away from where one came."""
    for _ in range(len(midline.walls)):
        onward = [
            (w, int(a if b == corner else b))
            for w, (a, b) in enumerate(midline.walls)
            if corner in (a, b) and before not in (a, b)
        ]
        if len(onward) != 1:
            return None
        wall, far = onward[0]
        if _length(midline, wall) >= least:
            return corner, far
        before, corner = corner, far
    return None


def _length(midline: Midline, wall: int) -> float:
    a, b = midline.points[midline.walls[wall]]
    return float(np.linalg.norm(b - a))


def _crossing(one: tuple[Array, ...], other: tuple[Array, ...]) -> Array | None:
    """Return where two lines meet, None if they hardly turn."""
    a, b = one[1] - one[0], other[1] - other[0]
    turn = float(a[0] * b[1] - a[1] * b[0])
    if abs(turn) < 0.3 * float(np.linalg.norm(a) * np.linalg.norm(b)):
        return None
    gap = other[0] - one[0]
    return np.asarray(one[0] + a * float(gap[0] * b[1] - gap[1] * b[0]) / turn)
