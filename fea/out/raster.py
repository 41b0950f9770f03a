"""Filling quadrilaterals by a depth buffer in numpy: the renderer that needs nothing else."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.out.camera import Camera, Window

Array = NDArray[np.float64]
Image = NDArray[np.float32]
Indices = NDArray[np.intp]

_AT_ONCE = 2_000_000  # pixels tried in one go: bounds the memory to some 150 MB


@dataclass(frozen=True, eq=False)
class Buffers:
    """What a renderer hands back.

    Attributes
    ----------
    colour : array (rows, columns, 3), sRGB 0 to 1, top row first; white where nothing is
    nearness : array (rows, columns), mm towards the viewer; minus infinity where nothing is
    """

    colour: Image
    nearness: Image


def render(
    corners: Array, colours: Array, camera: Camera, window: Window, *, size: tuple[int, int]
) -> Buffers:
    """Return quadrilaterals seen by a camera, the nearest wall at each pixel.

    Parameters
    ----------
    corners : array (m, 4, 3), mm
    colours : array (m, 4, 3), sRGB 0 to 1, blended between the corners
    size : columns, rows
    """
    wide, high = size
    colour = np.ones((high * wide, 3), dtype=np.float32)
    nearness = np.full(high * wide, -np.inf, dtype=np.float32)
    pixel = window.to_pixels(camera.project(corners), size)
    split = np.array([[0, 1, 2], [0, 2, 3]])
    triangles = pixel[:, split].reshape(-1, 3, 3)
    paints = colours[:, split].reshape(-1, 3, 3)
    low, count = _boxes(triangles, size)
    area = _cross(
        triangles[:, 1, :2] - triangles[:, 0, :2], triangles[:, 2, :2] - triangles[:, 0, :2]
    )
    seen = np.flatnonzero((count.prod(axis=1) > 0) & (np.abs(area) > 1e-9))
    work = np.cumsum(count[seen].prod(axis=1))
    for batch in np.split(seen, np.flatnonzero(np.diff(work // _AT_ONCE)) + 1):
        _fill(
            triangles[batch],
            paints[batch],
            low[batch],
            count[batch],
            colour=colour,
            nearness=nearness,
            wide=wide,
        )
    return Buffers(colour.reshape(high, wide, 3), nearness.reshape(high, wide))


def _cross(a: Array, b: Array) -> Array:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def _boxes(triangles: Array, size: tuple[int, int]) -> tuple[Indices, Indices]:
    """Return first column and row, and counts, of the pixels whose middles may be inside."""
    flat = triangles[:, :, :2]
    low = np.clip(np.ceil(flat.min(axis=1) - 0.5), 0, size).astype(np.intp)
    high = np.clip(np.floor(flat.max(axis=1) - 0.5) + 1, 0, size).astype(np.intp)
    return low, np.maximum(high - low, 0)


def _fill(
    triangles: Array,
    paints: Array,
    low: Indices,
    count: Indices,
    *,
    colour: Image,
    nearness: Image,
    wide: int,
) -> None:
    """Draw a batch of triangles into the flat buffers."""
    pixels = count.prod(axis=1)
    which = np.repeat(np.arange(len(triangles)), pixels)
    nth = np.arange(len(which)) - np.repeat(np.cumsum(pixels) - pixels, pixels)
    column = low[which, 0] + nth % count[which, 0]
    row = low[which, 1] + nth // count[which, 0]
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    area = _cross((b - a)[:, :2], (c - a)[:, :2])
    x, y = column + 0.5 - a[which, 0], row + 0.5 - a[which, 1]
    ab, ac = (b - a) / area[:, None], (c - a) / area[:, None]
    v = x * ac[which, 1] - y * ac[which, 0]  # share of corner b
    w = y * ab[which, 0] - x * ab[which, 1]  # share of corner c
    inside = np.flatnonzero((v >= 0.0) & (w >= 0.0) & (v + w <= 1.0))
    which, v, w = which[inside], v[inside], w[inside]
    place = row[inside] * wide + column[inside]
    near = (a[which, 2] + v * (b - a)[which, 2] + w * (c - a)[which, 2]).astype(np.float32)
    np.maximum.at(nearness, place, near)
    top = np.flatnonzero(near >= nearness[place])
    which, v, w, place = which[top], v[top, None], w[top, None], place[top]
    mixed = paints[which, 0] * (1.0 - v - w) + paints[which, 1] * v + paints[which, 2] * w
    colour[place] = mixed
