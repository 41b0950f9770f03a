"""Gussets: triangular plates in the corners between a member's end and a rail, as quads.

A plate lies at the height of the member's upper or lower edge, its corner where the rail's
inboard edge (the lip of an open rail, the wall of a closed one) meets the member's side.  It
is cut into three four-sided fields by its centre and the middles of its sides.  A side where
the rail does not reach along the whole leg gets none.
"""

from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.crossing import axes_at, runs_at, tip
from fea.frame.model import Frame, Gusset, Joint
from fea.mesh.sweep import coarse, place_section

Array = NDArray[np.float64]
Index = NDArray[np.intp]

NEAR = 30.0
"""How far in height the plate may lie from the edge of a rail it is welded to, mm."""


@dataclass(frozen=True, eq=False)
class Triangle:
    """A meshed plate.

    Attributes
    ----------
    corners : (3, 3), mm; legs run from the first to the second (along the rail) and to the third
    shares : (n, 3), of the corners in every point; points : (n, 3), mm
    quads : (m, 4)
    on_rail, on_member : which points lie on its two legs
    """

    corners: Array
    shares: Array
    quads: Index
    on_rail: Index
    on_member: Index

    @property
    def points(self) -> Array:
        """Where its points are, (n, 3), mm."""
        return np.asarray(self.shares @ self.corners)

    @property
    def area(self) -> float:
        """Its area, mm2."""
        a, b = self.corners[1:] - self.corners[0]
        return 0.5 * float(np.linalg.norm(np.cross(a, b)))


def levels(gusset: Gusset) -> tuple[int, ...]:
    """Return 1 for a plate at the top, -1 for one at the bottom."""
    return {"top": (1,), "bottom": (-1,), "both": (1, -1)}[gusset.at]


def triangles(frame: Frame, joint: Joint, size: float) -> list[Triangle]:
    """Return the plates of a joint meshed with edges of about `size` mm."""
    gusset = joint.gusset
    if gusset is None:
        return []
    out = []
    for level in levels(gusset):
        for side in (-1.0, 1.0):
            corners = _corners(frame, joint, gusset.legs, level, side)
            if corners is not None:
                out.append(mesh(corners, max(1, ceil(0.5 * gusset.legs / size))))
    return out


def lip(frame: Frame, joint: Joint, at: Array) -> float | None:
    """Return how far inward the rail reaches at the height of a point, mm from its line.

    None where it has neither an edge near that height nor a wall across it.
    """
    onto = frame.member(joint.onto)
    local = axes_at(onto, joint.distance)
    inward = float(np.sign(tip(frame.member(joint.member), joint.end)[1] @ local[1]))
    height = float((at - path.point_at(onto.path, joint.distance)) @ local[2])
    found: list[float] = []
    for run in runs_at(onto, joint.distance):
        line = run.section.midline
        near = line.points[np.abs(line.points[:, 1] - height) <= NEAR]
        found += (inward * near[:, 0]).tolist()
        for a, b in line.points[line.walls]:
            if min(a[1], b[1]) < height < max(a[1], b[1]):
                f = (height - a[1]) / (b[1] - a[1])
                found.append(float(inward * (a[0] + f * (b[0] - a[0]))))
    return max(found) if found else None


def _corners(frame: Frame, joint: Joint, legs: float, level: int, side: float) -> Array | None:
    """Return a plate's corner, its end along the rail and along the member, (3, 3), mm."""
    member, onto = frame.member(joint.member), frame.member(joint.onto)
    section = coarse(member.runs[0 if joint.end == "start" else -1].section.midline)
    point, inward = tip(member, joint.end)
    distance = 0.0 if joint.end == "start" else float(path.lengths(member.path)[-1])
    local = axes_at(onto, joint.distance)
    place = place_section(member, distance, section.points)
    height = (place - point) @ local[2]
    edge = level * height >= np.max(level * height) - 1.0
    along = (place - point) @ local[0]
    start = place[edge][int(np.argmax(side * along[edge]))]
    reach = lip(frame, joint, start)
    if reach is None:
        return None
    sign = float(np.sign(inward @ local[1]))
    origin = path.point_at(onto.path, joint.distance)
    gap = sign * reach - (start - origin) @ local[1]
    corner = start + gap / (inward @ local[1]) * inward
    end = joint.distance + (corner - origin) @ local[0] + side * legs
    if not -1e-6 <= end <= float(path.lengths(onto.path)[-1]) + 1e-6:
        return None
    return np.array([corner, corner + side * legs * local[0], corner + legs * inward])


def mesh(corners: Array, n: int) -> Triangle:
    """Return a triangle in three fields of n by n quads.

    Parameters
    ----------
    corners : (3, 3); legs run from the first to the second (the rail's) and to the third
    """
    points: list[Array] = []  # as shares of the corners
    number: dict[tuple[float, ...], int] = {}
    on_rail: set[int] = set()
    on_member: set[int] = set()
    quads = []

    def node(shares: Array) -> int:
        key = tuple(np.round(shares, 9).tolist())
        if key not in number:
            number[key] = len(points)
            points.append(shares)
            if key[2] == 0.0:
                on_rail.add(number[key])
            if key[1] == 0.0:
                on_member.add(number[key])
        return number[key]

    one = np.eye(3)
    for k in range(3):
        a, b, c = one[k], one[(k + 1) % 3], one[(k + 2) % 3]
        field = (a, 0.5 * (a + b), (a + b + c) / 3.0, 0.5 * (a + c))
        grid = np.empty((n + 1, n + 1), dtype=np.intp)
        for i in range(n + 1):
            for j in range(n + 1):
                u, v = i / n, j / n
                weight = ((1 - u) * (1 - v), u * (1 - v), u * v, (1 - u) * v)
                grid[i, j] = node(sum(w * f for w, f in zip(weight, field, strict=True)) + 0.0)
        four = [grid[:-1, :-1], grid[1:, :-1], grid[1:, 1:], grid[:-1, 1:]]
        quads.append(np.stack([g.ravel() for g in four], axis=1))
    return Triangle(
        corners,
        np.array(points),
        np.concatenate(quads),
        np.array(sorted(on_rail), dtype=np.intp),
        np.array(sorted(on_member - on_rail), dtype=np.intp),
    )
