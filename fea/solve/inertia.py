"""The mass of a mesh: its beams, its condensed sheet metal, and the lumps it carries.

Beams have the consistent mass of their own shape functions.  Sheet metal has the mass of its
quadrilaterals, moved as its statics would move it (Guyan [1]_): with R what makes all motions
from the kept ones, ``M = R' m R``.  A lump is a point that follows freedoms by three rows.

References
----------
.. [1] R. J. Guyan, Reduction of stiffness and mass matrices, AIAA Journal 3, 1965, p. 380.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.element import inertia as element_inertia
from fea.frame.model import Frame
from fea.mesh.mesh import Mesh, Rows
from fea.solve.assemble import element_freedoms, sparse_rows

if TYPE_CHECKING:
    from fea.solve.condense import Metal
    from fea.solve.system import System

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Lump:
    """A point mass, tonne, and the three rows by which it follows the mesh's freedoms.

    `name` says what it is; `turn` are its own moments of inertia about x, y, z (tonne mm2),
    which follow the rows 3 to 5 where there are six.
    """

    name: str
    mass: float
    rows: Rows
    turn: tuple[float, float, float] = (0.0, 0.0, 0.0)

    @property
    def weights(self) -> Array:
        """What each row weighs, (3,) or (6,)."""
        return np.array([*[self.mass] * 3, *self.turn][: self.rows.n_rows])


@dataclass(frozen=True, eq=False)
class PatchMass:
    """What one member's metal in a patch weighs: member, freedoms (m,), mass (m, m)."""

    member: str
    freedoms: Index
    mass: Array


@dataclass(frozen=True, eq=False)
class Inertia:
    """A mesh's mass.

    Attributes
    ----------
    M : (n_freedoms, n_freedoms), tonne, tonne mm, tonne mm2, tonne mm4
    elements : (n_elements, 14, 14); patches, lumps : its parts
    """

    M: sp.csr_array
    freedoms: Index
    elements: Array
    patches: tuple[PatchMass, ...]
    lumps: tuple[Lump, ...]

    def shares(self, mesh: Mesh, u: Array) -> tuple[dict[str, float], dict[str, float]]:
        """Return the parts of u' M u of every member, and of every lump by name; u (n,)."""
        metal = dict.fromkeys(mesh.members, 0.0)
        ends = u[self.freedoms]
        each = np.einsum("ni,nij,nj->n", ends, self.elements, ends)
        by_member = np.bincount(mesh.elements.member, each, len(mesh.members))
        for name, value in zip(mesh.members, by_member, strict=True):
            metal[name] += float(value)
        for patch in self.patches:
            at = u[patch.freedoms]
            metal[patch.member] += float(at @ patch.mass @ at)
        carried: dict[str, float] = {}
        for lump in self.lumps:
            motion = sparse_rows(lump.rows, mesh.n_freedoms) @ u
            carried[lump.name] = carried.get(lump.name, 0.0) + float(lump.weights @ motion**2)
        return metal, carried


def inertia(
    whole: System,
    frame: Frame | None = None,
    lumps: Sequence[Lump] = (),
    *,
    rotary: bool = True,
    rigid_ends: bool = True,
) -> Inertia:
    """Return the mass of an assembled mesh.

    Parameters
    ----------
    frame : what its sheet metal is of; needed where there is some
    lumps : what it carries
    rotary : bool
        Count the inertia of cross-sections that turn and warp; False is for comparisons
        with theories that leave it out.
    rigid_ends : bool
        Whether the arms between nodes and elements are metal.
    """
    mesh = whole.mesh
    n = mesh.n_freedoms
    beams, weight = mesh.beams, mesh.elements.weight
    # Density times I1, I2 and Cw, through the radii of gyration.
    each = np.stack([beams.EI1, beams.EI2, beams.ECw], axis=1) / beams.EA[:, None]
    turning = weight[:, None] * each if rotary else np.zeros((len(weight), 3))
    elements = element_inertia.mass(beams, weight, turning)
    if rigid_ends:
        elements = elements + element_inertia.arm_mass(beams, weight, turning)
    freedoms = element_freedoms(mesh.elements.nodes)
    patches = tuple(p for m in whole.metal for p in patch_masses(m, frame))
    row = np.repeat(freedoms, 14, axis=1).ravel()
    column = np.tile(freedoms, (1, 14)).ravel()
    parts = [(elements.ravel(), row, column)]
    for p in patches:
        m = len(p.freedoms)
        parts.append((p.mass.ravel(), np.repeat(p.freedoms, m), np.tile(p.freedoms, m)))
    data, at_row, at_column = (np.concatenate(x) for x in zip(*parts, strict=True))
    M = sp.csr_array(sp.coo_array((data, (at_row, at_column)), shape=(n, n)))
    for lump in lumps:
        B = sparse_rows(lump.rows, n)
        M = sp.csr_array(M + B.T @ (B * lump.weights[:, None]))
    return Inertia(M, freedoms, elements, patches, tuple(lumps))


def patch_masses(metal: Metal, frame: Frame | None) -> list[PatchMass]:
    """Return what each member's metal in a patch weighs, on the patch's freedoms.

    A quadrilateral's mass sits on its corners.  The metal weighs as meshed: holes count as
    full, and where a member is cut to fit another, the cut-off does not count.
    """
    if frame is None:
        msg = "sheet metal can be weighed only with its frame"
        raise ValueError(msg)
    kept = metal.kept
    at = kept.points[kept.quads]
    diagonal = np.cross(at[:, 2] - at[:, 0], at[:, 3] - at[:, 1])
    each = 0.5 * np.linalg.norm(diagonal, axis=1) * kept.thickness
    back = np.argsort(metal.order)
    n = len(kept.points)
    moves = kept.recover.reshape(n, 6, -1)[:, :3]
    out = []
    for k, name in enumerate(metal.patch.canon.members):
        density = frame.member(name).runs[0].material.density
        mine = kept.member == k
        corners = np.repeat(0.25 * density * each[mine], 4)
        lump = np.bincount(kept.quads[mine].ravel(), corners, n)
        used = np.flatnonzero(lump)
        rows = (moves[used] * np.sqrt(lump[used])[:, None, None]).reshape(3 * len(used), -1)
        M = np.asarray(rows.T.astype(np.float64) @ rows)
        M = M[np.ix_(back, back)] * np.outer(metal.sign, metal.sign)
        out.append(PatchMass(name, metal.freedoms, 0.5 * (M + M.T)))
    return out
