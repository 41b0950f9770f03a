"""A sizing search whose answer is solved again with joints as sheet metal."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from fea.solve.condense import Store
from fea.study.gauges import Levels, Space
from fea.study.highest_stress import highest
from fea.study.relaxed import Target
from fea.study.search import Design, Limits
from fea.study.sizing import Sized, size
from fea.study.variant import Figures, Setting, measure

CLOSE = 0.01
"""Beam targets are not told apart more finely than this share."""

MOST_THINNED = 12
"""Designs solved in sheet metal to see whether the answer can be thinned."""

ROUNDS = 6
"""Searches, each with its targets corrected by what sheet metal said of the one before."""


@dataclass(frozen=True)
class Wanted:
    """What is asked of a measure: a stiffness in base units, or a gain over stock."""

    measure: str
    value: float
    is_gain: bool

    def target(self, stock: Figures) -> Target:
        """Return the target it makes, where stock measures this much."""
        if not self.is_gain:
            return Target(self.measure, self.value)
        return Target(self.measure, (1.0 + self.value) * (getattr(stock, self.measure) or 0.0))


@dataclass(frozen=True)
class Checked:
    """A design with its joints as sheet metal; `missed`: share of the target it lacks."""

    design: Design
    figures: Figures
    missed: float


@dataclass(frozen=True, eq=False)
class Round:
    """One search with beam joints, and its designs as sheet metal, lightest first."""

    sized: Sized
    checked: tuple[Checked, ...]


@dataclass(frozen=True, eq=False)
class Answer:
    """The whole of a sizing study.

    Attributes
    ----------
    stock : the frame without any part, in beam joints; `sheet_stock` in sheet metal
    targets : what must be reached, in the joints that decide
    rounds : the searches; `checked` is empty where beam joints decide
    best : the lightest design that reaches the targets in the joints that decide; if none
        does, the one that comes nearest
    """

    stock: Figures
    sheet_stock: Figures | None
    targets: tuple[Target, ...]
    rounds: tuple[Round, ...]
    best: Design
    best_checked: Checked | None

    @property
    def reached(self) -> bool:
        """Whether the best reaches the targets in the joints that decide."""
        return self.best_checked is None or self.best_checked.missed <= 0.0


def size_checked(
    space: Space,
    wanted: Sequence[Wanted],
    limits: Limits | None = None,
    *,
    sheet_joints: bool,
    store: Store | None = None,
    tell: Callable[[str], None] | None = None,
) -> Answer:
    """Return the lightest design that reaches what is wanted.

    The search is in beam joints.  With sheet joints its designs are solved again; where all
    of them miss, the search goes on with its targets raised by what the best lacked, and
    from there halves the way between targets that missed and targets that reached.

    Parameters
    ----------
    space : with a setting of beam joints
    tell : called with what is being done
    """
    stock = measure(space.setting, space.bare)
    targets = tuple(w.target(stock) for w in wanted)
    known: dict[Levels, Design] = {}
    if not sheet_joints:
        sized = size(space, targets, limits, known)
        return Answer(stock, None, targets, (Round(sized, ()),), sized.designs[0], None)
    metal = replace(space.setting, sheet_joints=True)
    sheet_stock = measure(metal, space.bare, store)
    sheet_targets = tuple(w.target(sheet_stock) for w in wanted)
    solved: dict[Levels, Checked] = {}
    rounds: list[Round] = []
    low: tuple[Target, ...] | None = None  # beam targets whose designs all missed
    high: tuple[Target, ...] | None = None  # those with one that reached
    for _ in range(ROUNDS):
        if tell is not None:
            tell(f"search {len(rounds) + 1}")
        sized = size(space, targets, limits, known)
        for design in sized.designs:
            if design.levels not in solved:
                found = measure(metal, space.variant(design.levels), store)
                solved[design.levels] = Checked(design, found, _missed(found, sheet_targets))
        checked = tuple(solved[d.levels] for d in sized.designs)
        rounds.append(Round(sized, checked))
        if any(c.missed <= 0.0 for c in checked):
            high = targets
        else:
            low = targets
        if low is None:
            break  # the lightest by beam rules reaches: none was left out
        if high is None:
            targets = _corrected(min(checked, key=lambda c: c.missed), sheet_targets)
        elif all(b.value < a.value * (1.0 + CLOSE) for a, b in zip(low, high, strict=True)):
            break
        else:
            targets = tuple(
                Target(a.measure, (a.value * b.value) ** 0.5)
                for a, b in zip(low, high, strict=True)
            )
    reached = [c for c in solved.values() if c.missed <= 0.0]
    best = (
        min(reached, key=lambda c: c.design.steel)
        if reached
        else min(solved.values(), key=lambda c: c.missed)
    )
    if best.missed <= 0.0 and low is not None:
        best = _thinned(space, metal, best, sheet_targets, limits or Limits(), solved, store)
    return Answer(stock, sheet_stock, sheet_targets, tuple(rounds), best.design, best)


def _thinned(
    space: Space,
    metal: Setting,
    best: Checked,
    targets: Sequence[Target],
    limits: Limits,
    solved: dict[Levels, Checked],
    store: Store | None,
) -> Checked:
    """Return a design from which no single wall can be made a gauge thinner, or left off.

    Beam rules rank some kinds of parts lower than sheet metal does: this finds what they hid.
    """
    spent = 0
    while True:
        lower = [
            tuple(k - (n == wall) for n, k in enumerate(best.design.levels))
            for wall, level in enumerate(best.design.levels)
            if level
        ]
        whole = [x for x in lower if space.fitted(x) == _parts_on(space, x)]
        for levels in sorted(whole, key=space.steel):
            if levels not in solved:
                if spent >= MOST_THINNED:
                    return best
                spent += 1
                beam = measure(space.setting, space.variant(levels))
                use = highest(space.setting, space.variant(levels)).utilisation
                design = Design(levels, beam.steel, beam.twist, beam.bending, use)
                found = measure(metal, space.variant(levels), store)
                solved[levels] = Checked(design, found, _missed(found, targets))
            other = solved[levels]
            strained = (
                limits.stress is not None and (other.design.utilisation or 0.0) > limits.stress
            )
            if other.missed <= 0.0 and not strained:
                best = other
                break
        else:
            return best


def _parts_on(space: Space, levels: Levels) -> dict[str, bool]:
    """Return of every part whether all of its walls have a gauge."""
    on: dict[str, bool] = {}
    for wall, k in zip(space.walls, levels, strict=True):
        on[wall.part] = on.get(wall.part, True) and k > 0
    return on


def _missed(found: Figures, targets: Sequence[Target]) -> float:
    return max(1.0 - (getattr(found, t.measure) or 0.0) / t.value for t in targets)


def _corrected(pivot: Checked, sheet: Sequence[Target]) -> tuple[Target, ...]:
    """Return the beam targets that a design like this one just reaches in sheet metal."""
    out = []
    for metal in sheet:
        beam, found = (getattr(x, metal.measure) for x in (pivot.design, pivot.figures))
        out.append(Target(metal.measure, beam * metal.value / found))
    return tuple(out)
