"""Seams of boxing plates: the shear flow from flange to plate, and the weld it needs.

The flow at the plate's edges is that of the section's shear forces and torque (Bredt round the
closed cell, bending shear and what warping adds), all from :mod:`fea.section.properties`.  A
stitch of length w at a pitch p takes the flow of its whole pitch: ``q p / w`` per length of weld.
What the ends of a plate pull at their last stitches is not in it.  Where something holds the
section's warping the flow of a beam is on the safe side: 1.5 times Bredt's at a clamped box.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.frame import path
from fea.frame.model import Frame
from fea.result.forces import PLACES, section_forces
from fea.section.midline import Midline
from fea.section.properties import SectionProperties, properties
from fea.section.seam import Stitch
from fea.section.wear import walls_called
from fea.strength.weld import Electrode

Array = NDArray[np.float64]

PLATE = "plate"
"""What the wall of a boxing plate is called in its section."""

FLOWS = ("Vy", "Vz", "T_uniform", "T_warping")
"""The section forces that make a shear flow."""


@dataclass(frozen=True)
class SeamLoad:
    """The seams of one part's plates on one rail: of all of them the place that carries most.

    Attributes
    ----------
    part : of the plates, None if they are no part's; start, end : mm, stations
    flow : N/mm, the highest; station : mm, where
    leg : mm, of the weld; may : N/mm, what that may carry
    stitch : None where the seam is welded all along
    """

    member: str
    part: str | None
    start: float
    end: float
    flow: float
    station: float
    leg: float
    may: float
    stitch: Stitch | None

    @property
    def per_length(self) -> float:
        """Load per length of weld, N/mm."""
        if self.stitch is None:
            return self.flow
        return self.flow * max(1.0, self.stitch.pitch / self.stitch.weld)

    @property
    def use(self) -> float:
        """Use of what the weld may carry."""
        return self.per_length / self.may

    def weld_per(self, pitch: float) -> float:
        """Return the length of weld that a pitch needs, mm; above the pitch the leg is small."""
        return pitch * self.flow / self.may


def seam_loads(
    frame: Frame,
    solution: Solution,
    electrode: Electrode,
    *,
    leg: float | None = None,
    stitches: Mapping[str | None, Stitch] | None = None,
) -> list[SeamLoad]:
    """Return the seams of every part's plates that have beams in them.

    Parameters
    ----------
    leg : mm, the thinner of plate and flange unless given
    stitches : part -> how its plates are welded; all along if it is not there
    """
    mesh = solution.mesh
    forces = section_forces(solution)
    best: dict[tuple[str, str | None], SeamLoad] = {}
    for e, number in enumerate(mesh.elements.member):
        member = frame.member(mesh.members[number])
        middle = float(mesh.elements.place[e].mean())
        run = next(r for r in member.runs if r.start <= middle <= r.end)
        line = run.section.midline
        edges = seam_edges(line)
        if not len(edges):
            continue
        at = {name: getattr(forces, name)[e] for name in FLOWS}
        flow = np.abs(section_flow(properties(line), at)[:, edges])
        place = int(np.argmax(flow.max(axis=1)))
        ends = mesh.points[mesh.elements.nodes[e], 0]
        size = seam_leg(line) if leg is None else leg
        found = SeamLoad(
            member=member.name,
            part=run.part,
            start=float(path.point_at(member.path, run.start)[0]),
            end=float(path.point_at(member.path, run.end)[0]),
            flow=float(flow.max()),
            station=float(ends[0] + PLACES[place] * (ends[1] - ends[0])),
            leg=size,
            may=electrode.per_length(size),
            stitch=(stitches or {}).get(run.part),
        )
        key = (member.name, run.part)
        best[key] = _worse(best[key], found) if key in best else found
    return list(best.values())


def _worse(one: SeamLoad, other: SeamLoad) -> SeamLoad:
    """Return the seam that uses more, over the length of both."""
    worse = max(one, other, key=lambda s: s.use)
    return replace(worse, start=min(one.start, other.start), end=max(one.end, other.end))


def section_flow(p: SectionProperties, forces: Mapping[str, Array]) -> Array:
    """Return the shear flow at every recovery point of a section, (..., 2m), N/mm.

    `forces`: Vy, Vz, T_uniform and T_warping, N and N mm.
    """
    parts = (
        (forces["Vy"], p.flow_y),
        (forces["Vz"], p.flow_z),
        (forces["T_warping"], p.flow_w),
        (forces["T_uniform"], p.flow_t),
    )
    return np.asarray(sum(np.asarray(f)[..., None] * q for f, q in parts))


def seam_edges(midline: Midline) -> NDArray[np.intp]:
    """Return the recovery points of a plate where it meets the rest; none without a plate."""
    if not midline.names:
        return np.zeros(0, dtype=np.intp)
    plate = walls_called(midline, PLATE)
    others = set(midline.walls[~plate].ravel().tolist())
    found = [
        2 * int(k) + end
        for k in np.flatnonzero(plate)
        for end in (0, 1)
        if int(midline.walls[k, end]) in others
    ]
    return np.array(found, dtype=np.intp)


def seam_leg(midline: Midline) -> float:
    """Return the thinner of a plate and what it is welded to, mm."""
    plate = walls_called(midline, PLATE)
    touches = np.isin(midline.walls, midline.walls[plate]).any(axis=1)
    return float(midline.thickness[touches].min())
