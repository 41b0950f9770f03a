"""What a document tells of worn walls beforehand: how thick they were, what may be lost."""

import math
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from fea import units
from fea.document.schema import FrameDocument
from fea.frame.model import Member
from fea.frame.path import distance_at_station
from fea.study.tolerances import tolerances

if TYPE_CHECKING:
    from fea.document.schema_walls import WearEntry

LEAST_LOSS = 1e-3
"""mm; a wall that has lost nothing loses this, so that its loss can be stepped down as well."""

MOST_LOSS = 0.7
"""Of the thinnest wall: with less left, no one would hang a weight on the frame."""

PLATE = "plate"
"""The wall that wear of a whole section spares."""


def thinnest(
    member: Member,
    start: float | None = None,
    end: float | None = None,
    names: Sequence[str] = (),
) -> float:
    """Return the thinnest new wall of a member between two stations, mm; no boxing plate."""
    low = 0.0 if start is None else distance_at_station(member.path, start)
    high = math.inf if end is None else distance_at_station(member.path, end)
    out = math.inf
    for run in member.runs:
        if run.end > low + 1e-6 and run.start < high - 1e-6:
            line = (run.section.nominal or run.section).midline
            for wall, t in zip(line.names, line.thickness, strict=True):
                meant = any(wall == n or wall.endswith(f" {n}") for n in names)
                if meant or (not names and wall != PLATE):
                    out = min(out, float(t))
    return out


def told_loss(entry: "WearEntry", wall: float) -> tuple[float, float]:
    """Return what a table tells to be lost of a wall of that thickness: middle, half width, mm."""
    if entry.left is not None:
        return wall - entry.left.mean, entry.left.half
    lost = entry.loss
    if lost is None:
        return 0.0, 0.0
    scale = wall if lost.kind == "share" else 1.0
    return lost.mean * scale, lost.half * scale


def ranges_left(document: FrameDocument, paths: Collection[str]) -> list[str]:
    """Return a sentence for every range of wear that none of the unknowns' paths is."""
    return [
        f"{t.path} is told as a range and taken at its middle,"
        f" {units.show(t.mean, t.kind).partition(' (')[0]}: ask for --unknown stretches to have it"
        " looked for within the range."
        for t in tolerances(document)
        if t.path.startswith("wear.") and t.path not in paths
    ]
