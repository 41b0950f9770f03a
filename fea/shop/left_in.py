"""Stress left in by a welding in steps: of the base as forced, and of letting the whole go.

A length whose section the parts changed (a boxed rail) carries the first on its old section
and the second on the new one; at the old section's walls they add up.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.mesh.mesh import Mesh
from fea.result.forces import PLACES, SectionForces, section_forces
from fea.section.properties import SectionProperties
from fea.shop.staged import Staged

Array = NDArray[np.float64]

SAME_WALL = 1.5
"""Ends of walls, mm, nearer than this are of the same wall: flange tips move a little when a
plate's corner replaces them."""
SAME_ELEMENT = 1.0
"""Elements of both meshes whose ends are nearer than this, mm, are one."""


@dataclass(frozen=True)
class Left:
    """The highest stress of a member, MPa, its share of yield, and the station, mm."""

    member: str
    stress: float
    utilisation: float
    station: float
    normal: float


def left_in(staged: Staged) -> list[Left]:
    """Return the highest stress left in every member, the hardest used first.

    Lengths in a joint's sheet metal are not counted.
    """
    old, new = staged.forced, staged.released
    before, after = section_forces(old), section_forces(new)
    twins = _twins(old.mesh, new.mesh)
    best: dict[str, Left] = {}
    for k in range(len(new.mesh.elements.nodes)):
        normal, shear = _walls(new.mesh, after, k)
        if k in twins:
            i = twins[k]
            was_normal, was_shear = _walls(old.mesh, before, i)
            to, sign = _same_walls(old.mesh, i, new.mesh, k)
            normal, shear = normal.copy(), shear.copy()
            for wall, (there, turn) in enumerate(zip(to, sign, strict=True)):
                if there >= 0:
                    ends = [2 * there, 2 * there + 1][::turn]
                    normal[:, ends] += was_normal[:, 2 * wall : 2 * wall + 2]
                    shear[0][:, ends] += turn * was_shear[0][:, 2 * wall : 2 * wall + 2]
                    shear[1][:, ends] += was_shear[1][:, 2 * wall : 2 * wall + 2]
        _keep(best, new, k, normal, np.abs(shear[0]) + np.abs(shear[1]))
    return sorted(best.values(), key=lambda one: -one.utilisation)


def _keep(best: dict[str, Left], solution: Solution, k: int, normal: Array, shear: Array) -> None:
    mesh = solution.mesh
    mises = np.sqrt(normal**2 + 3.0 * shear**2)
    place, point = np.unravel_index(int(np.argmax(mises)), mises.shape)
    name = mesh.members[int(mesh.elements.member[k])]
    use = float(mises[place, point] / mesh.elements.yield_stress[k])
    if name not in best or use > best[name].utilisation:
        ends = mesh.origin_lines()[:, k, 0]
        station = ends[0] + PLACES[place] * (ends[1] - ends[0])
        best[name] = Left(
            name, float(mises[place, point]), use, float(station), float(normal[place, point])
        )


def _walls(mesh: Mesh, forces: SectionForces, k: int) -> tuple[Array, Array]:
    """Return normal stress (n_places, n_points), and shear: mean of a wall and at its surface.

    The formulae are those of :mod:`fea.result.stress`, with the signs of the shear kept.
    """
    p = mesh.sections[int(mesh.elements.section[k])]

    def of(force: Array) -> Array:
        return np.asarray(force[k][:, None])

    warping = p.omega / p.Cw if p.Cw > 0.0 else np.zeros_like(p.omega)
    normal = (
        of(forces.N) / p.A
        + of(forces.M1) * (p.point_z / p.I1)
        - of(forces.M2) * (p.point_y / p.I2)
        + of(forces.B) * warping
    )
    flow = (
        of(forces.Vy) * p.flow_y
        + of(forces.Vz) * p.flow_z
        + of(forces.T_warping) * p.flow_w
        + of(forces.T_uniform) * p.flow_t
    )
    surface = of(forces.T_uniform) * p.point_t / p.J
    return normal, np.stack([flow / p.point_t, surface])


def _twins(old: Mesh, new: Mesh) -> dict[int, int]:
    """Return which element of the old mesh every element of the new one is."""
    found: dict[int, int] = {}
    by_name: dict[str, list[int]] = {}
    for i, m in enumerate(old.elements.member.tolist()):
        by_name.setdefault(old.members[m], []).append(i)
    for k, m in enumerate(new.elements.member.tolist()):
        for i in by_name.get(new.members[m], ()):
            if np.all(np.abs(old.elements.place[i] - new.elements.place[k]) < SAME_ELEMENT):
                found[k] = i
    return found


def _corners(mesh: Mesh, k: int) -> Array:
    """Return the ends of an element's walls from the line of origins, (m, 2, 3), mm."""
    p: SectionProperties = mesh.sections[int(mesh.elements.section[k])]
    axes, centroid = mesh.beams.axes[k], mesh.beams.centroid[k]
    y, z = p.point_y + centroid[0], p.point_z + centroid[1]
    return np.asarray((y[:, None] * axes[1] + z[:, None] * axes[2]).reshape(-1, 2, 3))


def _same_walls(old: Mesh, i: int, new: Mesh, k: int) -> tuple[list[int], list[int]]:
    """Return the wall of the new element that every old wall is, and which way round.

    A wall that is in two pieces now, or gone, has -1.
    """
    was, now = _corners(old, i), _corners(new, k)
    to, sign = [], []
    for wall in was:
        ahead = np.linalg.norm(now - wall, axis=2).max(axis=1)
        back = np.linalg.norm(now - wall[::-1], axis=2).max(axis=1)
        turn = 1 if ahead.min() <= back.min() else -1
        each = ahead if turn == 1 else back
        to.append(int(np.argmin(each)) if each.min() < SAME_WALL else -1)
        sign.append(turn)
    return to, sign
