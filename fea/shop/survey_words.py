"""A survey in sentences: the verdict, the slips, what is not told and what would help."""

from math import degrees

import numpy as np

from fea.shop.survey import Judged, Surveyed
from fea.shop.survey_advice import for_measure, for_points
from fea.shop.survey_measures import TITLES
from fea.solve.adjust import CRITICAL, Slip

LEVELS = ("level_side", "level_end")
"""How the frame stands, not what it is: shims, not straightening."""

UNSEEN = 15.0
"""A slip of this size, mm, that most likely passes the test makes a reading worth a second look."""

MOST_SUSPECTS = 4
"""Readings named of those that cannot be told apart."""

POWER = 4.13
"""Standard deviations that a slip must move its test by to be found in 80 of 100 surveys."""

_SHORT = {
    "twist": "twist", "diamond": "diamond", "square": "square", "sag": "sag",
    "sidesway": "sidesway", "mash": "rail length", "width": "width",
    "level_side": "level side to side", "level_end": "level end to end",
}  # fmt: skip


def figure(judged: Judged) -> str:
    """Return a figure with its band and sense: "0.35 ± 0.06 deg, front right high"."""
    corner = f" ({at_corner(judged)[1]})" if judged.measure.is_angle else ""
    if judged.status == "not measured":
        return "not measured"
    return ", ".join(filter(None, (amount(judged) + corner, sense(judged))))


def at_corner(judged: Judged) -> tuple[str, str]:
    """Return twist as the rise of a front corner: over which width, and how much."""
    per = judged.measure.per
    return f"over {1.0 / per:.0f} mm wide", (
        f"{abs(judged.value) / per:.1f} ± {judged.half / per:.1f} mm"
    )


def sense(judged: Judged) -> str:
    """Return which way a figure is off, nothing where its band holds zero."""
    return judged.sense if abs(judged.value) > judged.half else ""


def amount(judged: Judged) -> str:
    """Return a figure's amount with its band."""
    if judged.status == "not measured":
        return "not told"
    m = judged.measure
    if m.is_angle:
        deg, half = degrees(abs(judged.value)), degrees(judged.half)
        return f"{deg:.2f} ± {half:.2f} deg"
    return f"{abs(judged.value):.1f} ± {judged.half:.1f} mm"


def tolerance(judged: Judged) -> str:
    """Return the tolerance as it is printed."""
    if judged.tolerance is None:
        return "off"
    if judged.measure.is_angle:
        return f"{degrees(judged.tolerance):.2f} deg"
    return f"{judged.tolerance:.1f} mm"


def verdict(found: Surveyed) -> str:
    """Return the verdict in one line: weld, straighten first, or measure again."""
    deciding = [j for key in TITLES if (j := found.worst(key)) is not None]
    shape = [j for j in deciding if j.measure.key not in LEVELS]
    bad = [j for j in shape if j.status == "fail"]
    open_ = [j for j in shape if j.status in ("cannot tell", "not measured")]
    lacking = [k for k in found.missing if k not in LEVELS and found.limits.at(k, 1e3) is not None]
    if bad:
        what = "; ".join(f"{_short(j)} {figure(j)}" for j in bad)
        return f"straighten first: {what}"
    if found.snooped.lost:
        return "measure again: too many readings contradict each other to sort them out"
    if open_ or lacking:
        what = ", ".join(
            [_short(j) for j in open_] + [f"{_SHORT[k]} (no points for it)" for k in lacking]
        )
        helps = _helping(found, open_)
        return f"measure again: {what} cannot be told" + (f"; {helps}" if helps else "")
    return "weld" + _shim(deciding)


def _shim(deciding: list[Judged]) -> str:
    off = [j for j in deciding if j.measure.key in LEVELS and j.status == "fail"]
    if not off:
        return ""
    return ", but shim the stands first: " + "; ".join(f"{_short(j)} {figure(j)}" for j in off)


def _short(judged: Judged) -> str:
    key = judged.measure.key
    text = _SHORT[key]
    if key in ("width", "square", "sag", "sidesway", "mash"):
        text += f" {judged.measure.title}"
    return text


def _helping(found: Surveyed, open_: list[Judged]) -> str:
    """Say which readings would settle the measures that are open."""
    words: list[str] = []
    for j in open_:
        for reading in for_measure(found, j):
            text = reading.words(found.readings.points)
            if text not in words:
                words.append(text)
    return f"read {_and(words[:3])}" if words else _fallback(found)


def _fallback(found: Surveyed) -> str:
    if not found.plumb:
        return "read the height over the floor, or levels, of every point"
    return ""


def slips(found: Surveyed) -> list[str]:
    """Return a sentence for each slip."""
    return [_slip(found, slip) for slip in found.snooped.slips]


def _slip(found: Surveyed, slip: Slip) -> str:
    points, readings = found.readings.points, found.readings.readings
    first = readings[slip.readings[0]]
    if len(slip.readings) == 1:
        return (
            f"{_upper(first.words(points))} (line {first.line}) is off by about"
            f" {first.amount(slip.sizes[0]).lstrip('-')}, {_way(slip.sizes[0])}: read it again."
            " The fit goes on without it."
        )
    told = [
        f"{readings[k].words(points)} (line {readings[k].line}; about"
        f" {readings[k].amount(s).lstrip('-')}, {_way(s)})"
        for k, s in zip(slip.readings, slip.sizes, strict=True)
    ]
    both = "both" if len(told) == 2 else "all"
    if len(told) > MOST_SUSPECTS:
        told = [*told[:MOST_SUSPECTS], f"{len(told) - MOST_SUSPECTS} others"]
    return (
        f"One of these is off, and the readings cannot tell which: {_or(told)}: read {both} again."
        " Till then the fit trusts each only to within that."
    )


def _way(size: float) -> str:
    return "too much" if size > 0.0 else "too little"


def unjudged(found: Surveyed) -> list[str]:
    """Return sentences on points that cannot be judged, and on what would help."""
    if bool(found.placed.told.all()):
        return []
    by_lack: dict[str, list[str]] = {}
    for point, told in zip(found.readings.points, found.told.tolist(), strict=True):
        lack = _and([n for n, t in zip(("station", "offset", "height"), told, strict=True)
                     if not t])  # fmt: skip
        if lack:
            by_lack.setdefault(lack, []).append(point.key)
    lines = [
        f"These readings do not tell {lack} of {_names(keys, found)}."
        for lack, keys in by_lack.items()
    ]
    helps = [r.words(found.readings.points) for r in for_points(found)]
    if helps:
        lines.append(f"What would help most: {_and(helps)}.")
    elif (text := _fallback(found)) and any("height" in lack for lack in by_lack):
        lines.append(f"What would help: {text}.")
    else:
        lines.append("What would help: more lengths and levels to these points.")
    return lines


def _names(keys: list[str], found: Surveyed) -> str:
    if len(keys) == len(found.readings.points):
        return "any point"
    return _and(keys)


def unchecked(found: Surveyed) -> list[str]:
    """Return a sentence on readings in which a large slip passes unseen."""
    adjusted = found.snooped.adjusted
    share = np.sqrt(np.maximum(np.where(adjusted.used, adjusted.redundancy, 1.0), 1e-12))
    names = []
    for reading, root in zip(found.readings.readings, share.tolist(), strict=True):
        arm = found.far(reading) if reading.kind == "tilt" else 1.0
        if POWER * reading.sigma * arm / root > UNSEEN:
            names.append(reading.words(found.readings.points))
    if not names:
        return []
    shown = _and(names) if len(names) <= 4 else f"{', '.join(names[:4])} and {len(names) - 4} more"
    return [
        f"A slip of {UNSEEN:g} mm or more could pass unseen in {shown}: hardly another reading"
        " checks it; read twice."
    ]


def basis(found: Surveyed) -> list[str]:
    """Return sentences on what the figures rest on."""
    adjusted, readings = found.snooped.adjusted, found.readings.readings
    lines = [
        f"{int(adjusted.used.sum())} of {len(readings)} readings used,"
        f" {adjusted.root.shape[1]} unknowns told, {adjusted.freedom} to spare;"
        f" a reading beyond {CRITICAL:g} standard deviations of its residual is a slip."
    ]
    if found.spread > 1.0:
        lines.append(
            f"The readings agree {found.spread:.1f} times worse than their uncertainties say:"
            " the bands are widened by it."
        )
    assumed = sum(r.assumed for r in readings)
    if assumed:
        lines.append(
            f"{assumed} readings came without an uncertainty: the usual one was taken"
            " (1 mm; levels 0.5 mm or 0.15 deg)."
        )
    lines.append(found.limits.words)
    return lines


def _and(words: list[str]) -> str:
    return _join(words, "and")


def _or(words: list[str]) -> str:
    return _join(words, "or")


def _join(words: list[str], last: str) -> str:
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
