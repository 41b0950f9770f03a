"""Stress at one point of one element's section, and how it moves with the nodes' motions.

The forces of a section are linear in the motions of its element's nodes, and so are its
normal stress n and its shear stress t on either surface of a wall.  With the signs of the
flow and of the torsion's stress held, so that the surface is, von Mises stress has the
derivative ``(n dn + 3 t dt) / sqrt(n^2 + 3 t^2)``.
"""

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from fea.element import beam
from fea.element.beam import N_DEFORMATIONS, Beams
from fea.mesh.mesh import Mesh
from fea.result.forces import forces_along
from fea.result.stress import components
from fea.solve.operator import Operator

Array = NDArray[np.float64]


@dataclass(frozen=True)
class StressPoint:
    """A point of the structure's surface.

    Attributes
    ----------
    element : its number
    fraction : place along it, 0 to 1
    point : recovery point of its section (:class:`fea.section.properties.SectionProperties`)
    """

    element: int
    fraction: float
    point: int


@dataclass(frozen=True)
class Surface:
    """The surface of the wall that governs: signs there of the flow and the torsion's stress."""

    flow: float
    torsion: float

    def shear(self, flow: Array, torsion: Array) -> Array:
        """Return the shear stress on the surface, its sign turned to be positive."""
        return self.flow * flow + self.torsion * torsion


def governing(mesh: Mesh, structure: Operator, u: Array, load: Array, at: StressPoint) -> Surface:
    """Return the surface on which von Mises stress is higher; arguments of `von_mises`."""
    _, flow, torsion = _components(mesh, structure, at, _forces(structure, u, at), load)
    return Surface(float(np.sign(flow[0])), float(np.sign(torsion[0])))


def von_mises(
    mesh: Mesh, structure: Operator, u: Array, load: Array, at: StressPoint, on: Surface
) -> float:
    """Return von Mises stress at a point, MPa.

    Parameters
    ----------
    structure : the operator of the mesh
    u : (n_freedoms,), motions
    load : (n_elements, 6), even loads as :func:`fea.element.beam.even_load` gives
    at, on : the point, and the surface of its wall
    """
    n, flow, torsion = _components(mesh, structure, at, _forces(structure, u, at), load)
    return float(np.sqrt(n[0] ** 2 + 3.0 * on.shear(flow, torsion)[0] ** 2))


def von_mises_gradient(
    mesh: Mesh, structure: Operator, u: Array, load: Array, at: StressPoint, on: Surface
) -> Array:
    """Return the derivative of `von_mises` by the motions, (n_freedoms,), MPa per mm, rad, 1/mm."""
    n, flow, torsion = _components(mesh, structure, at, _forces(structure, u, at), load)
    unit = np.eye(N_DEFORMATIONS) @ structure.rigidity[at.element]
    rows = _components(mesh, structure, at, unit, np.zeros_like(load))
    shear = on.shear(flow, torsion)[0]
    size = np.sqrt(n[0] ** 2 + 3.0 * shear**2)
    by_deformation = (n[0] * rows[0] + 3.0 * shear * on.shear(rows[1], rows[2])) / size
    by_motion = by_deformation @ structure.deformation[at.element] @ structure.geometry[at.element]
    out = np.zeros(structure.n_freedoms)
    np.add.at(out, structure.freedoms[at.element], by_motion)
    return out


def _forces(structure: Operator, u: Array, at: StressPoint) -> Array:
    """Return the forces conjugate to the element's deformations, (1, 8)."""
    k = at.element
    natural = structure.geometry[k] @ u[structure.freedoms[k]]
    return np.asarray(structure.rigidity[k] @ (structure.deformation[k] @ natural))[None]


def _components(
    mesh: Mesh, structure: Operator, at: StressPoint, forces: Array, load: Array
) -> tuple[Array, Array, Array]:
    """Return normal, flow and torsion stress, each (k,), of k sets of forces (k, 8)."""
    k = len(forces)
    same = np.full(k, at.element)
    beams = Beams(**{f.name: getattr(mesh.beams, f.name)[same] for f in fields(Beams)})
    end = forces @ structure.deformation[at.element] - beam.end_loads(beams, load[same])
    along = forces_along(beams, end, load[same], np.array([at.fraction]))
    p = mesh.sections[int(mesh.elements.section[at.element])]
    normal, flow, torsion = components(p, along, np.arange(k))
    return normal[:, 0, at.point], flow[:, 0, at.point], torsion[:, 0, at.point]
