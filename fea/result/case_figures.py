"""What a case measures of its solution, withheld where arithmetic is not sure of it."""

from dataclasses import dataclass

from fea.analyse import Solution
from fea.errors import Complaint, SolveError
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.result import stiffness
from fea.solve import accuracy


@dataclass(frozen=True, eq=False)
class CaseFigures:
    """The stiffness a case measures; all None where the frame has no pair of rails.

    Attributes
    ----------
    twist : N mm/rad; bending : N/mm; None where the case does not measure it
    round_off : how far arithmetic may have moved the one measured, relative
    """

    profile: stiffness.Profile | None = None
    twist: float | None = None
    bending: float | None = None
    round_off: float | None = None


def case_figures(frame: Frame, case: Case, solution: Solution) -> CaseFigures:
    """Return what a case measures.

    Raises
    ------
    ModelError
        If the case cannot measure what it is to measure.
    SolveError
        If round-off may have moved the stiffness by more than :data:`accuracy.LIMIT`.
    """
    line = stiffness.line(frame, solution.mesh)
    if line is None:
        return CaseFigures()
    profile = stiffness.profile_along(line, solution)
    twist = bending = None
    if case.measure == "twist":
        twist = stiffness.twist_stiffness(frame, case, profile)
    if case.measure == "bending":
        bending = stiffness.bending_stiffness(frame, case, profile)
    round_off = stiffness.round_off(frame, case, solution, line)
    if round_off is not None and not round_off < accuracy.LIMIT:
        raise SolveError(_too_rough(case, solution, round_off))
    return CaseFigures(profile, twist, bending, round_off)


def _too_rough(case: Case, solution: Solution, round_off: float) -> Complaint:
    condition = accuracy.condition(solution.held) if solution.held is not None else float("nan")
    return Complaint(
        "the stiffness is not sure to four figures and is withheld",
        where=f"case {case.name}",
        found=f"round-off may move it by {round_off:.0e} of itself, limit {accuracy.LIMIT:.0e}; "
        f"condition number about {condition:.0e}",
        do="look for members, joints or mounts millions of times stiffer than the rest",
    )
