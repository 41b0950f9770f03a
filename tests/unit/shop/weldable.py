"""Frames made up for tests of welding: a lone rail, and a small ladder, alike on both sides."""

from pathlib import Path

from fea.document.read import read_frame
from fea.frame.build import build_frame
from fea.frame.model import Frame

_HEAD = """
title = "For welding"
[material.steel]
E = "206 GPa"
nu = 0.3
density = "7850 kg/m3"
yield = "250 MPa"
[section.C]
shape = "channel"
depth = "120 mm"
flange = "55 mm"
wall = "4 mm"
[section.B]
shape = "box"
depth = "60 mm"
width = "60 mm"
wall = "3 mm"
[[rail]]
name = "rail"
opens = "{opens}"
side = "{side}"
points = [
    {{ name = "A", station = "0 mm", offset = "{offset}", height = "0 mm", section = "C" }},
    {{ name = "Z", station = "1600 mm", offset = "{offset}", height = "0 mm" }},
]
[[part]]
name = "plates"
fitted = true
[[part.boxing]]
rail = "rail"
from = "0 mm"
to = "1600 mm"
plate = "3 mm"
{stitch}
"""

_ACROSS = """
[[crossmember]]
name = "X1"
station = "100 mm"
section = "B"
joint = "web"
[[crossmember]]
name = "X2"
station = "1500 mm"
section = "B"
joint = "web"
[[part]]
name = "middle"
fitted = true
[[part.crossmember]]
name = "X3"
station = "800 mm"
section = "B"
joint = "web"
"""


def _built(folder: Path, text: str) -> Frame:
    path = folder / "weldable.toml"
    path.write_text(text, encoding="utf-8")
    return build_frame(read_frame(path), source=str(path))


def lone_rail(folder: Path) -> Frame:
    """Return one straight boxed channel, 1600 mm long."""
    text = _HEAD.format(opens="inboard", side="right", offset="400 mm", stitch="")
    return _built(folder, text)


def ladder(folder: Path, stitch: str = "") -> Frame:
    """Return two boxed channels with three crossmembers, the middle one a part."""
    text = _HEAD.format(opens="inboard", side="both", offset="400 mm", stitch=stitch)
    return _built(folder, text + _ACROSS)
