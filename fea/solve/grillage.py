"""A body's grillage condensed to the points where something holds it."""

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.element import beam, panel
from fea.element.beam import cross_matrix
from fea.errors import Complaint, SolveError
from fea.mesh.body import N_FREEDOMS, BodyMesh
from fea.solve.factorise import Factor, NotDefiniteError, factorise
from fea.solve.mechanism import MOTIONS, free_motions
from fea.solve.rigid import balanced, motions

Array = NDArray[np.float64]
Index = NDArray[np.intp]


def condense_body(mesh: BodyMesh, nodes: Index, points: Array) -> Array:
    """Return the stiffness (6m, 6m) between nodes, taken at points rigid with them.

    Parameters
    ----------
    mesh : BodyMesh
    nodes : (m,), different ones
    points : (m, 3), mm

    Raises
    ------
    SolveError
        If the body falls into pieces or can move within itself, or a node bears no couple
        because only panels end there.
    """
    K = _assembled(mesh)
    _refuse_pieces(mesh)
    turns = np.zeros(len(mesh.points), dtype=bool)
    turns[mesh.beam_nodes] = True
    wrong = [
        Complaint(
            "what holds a body must take hold of a beam: a panel's corner bears no couple",
            where=f"body {mesh.name}, {mesh.names[n]}",
        )
        for n in nodes[~turns[nodes]]
    ]
    if wrong:
        raise SolveError(*wrong)
    # Nothing turns the corners where only panels end: those rotations are left out.
    used = np.ones((len(mesh.points), N_FREEDOMS), dtype=bool)
    used[~turns, 3:] = False
    _refuse_mechanisms(mesh, K, used, int(nodes[0]))
    kept = (N_FREEDOMS * nodes[:, None] + np.arange(N_FREEDOMS)).ravel()
    used.ravel()[kept] = False
    inner = np.flatnonzero(used)
    outer = K[:, kept]
    K_kk, K_ik = outer[kept].toarray(), outer[inner].toarray()
    if len(inner):
        K_ii = sp.csr_array(K[:, inner][inner])
        factor = _factor(mesh, K_ii, inner)
        X = factor.solve(-K_ik)
        X += factor.solve(-K_ik - K_ii @ X)  # the assembled matrix is stiff in short pieces
        K_kk = K_kk + K_ik.T @ X
    to_node = np.tile(np.eye(N_FREEDOMS), (len(nodes), 1, 1))
    to_node[:, :3, 3:] = -cross_matrix(mesh.points[nodes] - points)
    T = sp.block_diag(list(to_node), format="csr")
    return balanced(T.T @ (T.T @ K_kk).T, rigid(points))


def rigid(points: Array) -> Array:
    """Return the six rigid motions of points with six freedoms each, (6m, 6)."""
    span = float(np.max(np.ptp(points, axis=0), initial=1.0))
    return motions(points, N_FREEDOMS, points.mean(axis=0), span)


def _assembled(mesh: BodyMesh) -> sp.csc_array:
    """Return the stiffness of all nodes' freedoms, (6n, 6n)."""
    n = mesh.n_freedoms
    plain = np.r_[0:6, 7:13]  # without the two warpings
    blocks = beam.stiffness(mesh.beams)[:, plain[:, None], plain]
    at = N_FREEDOMS * mesh.beam_nodes[:, :, None] + np.arange(6)
    K = _scatter(blocks, at.reshape(-1, 12), n)
    if len(mesh.panel_nodes):
        at = N_FREEDOMS * mesh.panel_nodes[:, :, None] + np.arange(3)
        K = K + _scatter(panel.stiffness(mesh.panels), at.reshape(-1, 12), n)
    return sp.csc_array(K)


def _scatter(blocks: Array, freedoms: Index, n: int) -> sp.csr_array:
    width = freedoms.shape[1]
    row = np.repeat(freedoms, width, axis=1).ravel()
    column = np.tile(freedoms, (1, width)).ravel()
    return sp.csr_array(sp.coo_array((blocks.ravel(), (row, column)), shape=(n, n)))


def _refuse_pieces(mesh: BodyMesh) -> None:
    """Complain of every piece of the grillage that does not touch its largest one."""
    from scipy.sparse.csgraph import connected_components

    four = mesh.panel_nodes
    a = np.concatenate([mesh.beam_nodes[:, 0], four[:, :3].ravel()])
    b = np.concatenate([mesh.beam_nodes[:, 1], four[:, 1:].ravel()])
    n = len(mesh.points)
    graph = sp.coo_array((np.ones(len(a)), (a, b)), shape=(n, n))
    _, piece = connected_components(graph, directed=False)
    size = np.bincount(piece)
    loose = [k for k in range(len(size)) if k != int(np.argmax(size))]
    if loose:
        raise SolveError(
            *(
                Complaint(
                    "the beams and panels of a body must all hang together",
                    where=f"body {mesh.name}, {mesh.names[int(np.argmax(piece == k))]}",
                    found="what is joined there touches nothing of the rest",
                    do="let its points coincide with points of the rest, within 0.5 mm",
                )
                for k in loose
            )
        )


def _refuse_mechanisms(mesh: BodyMesh, K: sp.csc_array, used: NDArray[np.bool_], at: int) -> None:
    """Complain of what still moves when one node is held still."""
    loose = used.copy()
    loose[at] = False
    free = np.flatnonzero(loose)
    if len(free):
        _factor(mesh, sp.csr_array(K[:, free][free]), free)


def _factor(mesh: BodyMesh, K: sp.csr_array, freedoms: Index) -> Factor:
    try:
        return factorise(K)
    except NotDefiniteError:
        raise _explained(mesh, K, freedoms) from None


def _explained(mesh: BodyMesh, K: sp.csr_array, freedoms: Index) -> SolveError:
    q = free_motions(K)
    if q.shape[1] == 0:
        return SolveError(
            Complaint(
                "the body is too ill-conditioned to be solved",
                where=f"body {mesh.name}",
                do="look for beams thousands of times stiffer, longer or thinner than others",
            )
        )
    span = float(np.max(np.ptp(mesh.points, axis=0), initial=1.0))
    rest = q * np.where(freedoms % N_FREEDOMS < 3, 1.0, span)[:, None]
    wrong = []
    for _ in range(min(q.shape[1], 6)):
        weight = np.linalg.norm(rest, axis=1)
        worst = int(np.argmax(weight))
        direction = rest[worst] / weight[worst]
        rest = rest - np.outer(rest @ direction, direction)
        node, component = divmod(int(freedoms[worst]), N_FREEDOMS)
        wrong.append(
            Complaint(
                f"nothing holds {MOTIONS[component]}",
                where=f"body {mesh.name}, {mesh.names[node]}",
                do="run a beam there: panels resist shear in their own plane only",
            )
        )
    return SolveError(*wrong)
