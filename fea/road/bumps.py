"""How stiff a frame is in twist between its seats, where a bump's couple hangs on it."""

from collections.abc import Sequence
from dataclasses import replace

from fea.frame.case import Case, Place, Push
from fea.road.loads import SUPPORTS

UNIT = 1e6
"""Couple that twists the frame, N mm: on the front seats, and back on the rear ones."""


def twist_case() -> Case:
    """Return the case that twists a frame by two couples, its supports bearing nothing.

    The couple squared over twice the work of the loads is the stiffness.
    """
    return Case(
        name="twist between the seats",
        title="",
        about="",
        measure="none",
        holds=SUPPORTS,
        pushes=(
            Push(Place(axle="front"), couple=UNIT),
            Push(Place(axle="rear"), couple=-UNIT),
        ),
    )


def needs_twist(cases: Sequence[Case]) -> bool:
    """Whether a case has a bump without the frame's stiffness, alone or in a sum."""
    return any(
        (c.road is not None and c.road.bump is not None and c.road.bump.frame_twist is None)
        or needs_twist([term.case for term in c.combine])
        for c in cases
    )


def with_twist(cases: Sequence[Case], stiffness: float) -> list[Case]:
    """Return the cases with the frame's stiffness, N mm/rad, in every bump that lacks it."""
    out = []
    for case in cases:
        terms = with_twist([t.case for t in case.combine], stiffness)
        found = replace(
            case,
            combine=tuple(replace(t, case=c) for t, c in zip(case.combine, terms, strict=True)),
        )
        road = case.road
        if road is not None and road.bump is not None and road.bump.frame_twist is None:
            bump = replace(road.bump, frame_twist=stiffness)
            found = replace(found, road=replace(road, bump=bump))
        out.append(found)
    return out
