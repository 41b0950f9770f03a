"""What one more step of a figure does to the first modes: derivatives of their frequencies.

With x'M x = 1 and w = 2 pi f the derivative of a simple mode's frequency is [1]_

    df/dp = x' (dK/dp - w^2 dM/dp) x / (8 pi^2 f).

The differences are of x'(K - w^2 M) x on systems meshed anew at neighbouring p, which are
assembled but never solved.  As in :mod:`fea.study.sensitivity` the independent freedoms are
what is held fixed, x follows through the rigid links at p.

References
----------
.. [1] R. L. Fox and M. P. Kapoor, Rates of change of eigenvalues and eigenvectors, AIAA
   Journal 6, 1968, p. 2426.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fea import units
from fea.frame.case import Case, Weight
from fea.frame.model import Frame
from fea.frame.spots import places
from fea.mesh.discretise import discretise
from fea.result.first_modes import FirstModes, of, pick, solved
from fea.result.modes import FrameModes
from fea.solve.carried import lumps
from fea.solve.inertia import Inertia, inertia
from fea.solve.modes import modes
from fea.solve.system import System, system
from fea.study.keys import NumericKey
from fea.study.sensitivity import STENCIL, STEP, with_edit
from fea.study.sensitivity_record import step_of, step_words
from fea.study.variant import Setting, Variant, frame_of

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ModeSlope:
    """Derivatives by one key, Hz per base unit of it; None where there is no such mode.

    `assembled` is False where a step changes which nodes there are, so that differences of
    full solves stand in.
    """

    key: NumericKey
    torsion: float | None
    bending: float | None
    assembled: bool = True


@dataclass(frozen=True, eq=False)
class ModeBase:
    """A variant with its modes, from which all derivatives follow; always by beam joints."""

    setting: Setting
    variant: Variant
    found: FrameModes
    first: FirstModes


@dataclass(frozen=True, eq=False)
class Heavy:
    """A frame meshed and assembled with its mass, not solved."""

    frame: Frame
    whole: System
    mass: Inertia


def mode_base(setting: Setting, variant: Variant) -> ModeBase:
    """Return a variant with its modes."""
    found = solved(frame_of(setting, variant))
    return ModeBase(setting, variant, found, of(found))


def mode_slopes(base: ModeBase, keys: Sequence[NumericKey]) -> list[ModeSlope]:
    """Return the derivatives by every key."""
    return [mode_slope(base, key) for key in keys]


def mode_slope(base: ModeBase, key: NumericKey) -> ModeSlope:
    """Return the derivatives by one key, by differences of assembled systems."""
    here = Heavy(base.found.frame, base.found.whole, base.found.mass)
    both = (base.first.torsion, base.first.bending)
    h = STEP * key.value
    near: list[tuple[float, Heavy]] = []
    for k, weight in STENCIL:
        there = _moved(base, key, k * h)
        near.append((weight / h, there))
        if not near[1:] and _same(here, there):  # a figure of what is not fitted
            torsion, bending = (None if first is None else 0.0 for first in both)
            return ModeSlope(key, torsion, bending)
    if not all(_alike(here, there) for _, there in near):
        return mode_differences(base, key)
    torsion, bending = (
        None if first is None else _slope(base, first.number, near) for first in both
    )
    return ModeSlope(key, torsion, bending)


def mode_differences(base: ModeBase, key: NumericKey) -> ModeSlope:
    """Return the derivatives by one key from full solves on as fine a mesh, same stencil."""
    h = STEP * key.value
    count = len(base.found.modes)
    sums: list[float | None] = [0.0, 0.0]
    for k, weight in STENCIL:
        there = _moved(base, key, k * h)
        found = modes(there.whole, there.mass, count)
        chosen = pick(there.frame, there.whole.mesh, found.shape)
        for n, number in enumerate(chosen):
            before = sums[n]
            if number is None or before is None:
                sums[n] = None
            else:
                sums[n] = before + weight / h * float(found.frequency[number])
    return ModeSlope(key, sums[0], sums[1], assembled=False)


def _moved(base: ModeBase, key: NumericKey, step: float) -> Heavy:
    variant = with_edit(base.variant, key, key.value + step)
    return heavy(frame_of(base.setting, variant), base.found.refine)


def heavy(frame: Frame, refine: int) -> Heavy:
    """Return a frame assembled as :func:`fea.result.modes.frame_modes` does, hung in nothing."""
    carry = Case("modes", "", "", "none", (), weight=Weight(1.0, True, False))
    mesh = discretise(frame, places(frame, carry), refine)
    whole = system(mesh)
    return Heavy(frame, whole, inertia(whole, frame, lumps(frame, mesh)))


def _slope(base: ModeBase, number: int, near: Sequence[tuple[float, Heavy]]) -> float:
    f = float(base.found.raw.frequency[number])
    held = base.found.raw.shape[base.found.whole.links.independent, number]
    parts = [(weight, _balance(there, held, (2.0 * np.pi * f) ** 2)) for weight, there in near]
    change = sum(
        float(np.sum(sum(weight * terms[n] for weight, terms in parts)))
        for n in range(len(parts[0][1]))
    )
    return change / (8.0 * np.pi**2 * f)


def _balance(there: Heavy, held: Array, square: float) -> tuple[Array, ...]:
    """Return the terms of x'(K - w^2 M) x, the independent freedoms held fixed.

    Element by element: what the step leaves alone cancels exactly.
    """
    whole, mass = there.whole, there.mass
    u = whole.links.matrix @ held
    found = whole.structure.recover(u[:, None])
    ends = u[mass.freedoms]
    carried = []
    for lump in mass.lumps:
        motion = np.zeros(lump.rows.n_rows)
        np.add.at(motion, lump.rows.row, lump.rows.coefficient * u[lump.rows.freedom])
        carried.append(float(lump.weights @ motion**2))
    return (
        found.deformations[..., 0] * found.forces[..., 0],
        found.spring_motion[:, 0] * found.spring_force[:, 0],
        np.array([u[at] @ block @ u[at] for at, block in whole.structure.blocks_at]),
        -square * np.einsum("ni,nij,nj->n", ends, mass.elements, ends),
        -square * np.array(carried),
    )


def _alike(a: Heavy, b: Heavy) -> bool:
    """Say whether two systems have the same nodes, elements, springs, freedoms and lumps."""
    x, y = a.whole.mesh, b.whole.mesh
    return (
        np.array_equal(x.elements.nodes, y.elements.nodes)
        and np.array_equal(a.whole.links.independent, b.whole.links.independent)
        and x.springs.label == y.springs.label
        and [m.name for m in a.mass.lumps] == [m.name for m in b.mass.lumps]
    )


def _same(a: Heavy, b: Heavy) -> bool:
    """Say whether two systems are the same to the last digit, and as heavy."""
    return (
        _alike(a, b)
        and np.array_equal(a.whole.mesh.points, b.whole.mesh.points)
        and np.array_equal(a.whole.K.data, b.whole.K.data)
        and np.array_equal(a.mass.M.data, b.mass.M.data)
        and np.array_equal(a.whole.links.matrix.data, b.whole.links.matrix.data)
    )


def step_hz(derivative: float | None, key: NumericKey) -> float | None:
    """Return what one more step of a figure adds to a frequency, Hz, to first order."""
    return None if derivative is None else derivative * step_of(key)


def as_record(base: ModeBase, slopes: Sequence[ModeSlope]) -> dict[str, Any]:
    """Return the derivatives per unit as documents write it, and what one more step adds."""
    torsion, bending = base.first.torsion, base.first.bending
    return {
        "joints": "beam rules",
        "standing": "free",
        "first_torsion_hz": None if torsion is None else torsion.frequency,
        "first_bending_hz": None if bending is None else bending.frequency,
        "keys": [_key(s) for s in slopes],
    }


def _key(slope: ModeSlope) -> dict[str, Any]:
    key = slope.key
    unit = units.KINDS[key.kind].si
    one = 1.0 / units.convert(1.0, key.kind, unit)  # base units in one of `unit`
    return {
        "path": key.path,
        "unit": unit,
        "method": "assembled differences" if slope.assembled else "differences",
        "torsion_hz_per_unit": None if slope.torsion is None else slope.torsion * one,
        "bending_hz_per_unit": None if slope.bending is None else slope.bending * one,
        "step": step_words(key),
        "step_torsion_hz": step_hz(slope.torsion, key),
        "step_bending_hz": step_hz(slope.bending, key),
    }
