"""The midline of a thin-walled section: corner points joined by straight walls.

Section axes: y and z across the member, as seen looking back along the member's
own x axis; z is up, y is to the side that `up cross x` points to.  For a rail, whose
x runs rearward, y is to the right of the vehicle.  The origin is the point that
lies on the member's reference line (for a channel the middle of its web).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Midline:
    """Corners and walls of a section; data only.

    Attributes
    ----------
    points : array, shape (n, 2), mm
        Corners, y and z, from the reference point.
    walls : integer array, shape (m, 2)
        Pairs of corner numbers.
    thickness : array, shape (m,), mm
        Thickness of each wall.
    held_wall : int
        The wall by which other members hold this one (a channel's web).
    names : tuple of str, one per wall, or empty
        What the trade calls each wall, as the section stands: "web", "top flange".
        Several walls may share one name (the short walls of a rounded corner).
    normal_factor, shear_factor : arrays, shape (m,), or None for all ones
        The share of each wall that carries normal stress, and shear flow: less than 1
        where holes or a stitched seam make the sheet softer than plain metal.
    metal_factor : array, shape (m,), or None for all ones
        The share of each wall's metal that is there, less than 1 where holes are cut: what it
        weighs, which is more than what it carries.
    """

    points: Array
    walls: NDArray[np.intp]
    thickness: Array
    held_wall: int = 0
    names: tuple[str, ...] = ()
    normal_factor: Array | None = None
    shear_factor: Array | None = None
    metal_factor: Array | None = None

    def key(self) -> bytes:
        """Return a fingerprint: midlines with equal properties have equal keys."""
        parts = [
            self.points.tobytes(),
            self.walls.astype(np.int64).tobytes(),
            self.thickness.tobytes(),
            str(self.held_wall).encode(),
        ]
        for factor in (self.normal_factor, self.shear_factor):
            plain = factor is None or bool(np.all(factor == 1.0))
            parts.append(b"" if plain or factor is None else factor.tobytes())
        return b"|".join(parts)


def metal(midline: Midline) -> tuple[float, Array]:
    """Return the area of metal that a section weighs by, mm2, and its middle, y and z, mm."""
    ends = midline.points[midline.walls]
    area = midline.thickness * np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    if midline.metal_factor is not None:
        area = area * midline.metal_factor
    return float(area.sum()), np.asarray(area @ ends.mean(axis=1) / area.sum())
