"""Where a straight line passes through the walls of a member."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.model import Member, Run

Array = NDArray[np.float64]

EDGE = 0.01
"""Of a wall's length: so far beyond its end still counts as on it."""


@dataclass(frozen=True, eq=False)
class Crossing:
    """A wall that a line passes through.

    Attributes
    ----------
    t : float, mm from the line's start
    run : the run it belongs to; wall : its number in that run's section
    """

    t: float
    run: Run
    wall: int


def runs_at(member: Member, distance: float) -> list[Run]:
    """Return the run, or the two runs, that touch a place along a member."""
    return [r for r in member.runs if r.start - 1e-6 <= distance <= r.end + 1e-6]


def axes_at(member: Member, distance: float) -> Array:
    """Return unit vectors along a member's x, y and z at a place along it, (3, 3)."""
    corners = path.lengths(member.path)
    leg = int(np.clip(np.searchsorted(corners, distance) - 1, 0, len(corners) - 2))
    return np.asarray(path.leg_axes(member.path, member.up)[leg])


def tip(member: Member, end: str) -> tuple[Array, Array]:
    """Return the end point of a member's path and the direction inward from it, (3,) each."""
    axes = path.leg_axes(member.path, member.up)
    if end == "start":
        return member.path[0], axes[0, 0]
    return member.path[-1], -axes[-1, 0]


def crossings(onto: Member, distance: float, start: Array, direction: Array) -> list[Crossing]:
    """Return the walls of a member that a line passes through near a place on it.

    Parameters
    ----------
    onto, distance : the member, and where along it
    start, direction : (3,), mm, and a unit vector

    Returns
    -------
    list of Crossing, in order of t; t may be negative
    """
    local = axes_at(onto, distance)
    at = ((start - path.point_at(onto.path, distance)) @ local.T)[1:]
    step = (direction @ local.T)[1:]
    found = []
    for run in runs_at(onto, distance):
        line = run.section.midline
        for wall, (a, b) in enumerate(line.walls):
            along = line.points[b] - line.points[a]
            det = step[1] * along[0] - step[0] * along[1]
            if abs(det) > 1e-9:
                rel = line.points[a] - at
                t = (rel[1] * along[0] - rel[0] * along[1]) / det
                f = (step[0] * rel[1] - step[1] * rel[0]) / det
                if -EDGE <= f <= 1.0 + EDGE:
                    found.append(Crossing(float(t), run, wall))
    return sorted(found, key=lambda c: c.t)
