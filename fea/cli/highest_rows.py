"""What `sensitivity --stress` prints: where the highest stress is, and how far it is told."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fea import units
from fea.cli.options import load_cases
from fea.cli.tables import Page
from fea.cli.wrapped import say

if TYPE_CHECKING:
    from fea.study.sensitivity import Slope
    from fea.study.sensitivity_peak import PeakPlace
    from fea.units import System

SHOWN = 4
"""Places told beside the highest; JSON has them all."""


def step_mpa(slope: "Slope", places: "Sequence[PeakPlace]") -> str:
    """Return what one more step adds to the highest stress, starred where that is one-sided."""
    from fea.study.sensitivity_peak_record import one_sided
    from fea.study.sensitivity_record import step_of

    if slope.peak is None:
        return "-"
    return f"{slope.peak * step_of(slope.key):+.2f}{'*' if one_sided(slope, places) else ''}"


def print_highest(
    page: Page,
    slopes: "Sequence[Slope]",
    places: "Sequence[PeakPlace]",
    system: "System",
    *,
    sheet: bool,
) -> None:
    """Print where the highest stress is, what comes within one per cent, and what stars mean."""
    from fea.study.sensitivity_peak_record import words

    cases = load_cases(None)
    first, others = places[0], places[1:]
    where = " of the beams, outside the joints' sheet metal," if sheet else ""
    say(
        page,
        f"MPa: of the highest stress{where} {units.show(first.von_mises, 'stress', system)}, at"
        f" {words(first, cases)}. The place is held.",
    )
    if others:
        told = "; ".join(words(p, cases) for p in others[:SHOWN])
        more = f"; and {len(others) - SHOWN} more" if len(others) > SHOWN else ""
        say(page, f"Within 1 % of that: {told}{more}.")
    shown = [step_mpa(s, places) for s in slopes]
    if any(cell.endswith("*") for cell in shown):
        say(page, "*: one of those takes over within the step: good to one side only.")
    if "-" in shown:
        say(page, "-: the step takes the place itself away.")
