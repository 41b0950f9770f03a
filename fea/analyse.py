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
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.element import beam
from fea.errors import Complaint, SolveError
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.frame.spots import places, stiff_ends
from fea.load import Loads, loads, resultant
from fea.mesh.discretise import discretise
from fea.mesh.joints import Bound
from fea.mesh.mesh import Mesh
from fea.solve import assemble, constrain, factorise, mechanism
from fea.solve.operator import Recovered, operator

if TYPE_CHECKING:
    from fea.solve.condense import Metal, Store

Array = NDArray[np.float64]

REFINEMENTS = 1
"""Steps of iterative refinement, with residuals taken element by element: they win back what
short elements between long ones cost in the assembled matrix."""

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
    metal : the joints taken as sheet metal
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
    metal: tuple[Metal, ...] = ()


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

    Raises
    ------
    ModelError
        If a case asks for a place the frame does not have.
    SolveError
        If the frame is a mechanism, or a self-check fails.
    """
    wanted: dict[str, list[float]] = {}
    for case in cases:
        for name, distances in places(frame, case).items():
            wanted.setdefault(name, []).extend(distances)
    # A case answers alike alone and in company: only those that hold the same ends share a mesh.
    groups: dict[frozenset[tuple[str, str]], list[int]] = {}
    for k, case in enumerate(cases):
        ends = frozenset(stiff_ends(frame, case)) if sheet_joints else frozenset()
        groups.setdefault(ends, []).append(k)
    found: dict[int, Solution] = {}
    for ends, group in groups.items():
        mesh = discretise(
            frame, wanted, refine, joint_bound, sheet_joints=sheet_joints, stiff_ends=ends
        )
        load_sets = [loads(frame, mesh, cases[k]) for k in group]
        found.update(zip(group, solve(mesh, load_sets, backend=backend, store=store), strict=True))
    return Analysis(frame, tuple(cases), tuple(found[k] for k in range(len(cases))))


def solve(
    mesh: Mesh, load_sets: Sequence[Loads], *, backend: str = "auto", store: Store | None = None
) -> list[Solution]:
    """Return the solution of every set of loads; sets with equal supports share a factor.

    Parameters
    ----------
    store : Store, optional
        Where condensed sheet metal is kept; by default for this call only.

    Raises
    ------
    SolveError
        If something can move freely, or an answer fails its own checks.
    """
    metal = _metal(mesh, store)
    blocks = [(m.freedoms, m.stiffness) for m in metal]
    K = assemble.stiffness(mesh, blocks)
    structure = operator(mesh, blocks)
    links = constrain.links(mesh, K)
    K_links = sp.csr_array(links.matrix.T @ K @ links.matrix)
    solutions: dict[int, Solution] = {}
    for group in _same_supports(load_sets):
        support_rows = assemble.sparse_rows(load_sets[group[0]].rows, mesh.n_freedoms)
        rows = sp.csr_array(support_rows @ links.matrix)
        values = np.stack([load_sets[k].values for k in group], axis=1)
        held = constrain.supports(rows, values, K_links.diagonal())
        K_free = sp.csr_array(held.matrix.T @ K_links @ held.matrix)
        try:
            factor = factorise.factorise(K_free, backend)
        except factorise.NotDefiniteError:
            raise mechanism.explain(mesh, K_free, links, held) from None
        force = np.stack([load_sets[k].force for k in group], axis=1)
        f = links.matrix.T @ force
        motion, left = held.imposed, K_links @ held.imposed - f
        for _ in range(1 + REFINEMENTS):
            motion = motion - held.matrix @ factor.solve(held.matrix.T @ left)
            u = links.matrix @ motion
            left = links.matrix.T @ (structure.internal(u) - force)
        reactions = _reactions(rows, left)
        at_work = np.abs(f) + np.abs(rows.T @ reactions)
        at_work += ROUND_OFF * (abs(K_links) @ np.abs(motion))
        residual = _residual(K_links, left - rows.T @ reactions, at_work)
        found = structure.recover(u)
        for column, k in enumerate(group):
            solved = Solved(float(residual[column]), factor, K_free.shape[0], K, metal)
            solutions[k] = _finish(
                mesh, load_sets[k], (u[:, column], reactions[:, column]), (found, column), solved
            )
    return [solutions[k] for k in range(len(load_sets))]


def _metal(mesh: Mesh, store: Store | None) -> tuple[Metal, ...]:
    """Return the condensed sheet metal of a mesh's patches."""
    if not mesh.patches:
        return ()
    from fea.solve.condense import Memory, metals  # shells and all: only where needed

    return metals(mesh.patches, store or Memory())


def _same_supports(load_sets: Sequence[Loads]) -> list[list[int]]:
    """Group the load sets whose support rows are equal: they share a factorisation."""
    groups: dict[bytes, list[int]] = {}
    for k, item in enumerate(load_sets):
        rows = item.rows
        key = rows.row.tobytes() + rows.freedom.tobytes() + rows.coefficient.tobytes()
        groups.setdefault(key, []).append(k)
    return list(groups.values())


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


@dataclass(frozen=True)
class Solved:
    """How a set of loads was solved."""

    residual: float
    factor: factorise.Factor
    freedoms: int
    stiffness: sp.csr_array
    metal: tuple[Metal, ...]


def _finish(
    mesh: Mesh,
    loads: Loads,
    answer: tuple[Array, Array],
    recovered: tuple[Recovered, int],
    solved: Solved,
) -> Solution:
    """Gather one column of the answer and check the whole."""
    u, reactions = answer
    found, column = recovered
    deformations, forces = found.deformations[..., column], found.forces[..., column]
    spring_motion, spring_force = found.spring_motion[:, column], found.spring_force[:, column]
    held = loads.rows.transposed(reactions, mesh.n_freedoms)
    balance = loads.total + resultant(mesh.points, held)
    inside = ROUND_OFF * (abs(solved.stiffness) @ np.abs(u))
    gross = _gross(mesh.points, np.abs(loads.force) + np.abs(held) + inside)
    strain = 0.5 * float(np.sum(deformations * forces) + spring_motion @ spring_force)
    for piece in solved.metal:
        motion = u[piece.freedoms]
        strain += 0.5 * float(motion @ piece.stiffness @ motion)
    work = 0.5 * float(loads.force @ u + reactions @ loads.values)
    energy = max(abs(work), abs(strain), float(inside @ np.abs(u)))
    checks = Checks(
        residual=solved.residual,
        force_balance=_relative(np.linalg.norm(balance[:3]), gross[0]),
        moment_balance=_relative(np.linalg.norm(balance[3:]), gross[1]),
        energy_balance=_relative(abs(work - strain), energy),
        backend=solved.factor.backend,
        freedoms=solved.freedoms,
        pivot=solved.factor.pivot,
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
        metal=solved.metal,
    )


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
