"""What one more tie does to the vehicle's first modes: every candidate solved in full.

Hung in nothing, with what frame and body carry, by beam joints.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from fea.frame.body import Tie
from fea.frame.model import Frame
from fea.frame.mounts import with_grade
from fea.result.first_modes import First, FirstModes, change, of, solved
from fea.result.first_modes import as_record as first_record
from fea.result.modes import FrameModes
from fea.study.ties import TieStudy

ALIKE = 0.5
"""Modes less alike than this are not the same motion."""

ROUND_OFF = 1e-6
"""Share by which a frequency may fall by round-off."""


@dataclass(frozen=True)
class GradeModes:
    """The vehicle's first modes with one grade of mounts: bare, and with each candidate.

    `alike`: per candidate, how like the bare vehicle's its torsion and its bending are: the
    square of what the masses make of both shapes together, 1 where they are the same.
    """

    name: str
    bare: FirstModes
    tied: tuple[FirstModes, ...]
    alike: tuple[tuple[float | None, float | None], ...]

    def gains(self, number: int) -> tuple[float | None, float | None]:
        """Return by what shares a candidate raises first torsion and first bending."""
        now, bare = self.tied[number], self.bare
        return change(now.torsion, bare.torsion), change(now.bending, bare.bending)

    def unlike(self, number: int) -> tuple[bool, bool]:
        """Say whether a candidate's torsion and bending are no like for like with the bare ones.

        They are not where they are less alike than `ALIKE`, and where the frequency falls: a
        tie has no mass of its own here, so that in their order all frequencies rise, and what
        falls is another mode, or mixed with one.
        """
        pairs = zip(self.gains(number), self.alike[number], strict=True)
        torsion, bending = (
            (alike is not None and alike < ALIKE) or (gain is not None and gain < -ROUND_OFF)
            for gain, alike in pairs
        )
        return torsion, bending


def tie_modes(vehicle: TieStudy) -> tuple[GradeModes, ...]:
    """Return the first modes for all grades and candidates of a study."""
    return tuple(_grade(vehicle, grade.name) for grade in vehicle.grades)


def _grade(vehicle: TieStudy, name: str) -> GradeModes:
    frame = vehicle.frame if name == "as fitted" else with_grade(vehicle.frame, name)
    bare = solved(frame)
    tied, alike = [], []
    for candidate in vehicle.candidates:
        found = solved(_with(frame, candidate.ties))
        tied.append(of(found))
        alike.append(_likeness(found, bare))
    return GradeModes(name, of(bare), tuple(tied), tuple(alike))


def _likeness(found: FrameModes, bare: FrameModes) -> tuple[float | None, float | None]:
    """Return how alike two vehicles' first modes are; None where nodes or modes are not there."""
    now, before = of(found), of(bare)

    def likeness(one: First | None, other: First | None) -> float | None:
        if one is None or other is None or found.refine != bare.refine:
            return None
        x, y = found.raw.shape[:, one.number], bare.raw.shape[:, other.number]
        return float(x @ (found.mass.M @ y)) ** 2  # shapes are mass-normalised

    return likeness(now.torsion, before.torsion), likeness(now.bending, before.bending)


def _with(frame: Frame, ties: Sequence[Tie]) -> Frame:
    fitted = tuple(replace(t, fitted=t.fitted or t in ties) for t in frame.ties)
    return replace(frame, ties=fitted)


def as_record(vehicle: TieStudy, found: Sequence[GradeModes]) -> dict[str, Any]:
    """Return the modes by grade and candidate, the candidates in the document's order."""
    return {
        "joints": "beam rules",
        "standing": "free",
        "with_mounts": {
            g.name: {
                "without": first_record(g.bare),
                "candidates": [
                    {
                        "name": candidate.name,
                        **first_record(g.tied[n]),
                        "torsion_gain": g.gains(n)[0],
                        "bending_gain": g.gains(n)[1],
                        "torsion_like_for_like": not g.unlike(n)[0],
                        "bending_like_for_like": not g.unlike(n)[1],
                        "torsion_likeness": g.alike[n][0],
                        "bending_likeness": g.alike[n][1],
                    }
                    for n, candidate in enumerate(vehicle.candidates)
                ],
            }
            for g in found
        },
    }
