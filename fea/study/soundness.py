"""Whether a search may be trusted: its two rules held against solved designs."""

from collections.abc import Sequence

import numpy as np

from fea.study.gauges import Levels, Space
from fea.study.patterns import Block
from fea.study.search import LIGHTER, Design, Search, rule_out

ROUND_OFF = 1e-9
"""Losses of stiffness below this share are none."""


def largest_loss(
    space: Space, designs: Sequence[Design], measures: Sequence[str]
) -> tuple[float, int]:
    """Return the largest loss of stiffness where a design is nowhere thinner, and the pairs.

    Parts that replace stock pieces must be in both designs or in neither.
    """
    if not designs:
        return 0.0, 0
    levels = np.array([d.levels for d in designs])
    swaps = np.array([w.replaces for w in space.walls])
    under = np.all(levels[:, None] <= levels[None], axis=2)
    under &= np.all((levels[:, None, swaps] > 0) == (levels[None][:, :, swaps] > 0), axis=2)
    np.fill_diagonal(under, val=False)
    worst = 0.0
    for m in measures:
        value = np.array([getattr(d, m) or np.nan for d in designs])
        loss = np.where(under, 1.0 - value[None] / value[:, None], 0.0)
        worst = max(worst, float(np.nanmax(loss, initial=0.0)))
    return (worst if worst > ROUND_OFF else 0.0), int(under.sum())


def audit(search: Search) -> tuple[int, int]:
    """Solve lighter designs that only tangents ruled out; return how many, and how many wrong.

    Half of them are those that tangents ruled out by least, half are drawn by lot.
    """
    best = search.found[0].steel
    doubted: list[tuple[float, int, Levels]] = []
    for number, here in enumerate(search.blocks):
        only = here.beyond & ~here.under & ~here.spent & (here.steel < best - LIGHTER)
        if only.any():
            told = np.max([here.told(t) for t in here.tangents], axis=0)
            doubted += [
                (float(told[tuple(at)]), number, tuple(int(k) for k in at))
                for at in np.argwhere(only)
            ]
    doubted.sort()
    near = doubted[: search.limits.audit // 2]
    rest = doubted[len(near) :]
    lot = np.random.default_rng(20_261).permutation(len(rest))[: search.limits.audit - len(near)]
    wrong = 0
    for _, number, at in [*near, *(rest[k] for k in lot)]:
        here = search.blocks[number]
        design = search.solve(here.levels(at))
        if design.reaches(search.targets):
            here.spend(at)
            wrong += 1
        else:
            rule_out(search, here, at, design)
    return min(len(doubted), search.limits.audit), wrong


def worst_tangent(search: Search) -> float:
    """Return by how much a tangent overstates the compliance of a solved design, at most."""
    worst = 0.0
    for here in search.blocks:
        for at in np.argwhere(here.spent | here.under):
            design = search.known.get(here.levels(tuple(int(k) for k in at)))
            for tangent in here.tangents if design is not None else ():
                value = getattr(design, tangent.target.measure)
                told = tangent.over_target(here.thickness(tuple(int(k) for k in at)))
                worst = max(worst, told - tangent.target.value / value)
    return worst


def bound(search: Search) -> float:
    """Return the steel of the lightest design that monotony alone has not ruled out.

    Solves are spent on raising it: the lightest is made thicker as long as the tangents
    tell it to miss, and all designs under that one go at once.
    """
    best = search.found[0].steel
    for _ in range(search.limits.prove):
        left = [
            (item[1], number, item[0])
            for number, here in enumerate(search.blocks)
            if (item := here.lightest(here.spent | here.under)) is not None
        ]
        if not left or min(left)[0] >= best - LIGHTER:
            break
        _, number, light = min(left)
        here = search.blocks[number]
        at = _raised(here, light, search.margin)
        thick, design = search.solve(here.levels(at)), search.solve(here.levels(light))
        if design.reaches(search.targets):
            break  # it is lighter than what was found: no bound can rise past it
        if search.misses(thick):
            here.miss(at)
        else:
            rule_out(search, here, light, design)
    rest = [here.lightest(here.spent | here.under) for here in search.blocks]
    return min([item[1] for item in rest if item is not None], default=best)


def _raised(here: Block, at: Levels, margin: float) -> Levels:
    """Return a design at least as thick that the tangents still tell to miss."""
    now = list(at)
    for wall in sorted(range(len(at)), key=lambda k: -float(here.space.mass[1][here.on[k]][-1])):
        while now[wall] + 1 < len(here.space.gauges):
            now[wall] += 1
            told = max((t.over_target(here.thickness(tuple(now))) for t in here.tangents),
                       default=0.0)  # fmt: skip
            if told <= 1.0 + margin:
                now[wall] -= 1
                break
    return tuple(now)
