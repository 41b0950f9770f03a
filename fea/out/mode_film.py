"""One mode as a moving picture: a GIF, drawn in software so that it is the same everywhere."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.out import palette, raster
from fea.out.camera import STANDARD, Window, fit
from fea.out.files import write_whole
from fea.out.mode_scene import ModeScene, mode_scene
from fea.out.palette import THEME
from fea.out.surface import brightness
from fea.result.modes import FrameModes

Array = NDArray[np.float64]

SIZE = (640, 360)
"""Columns and rows."""

FRAMES, MILLISECONDS = 16, 70
"""Pictures in one swing, and how long each is shown."""


def write_mode_film(found: FrameModes, number: int, path: Path) -> None:
    """Write a mode, counted from 0, as a GIF that swings for ever."""
    from PIL import Image

    scene = mode_scene(found)
    pictures = [Image.fromarray(p) for p in film(scene, number)]
    for picture in pictures:
        _caption(picture, scene, number)
    small = [p.quantize(128) for p in pictures]

    def save(place: Path) -> None:
        small[0].save(
            place,
            format="GIF",
            save_all=True,
            append_images=small[1:],
            duration=MILLISECONDS,
            loop=0,
        )

    write_whole(path, save)


def film(scene: ModeScene, number: int) -> list[NDArray[np.uint8]]:
    """Return the pictures of one swing, (rows, columns, 3) each."""
    move = scene.size * scene.movement[number]
    size = np.linalg.norm(scene.movement[number], axis=1)
    extremes = np.concatenate([scene.points - move, scene.points + move])
    window = fit(STANDARD.project(extremes), SIZE[0] / SIZE[1], pad=(0.04, 0.04, 0.05, 0.12))
    colour = palette.colours(size, 0.0, 1.0)[scene.quads]
    out = []
    for phase in np.linspace(0.0, 2.0 * np.pi, FRAMES, endpoint=False):
        out.append(_picture(scene, scene.points + np.sin(phase) * move, colour, window))
    return out


def _picture(scene: ModeScene, points: Array, colour: Array, window: Window) -> NDArray[np.uint8]:
    corners = points[scene.quads]
    if len(scene.lines):
        ribbon, paint = _ribbons(points[scene.lines], window)
        corners = np.concatenate([corners, ribbon])
        colour = np.concatenate([colour, paint])
    lit = np.clip(colour * brightness(corners)[:, None, None], 0.0, 1.0)
    fine = (2 * SIZE[0], 2 * SIZE[1])
    drawn = raster.render(corners, lit, STANDARD, window, size=fine).colour
    small = drawn.reshape(SIZE[1], 2, SIZE[0], 2, 3).mean(axis=(1, 3))
    return np.asarray(np.rint(255.0 * small), dtype=np.uint8)


def _ribbons(ends: Array, window: Window) -> tuple[Array, Array]:
    """Return the bodies' beams as narrow quadrilaterals towards the viewer, and their colour."""
    along = ends[:, 1] - ends[:, 0]
    across = np.cross(along, STANDARD.axes[2])
    long = np.linalg.norm(across, axis=1, keepdims=True)
    across = across / np.where(long > 0.0, long, 1.0) * window.width / SIZE[0]
    corners = np.stack(
        [ends[:, 0] - across, ends[:, 1] - across, ends[:, 1] + across, ends[:, 0] + across], axis=1
    )
    return corners, np.broadcast_to(palette.rgb(THEME.quiet), corners.shape)


def _caption(picture: object, scene: ModeScene, number: int) -> None:
    from PIL import ImageDraw, ImageFont

    pen = ImageDraw.Draw(picture)  # type: ignore[arg-type]
    pen.text((16, 10), scene.title, fill=THEME.ink, font=ImageFont.load_default(18))
    pen.text((16, 33), scene.labels[number], fill=THEME.quiet, font=ImageFont.load_default(14))
