"""At how many times a load case a frame's members buckle, and which gives way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.analyse import solve
from fea.element.beam import E_AXIAL, N_FREEDOMS
from fea.errors import Complaint, SolveError
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.frame.spots import places
from fea.load import loads
from fea.mesh.discretise import discretise
from fea.mesh.mesh import Mesh
from fea.solve.buckling import Buckling, buckling
from fea.solve.system import hold, system

Array = NDArray[np.float64]

SETTLED, NEARLY = 1e-3, 1e-2
"""By how much the lowest factor, and those above it, may change when every element is halved."""

FINEST = 16
"""Elements per stretch beyond which no finer mesh is tried."""


@dataclass(frozen=True)
class Factor:
    """One factor on the load.

    `member` gives way, with `share` of the work of the axial forces in compression;
    `compression` is the largest in it under the case itself, N; `where` moves most.
    """

    factor: float
    member: str
    share: float
    compression: float
    where: str
    station: float
    residual: float


@dataclass(frozen=True, eq=False)
class FrameBuckling:
    """The lowest factors of a frame under a case.

    `refine` elements per stretch, and what halving them changed of the lowest factor.
    """

    frame: Frame
    case: Case
    factors: tuple[Factor, ...]
    refine: int
    change: float


def frame_buckling(frame: Frame, case: Case, count: int = 4) -> FrameBuckling:
    """Return the lowest factors at which a frame buckles under a case, by beam joints.

    Sheet metal that is condensed has no stiffness from axial forces: the joints go by their
    beam rules here.

    Raises
    ------
    SolveError
        If the factors do not settle as the mesh is refined.
    """
    wanted = places(frame, case)
    before: Array | None = None
    refine, change = 1, np.inf
    while True:
        mesh = discretise(frame, wanted, refine)
        found, forces = _factors(frame, mesh, case, count)
        if before is not None and len(before) == len(found.factor):
            moved = np.abs(found.factor / before - 1.0)
            change = float(moved[0]) if len(moved) else 0.0
            if change < SETTLED and float(np.max(moved, initial=0.0)) < NEARLY:
                break
        if refine >= FINEST:
            raise SolveError(
                Complaint(
                    "the factors must settle as the mesh is refined",
                    where=f"case {case.name}",
                    found=f"{100.0 * change:.2f} % at {refine} elements per stretch",
                    do="ask for fewer factors",
                )
            )
        before, refine = found.factor, 2 * refine
    rows = tuple(_row(mesh, found, forces, k) for k in range(len(found.factor)))
    return FrameBuckling(frame, case, rows, refine, change)


def _factors(frame: Frame, mesh: Mesh, case: Case, count: int) -> tuple[Buckling, Array]:
    load = loads(frame, mesh, case)
    answer = solve(mesh, [load])[0]
    held = hold(system(mesh), load.rows, load.values[:, None])
    return buckling(held, answer.forces, count), answer.forces


def _row(mesh: Mesh, found: Buckling, forces: Array, k: int) -> Factor:
    of = np.bincount(mesh.elements.member, found.work[k], len(mesh.members))
    of = np.maximum(of, 0.0)  # members in tension hold out: they give way in nothing
    member = int(np.argmax(of))
    mine = mesh.elements.member == member
    moved = np.linalg.norm(found.shape[:, k].reshape(-1, N_FREEDOMS)[:, :3], axis=1)
    node = int(np.argmax(moved))
    return Factor(
        factor=float(found.factor[k]),
        member=mesh.members[member],
        share=float(of[member] / of.sum()),
        compression=float(max(0.0, -forces[mine, E_AXIAL].min())),
        where=mesh.node_names[node],
        station=float(mesh.points[node, 0]),
        residual=float(found.residual[k]),
    )


def as_record(found: FrameBuckling) -> dict[str, object]:
    """Return the factors as plain data."""
    return {
        "frame": found.frame.name,
        "parts": list(found.frame.fitted),
        "case": found.case.name,
        "joints": "beam",
        "elements_per_stretch": found.refine,
        "change_by_last_refinement": found.change,
        "factors": [
            {
                "factor": f.factor,
                "member": f.member,
                "member_share": f.share,
                "compression_n": f.compression,
                "moves_most": f.where,
                "station_mm": f.station,
                "residual": f.residual,
            }
            for f in found.factors
        ],
    }
