"""The modes of a frame: meshed finely enough, named, and said where they move most."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Checks, Solution
from fea.element.beam import N_FREEDOMS
from fea.errors import Complaint, ModelError, SolveError
from fea.frame.case import Case, Weight
from fea.frame.model import Axle, Frame
from fea.frame.spots import all_places, stiff_ends
from fea.load import Loads, loads
from fea.mesh.discretise import discretise
from fea.mesh.mesh import Mesh, Rows, arm_rows, empty_rows, stack_rows
from fea.result import mode_names
from fea.result.mass import MassSummary, masses
from fea.solve.carried import lumps, total
from fea.solve.inertia import Inertia, inertia
from fea.solve.modes import Ground, Modes, modes
from fea.solve.system import System, system

if TYPE_CHECKING:
    from fea.solve.condense import Store

Array = NDArray[np.float64]
Standing = Literal["free", "springs", "case"]

SETTLED = 1e-3
"""Frequencies that change by less than this when every element is halved are settled."""

FINEST = 16
"""Elements per stretch beyond which no finer mesh is tried."""


@dataclass(frozen=True, eq=False)
class Mode:
    """One mode.

    Attributes
    ----------
    frequency : Hz
    name : in words; where : the node that moves most, in words
    parts : shares of the rails' motion, empty without two rails
    metal : share of the kinetic energy in the frame's metal; the rest is in what it carries
    residual : forces out of balance over the inertia forces
    """

    frequency: float
    name: str
    where: str
    station: float
    parts: dict[str, float]
    metal: float
    residual: float


@dataclass(frozen=True, eq=False)
class FrameModes:
    """The modes of a frame.

    Attributes
    ----------
    standing : "free", "springs" or "case"
    n_rigid : motions that cost nothing, left out
    refine, change : elements per stretch, and what halving them changed at most
    metal, carried : tonne, as in the model; summary : the frame's own bookkeeping
    """

    frame: Frame
    standing: Standing
    modes: tuple[Mode, ...]
    n_rigid: int
    refine: int
    change: float
    metal: float
    carried: float
    summary: MassSummary
    whole: System
    mass: Inertia
    raw: Modes

    @property
    def mesh(self) -> Mesh:
        """The mesh they are of."""
        return self.whole.mesh


def frame_modes(
    frame: Frame,
    count: int = 8,
    *,
    standing: Standing = "free",
    case: Case | None = None,
    laden: bool = False,
    bare: bool = False,
    sheet_joints: bool = False,
    store: Store | None = None,
    settled: float = SETTLED,
) -> FrameModes:
    """Return the lowest modes of a frame, refined until they have settled.

    Parameters
    ----------
    standing : "free" hangs in nothing, "springs" stands on its axles' springs, "case" is
        held as a load case holds it
    case : with "case"
    laden : count people and payload
    bare : leave out all the frame carries

    Raises
    ------
    ModelError
        If it has no springs to stand on, or the case does not fit it.
    SolveError
        If the modes do not settle, or one does not pass its check.
    """
    carry = Case("modes", "", "", "none", (), weight=Weight(1.0, not bare, laden))
    asked = [carry] if case is None else [carry, case]
    wanted = all_places(frame, asked)
    ends = frozenset(stiff_ends(frame, case)) if case and sheet_joints else frozenset()
    before: Modes | None = None
    refine, change = 1, np.inf
    while True:
        mesh = discretise(frame, wanted, refine, sheet_joints=sheet_joints, stiff_ends=ends)
        whole = system(mesh, store)
        mass = inertia(whole, frame, () if bare else lumps(frame, mesh, laden=laden))
        held = loads(frame, mesh, case).rows if case is not None else None
        ground = springs(frame, mesh) if standing == "springs" else None
        found = modes(whole, mass, count, held=held, ground=ground)
        if before is not None:
            change = float(np.max(np.abs(found.frequency / before.frequency - 1.0)))
            if change < settled:
                return _answer(frame, standing, (whole, mass, found), refine, change)
        if refine >= FINEST:
            raise _unsettled(change, refine)
        before, refine = found, 2 * refine


def _unsettled(change: float, refine: int) -> SolveError:
    return SolveError(
        Complaint(
            "the frequencies must settle as the mesh is refined",
            found=f"{100.0 * change:.3g} % at {refine} elements per stretch",
            do="ask for fewer modes",
        )
    )


def _answer(
    frame: Frame,
    standing: Standing,
    solved: tuple[System, Inertia, Modes],
    refine: int,
    change: float,
) -> FrameModes:
    """Return the modes with their names and the masses in the model."""
    whole, mass, found = solved
    move = np.zeros(whole.mesh.n_freedoms)
    move[2::N_FREEDOMS] = 1.0
    load = total(mass.lumps)
    return FrameModes(
        frame=frame,
        standing=standing,
        modes=_named(frame, whole.mesh, mass, found),
        n_rigid=found.n_rigid,
        refine=refine,
        change=change,
        metal=float(move @ (mass.M @ move)) - load,
        carried=load,
        summary=masses(frame),
        whole=whole,
        mass=mass,
        raw=found,
    )


def _named(frame: Frame, mesh: Mesh, mass: Inertia, found: Modes) -> tuple[Mode, ...]:
    shapes = found.shape.T
    what = [mode_names.character(frame, mesh, mass, u) for u in shapes]
    out = []
    rows = zip(found.frequency, mode_names.names(what), shapes, found.residual, strict=True)
    for frequency, name, u, residual in rows:
        metal, carried = mass.shares(mesh, u)
        moved = np.linalg.norm(u.reshape(-1, N_FREEDOMS)[:, :3], axis=1)
        node = int(np.argmax(moved))
        steel = sum(metal.values())
        out.append(
            Mode(
                frequency=float(frequency),
                name=name,
                where=mesh.node_names[node],
                station=float(mesh.points[node, 0]),
                parts=mode_names.participation(frame, mesh, u),
                metal=steel / (steel + sum(carried.values())),
                residual=float(residual),
            )
        )
    return tuple(out)


def springs(frame: Frame, mesh: Mesh) -> Ground:
    """Return the axles' springs between a frame and wheels that stand still.

    One a side, upright, on the mean of that side's seats in their shares; an anti-roll bar
    resists the difference of the two.  Fore and aft, sideways and in yaw the frame is free.

    Raises
    ------
    ModelError
        If an axle has no spring rate.
    """
    rows: list[Rows] = []
    stiffness: list[float] = []
    soft = [a.name for a in frame.axles if not a.spring_rate > 0.0]
    if soft or not frame.axles:
        raise ModelError(
            Complaint(
                "to stand on its springs a frame needs axles with spring rates",
                where=frame.source,
                found=", ".join(f"no spring_rate of the {n} axle" for n in soft) or "no axle",
                do='add such as spring_rate = "45 N/mm" to [axle.front] and [axle.rear]',
            )
        )
    for axle in frame.axles:
        sides = {side: _side(mesh, axle, side) for side in ("right", "left", "centre")}
        for own in sides.values():
            if own.n_rows:
                rows.append(own)
                stiffness.append(axle.spring_rate)
        if axle.bar_rate > 0.0 and axle.spring_base > 0.0:
            right, left = sides["right"], sides["left"]
            rows.append(
                Rows(
                    np.concatenate([right.row, left.row]),
                    np.concatenate([right.freedom, left.freedom]),
                    np.concatenate([right.coefficient, -left.coefficient]) / axle.spring_base,
                    1,
                )
            )
            stiffness.append(axle.bar_rate)
    return Ground(stack_rows(rows), np.array(stiffness))


def _side(mesh: Mesh, axle: Axle, side: str) -> Rows:
    """Return one row: the mean height of a side's seats in their shares."""
    seats = [s for s in axle.seats if s.side == side]
    if not seats:
        return empty_rows()
    nodes = np.array([mesh.node_at(s.onto, s.distance) for s in seats], dtype=np.intp)
    ends = arm_rows(nodes, np.array([s.position for s in seats]) - mesh.points[nodes])
    share = np.array([s.share for s in seats]) / sum(s.share for s in seats)
    up = ends.row % 6 == 2
    value = share[ends.row[up] // 6] * ends.coefficient[up]
    return Rows(np.zeros(int(up.sum()), dtype=np.intp), ends.freedom[up], value, 1)


def solutions(found: FrameModes) -> list[Solution]:
    """Return every mode as a solution without loads, for what draws and recovers those."""
    return [_solution(found, k) for k in range(len(found.modes))]


def _solution(found: FrameModes, number: int) -> Solution:
    mesh, u = found.mesh, found.raw.shape[:, number]
    parts = found.whole.structure.recover(u[:, None])
    none = np.zeros(0)
    idle = Loads(
        name=found.modes[number].name,
        rows=empty_rows(),
        values=none,
        labels=(),
        force=np.zeros(mesh.n_freedoms),
        element_load=np.zeros((len(mesh.elements.nodes), 6)),
        total=np.zeros(6),
    )
    residual = float(found.raw.residual[number])
    return Solution(
        mesh=mesh,
        loads=idle,
        u=u,
        reactions=none,
        deformations=parts.deformations[..., 0],
        forces=parts.forces[..., 0],
        spring_motion=parts.spring_motion[:, 0],
        spring_force=parts.spring_force[:, 0],
        checks=Checks(residual, 0.0, 0.0, 0.0, "modes", mesh.n_freedoms, 0.0),
        system=found.whole,
    )


def as_record(found: FrameModes) -> dict[str, object]:
    """Return the modes as plain data."""
    return {
        "frame": found.frame.name,
        "parts": list(found.frame.fitted),
        "standing": found.standing,
        "rigid_modes_left_out": found.n_rigid,
        "elements_per_stretch": found.refine,
        "change_by_last_refinement": found.change,
        "metal_kg": 1e3 * found.metal,
        "carried_kg": 1e3 * found.carried,
        "modes": [_record(k, m) for k, m in enumerate(found.modes, start=1)],
    }


def _record(number: int, mode: Mode) -> dict[str, object]:
    return {
        "number": number,
        "frequency_hz": mode.frequency,
        "name": mode.name,
        "moves_most": mode.where,
        "station_mm": mode.station,
        "rails": mode.parts,
        "kinetic_energy_in_metal": mode.metal,
        "residual": mode.residual,
    }
