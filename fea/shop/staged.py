"""Welding in steps: a frame forced by clamps, parts welded in free of stress, then let go.

Linear throughout.  With `base` the frame before the parts and `full` the one with them:

1. Clamps move the base by d along their rows C: ``K_base u = C' f``, ``C u = d``; f is what
   they need.
2. The parts are welded in as they lie: they have no stress in this shape.
3. Letting go takes the clamps' forces off what is now there:
   ``K_full v = -C' f``; what stays of the motion is u + v.

If the parts are soft, v is -u and all of it springs back; if they are rigid, nothing does.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.shop.rig import Grip, force_to, grip_rows, moved, push
from fea.solve.system import System

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Staged:
    """The steps of one welding.

    Attributes
    ----------
    forced : the base under its clamps; released : what letting go adds, on the full frame
    clamps : (m,), N, what each grip must pull or push along its motion
    """

    forced: Solution
    released: Solution
    grips: tuple[Grip, ...]
    motions: Array
    clamps: Array

    @property
    def work(self) -> float:
        """Work of the clamps, N mm."""
        return 0.5 * float(self.clamps @ self.motions)

    def steps(self, reads: Sequence[Grip]) -> tuple[Array, Array]:
        """Return motions of places when forced, and what letting go adds, each (r,), mm.

        Of a motion as a whole only what is the same for any rigid motion counts.
        """
        forced = moved(grip_rows(self.forced.mesh, reads), self.forced.u)
        released = moved(grip_rows(self.released.mesh, reads), self.released.u)
        return forced, released


def stage(base: System, full: System, grips: Sequence[Grip], motions: Array) -> Staged:
    """Force a base by grips, weld it into what `full` is, and let go.

    Parameters
    ----------
    grips : m of them, with nodes in both meshes
    motions : (m,), mm, how far each is moved

    Raises
    ------
    SolveError
        If a frame is a mechanism.
    """
    forced, clamps = force_to(base, grips, motions, "forced by clamps")
    off = -grip_rows(full.mesh, grips).transposed(clamps, full.mesh.n_freedoms)
    return Staged(forced, push(full, off, "let go"), tuple(grips), motions, clamps)


def stiffer(base: System, full: System, grips: Sequence[Grip], motions: Array) -> float:
    """Return how many times the work the same motions take with the parts welded in."""
    _, before = force_to(base, grips, motions, "forced by clamps")
    _, after = force_to(full, grips, motions, "forced by clamps, welded")
    return float(after @ motions) / float(before @ motions)
