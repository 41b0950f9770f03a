"""The main path on one page: a frame and its load cases in, solutions out.

``analyse`` meshes the frame with nodes where the cases need them, assembles once,
factorises once per set of supports, solves all cases of that set together, and checks
every answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.element import beam
from fea.errors import Complaint, SolveError
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.frame.spots import all_places, stiff_ends
from fea.load import Loads, resultant
from fea.mesh.discretise import discretise
from fea.mesh.joints import Bound
from fea.mesh.mesh import Mesh
from fea.road.bumps import UNIT, needs_twist, twist_case, with_twist
from fea.road.cases import case_loads
from fea.solve.operator import Recovered
from fea.solve.system import Block, Held, System, hold, same_supports, system

if TYPE_CHECKING:
    import scipy.sparse as sp

    from fea.solve.condense import Metal, Store

Array = NDArray[np.float64]

ROUND_OFF = 1e-9
"""Forces this much smaller than those inside the frame (|K| |u|) count as nothing in a check:
where only supports move, and nothing bends, loads and reactions are round-off themselves."""

CHECK_LIMIT = 1e-6
"""A result whose self-check is worse than this is refused."""


@dataclass(frozen=True)
class Checks:
    """What every solution says of itself; all are relative, near round-off when well.

    `residual`: forces left over at the free freedoms (each scaled by the square root of
    its stiffness, so that N, N mm and bimoments weigh alike).  `force_balance`,
    `moment_balance`: loads and reactions together.  `energy_balance`: work of the loads
    against the strain energy recovered element by element.
    """

    residual: float
    force_balance: float
    moment_balance: float
    energy_balance: float
    backend: str
    freedoms: int
    pivot: float


@dataclass(frozen=True, eq=False)
class Solution:
    """The answer of a mesh to one set of loads.

    Attributes
    ----------
    u : (n_freedoms,), mm, rad and 1/mm
    reactions : (m,), N, one per support row, in the sense of the row's motion
    deformations : (n_elements, 8); forces : (n_elements, 8), conjugate to them
    spring_motion, spring_force : (n_springs,)
    system : what was solved
    held : the same with its supports, factorised; None for a mode of vibration
    """

    mesh: Mesh
    loads: Loads
    u: Array
    reactions: Array
    deformations: Array
    forces: Array
    spring_motion: Array
    spring_force: Array
    checks: Checks
    system: System
    held: Held | None = None

    @property
    def metal(self) -> tuple[Metal, ...]:
        """The joints taken as sheet metal."""
        return self.system.metal

    @property
    def bodies(self) -> tuple[Block, ...]:
        """The bodies on the frame, condensed."""
        return self.system.bodies


@dataclass(frozen=True, eq=False)
class Analysis:
    """A frame with its cases solved, each on the mesh of its solution."""

    frame: Frame
    cases: tuple[Case, ...]
    solutions: tuple[Solution, ...]

    @property
    def mesh(self) -> Mesh:
        """The mesh of the first case; that of all unless they hold different ends in metal."""
        return self.solutions[0].mesh


def analyse(
    frame: Frame,
    cases: Sequence[Case],
    *,
    refine: int = 1,
    backend: str = "auto",
    joint_bound: Bound = "rule",
    sheet_joints: bool = False,
    store: Store | None = None,
    coarse: float = 1.0,
) -> Analysis:
    """Return the solutions of all cases of a frame.

    Parameters
    ----------
    frame : Frame
    cases : sequence of Case
    refine : int
        Elements per stretch; 1 is exact for these loads.
    backend : str
        See :func:`fea.solve.factorise.factorise`.
    joint_bound : "rule", "soft" or "stiff"
    sheet_joints : bool
        Take joints, plate ends and kinks as sheet metal instead of by beam rules.  Where a
        case takes hold of a whole cross-section at a rail's end, that end keeps its shape.
    store : Store, optional
        Where condensed sheet metal is kept; by default for this call only.
    coarse : float
        How many times as large the sheet metal's quadrilaterals are as usual; for studies.

    Raises
    ------
    ModelError
        If a case asks for a place the frame does not have.
    SolveError
        If the frame is a mechanism, or a self-check fails.
    """
    measured = needs_twist(cases)
    wanted = all_places(frame, (*cases, *([twist_case()] if measured else [])))
    # A case answers alike alone and in company: only those that hold the same ends share a mesh.
    groups: dict[frozenset[tuple[str, str]], list[int]] = {}
    for k, case in enumerate(cases):
        ends = frozenset(stiff_ends(frame, case)) if sheet_joints else frozenset()
        groups.setdefault(ends, []).append(k)
    found: dict[int, Solution] = {}
    for ends, group in groups.items():
        mesh = discretise(
            frame,
            wanted,
            refine,
            joint_bound,
            sheet_joints=sheet_joints,
            stiff_ends=ends,
            coarse=coarse,
        )
        whole = system(mesh, store)
        here = [cases[k] for k in group]
        if measured:  # a bump sees the frame's own twist
            (twisted,) = solve(whole, [case_loads(frame, mesh, twist_case())], backend=backend)
            here = with_twist(here, UNIT**2 / float(twisted.loads.force @ twisted.u))
        load_sets = [case_loads(frame, mesh, case) for case in here]
        found.update(zip(group, solve(whole, load_sets, backend=backend), strict=True))
    return Analysis(frame, tuple(cases), tuple(found[k] for k in range(len(cases))))


def solve(
    mesh: Mesh | System,
    load_sets: Sequence[Loads],
    *,
    backend: str = "auto",
    store: Store | None = None,
) -> list[Solution]:
    """Return the solution of every set of loads; sets with equal supports share a factor.

    Parameters
    ----------
    mesh : Mesh or System
        What is loaded; assembled here unless it is already.
    store : Store, optional
        Where condensed sheet metal is kept; by default for this call only.

    Raises
    ------
    SolveError
        If something can move freely, or an answer fails its own checks.
    """
    whole = mesh if isinstance(mesh, System) else system(mesh, store)
    solutions: dict[int, Solution] = {}
    for group in same_supports([item.rows for item in load_sets]):
        values = np.stack([load_sets[k].values for k in group], axis=1)
        held = hold(whole, load_sets[group[0]].rows, values, backend)
        force = np.stack([load_sets[k].force for k in group], axis=1)
        u, motion, left = held.solve(force)
        reactions = _reactions(held.rows, left)
        at_work = np.abs(whole.links.matrix.T @ force) + np.abs(held.rows.T @ reactions)
        at_work += ROUND_OFF * (abs(whole.K_links) @ np.abs(motion))
        residual = _residual(whole.K_links, left - held.rows.T @ reactions, at_work)
        found = whole.structure.recover(u)
        for column, k in enumerate(group):
            solutions[k] = _finish(
                held,
                load_sets[k],
                (u[:, column], reactions[:, column], float(residual[column])),
                (found, column),
            )
    return [solutions[k] for k in range(len(load_sets))]


def _reactions(rows: sp.csr_array, left: Array) -> Array:
    """Return the forces on the support rows that best balance what is left over."""
    touched = np.unique(rows.indices)
    dense = rows[:, touched].toarray().T
    return np.asarray(np.linalg.lstsq(dense, left[touched], rcond=1e-12)[0])


def _residual(K: sp.csr_array, left: Array, at_work: Array) -> Array:
    """Return per column what is out of balance, over the forces at work."""
    diagonal = K.diagonal()
    scale = (1.0 / np.sqrt(np.where(diagonal > 0.0, diagonal, 1.0)))[:, None]
    size = np.linalg.norm(scale * at_work, axis=0)
    error = np.linalg.norm(scale * left, axis=0)
    return np.asarray(np.where(size > 0.0, error / np.where(size > 0.0, size, 1.0), error))


def _finish(
    whole: Held,
    loads: Loads,
    answer: tuple[Array, Array, float],
    recovered: tuple[Recovered, int],
) -> Solution:
    """Gather one column of the answer and check the whole."""
    u, reactions, residual = answer
    mesh = whole.system.mesh
    found, column = recovered
    deformations, forces = found.deformations[..., column], found.forces[..., column]
    spring_motion, spring_force = found.spring_motion[:, column], found.spring_force[:, column]
    held = loads.rows.transposed(reactions, mesh.n_freedoms)
    balance = loads.total + resultant(mesh.points, held)
    inside = ROUND_OFF * (abs(whole.system.K) @ np.abs(u))
    gross = _gross(mesh.points, np.abs(loads.force) + np.abs(held) + inside)
    strain = 0.5 * float(np.sum(deformations * forces) + spring_motion @ spring_force)
    for freedoms, block in whole.system.structure.blocks_at:
        strain += 0.5 * float(u[freedoms] @ block @ u[freedoms])
    work = 0.5 * float(loads.force @ u + reactions @ loads.values)
    nothing = max(float(inside @ np.abs(u)), ROUND_OFF * _alone(whole, loads))
    energy = max(abs(work), abs(strain), nothing)
    checks = Checks(
        residual=residual,
        force_balance=_relative(np.linalg.norm(balance[:3]), gross[0]),
        moment_balance=_relative(np.linalg.norm(balance[3:]), gross[1]),
        energy_balance=_relative(abs(work - strain), energy),
        backend=whole.factor.backend,
        freedoms=whole.K.shape[0],
        pivot=whole.factor.pivot,
    )
    worst = max(checks.residual, checks.force_balance, checks.moment_balance, checks.energy_balance)
    if not worst < CHECK_LIMIT:
        raise SolveError(
            Complaint(
                "the answer does not pass its own checks and is withheld",
                where=loads.name,
                found=f"worst relative error {worst:.1e}, limit {CHECK_LIMIT:.0e}",
                do="look for members far stiffer, longer or thinner than the rest",
            )
        )
    return Solution(
        mesh=mesh,
        loads=loads,
        u=u,
        reactions=reactions,
        deformations=deformations,
        forces=forces,
        spring_motion=spring_motion,
        spring_force=spring_force,
        checks=checks,
        system=whole.system,
        held=whole,
    )


def _alone(whole: Held, loads: Loads) -> float:
    """Return the work of the loads if each freedom bore its own by itself.

    Where all of them bear on supports nothing moves but by round-off, and work and strain
    energy are round-off both: this is what they are small beside.
    """
    diagonal = whole.system.K.diagonal()
    on = diagonal > 0.0
    return float(np.sum(loads.force[on] ** 2 / diagonal[on]))


def _gross(points: Array, force: Array) -> tuple[float, float]:
    """Return the size of all forces, and of their moments, signs dropped.

    Moments count as forces at the frame's span and forces as moments at it, so that a
    frame loaded by couples alone has a size to compare round-off with.
    """
    each = force.reshape(-1, beam.N_FREEDOMS)
    span = float(np.max(np.ptp(points, axis=0)))
    forces, moments = float(each[:, :3].sum()), float(each[:, 3:6].sum())
    return forces + moments / span, moments + forces * span


def _relative(error: np.floating | float, size: float) -> float:
    return float(error / size) if size > 0.0 else float(error)
