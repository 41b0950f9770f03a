"""How a whole body moves, from how the points move where the frame holds it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.frame.body import Body, Tie
from fea.mesh.body import N_FREEDOMS, BodyMesh, Label, body_mesh
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
    mine = [t for t in ties if t.body == body.name]
    mesh = body_mesh(body, {("tie", t.pair, t.side): t.body_point for t in mine})
    nodes = np.unique(mesh.beam_nodes).tolist()
    own: dict[int, Label] = {n: ("node", str(n)) for n in nodes}
    x, y, z = mesh.points.T.tolist()
    stiff = body_stiffness(body, mine, {own[n]: (x[n], y[n], z[n]) for n in nodes})
    kept = _at_kept_points(stiff, labels, held)
    motions = np.zeros((len(mesh.points), N_FREEDOMS))
    for n in nodes:
        row, arm = stiff.places[own[n]]
        motions[n] = kept[row]
        motions[n, :3] += np.cross(kept[row, 3:], arm)
    for n in sorted(set(range(len(mesh.points))) - set(nodes)):
        beside = [m for four in mesh.panel_nodes.tolist() if n in four for m in four]
        others = [m for m in beside if m in own]
        if others:
            motions[n, :3] = motions[others, :3].mean(axis=0)
    return BodyMotion(mesh, motions)


def _at_kept_points(body: BodyStiffness, labels: Sequence[Label], held: Array) -> Array:
    """Return the motions of all kept points, (m, 6), with no force on those not held."""
    rows = [body.places[label][0] for label in labels]
    out = np.zeros((len(body.points), N_FREEDOMS))
    for row, label, motion in zip(rows, labels, held, strict=True):
        out[row] = motion
        out[row, :3] -= np.cross(motion[3:], body.places[label][1])
    known = np.repeat(np.isin(np.arange(len(out)), rows), N_FREEDOMS)
    K = body.stiffness
    if not known.all():
        flat = out.ravel()  # a view: what is found lands in `out`
        flat[~known] = np.linalg.solve(
            K[np.ix_(~known, ~known)], -K[np.ix_(~known, known)] @ flat[known]
        )
    return out
