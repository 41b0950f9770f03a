"""Chains of walls from corner to corner, sharp or rounded, with the walls' names.

A rounded corner is drawn as a few short walls.  Its first half belongs to the wall before,
its second half to the wall behind, so that what is said of a wall holds round to the middle
of the bend.
"""

import math
from collections.abc import Collection, Mapping, Sequence
from functools import cache
from itertools import pairwise

import numpy as np

from fea.errors import Complaint, ModelError
from fea.section.midline import Array, Midline

#: Short walls in a quarter turn.  The developed length is exact; the area that a cell loses
#: costs J less than 0.02 % where the outside radius is twice the wall, 1.2 % in a whole circle.
ARC_WALLS = 6

Point = tuple[float, float]


def chain(
    corners: Sequence[Point],
    walls: Sequence[tuple[str, float]],
    *,
    held: int,
    radius: float = 0.0,
    rounded: Collection[int] = (),
) -> Midline:
    """Return a midline of corners joined one after another, the last with the first if as many.

    Parameters
    ----------
    corners : sequence of (y, z), mm
    walls : sequence of (name, thickness in mm)
        One fewer than corners for an open chain, as many for a ring.
    held : int
        Number of the wall that is held.
    radius : float, mm
        Mid-thickness radius of the corners in `rounded`; sharp if 0.  There must be room.
    rounded : corner numbers
    """
    n = len(corners)
    at = np.array(corners, dtype=np.float64)
    arcs = {k: _arc(at, k, radius) for k in rounded} if radius > 0.0 else {}
    points: list[Point] = []
    names: list[str] = []
    thickness: list[float] = []
    straight = 0
    half = ARC_WALLS // 2
    for k, (name, wall) in enumerate(walls):
        behind = (k + 1) % n
        # The wall's own half of the bend before it, the wall, its half of the bend behind it.
        stops = [*arcs[k][half:]] if k in arcs else [at[k]]
        straight = len(points) + len(stops) - 1 if k == held else straight
        stops += [*arcs[behind][: half + 1]] if behind in arcs else [at[behind]]
        points += [_pair(stop) for stop in stops[:-1]]
        names += [name] * (len(stops) - 1)
        thickness += [wall] * (len(stops) - 1)
        last = _pair(stops[-1])
    m = len(names)
    pairs = [*pairwise(range(m + 1))]
    if len(walls) == n:
        pairs[-1] = (m - 1, 0)
    else:
        points.append(last)
    return midline(points, pairs, thickness, held=straight, names=names)


def midline(
    corners: Sequence[Point],
    walls: Sequence[tuple[int, int]],
    thickness: Sequence[float],
    *,
    held: int,
    names: Sequence[str],
) -> Midline:
    """Return a midline from plain lists."""
    return Midline(
        np.array(corners, dtype=np.float64),
        np.array(walls, dtype=np.intp),
        np.array(thickness, dtype=np.float64),
        held,
        tuple(names),
    )


def mid_radius(corner: float | None, wall: float, room: Mapping[str, float]) -> float:
    """Return the mid-thickness radius of corners rounded to `corner` outside, mm; 0 if sharp.

    Parameters
    ----------
    corner : float, mm, or None
        Outside radius of the bend, as a radius gauge reads it.
    room : mapping of a dimension's name to the largest radius that it has room for, mm

    Raises
    ------
    ModelError
        If the radius is smaller than the wall or there is no room for it.
    """
    if corner is None:
        return 0.0
    if not corner >= wall:
        rule = "corner must be at least the wall: it is the outside radius of the bend"
        do = f"give inside radius plus wall, at least {wall:g} mm, or leave it out"
        raise ModelError(Complaint(rule, found=f"{corner:g} mm", do=do))
    for name, most in room.items():
        if corner >= most:
            rule = f"corner must leave some of the {name} flat: less than {most:g} mm"
            do = "give the outside radius as measured"
            raise ModelError(Complaint(rule, found=f"{corner:g} mm", do=do))
    return corner - wall / 2


def _arc(at: Array, k: int, radius: float) -> list[Array]:
    """Return the points of a square corner's arc, from wall to wall."""
    n = len(at)
    into, out = at[k] - at[k - 1], at[(k + 1) % n] - at[k]
    into, out = into / np.linalg.norm(into), out / np.linalg.norm(out)
    middle = at[k] + radius * (out - into)
    turns = np.linspace(0.0, math.pi / 2, ARC_WALLS + 1)
    reach = np.full(ARC_WALLS + 1, radius * _bulge())
    reach[[0, -1]] = radius
    return [middle + r * (math.sin(a) * into - math.cos(a) * out)
            for a, r in zip(turns, reach, strict=True)]  # fmt: skip


@cache
def _bulge() -> float:
    """Return how far out the inner points of an arc lie, of its radius.

    The end points lie on the arc, where the straight walls start; the others so far outside
    that the polygon is as long as the arc.
    """
    step = math.pi / 2 / ARC_WALLS
    low, high = 1.0, 1.1
    for _ in range(60):
        u = (low + high) / 2
        end = math.sqrt(1.0 + u * u - 2.0 * u * math.cos(step))
        length = 2.0 * end + (ARC_WALLS - 2) * 2.0 * u * math.sin(step / 2)
        low, high = (u, high) if length < math.pi / 2 else (low, u)
    return (low + high) / 2


def _pair(point: Array) -> Point:
    y, z = point.tolist()
    return y, z
