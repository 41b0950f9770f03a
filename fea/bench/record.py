"""A solved variant as plain data for the page: walls, curves, figures, members."""

import hashlib
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import asdict, replace
from itertools import groupby
from typing import Any

import numpy as np

from fea import units
from fea.bench.controls import Controls
from fea.bench.session import Solved, stiffnesses
from fea.out import palette, surface
from fea.out.camera import STANDARD_AZIMUTH, STANDARD_ELEVATION, auto_scale
from fea.out.frame_scene import _bodies, _marks, _profile, _stations, _walls
from fea.out.page import _body, _curve, _numbered, _packed, _places
from fea.out.palette import THEME
from fea.out.scene import Curve, Grillage, Line, Scene, Walls
from fea.result.answer import Answer

KEPT = 12
"""Sets of edges kept: of as many choices of parts."""


class Edges:
    """Folds and free edges of walls, found once for walls that hang together alike."""

    def __init__(self) -> None:
        self._known: OrderedDict[str, tuple[str, str]] = OrderedDict()

    def __contains__(self, name: str) -> bool:
        """Whether the edges of walls that hang together so are known."""
        return name.split(".")[0] in self._known

    def of(self, walls: Walls, name: str) -> tuple[str, str]:
        """Return the ends of the edges and the ways into their walls, packed.

        A thicker wall moves its middle by tenths of a millimetre and opens no fold: how the
        walls hang together tells where the edges are.
        """
        key = name.split(".")[0]
        if key not in self._known:
            ends, _, inward = surface.edges_at_rest(walls)
            self._known[key] = (_packed(ends, "<u4"), _packed(inward, "<f4"))
            if len(self._known) > KEPT:
                self._known.popitem(last=False)
        self._known.move_to_end(key)
        return self._known[key]


def hang(walls: Walls) -> str:
    """Return a name for how walls hang together, and of which member and section each is.

    What stands before its dot leaves out the sections: a worn one has another name, no other
    folds.  Boxing has other walls, and a crossmember in another's place another name.
    """
    digest = hashlib.blake2b(digest_size=12)
    for numbers in (walls.quads, walls.member):
        digest.update(numbers.astype(np.uint32).tobytes())
    digest.update(repr(walls.members).encode())
    runs = [(name, sum(1 for _ in same)) for name, same in groupby(walls.sections)]
    names = hashlib.blake2b(repr(runs).encode(), digest_size=12)
    return f"{digest.hexdigest()}.{names.hexdigest()}"


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


def scene_record(
    solved: Solved, number: int, edges: Edges, have: str = "", *, whole: bool = True
) -> dict[str, Any]:
    """Return a variant under one of its cases, as :mod:`fea.out.page` lays out a scene.

    Parameters
    ----------
    number : which of the cases is shown; the stiffnesses are told of all
    have : the name of how walls hang together (:func:`hang`) that the page knows already
    whole : whether the stress is wanted too; without it sheet metal takes a tenth of the time,
        and :func:`paint_record` has the rest
    """
    answer = solved.answers[number]
    whole = whole or solved.joints == "beam"
    softer = _softer(solved, number)
    walls = _walls(answer, "stress", stress=whole)
    if softer != 1.0:
        walls = _grown(walls, softer)
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
        "joints": solved.joints,
        "estimates": {name: asdict(e) for name, e in solved.estimates.items()},
        "at_hand": solved.at_hand,
        "painted": whole,
        "facts": [],
        "notes": [*answer.assumed, *answer.frame.notes],
        "soft": [[s.name, 100.0 * s.share] for s in answer.shares[:8]],
        "stations": [[at, text] for at, text in _stations(answer)],
        "profile": {
            "title": "Twist angle" if answer.case.measure == "twist" else "Vertical movement",
            "curves": [_curve(_steeper(c, softer)) for c in _profile(answer, None)],
        },
        "walls": _walls_record(walls, edges, have, whole=whole),
        "bodies": [_body(_moved(body, softer)) for body in _bodies(answer)],
        "lines": [
            {"name": line.name, "part": line.part, "points": np.round(line.points, 2).tolist()}
            for line in scene.lines
        ],
        "places": _places(scene),
        "scale": float(auto_scale(walls.movement, surface.frame_length(scene))),
        "figures": figures(solved, number, whole=whole),
        "worst_check": worst_check(solved),
        "members": members(answer, whole=whole),
    }


def paint_record(solved: Solved, number: int, edges: Edges) -> dict[str, Any]:
    """Return what :func:`scene_record` leaves out where the stress is not wanted at once."""
    answer = solved.answers[number]
    walls = _walls(answer, "stress")
    name = hang(walls)
    ends, inward = edges.of(walls, name)
    return {
        "case": answer.case.name,
        "walls": {"hang": name, "fields": _fields(walls), "edges": ends, "inward": inward},
        "figures": figures(solved, number),
        "members": members(answer),
    }


def _softer(solved: Solved, number: int) -> float:
    """Return what movements by beam rules grow by so that they fit the estimated stiffness."""
    case = solved.answers[number].case
    estimate = solved.estimates.get(case.measure)
    moved = any(hold.value for hold in case.holds)  # what is moved moves as far, stiff or not
    return 1.0 if estimate is None or moved else estimate.softer


def _grown(walls: Walls, softer: float) -> Walls:
    fields = (replace(f, values=softer * f.values) if f.unit == "mm" else f for f in walls.fields)
    return replace(walls, movement=softer * walls.movement, fields=tuple(fields))


def _steeper(curve: Curve, softer: float) -> Curve:
    return replace(curve, values=softer * curve.values)


def _moved(body: Grillage, softer: float) -> Grillage:
    links = tuple(replace(k, movement=softer * k.movement) for k in body.links)
    return replace(body, movement=softer * body.movement, links=links)


def figures(solved: Solved, number: int, *, whole: bool = True) -> list[dict[str, Any]]:
    """Return the figures to compare: key, label, unit, value (None if not measured), text.

    Stiffnesses are as sheet metal is estimated to make them where there is an estimate; `whole`:
    whether the stress is wanted.
    """
    shown = solved.answers[number]
    top = max(shown.peaks, key=lambda p: p.utilisation, default=None) if whole else None
    found = stiffnesses(solved)
    about = {
        name: f"estimated, \u00b1 {100.0 * e.error:.1f} %" for name, e in solved.estimates.items()
    }
    found |= {name: e.value for name, e in solved.estimates.items()}
    rows: list[tuple[str, str, str, float | None, str]] = [
        ("twist", "Twist stiffness", "N m/deg", found["twist"], about.get("twist", "")),
        ("bending", "Bending stiffness", "N/mm", found["bending"], about.get("bending", "")),
        ("steel", "Frame steel", "kg", 1000.0 * shown.mass.steel, ""),
        (
            "stress",
            f"Highest stress {shown.where_peaks if whole else 'away from joints'}",
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


def members(answer: Answer, *, whole: bool = True) -> list[dict[str, Any]]:
    """Return every member's sections, highest stress and share of the strain energy.

    `whole`: whether the stress is wanted.
    """
    share = {s.name: s.share for s in answer.shares}
    peak = {p.member: p for p in answer.peaks} if whole else {}
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


def _fields(walls: Walls) -> list[dict[str, Any]]:
    """Return the values at the walls' points, packed."""
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
    return fields


def _walls_record(walls: Walls, edges: Edges, have: str, *, whole: bool) -> dict[str, Any]:
    """Return the walls packed, as the stand-alone page has them, less what the page has.

    What takes time and can be had afterwards is left out unless the whole is wanted: values at
    the points, and edges where they would have to be found first.
    """
    name = hang(walls)
    moving: dict[str, Any] = {
        "hang": name,
        "points": _packed(walls.points, "<f4"),
        "movement": _packed(walls.movement, "<f4"),
    }
    if whole:
        moving["fields"] = _fields(walls)
    if name == have:
        return moving
    sections, which = _numbered(walls.sections)
    ends, inward = edges.of(walls, name) if whole or name in edges else ("", "")
    return moving | {
        "quads": _packed(walls.quads, "<u4"),
        "member": _packed(walls.member, "<u4"),
        "members": list(walls.members),
        "section": _packed(which, "<u4"),
        "sections": sections,
        "edges": ends,
        "inward": inward,
    }
