"""Where fatigue is to be feared: stress ranges beside published detail classes.  A caution only.

Under a twist test turned to and fro the stress at a detail ranges over twice its size.  Beside it
stand the detail class (the range that 2 million cycles leave a small share broken at) and the
limit under which cracks do not grow if every cycle is alike, 0.737 of the class [1]_.  Real roads
are not alike, sheet of 3 mm and home welds are not what the classes were measured on: no life
follows from any of this.

Stresses are nominal ones, of beams, with beam rules for the joints; at a hole it is the stress
of the section with the hole smeared over it.  The classes are quoted from memory.  A plate that
ends square on the edge of a flange may be worse than the class given here: 36 to 50 MPa.

References
----------
.. [1] EN 1993-1-9:2005, Design of steel structures, part 1-9: fatigue, tables 8.1 (holes), 8.2
   (seams along a section), 8.4 (attachments), 8.5 (welds that carry load), sec. 7.1.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.frame import path
from fea.frame.crossing import axes_at
from fea.frame.model import Frame, Member, Run
from fea.mesh.mesh import SAME_PLACE
from fea.mesh.seams import end_distance
from fea.result.stress import stresses
from fea.section.seam import Stitch
from fea.strength.seams import seam_edges
from fea.strength.weld import JointWeld, WeldLoad

Array = NDArray[np.float64]

CONSTANT_LIMIT = 0.737
"""Of the class: the limit where all cycles are alike [1]_ (5 million cycles, slope 3)."""

RANGE = 2.0
"""From one side to the other, over the size of the stress."""

ENDS = np.array([0.0, 1.0])


@dataclass(frozen=True)
class Detail:
    """A published detail; `category`: its class, MPa; `table`: of [1]_, from memory."""

    name: str
    category: float
    table: str

    @property
    def limit(self) -> float:
        """The constant-amplitude limit, MPa."""
        return CONSTANT_LIMIT * self.category


PLATE_END = Detail("end of a long plate", 56.0, "8.4, detail 1")
HOLE = Detail("hole", 90.0, "8.1, detail 11")
SEAM = Detail("seam, welded by hand", 100.0, "8.2, detail 6")
STITCHED = Detail("seam, stitched", 80.0, "8.2, detail 8")
THROAT = Detail("throat of the weld", 36.0, "8.5, detail 3")
MEMBER_TOE = Detail("weld toe on the member", 80.0, "8.5, detail 1")

_ATTACHED = ((50.0, 80.0), (80.0, 71.0), (100.0, 63.0), (np.inf, 56.0))
"""Length along the rail up to which an attachment has a class, mm and MPa."""


def toe(length: float) -> Detail:
    """Return the detail of a weld toe on a rail; `length`: of what is welded on, mm along it."""
    category = next(c for longest, c in _ATTACHED if length <= longest)
    return Detail("weld toe on the rail", category, "8.4, detail 1")


@dataclass(frozen=True)
class Caution:
    """A stress range at a detail, MPa; `station`: mm."""

    where: str
    detail: Detail
    range: float
    station: float

    @property
    def ratio(self) -> float:
        """Range over the constant-amplitude limit."""
        return self.range / self.detail.limit


def cautions(
    frame: Frame,
    solution: Solution,
    welds: list[WeldLoad],
    stitches: Mapping[str | None, Stitch] | None = None,
) -> list[Caution]:
    """Return the details of a frame under a twist case, the worst first.

    Parameters
    ----------
    solution : of the twist case, joints by beam rules
    welds : the joints' welds under that case
    stitches : part -> how its plates are welded
    """
    near = _Nominal(frame, solution)
    found: list[Caution] = []
    for member in frame.members:
        if member.kind == "rail":
            found += _along(member, near, stitches or {})
    for load in welds:
        found += _at_joint(frame, load, near)
    return sorted(found, key=lambda c: -c.ratio)


class _Nominal:
    """Nominal stress along members at both ends of every element."""

    def __init__(self, frame: Frame, solution: Solution) -> None:
        self.frame, self.mesh = frame, solution.mesh
        self.normal: dict[int, Array] = {}
        for group in stresses(solution, ENDS):
            self.normal |= dict(zip(group.elements.tolist(), group.normal, strict=True))

    def around(self, member: Member, distance: float) -> list[tuple[Run, Array]]:
        """Return the runs that meet at a place, and the stress at their recovery points, MPa."""
        elements = self.mesh.elements
        number = self.mesh.members.index(member.name)
        out = []
        for e in np.flatnonzero(elements.member == number):
            for end in (0, 1):
                if abs(elements.place[e, end] - distance) <= SAME_PLACE:
                    out.append((self._run(member, int(e)), self.normal[int(e)][end]))
        return out

    def along(self, member: Member, run: Run) -> list[tuple[float, Array]]:
        """Return places along a run, and the stress at its recovery points, MPa."""
        elements = self.mesh.elements
        number = self.mesh.members.index(member.name)
        return [
            (float(elements.place[e, end]), self.normal[int(e)][end])
            for e in np.flatnonzero(elements.member == number)
            for end in (0, 1)
            if self._run(member, int(e)) is run
        ]

    def _run(self, member: Member, element: int) -> Run:
        middle = float(self.mesh.elements.place[element].mean())
        return next(r for r in member.runs if r.start <= middle <= r.end)


def _along(member: Member, near: _Nominal, stitches: Mapping[str | None, Stitch]) -> list[Caution]:
    """Return plate ends, seams and holes of a rail."""
    out = []
    for before, after in pairwise(member.runs):
        if before.section.is_open != after.section.is_open:
            worst = max(
                (float(np.abs(s).max()) for _, s in near.around(member, before.end)), default=0.0
            )
            part = after.part or before.part or "closed length"
            station = _station(member, before.end)
            out.append(Caution(f"{part} on {member.name}", PLATE_END, RANGE * worst, station))
    for run in member.runs:
        line, here = run.section.midline, near.along(member, run)
        edges = seam_edges(line)
        if len(edges) and here:
            d, worst = _highest(here, edges)
            detail = STITCHED if run.part in stitches else SEAM
            where = f"{run.part or 'plate'} on {member.name}"
            out.append(Caution(where, detail, RANGE * worst, _station(member, d)))
        if line.metal_factor is not None and here:
            holed = np.flatnonzero(np.repeat(line.metal_factor < 1.0, 2))
            if len(holed):
                d, worst = _highest(here, holed)
                out.append(Caution(member.name, HOLE, RANGE * worst, _station(member, d)))
    return out


def _highest(here: list[tuple[float, Array]], points: NDArray[np.intp]) -> tuple[float, float]:
    return max(((d, float(np.abs(s[points]).max())) for d, s in here), key=lambda item: item[1])


def _station(member: Member, distance: float) -> float:
    return float(path.point_at(member.path, distance)[0])


def _at_joint(frame: Frame, load: WeldLoad, near: _Nominal) -> list[Caution]:
    """Return the throat of a joint's weld, and its toes on both members."""
    joint = load.weld.joint
    onto, member = frame.member(joint.onto), frame.member(joint.member)
    where = f"{joint.member} on {joint.onto}"
    station = _station(onto, joint.distance)
    x = load.weld.line.ends @ axes_at(onto, joint.distance)[0]
    rail = [
        weld_stress(onto, joint.distance, run, stress, load.weld)
        for run, stress in near.around(onto, joint.distance)
    ]
    own = [float(np.abs(s).max()) for _, s in near.around(member, end_distance(member, joint.end))]
    return [
        Caution(where, THROAT, RANGE * load.throat_stress, station),
        Caution(where, toe(float(np.ptp(x))), RANGE * max(rail, default=0.0), station),
        Caution(where, MEMBER_TOE, RANGE * max(own, default=0.0), station),
    ]


def weld_stress(onto: Member, distance: float, run: Run, stress: Array, weld: JointWeld) -> float:
    """Return the highest stress along a member under a joint's weld, MPa.

    `stress`: (2m,), at the ends of every wall of the run's section; linear in between.
    """
    local, origin = axes_at(onto, distance), path.point_at(onto.path, distance)
    at = ((weld.line.ends.reshape(-1, 3) - origin) @ local.T)[:, 1:]
    line = run.section.midline
    a, b = (line.points[line.walls[:, k]] for k in (0, 1))
    step = b - a
    along = np.einsum("kwj,wj->kw", at[:, None] - a, step) / np.sum(step**2, axis=1)
    along = np.clip(along, 0.0, 1.0)
    gap = np.linalg.norm(at[:, None] - a - along[..., None] * step, axis=2)
    wall = np.argmin(gap, axis=1)
    f = along[np.arange(len(at)), wall]
    return float(np.abs((1.0 - f) * stress[2 * wall] + f * stress[2 * wall + 1]).max())
