"""A bulkhead as quadrilaterals: a four-sided plate across a member."""

from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from fea.frame.model import Bulkhead, Member
from fea.mesh.sweep import place_section

Array = NDArray[np.float64]
Index = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Plate:
    """A meshed bulkhead.

    Attributes
    ----------
    points : (n, 3), mm
    quads : (m, 4)
    rim : points that lie on its four edges
    """

    points: Array
    quads: Index
    rim: Index


def corner_points(member: Member, bulkhead: Bulkhead) -> Array:
    """Return the plate's corners in the vehicle, (4, 3), mm."""
    return place_section(member, bulkhead.distance, bulkhead.corners)


def area(member: Member, bulkhead: Bulkhead) -> float:
    """Return the plate's area, mm2."""
    a, b, c, d = corner_points(member, bulkhead)
    return 0.5 * float(np.linalg.norm(np.cross(c - a, d - b)))


def mesh(member: Member, bulkhead: Bulkhead, size: float) -> Plate:
    """Return the plate cut into quadrilaterals of about `size` mm.

    Its first edge runs along a flange, from the tip to the web.
    """
    a, b, c, d = corner_points(member, bulkhead)
    across, up = (max(2, ceil(float(np.linalg.norm(e)) / size)) for e in (b - a, c - b))
    s, t = (np.linspace(0.0, 1.0, k + 1) for k in (across, up))
    u, v = np.meshgrid(s, t, indexing="ij")
    shares = np.stack([(1 - u) * (1 - v), u * (1 - v), u * v, (1 - u) * v], axis=-1)
    number = np.arange((across + 1) * (up + 1)).reshape(across + 1, up + 1)
    corners = [number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:]]
    rim = np.unique(np.concatenate([number[0], number[-1], number[:, 0], number[:, -1]]))
    return Plate(
        points=shares.reshape(-1, 4) @ np.stack([a, b, c, d]),
        quads=np.stack(corners, axis=-1).reshape(-1, 4),
        rim=rim,
    )
