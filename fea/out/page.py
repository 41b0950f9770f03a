"""A scene as one HTML file that opens from disk, with no network: turn it, read it, print it.

The template, the style and the scripts lie beside this module and are joined into the file. The
page forbids itself every connection, and runs only the script whose hash it states: a name in a
frame document is data, whatever it says.
"""

import base64
import hashlib
import html
import json
import re
from collections.abc import Sequence
from dataclasses import asdict
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fea.out import marks, palette, surface
from fea.out.camera import STANDARD_AZIMUTH, STANDARD_ELEVATION, auto_scale
from fea.out.files import write_text
from fea.out.marks import at_one_place, joined
from fea.out.palette import THEME
from fea.out.panels import headline, softest
from fea.out.scene import Curve, Grillage, Scene, Walls

_SCRIPTS = (
    "page_scene.js",
    "page_view.js",
    "page_ink.js",
    "page_body.js",
    "page_panels.js",
    "page_main.js",
)


def write_html(scene: Scene, path: Path, *, scale: float | None = None) -> float:
    """Write a scene as a stand-alone page; return how many times its movements are drawn at first.

    Parameters
    ----------
    scale : float, optional
        How many times the movements are drawn; by itself the largest is 6 % of the frame.
    """
    if scale is None:
        scale = auto_scale(scene.walls.movement, surface.frame_length(scene))
    write_text(path, page(scene, scale))
    return scale


def page(scene: Scene, scale: float) -> str:
    """Return the page's text."""
    here = files("fea.out")
    script = '"use strict";\n' + "\n".join(
        (here / name).read_text(encoding="utf-8") for name in _SCRIPTS
    )
    style = (here / "page.css").read_text(encoding="utf-8")
    parts = {
        "TITLE": html.escape(f"{scene.title}: {scene.subtitle}"),
        "SCRIPT": script,
        "SCRIPT_HASH": _hash(script),
        "STYLE": style,
        "STYLE_HASH": _hash(style),
        "DATA": embedded(_data(scene, scale)),
    }
    template = (here / "page_template.html").read_text(encoding="utf-8")
    # One pass: what is put in is never looked at again.
    return re.sub(r"@@([A-Z_]+)@@", lambda found: parts[found[1]], template)


def embedded(data: dict[str, Any]) -> str:
    """Return JSON that can stand inside a script element: no text in it can end the element."""
    text = json.dumps(data, allow_nan=False, ensure_ascii=False, separators=(",", ":"))
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


def _hash(text: str) -> str:
    """Return the hash by which the page names its own script or style."""
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return "sha256-" + base64.b64encode(digest).decode("ascii")


def _data(scene: Scene, scale: float) -> dict[str, Any]:
    """Return the scene as plain values for the page's scripts."""
    return {
        "title": scene.title,
        "subtitle": scene.subtitle,
        "facts": [[label, *_split(k, value)] for k, (label, value) in enumerate(scene.facts)],
        "notes": scene.notes,
        "soft": [[name, float(share)] for name, share in softest(scene.soft)],
        "stations": [[float(at), text] for at, text in sorted(scene.stations)],
        "profile": {
            "title": scene.profile_title,
            "curves": [_curve(curve) for curve in scene.profile],
        },
        "walls": _walls(scene.walls),
        "lines": [
            {"name": line.name, "part": line.part, "points": np.round(line.points, 2).tolist()}
            for line in scene.lines
        ],
        "places": _places(scene),
        "bodies": [_body(body) for body in scene.bodies],
        "scale": float(scale),
        "theme": asdict(THEME),
        "map": palette.hexes(),
        "light": surface.LIGHT.tolist(),
        "shade": surface.SHADE,
        "glow": surface.GLOW,
        "azimuth": STANDARD_AZIMUTH,
        "elevation": STANDARD_ELEVATION,
    }


def _split(place: int, value: str) -> tuple[str, str]:
    """Return the large and the small part of a fact's value; only the first fact is split."""
    return headline(value) if place == 0 else (value, "")


def _packed(array: NDArray[Any], kind: str) -> str:
    """Return an array's numbers as base64 of little-endian words of a numpy kind."""
    return base64.b64encode(np.ascontiguousarray(array, dtype=kind).tobytes()).decode("ascii")


def _walls(walls: Walls) -> dict[str, Any]:
    """Return the walls, their fields and their edges, packed."""
    names, which = _numbered(walls.sections)
    ends, _, inward = surface.edges_at_rest(walls)
    fields = []
    for shown in walls.fields:
        low, high = surface.value_range(shown)
        fields.append(
            {
                "name": shown.name,
                "unit": shown.unit,
                "low": low,
                "high": high,
                "values": _packed(shown.values, "<f4"),
            }
        )
    return {
        "points": _packed(walls.points, "<f4"),
        "movement": _packed(walls.movement, "<f4"),
        "quads": _packed(walls.quads, "<u4"),
        "member": _packed(walls.member, "<u4"),
        "members": list(walls.members),
        "section": _packed(which, "<u4"),
        "sections": names,
        "fields": fields,
        "edges": _packed(ends, "<u4"),
        "inward": _packed(inward, "<f4"),
    }


def _body(body: Grillage) -> dict[str, Any]:
    """Return a body, its mounts and its ties; movements are told in thousandths of a mm."""
    return {
        "name": body.name,
        "points": np.round(body.points, 2).tolist(),
        "movement": np.round(body.movement, 4).tolist(),
        "beams": body.beams.tolist(),
        "panels": body.panels.tolist(),
        "beam_names": list(body.beam_names),
        "panel_names": list(body.panel_names),
        "links": [
            {
                "name": link.name,
                "kind": link.kind,
                "ends": np.round(link.ends, 2).tolist(),
                "movement": np.round(link.movement, 4).tolist(),
                "text": link.text,
            }
            for link in body.links
        ],
    }


def _numbered(names: Sequence[str]) -> tuple[list[str], NDArray[np.intp]]:
    """Return the different names in their order, and the number of each name among them."""
    number: dict[str, int] = {}
    which = [number.setdefault(name, len(number)) for name in names]
    return list(number), np.array(which, dtype=np.intp)


def _curve(curve: Curve) -> dict[str, Any]:
    values = [float(v) if np.isfinite(v) else None for v in curve.values]
    stations = np.asarray(curve.stations, dtype=float).tolist()
    return {
        "name": curve.name,
        "unit": curve.unit,
        "dashed": curve.dashed,
        "stations": stations,
        "values": values,
    }


def _places(scene: Scene) -> list[dict[str, Any]]:
    """Return the supports and loads, one entry for all of a kind at one place."""
    found = []
    for (kind, _), here in at_one_place(scene.marks).items():
        at = np.array(here[0].position)
        moved = marks.drawn_position(here[0], scene.walls, 1.0)
        found.append(
            {
                "kind": kind,
                "position": at.tolist(),
                "movement": (moved - at).tolist(),
                "vectors": [list(mark.vector) for mark in here],
                "text": joined([mark.text for mark in here]),
            }
        )
    return found
