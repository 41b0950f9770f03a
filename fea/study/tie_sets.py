"""The best two, three and four ties together: by trying all sets, or one after another."""

from dataclasses import dataclass
from itertools import combinations
from math import comb

import numpy as np
from numpy.typing import NDArray

from fea.result.stiffness import Profile, twist_stiffness
from fea.solve.update import Flexibility
from fea.study.ties import Candidate, Grade, TieStudy

Array = NDArray[np.float64]

MOST_SETS = 5000
"""Sets of one size up to which all of them are tried."""


@dataclass(frozen=True)
class BestSet:
    """A set of candidates and the share of twist stiffness it adds.

    `exact`: all sets of this size were tried; otherwise the best one was added to the best
    smaller set, which need not lead to the best set.
    """

    names: tuple[str, ...]
    gain: float
    exact: bool
    tried: int


def best_sets(vehicle: TieStudy, grade: Grade, most: int = 4) -> tuple[BestSet, ...]:
    """Return the best set of every size from one to `most` candidates."""
    flexible = vehicle.flexible[0].with_springs(vehicle.mount_rows.ravel(), grade.extra.ravel())
    every = range(len(vehicle.candidates))
    found: list[BestSet] = []
    last: tuple[int, ...] = ()
    for size in range(1, min(most, len(every)) + 1):
        exact = comb(len(every), size) <= MOST_SETS
        if exact:
            sets = list(combinations(every, size))
        else:
            sets = [tuple(sorted((*last, n))) for n in every if n not in last]
        gains = [_gain(vehicle, flexible, grade, s) for s in sets]
        best = int(np.argmax(gains))
        last = sets[best]
        names = tuple(vehicle.candidates[n].name for n in last)
        found.append(BestSet(names, gains[best], exact, len(sets)))
    return tuple(found)


def _gain(vehicle: TieStudy, flexible: Flexibility, grade: Grade, chosen: tuple[int, ...]) -> float:
    some: list[Candidate] = [vehicle.candidates[n] for n in chosen]
    read, _ = flexible.read_with(
        np.concatenate([c.rows for c in some]), np.concatenate([c.stiffness for c in some])
    )
    bare = grade.bare.profile
    profile = Profile(bare.stations, read[:, 0], bare.height, bare.offset)
    return twist_stiffness(vehicle.frame, vehicle.cases[0], profile) / grade.bare.twist - 1.0
