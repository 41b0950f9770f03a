"""Where one more tie between frame and body could go: every floor brace near a rail."""

import numpy as np
from numpy.typing import NDArray

from fea.frame.body import BodyBeam, Bracket, Tie
from fea.frame.model import Frame, Member
from fea.frame.path import distance_at_station, nearest, point_at

Array = NDArray[np.float64]
Place = tuple[float, float, float]

REACH = 300.0
"""How far a floor brace may be from a rail for a tie between them, mm."""

#: The bracket of a candidate: width, wall, bolt, what the metal round its ends gives (N/mm),
#: and the least length that leaves room for a bolt at each end; mm.
WIDTH, WALL, BOLT, ENDS, LEAST = 40.0, 6.0, 10.0, 5000.0, 40.0

# Steps along a brace that is not straight across, to find its place nearest to a rail.
_STEPS = 401


def candidates(frame: Frame, reach: float = REACH) -> list[Tie]:
    """Return the document's own ties, and one pair for each floor brace near a rail.

    A candidate goes from the rail's reference line, at the brace's station, to the nearest
    point of the brace.  Of several rails on a side, the nearest one is taken.  A pair is
    named after its brace; all of them are made of one bracket, 40 x 6 mm with one M10 bolt
    at each end, as long as it must be.

    Parameters
    ----------
    frame : Frame
        With the bodies of the chosen kind.
    reach : float, mm
        The longest such tie.

    Returns
    -------
    list of Tie
        The document's first, fitted or not; then the candidates by body and brace, the right
        one of a pair first.
    """
    taken = {tie.pair for tie in frame.ties}
    found = list(frame.ties)
    for body in frame.bodies:
        for beam in body.beams:
            if not beam.floor:
                continue
            pair = beam.name.removesuffix(f" {beam.side}")
            if pair in taken:
                pair = f"{pair} of {body.name}"
            for side in ("right", "left"):
                if beam.side not in (side, "centre"):
                    continue
                ends = [_ends(rail, beam) for rail in _rails(frame, side)]
                near = [end for end in ends if end is not None and end[0] <= reach]
                if near:
                    gap, rail, distance, start, end = min(near)
                    bracket = Bracket(max(gap, LEAST), WIDTH, WALL, 1, BOLT, "clamped", ENDS)
                    found.append(
                        Tie(pair, side, rail, distance, start, body.name, beam.name, end, bracket)
                    )
    return found


def _rails(frame: Frame, side: str) -> list[Member]:
    return [m for m in frame.members if m.kind == "rail" and m.side == side]


def _ends(rail: Member, beam: BodyBeam) -> tuple[float, str, float, Place, Place] | None:
    """Return length, rail and distance along it, and both ends of a tie, if the rail reaches."""
    path = beam.path
    low = max(float(path[:, 0].min()), float(rail.path[0, 0]))
    high = min(float(path[:, 0].max()), float(rail.path[-1, 0]))
    if low > high:
        return None
    tries = []
    for station in np.linspace(low, high, _STEPS if high > low else 1):
        distance = distance_at_station(rail.path, float(station))
        start = point_at(rail.path, distance)
        along, gap = nearest(path, start)
        tries.append((gap, rail.name, distance, place(start), place(point_at(path, along))))
    return min(tries)


def place(point: Array) -> Place:
    """Return a point, shape (3,), as a tuple, mm."""
    x, y, z = point.tolist()
    return x, y, z
