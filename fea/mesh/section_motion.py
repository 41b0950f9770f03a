"""How the points of a cross-section move with a beam, and what their mean motion is.

Over a cut the metal moves as the beam's section does: rigid in its plane, axially by the
plane and by warping; how a wall bends out of its plane is left free.
"""

import numpy as np
from numpy.typing import NDArray

from fea.element import beam
from fea.element.beam import Beams, beam_axes
from fea.frame import path
from fea.frame.crossing import axes_at, runs_at
from fea.frame.model import Member
from fea.mesh.mesh import Rows
from fea.mesh.sweep import Profile
from fea.mesh.tie import Ties
from fea.section.properties import SectionProperties, properties

Array = NDArray[np.float64]
Index = NDArray[np.intp]


def tie_to_beam(
    ties: Ties, member: Member, distance: float, row: Index, profile: Profile, first: int
) -> None:
    """Tie a row of nodes to the seven freedoms, from `first` on, of a beam's end."""
    section = runs_at(member, distance)[0].section.midline
    p = properties(section)
    direction = axes_at(member, distance)[:1]
    axes = beam_axes(direction, member.up[None], np.array([p.angle]))
    block = _natural(p, axes, held=1.0 if member.kind == "rail" else 0.0)
    place = (profile.points - p.centroid) @ p.principal_axes.T
    omega = _omega_at(p, section.walls, profile)
    shear = p.principal_axes @ (p.shear_centre - p.centroid)
    freedoms = np.arange(first, first + beam.N_FREEDOMS)
    ahead = (ties.points[row] - path.point_at(member.path, distance)) @ axes[0, 0]
    for node, (y, z), x, w in zip(row, place, ahead, omega, strict=True):
        ties.taken[node] = True
        # Beside a corner the row is slanted: x is how far a node lies ahead of the plane.
        natural = np.stack(
            [
                block[0] + z * block[4] - y * block[5] + w * block[6],
                block[1] - (z - shear[1]) * block[3] + x * block[5],
                block[2] + (y - shear[0]) * block[3] - x * block[4],
            ]
        )
        motion = axes[0].T @ natural
        for c in range(3):
            ties.tie(6 * node + c, freedoms, motion[c])
        ties.turn_with(node, axes[0, 0], freedoms, block[3])


def reference(member: Member, distance: float, row: Index, profile: Profile, points: Array) -> Rows:
    """Return six rows: the mean motion of the wall that holds a member's reference line.

    Of a closed section it is that of all walls.
    """
    run = runs_at(member, distance)[0]
    strips = np.arange(len(profile.strips))
    if run.section.is_open:
        strips = strips[profile.wall == run.section.midline.held_wall]
    weight = np.zeros(len(profile.points))
    for s in strips:
        a, b = profile.strips[s]
        half = 0.5 * float(np.linalg.norm(profile.points[b] - profile.points[a]))
        weight[a] += half
        weight[b] += half
    nodes = row[weight > 0.0]
    share = weight[weight > 0.0] / weight.sum()
    return mean_motion(nodes, points[nodes], share, path.point_at(member.path, distance))


def mean_motion(nodes: Index, points: Array, share: Array, at: Array) -> Rows:
    """Return the weighted mean motion of nodes as six rows at a point.

    Rotations are those that fit the nodes' movements best; about the line of nodes that
    lie in one, the mean of their own rotations.
    """
    centre = share @ points
    r = points - centre
    second = np.einsum("k,ki,kj->ij", share, r, r)
    inertia = np.trace(second) * np.eye(3) - second
    value, vector = np.linalg.eigh(inertia)
    good = value > 1e-9 * value[-1]
    inverse = (vector[:, good] / value[good]) @ vector[:, good].T
    along = vector[:, ~good] @ vector[:, ~good].T
    turn = np.zeros((3, len(nodes), 6))
    turn[:, :, :3] = np.einsum("ij,kjl,k->ikl", inverse, beam.cross_matrix(r), share)
    turn[:, :, 3:] += np.einsum("ij,k->ikj", along, share)
    move = np.zeros((3, len(nodes), 6))
    move[:, :, :3] = np.einsum("ij,k->ikj", np.eye(3), share)
    move += np.einsum("ij,jkl->ikl", -beam.cross_matrix(at - centre), turn)
    both = np.concatenate([move, turn]).reshape(6, -1)
    freedom = (6 * nodes[:, None] + np.arange(6)).ravel()
    row, column = np.nonzero(both)
    return Rows(row.astype(np.intp), freedom[column].astype(np.intp), both[row, column], 6)


def _natural(p: SectionProperties, axes: Array, held: float) -> Array:
    """Return a section's natural motions from its node's seven freedoms, (7, 7)."""
    one, none = np.ones(1), np.zeros((1, 2, 3))
    at = p.principal_axes
    beams = Beams(
        length=one,
        axes=axes,
        arms=none,
        centroid=(at @ p.centroid)[None],
        shear_centre=(at @ p.shear_centre)[None],
        held=none + held * p.held * (p.Cw > 0.0),
        EA=one,
        EI1=one,
        EI2=one,
        GJ=one,
        ECw=one,
        shear=np.zeros((1, 2, 2)),
    )
    return np.asarray(beam.geometry(beams)[0, :7, :7])


def _omega_at(p: SectionProperties, walls: Index, profile: Profile) -> Array:
    """Return the sectorial coordinate of every profile point, linear along each wall."""
    if len(walls) * 2 != len(p.omega) or p.Cw == 0.0 or profile.wall.max() >= len(walls):
        return np.zeros(len(profile.points))
    omega = np.zeros(len(profile.points))
    ends = p.omega.reshape(-1, 2)
    at = np.stack([p.point_y, p.point_z], axis=1).reshape(-1, 2, 2)
    place = (profile.points - p.centroid) @ p.principal_axes.T
    for s, (a, b) in enumerate(profile.strips):
        w = profile.wall[s]
        step = at[w, 1] - at[w, 0]
        for node in (a, b):
            f = float((place[node] - at[w, 0]) @ step / (step @ step))
            omega[node] = ends[w, 0] + f * (ends[w, 1] - ends[w, 0])
    return omega
