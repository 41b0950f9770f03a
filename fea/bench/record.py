"""A solved variant as plain data for the page: walls, curves, figures, members."""

import hashlib
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from fea import units
from fea.bench.controls import Controls
from fea.bench.session import Solved
from fea.out import palette, surface
from fea.out.camera import STANDARD_AZIMUTH, STANDARD_ELEVATION, auto_scale
from fea.out.frame_scene import _marks, _profile, _stations, _walls
from fea.out.page import _curve, _packed, _places
from fea.out.palette import THEME
from fea.out.scene import Line, Scene, Walls
from fea.result.answer import NM_PER_DEG, Answer

KEPT = 12
"""Sets of edges kept: of as many choices of parts."""


class Edges:
    """Folds and free edges of walls, found once for walls that hang together alike."""

    def __init__(self) -> None:
        self._known: OrderedDict[str, tuple[str, str]] = OrderedDict()

    def of(self, walls: Walls, key: str) -> tuple[str, str]:
        """Return the ends of the edges and the ways into their walls, packed.

        A thicker wall moves its middle by tenths of a millimetre and opens no fold: how the
        walls hang together tells where the edges are.
        """
        if key not in self._known:
            ends, _, inward = surface.edges_at_rest(walls)
            self._known[key] = (_packed(ends, "<u4"), _packed(inward, "<f4"))
            if len(self._known) > KEPT:
                self._known.popitem(last=False)
        self._known.move_to_end(key)
        return self._known[key]


def hang(walls: Walls) -> str:
    """Return a name for how walls hang together, and of which member and section each is."""
    digest = hashlib.blake2b(walls.quads.tobytes(), digest_size=12)
    for part in (walls.member.tobytes(), repr((walls.members, walls.sections)).encode()):
        digest.update(part)
    return digest.hexdigest()


def offered_record(offered: Controls, cases: Sequence[tuple[str, str]]) -> dict[str, Any]:
    """Return the switches, sliders, grades and cases."""
    return {
        "switches": [asdict(s) for s in offered.switches],
        "sliders": [asdict(s) for s in offered.sliders],
        "grades": list(offered.grades),
        "cases": [{"name": name, "title": title} for name, title in cases],
    }


def still_record() -> dict[str, Any]:
    """Return what the scene's scripts want that no variant changes."""
    return {
        "theme": asdict(THEME),
        "map": palette.hexes(),
        "light": surface.LIGHT.tolist(),
        "shade": surface.SHADE,
        "glow": surface.GLOW,
        "azimuth": STANDARD_AZIMUTH,
        "elevation": STANDARD_ELEVATION,
    }


def scene_record(solved: Solved, number: int, edges: Edges, have: str = "") -> dict[str, Any]:
    """Return a variant under one of its cases, as :mod:`fea.out.page` lays out a scene.

    Parameters
    ----------
    number : which of the cases is shown; the stiffnesses are told of all
    have : the name of how walls hang together (:func:`hang`) that the page knows already
    """
    answer = solved.answers[number]
    walls = _walls(answer, "stress")
    scene = Scene(
        title=answer.frame.title,
        subtitle=answer.case.title,
        facts=(),
        walls=walls,
        lines=tuple(Line(m.name, m.path, m.part) for m in answer.frame.members),
        marks=_marks(answer),
    )
    return {
        "title": scene.title,
        "subtitle": scene.subtitle,
        "case": answer.case.name,
        "facts": [],
        "notes": [*answer.assumed, *answer.frame.notes],
        "soft": [[s.name, 100.0 * s.share] for s in answer.shares[:8]],
        "stations": [[at, text] for at, text in _stations(answer)],
        "profile": {
            "title": "Twist angle" if answer.case.measure == "twist" else "Vertical movement",
            "curves": [_curve(c) for c in _profile(answer, None)],
        },
        "walls": _walls_record(walls, edges, have),
        "lines": [
            {"name": line.name, "part": line.part, "points": np.round(line.points, 2).tolist()}
            for line in scene.lines
        ],
        "places": _places(scene),
        "scale": float(auto_scale(walls.movement, surface.frame_length(scene))),
        "figures": figures(solved, number),
        "worst_check": worst_check(solved),
        "members": members(answer),
    }


def figures(solved: Solved, number: int) -> list[dict[str, Any]]:
    """Return the figures to compare: key, label, unit, value (None if not measured), text."""
    shown = solved.answers[number]
    top = max(shown.peaks, key=lambda p: p.utilisation, default=None)
    twist = next((a.twist_stiffness for a in solved.answers if a.twist_stiffness), None)
    bend = next((a.bending_stiffness for a in solved.answers if a.bending_stiffness), None)
    rows: list[tuple[str, str, str, float | None, str]] = [
        ("twist", "Twist stiffness", "N m/deg", None if twist is None else twist * NM_PER_DEG, ""),
        ("bending", "Bending stiffness", "N/mm", bend, ""),
        ("steel", "Frame steel", "kg", 1000.0 * shown.mass.steel, ""),
        (
            "stress",
            "Highest stress",
            "MPa",
            top.von_mises if top else None,
            f"in {top.member} at station {units.show(top.station, 'length')}" if top else "",
        ),
        ("yield", "Share of yield", "%", 100.0 * top.utilisation if top else None, ""),
    ]
    return [
        {"key": key, "label": label, "unit": unit, "value": value, "text": text}
        for key, label, unit, value, text in rows
    ]


def worst_check(solved: Solved) -> float:
    """Return the largest relative error of the self-checks of all cases."""
    checks = [a.checks for a in solved.answers]
    return max(max(c.residual, c.force_balance, c.moment_balance, c.energy_balance) for c in checks)


def members(answer: Answer) -> list[dict[str, Any]]:
    """Return every member's sections, highest stress and share of the strain energy."""
    share = {s.name: s.share for s in answer.shares}
    peak = {p.member: p for p in answer.peaks}
    rows = []
    for member in answer.frame.members:
        top = peak.get(member.name)
        rows.append(
            {
                "name": member.name,
                "sections": list(dict.fromkeys(run.section.name for run in member.runs)),
                "part": member.part,
                "energy_percent": 100.0 * share.get(member.name, 0.0),
                "stress_mpa": top.von_mises if top else None,
                "yield_percent": 100.0 * top.utilisation if top else None,
            }
        )
    return rows


def _walls_record(walls: Walls, edges: Edges, have: str) -> dict[str, Any]:
    """Return the walls packed, as the stand-alone page has them, less what the page has."""
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
    name = hang(walls)
    moving = {
        "hang": name,
        "points": _packed(walls.points, "<f4"),
        "movement": _packed(walls.movement, "<f4"),
        "fields": fields,
    }
    if name == have:
        return moving
    sections, which = np.unique(np.array(walls.sections, dtype=str), return_inverse=True)
    ends, inward = edges.of(walls, name)
    return moving | {
        "quads": _packed(walls.quads, "<u4"),
        "member": _packed(walls.member, "<u4"),
        "members": list(walls.members),
        "section": _packed(which, "<u4"),
        "sections": sections.tolist(),
        "edges": ends,
        "inward": inward,
    }
