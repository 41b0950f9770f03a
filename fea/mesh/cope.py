"""The end of a member cut to the shape of the metal it stands on: slanted, or a saddle.

Every node of the last row slides along the member onto the wall; rows behind it slide less
and less.
"""

import numpy as np
from numpy.typing import NDArray

from fea.mesh import weld
from fea.mesh.sweep import Swept

Array = NDArray[np.float64]
Index = NDArray[np.intp]

FADE = 1.5
"""Half widths of the section, and times its longest slide, over which the slide fades."""


def slides(row: Array, axis_point: Array, inward: Array, corners: Array) -> Array:
    """Return how far each node of an end row slides inward to lie on a wall, (k,), mm.

    Parameters
    ----------
    row : (k, 3); axis_point : (3,), where the member's axis ends; inward : (3,), unit
    corners : (n, 4, 3), of the metal it stands on

    Nodes that miss the wall slide as its plane does there.
    """
    if len(corners) == 0:
        return np.zeros(len(row))
    ahead = weld.normals(corners) @ inward
    middle = weld.hits(axis_point[None], inward, corners)[0]
    if np.all(np.isnan(middle)):
        facing = np.abs(ahead) > 0.2
    else:  # the side of the metal that the axis ends on, not the one across
        facing = ahead * ahead[int(np.nanargmin(np.abs(middle)))] > 0.04
    t = weld.hits(row, inward, corners[facing])
    t = np.where(np.isnan(t), np.inf, t)
    best = t[np.arange(len(t)), np.abs(t).argmin(axis=1)]
    hit = np.isfinite(best)
    if hit.sum() < 3:
        return np.zeros(len(row))
    across = row - axis_point
    across = across - np.outer(across @ inward, inward)
    table = np.hstack([np.ones((len(row), 1)), across])
    plane = table @ np.linalg.lstsq(table[hit], best[hit], rcond=1e-9)[0]
    return np.asarray(np.where(hit, best, plane))


def cope(
    swept: Swept, points: Array, end: str, slide: Array, inward: Array, span: tuple[float, float]
) -> None:
    """Move the rows of a swept member's end in `points`, the sheet's own.

    Parameters
    ----------
    points : (n, 3), of the swept member, changed in place
    slide : (k,), mm, of the nodes of the end row
    span : how far from the end the rows move wholly (to the innermost wall), and from where
        on they may not move at all, mm
    """
    order = sorted(swept.rows, reverse=end != "start")
    first = order[0]
    whole, room = span
    profile = swept.profiles[first]
    half = float(np.max(np.abs(profile.points)))
    reach = FADE * max(half, 2.0 * float(np.max(np.abs(slide))))
    reach = min(reach, room - whole)
    if reach <= 0.0:
        return
    for s in order:
        gap = abs(s - first) - whole
        row = swept.rows[s]
        if gap >= reach or len(row) != len(slide):
            break
        share = 1.0 if gap <= 0.0 else 1.0 - gap / reach
        points[row] += (share * slide)[:, None] * inward
