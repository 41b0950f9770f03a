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
    """

    points: Array
    walls: NDArray[np.intp]
    thickness: Array
    held_wall: int = 0

    def key(self) -> bytes:
        """Return a fingerprint: equal midlines have equal keys."""
        return b"|".join(
            (
                self.points.tobytes(),
                self.walls.astype(np.int64).tobytes(),
                self.thickness.tobytes(),
                str(self.held_wall).encode(),
            )
        )
