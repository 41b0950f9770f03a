"""The search for the lightest design itself: what is known, what is ruled out, what is solved.

How it goes and what it rests on is told in :mod:`fea.study.sizing`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from fea.study.gauges import Levels, Space
from fea.study.highest_stress import highest
from fea.study.patterns import Block, block, within
from fea.study.relaxed import Pattern, Target, tangents
from fea.study.variant import measure

Array = NDArray[np.float64]

LIGHTER = 1e-9
"""Masses nearer than this, tonne, are equal."""

CROSSINGS = 5
"""Halvings on the way to the point of a line where a target is just reached."""


@dataclass(frozen=True)
class Design:
    """One design, solved: levels by wall, steel in tonnes, stiffnesses in base units."""

    levels: Levels
    steel: float
    twist: float | None
    bending: float | None
    utilisation: float | None = None

    def reaches(self, targets: Sequence[Target]) -> bool:
        """Say whether every target is reached."""
        return self.share(targets) >= 1.0

    def share(self, targets: Sequence[Target]) -> float:
        """Return the stiffness over its target, the least of all targets."""
        return min((getattr(self, t.measure) or 0.0) / t.value for t in targets)


@dataclass(frozen=True)
class Limits:
    """What the search may spend, and what it must keep.

    Attributes
    ----------
    stress : highest share of yield under the cases, None for no limit
    want : designs told, the best and its runners-up; solves : beam-joint solves at most
    audit : lighter designs solved afterwards; prove : solves spent on the bound
    """

    stress: float | None = None
    want: int = 3
    solves: int = 3000
    audit: int = 40
    prove: int = 150


@dataclass(eq=False)
class Search:
    """One search under way.

    Attributes
    ----------
    margin : by which a tangent must tell a design to miss
    slack : by which a design must miss before it rules out thinner ones
    found : designs that reach all targets, lightest first
    known : every design solved, in earlier searches too
    blocks : the choices of parts that were opened
    strained : designs that reached the targets but not the stress limit
    """

    space: Space
    targets: tuple[Target, ...]
    limits: Limits
    margin: float
    slack: float
    found: list[Design] = field(default_factory=list)
    known: dict[Levels, Design] = field(default_factory=dict)
    blocks: list[Block] = field(default_factory=list)
    solves: int = 0
    strained: int = 0
    complete: bool = True

    @property
    def cutoff(self) -> float:
        """Steel that a design must stay under to be told, tonne."""
        enough = len(self.found) >= self.limits.want
        return self.found[self.limits.want - 1].steel if enough else np.inf

    def solve(self, levels: Levels) -> Design:
        """Return a design solved; each is solved once."""
        if levels not in self.known:
            self.solves += 1
            f = measure(self.space.setting, self.space.variant(levels))
            self.known[levels] = Design(levels, f.steel, f.twist, f.bending)
        return self.known[levels]

    def accept(self, design: Design) -> bool:
        """Keep a design that reaches the targets, unless it is strained too much."""
        use = highest(self.space.setting, self.space.variant(design.levels)).utilisation
        design = replace(design, utilisation=use)
        if self.limits.stress is not None and use > self.limits.stress:
            self.strained += 1
            return False
        self.found = sorted([*self.found, design], key=lambda d: (d.steel, d.levels))
        return True

    def misses(self, design: Design) -> bool:
        """Say whether a design misses by so much that thinner ones do too."""
        return design.share(self.targets) < 1.0 - self.slack

    @property
    def spent(self) -> bool:
        """Whether the solves allowed are used up."""
        return self.solves >= self.limits.solves


def run(search: Search, choices: Sequence[Pattern]) -> None:
    """Search all choices of parts, the lightest first."""
    space = search.space
    dead: list[Pattern] = []
    for pattern in choices:
        if space.steel([int(on) for on in pattern]) >= search.cutoff - LIGHTER:
            return
        if any(within(pattern, other, space) for other in dead):
            continue
        here = block(space, pattern)
        top = tuple(n - 1 for n in here.steel.shape)
        best = search.solve(here.levels(top))
        if search.misses(best):
            dead.append(pattern)
            continue
        search.blocks.append(here)
        run_block(search, here)


def run_block(search: Search, here: Block) -> None:
    """Take the lightest design that is left, again and again."""
    while True:
        ruled = here.spent | here.under | here.beyond
        next_one = here.lightest(ruled)
        if next_one is None or next_one[1] >= search.cutoff - LIGHTER:
            return
        if search.spent:
            search.complete = False
            return
        at = next_one[0]
        design = search.solve(here.levels(at))
        if design.reaches(search.targets):
            here.spend(at)
            search.accept(design)
            continue
        rule_out(search, here, at, design)
        for tangent in tangents(search.space, here.pattern, _crossing(search, here, at),
                                search.targets):  # fmt: skip
            here.cut(tangent, search.margin)


def rule_out(search: Search, here: Block, at: Levels, design: Design) -> None:
    """Rule out a design that misses, and by enough of a miss the thinner ones as well."""
    if search.misses(design):
        here.miss(at)
    else:
        here.spend(at)


def _crossing(search: Search, here: Block, at: Levels) -> Array:
    """Return where, on the way from a design to the thickest, all targets are just reached."""
    space = search.space
    low, high = here.thickness(at), np.full(len(at), space.thickness[-1])
    a, b = 0.0, 1.0
    for _ in range(CROSSINGS):
        middle = 0.5 * (a + b)
        full = np.zeros(len(here.pattern))
        full[list(here.on)] = low + middle * (high - low)
        search.solves += 1
        found = measure(space.setting, space.between(full.tolist(), here.pattern))
        if all((getattr(found, t.measure) or 0.0) >= t.value for t in search.targets):
            b = middle
        else:
            a = middle
    return np.asarray(low + a * (high - low))
