"""The frame itself as picture layers: the undeflected frame faint, the deflected one over it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.out import finish, raster, surface
from fea.out.camera import Camera, Window
from fea.out.display import SOFTWARE, Display
from fea.out.palette import THEME
from fea.out.raster import Buffers, Image
from fea.out.scene import Scene
from fea.out.surface import Surface

FINE = 2
"""Pixels drawn to one pixel shown, each way: smooths the edges alike in both renderers."""


@dataclass(frozen=True, eq=False)
class Layers:
    """Two layers, arrays (rows, columns, 4), red green blue and cover, 0 to 1, top row first."""

    ghost: Image
    frame: Image

    @property
    def drawn(self) -> NDArray[np.bool_]:
        """Pixels where anything is drawn, (rows, columns), top row first."""
        return (self.ghost[..., 3] > 0.1) | (self.frame[..., 3] > 0.1)


def draw(
    scene: Scene,
    scale: float,
    camera: Camera,
    window: Window,
    *,
    size: tuple[int, int],
    display: Display,
) -> Layers:
    """Return the frame drawn with its movements `scale` times.

    Parameters
    ----------
    size : columns, rows of the picture
    display : Display
        The renderer; both give nearly the same picture.
    """
    ghost, frame = surface.ghost(scene), surface.coloured(scene, scale)
    if len(scene.walls.quads) == 0:
        blank = np.zeros((size[1], size[0], 4), dtype=np.float32)
        return Layers(blank, blank)
    fine = (size[0] * FINE, size[1] * FINE)
    return Layers(
        _layer(
            ghost,
            _render(ghost, camera, window, size=fine, display=display),
            camera,
            window,
            edge=THEME.ghost_edge,
            strength=0.8,
        ),
        _layer(
            frame,
            _render(frame, camera, window, size=fine, display=display),
            camera,
            window,
            edge=THEME.edge,
            strength=0.65,
        ),
    )


def _render(
    shape: Surface, camera: Camera, window: Window, *, size: tuple[int, int], display: Display
) -> Buffers:
    if display.renderer == SOFTWARE:
        return raster.render(shape.corners, shape.colours, camera, window, size=size)
    from fea.out import gl

    return gl.render(shape.corners, shape.colours, camera, window, size=size, display=display)


def _layer(
    shape: Surface, buffers: Buffers, camera: Camera, window: Window, *, edge: str, strength: float
) -> Image:
    """Return one finished layer, shrunk to the shown size, with its cover as fourth channel."""
    colour = finish.finished(shape, buffers, camera, window, edge=edge, strength=strength)
    there = np.isfinite(buffers.nearness)[..., None].astype(np.float32)
    small = finish.halve(np.concatenate([colour * there, there], axis=2), FINE)
    small[..., :3] /= np.maximum(small[..., 3:], np.float32(1e-6))
    return np.clip(small, 0.0, 1.0)
