"""How whatever is read of a solved frame moves with any of its figures, by one adjoint.

With motions u of a case and adjoint motions w (those under loads that are the derivative of
the reading by the motions) the derivative of a reading c needs no other solve.  The
Lagrangian

    L(p) = c(u; p) + w.(f(p) - K(p) u) + r.C(p) w + s.(C(p) u - v(p))

with support rows C and their reactions r (of u) and s (of w) is stationary in u and w, so
that dc/dp is the derivative of L with both held fixed: L is taken on systems meshed anew at
neighbouring p, which are assembled but never factorised.  The independent freedoms are what
is held fixed, u and w follow through the rigid links at p: their change counts.  What c
depends on p for itself, at motions held, is in its first term.

References
----------
.. [1] R. T. Haftka and Z. Gürdal, Elements of Structural Optimization, 3rd ed., 1992,
   ch. 7 (adjoint and semi-analytical derivatives).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.frame.model import Frame
from fea.frame.spots import all_places
from fea.load import Loads, loads
from fea.mesh.discretise import discretise
from fea.mesh.mesh import Rows
from fea.result.mass import masses
from fea.result.stiffness import Line, line
from fea.solve.system import Held, System, hold, system
from fea.study.variant import Setting, Variant, frame_of

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class State:
    """A frame meshed and assembled, with its cases' loads; not factorised."""

    frame: Frame
    whole: System
    loads: tuple[Loads, ...]
    line: Line | None


@dataclass(frozen=True, eq=False)
class Reading:
    """One number read of a case.

    Attributes
    ----------
    number : of the case
    value : of a state and motions of its mesh, (n_freedoms,): the number
    gradient : of the same: its derivative by the motions, (n_freedoms,)
    """

    number: int
    value: Callable[[State, Array], float]
    gradient: Callable[[State, Array], Array]


@dataclass(frozen=True, eq=False)
class Adjoint:
    """A reading of a solved state, with what its derivatives need.

    Attributes
    ----------
    value : the number read
    motion : (n_independent, 2), motions and adjoint motions
    reaction : (m, 2), forces of the support rows in both
    """

    reading: Reading
    value: float
    motion: Array
    reaction: Array


def assembled(setting: Setting, variant: Variant) -> State:
    """Return a variant meshed and assembled, its places those of all cases."""
    frame = frame_of(setting, variant)
    wanted = all_places(frame, setting.cases)
    mesh = discretise(frame, wanted)
    each = tuple(loads(frame, mesh, case) for case in setting.cases)
    return State(frame, system(mesh), each, line(frame, mesh))


def adjoint(state: State, reading: Reading, backend: str) -> Adjoint:
    """Return a reading with its adjoint motions."""
    load = state.loads[reading.number]
    held: Held = hold(
        state.whole, load.rows, np.stack([load.values, 0.0 * load.values], axis=1), backend
    )
    zero = np.zeros_like(load.force)
    u, _, _ = held.solve(np.stack([load.force, zero], axis=1))
    value = reading.value(state, u[:, 0])
    pull = reading.gradient(state, u[:, 0])
    _, motion, left = held.solve(np.stack([load.force, pull], axis=1))
    touched = np.unique(held.rows.indices)
    dense = held.rows[:, touched].toarray().T
    reaction = np.linalg.lstsq(dense, left[touched], rcond=1e-12)[0]
    return Adjoint(reading, value, motion, reaction)


def derivative(item: Adjoint, near: Sequence[tuple[float, State]]) -> float:
    """Return the derivative of a reading from states nearby and their weights in it."""
    parts = [(weight, _lagrangian(item, state)) for weight, state in near]
    return sum(
        float(np.sum(sum(weight * terms[n] for weight, terms in parts)))
        for n in range(len(parts[0][1]))
    )


def _lagrangian(item: Adjoint, state: State) -> tuple[Array, ...]:
    """Return the terms of the Lagrangian on another system, the solved motions held fixed.

    Term by term and element by element: what the step leaves alone cancels exactly.
    """
    whole, load = state.whole, state.loads[item.reading.number]
    both = whole.links.matrix @ item.motion
    u, w = both[:, 0], both[:, 1]
    found = whole.structure.recover(both)
    blocks = [w[at] @ block @ u[at] for at, block in whole.structure.blocks_at]
    support = read(load.rows, u), read(load.rows, w)
    return (
        np.array([item.reading.value(state, u)]),
        w * load.force,
        -(found.deformations[..., 1] * found.forces[..., 0]),
        -(found.spring_motion[:, 1] * found.spring_force[:, 0]),
        -np.array(blocks),
        item.reaction[:, 0] * support[1],
        item.reaction[:, 1] * (support[0] - load.values),
    )


def alike(a: State, b: State) -> bool:
    """Say whether two systems have the same nodes, elements, springs and freedoms."""
    x, y = a.whole.mesh, b.whole.mesh
    return (
        np.array_equal(x.elements.nodes, y.elements.nodes)
        and np.array_equal(a.whole.links.independent, b.whole.links.independent)
        and x.springs.label == y.springs.label
        and all(p.rows.n_rows == q.rows.n_rows for p, q in zip(a.loads, b.loads, strict=True))
    )


def same(a: State, b: State) -> bool:
    """Say whether two systems are the same to the last digit, and as heavy."""
    x, y = a.whole, b.whole
    return (
        alike(a, b)
        and np.array_equal(x.mesh.points, y.mesh.points)
        and np.array_equal(x.mesh.elements.weight, y.mesh.elements.weight)
        and np.array_equal(x.K.data, y.K.data)
        and np.array_equal(x.links.matrix.data, y.links.matrix.data)
        and all(np.array_equal(p.force, q.force) for p, q in zip(a.loads, b.loads, strict=True))
        and float(masses(a.frame).steel) == float(masses(b.frame).steel)
    )


def read(rows: Rows, u: Array) -> Array:
    """Return the motions along rows, (n_rows,)."""
    out = np.zeros(rows.n_rows)
    np.add.at(out, rows.row, rows.coefficient * u[rows.freedom])
    return out
