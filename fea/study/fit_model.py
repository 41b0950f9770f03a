"""What gauges would read, and how that changes with every unknown.

The supports are held rigid and factorised once; how much they give comes in afterwards.
With u0 the motions under the loads, U those under a unit motion of each support that may
give, F what each gives per force, and l the forces they bear on the frame,

    l0 = -U' f,  S = U' K U,  w = -(1 + F S)^-1 F l0,  y = R (u0 + U w).

When a figure of the frame changes by dp, R u0 changes by -V' (dK u0) with V the motions
under unit forces where the gauges read, R U by -V' (dK U), l0 by U' (dK u0), S by U' (dK U):
no solve beyond the first.  dK applied to motions is taken element by element from the frame
assembled a step to either side, which is not solved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.document.edit import Value
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.frame.spots import places, stiff_ends
from fea.load import Loads, loads
from fea.mesh.discretise import discretise
from fea.mesh.mesh import Mesh, Rows
from fea.solve.assemble import sparse_rows
from fea.solve.operator import Operator, operator
from fea.solve.system import Held, hold, system
from fea.study.fit_readings import Gauge, Readings, cases
from fea.study.fit_unknowns import Asked, Unknown
from fea.study.variant import Setting, Variant, frame_of

if TYPE_CHECKING:
    from fea.solve.condense import Store

Array = NDArray[np.float64]

SUPPORTS = ("right", "left", "pivot")
"""Supports that may give: the first rows that the load cases hold, in this order."""

STEP = 2e-4
"""Of a usual change: half the span over which a stiffness is differenced.  Its error grows
with the square, that of round-off with the inverse; both stay below 1e-7."""

STEP_SHEET = 0.05
"""The same with joints as sheet metal, which are meshed anew and so answer in small jumps."""


@dataclass(frozen=True, eq=False)
class Blocks:
    """A frame on rigid supports: r gauges, k loads, s supports that may give.

    Attributes
    ----------
    read : (r, k), what the gauges move under the loads, mm
    lift : (r, s), under a unit motion of each support
    bear : (s, k), N, what the supports push on the frame
    stiff : (s, s), N/mm, what they take to be moved against each other
    """

    read: Array
    lift: Array
    bear: Array
    stiff: Array

    def less(self, other: Blocks, span: float) -> Blocks:
        """Return the slope from another to this."""
        return Blocks(
            (self.read - other.read) / span,
            (self.lift - other.lift) / span,
            (self.bear - other.bear) / span,
            (self.stiff - other.stiff) / span,
        )


@dataclass(frozen=True, eq=False)
class State:
    """The model at some unknowns.

    Attributes
    ----------
    moved : (r, k), what every gauge moves under every load, along the vehicle's axes, mm
    slopes : (r, k, n), how that changes with the unknowns, zero errors left out
    """

    moved: Array
    slopes: Array


@dataclass(frozen=True, eq=False)
class Rig:
    """A frame set up for the test, ready for any figures of its unknowns.

    Attributes
    ----------
    setting, variant : the document with its choice of parts
    further : gauges that no one has read, after those of the readings
    """

    setting: Setting
    variant: Variant
    readings: Readings
    asked: Asked
    further: tuple[Gauge, ...] = ()
    store: Store | None = None
    _kept: dict[bytes, State] = field(default_factory=dict, repr=False)

    @property
    def unknowns(self) -> tuple[Unknown, ...]:
        """The unknowns, in the order of the solver's numbers."""
        return self.asked.unknowns

    @property
    def gauges(self) -> tuple[Gauge, ...]:
        """Every gauge, those that were read first."""
        return (*self.readings.gauges, *self.further)

    def with_gauges(self, further: Sequence[Gauge]) -> Rig:
        """Return the same with other gauges that no one has read."""
        return replace(self, further=tuple(further), _kept={})

    def at(self, x: Array) -> State:
        """Return the model at some unknowns; the last one asked for is kept."""
        key = np.ascontiguousarray(x).tobytes()
        if key not in self._kept:
            found = _state(self, x)
            self._kept.clear()
            self._kept[key] = found
        return self._kept[key]

    def variant_at(self, x: Array) -> Variant:
        """Return the variant of the document at some unknowns."""
        return _edited(self, self.asked.edits([float(v) for v in x]))

    def predicted(self, x: Array) -> Array:
        """Return what was to be read, (m,), mm in the gauges' directions."""
        moved = self.at(x).moved
        out = np.array(
            [self.gauges[t.gauge].sign * moved[t.gauge, t.load] for t in self.readings.taken]
        )
        return np.asarray(out + self._zero_slopes() @ x)

    def jacobian(self, x: Array) -> Array:
        """Return how that changes with the unknowns, (m, n)."""
        slopes = self.at(x).slopes
        out = np.array(
            [self.gauges[t.gauge].sign * slopes[t.gauge, t.load] for t in self.readings.taken]
        )
        return np.asarray(out + self._zero_slopes())

    def _zero_slopes(self) -> Array:
        return np.array(
            [[float(t.gauge in u.gauges) for u in self.unknowns] for t in self.readings.taken]
        )


@dataclass(frozen=True, eq=False)
class _Solved:
    """One factorised frame, and its motions, (n, k + s): under loads, with supports moved."""

    mesh: Mesh
    held: Held
    load: Loads
    motions: Array
    blocks: Blocks


def _edited(rig: Rig, edits: dict[str, Value]) -> Variant:
    return replace(rig.variant, edits=tuple(sorted(edits.items())))


def _mesh(rig: Rig, x: Array) -> tuple[Frame, Mesh, list[Case]]:
    frame = frame_of(rig.setting, rig.variant_at(x))
    found = cases(rig.readings.setup, rig.gauges, rig.readings.loads, rig.readings.source)
    sheet = rig.setting.sheet_joints
    mesh = discretise(
        frame,
        places(frame, found[0]),
        sheet_joints=sheet,
        stiff_ends=stiff_ends(frame, found[0]) if sheet else frozenset(),
        coarse=rig.setting.coarse,
    )
    return frame, mesh, found


def _solved(rig: Rig, x: Array) -> _Solved:
    frame, mesh, found = _mesh(rig, x)
    # All read alike: the first reads for the rest.
    unread = [replace(case, reads=()) for case in found[1:]]
    load_sets = [loads(frame, mesh, case) for case in (found[0], *unread)]
    first, n, k, s = load_sets[0], mesh.n_freedoms, len(load_sets), len(SUPPORTS)
    values = np.zeros((first.rows.n_rows, k + s))
    values[:s, k:] = np.eye(s)
    force = np.zeros((n, k + s))
    force[:, :k] = np.stack([one.force for one in load_sets], axis=1)
    held = hold(system(mesh, rig.store), first.rows, values, rig.setting.backend)
    motions, _, _ = held.solve(force)
    u0, lifted = motions[:, :k], motions[:, k:]
    seen = sparse_rows(first.reads, n)
    blocks = Blocks(
        read=np.asarray(seen @ u0),
        lift=np.asarray(seen @ lifted),
        bear=-lifted.T @ force[:, :k],
        stiff=lifted.T @ held.system.structure.internal(lifted),
    )
    return _Solved(mesh, held, first, motions, blocks)


def _state(rig: Rig, x: Array) -> State:
    solved = _solved(rig, x)
    blocks = solved.blocks
    give = np.zeros(len(SUPPORTS))
    for unknown, value in zip(rig.unknowns, x, strict=True):
        for name in unknown.supports:
            give[SUPPORTS.index(name)] += value
    solver = np.linalg.inv(np.eye(len(give)) + give[:, None] * blocks.stiff)
    sunk = -solver @ (give[:, None] * blocks.bear)
    answers: Array | None = None
    slopes = np.zeros((*blocks.read.shape, len(x)))
    for k, unknown in enumerate(rig.unknowns):
        if unknown.structural:
            if answers is None and not rig.setting.sheet_joints:
                answers = _answers(solved)
            by = _slope(rig, x, k, solved, answers)
            more = -solver @ (give[:, None] * (by.stiff @ sunk + by.bear))
            slopes[..., k] = by.read + by.lift @ sunk + blocks.lift @ more
        elif unknown.supports:
            which = np.array([float(name in unknown.supports) for name in SUPPORTS])
            more = -solver @ (which[:, None] * (blocks.stiff @ sunk + blocks.bear))
            slopes[..., k] = blocks.lift @ more
    return State(blocks.read + blocks.lift @ sunk, slopes)


def _answers(solved: _Solved) -> Array:
    """Return the motions under unit forces where the gauges read, nothing imposed, (n, r)."""
    seen = sparse_rows(solved.load.reads, solved.mesh.n_freedoms).T.toarray()
    # Imposed motions go with as many columns as there were: one more than those keeps them out.
    other = np.zeros_like(seen, shape=(len(seen), solved.motions.shape[1] + 1))
    found, _, _ = solved.held.solve(np.hstack([seen, other]))
    return found[:, : seen.shape[1]]


def _slope(rig: Rig, x: Array, k: int, solved: _Solved, answers: Array | None) -> Blocks:
    """Return how the frame on rigid supports changes with one unknown of its document."""
    unknown = rig.unknowns[k]
    step = np.zeros(len(x))
    step[k] = unknown.scale * (STEP if answers is not None else STEP_SHEET)
    up, down = x + step, x - step
    if answers is None:  # sheet metal has steps too large to leave the bounds with
        up[k], down[k] = min(up[k], unknown.upper), max(down[k], unknown.lower)
    span = float(up[k] - down[k])
    if answers is not None:
        meshes = [_mesh(rig, at)[1] for at in (up, down)]
        if all(_same_form(solved.mesh, mesh) for mesh in meshes):
            by = _pushed(operator(meshes[0]), operator(meshes[1]), solved.motions, span)
            n_loads = solved.blocks.read.shape[1]
            u0, lifted = by[:, :n_loads], by[:, n_loads:]
            still = solved.motions[:, n_loads:]
            return Blocks(-answers.T @ u0, -answers.T @ lifted, still.T @ u0, still.T @ lifted)
    return _solved(rig, up).blocks.less(_solved(rig, down).blocks, span)


def _pushed(up: Operator, down: Operator, motions: Array, span: float) -> Array:
    """Return the change of stiffness per unknown, applied to motions, (n, columns)."""
    return (up.internal(motions) - down.internal(motions)) / span


def _same_form(one: Mesh, other: Mesh) -> bool:
    """Whether two meshes differ in stiffness alone: same nodes, ties and freedoms."""
    return (
        one.points.shape == other.points.shape
        and bool(np.allclose(one.points, other.points, rtol=0.0, atol=1e-9))
        and np.array_equal(one.elements.nodes, other.elements.nodes)
        and np.array_equal(one.slaves, other.slaves)
        and _same_rows(one.ties, other.ties)
    )


def _same_rows(one: Rows, other: Rows) -> bool:
    return (
        np.array_equal(one.row, other.row)
        and np.array_equal(one.freedom, other.freedom)
        and bool(np.allclose(one.coefficient, other.coefficient, rtol=0.0, atol=1e-12))
    )
