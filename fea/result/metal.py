"""What happens inside the joints that are taken as sheet metal: movement and stress."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.element import shell
from fea.element.shell import Shells
from fea.solve.condense import MIRROR, Metal

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Sheeting:
    """The metal of one patch under one case.

    Attributes
    ----------
    points, movement : (n, 3), mm, vehicle axes
    quads : (m, 4); member : (m,), index into `members`
    von_mises : (m,), MPa, at the middle of each quadrilateral, the worse surface
    """

    name: str
    points: Array
    movement: Array
    quads: NDArray[np.intp]
    member: NDArray[np.intp]
    members: tuple[str, ...]
    von_mises: Array


@dataclass(frozen=True)
class JointPeak:
    """The highest von Mises stress in the metal of a joint, MPa, and where, mm.

    Taken at the middle of quadrilaterals about 6 mm wide: at a weld's corner the shells'
    stress grows without bound as they get smaller, so it ranks joints, and is no limit.
    """

    joint: str
    member: str
    von_mises: float
    station: float
    offset: float
    height: float


def sheeting(solution: Solution) -> list[Sheeting]:
    """Return the metal of every patch as it moves and is stressed."""
    return [_one(piece, solution.u) for piece in solution.metal]


def _one(piece: Metal, u: Array) -> Sheeting:
    kept, canon = piece.kept, piece.patch.canon
    motion = (kept.recover @ piece.canonical(u)).reshape(-1, 6)
    corners = kept.points[kept.quads]
    shells = Shells(corners, kept.thickness, kept.E, kept.nu)
    found = shell.stress(shells, motion[kept.quads].reshape(len(kept.quads), -1))
    worse = np.maximum(found.von_mises_top[:, 0], found.von_mises_bottom[:, 0])
    flip = MIRROR[:3] if canon.mirrored else np.ones(3)
    return Sheeting(
        name=piece.patch.name,
        points=(kept.points + canon.origin) * flip,
        movement=motion[:, :3] * flip,
        quads=kept.quads,
        member=kept.member,
        members=canon.members,
        von_mises=worse,
    )


def joint_peaks(solution: Solution) -> list[JointPeak]:
    """Return the highest stress of every patch, highest first."""
    peaks = []
    for metal in sheeting(solution):
        k = int(np.argmax(metal.von_mises))
        x, y, z = metal.points[metal.quads[k]].mean(axis=0).tolist()
        member = metal.members[int(metal.member[k])]
        peaks.append(JointPeak(metal.name, member, float(metal.von_mises[k]), x, y, z))
    return sorted(peaks, key=lambda p: -p.von_mises)
