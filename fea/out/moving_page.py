"""The motions of a frame as one HTML file that opens from disk, with no network, and moves.

Like :mod:`fea.out.page` it forbids itself every connection, and runs only its own script.
"""

import html
import re
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np

from fea.out import palette
from fea.out.camera import STANDARD_AZIMUTH, STANDARD_ELEVATION
from fea.out.files import write_text
from fea.out.moving import Motion, Moving
from fea.out.page import _hash, _packed, embedded

FINE = 32767.0
"""Movements and values are written as whole parts of the largest, in two bytes."""

NO_VALUE = -1.0
"""What stands for no value."""

_WORDS = {
    True: (
        "load case",
        "Drag to turn, wheel to zoom, arrow keys to change the load case. The load comes on and"
        " goes off again, slowly; colours follow it. Thin lines: the frame at rest; a body.",
    ),
    False: (
        "mode",
        "Drag to turn, wheel to zoom, arrow keys to change the mode. Colours show how far each"
        " place moves, against the largest. A mode has a shape and a frequency but no size:"
        " movements are drawn large, and slowly.",
    ),
}
"""What a motion is called and how the page is read, by whether a load causes it."""


def write_moving_page(moving: Moving, path: Path) -> None:
    """Write the motions as a stand-alone page."""
    write_text(path, moving_page(moving))


def moving_page(moving: Moving) -> str:
    """Return the page's text."""
    here = files("fea.out")
    script = (here / "moving_page.js").read_text(encoding="utf-8")
    style = (here / "moving_page.css").read_text(encoding="utf-8")
    word, how = _WORDS[moving.loaded]
    parts = {
        "TITLE": html.escape(f"{moving.title}: {moving.subtitle}"),
        "SCRIPT": script,
        "SCRIPT_HASH": _hash(script),
        "STYLE": style,
        "STYLE_HASH": _hash(style),
        "WORD": word,
        "HOW": how,
        "DATA": embedded(_data(moving)),
    }
    template = (here / "moving_page.html").read_text(encoding="utf-8")
    return re.sub(r"@@([A-Z_]+)@@", lambda found: parts[found[1]], template)


def _data(moving: Moving) -> dict[str, Any]:
    return {
        "title": moving.title,
        "subtitle": moving.subtitle,
        "loaded": moving.loaded,
        "points": _packed(moving.points, "<f4"),
        "quads": _packed(moving.quads, "<u4"),
        "lines": _packed(moving.lines, "<u4"),
        "motions": [_motion(one) for one in moving.motions],
        "fine": FINE,
        "map": palette.hexes(),
        "azimuth": STANDARD_AZIMUTH,
        "elevation": STANDARD_ELEVATION,
    }


def _motion(motion: Motion) -> dict[str, Any]:
    values = np.where(np.isfinite(motion.values), np.clip(motion.values, 0.0, 1.0), NO_VALUE)
    return {
        "label": motion.label,
        "movement": _packed(np.rint(FINE * motion.movement), "<i2"),
        "values": _packed(np.rint(FINE * values), "<i2"),
        "size": motion.size,
        "key": motion.key,
        "times": motion.times,
        "note": motion.note,
    }
