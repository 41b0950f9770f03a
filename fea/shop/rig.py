"""A frame off its wheels: places on its members as rows, and just enough to hold it by.

A frame on stands or in clamps is a free body: what holds it does so by chosen places, and
whatever they leave free takes the few rows more that make it stay.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution, solve
from fea.element.beam import N_FREEDOMS
from fea.errors import Complaint, ModelError
from fea.frame import path
from fea.frame.model import Frame
from fea.load import Loads, resultant
from fea.mesh.mesh import Mesh, Rows, arm_motion, empty_rows, stack_rows
from fea.solve.system import System

Array = NDArray[np.float64]

ENOUGH = 1e-8
"""A row whose rigid motion is this small beside the others' adds nothing to what holds."""


@dataclass(frozen=True)
class At:
    """A place on a member: distance along its path, and the point itself, mm."""

    member: str
    distance: float
    point: tuple[float, float, float]


@dataclass(frozen=True)
class Grip:
    """A motion that a clamp takes hold of: the sum of movements of places along directions.

    One place and a direction is a jack or a clamp; two places with opposite directions are a
    chain or a screw between them, its motion how much longer it gets.
    """

    words: str
    ends: tuple[tuple[At, tuple[float, float, float]], ...]


def at(frame: Frame, member: str, distance: float) -> At:
    """Return a place on a member."""
    x, y, z = path.point_at(frame.member(member).path, distance).tolist()
    return At(member, float(distance), (x, y, z))


def on_rails(frame: Frame, station: float) -> tuple[At, At]:
    """Return the places at a station of the right and the left rail.

    Raises
    ------
    ModelError
        If there are no two rails there.
    """
    found: dict[str, At] = {}
    for m in frame.members:
        inside = m.path[0, 0] - 1e-6 <= station <= m.path[-1, 0] + 1e-6
        if m.kind == "rail" and inside:
            found.setdefault(m.side, at(frame, m.name, path.distance_at_station(m.path, station)))
    if not {"right", "left"} <= found.keys():
        rule = "there must be a right and a left rail at every station asked for"
        raise ModelError(Complaint(rule, frame.source, f"station {station:g} mm"))
    return found["right"], found["left"]


def places(ends: Sequence[At]) -> dict[str, list[float]]:
    """Return where places need nodes, as :func:`fea.mesh.discretise.discretise` takes it."""
    wanted: dict[str, list[float]] = {}
    for a in ends:
        wanted.setdefault(a.member, []).append(a.distance)
    return wanted


def both(
    first: Mapping[str, list[float]], second: Mapping[str, list[float]]
) -> dict[str, list[float]]:
    """Return two sets of places together."""
    names = [*first, *(n for n in second if n not in first)]
    return {n: [*first.get(n, ()), *second.get(n, ())] for n in names}


def grip_rows(mesh: Mesh, grips: Sequence[Grip]) -> Rows:
    """Return one row per grip over the freedoms of a mesh."""
    row, freedom, value = [], [], []
    for k, grip in enumerate(grips):
        for place, direction in grip.ends:
            node = mesh.node_at(place.member, place.distance)
            arm = np.asarray(place.point) - mesh.points[node]
            for axis, share in enumerate(direction):
                if share != 0.0:
                    for number, part in arm_motion(node, arm, axis):
                        row.append(k)
                        freedom.append(number)
                        value.append(share * part)
    return Rows(
        np.array(row, dtype=np.intp), np.array(freedom, dtype=np.intp), np.array(value), len(grips)
    )


def point_reads(points: Sequence[At]) -> list[Grip]:
    """Return the movements of n places along the three axes, 3 n of them."""
    axes = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    return [Grip(a.member, ((a, axis),)) for a in points for axis in axes]


def moved(rows: Rows, u: Array) -> Array:
    """Return what motions (n_freedoms, ...) give on rows, (m, ...)."""
    out = np.zeros((rows.n_rows, *u.shape[1:]))
    weight = rows.coefficient.reshape(-1, *(1 for _ in u.shape[1:]))
    np.add.at(out, rows.row, weight * u[rows.freedom])
    return out


def rigid_motions(mesh: Mesh) -> Array:
    """Return the six motions of a mesh as a rigid body, (n_freedoms, 6), all of one size."""
    centre = mesh.points.mean(axis=0)
    span = float(np.ptp(mesh.points, axis=0).max())
    motions = np.zeros((len(mesh.points), N_FREEDOMS, 6))
    for c in range(3):
        turn = np.eye(3)[c] / span
        motions[:, c, c] = 1.0
        motions[:, :3, 3 + c] = np.cross(turn, mesh.points - centre)
        motions[:, 3:6, 3 + c] = turn
    return motions.reshape(-1, 6)


def steadied(mesh: Mesh, rows: Rows) -> Rows:
    """Return the fewest further rows that leave a mesh held by `rows` no rigid motion.

    They bear nothing as long as the loads balance along them: they only say where it stays.
    """
    motions = rigid_motions(mesh)
    basis = _basis(moved(rows, motions)) if rows.n_rows else np.zeros((0, 6))
    nodes = _far_apart(mesh)
    chosen: list[int] = []
    candidates = [N_FREEDOMS * n + c for n in nodes for c in range(3)]
    # Shares of a rotation about a frame's own axis are small: the largest goes first.
    while len(basis) < 6:
        left = motions[candidates] - motions[candidates] @ basis.T @ basis
        best = int(np.argmax(np.linalg.norm(left, axis=1)))
        size = float(np.linalg.norm(left[best]))
        if size < ENOUGH:
            candidates = [N_FREEDOMS * n + c for n in nodes for c in range(6)]
            continue
        chosen.append(candidates[best])
        basis = np.vstack([basis, left[best] / size])
    number = np.array(chosen, dtype=np.intp)
    return Rows(np.arange(len(number), dtype=np.intp), number, np.ones(len(number)), len(number))


def _basis(rows: Array) -> Array:
    """Return an orthonormal basis of what rows (m, 6) hold, (r, 6)."""
    _, size, basis = np.linalg.svd(rows, full_matrices=False)
    return np.asarray(basis[size > ENOUGH * max(1.0, float(size.max(initial=0.0)))])


def _far_apart(mesh: Mesh) -> list[int]:
    """Return nodes at the corners of a mesh, seen from above."""
    x, y = mesh.points[:, 0], mesh.points[:, 1]
    wide = float(np.ptp(x)) / max(float(np.ptp(y)), 1.0)
    return sorted({int(np.argmax(a * x + b * wide * y)) for a in (1, -1) for b in (1, -1)})


def push(whole: System, force: Array, name: str) -> Solution:
    """Return the answer of a free frame to forces (n_freedoms,) that balance each other."""
    mesh = whole.mesh
    rows = steadied(mesh, empty_rows())
    return solve(whole, [_loads(mesh, rows, np.zeros(rows.n_rows), force, name)])[0]


def force_to(
    whole: System, grips: Sequence[Grip], motions: Array, name: str
) -> tuple[Solution, Array]:
    """Return the answer of a free frame to grips moved by `motions` (m,), and their forces, N."""
    mesh = whole.mesh
    rows = grip_rows(mesh, grips)
    more = steadied(mesh, rows)
    values = np.append(motions, np.zeros(more.n_rows))
    loads = _loads(mesh, stack_rows([rows, more]), values, np.zeros(mesh.n_freedoms), name)
    (solution,) = solve(whole, [loads])
    return solution, solution.reactions[: rows.n_rows]


def _loads(mesh: Mesh, rows: Rows, values: Array, force: Array, name: str) -> Loads:
    return Loads(
        name=name,
        rows=rows,
        values=values,
        labels=tuple("" for _ in range(rows.n_rows)),
        force=force,
        element_load=np.zeros((len(mesh.elements.nodes), 6)),
        total=resultant(mesh.points, force),
    )
