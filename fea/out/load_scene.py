"""Solved load cases as motions of their frame: the load put on and taken off."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fea.out.camera import auto_scale
from fea.out.moving import Motion, Moving
from fea.out.scene import Scene
from fea.out.surface import frame_length

Array = NDArray[np.float64]


def load_scene(shown: Sequence[Scene], scale: float | None = None) -> Moving:
    """Return the motion of a frame under its cases, one scene for each, all of one mesh.

    Parameters
    ----------
    scale : how many times the movements are drawn; by itself as in the pictures
    """
    first = shown[0]
    still, pairs = _still(first)
    walls = first.walls
    points = [walls.points, *(body.points for body in first.bodies), still]
    starts = np.cumsum([0, *(len(p) for p in points[:-1])])
    lines = [body.beams + at for body, at in zip(first.bodies, starts[1:-1], strict=True)]
    return Moving(
        title=first.title,
        subtitle="load put on and taken off",
        points=np.concatenate(points),
        quads=walls.quads,
        lines=np.concatenate([*lines, pairs + starts[-1]]),
        motions=tuple(_motion(one, scale, len(still)) for one in shown),
        loaded=True,
    )


def _motion(shown: Scene, scale: float | None, n_still: int) -> Motion:
    walls = shown.walls
    drawn = auto_scale(walls.movement, frame_length(shown)) if scale is None else scale
    moves = [walls.movement, *(b.movement for b in shown.bodies), np.zeros((n_still, 3))]
    movement = np.concatenate(moves)
    largest = float(np.linalg.norm(movement, axis=1).max()) or 1.0
    field = walls.fields[0]
    top = float(np.nanmax(field.values)) or 1.0
    values = np.full(len(movement), np.nan)
    values[: len(walls.points)] = field.values / top
    return Motion(
        label=shown.subtitle,
        movement=movement / largest,
        size=drawn * largest,
        values=values,
        key=(field.name, f"{top:.3g} {field.unit}"),
        times=drawn,
        note=": ".join(shown.facts[0]) if shown.facts else "",
    )


def _still(shown: Scene) -> tuple[Array, NDArray[np.intp]]:
    """Return the members' reference lines at rest, as points and pairs of them."""
    points, pairs = [np.zeros((0, 3))], [np.zeros((0, 2), dtype=np.intp)]
    first = 0
    for line in shown.lines:
        n = len(line.points)
        points.append(line.points)
        pairs.append(first + np.column_stack([np.arange(n - 1), np.arange(1, n)]))
        first += n
    return np.concatenate(points), np.concatenate(pairs)
