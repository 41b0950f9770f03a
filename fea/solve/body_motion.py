"""How a whole body moves, from how the points move where the frame holds it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import cross_matrix
from fea.frame.body import Body, Tie
from fea.mesh.body import N_FREEDOMS, BodyMesh, Label, beam_gap, body_mesh
from fea.solve.body import BodyStiffness, body_stiffness

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class BodyMotion:
    """A body's nodes and their motions, (n, 6), mm and rad.

    Where only panels meet, at a corner that no beam reaches, a node has the mean movement
    of its panels' other corners, and no rotation.
    """

    mesh: BodyMesh
    motions: Array


@dataclass(frozen=True, eq=False)
class BodyRecovery:
    """How all of a body moves with what holds it.

    Attributes
    ----------
    matrix : (6n, 6k), motions of its nodes under unit motions of k points that hold it
    beam_names : of which beam each element is, "sill right"
    """

    mesh: BodyMesh
    matrix: Array
    beam_names: tuple[str, ...]

    def motion(self, held: Array) -> BodyMotion:
        """Return how the body moves with the points that hold it, (k, 6)."""
        motions = self.matrix @ np.asarray(held).ravel()
        return BodyMotion(self.mesh, np.asarray(motions.reshape(-1, N_FREEDOMS)))


def body_motion(
    body: Body, ties: Sequence[Tie], labels: Sequence[Label], held: Array
) -> BodyMotion:
    """Return how a body moves that nothing loads but what holds it.

    Parameters
    ----------
    ties : all that take hold of it
    labels : k points at which its motion is known, no two on one node
    held : (k, 6), their motions

    Raises
    ------
    ModelError, SolveError
        As :func:`fea.solve.body.body_stiffness` does.
    """
    return body_recovery(body, ties, labels).motion(held)


def body_recovery(body: Body, ties: Sequence[Tie], labels: Sequence[Label]) -> BodyRecovery:
    """Return how all of a body moves with the points that hold it; see :func:`body_motion`."""
    mine = [t for t in ties if t.body == body.name]
    mesh = body_mesh(body, {("tie", t.pair, t.side): t.body_point for t in mine})
    nodes = np.unique(mesh.beam_nodes).tolist()
    own: dict[int, Label] = {n: ("node", str(n)) for n in nodes}
    x, y, z = mesh.points.T.tolist()
    stiff = body_stiffness(body, mine, {own[n]: (x[n], y[n], z[n]) for n in nodes})
    kept = _at_kept_points(stiff, labels)
    motions = np.zeros((len(mesh.points), N_FREEDOMS, kept.shape[2]))
    for n in nodes:
        row, arm = stiff.places[own[n]]
        motions[n] = kept[row]
        motions[n, :3] -= cross_matrix(arm) @ kept[row, 3:]  # turn x arm
    for n in sorted(set(range(len(mesh.points))) - set(nodes)):
        beside = [m for four in mesh.panel_nodes.tolist() if n in four for m in four]
        others = [m for m in beside if m in own]
        if others:
            motions[n, :3] = motions[others, :3].mean(axis=0)
    return BodyRecovery(mesh, motions.reshape(mesh.n_freedoms, -1), tuple(_beam_names(body, mesh)))


def _beam_names(body: Body, mesh: BodyMesh) -> list[str]:
    """Return the beam that every element is of: the one on whose path its middle lies."""
    names = []
    for middle in mesh.points[mesh.beam_nodes].mean(axis=1):
        gaps = [beam_gap(replace(body, beams=(beam,)), middle.tolist()) for beam in body.beams]
        names.append(body.beams[int(np.argmin(gaps))].name)
    return names


def _at_kept_points(body: BodyStiffness, labels: Sequence[Label]) -> Array:
    """Return the motions of all kept points, (m, 6, 6k), with no force on those not held."""
    rows = [body.places[label][0] for label in labels]
    out = np.zeros((len(body.points), N_FREEDOMS, N_FREEDOMS * len(rows)))
    for k, (row, label) in enumerate(zip(rows, labels, strict=True)):
        unit = np.zeros((N_FREEDOMS, out.shape[2]))
        unit[:, N_FREEDOMS * k : N_FREEDOMS * (k + 1)] = np.eye(N_FREEDOMS)
        out[row] = unit
        out[row, :3] += cross_matrix(body.places[label][1]) @ unit[3:]  # less turn x arm
    known = np.repeat(np.isin(np.arange(len(out)), rows), N_FREEDOMS)
    K = body.stiffness
    if not known.all():
        flat = out.reshape(-1, out.shape[2])  # a view: what is found lands in `out`
        flat[~known] = np.linalg.solve(
            K[np.ix_(~known, ~known)], -K[np.ix_(~known, known)] @ flat[known]
        )
    return out
