"""A comparison as plain data, as CSV, and its worse places in words; units in every key."""

import math
from typing import Any

from fea import units
from fea.result.tabular import csv_text
from fea.study.compare import Comparison, Figure, Group, Pair, State
from fea.study.compare_places import Place

FIGURES = {
    "utilisation": ("utilisation", 1.0),
    "stress": ("von_mises_mpa", 1.0),
    "force": ("force_n", 1.0),
    "moment": ("moment_nm", 1e-3),
}
"""What is told of a member, joint or mount: its key with the unit, and the factor."""

WHOLE = {
    "rotational_stiffness": ("nm_per_deg", "N m/deg"),
    "stiffness": ("n_per_mm", "N/mm"),
    "mass": ("kg", "kg"),
    "frequency": ("hz", "Hz"),
}
"""The unit of a figure of the whole frame, as a key and as :mod:`fea.units` spells it."""


def sentence(place: Place, system: units.System = "si", *, case: bool = False) -> str:
    """Return a place that got worse in words, its case too if asked."""
    kind = units.KINDS["stress"]
    unit = (kind.us or kind.si) if system == "us" else kind.si
    figures = [
        "not known" if math.isnan(v) else _three(units.convert(v, "stress", unit))
        for v in (place.before, place.after)
    ]
    text = f"{named(place)}: {figures[0]} to {figures[1]} {unit}"
    if place.use_before is not None and place.use_after is not None:
        text += f" ({_share(place.use_before)} to {_share(place.use_after)} of yield)"
    if place.either_side and place.where.startswith("at its end"):
        text += ", at its ends"
    elif place.where:
        text += f", {place.where}"
    return f"{text}, in {place.case}" if case else text


def named(place: Place) -> str:
    """Return the place itself in words: "rail right at station 1640"."""
    if place.about:
        both = len(place.members) > 1 or place.either_side
        return f"{place.about}{' and its mirror image' if both else ''}"
    text = _together(place.members) + f" at station {place.station:.0f}"
    if len(place.members) == 1 and place.either_side:
        return f"{text}, {abs(place.offset):.0f} mm either side"
    if len(place.members) == 1 and not place.member.endswith(("right", "left")):
        side = "right" if place.offset > 0.0 else "left"
        text += f", {abs(place.offset):.0f} mm {side}" if abs(place.offset) >= 0.5 else ", middle"
    return text


def _together(names: tuple[str, ...]) -> str:
    """Return one or two names as one.

    >>> _together(("rail right", "rail left"))
    'rail right and left'
    """
    if len(names) == 2 and names[0].endswith(" right") and names[1].endswith(" left"):
        stem = names[0].removesuffix(" right")
        if stem == names[1].removesuffix(" left"):
            return f"{stem} right and left"
    return " and ".join(names)


def _three(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 100.0 else f"{value:.3g}"


def _share(use: float) -> str:
    per_cent = 100.0 * use
    return f"{per_cent:.0f} %" if per_cent >= 10.0 else f"{per_cent:.1f} %"


def as_record(found: Comparison) -> dict[str, Any]:
    """Return the comparison as a dictionary ready for JSON."""
    return {
        "format": 1,
        "before": _state(found.before),
        "after": _state(found.after),
        "worse_limit": found.limit,
        "worse": [_place(p) for p in found.places],
        "figures": [_figure(f) for f in found.figures],
        "cases": [{"case": g.cases[0], "title": g.title, **_pairs(g)} for g in found.groups],
        "worst_of_cases": _pairs(found.overall),
    }


def _state(state: State) -> dict[str, Any]:
    frame = state.frame
    checks = [a.checks for a in state.answers]
    return {
        "label": state.label,
        "frame": frame.name,
        "title": frame.title,
        "parts_fitted": list(frame.fitted),
        "bodies": [b.name for b in frame.bodies],
        "residual": max(c.residual for c in checks),
        "assumptions": list(dict.fromkeys(line for a in state.answers for line in a.assumed)),
    }


def _place(place: Place) -> dict[str, Any]:
    return {
        "words": sentence(place, case=True),
        "case": place.case,
        "members": list(place.members),
        "about": place.about or None,
        "station_mm": place.station,
        "offset_mm": place.offset,
        "height_mm": place.height,
        "where": place.where or None,
        "before_mpa": None if math.isnan(place.before) else place.before,
        "after_mpa": place.after,
        "before_utilisation": place.use_before,
        "after_utilisation": place.use_after,
    }


def _whole(value: float | None, kind: str) -> float | None:
    return None if value is None else units.convert(value, kind, WHOLE[kind][1])


def _figure(figure: Figure) -> dict[str, Any]:
    key = WHOLE[figure.kind][0]
    return {
        "name": figure.name,
        "case": figure.case or None,
        f"before_{key}": _whole(figure.before, figure.kind),
        f"after_{key}": _whole(figure.after, figure.kind),
        "ratio": figure.ratio,
    }


def _pairs(group: Group) -> dict[str, Any]:
    return {
        "members": [_pair(p) for p in group.of("member")],
        "joints": [_pair(p) for p in group.of("joint")],
        "mounts": [_pair(p) for p in group.of("mount")],
    }


def _pair(pair: Pair) -> dict[str, Any]:
    told: dict[str, Any] = {"name": pair.name, "figure": pair.figure, "change": pair.change}
    for state, row in (("before", pair.before), ("after", pair.after)):
        if row is None:
            told[state] = None
            continue
        mine: dict[str, Any] = {"station_mm": row.station, "governs": row.governs}
        for name, (key, factor) in FIGURES.items():
            worst = getattr(row, name)
            if worst is not None:
                mine[key] = worst.value * factor
        told[state] = mine
    return told


def as_csv(found: Comparison) -> str:
    """Return the comparison as CSV text: the places that got worse, then every figure."""
    heads = ["kind", "name", "case", "figure", "before", "after", "ratio", "station_mm", "where"]
    lines: list[list[str]] = [[*heads]]
    for p in found.places:
        at = [_cell(p.station), p.where]
        for key, before, after in (
            ("von_mises_mpa", p.before, p.after),
            ("utilisation", p.use_before, p.use_after),
        ):
            if after is not None:
                lines.append(["worse", named(p), p.case, key, *_both(before, after), *at])
    for f in found.figures:
        values = (_whole(v, f.kind) for v in (f.before, f.after))
        lines.append(["frame", f.name, f.case, WHOLE[f.kind][0], *_both(*values), "", ""])
    for group in found.groups:
        for pair in group.pairs:
            lines += _lines(pair, group.cases[0])
    return csv_text(lines)


def _lines(pair: Pair, case: str) -> list[list[str]]:
    out = []
    row = pair.after or pair.before
    for name, (key, factor) in FIGURES.items():
        values = [pair.value("before", name), pair.value("after", name)]
        if values == [None, None]:
            continue
        scaled = [None if v is None else factor * v for v in values]
        station = _cell(row.station if row else None)
        out.append([pair.kind, pair.name, case, key, *_both(*scaled), station, ""])
    return out


def _both(before: float | None, after: float | None) -> list[str]:
    ratio = after / before if before and after is not None else None
    return [_cell(before), _cell(after), _cell(ratio)]


def _cell(value: float | None) -> str:
    return "" if value is None or math.isnan(value) else f"{value:.6g}"
