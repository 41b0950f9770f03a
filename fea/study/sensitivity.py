"""What one more tenth of a millimetre buys: derivatives of stiffness, mass and stress.

Every one is by the adjoint of :mod:`fea.study.sensitivity_adjoint`: of one over what a case
measures, and of the stress where it is highest (:mod:`fea.study.sensitivity_peak`).  With
joints as sheet metal, and where a step changes which nodes there are, differences of full
solves stand in.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.mesh.mesh import Rows
from fea.result.mass import masses
from fea.result.stiffness import Line, Profile, bending_stiffness, twist_stiffness
from fea.study.keys import NumericKey
from fea.study.sensitivity_adjoint import (
    Adjoint,
    Reading,
    State,
    adjoint,
    alike,
    assembled,
    derivative,
    read,
    same,
)
from fea.study.sensitivity_peak import PeakPlace, Peaks, stress_held
from fea.study.variant import Setting, Variant, solve_variant

if TYPE_CHECKING:
    from fea.result.answer import Answer
    from fea.solve.condense import Store

Array = NDArray[np.float64]

STEP = 2e-3
"""Step of the differences, over the figure itself."""

STENCIL = ((-2, 1.0 / 12.0), (-1, -8.0 / 12.0), (1, 8.0 / 12.0), (2, -1.0 / 12.0))
"""Places, in steps, and weights of the fourth-order first difference."""

ROUGH = ((-1, -0.5), (1, 0.5))
"""The same of second order: half the systems, six digits."""


@dataclass(frozen=True)
class Slope:
    """Derivatives by one key, per base unit of it; None where a case measures nothing.

    Attributes
    ----------
    twist, bending : of the stiffnesses, N mm/rad and N/mm; steel : of the mass, tonne
    peak : of the stress where the utilisation is highest, MPa; None where not asked for
    rivals : the same of other places near it, in the order of `PeakPlace`s; None where a
        step takes the place itself away
    adjoint : whether the adjoint gave them; differences of full solves if not
    """

    key: NumericKey
    twist: float | None
    bending: float | None
    steel: float
    peak: float | None = None
    rivals: tuple[float | None, ...] = ()
    adjoint: bool = True


@dataclass(frozen=True, eq=False)
class Base:
    """A variant solved once, from which all derivatives follow.

    `measured`: one over the stiffness of every case that measures one, mm/N or rad/(N mm).
    """

    setting: Setting
    variant: Variant
    state: State
    measured: tuple[Adjoint, ...]

    def value(self, measure: str) -> float | None:
        """Return the stiffness that the first case of a measure gives, or None."""
        for item in self.measured:
            if self.setting.cases[item.reading.number].measure == measure:
                return 1.0 / item.value
        return None

    @property
    def steel(self) -> float:
        """Mass of the steel, tonne."""
        return float(masses(self.state.frame).steel)


def base(setting: Setting, variant: Variant) -> Base:
    """Return a variant solved for its measures and their adjoints, with beam joints."""
    if setting.sheet_joints:
        rule = "adjoint derivatives are taken with beam joints"
        raise ModelError(Complaint(rule, do="take differences of full solves with sheet metal"))
    state = assembled(setting, variant)
    found = []
    for number, case in enumerate(setting.cases):
        if case.measure in ("twist", "bending") and state.line is not None:
            found.append(adjoint(state, _stiffness(number, case), setting.backend))
    return Base(setting, variant, state, tuple(found))


def slopes(
    base: Base, keys: Sequence[NumericKey], *, stress: Peaks | None = None, step: float = STEP
) -> list[Slope]:
    """Return the derivatives by every key at a solved variant."""
    return [slope(base, key, stress=stress, step=step) for key in keys]


def slope(
    base: Base,
    key: NumericKey,
    *,
    stress: Peaks | None = None,
    step: float = STEP,
    stencil: Sequence[tuple[int, float]] = STENCIL,
    h: float | None = None,
) -> Slope:
    """Return the derivatives by one key, by the adjoint.

    Where a step changes which nodes the mesh has, differences of full solves stand in.

    Parameters
    ----------
    stress : where the stress is highest, if its derivative is asked for as well
    step : over the figure itself; `h` is the step in base units, if that is given instead
    """
    h = step * key.value if h is None else h
    near: list[tuple[float, State]] = []
    for k, weight in stencil:
        state = assembled(base.setting, with_edit(base.variant, key, key.value + k * h))
        near.append((weight / h, state))
        if same(base.state, state):  # a figure of what is not fitted
            none = {m: 0.0 for m in ("twist", "bending") if base.value(m) is not None}
            still = (0.0,) * (0 if stress is None else len(stress.places))
            return Slope(key, none.get("twist"), none.get("bending"), 0.0, *_split(still))
    if not all(alike(base.state, state) for _, state in near):
        places = () if stress is None else stress.places
        return differences(base.setting, base.variant, key, h=h, places=places)
    found: dict[str, float] = {}
    for item in base.measured:
        name = base.setting.cases[item.reading.number].measure
        found.setdefault(str(name), -derivative(item, near) / item.value**2)
    steel = sum(weight * float(masses(state.frame).steel) for weight, state in near)
    moved = () if stress is None else stress.slopes(near)
    return Slope(key, found.get("twist"), found.get("bending"), steel, *_split(moved))


def differences(
    setting: Setting,
    variant: Variant,
    key: NumericKey,
    *,
    h: float | None = None,
    store: Store | None = None,
    places: Sequence[PeakPlace] = (),
) -> Slope:
    """Return the derivatives by one key from full solves, by the same stencil.

    Four solves; with sheet metal each of them condenses the joints that the key changes.

    Parameters
    ----------
    places : where the stress is highest, and its rivals, if its derivative is asked for
    """
    h = STEP * key.value if h is None else h
    near = [
        (weight / h, solve_variant(setting, with_edit(variant, key, key.value + k * h), store))
        for k, weight in STENCIL
    ]

    def total(value: Callable[[list[Answer]], float | None]) -> float | None:
        known = [(weight, value(found)) for weight, found in near]
        if any(v is None for _, v in known):
            return None
        return sum(weight * v for weight, v in known if v is not None)

    def moved(place: PeakPlace) -> float | None:
        return total(lambda found: stress_held(found[place.case].solution, place))

    return Slope(
        key,
        total(lambda found: _first([a.twist_stiffness for a in found])),
        total(lambda found: _first([a.bending_stiffness for a in found])),
        total(lambda found: float(found[0].mass.steel)) or 0.0,
        *_split([moved(place) for place in places]),
        adjoint=False,
    )


def with_edit(variant: Variant, key: NumericKey, value: float) -> Variant:
    """Return a variant with another value, in base units, under a key."""
    return with_edits(variant, {key.path: key.text(value)})


def with_edits(variant: Variant, edits: Mapping[str, str]) -> Variant:
    """Return a variant with more edits; where a path is edited twice the new one holds."""
    return replace(variant, edits=tuple(sorted((dict(variant.edits) | dict(edits)).items())))


def compliance(frame: Frame, case: Case, at: Line) -> tuple[Rows, Callable[[Array], float]]:
    """Return the rows a measure reads, and one over the stiffness as a function of those.

    The function is linear as long as what it measures does not change sign.
    """
    none = np.zeros(len(at.stations))
    twist = case.measure == "twist"

    def read(values: Array) -> float:
        if twist:
            return 1.0 / twist_stiffness(frame, case, Profile(at.stations, values, none, none))
        return 1.0 / bending_stiffness(frame, case, Profile(at.stations, none, values, none))

    return at.rows()[0 if twist else 1], read


def _stiffness(number: int, case: Case) -> Reading:
    """Return one over the stiffness that a case measures as a reading."""

    def value(state: State, u: Array) -> float:
        rows, found = compliance(state.frame, case, _line(state))
        return found(read(rows, u))

    def gradient(state: State, u: Array) -> Array:
        rows, found = compliance(state.frame, case, _line(state))
        values = read(rows, u)
        now = found(values)
        # Linear in each reading, so that a step of any size short of a change of sign is exact.
        size = 1e-3 * float(np.max(np.abs(values)))
        share = np.array([(found(values + size * e) - now) / size for e in np.eye(len(values))])
        return rows.transposed(share, state.whole.mesh.n_freedoms)

    return Reading(number, value, gradient)


def _split(each: Sequence[float | None]) -> tuple[float | None, tuple[float | None, ...]]:
    """Return the first and the rest, as a `Slope` has them."""
    return (each[0], tuple(each[1:])) if each else (None, ())


def _first(values: Sequence[float | None]) -> float | None:
    return next((v for v in values if v is not None), None)


def _line(state: State) -> Line:
    if state.line is None:
        rule = "twist and bending are measured on a pair of rails"
        raise ModelError(Complaint(rule, state.frame.source))
    return state.line
