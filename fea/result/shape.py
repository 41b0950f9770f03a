"""The members' walls as surfaces, where they are and how far they move.

Every wall of every section becomes strips of quadrilaterals along its element; each of
its points moves with the section (six motions) and by warping, so an open section is
seen to warp.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.element import beam
from fea.result.metal import Sheeting, sheeting
from fea.result.stress import Stress, stresses
from fea.solve.condense import MIRROR, Metal

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Surface:
    """Walls as quadrilaterals.

    Attributes
    ----------
    points, movement : (n, 3), mm
    von_mises : (n,), MPa, none (NaN) where it was not worked out
    quads : (m, 4), point numbers
    member : (m,), the member of each quad, index into the mesh's members
    section : the section's name of each quad
    """

    points: Array
    movement: Array
    von_mises: Array
    quads: NDArray[np.intp]
    member: NDArray[np.intp]
    section: tuple[str, ...]


def axis_motion(solution: Solution, places: Array) -> Array:
    """Return the natural motions (u v w tx t1 t2 chi) along every element.

    Shape (n_elements, n_places, 7); u at the centroid, v and w at the shear centre, from
    the element's exact solution for loads at its ends, and even loads in bending.
    """
    beams = solution.mesh.beams
    nodes = solution.mesh.elements.nodes
    ends = solution.u.reshape(-1, beam.N_FREEDOMS)[nodes].reshape(len(nodes), 2 * beam.N_FREEDOMS)
    natural = np.einsum("nij,nj->ni", beam.geometry(beams), ends)
    shapes, _ = beam.shape_functions(beams, places)
    out = np.einsum("nsri,ni->nsr", shapes, natural)
    bubble = (places * (1.0 - places)) ** 2
    for row, EI, load in ((1, beams.EI2, 1), (2, beams.EI1, 2)):
        q = solution.loads.element_load[:, load]
        out[:, :, row] += (q * beams.length**4 / (24.0 * EI))[:, None] * bubble
    return np.asarray(out)


def surface(
    solution: Solution,
    pieces: int = 8,
    *,
    sheets: Sequence[Sheeting] | None = None,
    stress: bool = True,
) -> Surface:
    """Return the walls of all members with their movement and stress.

    Parameters
    ----------
    pieces : int
        Strips per element along its length.
    sheets : sequence of Sheeting, optional
        The joints' metal, if it was gathered already.
    stress : bool
        Whether the stress in the joints' metal is wanted, which takes most of the time.
    """
    places = np.linspace(0.0, 1.0, pieces + 1)
    motion = axis_motion(solution, places)
    parts = [_group(solution, motion, places, g) for g in stresses(solution, places)]
    if stress:
        every = sheeting(solution) if sheets is None else sheets
        parts += [_metal(solution, metal) for metal in every]
    else:
        parts += [_moved(solution, piece) for piece in solution.metal]
    offset = np.cumsum([0] + [len(p.points) for p in parts[:-1]])
    return Surface(
        points=np.concatenate([p.points for p in parts]),
        movement=np.concatenate([p.movement for p in parts]),
        von_mises=np.concatenate([p.von_mises for p in parts]),
        quads=np.concatenate([p.quads + o for p, o in zip(parts, offset, strict=True)]),
        member=np.concatenate([p.member for p in parts]),
        section=tuple(name for p in parts for name in p.section),
    )


def _metal(solution: Solution, metal: Sheeting) -> Surface:
    """Return a joint's metal as a surface; its stress is averaged at the points."""
    total = np.bincount(metal.quads.ravel(), np.repeat(metal.von_mises, 4), len(metal.points))
    count = np.bincount(metal.quads.ravel(), minlength=len(metal.points))
    return Surface(
        points=metal.points,
        movement=metal.movement,
        von_mises=total / np.maximum(count, 1),
        quads=metal.quads,
        member=_numbers(solution, metal.members)[metal.member],
        section=(f"sheet metal, {metal.name}",) * len(metal.quads),
    )


def _moved(solution: Solution, piece: Metal) -> Surface:
    """Return a joint's metal as it moves, in single precision, which is plenty for the eye."""
    kept, canon = piece.kept, piece.patch.canon
    flip = MIRROR[:3] if canon.mirrored else np.ones(3)
    motion = kept.recover @ piece.canonical(solution.u).astype(np.float32)
    return Surface(
        points=(kept.points + canon.origin) * flip,
        movement=motion.reshape(-1, 6)[:, :3] * flip,
        von_mises=np.full(len(kept.points), np.nan),
        quads=kept.quads,
        member=_numbers(solution, canon.members)[kept.member],
        section=(f"sheet metal, {piece.patch.name}",) * len(kept.quads),
    )


def _numbers(solution: Solution, members: Sequence[str]) -> Index:
    """Return the numbers of members in the mesh."""
    number = {name: k for k, name in enumerate(solution.mesh.members)}
    return np.array([number[name] for name in members], dtype=np.intp)


def _mitre(nodes: Index, member: Index, points: Array, movement: Array) -> None:
    """Close the gaps that kinks leave between neighbouring elements, in place.

    For the eye only: the cut faces of two elements that meet are brought to their mean.
    """
    meet = (nodes[:-1, 1] == nodes[1:, 0]) & (member[:-1] == member[1:])
    for values in (points, movement):
        mean = 0.5 * (values[:-1, -1] + values[1:, 0])[meet]
        values[:-1, -1][meet] = mean
        values[1:, 0][meet] = mean


def _group(solution: Solution, motion: Array, places: Array, group: Stress) -> Surface:
    mesh, beams = solution.mesh, solution.mesh.beams
    e = group.elements
    section = mesh.sections[group.section]
    line = mesh.origin_lines()[:, e]
    centre = beams.centroid[e[0]]
    p, q = section.point_y, section.point_z  # from the centroid
    y, z = p + centre[0], q + centre[1]  # from the origin
    axes = beams.axes[e]
    origin = line[0][:, None] + places[None, :, None] * (line[1] - line[0])[:, None]
    across = y[:, None] * axes[:, None, 1] + z[:, None] * axes[:, None, 2]
    points = origin[:, :, None, :] + across[:, None]
    m = motion[e][:, :, None, :]
    shear = beams.shear_centre[e[0]]
    local = np.stack(
        [
            m[..., 0] + m[..., 4] * q - m[..., 5] * p + m[..., 6] * section.omega,
            m[..., 1] - m[..., 3] * (z - shear[1]),
            m[..., 2] + m[..., 3] * (y - shear[0]),
        ],
        axis=-1,
    )
    movement = np.einsum("espj,ejk->espk", local, axes)
    _mitre(mesh.elements.nodes[e], mesh.elements.member[e], points, movement)
    n_e, n_s, n_p = points.shape[:3]
    number = np.arange(n_e * n_s * n_p).reshape(n_e, n_s, n_p)
    a, b = number[:, :, 0::2], number[:, :, 1::2]
    quads = np.stack([a[:, :-1], a[:, 1:], b[:, 1:], b[:, :-1]], axis=-1)
    return Surface(
        points=points.reshape(-1, 3),
        movement=movement.reshape(-1, 3),
        von_mises=group.von_mises.reshape(-1),
        quads=quads.reshape(-1, 4),
        member=np.repeat(mesh.elements.member[e], quads[0].size // 4),
        section=(mesh.section_names[group.section],) * (quads.size // 4),
    )
