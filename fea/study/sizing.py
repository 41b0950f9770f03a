"""The least added mass over stock gauges that reaches a stiffness, with beam joints.

Choices of parts are taken by their mass in the thinnest gauge.  One is done with as soon as
that mass is no better than what is known; or, since stiffness grows with every wall and
every added part, if it misses a target in the thickest gauge, and with it every choice that
lacks some of its parts.  Inside a choice the lightest design not ruled out is solved; where
it misses, all that are nowhere thicker are ruled out, and all that the tangent of the
compliance tells to miss (:mod:`fea.study.relaxed`).  The first to reach all targets is the
lightest.

Both rules are checked, as neither is a law of this model: beam rules for joints can make a
frame softer by a little where a wall grows, and a compliance need not be convex.  Every pair
of solved designs of which one is nowhere thinner is compared; the largest loss of stiffness,
doubled, becomes the slack by which a design must miss before it rules out thinner ones.  And
lighter designs that tangents alone ruled out are solved afterwards (the audit); where one
reaches the targets, tangents are given a margin.  In both cases the search is run again.

References
----------
.. [1] A. F. Veinott, The supporting hyperplane method for unimodal programming, Operations
   Research 15, 1967.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from fea.errors import Complaint, SolveError
from fea.study.gauges import Levels, Space
from fea.study.patterns import patterns
from fea.study.relaxed import Pattern, Relaxed, Target, relax
from fea.study.search import Design, Limits, Search, run
from fea.study.soundness import audit, bound, largest_loss, worst_tangent

RUNS = 3
"""Searches, each with a wider margin, before the audit's verdict stands."""


@dataclass(frozen=True, eq=False)
class Sized:
    """What a search found.

    Attributes
    ----------
    designs : the best and its runners-up, lightest first
    relaxed : the best's parts in any thickness between the thinnest and thickest gauge
    bound : steel below which no design reaches the targets, by monotony alone, tonne
    complete : whether the search came to its end; `solves` it took
    audited : lighter designs solved that tangents alone had ruled out; `wrong` of them, how
        many reached the targets after all, in the last run
    margin : of the tangents in the last run, over the target
    breach : largest loss of stiffness by a thicker wall or an added part, as a share, over
        `pairs` of solved designs; `slack` is what the last run allowed for it
    strained : designs that reached the targets but not the stress limit
    """

    space: Space
    targets: tuple[Target, ...]
    designs: tuple[Design, ...]
    relaxed: Relaxed | None
    bound: float
    complete: bool
    solves: int
    audited: int
    wrong: int
    margin: float
    strained: int
    n_patterns: int
    breach: float
    pairs: int
    slack: float


def size(
    space: Space,
    targets: Sequence[Target],
    limits: Limits | None = None,
    known: dict[Levels, Design] | None = None,
) -> Sized:
    """Return the lightest designs that reach every target.

    Parameters
    ----------
    known : designs solved before; those solved now are added

    Raises
    ------
    SolveError
        If no design does, even in the thickest gauge; with how near it comes.
    """
    limits = limits or Limits()
    known = {} if known is None else known
    margin, slack, solves = 0.0, 0.0, 0
    for _ in range(RUNS):
        search = Search(space, tuple(targets), limits, margin, slack, known=known)
        choices = patterns(space)
        run(search, choices)
        if not search.found:
            raise _out_of_reach(search, choices)
        audited, wrong = audit(search)
        least = bound(search)
        solves += search.solves
        breach, pairs = largest_loss(space, list(known.values()), [t.measure for t in targets])
        if not wrong and breach <= slack:
            break
        margin = max(2.0 * worst_tangent(search), margin, 1e-3) if wrong else margin
        slack = max(2.0 * breach, slack)
    best = search.found[0]
    return Sized(
        space=space,
        targets=tuple(targets),
        designs=tuple(search.found[: limits.want]),
        relaxed=relax(space, tuple(k > 0 for k in best.levels), targets),
        bound=min(least, best.steel),
        complete=search.complete,
        solves=solves,
        audited=audited,
        wrong=wrong,
        margin=search.margin,
        strained=search.strained,
        n_patterns=len(choices),
        breach=breach,
        pairs=pairs,
        slack=search.slack,
    )


def _out_of_reach(search: Search, choices: Sequence[Pattern]) -> SolveError:
    if search.strained:
        return SolveError(
            Complaint(
                "every design that reaches the targets is stressed beyond the limit",
                search.space.setting.source,
                f"{search.strained} designs solved",
                "raise --stress, or offer other parts",
            )
        )
    ratios = []
    for pattern in choices:
        top = search.known.get(tuple(len(search.space.gauges) if on else 0 for on in pattern))
        if top is not None:
            ratios.append(min((getattr(top, t.measure) or 0.0) / t.value for t in search.targets))
    return SolveError(
        Complaint(
            "no design reaches the targets, not even every part in the thickest gauge",
            search.space.setting.source,
            f"at best {100.0 * max(ratios, default=0.0):.0f} % of the target furthest off",
            "ask for less, offer thicker gauges, or describe more parts",
        )
    )
