"""How sure a gain is: tolerances of the inputs carried to bands and ranking odds.

Each toleranced figure lies evenly within its limits, independent of the others.  Frames with
and without the parts are drawn with the same figures, so that a gain, their ratio, keeps only
what does not cancel.  Beside the draws stands the first order: the same draws through the
derivatives of :mod:`fea.study.sensitivity`, and how much of the variance each figure makes.

By beam rules every draw is solved; with joints as sheet metal draws follow curves through
frames solved at the ends of the ranges, see :mod:`fea.study.confidence_metal`.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.document.edit import edited
from fea.errors import Complaint, ModelError
from fea.study.confidence_metal import MEASURES, metal, stiffness
from fea.study.engine import Runner
from fea.study.keys import as_text
from fea.study.sensitivity import base, slope
from fea.study.tolerances import Tolerance
from fea.study.variant import Figures, Setting, Variant, measure

Array = NDArray[np.float64]

BAND = (5.0, 95.0)
"""Per cents of the draws below the ends of a band."""

STEP = 0.02
"""Step of the derivatives, over the half width of the tolerance."""


@dataclass(frozen=True)
class Band:
    """A figure in the document's means, and the middle nine tenths of what it may be."""

    nominal: float
    low: float
    high: float

    @property
    def half(self) -> float:
        """Half the width."""
        return 0.5 * (self.high - self.low)


@dataclass(frozen=True, eq=False)
class Spread:
    """One quantity over all draws.

    Attributes
    ----------
    band, linear : from the draws, and to first order
    values : (n_draws,)
    effects : (n_tolerances,), its change over half a tolerance, to first order
    """

    band: Band
    linear: Band
    values: Array
    effects: Array

    @property
    def shares(self) -> Array:
        """Share of the first-order variance that each tolerance makes, (n_tolerances,)."""
        square = self.effects**2
        return square / square.sum() if square.any() else square


@dataclass(frozen=True, eq=False)
class Confidence:
    """All of the study.

    Attributes
    ----------
    stock : stiffness of the stock frame by measure, N mm/rad and N/mm
    gains : by measure, then by part (alone on the stock frame), and "" for all of them
    ranking : parts by their twist gain alone, best first, as the means tell it
    right : share of the draws with the same ranking; None with fewer than two parts
    first : share of the draws in which the first is the first
    ahead : (n_parts - 1,), share of the draws in which each is ahead of the next
    solves : frames solved; `reused` those that no drawn figure touches
    miss : with joints as sheet metal, the largest error of a stiffness in the one draw that was
        solved in full (:func:`_telling`), a share of it; None where every draw is solved
    """

    tolerances: tuple[Tolerance, ...]
    draws: int
    seed: int
    stock: Mapping[str, Spread]
    gains: Mapping[str, Mapping[str, Spread]]
    ranking: tuple[str, ...]
    right: float | None
    first: float | None
    ahead: Array
    solves: int
    reused: int
    miss: float | None = None


def confidence(
    setting: Setting,
    tolerances: Sequence[Tolerance],
    parts: Sequence[str],
    *,
    draws: int = 200,
    seed: int = 1,
    jobs: int = 1,
    positions: Mapping[str, float] | None = None,
    runner: Runner | None = None,
) -> Confidence:
    """Return the bands of the gains of some parts over stock.

    Parameters
    ----------
    parts : those that are fitted
    jobs, runner : processes at once with joints by beam rules; where sheet metal is solved

    Raises
    ------
    ModelError
        If no figure has a tolerance, or a frame cannot be solved within them.
    """
    if not tolerances:
        raise ModelError(
            Complaint(
                "no figure carries a tolerance",
                setting.source,
                do='write one as "3.0 +- 0.2 mm" or "400 to 600 N/mm", or give --tolerance',
            )
        )
    names = list(parts)
    choices = {"stock": Variant.of((), positions)}
    if len(names) > 1:
        choices |= {f"part {p}": Variant.of((p,), positions) for p in names}
    if names:
        choices["all"] = Variant.of(names, positions)
    off = np.random.default_rng(seed).uniform(-1.0, 1.0, (draws, len(tolerances)))
    if setting.sheet_joints:
        found = _in_metal(setting, choices, tolerances, off, runner)
    else:
        found = _by_rules(setting, choices, tolerances, off, jobs)
    stock, gains = _spreads(found, off, names)
    alone = {p: gains["twist"][p] for p in names if p in gains.get("twist", {})}
    ranking = tuple(sorted(alone, key=lambda p: -alone[p].band.nominal))
    right, first, ahead = _odds([alone[p].values for p in ranking])
    return Confidence(
        tolerances=tuple(tolerances),
        draws=draws,
        seed=seed,
        stock=stock,
        gains=gains,
        ranking=ranking,
        right=right,
        first=first,
        ahead=ahead,
        solves=found.solves,
        reused=found.reused,
        miss=found.miss,
    )


@dataclass(frozen=True, eq=False)
class _Found:
    """What the frames have: by the name of the choice of parts, then by measure.

    `drawn` : (n_draws,); `effects` : (n_tolerances,), the change over half of every tolerance,
    over the stiffness
    """

    nominal: Mapping[str, Mapping[str, float]]
    drawn: Mapping[str, Mapping[str, Array]]
    effects: Mapping[str, Mapping[str, Array]]
    solves: int
    reused: int = 0
    miss: float | None = None


def _in_metal(
    setting: Setting,
    choices: Mapping[str, Variant],
    tolerances: Sequence[Tolerance],
    off: Array,
    runner: Runner | None,
) -> _Found:
    used = {name: _touching(v, tolerances) for name, v in choices.items()}
    solved = metal(setting, choices, used, tolerances, _telling(off), runner)
    return _Found(
        {name: c.nominal for name, c in solved.curves.items()},
        {name: c.at(off) for name, c in solved.curves.items()},
        {name: c.effects() for name, c in solved.curves.items()},
        solved.solves,
        miss=solved.miss,
    )


def _telling(off: Array) -> Array:
    """Return the draw that tells most of what curves miss: the farthest from all means.

    Of one figure it is the one half way to an end, since curves pass through the ends.
    """
    if off.shape[1] == 1:
        number = int(np.argmin(np.abs(np.abs(off[:, 0]) - 0.5)))
    else:
        number = int(np.argmax((off**2).sum(axis=1)))
    return np.asarray(off[number])


def _by_rules(
    setting: Setting,
    choices: Mapping[str, Variant],
    tolerances: Sequence[Tolerance],
    off: Array,
    jobs: int,
) -> _Found:
    used = {name: _touching(v, tolerances) for name, v in choices.items()}
    nominal = {name: stiffness(setting, v, None) for name, v in choices.items()}
    drawn = _draw(setting, choices, used, nominal, tolerances, off, jobs)
    effects = {n: _effects(setting, choices[n], used[n], tolerances) for n in choices}
    touched = sum(bool(u) for u in used.values())
    solves = len(off) * touched + len(choices)
    return _Found(nominal, drawn, effects, solves, len(off) * (len(choices) - touched))


def _touching(variant: Variant, tolerances: Sequence[Tolerance]) -> list[int]:
    """Return the tolerances that a variant can feel: not those of parts it lacks."""
    return [k for k, t in enumerate(tolerances) if not t.part or t.part in (variant.parts or ())]


def _draw(
    setting: Setting,
    choices: Mapping[str, Variant],
    used: Mapping[str, Sequence[int]],
    nominal: Mapping[str, Mapping[str, float]],
    tolerances: Sequence[Tolerance],
    off: Array,
    jobs: int,
) -> dict[str, dict[str, Array]]:
    """Return the stiffnesses of every variant in every draw, (n_draws,)."""
    live = {name: v for name, v in choices.items() if used[name]}
    if jobs == 1:
        rows = [one_draw(setting, live, tolerances, x) for x in off]
    else:
        from joblib import Parallel, delayed

        rows = Parallel(n_jobs=jobs)(delayed(one_draw)(setting, live, tolerances, x) for x in off)
    return {
        name: {
            m: np.array([getattr(row[name], m) for row in rows])
            if name in live
            else np.full(len(off), value)
            for m, value in values.items()
        }
        for name, values in nominal.items()
    }


def one_draw(
    setting: Setting, choices: Mapping[str, Variant], tolerances: Sequence[Tolerance], off: Array
) -> dict[str, Figures]:
    """Return the figures of every variant where each figure is off by shares of its half width.

    The document is read once for all of them.
    """
    edits = {
        t.path: as_text(t.mean + float(x) * t.half, t.kind)
        for t, x in zip(tolerances, off, strict=True)
    }
    drawn = replace(setting, document=edited(setting.document, edits))
    return {name: measure(drawn, variant) for name, variant in choices.items()}


def _effects(
    setting: Setting, variant: Variant, used: Sequence[int], tolerances: Sequence[Tolerance]
) -> dict[str, Array]:
    """Return by measure the change over half of every tolerance, over the stiffness."""
    solved = base(setting, variant)
    out = {m: np.zeros(len(tolerances)) for m in MEASURES if solved.value(m) is not None}
    for k in used:
        t = tolerances[k]
        found = slope(solved, t.key, h=STEP * t.half)
        for m, effect in out.items():
            effect[k] = t.half * (getattr(found, m) or 0.0) / (solved.value(m) or 1.0)
    return out


def _spreads(
    found: _Found, off: Array, names: Sequence[str]
) -> tuple[dict[str, Spread], dict[str, dict[str, Spread]]]:
    stock: dict[str, Spread] = {}
    gains: dict[str, dict[str, Spread]] = {}
    label = {f"part {p}": p for p in names} | {"all": ""}
    if len(names) == 1:
        label["all"] = names[0]
    for m, before in found.nominal["stock"].items():
        effect, drawn = found.effects["stock"][m], found.drawn["stock"][m]
        stock[m] = _spread(before, drawn, before * effect, off)
        gains[m] = {}
        for name, each in found.nominal.items():
            if name == "stock":
                continue
            ratio = each[m] / before
            change = ratio * (found.effects[name][m] - effect)
            gained = found.drawn[name][m] / drawn - 1.0
            gains[m][label[name]] = _spread(ratio - 1.0, gained, change, off)
    return stock, gains


def _spread(nominal: float, values: Array, effects: Array, off: Array) -> Spread:
    def band(x: Array) -> Band:
        low, high = np.percentile(x, BAND)
        return Band(nominal, float(low), float(high))

    return Spread(band(values), band(nominal + off @ effects), values, effects)


def _odds(values: Sequence[Array]) -> tuple[float | None, float | None, Array]:
    """Return how often a ranking holds: all of it, its first place, each place to the next."""
    if len(values) < 2:
        return None, None, np.zeros(0)
    table = np.stack(values)
    ahead = table[:-1] > table[1:]
    return (
        float(np.mean(ahead.all(axis=0))),
        float(np.mean(table.argmax(axis=0) == 0)),
        ahead.mean(axis=1),
    )
