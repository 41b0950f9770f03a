"""Mass and centre of gravity of the metal as modelled, and of what it carries."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.frame.model import Frame
from fea.mesh.mesh import Mesh

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


def masses(frame: Frame, mesh: Mesh) -> MassSummary:
    """Return the mass summary of a meshed frame.

    A member counts over its whole path, rigid ends included.
    """
    elements, beams = mesh.elements, mesh.beams
    each = elements.weight * np.diff(elements.place, axis=1)[:, 0]
    line = mesh.origin_lines()
    middle = 0.5 * (line[0] + line[1])
    middle = middle + np.einsum("nk,nkj->nj", beams.centroid, beams.axes[:, 1:])
    steel = float(each.sum())
    centre = each @ middle / steel
    lumps = [m for m in frame.masses if not m.laden]
    carried = sum(m.mass for m in lumps)
    moment = steel * centre + sum(
        (m.mass * np.asarray(m.position) for m in lumps), start=np.zeros(3)
    )
    return MassSummary(
        steel=steel,
        centre=centre,
        carried=carried,
        kerb=steel + carried,
        kerb_centre=moment / (steel + carried),
    )
