"""How the highest stress of a frame moves with one figure, at the place where it is."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.analyse import analyse
from fea.result.stress import Stress, stresses
from fea.study.keys import NumericKey
from fea.study.variant import Setting, Variant, frame_of

Array = NDArray[np.float64]
Place = tuple[int, int, int, int]
"""Case, element, place along it and point of its section, by number."""

STEP = 1e-4
"""Step of the central difference, over the figure itself."""

LEVEL = 1e-7
"""Places whose stress is this share below the highest are as high: right and left of a frame."""


@dataclass(frozen=True)
class Highest:
    """The highest utilisation of a variant with beam joints, its stress, and where it is."""

    von_mises: float
    utilisation: float
    place: Place


def highest(setting: Setting, variant: Variant) -> Highest:
    """Return the highest utilisation over the cases, in full solves with beam joints."""
    best = Highest(0.0, 0.0, (0, 0, 0, 0))
    for number, group, use in _stresses(setting, variant):
        row, place, point = np.unravel_index(int(np.argmax(use)), use.shape)
        if use[row, place, point] > best.utilisation:
            best = Highest(
                float(group.von_mises[row, place, point]),
                float(use[row, place, point]),
                (number, int(group.elements[row]), int(place), int(point)),
            )
    return best


def peak_slope(
    setting: Setting, variant: Variant, key: NumericKey, at: Place, *, step: float = STEP
) -> float | None:
    """Return the derivative of the highest stress by a key, MPa per base unit of it.

    A central difference of full solves at the place of the highest utilisation.  None where
    another place is higher at an end of the step: at such a kink there is no derivative.
    """
    h = step * key.value
    ends = []
    for x in (key.value - h, key.value + h):
        edits = dict(variant.edits) | {key.path: key.text(x)}
        found = _at(setting, replace(variant, edits=tuple(sorted(edits.items()))), at)
        if found is None:
            return None
        ends.append(found)
    return (ends[1] - ends[0]) / (2.0 * h)


def _at(setting: Setting, variant: Variant, at: Place) -> float | None:
    """Return the stress at a place, MPa; None if it is not the highest, or not there."""
    most, here, stress = 0.0, 0.0, 0.0
    for number, group, use in _stresses(setting, variant):
        most = max(most, float(use.max()))
        row = np.flatnonzero(group.elements == at[1])
        inside = len(row) and at[2] < use.shape[1] and at[3] < use.shape[2]
        if number == at[0] and inside:
            here = float(use[row[0], at[2], at[3]])
            stress = float(group.von_mises[row[0], at[2], at[3]])
    return stress if here > 0.0 and here >= most * (1.0 - LEVEL) else None


def _stresses(setting: Setting, variant: Variant) -> Iterator[tuple[int, Stress, Array]]:
    """Return every case's number, its stresses by section, and those over yield."""
    solved = analyse(frame_of(setting, variant), setting.cases, backend=setting.backend)
    for number, solution in enumerate(solved.solutions):
        for group in stresses(solution):
            limit = solution.mesh.elements.yield_stress[group.elements]
            yield number, group, group.von_mises / limit[:, None, None]
