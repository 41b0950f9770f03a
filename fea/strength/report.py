"""The strength of everything that holds a frame together, over load cases: what governs each."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fea.analyse import analyse
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.section.seam import Stitch
from fea.strength.bolts import BoltLoad, Fastener, bolt_load
from fea.strength.fatigue import Caution, cautions
from fea.strength.joint_forces import JointForce, joint_forces
from fea.strength.seams import SeamLoad, seam_loads
from fea.strength.weld import Electrode, JointWeld, WeldLoad, carried, joint_weld

if TYPE_CHECKING:
    from fea.solve.condense import Store


@dataclass(frozen=True)
class Wanted:
    """What the user says of welds and bolts.

    `leg`: mm, of every weld, None for the thinner wall; `stitches`: part -> how its boxing
    plates are welded.
    """

    electrode: Electrode = field(default_factory=Electrode)
    leg: float | None = None
    fastener: Fastener = field(default_factory=Fastener)
    stitches: Mapping[str | None, Stitch] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class JointStrength:
    """A joint under the case that governs it; without weld and bolts its largest force."""

    case: str
    force: JointForce
    weld: WeldLoad | None
    bolts: BoltLoad | None

    @property
    def use(self) -> float:
        """Use of weld or bolts; nan if the document says of neither."""
        if self.weld is not None:
            return self.weld.use
        return math.nan if self.bolts is None else self.bolts.use


@dataclass(frozen=True, eq=False)
class SeamStrength:
    """A seam under the case that governs it."""

    case: str
    load: SeamLoad


@dataclass(frozen=True, eq=False)
class Strength:
    """All joints in the frame's order; the seams; the cautions, worst first."""

    frame: Frame
    cases: tuple[Case, ...]
    wanted: Wanted
    joints: tuple[JointStrength, ...]
    seams: tuple[SeamStrength, ...]
    twist: Case
    cautions: tuple[Caution, ...]


def strength(
    frame: Frame,
    cases: Sequence[Case],
    twist: Case,
    wanted: Wanted,
    *,
    sheet_joints: bool = False,
    store: "Store | None" = None,
) -> Strength:
    """Return the strength of a frame's joints and seams over cases, and where to fear fatigue.

    Seams and cautions go by the beam rules for joints whatever the joints themselves are.

    Parameters
    ----------
    twist : the case whose stress is turned to and fro for the cautions

    Raises
    ------
    ModelError
        If a case or a joint does not fit the frame.
    SolveError
        As :func:`fea.analyse.analyse`.
    """
    welds = [joint_weld(frame, joint) for joint in frame.joints]
    by_rule = analyse(frame, cases).solutions
    solved = by_rule
    if sheet_joints:
        solved = analyse(frame, cases, sheet_joints=True, store=store).solutions
    joints: list[JointStrength] = []
    forces = [joint_forces(frame, solution) for solution in solved]
    for k, weld in enumerate(welds):
        each = [
            _joint(frame, case.name, found[k], weld, wanted)
            for case, found in zip(cases, forces, strict=True)
        ]
        joints.append(max(each, key=_governs))
    seams: dict[tuple[str, str | None], SeamStrength] = {}
    for case, solution in zip(cases, by_rule, strict=True):
        for load in seam_loads(
            frame, solution, wanted.electrode, leg=wanted.leg, stitches=wanted.stitches
        ):
            key = (load.member, load.part)
            if key not in seams or load.use > seams[key].load.use:
                seams[key] = SeamStrength(case.name, load)
    turned = analyse(frame, [twist]).solutions[0]
    twisting = [
        carried(weld, found, wanted.electrode, wanted.leg)
        for weld, found in zip(welds, joint_forces(frame, turned), strict=True)
        if weld is not None
    ]
    warned = cautions(frame, turned, twisting, wanted.stitches)
    return Strength(
        frame,
        tuple(cases),
        wanted,
        tuple(joints),
        tuple(seams.values()),
        twist,
        tuple(warned),
    )


def _joint(
    frame: Frame, case: str, force: JointForce, weld: JointWeld | None, wanted: Wanted
) -> JointStrength:
    load = None if weld is None else carried(weld, force, wanted.electrode, wanted.leg)
    return JointStrength(case, force, load, bolt_load(frame, force, wanted.fastener))


def _governs(joint: JointStrength) -> float:
    return joint.force.size[0] if math.isnan(joint.use) else joint.use
