"""Mass and centre of gravity of the metal as modelled, and of what it carries."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.model import Frame
from fea.section.properties import properties

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class MassSummary:
    """Masses in tonnes, centres in mm.

    Attributes
    ----------
    steel : float, all members
    centre : (3,), of the steel
    carried : float, lumped and spread masses of the document, unladen
    kerb : float, steel and carried masses; `kerb_centre` (3,)
    """

    steel: float
    centre: Array
    carried: float
    kerb: float
    kerb_centre: Array


def masses(frame: Frame) -> MassSummary:
    """Return the mass summary of a frame.

    Every run of a member counts over its whole length along the path, at its centroid.
    """
    steel, moment = 0.0, np.zeros(3)
    for member in frame.members:
        corners = path.lengths(member.path)
        for leg, axes in enumerate(path.leg_axes(member.path, member.up)):
            for run in member.runs:
                low, high = max(run.start, corners[leg]), min(run.end, corners[leg + 1])
                if high > low:
                    p = properties(run.section.midline)
                    each = p.A * run.material.density * (high - low)
                    middle = path.point_at(member.path, 0.5 * (low + high))
                    steel += each
                    moment += each * (middle + p.centroid @ axes[1:])
    centre = moment / steel
    lumps = [m for m in frame.masses if not m.laden]
    carried = sum(m.mass for m in lumps)
    for m in lumps:
        moment = moment + m.mass * np.asarray(m.position)
    return MassSummary(
        steel=steel,
        centre=centre,
        carried=carried,
        kerb=steel + carried,
        kerb_centre=moment / (steel + carried),
    )
