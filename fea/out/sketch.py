"""A section drawn in characters, for a terminal."""

import numpy as np

from fea.section.midline import Midline
from fea.section.properties import SectionProperties

ROWS = 13
ASPECT = 2.0
"""A character is about twice as high as wide."""


def sketch(midline: Midline, p: SectionProperties) -> list[str]:
    """Return lines of text: walls as blocks, C the centroid, S the shear centre, + the origin."""
    others = np.stack([p.centroid, p.shear_centre, np.zeros(2)])
    marks = np.concatenate([midline.points, others])
    low, high = marks.min(axis=0), marks.max(axis=0)
    size = float(max(high[1] - low[1], (high[0] - low[0]) / 2.0, 1e-9))
    step = size / (ROWS - 1)
    columns = round((high[0] - low[0]) / step * ASPECT) + 1
    rows = round((high[1] - low[1]) / step) + 1
    grid = np.full((rows, columns), " ")

    def put(y: float, z: float, mark: str) -> None:
        row = round((high[1] - z) / step)
        column = round((y - low[0]) / step * ASPECT)
        grid[min(row, rows - 1), min(column, columns - 1)] = mark

    for a, b in midline.walls:
        for part in np.linspace(0.0, 1.0, 80):
            y, z = midline.points[a] + part * (midline.points[b] - midline.points[a])
            put(float(y), float(z), "█")
    put(0.0, 0.0, "+")
    put(float(p.centroid[0]), float(p.centroid[1]), "C")
    put(float(p.shear_centre[0]), float(p.shear_centre[1]), "S")
    return ["".join(row) for row in grid]
