"""A motion as a moving picture: a GIF, drawn in software so that it is the same everywhere."""

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.out import palette, raster
from fea.out.camera import STANDARD, Window, fit
from fea.out.files import write_whole
from fea.out.moving import Motion, Moving
from fea.out.palette import THEME
from fea.out.surface import brightness

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw

Array = NDArray[np.float64]
Picture = NDArray[np.uint8]

SIZE = (640, 360)
"""Columns and rows."""

FRAMES, MILLISECONDS = 16, 70
"""Pictures in one round, and how long each is shown."""

ALIKE = 9
"""Decimals of the share of a motion by which its way back shows the pictures of its way there."""

EDGE = 16
"""Pixels kept free beside texts."""

BAR = (150, 9)
"""Columns and rows of the colour bar."""


def write_film(moving: Moving, path: Path, number: int = 0) -> None:
    """Write a motion, counted from 0, as a GIF that goes round for ever."""
    from PIL import Image

    pictures = [Image.fromarray(p) for p in film(moving, number)]
    for picture in pictures:
        _caption(picture, moving, moving.motions[number])
    small = _few_colours(pictures)

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


def _few_colours(pictures: "list[Image]") -> "list[Image]":
    """Return the pictures in 256 colours, the same for all: nothing flickers, paper is white."""
    from PIL import Image

    every = Image.new("RGB", (SIZE[0], SIZE[1] * len(pictures)))
    for k, picture in enumerate(pictures):
        every.paste(picture, (0, k * SIZE[1]))
    shared = every.quantize(255)
    paper = np.rint(255.0 * palette.rgb(THEME.paper)).astype(np.uint8)
    colours = [*(shared.getpalette() or [])[: 3 * 255], *paper.tolist()]
    found = []
    for picture in pictures:
        index = np.array(picture.quantize(palette=shared, dither=Image.Dither.NONE))
        index[(np.asarray(picture) == paper).all(axis=2)] = 255
        found.append(Image.fromarray(index))
        found[-1].putpalette(colours)
    return found


def film(moving: Moving, number: int) -> list[Picture]:
    """Return the pictures of one round without words, (rows, columns, 3) each; rest is first."""
    motion = moving.motions[number]
    shares = moving.shares(FRAMES)
    move = motion.size * motion.movement
    extremes = np.concatenate([moving.points + s * move for s in (shares.min(), shares.max())])
    foot = 0.16 if motion.words() else 0.05
    window = fit(STANDARD.project(extremes), SIZE[0] / SIZE[1], pad=(0.04, 0.04, foot, 0.15))
    drawn: dict[float, Picture] = {}
    order = [round(float(s), ALIKE) for s in shares]
    for share in dict.fromkeys(order):
        values = motion.values * (share if moving.loaded else 1.0)
        colour = palette.colours(values, 0.0, 1.0)[moving.quads]
        drawn[share] = _picture(moving, moving.points + share * move, colour, window)
    return [drawn[share] for share in order]


def _picture(moving: Moving, points: Array, colour: Array, window: Window) -> Picture:
    corners = points[moving.quads]
    if len(moving.lines):
        ribbon, paint = _ribbons(points[moving.lines], window)
        corners = np.concatenate([corners, ribbon])
        colour = np.concatenate([colour, paint])
    lit = np.clip(colour * brightness(corners)[:, None, None], 0.0, 1.0)
    fine = (2 * SIZE[0], 2 * SIZE[1])
    drawn = raster.render(corners, lit, STANDARD, window, size=fine).colour
    small = drawn.reshape(SIZE[1], 2, SIZE[0], 2, 3).mean(axis=(1, 3))
    return np.asarray(np.rint(255.0 * small), dtype=np.uint8)


def _ribbons(ends: Array, window: Window) -> tuple[Array, Array]:
    """Return lines as narrow quadrilaterals towards the viewer, and their colour."""
    along = ends[:, 1] - ends[:, 0]
    across = np.cross(along, STANDARD.axes[2])
    long = np.linalg.norm(across, axis=1, keepdims=True)
    across = across / np.where(long > 0.0, long, 1.0) * window.width / SIZE[0]
    corners = np.stack(
        [ends[:, 0] - across, ends[:, 1] - across, ends[:, 1] + across, ends[:, 0] + across], axis=1
    )
    return corners, np.broadcast_to(palette.rgb(THEME.quiet), corners.shape)


def _caption(picture: "Image", moving: Moving, motion: Motion) -> None:
    """Write what it is above the frame, and below it what the colours and the note tell."""
    from PIL import ImageDraw

    pen = ImageDraw.Draw(picture)
    room = SIZE[0] - 2 * EDGE
    _write(pen, (EDGE, 10), moving.title, 18, THEME.ink, room)
    _write(pen, (EDGE, 33), motion.label, 14, THEME.quiet, room)
    top = SIZE[1] - 38
    name, most = motion.key
    if name:
        ramp = np.rint(255.0 * palette.table()[np.linspace(0, 255, BAR[0]).astype(int)])
        for k, colour in enumerate(ramp.astype(int).tolist()):
            pen.line([(EDGE + k, top), (EDGE + k, top + BAR[1])], fill=tuple(colour))
        _write(pen, (EDGE + BAR[0] + 8, top - 3), f"{name}, 0 to {most}", 12, THEME.ink,
               room - BAR[0] - 8)  # fmt: skip
    words = motion.words()
    if words:
        _write(pen, (EDGE, top + 15), words, 12, THEME.quiet, room)


def _write(
    pen: "ImageDraw", at: tuple[int, int], text: str, size: int, colour: str, room: int
) -> None:
    """Write a line, smaller where it would not fit into `room` pixels."""
    from PIL import ImageFont

    font = ImageFont.load_default(size)
    while size > 8 and pen.textlength(text, font=font) > room:
        size -= 1
        font = ImageFont.load_default(size)
    pen.text(at, text, fill=colour, font=font)
