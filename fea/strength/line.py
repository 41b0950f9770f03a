"""A weld treated as a line: its length, inertia and the load per length it carries.

A rigid plate stands on the line, which resists alike in every direction.  Under a force F
and a moment M at its centroid the load per length at r from there is

    f = F / L + theta x r,    theta = I^-1 M,    I = int (r.r 1 - r r') ds.

For a line in a plane that is the method of [1]_: F/L, M c/I (so M/Sw at the outermost
point) and T r/Jw.  It takes lines in space as well.

References
----------
.. [1] O. W. Blodgett, Design of Welded Structures, 1966, sec. 7.4, table 5 (properties of
   weld treated as line).
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError

Array = NDArray[np.float64]

STRAIGHT = 1e-9
"""Of a line's largest inertia: less than this about an axis is none, and so is a share of a
moment."""


@dataclass(frozen=True, eq=False)
class WeldLine:
    """Straight stretches of weld in space; `ends`: (n, 2, 3), mm.

    Two runs on the same line (a fillet on either side of a plate) are two stretches.
    """

    ends: Array

    @property
    def lengths(self) -> Array:
        """Length of every stretch, (n,), mm."""
        return np.asarray(np.linalg.norm(self.ends[:, 1] - self.ends[:, 0], axis=1))

    @property
    def length(self) -> float:
        """Length of all of it, mm."""
        return float(self.lengths.sum())

    @cached_property
    def centroid(self) -> Array:
        """Its middle, (3,), mm."""
        return np.asarray(self.lengths @ self.ends.mean(axis=1) / self.length)

    @cached_property
    def inertia(self) -> Array:
        """Return int (r.r 1 - r r') ds about the centroid, (3, 3), mm3."""
        a, b = (self.ends[:, k] - self.centroid for k in (0, 1))
        # r r' integrated along a straight stretch from a to b.
        mixed = np.einsum("ni,nj->nij", a, b)
        each = np.einsum("ni,nj->nij", a, a) + np.einsum("ni,nj->nij", b, b)
        each += 0.5 * (mixed + np.swapaxes(mixed, 1, 2))
        total = np.einsum("n,nij->ij", self.lengths / 3.0, each)
        return np.asarray(np.trace(total) * np.eye(3) - total)

    def furthest(self, axis: int, sign: float) -> float:
        """Return how far the line reaches from its centroid along an axis, mm."""
        return float(np.max(sign * (self.ends - self.centroid)[..., axis]))

    def loads(self, force: Array, about: Array) -> Array:
        """Return the load per length at the ends of every stretch, (n, 2, 3), N/mm.

        On a straight stretch it is highest at one of its ends.

        Parameters
        ----------
        force : (6,), N and N mm; about : (3,), mm, the point its moment is taken about

        Raises
        ------
        ModelError
            If the line is straight and the moment turns it about itself.
        """
        moment = force[3:] + np.cross(about - self.centroid, force[:3])
        theta = np.linalg.pinv(self.inertia, rcond=STRAIGHT, hermitian=True) @ moment
        left = np.linalg.norm(self.inertia @ theta - moment)
        if left > 1e3 * STRAIGHT * max(float(np.linalg.norm(moment)), 1.0):
            raise ModelError(
                Complaint(
                    "a straight weld resists no moment about itself",
                    found=f"{left / 1000.0:.3g} N m",
                    do="weld a second edge",
                )
            )
        r = self.ends - self.centroid
        return np.asarray(force[:3] / self.length + np.cross(theta, r))


def joined(lines: list[WeldLine]) -> WeldLine:
    """Return several lines as one."""
    return WeldLine(np.concatenate([line.ends for line in lines]))


def polyline(points: Array) -> WeldLine:
    """Return the stretches from point to point, (k, 3), mm."""
    return WeldLine(np.stack([points[:-1], points[1:]], axis=1))
