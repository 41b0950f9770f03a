"""A frame fitted to readings: what it has lost, how soft its joints are, and how sure that is.

Least squares between physical bounds, readings weighed by their uncertainty.  The bands come
from the slopes at the best fit, as if the readings were straight in the unknowns: together
they hold all unknowns with :data:`LEVEL` (each at its share of the rest, after Bonferroni).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.document.edit import Value
from fea.document.wear_added import fitted_text, wear_text
from fea.errors import Complaint, ModelError
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.solve.condense import Store
from fea.solve.least_squares import bounded, chi_square_tail, student
from fea.study.fit_model import Rig
from fea.study.fit_readings import USUAL, Readings, check_places
from fea.study.fit_unknowns import Unknown, ask
from fea.study.variant import Figures, Setting, Variant, measure

Array = NDArray[np.float64]

LEVEL = 0.95
"""How sure it is that all bands together hold what is true."""

AS_WELL = 4.0
"""A sum of squares that grows by less, in variances of a reading, fits as well as before: chance
alone does so in one of twenty."""

BLIND = 1e-9
"""A combination of unknowns that moves readings less than this, in standard deviations for a
usual change, is not felt at all."""


@dataclass(frozen=True, eq=False)
class Spread:
    """How far the unknowns may be off; n of them.

    Attributes
    ----------
    covariance : (n, n), in the solver's numbers, the bounds counted
    alone : (n,), half the bands that the readings alone give, however wide
    times : half a band over its standard deviation
    factor : of the readings' variance over that of their usual uncertainty, as counted
    freedom : readings less unknowns; infinite where the gauges' uncertainty was told and fits
    strength : (n,), smallest last: what a usual change of a combination of unknowns moves the
        readings by, in standard deviations; combinations : (n, n), a row per strength
    """

    covariance: Array
    alone: Array
    times: float
    factor: float
    freedom: float
    strength: Array
    combinations: Array

    @property
    def half(self) -> Array:
        """Half the bands, no wider than the bounds, (n,)."""
        return np.asarray(self.times * np.sqrt(np.diag(self.covariance)))

    @property
    def reach(self) -> Array:
        """Half the bands of the combinations, (n,), in usual changes."""
        wide = self.times * np.sqrt(self.factor)
        return np.asarray(wide / np.maximum(self.strength, BLIND))


@dataclass(frozen=True, eq=False)
class Before:
    """Stiffness of the frame as written and as fitted; half the bands of the latter."""

    written: Figures
    fitted: Figures
    twist_half: float | None = None
    bending_half: float | None = None


@dataclass(frozen=True, eq=False)
class Fitted:
    """A frame fitted to readings.

    Attributes
    ----------
    x : (n,), the unknowns; low, high : (n,), their bands, within the bounds
    predicted, left : (m,), mm, what gauges would read, and what they read beyond that
    usual : (m,), standard deviation of every reading, mm, as told or taken
    variance : of the readings over that of `usual`, from what is left; None without freedom
    told : whether every reading tells its uncertainty
    free : per unknown, whether readings tell it; what they do not is left as written
    chance : of readings as far off as these if the told uncertainties hold; None if not told
    """

    rig: Rig
    x: Array
    low: Array
    high: Array
    spread: Spread
    predicted: Array
    left: Array
    usual: Array
    variance: float | None
    told: bool
    chance: float | None
    trials: int
    free: tuple[bool, ...]
    stiffness: Before | None = None


def rig_for(
    setting: Setting,
    frame: Frame,
    readings: Readings,
    names: Sequence[str] = (),
    *,
    positions: Mapping[str, float] | None = None,
    store: Store | None = None,
) -> Rig:
    """Return a frame set up as it stood when the readings were taken.

    Parameters
    ----------
    setting : its document, and how joints are taken; its cases are not used
    frame : the same with the parts that were fitted
    names : of the unknowns, see :func:`fea.study.fit_unknowns.ask`
    positions : crossmember -> station, mm, where it was bolted elsewhere than the document says

    Raises
    ------
    ModelError
        If the readings name places that are not there.
    """
    check_places(frame, readings)
    asked = ask(setting.document, frame, readings, names)
    variant = Variant.of(parts=frame.fitted, positions=positions)
    return Rig(replace(setting, document=asked.document), variant, readings, asked, store=store)


def fit(rig: Rig, start: Array | None = None, *, stiffness: Sequence[Case] = ()) -> Fitted:
    """Return the best fit to the readings.

    Parameters
    ----------
    start : (n,), where to search from, else from the unknowns' own start
    stiffness : load cases that measure the frame before and after

    Raises
    ------
    ModelError
        If there is nothing to look for, or fewer readings than unknowns.
    SolveError
        If the search does not come to an end.
    """
    unknowns, taken = rig.unknowns, rig.readings.taken
    if not unknowns:
        raise ModelError(Complaint("there is nothing to fit", rig.readings.source))
    if len(taken) < len(unknowns):
        raise ModelError(
            Complaint(
                "there must be at least as many readings as unknowns",
                rig.readings.source,
                f"{len(taken)} readings, {len(unknowns)} unknowns",
                "take more readings, or ask for fewer unknowns with --unknown",
            )
        )
    sigma = np.array([t.uncertainty or USUAL for t in taken])
    value = np.array([t.value for t in taken])
    x = np.array([u.start for u in unknowns]) if start is None else np.array(start)
    free = list(range(len(unknowns)))
    x, trials = _search(rig, x, free, value, sigma)
    while True:
        held, more = _held(rig, x, free, value, sigma)
        trials += more
        if held is None:
            break
        x, free = held
    found = judged(rig, x, value, sigma, trials, tuple(k in free for k in range(len(x))))
    return replace(found, stiffness=_stiffness(found, stiffness)) if stiffness else found


def _held(
    rig: Rig, x: Array, free: list[int], value: Array, sigma: Array
) -> tuple[tuple[Array, list[int]] | None, int]:
    """Return a fit with one unknown more left as the document has it; None if none can be.

    What no reading tells is left so, where the rest then fits the readings as well as before.
    """
    best: tuple[Array, list[int]] | None = None
    most = _squares(rig, x, value, sigma) + AS_WELL
    trials = 0
    for k in _least_told(rig, x, free, sigma):
        at, rest = x.copy(), [f for f in free if f != k]
        at[k] = rig.unknowns[k].as_written
        if rest:
            at, more = _search(rig, at, rest, value, sigma)
            trials += more
        squares = _squares(rig, at, value, sigma)
        if squares < most:
            best, most = (at, rest), squares
    return best, trials


def _squares(rig: Rig, x: Array, value: Array, sigma: Array) -> float:
    return float(np.sum(((rig.predicted(x) - value) / sigma) ** 2))


def _search(rig: Rig, x: Array, free: list[int], value: Array, sigma: Array) -> tuple[Array, int]:
    """Return the best fit with some unknowns free, and how often readings were computed."""
    unknowns = [rig.unknowns[k] for k in free]

    def whole(part: Array) -> Array:
        out = x.copy()
        out[free] = part
        return out

    part, trials = bounded(
        lambda part: (rig.predicted(whole(part)) - value) / sigma,
        lambda part: rig.jacobian(whole(part))[:, free] / sigma[:, None],
        x[free],
        bounds=(np.array([u.lower for u in unknowns]), np.array([u.upper for u in unknowns])),
        scale=np.array([u.scale for u in unknowns]),
        close=1e-6 if rig.setting.sheet_joints else 1e-10,
    )
    return whole(part), trials


def _least_told(rig: Rig, x: Array, free: list[int], sigma: Array) -> list[int]:
    """Return the unknowns of the document whose bounds tell more than the readings."""
    unknowns = [rig.unknowns[k] for k in free]
    scale = np.array([u.scale for u in unknowns])
    half = spread_of(rig.jacobian(x)[:, free] / sigma[:, None], scale, None, told=True).alone
    return [
        k
        for k, u, h in zip(free, unknowns, half, strict=True)
        if u.structural and _untold(u, float(x[k]), h)
    ]


def _untold(unknown: Unknown, x: float, half: float) -> bool:
    """Whether a band reaches over all that can be."""
    low, high = max(x - half, unknown.lower), min(x + half, unknown.upper)
    return high - low > 0.99 * (unknown.upper - unknown.lower)


def judged(
    rig: Rig,
    x: Array,
    value: Array,
    sigma: Array,
    trials: int = 0,
    free: tuple[bool, ...] = (),
) -> Fitted:
    """Return a best fit with its bands; of what was not free, all that can be."""
    unknowns = rig.unknowns
    predicted = rig.predicted(x)
    left = value - predicted
    over = len(value) - len(unknowns)
    squares = float(np.sum((left / sigma) ** 2))
    variance = squares / over if over else None
    told = all(t.uncertainty is not None for t in rig.readings.taken)
    scale = np.array([u.scale for u in unknowns])
    room = np.array([0.5 * (u.upper - u.lower) for u in unknowns])
    spread = spread_of(rig.jacobian(x) / sigma[:, None], scale, variance, told=told, room=room)
    free = free or (True,) * len(x)
    half = np.where(free, spread.alone, np.inf)
    return Fitted(
        rig=rig,
        x=x,
        low=np.maximum(x - half, [u.lower for u in unknowns]),
        high=np.minimum(x + half, [u.upper for u in unknowns]),
        spread=spread,
        predicted=predicted,
        left=left,
        usual=sigma,
        variance=variance,
        told=told,
        chance=chi_square_tail(squares, over) if told and over else None,
        trials=trials,
        free=free,
    )


def spread_of(
    slopes: Array,
    scale: Array,
    variance: float | None,
    *,
    told: bool,
    room: Array | None = None,
) -> Spread:
    """Return how far unknowns may be off.

    Where the gauges' uncertainty is told, it counts, with the normal distribution; what is
    left over counts in its stead, with Student's, where it is the larger, and where no
    uncertainty is told.

    Parameters
    ----------
    slopes : (m, n), of the readings in standard deviations; scale : (n,), usual changes
    room : (n,), half of what bounds leave; no band of what is left open is wider
    """
    m, n = slopes.shape
    _, strength, combinations = np.linalg.svd(slopes * scale, full_matrices=False)
    factor, freedom = 1.0, np.inf
    if variance is not None and (not told or variance > 1.0):
        factor, freedom = variance, float(m - n)
    times = student(0.5 * (1.0 - LEVEL) / n, freedom)
    wide = times * np.sqrt(factor)
    free = covariance_of(combinations, strength, scale, wide, None)
    covariance = factor * covariance_of(combinations, strength, scale, wide, room)
    alone = wide * np.sqrt(np.diag(free))
    return Spread(covariance, alone, times, factor, freedom, strength, combinations)


def covariance_of(
    combinations: Array, strength: Array, scale: Array, wide: float, room: Array | None
) -> Array:
    """Return the covariance for readings of unit variance, (n, n).

    Bounds count as one more reading of every unknown, whose band, `wide` times its standard
    deviation, is what they leave: a tenth of that told by readings is narrowed by 0.5 %.
    """
    if room is None:
        unit = (combinations.T / np.maximum(strength, BLIND)) * scale[:, None]
        return np.asarray(unit @ unit.T)
    known = (combinations.T * strength**2) @ combinations
    known += np.diag((wide * scale / room) ** 2)
    return np.asarray(np.linalg.inv(known) * np.outer(scale, scale))


def document_text(found: Fitted, name: str) -> str:
    """Return the frame's document with what was found in it, comments kept.

    Parameters
    ----------
    name : of the readings' file, for the comment on top
    """
    rig, asked = found.rig, found.rig.asked
    original = asked.original.origin.text
    comments = [f"Fitted to the readings in {_plain(name)}:"]
    edits: dict[str, Value] = {}
    added = ""
    for k, unknown in enumerate(rig.unknowns):
        x = float(found.x[k])
        band = f"{unknown.show(found.low[k])} to {unknown.show(found.high[k])}"
        tail = "" if unknown.structural else "; not part of the frame, not in this file"
        if not found.free[k]:
            comments.append(_plain(f"  {unknown.words}: not told by them, as it was."))
            continue
        comments.append(_plain(f"  {unknown.words}: {unknown.show(x)} ({band}){tail}."))
        if unknown.name == "wear":
            added = wear_text(asked.worn, f"{x:.9g} mm", f"fitted to {name}")
        else:
            edits |= {path: _rounded(value) for path, value in unknown.edits(x).items()}
    return fitted_text(original, edits, added, [*comments, ""])


def _rounded(value: Value) -> Value:
    if isinstance(value, str):
        figure, _, unit = value.partition(" ")
        return f"{float(figure):.9g} {unit}"
    return value


def _plain(text: str) -> str:
    """Return text that can stand in a comment: on one line, without control characters."""
    return "".join(c if c.isprintable() else " " for c in text)


def _stiffness(found: Fitted, stiffness: Sequence[Case]) -> Before:
    """Return the stiffness before and after, with bands where joints are quick to solve."""
    rig = found.rig
    setting = replace(rig.setting, cases=tuple(stiffness))
    written = measure(replace(setting, document=rig.asked.original), rig.variant, rig.store)
    fitted = measure(setting, rig.variant_at(found.x), rig.store)
    if rig.setting.sheet_joints:
        return Before(written, fitted)
    slopes = np.zeros((2, len(found.x)))
    for k, unknown in enumerate(rig.unknowns):
        if unknown.structural:
            step = np.zeros(len(found.x))
            step[k] = 0.002 * unknown.scale
            up, down = (measure(setting, rig.variant_at(found.x + s * step)) for s in (1.0, -1.0))
            rise = (
                (up.twist or 0.0) - (down.twist or 0.0),
                (up.bending or 0.0) - (down.bending or 0.0),
            )
            slopes[:, k] = np.array(rise) / (2.0 * step[k])
    variances = np.einsum("in,nm,im->i", slopes, found.spread.covariance, slopes)
    half = found.spread.times * np.sqrt(variances)
    return Before(written, fitted, float(half[0]), float(half[1]))
