"""Stress at the section corners along the elements, and where each member peaks.

Normal stress from N, both bending moments and the bimoment; shear from the flows of
both shear forces, of warping torsion and round closed cells, plus the Saint-Venant
stress on the wall's surface.  Von Mises takes the worse surface.

References
----------
.. [1] V. Z. Vlasov, Thin-Walled Elastic Beams, 2nd ed., 1961, ch. I (normal stress
   ``N/A + M1 z/I1 - M2 y/I2 + B omega/Cw`` and the shear flows that balance it).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.mesh.mesh import Mesh
from fea.result.forces import PLACES, SectionForces, section_forces
from fea.section.properties import SectionProperties

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Stress:
    """Stress of one group of elements that share a section.

    Attributes
    ----------
    elements : (e,), element numbers
    normal, shear, von_mises : (e, n_places, n_points), MPa; points are the recovery
        points of the section (both ends of every wall)
    """

    elements: NDArray[np.intp]
    section: int
    normal: Array
    shear: Array
    von_mises: Array


@dataclass(frozen=True)
class Peak:
    """The highest von Mises stress in a member, MPa, and where it is.

    `station`, `offset`, `height`: mm, the corner itself, or the middle of a quadrilateral of
    its sheet metal; `utilisation` against yield.
    """

    member: str
    von_mises: float
    normal: float
    station: float
    offset: float
    height: float
    utilisation: float
    section: str


def stresses(solution: Solution, places: Array = PLACES) -> list[Stress]:
    """Return the stresses, one entry per section in use."""
    forces = section_forces(solution, places)
    groups = []
    for number in range(len(solution.mesh.sections)):
        elements = np.flatnonzero(solution.mesh.elements.section == number)
        if len(elements):
            groups.append(_of_section(solution, forces, number, elements))
    return groups


def _of_section(
    solution: Solution, forces: SectionForces, number: int, elements: NDArray[np.intp]
) -> Stress:
    normal, flow, surface = components(solution.mesh.sections[number], forces, elements)
    shear = np.abs(flow) + np.abs(surface)
    return Stress(elements, number, normal, shear, np.sqrt(normal**2 + 3.0 * shear**2))


def components(
    p: SectionProperties, forces: SectionForces, elements: NDArray[np.intp]
) -> tuple[Array, Array, Array]:
    """Return stresses with their signs, each (e, n_places, n_points), MPa.

    Normal stress, shear stress of the flows, and that of uniform torsion on one surface of
    the wall, which has the other sign on the other surface.
    """

    def at(force: Array) -> Array:
        return force[elements][:, :, None]

    warping = p.omega / p.Cw if p.Cw > 0.0 else np.zeros_like(p.omega)
    normal = (
        at(forces.N) / p.A
        + at(forces.M1) * (p.point_z / p.I1)
        - at(forces.M2) * (p.point_y / p.I2)
        + at(forces.B) * warping
    )
    flow = (
        at(forces.Vy) * p.flow_y
        + at(forces.Vz) * p.flow_z
        + at(forces.T_warping) * p.flow_w
        + at(forces.T_uniform) * p.flow_t
    )
    return normal, flow / p.point_t, at(forces.T_uniform) * p.point_t / p.J


def peaks(solution: Solution, groups: list[Stress] | None = None) -> list[Peak]:
    """Return the peak of every member, highest first."""
    mesh = solution.mesh
    best: dict[int, tuple[float, Peak]] = {}
    for group in groups if groups is not None else stresses(solution):
        highest = group.von_mises.reshape(len(group.elements), -1)
        use = highest.max(axis=1) / mesh.elements.yield_stress[group.elements]
        for member in np.unique(mesh.elements.member[group.elements]):
            mine = np.flatnonzero(mesh.elements.member[group.elements] == member)
            row = mine[int(np.argmax(use[mine]))]
            place, point = np.unravel_index(int(np.argmax(highest[row])), group.normal.shape[1:])
            peak = _peak(solution, group, int(row), int(place), int(point))
            if member not in best or peak.utilisation > best[member][0]:
                best[int(member)] = (peak.utilisation, peak)
    return sorted((p for _, p in best.values()), key=lambda p: -p.von_mises)


def _peak(solution: Solution, group: Stress, row: int, place: int, point: int) -> Peak:
    mesh = solution.mesh
    element = int(group.elements[row])
    corner = corner_at(mesh, element, place / (group.normal.shape[1] - 1), point)
    value = float(group.von_mises[row, place, point])
    return Peak(
        member=mesh.members[int(mesh.elements.member[element])],
        von_mises=value,
        normal=float(group.normal[row, place, point]),
        station=float(corner[0]),
        offset=float(corner[1]),
        height=float(corner[2]),
        utilisation=value / float(mesh.elements.yield_stress[element]),
        section=mesh.section_names[group.section],
    )


def corner_at(mesh: Mesh, element: int, fraction: float, point: int) -> Array:
    """Return where a recovery point is at a place along an element, 0 to 1, (3,), mm."""
    section = mesh.sections[int(mesh.elements.section[element])]
    where = mesh.origin_lines()[:, element]
    axes = mesh.beams.axes[element]
    y = section.point_y[point] + mesh.beams.centroid[element, 0]
    z = section.point_z[point] + mesh.beams.centroid[element, 1]
    return np.asarray(where[0] + fraction * (where[1] - where[0]) + y * axes[1] + z * axes[2])
