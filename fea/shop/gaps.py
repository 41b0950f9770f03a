"""A part cut too short or too long, its gap closed by force before it is welded.

The frame has everything else in it; the gap is closed by pulling (or pushing) what the part
joins along the line between its ends, the part is welded in as it lies, and the pull is let go.
All figures are per millimetre and change sign for a part that is too long.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.frame.model import Frame, Joint, Member
from fea.mesh.discretise import discretise
from fea.result.stress import Peak, peaks
from fea.shop.left_in import Left, left_in
from fea.shop.rig import At, Grip, point_reads
from fea.shop.staged import Staged, stage
from fea.shop.survey_measures import Measure, measures
from fea.shop.survey_points import Point
from fea.solve.system import System, system

Array = NDArray[np.float64]

SHOWN = ("twist", "diamond", "sag", "sidesway", "width")


@dataclass(frozen=True, eq=False)
class Gap:
    """What each millimetre of gap at a member takes and leaves.

    Attributes
    ----------
    force : N, to close it; drawn : mm of it that stay in what it joins, the rest is its stretch
    leaves : measure -> how much it changes (mm, or rad of twist) by what stays
    own : highest stress left in the member itself; elsewhere : in the rest
    closing : highest stress in the frame while it is pulled shut
    """

    member: str
    part: str
    staged: Staged
    force: float
    drawn: float
    leaves: tuple[tuple[Measure, float], ...]
    own: Left | None
    elsewhere: Left | None
    closing: Peak | None

    def worst(self, key: str) -> tuple[Measure, float] | None:
        """Return the place where a measure changes most."""
        found = [pair for pair in self.leaves if pair[0].key == key]
        return max(found, key=lambda pair: abs(pair[1]), default=None)


def gaps(
    frame: Frame,
    points: Sequence[Point],
    at: Sequence[At],
    full: System,
    wanted: Mapping[str, Sequence[float]],
) -> list[Gap]:
    """Return a gap of 1 mm at every member that a part adds; joints by beam rules.

    Parameters
    ----------
    points, at : whose measures are told
    full : the frame assembled, with nodes at `wanted`
    """
    reads = point_reads(at)
    told = [m for m in measures(frame, tuple(points)) if m.key in SHOWN and not m.plumb]
    found = []
    for member in frame.members:
        ends = {j.end: j for j in frame.joints if j.member == member.name}
        if member.part is None or ends.keys() != {"start", "end"}:
            continue
        rest = without(frame, member.name)
        there = {n: d for n, d in wanted.items() if n != member.name}
        base = system(discretise(rest, there))
        grip = pull(member, ends["start"], ends["end"])
        staged = stage(base, full, [grip], np.array([-1.0]))
        drawn = staged.steps([grip])
        forced, released = staged.steps(reads)
        left = left_in(staged)
        found.append(
            Gap(
                member=member.name,
                part=member.part,
                staged=staged,
                force=-float(staged.clamps[0]),
                drawn=-float(drawn[0][0] + drawn[1][0]),
                leaves=tuple((m, float(m.row @ (forced + released)) * m.per) for m in told),
                own=next((one for one in left if one.member == member.name), None),
                elsewhere=next((one for one in left if one.member != member.name), None),
                closing=max(peaks(staged.forced), key=lambda p: p.utilisation, default=None),
            )
        )
    return found


def pull(member: Member, start: Joint, end: Joint) -> Grip:
    """Return the pull that closes a member's gap: its motion is what its ends move apart."""
    line = member.path[-1] - member.path[0]
    x, y, z = (line / np.linalg.norm(line)).tolist()
    first, last = (tuple(p) for p in (member.path[0].tolist(), member.path[-1].tolist()))
    return Grip(
        f"{member.name} shut",
        (
            (At(end.onto, end.distance, last), (x, y, z)),
            (At(start.onto, start.distance, first), (-x, -y, -z)),
        ),
    )


def without(frame: Frame, name: str) -> Frame:
    """Return a frame without one of its members, and without what is joined to it alone."""
    meetings = [
        replace(m, members=tuple(pair for pair in m.members if pair[0] != name))
        for m in frame.meetings
    ]
    return replace(
        frame,
        members=tuple(m for m in frame.members if m.name != name),
        joints=tuple(j for j in frame.joints if name not in (j.member, j.onto)),
        meetings=tuple(m for m in meetings if len(m.members) > 1),
        bulkheads=tuple(b for b in frame.bulkheads if b.member != name),
    )
