"""Whether a tie is worth its hole in the floor, in words that follow from the figures."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from fea.study.ties import Grade, Outcome, TieStudy

WORTH = 0.02
"""Share of the vehicle's twist stiffness that a tie must add to be worth a hole."""

HEAVY = 2.0
"""Times the load of its more loaded neighbour beyond which a tie takes over its work."""

Word = Literal["worth it", "too little", "takes the load", "rigidly linked"]

PRACTICE = (
    "Common practice (no source): an added tie is bolted up solid with solid or very hard mounts,"
    " and left loose with rubber ones."
)


@dataclass(frozen=True)
class Thresholds:
    """What the words hang on: see `WORTH` and `HEAVY`."""

    worth: float = WORTH
    heavy: float = HEAVY


def over_neighbours(outcome: Outcome) -> float | None:
    """Return a tie's force over that of the more loaded mount beside it; None without one."""
    ratios = []
    for load, beside in zip(outcome.load, outcome.neighbours, strict=True):
        most = max((float(np.linalg.norm(outcome.vehicle.mounts[n])) for n in beside), default=0.0)
        if most > 0.0:
            ratios.append(float(np.linalg.norm(load[:3])) / most)
    return max(ratios, default=None)


def word(outcome: Outcome, limits: Thresholds) -> Word:
    """Return what is to be thought of a tie with one grade of mounts."""
    if outcome.linked:
        return "rigidly linked"
    if outcome.twist_gain < limits.worth:
        return "too little"
    ratio = over_neighbours(outcome)
    return "takes the load" if ratio is not None and ratio > limits.heavy else "worth it"


def _clause(grade: Grade, outcome: Outcome, limits: Thresholds) -> str:
    start = f"with {grade.name} mounts it"
    gain, force = f"{100.0 * outcome.twist_gain:.1f} % twist stiffness", outcome.force / 1000.0
    ratio = over_neighbours(outcome)
    match word(outcome, limits):
        case "rigidly linked":
            return f"{start} can do nothing: its ends are rigidly linked already"
        case "too little":
            return f"{start} adds only {gain}: not worth a hole in the floor"
        case "worth it":
            return f"{start} adds {gain} and carries {force:.2f} kN per degree: worth it"
        case "takes the load":
            return (
                f"{start} adds {gain} but takes {ratio:.1f} times the load of its neighbours,"
                f" {force:.2f} kN per degree: leave it loose, or make the floor there for it"
            )


def verdict(vehicle: TieStudy, number: int, limits: Thresholds) -> str:
    """Return one candidate's verdict with every grade, the stiffest mounts first."""
    order = sorted(vehicle.grades, key=lambda g: -g.bare.twist)
    clauses = [_clause(g, g.outcomes[number], limits) for g in order]
    return f"The tie at {vehicle.candidates[number].name}: " + "; ".join(clauses) + "."


def ranking(vehicle: TieStudy) -> list[int]:
    """Return the candidates' numbers, the largest gain with any grade first."""
    best = [
        max(g.outcomes[n].twist_gain for g in vehicle.grades)
        for n in range(len(vehicle.candidates))
    ]
    return sorted(range(len(best)), key=lambda n: -best[n])


def against_practice(vehicle: TieStudy, limits: Thresholds) -> str:
    """Return how the figures stand to common practice, in words."""
    order = sorted(vehicle.grades, key=lambda g: g.bare.twist)
    if len(order) < 2:
        return PRACTICE
    soft, hard = order[0], order[-1]
    top = ranking(vehicle)[0]
    at = vehicle.candidates[top].name
    one, other = soft.outcomes[top], hard.outcomes[top]
    low, high = over_neighbours(one), over_neighbours(other)
    loads = (
        f"beside its neighbours it carries {low:.1f} times their load on {soft.name} and"
        f" {high:.1f} times on {hard.name}"
        if low is not None and high is not None
        else "it has no mounts beside it to compare with"
    )
    return (
        f"{PRACTICE} Here the best tie, at {at}, adds {100.0 * one.twist_gain:.1f} % on"
        f" {soft.name} and {100.0 * other.twist_gain:.1f} % on {hard.name} mounts; {loads}. "
        + _why(one, other, low, high, limits)
    )


def _why(
    soft: Outcome, hard: Outcome, low: float | None, high: float | None, limits: Thresholds
) -> str:
    heavy = low is not None and high is not None and low > max(limits.heavy, high)
    if soft.twist_gain > hard.twist_gain:
        gain = (
            "The gain itself is larger on soft mounts, for there the body moves against the"
            " frame, and a tie has something to hold"
        )
    else:
        gain = "The gain is larger on hard mounts"
    if heavy:
        return (
            f"{gain}; but on soft mounts it bears what a row of mounts should share, at one place"
            " of a thin floor: that is why it is left loose there."
        )
    return f"{gain}; the load beside its neighbours gives no reason to leave it loose."
