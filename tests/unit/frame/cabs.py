"""A small frame with a cab on it, as text, and how to build it."""

import tomllib
from typing import Any

from fea.document.schema import FrameDocument
from fea.frame.build import build_frame
from fea.frame.model import Frame

FRAME = """
title = "A small frame"
[material.steel]
E = "206 GPa"
nu = 0.3
density = "7850 kg/m3"
yield = "240 MPa"
[material.sheet]
E = "200 GPa"
nu = 0.3
density = "7850 kg/m3"
yield = "160 MPa"
[section.B]
shape = "box"
depth = "80 mm"
width = "60 mm"
wall = "3 mm"
[section.Z]
shape = "Z"
depth = "80 mm"
flange = "40 mm"
wall = "1 mm"
[[rail]]
name = "rail"
points = [
    { name = "P1", station = "0 mm", offset = "400 mm", height = "500 mm", section = "B" },
    { name = "P2", station = "2400 mm", offset = "400 mm", height = "500 mm" },
]
[[mount]]
name = "M1"
station = "300 mm"
offset = "450 mm"
height = "580 mm"
grade = "rubber"
[[mount]]
name = "M2"
station = "1800 mm"
offset = "450 mm"
height = "580 mm"
grade = "rubber"
"""
CAB = """
[[body]]
name = "cab"
kind = ["open", "closed"]
material = "sheet"
mounts = { M1 = "S1", M2 = "S3" }
twist = [
    { kind = ["open"], stiffness = "900 N m/deg", between = ["M1", "M2"] },
    { kind = ["closed"], stiffness = "2500 N m/deg", between = ["M1", "M2"] },
]
bending = { stiffness = "5 kN/mm", between = ["M1", "M2"], at = "S2" }
[body.point]
S1 = { station = "300 mm", offset = "450 mm", height = "620 mm" }
S2 = { station = "1000 mm", offset = "450 mm", height = "620 mm" }
S3 = { station = "1800 mm", offset = "450 mm", height = "620 mm" }
C1 = { station = "300 mm", offset = "450 mm", height = "1000 mm" }
C3 = { station = "1800 mm", offset = "450 mm", height = "1000 mm" }
T1 = { station = "300 mm", offset = "0 mm", height = "1000 mm" }
T3 = { station = "1800 mm", offset = "0 mm", height = "1000 mm" }
[[body.beam]]
name = "sill"
section = "Z"
path = ["S1", "S2", "S3"]
[[body.beam]]
name = "waist"
section = "B"
path = ["S1", "C1", "C3", "S3"]
[[body.beam]]
name = "bow"
section = "B"
path = ["C1", "T1"]
[[body.beam]]
name = "bow, rear"
section = "B"
path = ["C3", "T3"]
[[body.beam]]
name = "ridge"
section = "Z"
path = ["T1", "T3"]
kind = ["closed"]
[[body.beam]]
name = "brace"
section = "B"
across = "S2"
floor = true
[[body.panel]]
name = "side"
wall = "1 mm"
corners = ["S1", "S3", "C3", "C1"]
[[body.panel]]
name = "floor"
wall = "1.2 mm"
across = ["S1", "S2"]
[[body.panel]]
name = "roof"
wall = "0.8 mm"
across = ["C1", "C3"]
kind = ["closed"]
"""
HARD = """
[[part]]
name = "hard"
fitted = false
replaces = ["M2"]
[[part.mount]]
name = "M2 hard"
station = "1800 mm"
offset = "450 mm"
height = "580 mm"
grade = "hard urethane"
"""


def build(text: str, **choice: Any) -> Frame:
    document = FrameDocument.model_validate(tomllib.loads(FRAME + text))
    return build_frame(document, source="small.toml", **choice)
