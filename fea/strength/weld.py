"""Fillet welds of joints: where the weld runs, what it carries, the leg it needs.

The weld of a joint follows from its kind and the member's section, one fillet along the
middle of the walls:

``web``, ``rigid``
    The member's outline on the wall that it ends on.
``web_and_flanges``
    That, and both edges of each flange that lies on one of the rail's, as far as the rail's
    flange reaches; where the rail is open, the rail's lip across the flange as well.
``through``
    The outline on every wall that the member passes through.

What stands beyond the flat of the wall is not welded.  Gussets are left out, on the safe side.
The load per length is that of :mod:`fea.strength.line`.  An equal-legged fillet has a throat of
0.707 of its leg; on the throat 0.3 of the electrode's tensile strength is allowed, whichever
way the load acts [1]_, [2]_.  The sheet beside the weld may be the weaker: a leg larger than
the thinner wall says so.

References
----------
.. [1] AWS D1.1, Structural Welding Code: Steel (allowable stress of fillet welds).
.. [2] AISC, Specification for Structural Steel Buildings, allowable stress design (the same).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.frame import path
from fea.frame.crossing import Crossing, axes_at, runs_at, tip
from fea.frame.model import Frame, Joint, Run
from fea.mesh.ends import LAP_GAP, SAME, met, wall_of
from fea.mesh.joints import flanges_meet
from fea.mesh.seams import end_distance
from fea.mesh.sweep import place_section
from fea.strength.joint_forces import JointForce
from fea.strength.line import WeldLine

Array = NDArray[np.float64]

KSI = 6.894757
"""MPa."""

THROAT = 0.707
"""Of the leg of an equal-legged fillet [1]_."""

ALLOWED = 0.3
"""Of the electrode's tensile strength, on the throat [1]_, [2]_."""

STEEP = 0.2
"""Sine of the angle between member and wall below which its outline is not carried over."""

CORNER = 2.0
"""Wall thicknesses that a weld may stand beyond the flat of a wall, on the bend beside it."""

NEAR = 1.0
"""How far a flange may lie from the section's edge, mm."""

LEVEL = 0.26
"""Sine of the slope up to which a wall counts as a flange."""


@dataclass(frozen=True)
class Electrode:
    """What a weld is laid with; `strength`: MPa, its tensile strength, 70 ksi if not told."""

    strength: float = 70.0 * KSI

    def per_length(self, leg: float) -> float:
        """Return the load per length that a fillet of a leg may carry, N/mm."""
        return THROAT * leg * ALLOWED * self.strength

    def leg(self, load: float) -> float:
        """Return the leg that a load per length needs, mm."""
        return load / self.per_length(1.0)


@dataclass(frozen=True, eq=False)
class JointWeld:
    """Where a joint is welded.

    Attributes
    ----------
    line : the weld, vehicle axes
    thinner : mm, the thinner of the member's wall and the wall it is welded to
    about : in words
    """

    joint: Joint
    line: WeldLine
    thinner: float
    about: str


@dataclass(frozen=True, eq=False)
class WeldLoad:
    """What a joint's weld carries.

    Attributes
    ----------
    per_length : N/mm, the highest; place : (3,), mm, where
    leg : mm, of the weld that `use` is for; required : mm, that it needs
    use : of what the weld may carry
    """

    weld: JointWeld
    per_length: float
    place: Array
    leg: float
    required: float
    use: float

    @property
    def throat_stress(self) -> float:
        """Stress on the throat, MPa."""
        return self.per_length / (THROAT * self.leg)


def carried(
    weld: JointWeld, force: JointForce, electrode: Electrode, leg: float | None = None
) -> WeldLoad:
    """Return what a joint's weld carries; `leg` is the thinner wall unless given, mm.

    Raises
    ------
    ModelError
        If the weld is a straight line and the joint turns it about itself.
    """
    try:
        each = np.linalg.norm(weld.line.loads(force.force, force.point), axis=2)
    except ModelError as error:
        where = f"{weld.joint.member} on {weld.joint.onto}"
        raise ModelError(
            *(Complaint(c.rule, where, c.found, c.do) for c in error.complaints)
        ) from None
    stretch, end = np.unravel_index(int(np.argmax(each)), each.shape)
    highest = float(each[stretch, end])
    size = weld.thinner if leg is None else leg
    return WeldLoad(
        weld,
        highest,
        weld.line.ends[stretch, end],
        size,
        electrode.leg(highest),
        highest / electrode.per_length(size),
    )


@dataclass(frozen=True, eq=False)
class _Wall:
    """A flat wall: one corner of it, unit vectors in it across the member and off it, mm."""

    base: Array
    along: Array
    normal: Array
    width: float
    thickness: float


def joint_weld(frame: Frame, joint: Joint) -> JointWeld | None:
    """Return where a joint is welded, None if it is bolted.

    Raises
    ------
    ModelError
        If nothing of the member's end lies on the wall.
    """
    if joint.kind == "bolted":
        return None
    run = _end_run(frame, joint)
    walls = _walls(frame, joint)
    outline = _outline(frame, joint)
    _, inward = tip(frame.member(joint.member), joint.end)
    found = [_on_wall(outline, wall, inward) for wall in walls] if walls else [outline]
    about = {"through": f"all round at {len(walls)} walls"}.get(joint.kind, "outline on the wall")
    if joint.kind == "web_and_flanges" and walls and flanges_meet(frame, joint):
        found.append(_flange_seams(frame, joint, walls[0]))
        about = "outline on the web, and along the flanges"
    if joint.gusset is not None:
        about += "; gusset left out"
    ends = np.concatenate(found)
    long = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1) > 1e-6
    if not np.any(long):
        raise ModelError(
            Complaint(
                "a welded end must lie on the wall it is welded to",
                where=f"{joint.member}, {joint.end}, on {joint.onto}",
            )
        )
    thinner = min(
        float(run.section.midline.thickness.min()), *(w.thickness for w in walls)
    ) if walls else float(run.section.midline.thickness.min())  # fmt: skip
    return JointWeld(joint, WeldLine(ends[long]), thinner, about)


def _end_run(frame: Frame, joint: Joint) -> Run:
    return frame.member(joint.member).runs[0 if joint.end == "start" else -1]


def _outline(frame: Frame, joint: Joint) -> Array:
    """Return the walls of a member's end section in space, (m, 2, 3), mm."""
    member = frame.member(joint.member)
    line = _end_run(frame, joint).section.midline
    points = place_section(member, end_distance(member, joint.end), line.points)
    return points[line.walls]


def _walls(frame: Frame, joint: Joint) -> list[_Wall]:
    """Return the walls that an end is welded to, none if the member's axis meets none."""
    if joint.kind == "through":
        found: list[Crossing] = []
        for crossing in met(frame, joint):
            if not found or crossing.t - found[-1].t > SAME:
                found.append(crossing)
    else:
        nearest = wall_of(frame, joint)
        found = [] if nearest is None else [nearest]
    onto = frame.member(joint.onto)
    local, origin = axes_at(onto, joint.distance), path.point_at(onto.path, joint.distance)
    out = []
    for crossing in found:
        line = crossing.run.section.midline
        a, b = line.points[line.walls[crossing.wall]]
        width = float(np.linalg.norm(b - a))
        along = (b - a) / width @ local[1:]
        out.append(
            _Wall(
                origin + a @ local[1:],
                along,
                np.cross(local[0], along),
                width,
                float(line.thickness[crossing.wall]),
            )
        )
    return out


def _on_wall(outline: Array, wall: _Wall, inward: Array) -> Array:
    """Return the part of an outline that lies on a wall, carried there along the member."""
    slope = float(inward @ wall.normal)
    if abs(slope) < STEEP:
        return outline
    gap = (wall.base - outline) @ wall.normal / slope
    ends = outline + gap[..., None] * inward
    spare = CORNER * wall.thickness
    level = (ends - wall.base) @ wall.along
    # Each stretch is kept from where it enters the wall's width to where it leaves it.
    step = level[:, 1] - level[:, 0]
    flat = np.abs(step) < 1e-9
    rise = np.where(flat, 1.0, step)
    first, second = ((edge - level[:, 0]) / rise for edge in (-spare, wall.width + spare))
    inside = (level[:, 0] >= -spare) & (level[:, 0] <= wall.width + spare)
    start = np.where(flat, 0.0, np.clip(np.minimum(first, second), 0.0, 1.0))
    end = np.where(flat, inside.astype(float), np.clip(np.maximum(first, second), 0.0, 1.0))
    span = ends[:, 1] - ends[:, 0]
    kept = np.stack([ends[:, 0] + start[:, None] * span, ends[:, 0] + end[:, None] * span], axis=1)
    return np.asarray(kept)


def _flange_seams(frame: Frame, joint: Joint, wall: _Wall) -> Array:
    """Return the weld along the flanges that lie on the other member's, (m, 2, 3), mm."""
    member, onto = frame.member(joint.member), frame.member(joint.onto)
    up = axes_at(onto, joint.distance)[2]
    _, inward = tip(member, joint.end)
    runs = runs_at(onto, joint.distance)
    local, origin = axes_at(onto, joint.distance), path.point_at(onto.path, joint.distance)
    theirs = [(origin + r.section.midline.points @ local[1:]) for r in runs]
    reach = min(float(np.max((p - wall.base) @ inward)) for p in theirs)
    heights = np.concatenate([p @ up for p in theirs])
    outline = _outline(frame, joint)
    line = _end_run(frame, joint).section.midline
    z = line.points[line.walls][..., 1]  # in the member's own section: a rail may climb
    out: list[Array] = []
    for own, lip in ((z.max(), heights.max()), (z.min(), heights.min())):
        size = np.linalg.norm(outline[:, 1] - outline[:, 0], axis=1)
        near = np.abs(z - own).max(axis=1) < NEAR
        flange = outline[near & (np.abs(z[:, 1] - z[:, 0]) < LEVEL * size)]
        if not len(flange) or reach <= 0.0 or abs(float(np.mean(flange @ up)) - lip) > LAP_GAP:
            continue
        points = flange.reshape(-1, 3)
        across = local[0]
        edges = [points[int(pick(points @ across))] for pick in (np.argmin, np.argmax)]
        gap = [(wall.base - p) @ wall.normal / float(inward @ wall.normal) for p in edges]
        roots = [p + g * inward for p, g in zip(edges, gap, strict=True)]
        lips = [p + reach * inward for p in roots]
        out += [np.stack([a, b]) for a, b in zip(roots, lips, strict=True)]
        if all(r.section.is_open for r in runs):
            out.append(np.stack(lips))
    return np.array(out).reshape(-1, 2, 3)
