"""Four-node shear panels: sheets that carry shear in their own plane and nothing else.

A stiffened thin wall is taken apart into bars that carry the normal stresses and sheets
that carry a shear flow between them (Wagner's idealisation [1]_, Garvey's for sheets
that are not rectangles [2]_).  Here one shear strain stands for the whole sheet: the
mean over its area of that of the bilinear field between its corners.  By Gauss's theorem
a mean slope depends on the differences across the two diagonals alone::

    mean df/dx = ((f1 - f3) (y2 - y4) + (f2 - f4) (y3 - y1)) / 2A
    mean df/dy = ((f1 - f3) (x4 - x2) + (f2 - f4) (x1 - x3)) / 2A

so a linear field gives its own shear strain on any quadrilateral.  With b that row,
the stiffness is ``G t A b b'``; stretching along either axis costs nothing.

The axes in which shear is meant follow the sheet: as near as two lines at right angles
can be to the lines that join the middles of opposite edges; a rectangle's are its edges.
They do not depend on the corner the sheet is begun at, nor on the side it is seen from.

Corners out of one plane: the plane is the one parallel to both diagonals.  The ends of a
diagonal lie equally far from it, so rigid motions cost nothing whatever the warp, and
the corner forces balance.

References
----------
Both from memory.

.. [1] H. Wagner, Ebene Blechwandträger mit sehr dünnem Stegblech, Zeitschrift für
   Flugtechnik und Motorluftschiffahrt 20, 1929.
.. [2] S. J. Garvey, The quadrilateral shear panel, Aircraft Engineering 23, 1951.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Panels:
    """Shear panels, one row each.

    Attributes
    ----------
    corners : (n, 4, 3), mm, in order round the sheet
    thickness : (n,), mm
    G : (n,), MPa
    """

    corners: Array
    thickness: Array
    G: Array


def axes(corners: Array) -> Array:
    """Return unit vectors of the panels' axes, rows x, y and normal, shape (n, 3, 3)."""
    p1, p2, p3, p4 = np.moveaxis(corners, 1, 0)
    along, across = _unit(p2 + p3 - p1 - p4), _unit(p3 + p4 - p1 - p2)
    # Sum and difference of two unit vectors are at right angles, half-way between them.
    between, beyond = _unit(along + across), _unit(along - across)
    x, y = (between + beyond) / np.sqrt(2.0), (between - beyond) / np.sqrt(2.0)
    return np.stack([x, y, np.cross(x, y)], axis=1)


def area(corners: Array) -> Array:
    """Return the areas of the panels in their planes, shape (n,), mm2."""
    cross = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])
    return np.asarray(0.5 * np.linalg.norm(cross, axis=1))


def flatness(corners: Array) -> Array:
    """Return how far the corners lie off the panel's plane, shape (n,), mm."""
    off = corners - corners.mean(axis=1, keepdims=True)
    normal = axes(corners)[:, 2]
    return np.asarray(np.max(np.abs(np.einsum("nci,ni->nc", off, normal)), axis=1))


def is_convex(corners: Array) -> NDArray[np.bool_]:
    """Whether the corners go round a sheet without a bay, shape (n,)."""
    edges = np.roll(corners, -1, axis=1) - corners
    turns = np.cross(edges, np.roll(edges, -1, axis=1))
    diagonals = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])
    return np.asarray(np.all(np.einsum("nci,ni->nc", turns, diagonals) > 0.0, axis=1))


def shear_rows(corners: Array) -> Array:
    """Return b, the mean shear strain from the corners' movements, shape (n, 12), 1/mm."""
    frame = axes(corners)
    plane = np.einsum("nci,nai->nca", corners, frame[:, :2])
    across = plane - np.roll(plane, -2, axis=1)  # each corner from the opposite one
    # Slope by x takes y of the other diagonal, and the other way round.
    other = np.roll(across, -1, axis=1)
    twice = 2.0 * area(corners)[:, None]
    by_x, by_y = other[:, :, 1] / twice, -other[:, :, 0] / twice
    rows = by_y[:, :, None] * frame[:, None, 0] + by_x[:, :, None] * frame[:, None, 1]
    return np.asarray(rows.reshape(len(corners), 12))


def stiffness(panels: Panels) -> Array:
    """Return the stiffness in the corners' movements, shape (n, 12, 12), N/mm.

    Freedoms: ux uy uz of each corner in turn, vehicle axes.
    """
    size = panels.G * panels.thickness * area(panels.corners)
    b = np.sqrt(size)[:, None] * shear_rows(panels.corners)
    return np.asarray(b[:, :, None] * b[:, None, :])


def _unit(v: Array) -> Array:
    return np.asarray(v / np.linalg.norm(v, axis=-1, keepdims=True))
