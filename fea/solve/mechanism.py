"""Names what can move freely, in words, when a frame cannot be solved."""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import N_FREEDOMS
from fea.errors import Complaint, SolveError
from fea.mesh.mesh import Mesh

if TYPE_CHECKING:
    import scipy.sparse as sp

    from fea.solve.constrain import Links, Supports
    from fea.solve.operator import Operator

Array = NDArray[np.float64]

MOTIONS = (
    "its movement along the vehicle's long axis",
    "its movement sideways",
    "its movement up and down",
    "its rotation about the vehicle's long axis",
    "its rotation about the axis across the vehicle",
    "its rotation about the vertical axis",
    "its warping (the rate of twist)",
)


RESISTED = 1e-12
"""A motion that costs an element more than this of what its terms cost apart is resisted:
strains of 1e-6, where those of round-off are near 1e-10."""


STILL = 1e-4
"""What moves less than this of the rest counts as standing still."""


def free_motions(K: "sp.csr_array") -> Array:
    """Return an orthonormal basis of what `K` does not resist, shape (n, k).

    `K` is scaled to a unit diagonal first; motions with less than 1e-11 of the
    stiffness of the rest count as free.
    """
    dense = K.toarray()
    diagonal = dense.diagonal().copy()
    scale = np.where(diagonal > 0.0, 1.0 / np.sqrt(np.where(diagonal > 0.0, diagonal, 1.0)), 1.0)
    if len(dense) <= 2500:
        values, vectors = np.linalg.eigh(scale[:, None] * dense * scale)
    else:
        import scipy.sparse as sp
        from scipy.sparse.linalg import eigsh

        S = sp.diags_array(scale)
        values, vectors = eigsh(sp.csc_array(S @ K @ S), k=12, sigma=-1e-9)
    return np.asarray(scale[:, None] * vectors[:, values < 1e-11])


def unresisted(mesh: Mesh, structure: "Operator", u: Array) -> Array:
    """Return the combinations of motions that no element, spring or piece resists.

    Each is asked by itself, whatever its stiffness: what it bears, over what its terms would
    if they did not cancel.

    Parameters
    ----------
    u : (n_freedoms, k)

    Returns
    -------
    array, (n_freedoms, j), j <= k
    """
    span = np.tile(_lengths(mesh), len(mesh.points))[:, None]
    asked = u
    u = u / np.max(np.abs(u * span), axis=0, initial=1e-300)
    # What stands still moves by round-off: that is measured against the rest.
    size_u = np.abs(u) + STILL / span
    energy = np.zeros((u.shape[1], u.shape[1]))
    found = structure.recover(u)
    moved = np.abs(structure.geometry) @ size_u[structure.freedoms]
    strain = np.abs(structure.deformation) @ moved
    gross = np.einsum("eik,eij,ejk->e", strain, np.abs(structure.rigidity), strain)
    each = np.einsum("eik,eij->ekj", found.deformations, found.forces)
    energy += np.sum(each / gross[:, None, None], axis=0)
    stiff = structure.spring_stiffness > 0.0
    swing = (abs(structure.springs) @ size_u)[stiff]
    moves = found.spring_motion[stiff]
    energy += (moves / np.sum(swing**2, axis=1)[:, None]).T @ moves
    for at, block in structure.blocks_at:
        energy += u[at].T @ block @ u[at] / np.sum(size_u[at] * (np.abs(block) @ size_u[at]))
    values, vectors = np.linalg.eigh(0.5 * (energy + energy.T))
    free = values < RESISTED
    # Where all are free they stay apart as they came: each is then one thing's motion.
    return asked if np.all(free) else np.asarray(u @ vectors[:, free])


def explain(
    mesh: Mesh, K: "sp.csr_array", links: "Links", supports: "Supports", structure: "Operator"
) -> SolveError:
    """Return the error that says which member or joint can move, and how.

    Beside a spring a million million times stiffer than the members, their own resistance is
    lost in the matrix as if there were none; taken one by one, they still resist.
    """
    u = unresisted(mesh, structure, links.matrix @ (supports.matrix @ free_motions(K)))
    if u.shape[1] == 0:
        return SolveError(
            Complaint(
                "the frame is too ill-conditioned to be solved",
                found="parts whose stiffnesses lie more than 1e12 apart",
                do="look for joints, mounts or members far stiffer, longer or thinner than others",
            )
        )
    size = np.tile(_lengths(mesh), len(mesh.points))
    motion = np.asarray(u * size[:, None])  # rotations as millimetres at the frame's size
    complaints = []
    rest = motion.copy()
    for _ in range(min(u.shape[1], 6)):
        weight = np.linalg.norm(rest, axis=1)
        worst = int(np.argmax(weight))
        # Take this motion out of all columns: the next pivot is another mechanism.
        direction = rest[worst] / weight[worst]
        complaints.append(_words(mesh, motion @ direction, worst))
        rest = rest - np.outer(rest @ direction, direction)
    return SolveError(*dict.fromkeys(complaints))


def _lengths(mesh: Mesh) -> Array:
    span = float(np.max(np.ptp(mesh.points, axis=0), initial=1.0))
    return np.array([1.0, 1.0, 1.0, span, span, span, span**2 * 0.1])


def _words(mesh: Mesh, motion: Array, worst: int) -> Complaint:
    node, component = divmod(worst, N_FREEDOMS)
    each = np.linalg.norm(motion.reshape(-1, N_FREEDOMS)[:, :6], axis=1)
    moving = each > 1e-6 * np.max(each, initial=1e-300)
    found = ""
    if np.all(moving):
        found = "the whole frame moves with it"
    elif component < 6:
        still = {name: nodes for name, (_, nodes) in mesh.nodes_of.items()}
        loose = [name for name, nodes in still.items() if np.all(moving[nodes])]
        found = f"moving as one: {', '.join(loose[:4])}" if loose else ""
    return Complaint(
        f"{mesh.node_names[node]}: nothing holds {MOTIONS[component]}",
        found=found,
        do="join it, or hold it in the load case",
    )
