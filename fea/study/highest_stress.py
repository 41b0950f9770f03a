"""How high a variant is stressed; how that moves is in :mod:`fea.study.sensitivity_peak`."""

from dataclasses import dataclass

import numpy as np

from fea.analyse import analyse
from fea.result.stress import stresses
from fea.study.variant import Setting, Variant, frame_of


@dataclass(frozen=True)
class Highest:
    """The highest utilisation of a variant with beam joints, and its stress, MPa."""

    von_mises: float
    utilisation: float


def highest(setting: Setting, variant: Variant) -> Highest:
    """Return the highest utilisation over the cases, in full solves with beam joints."""
    best = Highest(0.0, 0.0)
    solved = analyse(frame_of(setting, variant), setting.cases, backend=setting.backend)
    for solution in solved.solutions:
        for group in stresses(solution):
            limit = solution.mesh.elements.yield_stress[group.elements]
            use = group.von_mises / limit[:, None, None]
            at = np.unravel_index(int(np.argmax(use)), use.shape)
            if use[at] > best.utilisation:
                best = Highest(float(group.von_mises[at]), float(use[at]))
    return best
