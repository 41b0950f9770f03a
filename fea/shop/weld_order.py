"""Five orders of welding a frame, and how straight each leaves it.

Every run pulls on the structure as welded by then; what it moves is added up run by run
(:mod:`fea.shop.weld_model`), so an order costs one factorisation a run.

The orders are those of :mod:`fea.shop.weld_sequences`, and one that is searched: always the run
that leaves the frame straightest; then the best order so far with pairs of runs exchanged, where
that helps.

The measure of straightness: root mean square, over places along all rails, of what they are off
across the vehicle and up and down, the frame as a whole laid where it fits best.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.shop.weld_model import LEAST_TACK, READ, Look, State, WeldModel
from fea.shop.weld_sequences import back_step, end_to_end, equal_and_opposite, one_side_first
from fea.shop.weld_shrinkage import BAND

Array = NDArray[np.float64]
Told = Callable[[str, int, int], None]

DRAWS = 400
"""Draws of the runs' shrinkage."""

WORK = 15_000_000
"""Runs times freedoms over all exchanges of the search: some ten seconds of work."""

TRIES = (4, 100)
"""Fewest and most exchanges the search tries by itself."""

CLEAR = 0.95
"""Share of draws in which an order must be the straighter one to count as better."""


@dataclass(frozen=True)
class Shape:
    """How a frame is off after welding; mm and degrees.

    Attributes
    ----------
    off : the measure
    vertical, lateral : largest bow of a rail off the line through its own ends; up and right +
    twist : front against rear, right side down at the rear + ; None without rails on both sides
    diagonals : front right to rear left less front left to rear right
    """

    off: float
    vertical: float
    lateral: float
    twist: float | None
    diagonals: float | None


@dataclass(frozen=True, eq=False)
class Outcome:
    """An order and what it does.

    Attributes
    ----------
    order : numbers of the runs as they are welded
    moved : (n_runs, n_readings), what each run moves, by its number
    shape : at the end; worst : largest measure on the way, mm
    low, high : band of the measure over the draws, mm
    """

    name: str
    order: tuple[int, ...]
    moved: Array
    shape: Shape
    worst: float
    draws: Array

    @property
    def low(self) -> float:
        """Lower end of the measure's band, mm."""
        return float(np.quantile(self.draws, 0.025))

    @property
    def high(self) -> float:
        """Upper end of the measure's band, mm."""
        return float(np.quantile(self.draws, 0.975))


@dataclass(frozen=True, eq=False)
class OrderStudy:
    """The orders of a plan, and which is best.

    `softer`: order's name -> its measure, mm, with tacks half as stiff; `exchanges`, `kept`: of
    the search.
    """

    model: WeldModel
    outcomes: tuple[Outcome, ...]
    band: float
    seed: int
    exchanges: int
    kept: int
    softer: dict[str, float]

    @property
    def best(self) -> Outcome:
        """The straightest."""
        return min(self.outcomes, key=lambda o: o.shape.off)

    def odds(self, other: Outcome) -> float:
        """Return in what share of the draws the best order leaves the frame straighter."""
        return float(np.mean(self.best.draws < other.draws))

    def clearly_worse(self, other: Outcome) -> bool:
        """Whether an order is worse than the best by more than shrinkage strays."""
        return other is not self.best and self.odds(other) >= CLEAR


def off_rows(look: Look) -> Array:
    """Return what makes the measure of a frame's readings, (m, n_readings).

    The measure is the length of its product with the readings.
    """
    points = look.points.reshape(-1, 3)
    n = len(points)
    middle = points - points.mean(axis=0)
    take = np.zeros((2 * n, 3 * n))
    take[np.arange(n), 3 * np.arange(n) + 1] = 1.0
    take[n + np.arange(n), 3 * np.arange(n) + 2] = 1.0
    one, zero = np.ones(n), np.zeros(n)
    rigid = np.stack(
        [
            np.concatenate((one, zero)),
            np.concatenate((zero, one)),
            np.concatenate((-middle[:, 2], middle[:, 1])),  # about x
            np.concatenate((zero, -middle[:, 0])),  # about y
            np.concatenate((middle[:, 0], zero)),  # about z
        ],
        axis=1,
    )
    rigid /= np.linalg.norm(rigid, axis=0)
    basis, size, _ = np.linalg.svd(rigid, full_matrices=False)
    basis = basis[:, size > 1e-9 * size[0]]
    return np.asarray((take - basis @ (basis.T @ take)) / np.sqrt(n))


def shape_of(look: Look, readings: Array) -> Shape:
    """Return how the frame is off from the motions of the places looked at, (n_readings,)."""
    moved = readings.reshape(len(look.rails), READ, 3)
    part = np.linspace(0.0, 1.0, READ)[None, :, None]
    bow = moved - (moved[:, :1] * (1.0 - part) + moved[:, -1:] * part)
    vertical, lateral = (float(b.ravel()[np.argmax(np.abs(b))]) for b in (bow[..., 2], bow[..., 1]))
    twist = diagonals = None
    if "right" in look.sides and "left" in look.sides:
        r, le = look.sides.index("right"), look.sides.index("left")
        track = look.points[r, :, 1] - look.points[le, :, 1]
        lean = (moved[r, :, 2] - moved[le, :, 2]) / track
        twist = float(np.degrees(lean[0] - lean[-1]))
        one = _stretch(look, moved, (r, 0), (le, READ - 1))
        diagonals = one - _stretch(look, moved, (le, 0), (r, READ - 1))
    return Shape(
        float(np.linalg.norm(off_rows(look) @ readings)), vertical, lateral, twist, diagonals
    )


def _stretch(look: Look, moved: Array, a: tuple[int, int], b: tuple[int, int]) -> float:
    """Return how much longer the line between two places became, mm."""
    way = look.points[b] - look.points[a]
    return float((moved[b] - moved[a]) @ way / np.linalg.norm(way))


def follow(model: WeldModel, order: Sequence[int]) -> Array:
    """Return what each run moves when they are welded in an order, (n_runs, n_readings)."""
    staged = model.start()
    done: dict[int, State] = {}
    moved = np.zeros((len(model.plan.runs), len(model.readings)))
    for number in order:
        stretch = model.plan.runs[number].stretch
        before = done.get(stretch, frozenset())
        at, force = model.weld(staged, number, before)
        done[stretch] = before | {number}
        rhs = np.zeros(staged.n_free)
        rhs[at] = force
        moved[number] = model.readings @ staged.answers(rhs)
    return moved


def study(
    model: WeldModel,
    *,
    band: float = BAND,
    seed: int = 7,
    exchanges: int | None = None,
    told: Told | None = None,
) -> OrderStudy:
    """Return the five orders of a plan.

    Parameters
    ----------
    band : by what share shrinkage strays, all runs together and each on its own; taken as two
        standard deviations
    seed : of the draws and of the search
    exchanges : how many the search tries; from the size of the frame unless given
    """
    runs = model.plan.runs
    plain = {
        "one side first": one_side_first(runs),
        "end to end": end_to_end(runs),
        "equal and opposite": equal_and_opposite(runs),
        "back-step": back_step(runs),
    }
    size = len(runs) * model.start().n_free
    tries = min(max(TRIES[0], WORK // size), TRIES[1]) if exchanges is None else exchanges
    tell = told or (lambda _words, _done, _all: None)
    rng = np.random.default_rng(seed)
    share = _draw(rng, len(runs), band)
    found: list[Outcome] = []
    for k, (name, order) in enumerate(plain.items()):
        tell(name, k, 5)
        found.append(_outcome(model, name, order, follow(model, order), share))
    tell("searching", 4, 5)
    first = greedy(model)
    starts = [*found, _outcome(model, "searched", first, follow(model, first), share)]
    start = min(starts, key=lambda o: o.shape.off)
    order, kept = exchange(model, start, tries, rng)
    found.append(_outcome(model, "searched", order, follow(model, order), share))
    softer = _softer(model, found)
    return OrderStudy(model, tuple(found), band, seed, tries, kept, softer)


def _softer(model: WeldModel, found: Sequence[Outcome]) -> dict[str, float]:
    """Return what the same orders leave with tacks half as stiff, mm."""
    soft = WeldModel(model.plan, max(LEAST_TACK, 0.5 * model.tack))
    rows = off_rows(model.look)
    return {o.name: float(np.linalg.norm(rows @ follow(soft, o.order).sum(axis=0))) for o in found}


def _draw(rng: np.random.Generator, n_runs: int, band: float) -> Array:
    """Return what shrinkage is of the formula's, (DRAWS, n_runs)."""
    together = 1.0 + 0.5 * band * rng.standard_normal((DRAWS, 1))
    own = 1.0 + 0.5 * band * rng.standard_normal((DRAWS, n_runs))
    return np.maximum(together, 0.0) * np.maximum(own, 0.0)


def _outcome(
    model: WeldModel, name: str, order: Sequence[int], moved: Array, share: Array
) -> Outcome:
    rows = off_rows(model.look)
    on_the_way = np.linalg.norm(np.cumsum(moved[list(order)], axis=0) @ rows.T, axis=1)
    drawn = np.linalg.norm(share @ moved @ rows.T, axis=1)
    shape = shape_of(model.look, moved.sum(axis=0))
    return Outcome(name, tuple(order), moved, shape, float(on_the_way.max()), drawn)


def greedy(model: WeldModel) -> list[int]:
    """Return the order that always takes the run after which the frame is straightest.

    What a run will move is told from the structure as welded before it.
    """
    rows = off_rows(model.look) @ model.readings
    staged = model.start()
    done: dict[int, State] = {}
    left = list(range(len(model.plan.runs)))
    off = np.zeros(len(rows))
    order: list[int] = []
    while left:
        seen = staged.answers(np.ascontiguousarray(rows.T))
        moves = np.empty((len(left), len(rows)))
        for k, number in enumerate(left):
            before = done.get(model.plan.runs[number].stretch, frozenset())
            at, force = model.pull(number, before | {number})
            moves[k] = force @ seen[at]
        best = int(np.argmin(np.round(np.linalg.norm(off + moves, axis=1), 9)))
        number = left.pop(best)
        stretch = model.plan.runs[number].stretch
        before = done.get(stretch, frozenset())
        at, force = model.weld(staged, number, before)
        done[stretch] = before | {number}
        rhs = np.zeros(staged.n_free)
        rhs[at] = force
        off = off + rows @ staged.answers(rhs)
        order.append(number)
    return order


def exchange(
    model: WeldModel, start: Outcome, tries: int, rng: np.random.Generator
) -> tuple[list[int], int]:
    """Return an order at least as good as `start`, by exchanging pairs, and how many helped."""
    rows = off_rows(model.look)
    best, least, kept = list(start.order), start.shape.off, 0
    for _ in range(tries if len(best) > 1 else 0):
        a, b = rng.choice(len(best), 2, replace=False)
        trial = best.copy()
        trial[a], trial[b] = trial[b], trial[a]
        off = float(np.linalg.norm(rows @ follow(model, trial).sum(axis=0)))
        if off < least:
            best, least, kept = trial, off, kept + 1
    return best, kept
