"""The modes of a frame as one HTML file that opens from disk, with no network, and swings.

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
from fea.out.mode_scene import ModeScene, mode_scene
from fea.out.page import _hash, _packed, embedded
from fea.result.modes import FrameModes

FINE = 32767.0
"""Movements are written as whole parts of the largest, in two bytes."""


def write_mode_page(found: FrameModes, path: Path) -> None:
    """Write the modes as a stand-alone page."""
    write_text(path, mode_page(mode_scene(found)))


def mode_page(scene: ModeScene) -> str:
    """Return the page's text."""
    here = files("fea.out")
    script = (here / "mode_page.js").read_text(encoding="utf-8")
    style = (here / "mode_page.css").read_text(encoding="utf-8")
    parts = {
        "TITLE": html.escape(f"{scene.title}: {scene.subtitle}"),
        "SCRIPT": script,
        "SCRIPT_HASH": _hash(script),
        "STYLE": style,
        "STYLE_HASH": _hash(style),
        "DATA": embedded(_data(scene)),
    }
    template = (here / "mode_page.html").read_text(encoding="utf-8")
    return re.sub(r"@@([A-Z_]+)@@", lambda found: parts[found[1]], template)


def _data(scene: ModeScene) -> dict[str, Any]:
    return {
        "title": scene.title,
        "subtitle": scene.subtitle,
        "labels": list(scene.labels),
        "points": _packed(scene.points, "<f4"),
        "quads": _packed(scene.quads, "<u4"),
        "lines": _packed(scene.lines, "<u4"),
        "modes": [_packed(np.rint(FINE * m), "<i2") for m in scene.movement],
        "fine": FINE,
        "size": scene.size,
        "map": palette.hexes(),
        "azimuth": STANDARD_AZIMUTH,
        "elevation": STANDARD_ELEVATION,
    }
