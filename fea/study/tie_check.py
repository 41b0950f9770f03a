"""Every candidate tie solved afresh, to hold the low-rank updates against."""

from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import N_FREEDOMS
from fea.frame.model import Frame
from fea.frame.mounts import with_grade
from fea.frame.spots import all_places
from fea.load import loads
from fea.mesh.discretise import discretise
from fea.mesh.mesh import Mesh
from fea.solve.condense import Store
from fea.solve.system import hold, system
from fea.study.ties import TieStudy, measured, prepare, solved

Array = NDArray[np.float64]


@dataclass(frozen=True)
class TieCheck:
    """How far updates lie from full solves, and how long the study took beside two of these.

    Attributes
    ----------
    motions : largest difference of a motion, over the largest motion of its kind
    stiffness : largest relative difference of a twist or bending stiffness
    effect : the same over what the tie changes
    solved : how many vehicles were solved afresh
    study_seconds, two_solves_seconds : best of three each, meshing apart
    """

    motions: float
    stiffness: float
    effect: float
    solved: int
    study_seconds: float
    two_solves_seconds: float

    @property
    def worst(self) -> float:
        """The larger of the two differences."""
        return max(self.motions, self.stiffness)

    @property
    def time_ratio(self) -> float:
        """The study's time over that of two full solves."""
        return self.study_seconds / self.two_solves_seconds


def check(vehicle: TieStudy, *, sheet_joints: bool, store: Store | None = None) -> TieCheck:
    """Solve every candidate with every grade in full and compare."""
    motions, stiffness, effect, count = [0.0], [0.0], [0.0], 0
    for grade in vehicle.grades:
        mounts = vehicle.frame.mounts
        if grade.name != "as fitted":
            mounts = with_grade(vehicle.frame, grade.name).mounts
        for candidate, outcome in zip(vehicle.candidates, grade.outcomes, strict=True):
            ties = tuple(
                replace(t, fitted=t.fitted or t in candidate.ties) for t in vehicle.frame.ties
            )
            fresh = replace(vehicle.frame, mounts=mounts, ties=ties)
            mesh = _same_mesh(fresh, vehicle, sheet_joints=sheet_joints)
            rows, k = vehicle.springs(grade.extra, [candidate])
            figures = []
            for number, u in enumerate(_full(fresh, mesh, vehicle, store)):
                mine = vehicle.seen[number].motion(rows, k, vehicle.flexible[number])[:, 0]
                motions.append(_difference(mine, u))
                figures.append(measured(vehicle, number, u))
            pairs = (
                (outcome.vehicle.twist, figures[0], grade.bare.twist),
                (outcome.vehicle.bending, figures[1], grade.bare.bending),
            )
            stiffness += [abs(mine / full - 1.0) for mine, full, _ in pairs]
            effect += [
                abs(mine - full) / abs(full - bare)
                for mine, full, bare in pairs
                if abs(full - bare) > 1e-6 * bare
            ]
            count += 1
    study_time, solve_time = _times(vehicle, store)
    return TieCheck(max(motions), max(stiffness), max(effect), count, study_time, solve_time)


def _same_mesh(fresh: Frame, vehicle: TieStudy, *, sheet_joints: bool) -> Mesh:
    wanted = all_places(fresh, vehicle.cases)
    return discretise(fresh, wanted, sheet_joints=sheet_joints)


def _full(frame: Frame, mesh: Mesh, vehicle: TieStudy, store: Store | None) -> list[Array]:
    """Return the motions of both cases, each solved in full."""
    whole = system(mesh, store)
    out = []
    for case in vehicle.cases:
        load = loads(frame, mesh, case)
        u, _, _ = hold(whole, load.rows, load.values[:, None]).solve(load.force[:, None])
        out.append(u[:, 0])
    return out


def _difference(mine: Array, full: Array) -> float:
    """Return the largest difference over the largest motion of its kind."""
    ours, theirs = (u.reshape(-1, N_FREEDOMS) for u in (mine, full))
    size = np.abs(theirs).max(axis=0)
    live = size > 0.0
    return float((np.abs(ours - theirs)[:, live] / size[live]).max())


def _times(vehicle: TieStudy, store: Store | None) -> tuple[float, float]:
    """Return the times of the study and of two full solves, s; meshing apart from both."""
    grades = [g.name for g in vehicle.grades]
    study, solves = [], []
    for _ in range(3):
        start = perf_counter()
        solved(prepare(vehicle.frame, vehicle.mesh, vehicle.cases, store), grades)
        study.append(perf_counter() - start)
        start = perf_counter()
        for _ in range(2):
            _full(vehicle.frame, vehicle.mesh, vehicle, store)
        solves.append(perf_counter() - start)
    return min(study), min(solves)
