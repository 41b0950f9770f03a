"""Vehicles for tests: the shipped frames with their bodies, solved in full or seen through ties.

Joints are taken by the beam rules, for speed.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
from handmade import case
from numpy.typing import NDArray

from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.element.beam import N_FREEDOMS
from fea.frame.build import build_frame
from fea.frame.model import Frame
from fea.frame.spots import places
from fea.frame.ties import candidates
from fea.load import loads
from fea.mesh.discretise import discretise
from fea.mesh.mesh import Mesh, arm_rows, stack_rows
from fea.solve.system import hold, system
from fea.study.ties import TieStudy, measured, meshed, prepare

Array = NDArray[np.float64]

VEHICLES = tuple((n, b) for n in ("harbour_tourer", "orchard_pickup") for b in ("open", "closed"))
CASES = (case("twist"), case("bending"))

MIRRORED = np.array([-1.0, 1.0, -1.0, 1.0, -1.0, 1.0])
"""Signs of force and moment on the left against those on the right, in twist."""


@cache
def vehicle(name: str, body: str) -> Frame:
    """Return a shipped frame with its body; frozen, so that tests may share it."""
    path = find_frame(name)
    return build_frame(read_frame(path), source=str(path), body=body)


@cache
def prepared(name: str, body: str) -> TieStudy:
    """Return a vehicle seen through its mounts and all candidate ties."""
    frame = vehicle(name, body)
    whole, mesh = meshed(frame, candidates(frame), CASES, sheet_joints=False)
    return prepare(whole, mesh, CASES)


def mesh_of(frame: Frame) -> Mesh:
    """Return the mesh with nodes where the cases need them."""
    wanted: dict[str, list[float]] = {}
    for one in CASES:
        for name, distances in places(frame, one).items():
            wanted.setdefault(name, []).extend(distances)
    return discretise(frame, wanted, sheet_joints=False)


def full(frame: Frame, mesh: Mesh) -> list[Array]:
    """Return the motions of both cases, each factorised afresh, (n_freedoms,)."""
    whole = system(mesh)
    out = []
    for one in CASES:
        load = loads(frame, mesh, one)
        u, _, _ = hold(whole, load.rows, load.values[:, None]).solve(load.force[:, None])
        out.append(u[:, 0])
    return out


def updated(study: TieStudy, rows: Array, stiffness: Array) -> list[Array]:
    """Return the same by low-rank update."""
    both = zip(study.seen, study.flexible, strict=True)
    return [seen.motion(rows, stiffness, flexible)[:, 0] for seen, flexible in both]


def figures(study: TieStudy, motions: Sequence[Array]) -> Array:
    """Return twist and bending stiffness of both cases' motions, (2,)."""
    return np.array([measured(study, k, u) for k, u in enumerate(motions)])


def gap(mine: Array, theirs: Array) -> float:
    """Return the largest difference over the largest motion of its kind."""
    a, b = (u.reshape(-1, N_FREEDOMS) for u in (mine, theirs))
    size = np.abs(b).max(axis=0)
    live = size > 0.0
    return float((np.abs(a - b)[:, live] / size[live]).max())


def glued(mesh: Mesh, pairs: Sequence[tuple[int, int]]) -> Mesh:
    """Return a mesh with nodes of bodies fixed to nodes of the frame: (body's, frame's)."""
    rows, slaves = [mesh.ties], [mesh.slaves]
    for body, frame in pairs:
        arm = mesh.points[body] - mesh.points[frame]
        rows.append(arm_rows(np.array([frame]), arm[None]))
        slaves.append(N_FREEDOMS * body + np.arange(6))
    return replace(mesh, ties=stack_rows(rows), slaves=np.concatenate(slaves))


def welded(frame: Frame, mesh: Mesh) -> Mesh:
    """Return a mesh with bodies and frame welded together at all mounts, none left a spring."""
    mounts = {(m.name, m.side): m for m in frame.mounts}
    pairs = [
        (at.node_of["mount", *key], mesh.node_at(mounts[key].onto, mounts[key].distance))
        for at in mesh.bodies
        for key in at.body.points
        if key in mounts
    ]
    return glued(mesh, pairs)


def called(body: str) -> str:
    """Return how a body is called in tables of energy."""
    return body if body.startswith("body") else f"body {body}"
