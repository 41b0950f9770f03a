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


def explain(mesh: Mesh, K: "sp.csr_array", links: "Links", supports: "Supports") -> SolveError:
    """Return the error that says which member or joint can move, and how."""
    q = free_motions(K)
    if q.shape[1] == 0:
        return SolveError(
            Complaint(
                "the frame is too ill-conditioned to be solved",
                do="look for members thousands of times stiffer, longer or thinner than others",
            )
        )
    u = links.matrix @ (supports.matrix @ q)
    size = np.tile(_lengths(mesh), len(mesh.points))
    motion = np.asarray(u * size[:, None])  # rotations as millimetres at the frame's size
    complaints = []
    rest = motion.copy()
    for _ in range(min(q.shape[1], 6)):
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
