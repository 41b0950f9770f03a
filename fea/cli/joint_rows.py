"""Rows of the table of joints: where the sheet metal is stressed most, a pair in one line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fea import units

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fea.frame.model import Frame
    from fea.result.metal import JointPeak

SAME = 0.005
"""Peaks of a right and a left joint that differ by less than this share are one line."""


def joint_rows(
    frame: Frame, peaks: Sequence[JointPeak], system: units.System
) -> list[tuple[str, str, str, str]]:
    """Return name, stress, member and place of every peak, in their order.

    What stands alike on the right and on the left rail becomes "on both rails".
    """
    rails = {side: _rail(frame, side) for side in ("right", "left")}
    left = list(peaks)
    rows = []
    while left:
        peak = left.pop(0)
        twin = next((p for p in left if _twins(peak, p, rails)), None)
        name, member = peak.joint, peak.member
        if twin is not None:
            left.remove(twin)
            for rail in rails.values():
                name = name.replace(f"on {rail}", "on both rails")
            member = "both rails" if member in rails.values() else member
        stress = units.show(peak.von_mises, "stress", system)
        place = f"station {peak.station:.0f}, height {peak.height:.0f}"
        rows.append((name, stress, member, place))
    return rows


def _rail(frame: Frame, side: str) -> str:
    """Return the name of the rail of a side, empty if it has none or several."""
    names = [m.name for m in frame.members if m.kind == "rail" and m.side == side]
    return names[0] if len(names) == 1 else ""


def _twins(one: JointPeak, other: JointPeak, rails: dict[str, str]) -> bool:
    """Whether two peaks are the right and the left one of a pair that is stressed alike."""
    right, left = rails["right"], rails["left"]
    if not right or not left:
        return False
    here, there = (p.joint.replace(f"on {left}", f"on {right}") for p in (one, other))
    return (
        here == there
        and one.joint != other.joint
        and (one.member == other.member or {one.member, other.member} == {right, left})
        and abs(one.von_mises - other.von_mises) <= SAME * one.von_mises
        and abs(one.station - other.station) < 1.0
        and abs(one.height - other.height) < 1.0
    )
