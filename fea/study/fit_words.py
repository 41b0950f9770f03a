"""What readings can and cannot tell, in words."""

import math
from dataclasses import dataclass

import numpy as np

from fea.frame.spots import place_words
from fea.study.fit import Fitted
from fea.study.fit_gauges import Hint, candidates, hint, tried
from fea.study.fit_readings import Gauge
from fea.study.fit_unknowns import Unknown
from fea.study.variant import frame_of

WIDE = 1.0
"""Half a band of a combination, in usual changes of it, beyond which it counts as not told."""

PART = 0.3
"""Share from which an unknown is part of a combination."""

ANY = math.log(1000.0)
"""Half a band of a factor's logarithm from which it may be anything."""

SURPRISE = 1e-3
"""Chance of readings so far off below which the told uncertainty, or the model, is doubted."""

OTHERWISE = {
    "loss": "measure the walls with an ultrasonic gauge",
    "factor": "measure it by itself, such as with a gauge across the joint or a caliper",
    "give": "put a gauge beside each stand, reading up",
    "zero": "set the gauge to zero with the bare arm, and see that it comes back",
}


@dataclass(frozen=True)
class Untold:
    """A combination of unknowns that the readings do not tell.

    `parts` : numbers of the unknowns in it, the largest share first; `signs` : how they go
    together; `reach` : half its band, in usual changes
    """

    parts: tuple[int, ...]
    signs: tuple[int, ...]
    reach: float


def untold(found: Fitted) -> list[Untold]:
    """Return what the readings do not tell, the worst first."""
    out = []
    spread = found.spread
    slopes = found.rig.jacobian(found.x) / found.usual[:, None]
    felt = np.linalg.norm(slopes, axis=0) * [u.scale for u in found.rig.unknowns]
    room = np.array([0.5 * (u.upper - u.lower) / u.scale for u in found.rig.unknowns])
    for reach, combination in zip(spread.reach, spread.combinations, strict=True):
        if reach > WIDE:
            share, moves = np.abs(combination), np.abs(combination) * felt
            # What moves readings by itself, and is cancelled by the rest, is part of it as well.
            cancelled = (moves >= PART * moves.max()) & (moves > spread.times)
            far = min(float(reach), float(np.min(room / np.maximum(share, 1e-12))))
            cancelled &= share * far >= PART
            order = [int(k) for k in np.argsort(-share) if share[k] >= PART or cancelled[k]]
            signs = tuple(int(np.sign(combination[k])) for k in order)
            out.append(Untold(tuple(order), signs, float(reach)))
    return sorted(out, key=lambda item: -item.reach)


def next_gauge(found: Fitted) -> Hint | None:
    """Return the gauge along the rails that would tell most of what is not told, reading up.

    Sideways, friction under the stands would count for as much as the frame.
    """
    rig = found.rig
    frame = frame_of(rig.setting, rig.variant)
    scale = np.array([u.scale for u in rig.unknowns])
    room = np.array([0.5 * (u.upper - u.lower) for u in rig.unknowns])
    every = tried(rig, found.x, candidates(frame, ("height",)))
    return hint(every, found.spread, scale, room)


def sentences(found: Fitted, better: Hint | None) -> list[str]:
    """Return what the readings can and cannot tell, and what would."""
    unknowns = found.rig.unknowns
    missing = untold(found)
    unclear = {k for item in missing for k in item.parts}
    clear = [u.words for k, u in enumerate(unknowns) if k not in unclear and found.free[k]]
    out = [f"These readings tell {_and(clear)}."] if clear else []
    out += [_untold_words(found, item) for item in _merged(missing)]
    out += [
        f"The rest fits as well with {u.words} left as written."
        for k, u in enumerate(unknowns)
        if k not in unclear and not found.free[k]
    ]
    if missing and better is not None:
        out += _better_words(found, missing[0], better)
    out += _fit_words(found)
    return out


def gauge_words(gauge: Gauge) -> str:
    """Return where a gauge stands and which way it reads."""
    way = "sideways" if gauge.motion == "offset" else "up"
    if gauge.sign < 0.0:
        way = "to the left" if gauge.motion == "offset" else "down"
    return f"{gauge.place.side} rail, {place_words(gauge.place)}, reading {way}"


def half_words(unknown: Unknown, half: float) -> str:
    """Return half a band of an unknown."""
    if unknown.kind == "factor":
        return "any factor" if half > ANY else f"a factor of {math.exp(half):.3g}"
    return f"±{unknown.show(half).lstrip('+')}"


def _merged(missing: list[Untold]) -> list[Untold]:
    """Return combinations that share an unknown as one, without signs of its own."""
    out: list[Untold] = []
    for item in missing:
        near = [o for o in out if len(o.parts) > 1 and {*o.parts} & {*item.parts}]
        for other in near if len(item.parts) > 1 else []:
            out.remove(other)
            parts = tuple(dict.fromkeys((*other.parts, *item.parts)))
            item = Untold(parts, (), max(item.reach, other.reach))
        out.append(item)
    return out


def _untold_words(found: Fitted, item: Untold) -> str:
    unknowns = found.rig.unknowns
    names = [unknowns[k].words for k in item.parts]
    if len(names) == 1:
        k = item.parts[0]
        if not found.free[k]:
            return f"These readings do not tell {names[0]}: it is left as written."
        if found.high[k] - found.low[k] > 0.9 * (unknowns[k].upper - unknowns[k].lower):
            return f"These readings do not tell {names[0]}."
        band = f"{unknowns[k].show(found.low[k])} to {unknowns[k].show(found.high[k])}"
        return f"These readings tell {names[0]} only roughly: {band}."
    left = [unknowns[k].words for k in item.parts if not found.free[k]]
    tail = f" {_and(left)[:1].upper()}{_and(left)[1:]} is left as written." if left else ""
    if not item.signs:
        return f"These readings cannot tell {_and(names)} apart.{tail}"
    more = [n for n, s in zip(names, item.signs, strict=True) if s == item.signs[0]]
    less = [n for n, s in zip(names, item.signs, strict=True) if s != item.signs[0]]
    like = f"more {_and(more)}" + (f" with less {_and(less)}" if less else " together")
    return f"These readings cannot tell {_and(names, ' from ')}: {like} would read the same.{tail}"


def _better_words(found: Fitted, item: Untold, better: Hint) -> list[str]:
    k = item.parts[0]
    unknown = found.rig.unknowns[k]
    now, then = float(found.spread.half[k]), better.half[k]
    change = f"{unknown.words} from {half_words(unknown, now)} to {half_words(unknown, then)}"
    at = gauge_words(better.gauge)
    told = unknown.kind != "factor" or then < ANY
    narrows = told and then < 0.95 * now
    out = [f"A gauge on the {at}, under the same loads, would narrow {change}."] * narrows
    if better.reach[0] > WIDE:
        word = "That would not be enough" if out else "No single gauge along the rails tells it"
        out.append(f"{word}: {OTHERWISE[unknown.kind]}, and leave it out with --unknown.")
    return out


def _fit_words(found: Fitted) -> list[str]:
    out = []
    if found.chance is not None and found.chance < SURPRISE and found.variance is not None:
        out.append(
            f"The readings lie {math.sqrt(found.variance):.1f} times as far off as their"
            " uncertainty says: a gauge slipped, or the frame differs from the document in"
            " something else; the bands are widened by that."
        )
    for unknown, x, side in _at_bounds(found):
        where = f"its {side} bound"
        if unknown.ranged:
            where = f"the {side} end of its range in the document"
        mistrust = "mistrust the range" if unknown.ranged else "mistrust it"
        out.append(
            f"{unknown.words[:1].upper()}{unknown.words[1:]} lies at {where},"
            f" {unknown.show(x)}: {mistrust}."
        )
    return out


def _at_bounds(found: Fitted) -> list[tuple[Unknown, float, str]]:
    out = []
    for unknown, x, free in zip(found.rig.unknowns, found.x, found.free, strict=True):
        if not free:
            continue
        near = 1e-3 * unknown.scale
        if (unknown.kind == "factor" or unknown.ranged) and min(
            x - unknown.lower, unknown.upper - x
        ) < near:
            out.append((unknown, float(x), "lower" if x - unknown.lower < near else "upper"))
        elif unknown.upper - x < near:
            out.append((unknown, float(x), "upper"))
    return out


def _and(names: list[str], last: str = " and ") -> str:
    return ", ".join(names[:-1]) + (last if len(names) > 1 else "") + names[-1]
