"""The structure as an operator: motions in, internal forces out, element by element.

Summing element forces from element deformations keeps what the assembled matrix loses:
neighbouring motions are subtracted before they meet the large stiffnesses of short
elements.  Residuals for iterative refinement and for the self-checks come from here.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.element import beam
from fea.mesh.mesh import Mesh
from fea.solve.assemble import element_freedoms, sparse_rows

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Recovered:
    """Deformations and forces of elements, motions and forces of springs; k columns.

    Attributes
    ----------
    deformations, forces : (n_elements, 8, k)
    spring_motion, spring_force : (n_springs, k)
    """

    deformations: Array
    forces: Array
    spring_motion: Array
    spring_force: Array


@dataclass(frozen=True, eq=False)
class Operator:
    """A mesh's elements and springs, ready to be applied."""

    geometry: Array
    deformation: Array
    rigidity: Array
    freedoms: NDArray[np.intp]
    springs: sp.csr_array
    spring_stiffness: Array
    n_freedoms: int
    blocks_at: tuple[tuple[NDArray[np.intp], Array], ...] = ()
    """Freedoms and stiffness of every patch of sheet metal."""

    def recover(self, u: Array) -> Recovered:
        """Return what motions u, shape (n_freedoms, k), do to elements and springs."""
        natural = self.geometry @ u[self.freedoms]
        deformations = self.deformation @ natural
        motion = np.asarray(self.springs @ u)
        return Recovered(
            deformations,
            self.rigidity @ deformations,
            motion,
            self.spring_stiffness[:, None] * motion,
        )

    def internal(self, u: Array) -> Array:
        """Return the forces that motions u call up, shape (n_freedoms, k)."""
        found = self.recover(u)
        natural = np.swapaxes(self.deformation, 1, 2) @ found.forces
        each = np.swapaxes(self.geometry, 1, 2) @ natural
        force = np.asarray(self.springs.T @ found.spring_force)
        np.add.at(force, self.freedoms, each)
        for freedoms, block in self.blocks_at:
            np.add.at(force, freedoms, block @ u[freedoms])
        return force


def operator(mesh: Mesh, blocks_at: Sequence[tuple[NDArray[np.intp], Array]] = ()) -> Operator:
    """Return the operator of a mesh, with blocks condensed elsewhere."""
    return Operator(
        geometry=beam.geometry(mesh.beams),
        deformation=beam.deformation(mesh.beams),
        rigidity=beam.rigidity(mesh.beams),
        freedoms=element_freedoms(mesh.elements.nodes),
        springs=sparse_rows(mesh.springs.rows, mesh.n_freedoms),
        spring_stiffness=mesh.springs.stiffness,
        n_freedoms=mesh.n_freedoms,
        blocks_at=tuple(blocks_at),
    )
