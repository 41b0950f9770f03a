"""Tolerances with joints as sheet metal: every figure at both ends of its range, curves between.

A draw changes the metal of joints, and a joint takes a second to condense: hundreds of draws
cannot each be solved.  So every frame is solved with one figure at a time at the ends of its
range, its joints condensed anew, and the logarithm of a stiffness is taken as a parabola in
that figure through both ends and the middle.  Logarithms of several figures add up: how one
figure changes what another does is left out.  The draw farthest from the means is solved in
full, to tell by how much that misses.  The first order is the straight part of the same.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.errors import ModelError
from fea.solve.condense import Store
from fea.study.attempt import Values
from fea.study.engine import Runner, run
from fea.study.keys import as_text
from fea.study.sensitivity import with_edits
from fea.study.tolerances import Tolerance
from fea.study.variant import Setting, Variant, measure

Array = NDArray[np.float64]

MEASURES = ("twist", "bending")


@dataclass(frozen=True, eq=False)
class Curves:
    """One frame over the ranges of n figures, each told from -1 to 1, by measure.

    Attributes
    ----------
    nominal : stiffness in the means, N mm/rad and N/mm
    slope, bend : (n,), of its logarithm, with the figure and with its square
    """

    nominal: Mapping[str, float]
    slope: Mapping[str, Array]
    bend: Mapping[str, Array]

    def at(self, off: Array) -> dict[str, Array]:
        """Return the stiffnesses of draws, (n_draws,), from figures off by shares of a half."""
        return {
            m: value * np.exp(off @ self.slope[m] + off**2 @ self.bend[m])
            for m, value in self.nominal.items()
        }

    def effects(self) -> dict[str, Array]:
        """Return the change over half of every tolerance, over the stiffness, (n,)."""
        out = {}
        for m in self.nominal:
            up, down = (np.exp(s * self.slope[m] + self.bend[m]) for s in (1.0, -1.0))
            out[m] = 0.5 * (up - down)
        return out


@dataclass(frozen=True, eq=False)
class Metal:
    """All frames over all ranges.

    Attributes
    ----------
    curves : by the name of the choice of parts
    miss : largest error of a stiffness in the one draw solved in full, a share of it
    solves : frames solved
    """

    curves: Mapping[str, Curves]
    miss: float
    solves: int


def metal(
    setting: Setting,
    choices: Mapping[str, Variant],
    used: Mapping[str, Sequence[int]],
    tolerances: Sequence[Tolerance],
    draw: Array,
    runner: Runner | None = None,
) -> Metal:
    """Return how frames change over the ranges of figures, with joints as sheet metal.

    Parameters
    ----------
    used : numbers of the tolerances that a choice of parts can feel
    draw : (n,), the figures of the draw that is solved in full, in halves of their ranges

    Raises
    ------
    ModelError
        If a frame cannot be solved at an end of a range.
    """
    wanted: list[Variant] = []
    for name, variant in choices.items():
        wanted.append(variant)
        wanted += [_off(variant, tolerances, {k: s}) for k in used[name] for s in (1.0, -1.0)]
        wanted.append(_drawn(variant, tolerances, used[name], draw))
    rows = run(setting, wanted, stiffness, runner)
    for row in rows:
        if row.values is None:
            raise ModelError(*row.complaints)
    solved = {row.variant: row.values or {} for row in rows}
    curves, misses = {}, [0.0]
    for name, variant in choices.items():
        curves[name] = _curves(solved, variant, used[name], tolerances)
        full = solved[_drawn(variant, tolerances, used[name], draw)]
        for m, value in curves[name].at(draw[None, :]).items():
            misses.append(abs(float(value[0]) / full[m] - 1.0))
    return Metal(curves, max(misses), len(solved))


def stiffness(setting: Setting, variant: Variant, store: Store | None) -> Values:
    """Return the stiffnesses of a variant that the cases measure, as plain data."""
    found = measure(setting, variant, store)
    return {m: getattr(found, m) for m in MEASURES if getattr(found, m) is not None}


def _curves(
    solved: Mapping[Variant, Values],
    variant: Variant,
    used: Sequence[int],
    tolerances: Sequence[Tolerance],
) -> Curves:
    nominal = {m: float(v) for m, v in solved[variant].items()}
    slope = {m: np.zeros(len(tolerances)) for m in nominal}
    bend = {m: np.zeros(len(tolerances)) for m in nominal}
    for k in used:
        ends = [solved[_off(variant, tolerances, {k: s})] for s in (1.0, -1.0)]
        for m, middle in nominal.items():
            up, down = (np.log(end[m] / middle) for end in ends)
            slope[m][k], bend[m][k] = 0.5 * (up - down), 0.5 * (up + down)
    return Curves(nominal, slope, bend)


def _drawn(
    variant: Variant, tolerances: Sequence[Tolerance], used: Sequence[int], draw: Array
) -> Variant:
    return _off(variant, tolerances, {k: float(draw[k]) for k in used})


def _off(variant: Variant, tolerances: Sequence[Tolerance], off: Mapping[int, float]) -> Variant:
    """Return a variant with figures off by shares of half their tolerances."""
    moved = [(tolerances[k], share) for k, share in off.items()]
    return with_edits(
        variant, {t.path: as_text(t.mean + share * t.half, t.kind) for t, share in moved}
    )
