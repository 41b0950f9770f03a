"""What one more tenth of a millimetre buys: derivatives of stiffness, mass and stress.

With motions u and adjoint motions w (those under unit forces along the measured motion)
the derivative of what a case measures needs no other solve.  The measure c = 1/stiffness
has the Lagrangian

    L(p) = c(u; p) + w.(f(p) - K(p) u) + r.C(p) w + s.(C(p) u - v(p))

with support rows C and their reactions r (of u) and s (of w).  It is stationary in u and w,
so that dc/dp is the derivative of L with both held fixed: L is taken on systems meshed
anew at neighbouring p, which are assembled but never factorised.  The independent freedoms
are what is held fixed, u and w follow through the rigid links at p: their change counts.

References
----------
.. [1] R. T. Haftka and Z. Gürdal, Elements of Structural Optimization, 3rd ed., 1992,
   ch. 7 (adjoint and semi-analytical derivatives).
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
from fea.frame.spots import all_places
from fea.load import Loads, loads
from fea.mesh.discretise import discretise
from fea.mesh.mesh import Rows
from fea.result.mass import masses
from fea.result.stiffness import Line, Profile, bending_stiffness, line, twist_stiffness
from fea.solve.system import Held, System, hold, system
from fea.study.keys import NumericKey
from fea.study.stress_slope import Place, highest, peak_slope
from fea.study.variant import Setting, Variant, frame_of, measure

if TYPE_CHECKING:
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
    peak : of the highest utilisation's stress, MPa; None where not asked for, or where
        another place of the frame takes over within the step (there it has no derivative)
    adjoint : whether the adjoint gave them; differences of full solves if not
    """

    key: NumericKey
    twist: float | None
    bending: float | None
    steel: float
    peak: float | None = None
    adjoint: bool = True


@dataclass(frozen=True, eq=False)
class State:
    """A frame meshed and assembled, with its cases' loads; not factorised."""

    frame: Frame
    whole: System
    loads: tuple[Loads, ...]
    line: Line | None


@dataclass(frozen=True, eq=False)
class Measured:
    """One case that measures something, solved for motions and adjoint motions.

    Attributes
    ----------
    number : of the case
    value : the stiffness, N mm/rad or N/mm
    motion : (n_independent, 2), motions and adjoint motions
    reaction : (m, 2), forces of the support rows in both
    """

    number: int
    value: float
    motion: Array
    reaction: Array


@dataclass(frozen=True, eq=False)
class Base:
    """A variant solved once, from which all derivatives follow."""

    setting: Setting
    variant: Variant
    state: State
    measured: tuple[Measured, ...]

    def value(self, measure: str) -> float | None:
        """Return the stiffness that the first case of a measure gives, or None."""
        for item in self.measured:
            if self.setting.cases[item.number].measure == measure:
                return item.value
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
            found.append(_solve(state, number, case, setting.backend))
    return Base(setting, variant, state, tuple(found))


def assembled(setting: Setting, variant: Variant) -> State:
    """Return a variant meshed and assembled, its places those of all cases."""
    frame = frame_of(setting, variant)
    wanted = all_places(frame, setting.cases)
    mesh = discretise(frame, wanted)
    each = tuple(loads(frame, mesh, case) for case in setting.cases)
    return State(frame, system(mesh), each, line(frame, mesh))


def slopes(
    base: Base, keys: Sequence[NumericKey], *, stress: bool = False, step: float = STEP
) -> list[Slope]:
    """Return the derivatives by every key at a solved variant."""
    peak = highest(base.setting, base.variant).place if stress else None
    return [slope(base, key, peak=peak, step=step) for key in keys]


def slope(
    base: Base,
    key: NumericKey,
    *,
    peak: Place | None = None,
    step: float = STEP,
    stencil: Sequence[tuple[int, float]] = STENCIL,
    h: float | None = None,
) -> Slope:
    """Return the derivatives by one key: those of the stiffnesses by the adjoint.

    Where a step changes which nodes the mesh has, differences of full solves stand in.

    Parameters
    ----------
    peak : where the stress is highest, if its derivative is asked for as well
    step : over the figure itself; `h` is the step in base units, if that is given instead
    """
    h = step * key.value if h is None else h
    near: list[tuple[float, State]] = []
    for k, weight in stencil:
        state = assembled(base.setting, with_edit(base.variant, key, key.value + k * h))
        near.append((weight / h, state))
        if _same(base.state, state):  # a figure of what is not fitted
            none = {m: 0.0 for m in ("twist", "bending") if base.value(m) is not None}
            still = None if peak is None else 0.0
            return Slope(key, none.get("twist"), none.get("bending"), 0.0, still)
    stress = None if peak is None else peak_slope(base.setting, base.variant, key, peak)
    if not all(_alike(base.state, state) for _, state in near):
        return replace(differences(base.setting, base.variant, key, h=h), peak=stress)
    found: dict[str, float] = {}
    for item in base.measured:
        name = base.setting.cases[item.number].measure
        parts = [(weight, _lagrangian(base, item, state)) for weight, state in near]
        change = sum(
            float(np.sum(sum(weight * terms[n] for weight, terms in parts)))
            for n in range(len(parts[0][1]))
        )
        found.setdefault(str(name), -(item.value**2) * change)
    steel = sum(weight * float(masses(state.frame).steel) for weight, state in near)
    return Slope(key, found.get("twist"), found.get("bending"), steel, stress)


def differences(
    setting: Setting,
    variant: Variant,
    key: NumericKey,
    *,
    h: float | None = None,
    store: Store | None = None,
) -> Slope:
    """Return the derivatives by one key from full solves, by the same stencil.

    Four solves; with sheet metal each of them condenses the joints that the key changes.
    """
    h = STEP * key.value if h is None else h
    near = [
        (weight / h, measure(setting, with_edit(variant, key, key.value + k * h), store))
        for k, weight in STENCIL
    ]

    def total(values: Sequence[float | None]) -> float | None:
        known = [v for v in values if v is not None]
        if len(known) < len(values):
            return None
        return sum(weight * v for (weight, _), v in zip(near, known, strict=True))

    steel = total([f.steel for _, f in near])
    return Slope(
        key,
        total([f.twist for _, f in near]),
        total([f.bending for _, f in near]),
        steel or 0.0,
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


def _solve(state: State, number: int, case: Case, backend: str) -> Measured:
    load = state.loads[number]
    held: Held = hold(
        state.whole, load.rows, np.stack([load.values, 0.0 * load.values], axis=1), backend
    )
    at = _line(state)
    rows, read = compliance(state.frame, case, at)
    zero = np.zeros_like(load.force)
    u, _, _ = held.solve(np.stack([load.force, zero], axis=1))
    values = _read(rows, u[:, 0])
    value = read(values)
    # Linear in each reading, so that a step of any size short of a change of sign is exact.
    size = 1e-3 * float(np.max(np.abs(values)))
    share = np.array([(read(values + size * e) - value) / size for e in np.eye(len(values))])
    measured = rows.transposed(share, state.whole.mesh.n_freedoms)
    _, motion, left = held.solve(np.stack([load.force, measured], axis=1))
    touched = np.unique(held.rows.indices)
    dense = held.rows[:, touched].toarray().T
    reaction = np.linalg.lstsq(dense, left[touched], rcond=1e-12)[0]
    return Measured(number, 1.0 / value, motion, reaction)


def _lagrangian(base: Base, item: Measured, state: State) -> tuple[Array, ...]:
    """Return the terms of the Lagrangian on another system, the solved motions held fixed.

    Term by term and element by element: what the step leaves alone cancels exactly.
    """
    whole, load = state.whole, state.loads[item.number]
    both = whole.links.matrix @ item.motion
    u, w = both[:, 0], both[:, 1]
    found = whole.structure.recover(both)
    rows, read = compliance(state.frame, base.setting.cases[item.number], _line(state))
    blocks = [w[at] @ block @ u[at] for at, block in whole.structure.blocks_at]
    support = _read(load.rows, u), _read(load.rows, w)
    return (
        np.array([read(_read(rows, u))]),
        w * load.force,
        -(found.deformations[..., 1] * found.forces[..., 0]),
        -(found.spring_motion[:, 1] * found.spring_force[:, 0]),
        -np.array(blocks),
        item.reaction[:, 0] * support[1],
        item.reaction[:, 1] * (support[0] - load.values),
    )


def _alike(a: State, b: State) -> bool:
    """Say whether two systems have the same nodes, elements, springs and freedoms."""
    x, y = a.whole.mesh, b.whole.mesh
    return (
        np.array_equal(x.elements.nodes, y.elements.nodes)
        and np.array_equal(a.whole.links.independent, b.whole.links.independent)
        and x.springs.label == y.springs.label
        and all(p.rows.n_rows == q.rows.n_rows for p, q in zip(a.loads, b.loads, strict=True))
    )


def _same(a: State, b: State) -> bool:
    """Say whether two systems are the same to the last digit, and as heavy."""
    x, y = a.whole, b.whole
    return (
        _alike(a, b)
        and np.array_equal(x.mesh.points, y.mesh.points)
        and np.array_equal(x.mesh.elements.weight, y.mesh.elements.weight)
        and np.array_equal(x.K.data, y.K.data)
        and np.array_equal(x.links.matrix.data, y.links.matrix.data)
        and all(np.array_equal(p.force, q.force) for p, q in zip(a.loads, b.loads, strict=True))
        and float(masses(a.frame).steel) == float(masses(b.frame).steel)
    )


def _read(rows: Rows, u: Array) -> Array:
    out = np.zeros(rows.n_rows)
    np.add.at(out, rows.row, rows.coefficient * u[rows.freedom])
    return out


def _line(state: State) -> Line:
    if state.line is None:
        rule = "twist and bending are measured on a pair of rails"
        raise ModelError(Complaint(rule, state.frame.source))
    return state.line
