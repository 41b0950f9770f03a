"""Where stands may be put: along the straight and level lengths of both rails."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.frame import path
from fea.frame.model import Frame, Member

Array = NDArray[np.float64]

SLOPE = float(np.sin(path.KINK))
"""A rail that rises more than this per length lets a stand slide."""
FROM_KINK = 50.0
"""A stand's pad is kept this far, mm, from a kink."""
FROM_JOINT = 75.0
"""And this far from a crossmember's joint, where that is asked for: room to weld there."""


def allowed(
    frame: Frame,
    spans: Sequence[tuple[float, float]] = (),
    *,
    step: float = 100.0,
    clear_joints: bool = False,
) -> list[float]:
    """Return stations where both rails may stand, mm, rising.

    Parameters
    ----------
    spans : from and to, mm; the whole rails if there are none.  One with equal ends is a place
        of the user's own, taken as it is.
    step : between places, mm
    clear_joints : keep off the crossmembers' joints as well

    Raises
    ------
    ModelError
        If nothing is left, or a place of one's own is off the rails.
    """
    rails = [m for m in frame.members if m.kind == "rail" and m.side in ("right", "left")]
    if not rails:
        raise ModelError(Complaint("stands need a right and a left rail", frame.source))
    low, high = max(m.path[0, 0] for m in rails), min(m.path[-1, 0] for m in rails)
    own = [a for a, b in spans if a == b]
    off = ", ".join(f"{x:g} mm" for x in own if not low <= x <= high)
    if off:
        do = f"between {low:g} and {high:g} mm"
        raise ModelError(Complaint("a stand must be under the rails", "--allowed", off, do))
    every = step * np.arange(np.ceil(low / step), np.floor(high / step) + 1.0)
    ranges = [(a, b) for a, b in spans if a < b] or ([] if own else [(low, high)])
    found = [
        float(x)
        for x in every
        if any(a <= x <= b for a, b in ranges)
        and all(_fit(frame, m, float(x), clear_joints=clear_joints) for m in rails)
    ]
    chosen = sorted({*found, *own})
    if not chosen:
        rule = "no place is left for a stand"
        do = "allow more of the rails, or a smaller step"
        raise ModelError(Complaint(rule, "--allowed", do=do))
    return chosen


def _fit(frame: Frame, rail: Member, station: float, *, clear_joints: bool) -> bool:
    """Say whether a stand's pad sits well under a rail at a station."""
    line = rail.path
    leg = int(np.clip(np.searchsorted(line[:, 0], station) - 1, 0, len(line) - 2))
    run = line[leg + 1] - line[leg]
    if abs(run[2]) > SLOPE * float(np.linalg.norm(run)):
        return False
    if any(abs(station - x) < FROM_KINK for x in _kinks(line)):
        return False
    if not clear_joints:
        return True
    where = path.distance_at_station(line, station)
    joints = [j.distance for j in frame.joints if j.onto == rail.name]
    return all(abs(where - d) >= FROM_JOINT for d in joints)


def _kinks(line: Array) -> list[float]:
    """Return the stations where a path turns sharply."""
    way = np.diff(line, axis=0)
    way = way / np.linalg.norm(way, axis=1)[:, None]
    turn = np.einsum("ij,ij->i", way[:-1], way[1:])
    return [float(x) for x, c in zip(line[1:-1, 0], turn, strict=True) if c < np.cos(path.KINK)]
