"""Everything that is told of one solved case, gathered once for tables, files and pages."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np

from fea.analyse import Analysis, Checks, Solution
from fea.frame.case import ROTATIONS, Case, Motion
from fea.frame.model import Frame
from fea.result import energy, mass, stiffness, stress
from fea.result.assumed import assumptions
from fea.result.case_figures import case_figures
from fea.result.readings import Reading, readings
from fea.solve import accuracy

if TYPE_CHECKING:
    from fea.result.metal import JointPeak, Sheeting

NM_PER_DEG = np.pi / 180.0 / 1000.0
"""N mm/rad to N m/deg."""


@dataclass(frozen=True)
class Reaction:
    """The force of one support in the sense of its motion.

    N; where it holds a rotation a moment, N mm, where it holds warping a bimoment, N mm2.
    """

    place: str
    force: float
    motion: Motion = "height"

    @property
    def kind(self) -> Literal["force", "moment", "bimoment"]:
        """What the force is."""
        if self.motion == "warping":
            return "bimoment"
        return "moment" if self.motion in ROTATIONS else "force"


@dataclass(frozen=True)
class Beside:
    """The same stiffness by the beam rules for joints, and by their soft and stiff bounds.

    In the unit of the case's measure (N mm/rad or N/mm); None where it has none.
    """

    rule: float | None
    soft: float | None
    stiff: float | None


@dataclass(frozen=True, eq=False)
class Answer:
    """One case of a frame, told in full; lengths mm, forces N, stress MPa.

    `twist_stiffness` is in N mm/rad and `bending_stiffness` in N/mm, each None where
    the case does not measure it; `round_off` bounds how far arithmetic may have moved the
    one measured, relative (:mod:`fea.result.case_figures`).
    """

    frame: Frame
    case: Case
    solution: Solution
    mass: mass.MassSummary
    twist_stiffness: float | None
    bending_stiffness: float | None
    profile: stiffness.Profile | None
    bays: tuple[stiffness.Bay, ...]
    reactions: tuple[Reaction, ...]
    checks: Checks
    assumed: tuple[str, ...] = field(default=())
    beside: Beside | None = None
    round_off: float | None = None

    @property
    def stiffness(self) -> float | None:
        """The stiffness the case measures, twist or bending, or None."""
        return self.twist_stiffness if self.twist_stiffness is not None else self.bending_stiffness

    def with_beside(self, beside: Beside) -> Answer:
        """Return the same answer with the beam rules' figures beside it."""
        return replace(self, beside=beside)

    @cached_property
    def shares(self) -> tuple[energy.Share, ...]:
        """The strain energy of everything, by what it is in."""
        return tuple(energy.shares(self.solution))

    @cached_property
    def condition(self) -> float | None:
        """The condition number of what was solved, estimated; None for a mode."""
        held = self.solution.held
        return None if held is None else accuracy.condition(held)

    @cached_property
    def readings(self) -> list[Reading]:
        """The motions that the case reads."""
        return readings(self.solution)

    @cached_property
    def sheeting(self) -> list[Sheeting]:
        """The metal of everything taken as sheet metal, as it moves and is stressed."""
        if not self.solution.metal:
            return []
        from fea.result.metal import sheeting

        return sheeting(self.solution)

    @cached_property
    def peaks(self) -> tuple[stress.Peak, ...]:
        """The highest stress of every member, in its beams or in its metal, highest first."""
        beams = stress.peaks(self.solution)
        if not self.sheeting:
            return tuple(beams)
        from fea.result.metal import member_peaks, merged

        metal = member_peaks(self.frame, self.sheeting, {p.member for p in beams})
        return tuple(merged(beams, metal))

    @property
    def where_peaks(self) -> str:
        """Where the stresses of `peaks` are: with joints in sheet metal away from them."""
        return "away from joints" if self.sheeting else "along members"

    @cached_property
    def joint_peaks(self) -> list[JointPeak]:
        """The highest stress about every joint taken as sheet metal, highest first."""
        if not self.sheeting:
            return []
        from fea.result.metal import joint_peaks

        return joint_peaks(self.frame, self.sheeting)

    @property
    def measures(self) -> dict[str, float]:
        """The case's figures with their units in the names, as they apply."""
        found: dict[str, float] = {}
        if self.twist_stiffness is not None:
            found["twist_stiffness_nm_per_deg"] = self.twist_stiffness * NM_PER_DEG
        if self.bending_stiffness is not None:
            found["bending_stiffness_n_per_mm"] = self.bending_stiffness
        if self.profile is not None:
            found["largest_twist_deg"] = float(np.degrees(np.max(np.abs(self.profile.angle))))
            found["largest_deflection_mm"] = float(np.max(np.abs(self.profile.height)))
        if self.peaks:
            found["highest_stress_mpa"] = self.peaks[0].von_mises
            found["highest_utilisation"] = max(p.utilisation for p in self.peaks)
        found["mass_kg"] = 1000.0 * self.mass.steel
        found["kerb_mass_kg"] = 1000.0 * self.mass.kerb
        return found


def answers(analysis: Analysis) -> list[Answer]:
    """Return the answers of an analysis, one per case."""
    frame = analysis.frame
    summary = mass.masses(frame)
    return [
        _answer(frame, case, solution, summary)
        for case, solution in zip(analysis.cases, analysis.solutions, strict=True)
    ]


def _answer(frame: Frame, case: Case, solution: Solution, summary: mass.MassSummary) -> Answer:
    found = case_figures(frame, case, solution)
    twisted = None if found.twist is None else found.profile
    supports = zip(
        solution.loads.labels, solution.reactions.tolist(), solution.loads.motions, strict=True
    )
    return Answer(
        frame=frame,
        case=case,
        solution=solution,
        mass=summary,
        twist_stiffness=found.twist,
        bending_stiffness=found.bending,
        profile=found.profile,
        bays=() if twisted is None else tuple(stiffness.bays(frame, twisted)),
        reactions=tuple(Reaction(*support) for support in supports),
        checks=solution.checks,
        assumed=assumptions(frame, solution),
        round_off=found.round_off,
    )
