"""The members' walls made ready to draw: deflected corners, lit colours, folds and free edges.

The light is worked out here, once, so that every renderer is left with filling quadrilaterals.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.out import palette
from fea.out.scene import Field, Scene, Walls

Array = NDArray[np.float64]
Indices = NDArray[np.intp]

LIGHT = np.array([-0.33, -0.48, 0.81])
"""Unit direction to the lamp, vehicle axes: above, ahead, to the left."""
SHADE, GLOW = 0.60, 0.46
"""Brightness of a wall edge-on to the light, and what full light adds."""
FOLD = np.cos(np.deg2rad(35.0))
"""Walls that meet at a sharper angle than this show a fold line; a tube's facets do not."""
BESIDE = 6.0
"""How far inside its wall, mm, a point stands for the edge when asking whether it is hidden."""


@dataclass(frozen=True, eq=False)
class Surface:
    """Walls ready to draw.

    Attributes
    ----------
    corners : array (m, 4, 3), mm
    colours : array (m, 4, 3), sRGB 0 to 1, light included
    edges : array (e, 2, 3), mm, folds and free edges, once for each wall that meets there
    beside : array (e, 2, 3), mm, the same a little inside that wall
        An edge is in sight where its wall is: so a crossmember's end shows inside the rail
        that it butts against, and not through the web.
    """

    corners: Array
    colours: Array
    edges: Array
    beside: Array


def value_range(field: Field) -> tuple[float, float]:
    """Return the lowest and highest value of the colour scale; it starts at 0 when near it."""
    finite = field.values[np.isfinite(field.values)]
    if finite.size == 0:
        return 0.0, 1.0
    low, high = float(finite.min()), float(finite.max())
    if 0.0 <= low < 0.4 * high:
        low = 0.0
    if high - low <= 1e-12 * max(abs(low), abs(high), 1e-300):
        high = low + max(abs(low), 1.0)
    return low, high


def highest(field: Field) -> int | None:
    """Return the point where a field is highest; None where it has no values or but one."""
    if not np.isfinite(field.values).any():
        return None
    low, high = value_range(field)
    if np.nanmin(field.values) >= high - 1e-9 * abs(high - low):
        return None
    return int(np.nanargmax(field.values))


def highest_words(field: Field, point: int) -> str:
    """Return the value at a field's highest point as the pictures write it."""
    return f"{field.values[point]:.3g} {field.unit}"


def frame_length(scene: Scene) -> float:
    """Return the frame's extent along the stations, mm."""
    x = every_point(scene)[:, 0]
    return float(np.ptp(x)) if x.size else 0.0


def every_point(scene: Scene) -> Array:
    """Return all undeformed points of walls, reference lines and bodies, shape (n, 3), mm."""
    lines = (line.points for line in scene.lines)
    return np.concatenate([scene.walls.points, *lines, *(b.points for b in scene.bodies)])


def moved(walls: Walls, scale: float) -> Array:
    """Return the wall points with their movement drawn `scale` times, shape (n, 3), mm."""
    return walls.points + scale * walls.movement


def normals(corners: Array) -> Array:
    """Return unit normals of quadrilaterals (m, 4, 3) from their diagonals; either sign."""
    cross = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])
    length = np.linalg.norm(cross, axis=1, keepdims=True)
    unit: Array = np.divide(cross, length, out=np.zeros_like(cross), where=length > 0.0)
    return unit


def brightness(corners: Array) -> Array:
    """Return the light on each quadrilateral, shape (m,); both faces of a wall are lit alike."""
    return np.asarray(SHADE + GLOW * np.abs(normals(corners) @ LIGHT))


def fold_edges(walls: Walls) -> tuple[Indices, Indices]:
    """Return the folds and free edges of each member's walls.

    Points of one member at the same place count as one, whether or not the walls share them.

    Returns
    -------
    ends : integer array (e, 2), point numbers; a fold comes once for each wall that meets there
    quads : integer array (e,), that wall
    """
    if len(walls.quads) == 0:
        return np.empty((0, 2), dtype=np.intp), np.empty(0, dtype=np.intp)
    place = np.rint(walls.points[walls.quads] * 50.0).reshape(-1, 3)  # 0.02 mm apart is the same
    keyed = np.column_stack([place, np.repeat(walls.member, 4)])
    _, same = np.unique(keyed, axis=0, return_inverse=True)
    sides = _sides(same.reshape(-1, 4))
    owner = np.repeat(np.arange(len(walls.quads)), 4)
    real = sides[:, 0] != sides[:, 1]
    _, start, edge, count = np.unique(
        np.sort(sides[real], axis=1),
        axis=0,
        return_index=True,
        return_inverse=True,
        return_counts=True,
    )
    edge = edge.reshape(-1)
    # Compare every wall at an edge with the edge's first wall: one sharp angle makes a fold.
    normal = normals(walls.points[walls.quads])[owner[real]]
    flat = np.abs(np.einsum("ij,ij->i", normal, normal[start][edge]))
    sharpest = np.ones(len(count))
    np.minimum.at(sharpest, edge, flat)
    shown = ((count == 1) | (sharpest < FOLD))[edge]
    return _sides(walls.quads)[real][shown], owner[real][shown]


def _sides(quads: Indices) -> Indices:
    """Return the four sides of each quadrilateral as number pairs, shape (4 m, 2)."""
    return np.stack([quads, np.roll(quads, -1, axis=1)], axis=2).reshape(-1, 2)


def edges_at_rest(walls: Walls) -> tuple[Indices, Array, Array]:
    """Return edges as point pairs (e, 2), as lines (e, 2, 3), and the way inward (e, 3), mm."""
    return _edges(walls, walls.points)


def _edges(walls: Walls, points: Array) -> tuple[Indices, Array, Array]:
    """Return edges of walls with given points, and the short step from each into its wall."""
    ends, quads = fold_edges(walls)
    lines = points[ends]
    along = lines[:, 1] - lines[:, 0]
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    inward = points[walls.quads[quads]].mean(axis=1) - lines.mean(axis=1)
    inward -= np.einsum("ij,ij->i", inward, along)[:, None] * along
    reach = np.linalg.norm(inward, axis=1, keepdims=True)
    inward *= np.minimum(BESIDE, reach) / np.maximum(reach, 1e-9)
    return ends, lines, inward


def coloured(scene: Scene, scale: float) -> Surface:
    """Return the deflected walls, coloured by the scene's first field."""
    walls = scene.walls
    points = moved(walls, scale)
    corners = points[walls.quads]
    if walls.fields:
        paint = palette.colours(walls.fields[0].values, *value_range(walls.fields[0]))
        base = paint[walls.quads]
    else:
        base = np.broadcast_to(palette.rgb(palette.THEME.no_value), corners.shape)
    lit = np.clip(base * brightness(corners)[:, None, None], 0.0, 1.0)
    _, lines, inward = _edges(walls, points)
    return Surface(corners, lit, lines, lines + inward[:, None, :])


def ghost(scene: Scene) -> Surface:
    """Return the undeformed walls in a faint plain colour."""
    walls = scene.walls
    corners = walls.points[walls.quads]
    base = palette.rgb(palette.THEME.ghost)
    light = 0.9 + 0.1 * brightness(corners)[:, None, None]
    lit = np.clip(np.broadcast_to(base, corners.shape) * light, 0.0, 1.0)
    _, lines, inward = edges_at_rest(walls)
    return Surface(corners, lit, lines, lines + inward[:, None, :])
