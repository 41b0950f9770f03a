"""A quick figure set right by the nearest variant that is known by sheet metal too.

Beam rules read a frame too stiff or too soft, but what a change does to it they tell well: a
variant counts as stiff as sheet metal says of its neighbour, changed as beam rules say.  How
far that may be off is told by two other readings: what the joints add to the give may stay as
it is instead of growing with the rest, and as plates bent across they may give by the cube of
their wall; and between the variants known by sheet metal the same estimate has missed by some
share of the change.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import permutations

import numpy as np

from fea.frame.model import Frame

Walls = dict[str, dict[str, tuple[float, float]]]
"""Member -> section -> its share of the member's length, and its mean wall, mm."""

MEASURES = ("twist", "bending")

LEAST, LEAST_PARTS = 0.1, 0.3
"""Share of a change that an estimate of it is taken to miss at least: of a figure, of a part.

Set on the demo frames, changed in one thing at a time (walls, plates, loss, parts) and worked
out by sheet metal afterwards: of 24 figures none missed by more than it told, most by a third.
"""

SURE = 0.005
"""Relative error that an estimate has at least: another wall is meshed otherwise, too."""

TOLD = 0.01
"""Relative change from which on a miss tells something of the next one."""


@dataclass(frozen=True)
class Both:
    """Stiffnesses of a variant by beam rules and by sheet metal, by measure, in one unit.

    Attributes
    ----------
    shares : by measure, the share of the strain energy in each member, joints in sheet metal
    walls : see :func:`mean_walls`
    """

    quick: dict[str, float | None]
    sheet: dict[str, float | None]
    shares: dict[str, dict[str, float]]
    walls: Walls


@dataclass(frozen=True)
class Estimate:
    """A stiffness as estimated.

    Attributes
    ----------
    error : how far off it may be, relative
    softer : what movements by beam rules grow by to fit it
    """

    value: float
    error: float
    softer: float


def estimates(
    quick: dict[str, float | None],
    nearest: Both,
    known: Iterable[Both],
    *,
    walls: Walls,
    same_parts: bool,
) -> dict[str, Estimate]:
    """Return the estimate of every measure that has one.

    Parameters
    ----------
    quick : the variant's stiffnesses by beam rules
    nearest : the variant to start from
    known : all that are known both ways
    walls : of the variant, see :func:`mean_walls`
    same_parts : whether the variant differs from the nearest in figures alone
    """
    pairs = list(known)
    least = LEAST if same_parts else LEAST_PARTS
    found = {}
    for measure in MEASURES:
        now, own, sure = quick[measure], nearest.quick[measure], nearest.sheet[measure]
        if not now or not own or not sure:
            continue
        value = sure * now / own
        constant = 1.0 / sure + 1.0 / now - 1.0 / own  # the joints' own give stays as it is
        apart = abs(value * constant - 1.0)
        joints = abs(1.0 - sure / own)  # share of the give that beam rules do not tell
        error = apart + joints * (_bent(nearest, measure, walls) + (0.0 if same_parts else least))
        error += max(least, missed(pairs, measure)) * abs(np.log(now / own))
        found[measure] = Estimate(value, max(SURE, float(error)), now / value)
    return found


def _bent(nearest: Both, measure: str, walls: Walls) -> float:
    """Return the relative change of what gives by the cube of the wall, were all of it to.

    A length of a member may be just where its joints give: it counts with the root of its share.
    """
    total = 0.0
    for member, share in nearest.shares.get(measure, {}).items():
        old, new = nearest.walls.get(member, {}), walls.get(member, {})
        changes = [
            (part, abs((wall / new[section][1]) ** 3 - 1.0))
            for section, (part, wall) in old.items()
            if section in new
        ]
        if not changes and old and new:  # all its sections go by other names
            was, now = (sum(part * wall for part, wall in w.values()) for w in (old, new))
            changes = [(1.0, abs((was / now) ** 3 - 1.0))]
        most = max((change for _, change in changes), default=0.0)
        total += share * min(most, sum(float(np.sqrt(part)) * change for part, change in changes))
    return total


def mean_walls(frame: Frame) -> Walls:
    """Return of every member and section its share of the length and its mean wall, mm."""
    found: Walls = {}
    for member in frame.members:
        whole = member.runs[-1].end - member.runs[0].start
        here = found.setdefault(member.name, {})
        for run in member.runs:
            part, wall = (
                (run.end - run.start) / whole,
                float(np.mean(run.section.midline.thickness)),
            )
            before, mean = here.get(run.section.name, (0.0, 0.0))
            both = before + part
            here[run.section.name] = (both, (before * mean + part * wall) / both)
    return found


def missed(known: list[Both], measure: str) -> float:
    """Return the largest share of a change that the estimate missed between known variants."""
    worst = 0.0
    for one, other in permutations(known, 2):
        told = [both[measure] for both in (one.quick, one.sheet, other.quick, other.sheet)]
        if any(not value for value in told):
            continue
        a, b, c, d = (float(value) for value in told if value)
        change = abs(np.log(c / a))
        if change > TOLD:
            worst = max(worst, abs(float(np.log(b * c / a / d))) / float(change))
    return worst
