"""What a case reports: the motions that it reads at places of the frame."""

from dataclasses import dataclass

import numpy as np

from fea.analyse import Solution
from fea.frame.case import ROTATIONS, Motion


@dataclass(frozen=True)
class Reading:
    """One motion that was read: a movement mm, a rotation rad, warping 1/mm."""

    name: str
    motion: Motion
    side: str
    value: float

    @property
    def unit(self) -> str:
        """The unit of the value."""
        if self.motion == "warping":
            return "1/mm"
        return "rad" if self.motion in ROTATIONS else "mm"


def readings(solution: Solution) -> list[Reading]:
    """Return the readings of a solution, in the order of its case."""
    rows = solution.loads.reads
    on = rows.coefficient * solution.u[rows.freedom]
    values = np.bincount(rows.row, on, rows.n_rows)
    return [
        Reading(read.name, read.motion, side, float(value))
        for (read, side), value in zip(solution.loads.read_as, values, strict=True)
    ]
