"""What is done to a rendered picture afterwards, the same for every renderer.

Hollows are darkened and steps in depth get an outline, both from the depth buffer alone; folds
and free edges are drawn as lines that walls in front of them hide. So an open channel reads as
an open channel, whichever renderer filled its walls.
"""

import numpy as np
from numpy.typing import NDArray

from fea.out import palette
from fea.out.camera import Camera, Window
from fea.out.raster import Buffers, Image
from fea.out.surface import Surface

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
Mask = NDArray[np.bool_]

EDGE_SLACK = 2.5
"""How far behind the nearest wall a point may lie and still count as in sight, mm."""


def _box_blur(image: Image, reach: int) -> Image:
    """Return the mean over a square of 2 reach + 1 pixels about each pixel, borders repeated."""
    for axis in (0, 1):
        pad = [(reach + 1, reach) if k == axis else (0, 0) for k in (0, 1)]
        total = np.cumsum(np.pad(image, pad, mode="edge"), axis=axis, dtype=np.float64)
        n = image.shape[axis]
        ahead, behind = np.arange(n) + 2 * reach + 1, np.arange(n)
        image = ((total.take(ahead, axis) - total.take(behind, axis)) / (2 * reach + 1)).astype(
            np.float32
        )
    return image


def hollows(buffers: Buffers, mm_per_pixel: float, depth: float = 90.0) -> Image:
    """Return a factor, 1 or less, that darkens what lies behind its surroundings.

    The depth buffer less its own blur, after Luft, Colditz and Deussen, "Image enhancement by
    unsharp masking the depth buffer", 2006.
    """
    there = np.isfinite(buffers.nearness)
    if not there.any():
        return np.ones_like(buffers.nearness)
    # Twist and slope of the view must not count as hollows: take them from the pixel itself.
    reach = max(1, round(0.5 * depth / mm_per_pixel))
    near = np.where(there, buffers.nearness, np.float32(0.0))
    weight = _box_blur(there.astype(np.float32), reach)
    mean = _box_blur(near, reach) / np.maximum(weight, np.float32(1e-6))
    behind = np.clip((mean - near) / depth, 0.0, 1.0) * np.sqrt(np.clip(weight, 0.0, 1.0))
    return np.where(there, 1.0 - 0.45 * behind, 1.0).astype(np.float32)


def steps(buffers: Buffers, mm_per_pixel: float) -> Mask:
    """Return the pixels at the near side of a sudden step in depth: outlines."""
    near = np.where(np.isfinite(buffers.nearness), buffers.nearness, np.float32(-1e6))
    jump = np.float32(max(12.0, 9.0 * mm_per_pixel))
    edge = np.zeros(near.shape, dtype=bool)
    for axis in (0, 1):
        for turn in (1, -1):
            edge |= near - np.roll(near, turn, axis=axis) > jump
    return edge & np.isfinite(buffers.nearness)


def visible_lines(
    surface: Surface, buffers: Buffers, camera: Camera, window: Window, *, thick: int = 2
) -> Mask:
    """Return the pixels of a surface's edges that no wall hides."""
    high, wide = buffers.nearness.shape
    shown = np.zeros((high, wide), dtype=bool)
    if len(surface.edges) == 0:
        return shown
    edge = window.to_pixels(camera.project(surface.edges), (wide, high))
    beside = window.to_pixels(camera.project(surface.beside), (wide, high))
    count = np.ceil(np.abs(edge[:, 1, :2] - edge[:, 0, :2]).max(axis=1) * 1.5).astype(np.intp) + 2
    which = np.repeat(np.arange(len(edge)), count)
    nth = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    part = (nth / (count[which] - 1))[:, None]
    at = beside[which, 0] * (1.0 - part) + beside[which, 1] * part
    row, column, inside = _cells(at, shown.shape)
    free = inside.copy()
    free[inside] = at[inside, 2] + EDGE_SLACK >= buffers.nearness[row, column]
    at = (edge[which, 0] * (1.0 - part) + edge[which, 1] * part)[free]
    for right in range(thick):
        for down in range(thick):
            shift = np.array([right, down, 0.5 * (thick - 1)]) - 0.5 * (thick - 1)
            row, column, _ = _cells(at + shift, shown.shape)
            shown[row, column] = True
    return shown


def _cells(at: Array, shape: tuple[int, ...]) -> tuple[Indices, Indices, Mask]:
    """Return rows and columns of the points inside the image, and which points those are."""
    column, row = np.floor(at[:, 0]).astype(np.intp), np.floor(at[:, 1]).astype(np.intp)
    inside = (row >= 0) & (row < shape[0]) & (column >= 0) & (column < shape[1])
    return row[inside], column[inside], inside


def paint(image: Image, mask: Mask, colour: Array, strength: float) -> None:
    """Mix a colour into the masked pixels of an image, in place."""
    image[mask] = (1.0 - strength) * image[mask] + strength * colour.astype(np.float32)


def halve(image: Image, factor: int) -> Image:
    """Return an image shrunk by a whole factor, each pixel the mean of a square."""
    high, wide = image.shape[0] // factor, image.shape[1] // factor
    cut = image[: high * factor, : wide * factor]
    blocks = cut.reshape(high, factor, wide, factor, *image.shape[2:])
    small: Image = blocks.mean(axis=(1, 3), dtype=np.float32)
    return small


def finished(
    surface: Surface,
    buffers: Buffers,
    camera: Camera,
    window: Window,
    *,
    edge: str,
    strength: float,
) -> Image:
    """Return the rendered colours with hollows, outlines and edges worked in.

    Parameters
    ----------
    edge : str
        Colour of the lines, #rrggbb.
    strength : float
        How much of that colour the lines take, 0 to 1.
    """
    mm_per_pixel = window.width / buffers.nearness.shape[1]
    image = buffers.colour * hollows(buffers, mm_per_pixel)[..., None]
    lines = steps(buffers, mm_per_pixel) | visible_lines(surface, buffers, camera, window)
    paint(image, lines, palette.rgb(edge), strength)
    return image
