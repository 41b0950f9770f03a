"""What each added part buys: alone, left out, in order, as a Shapley share, and in pairs."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.result.first_modes import FirstModes, first_modes
from fea.study.shapley import Shares, along, draw_orders, exact, sampled, second_difference
from fea.study.subsets import Told, solve_sets
from fea.study.variant import Figures, Setting, Variant, frame_of

Array = NDArray[np.float64]
Measure = Literal["twist", "bending", "peak"]

MEASURES: tuple[Measure, ...] = ("twist", "bending", "peak")

MOST_EXACT = 12
"""Parts up to which shares are taken over all orders: 4096 sets."""

MOST_EXACT_METAL = 7
"""The same with joints as sheet metal: 128 sets.  The shipped pickup's have 175 pieces of metal,
which take 220 s of one processor and 35 MB on disk, at `coarse` 2.  Beyond, shares are taken by
beam rules."""

MOST_STRESSED = 6
"""The same where stress is measured as well: all that is inside the metal is condensed then,
which takes twice as long and a hundred times the room on disk."""

ORDERS = 100
"""Random orders beyond that."""


@dataclass(frozen=True)
class Dropped:
    """A part that is left out of the study, and why."""

    name: str
    because: str


@dataclass(frozen=True)
class Pair:
    """What two parts bring together beyond each alone, as shares of the stock frame's figure.

    `on_stock`: with no other part; `in_full`: with all others fitted.
    """

    first: str
    second: str
    on_stock: float
    in_full: float


@dataclass(frozen=True, eq=False)
class Division:
    """The Shapley shares and the pairs, with the sets they were taken from.

    Attributes
    ----------
    setting : its joints may be simpler than those of the rest of the study
    figures : of every set that was solved for it
    shares : of `values`, per part: twist, bending and, with stress, peak
    """

    setting: Setting
    figures: dict[int, Figures]
    shares: Shares


@dataclass(frozen=True, eq=False)
class PartStudy:
    """Parts, and what they do; a set of parts is a number, bit k for the k-th part.

    Attributes
    ----------
    names : the parts in the document's order, which is that of the build-up
    dropped : parts that are not in the study
    fitted : the set that the document fits, as far as it is in the study
    figures : of the stock frame, every part alone and left out, and the build-up
    modes : the first modes of some sets, see :func:`with_modes`; none unless asked for
    """

    setting: Setting
    base: Variant
    names: tuple[str, ...]
    dropped: tuple[Dropped, ...]
    fitted: int
    figures: dict[int, Figures]
    division: Division
    modes: dict[int, FirstModes] = field(default_factory=dict)

    @property
    def full(self) -> int:
        """The set of all parts."""
        return (1 << len(self.names)) - 1

    @property
    def measures(self) -> tuple[Measure, ...]:
        """What is measured."""
        return ("twist", "bending") if self.figures[0].peak is None else MEASURES

    def steps(self) -> list[int]:
        """Return the sets of the build-up, the stock frame first."""
        return along(range(len(self.names)))

    def ratio(self, mask: int, measure: Measure) -> float:
        """Return a set's figure over the stock frame's."""
        return figure(self.figures[mask], measure) / figure(self.figures[0], measure)

    def gain(self, k: int, measure: Measure) -> float:
        """Return what a part adds to the stock frame, as a share of its figure."""
        return self.ratio(1 << k, measure) - 1.0

    def loss(self, k: int, measure: Measure) -> float:
        """Return what the full set loses without a part, as a share of its figure; negative."""
        without = figure(self.figures[self.full & ~(1 << k)], measure)
        return without / figure(self.figures[self.full], measure) - 1.0

    def mass(self, k: int) -> float:
        """Return the steel that a part adds to the stock frame, less what it replaces, tonne."""
        return self.figures[1 << k].steel - self.figures[0].steel

    def share(self, k: int, measure: Measure) -> tuple[float, float]:
        """Return a part's Shapley share and its standard error, over the stock frame's figure."""
        at = MEASURES.index(measure)
        stock = figure(self.division.figures[0], measure)
        found = self.division.shares
        return float(found.mean[k, at]) / stock, float(found.error[k, at]) / stock

    def alone(self, k: int, measure: Measure) -> float:
        """Return what a part adds to the stock frame, by the same joints as the shares."""
        sets = self.division.figures
        return figure(sets[1 << k], measure) / figure(sets[0], measure) - 1.0

    def shared(self, measure: Measure) -> float:
        """Return what there is to share: the full set's gain over the stock frame's figure."""
        sets = self.division.figures
        return figure(sets[self.full], measure) / figure(sets[0], measure) - 1.0

    def pairs(self, measure: Measure) -> list[Pair]:
        """Return all pairs, the one that matters most first."""
        sets = {mask: np.array([figure(f, measure)]) for mask, f in self.division.figures.items()}
        stock = float(sets[0][0])
        found = []
        for i, j in combinations(range(len(self.names)), 2):
            low, high = (
                float(second_difference(sets, i, j, around)[0]) / stock for around in (0, self.full)
            )
            found.append(Pair(self.names[i], self.names[j], low, high))
        return sorted(found, key=lambda p: -max(abs(p.on_stock), abs(p.in_full)))


def figure(figures: Figures, measure: Measure) -> float:
    """Return one figure in base units.

    Raises
    ------
    ModelError
        If the frame has no such figure.
    """
    found: float | None = getattr(figures, measure)
    if found is None:
        rule = f"{measure} cannot be measured on this frame"
        raise ModelError(Complaint(rule, do="it takes a pair of rails and both axles"))
    return found


def per_kilogram(gain: float, mass: float) -> float | None:
    """Return a gain per kilogram of a mass in tonnes; None where no steel is added."""
    return gain / (1000.0 * mass) if mass > 1e-9 else None


def study(
    setting: Setting,
    base: Variant,
    *,
    keep: Sequence[str] = (),
    leave: Sequence[str] = (),
    stress: bool = False,
    orders: int | None = None,
    shares_in_metal: bool | None = None,
    workers: int | None = None,
    told: Told | None = None,
) -> PartStudy:
    """Return the study of a document's parts.

    Parameters
    ----------
    setting, base : what all variants share; the parts of `base` do not count
    keep : parts that stay where two cannot be fitted together
    leave : parts that are not to be studied
    stress : measure the highest stress as well
    orders : estimate the shares from so many random orders; by itself, all orders up to
        `MOST_EXACT` parts and `ORDERS` beyond
    shares_in_metal : whether shares and pairs take joints as the rest does; by itself, up to
        `MOST_EXACT_METAL` parts (`MOST_STRESSED` with stress), and by beam rules beyond
    workers, told : see :func:`fea.study.subsets.solve_sets`

    Raises
    ------
    ModelError
        If there is no part to study, or a name is not that of a part.
    """
    names, dropped = choose_parts(setting, base, keep, leave)
    n, full = len(names), (1 << len(names)) - 1
    single = [1 << k for k in range(n)]
    fitted = sum(
        1 << names.index(p.name) for p in setting.document.part if p.fitted and p.name in names
    )
    wanted = [0, full, *single, *(full & ~s for s in single), *along(range(n)), fitted]

    drawn = None
    if orders is not None or n > MOST_EXACT:
        drawn = draw_orders(n, orders or ORDERS)
    sets = list(range(full + 1)) if drawn is None else _of_orders(drawn.tolist(), n)
    if shares_in_metal is None:
        shares_in_metal = n <= (MOST_STRESSED if stress else MOST_EXACT_METAL)
    simpler = replace(setting, sheet_joints=False, coarse=1.0)
    alike = shares_in_metal or not setting.sheet_joints

    first = [*wanted, *sets] if alike else wanted
    figures = solve_sets(
        setting, names, first, base=base, stress=stress, workers=workers, told=told
    )
    divided = figures
    if not alike:
        divided = solve_sets(
            simpler, names, sets, base=base, stress=stress, workers=workers, told=told
        )
    values = {mask: _values(divided[mask]) for mask in sets}
    if drawn is None:
        shares = exact(np.array([values[mask] for mask in range(full + 1)]))
    else:
        shares = sampled(drawn, values)
    division = Division(setting if alike else simpler, {m: divided[m] for m in sets}, shares)
    own = {mask: figures[mask] for mask in dict.fromkeys(wanted)}
    return PartStudy(setting, base, names, dropped, fitted, own, division)


def with_modes(found: PartStudy) -> PartStudy:
    """Return a study with the first modes of stock, as fitted, all parts, each alone, left out.

    Hung in nothing, with what the frame carries, by beam joints whatever the study's own.
    """
    single = [1 << k for k in range(len(found.names))]
    sets = [0, found.fitted, found.full, *single, *(found.full & ~s for s in single)]
    modes = {}
    for mask in dict.fromkeys(sets):
        parts = frozenset(name for k, name in enumerate(found.names) if mask >> k & 1)
        modes[mask] = first_modes(frame_of(found.setting, replace(found.base, parts=parts)))
    return replace(found, modes=modes)


def _of_orders(orders: Sequence[Sequence[int]], n: int) -> list[int]:
    """Return the sets that orders pass through, and those that pairs need."""
    full = (1 << n) - 1
    found = [0, full, *(s for order in orders for s in along(order))]
    for i, j in combinations(range(n), 2):
        one, other = 1 << i, 1 << j
        found += [one, other, one | other]
        found += [full & ~one, full & ~other, full & ~(one | other)]
    return list(dict.fromkeys(found))


def _values(figures: Figures) -> Array:
    known = ("twist", "bending") if figures.peak is None else MEASURES
    return np.array([figure(figures, measure) for measure in known])


def choose_parts(
    setting: Setting, base: Variant, keep: Sequence[str] = (), leave: Sequence[str] = ()
) -> tuple[tuple[str, ...], tuple[Dropped, ...]]:
    """Return the parts to study, in the document's order, and those dropped from it.

    Shares are taken over all sets of parts, so every set must be one that can be fitted.
    Where two parts cannot be fitted together, the later one in the document is dropped, or
    the one that is not in `keep`; a part that cannot be fitted without another is dropped.

    Raises
    ------
    ModelError
        If no part is left, a name is not a part's, or parts in `keep` bar each other.
    """
    every = [part.name for part in setting.document.part]
    _check_names(setting, every, keep, leave)
    frame_of(setting, replace(base, parts=frozenset(keep)))
    dropped = [Dropped(name, "left out as asked") for name in every if name in leave]
    taken: list[str] = []
    first = [name for name in every if name in keep]
    for name in [*first, *(n for n in every if n not in keep and n not in leave)]:
        wrong = _bar(setting, base, {name})
        if wrong is not None:
            others = [o for o in every if o != name and _bar(setting, base, {name, o}) is None]
            if not others:
                raise wrong
            dropped.append(Dropped(name, f"it cannot be fitted without {others[0]}"))
            continue
        bars = [(o, _bar(setting, base, {name, o})) for o in taken]
        against = next(((o, error) for o, error in bars if error is not None), None)
        if against is None:
            taken.append(name)
            continue
        rule = against[1].complaints[0].rule
        dropped.append(Dropped(name, f"it cannot be fitted together with {against[0]}: {rule}"))
    if not taken:
        raise ModelError(Complaint("there is no part to study", setting.source))
    names = tuple(name for name in every if name in taken)
    frame_of(setting, replace(base, parts=frozenset(names)))
    return names, tuple(sorted(dropped, key=lambda d: every.index(d.name)))


def _check_names(
    setting: Setting, every: Sequence[str], keep: Sequence[str], leave: Sequence[str]
) -> None:
    from fea.document.spelling import choices

    complaints = [
        Complaint(
            f'there is no part "{name}"',
            setting.source,
            do=choices(every, name) or "this frame has no parts to choose from",
        )
        for name in (*keep, *leave)
        if name not in every
    ]
    complaints += [
        Complaint(f'part "{name}" cannot be both fitted and left off', setting.source)
        for name in keep
        if name in leave
    ]
    if complaints:
        raise ModelError(*complaints)


def _bar(setting: Setting, base: Variant, parts: set[str]) -> ModelError | None:
    """Return what bars some parts from being fitted together, None if nothing does."""
    try:
        frame_of(setting, replace(base, parts=frozenset(parts)))
    except ModelError as error:
        return error
    return None
