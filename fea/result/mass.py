"""Mass and centre of gravity of the metal as modelled, and of what it carries."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.model import Frame
from fea.mesh import bulkhead as bulkheads
from fea.mesh.gusset import triangles
from fea.section.midline import metal

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class MassSummary:
    """Masses in tonnes, centres in mm.

    Attributes
    ----------
    steel : float, all members, gussets and bulkheads
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

    Every run of a member counts over its whole length along the path, at its middle, less its
    holes (their area times the wall), the gussets of its ends as plates of its metal,
    and bulkheads.
    """
    steel, moment = 0.0, np.zeros(3)
    for member in frame.members:
        corners = path.lengths(member.path)
        for leg, axes in enumerate(path.leg_axes(member.path, member.up)):
            for run in member.runs:
                low, high = max(run.start, corners[leg]), min(run.end, corners[leg + 1])
                if high > low:
                    area, centre_of_section = metal(run.section.midline)
                    each = area * run.material.density * (high - low)
                    middle = path.point_at(member.path, 0.5 * (low + high))
                    steel += each
                    moment += each * (middle + centre_of_section @ axes[1:])
    for plate, each in gussets(frame):
        steel += each
        moment += each * plate.mean(axis=0)
    for bulkhead in frame.bulkheads:
        rail = frame.member(bulkhead.member)
        each = bulkheads.area(rail, bulkhead) * bulkhead.wall * bulkhead.material.density
        steel += each
        moment += each * bulkheads.corner_points(rail, bulkhead).mean(axis=0)
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


def gussets(frame: Frame) -> list[tuple[Array, float]]:
    """Return the corners (3, 3), mm, and the mass, tonne, of every gusset plate."""
    found = []
    for joint in frame.joints:
        if joint.gusset is not None:
            member = frame.member(joint.member)
            steel = member.runs[0 if joint.end == "start" else -1].material
            for plate in triangles(frame, joint, joint.gusset.legs):
                mass = plate.area * joint.gusset.wall * steel.density
                found.append((plate.corners, mass))
    return found
