"""Any thickness instead of stock gauges: compliances with their slopes, and the optimum.

For one choice of parts.  One over a stiffness is convex in the thicknesses where every
element's stiffness is concave in them, as that of thin plates and closed cells is: then the
optimum found is the least mass there is, and a tangent of the compliance never lies above
it.  Joint rules and thick walls are not quite of that form, so that convexity is no proof
here but something to be checked: :mod:`fea.study.sizing` does, and tells the bound that
holds without it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.solve.smallest import smallest
from fea.study.gauges import Space
from fea.study.keys import NumericKey
from fea.study.sensitivity import ROUGH, base, slope

Array = NDArray[np.float64]
Pattern = tuple[bool, ...]
"""Of every wall, whether its part is fitted."""


@dataclass(frozen=True)
class Target:
    """A stiffness to be reached: "twist" or "bending", N mm/rad or N/mm."""

    measure: str
    value: float


@dataclass(frozen=True, eq=False)
class Tangent:
    """The plane that touches a compliance over the thicknesses of the walls that are on.

    ``value + slope . (t - point)``, with thicknesses in mm, (n_on,).
    """

    target: Target
    point: Array
    value: float
    slope: Array

    def over_target(self, thickness: Array) -> float:
        """Return the compliance it tells, over that of the target."""
        return float(self.value + self.slope @ (thickness - self.point)) * self.target.value

    @property
    def reached(self) -> float:
        """The stiffness where it touches, over the target."""
        return 1.0 / (self.value * self.target.value)


@dataclass(frozen=True, eq=False)
class Relaxed:
    """The optimum over any thickness: mm per wall that is on, its steel in tonnes."""

    pattern: Pattern
    thickness: Array
    steel: float
    converged: bool


def tangents(
    space: Space, pattern: Pattern, thickness: Array, targets: Sequence[Target]
) -> list[Tangent]:
    """Return a tangent per target at thicknesses (n_on,), mm, of the walls that are on."""
    full = np.zeros(len(pattern))
    full[np.array(pattern, dtype=bool)] = thickness
    solved = base(space.setting, space.between(full.tolist(), pattern))
    slopes = [
        slope(solved, NumericKey(w.path, "gauge", "thickness", float(t)), stencil=ROUGH)
        for w, t, on in zip(space.walls, full, pattern, strict=True)
        if on
    ]
    found = []
    for target in targets:
        value = solved.value(target.measure)
        if value is not None:
            each = np.array([getattr(s, target.measure) for s in slopes])
            found.append(Tangent(target, np.array(thickness), 1.0 / value, -each / value**2))
    return found


def relax(space: Space, pattern: Pattern, targets: Sequence[Target]) -> Relaxed:
    """Return the least mass of a choice of parts between the thinnest and thickest gauge."""
    on = [k for k, is_on in enumerate(pattern) if is_on]
    low, high = float(space.thickness[1]), float(space.thickness[-1])
    kept: dict[bytes, tuple[Array, Array]] = {}

    def solve(x: Array) -> tuple[Array, Array]:
        name = np.round(x, 12).tobytes()
        if name not in kept:
            found = tangents(space, pattern, x, targets)
            # Logarithms: a stiffness is then nearly straight from small to large.
            kept[name] = (
                np.array([np.log(t.reached) for t in found]),
                np.array([-t.slope / t.value for t in found]),
            )
        return kept[name]

    tables = [space.mass[1][k] for k in on]
    # The least a millimetre costs: the wall's mass bends a little where its midline shrinks.
    per_mm = np.array([float(np.min(np.diff(t[1:]) / np.diff(space.thickness[1:]), initial=np.inf))
                       for t in tables])  # fmt: skip
    if not on or high <= low:
        return Relaxed(pattern, np.full(len(on), low), space.steel([int(p) for p in pattern]), True)
    found = smallest(
        per_mm,
        lambda x: solve(x)[0],
        lambda x: solve(x)[1],
        (low, high),
        np.full(len(on), 0.5 * (low + high)),
    )
    thin = space.steel([int(p) for p in pattern])
    steel = thin + float(per_mm @ (found.x - low))
    return Relaxed(pattern, found.x, steel, found.converged)
