"""Section forces along the elements, exact between the nodes.

Signs: N tension positive; Vy, Vz the force on the positive face along y' and z'; T torque
about x; M1, M2 moments about y' and z' (``M1 = E I1 dt1/dx``); B bimoment
(``B = E Cw dchi/dx``).  Axes are each element's own, principal; N acts at the centroid,
V and T at the shear centre.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.element import beam, torsion
from fea.element.beam import Beams

Array = NDArray[np.float64]

PLACES = np.linspace(0.0, 1.0, 9)
"""Where along an element forces are looked at by default, 0 to 1."""


@dataclass(frozen=True, eq=False)
class SectionForces:
    """Forces at places along every element, arrays (n_elements, n_places), N and mm.

    `T_uniform` is the Saint-Venant part of T, `T_warping` the rest.
    """

    x: Array
    N: Array
    Vy: Array
    Vz: Array
    T: Array
    T_uniform: Array
    T_warping: Array
    M1: Array
    M2: Array
    B: Array


def end_forces(solution: Solution) -> Array:
    """Return the natural forces the nodes put on the element ends, shape (n, 14)."""
    beams = solution.mesh.beams
    spread = beam.end_loads(beams, solution.loads.element_load)
    return np.asarray(np.einsum("nij,ni->nj", beam.deformation(beams), solution.forces) - spread)


def section_forces(solution: Solution, places: Array = PLACES) -> SectionForces:
    """Return the section forces at `places` (0 to 1) along every element."""
    return forces_along(
        solution.mesh.beams, end_forces(solution), solution.loads.element_load, places
    )


def forces_along(beams: Beams, end: Array, load: Array, places: Array) -> SectionForces:
    """Return the section forces from natural end forces (n, 14) and even loads (n, 6)."""
    x = places[None, :] * beams.length[:, None]
    qx, qy, qz, m, m1, m2 = (c[:, None] for c in load.T)
    N0, Vy0, Vz0, T0, M10, M20, B0 = (-end[:, k, None] for k in range(7))
    B1 = end[:, 13, None]
    T = T0 - m * x
    h_i, h_j, w = torsion.interpolation(beams.lam, places)
    d_i, d_j, dw = torsion.interpolation_slopes(beams.lam, places)
    L = beams.length[:, None]
    has_warping = (beams.ECw > 0.0)[:, None]
    B = np.where(has_warping, h_i * B0 + h_j * B1 + w * m * L**2, 0.0)
    T_warping = np.where(has_warping, -(d_i * B0 + d_j * B1 + dw * m * L**2) / L, 0.0)
    return SectionForces(
        x=x,
        N=N0 - qx * x,
        Vy=Vy0 - qy * x,
        Vz=Vz0 - qz * x,
        T=T,
        T_uniform=T - T_warping,
        T_warping=T_warping,
        M1=M10 + Vz0 * x - qz * x**2 / 2.0 - m1 * x,
        M2=M20 - Vy0 * x + qy * x**2 / 2.0 - m2 * x,
        B=B,
    )
