"""Exact distance between convex solids, and how deep two of them overlap.

A solid is the hull of a few points, made thicker all round by a radius: a pipe is a segment
with a radius, a wall of sheet metal a prism with none.  The distance of two hulls is the
shortest vector in the hull of all differences of their points, found by Wolfe's method; the
depth of an overlap is the least movement that parts them, along a face's normal or across two
edges (the faces that the hull of the differences can have).

References
----------
.. [1] P. Wolfe, "Finding the nearest point in a polytope", Mathematical Programming 11 (1976),
   128-149.
.. [2] C. Ericson, Real-Time Collision Detection, 2005, section 5.2.1 (separating axes).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

ROUND = 1e-10
"""Relative size of what is taken for nothing."""


@dataclass(frozen=True, eq=False)
class Solid:
    """A convex solid.

    Attributes
    ----------
    points : (n, 3), mm, whose hull it is
    normals, edges : (k, 3) and (m, 3), directions of its faces' normals and of its edges
    radius : mm, added all round
    """

    points: Array
    normals: Array
    edges: Array
    radius: float = 0.0

    @property
    def box(self) -> Array:
        """Its lowest and highest coordinates, (2, 3), mm."""
        low, high = self.points.min(axis=0), self.points.max(axis=0)
        return np.array([low - self.radius, high + self.radius])


@dataclass(frozen=True, eq=False)
class Gap:
    """How two solids stand to each other.

    Attributes
    ----------
    size : float, mm; less than nothing is the depth of their overlap
    first, second : (3,), mm, the nearest points of the two hulls (without their radii)
    shares : shares of the second solid's points in `second`, by point
    way : (3,), from the first to the second; the way the second has to move to part
    """

    size: float
    first: Array
    second: Array
    shares: dict[int, float]
    way: Array


def capsule(start: Array, end: Array, radius: float) -> Solid:
    """Return a round bar with round ends."""
    return Solid(np.array([start, end]), np.empty((0, 3)), _unit([end - start]), radius)


def triangle(corners: Array, radius: float) -> Solid:
    """Return a triangle, (3, 3), thickened all round; it may be a line or a point."""
    sides = np.roll(corners, -1, axis=0) - corners
    return Solid(corners, _unit([np.cross(sides[0], sides[1])]), _unit(sides), radius)


def prism(start: Array, end: Array) -> Solid:
    """Return the hull of two polygons, (n, 3) each, whose sides are parallel in pairs."""
    sides = np.roll(start, -1, axis=0) - start
    far = np.roll(end, -1, axis=0) - end
    along = end - start
    normals = [np.cross(side, step) for side, step in zip(sides, along, strict=True)]
    normals += [_flat(start), _flat(end)]
    return Solid(np.concatenate((start, end)), _unit(normals), _unit([*sides, *far, *along]))


def block(low: Array, high: Array) -> Solid:
    """Return a box along the axes between two corners."""
    (x0, y0, z0), (x1, y1, z1) = low.tolist(), high.tolist()
    ring = [(y0, z0), (y1, z0), (y1, z1), (y0, z1)]
    return prism(*(np.array([(x, y, z) for y, z in ring]) for x in (x0, x1)))


def between(first: Solid, second: Solid) -> Gap:
    """Return the gap of two solids, exact to round-off."""
    weights = _nearest(first.points, second.points)
    one, other = np.zeros(3), np.zeros(3)
    shares: dict[int, float] = {}
    for (i, j), weight in weights.items():
        one = one + weight * first.points[i]
        other = other + weight * second.points[j]
        shares[j] = shares.get(j, 0.0) + weight
    way = other - one
    apart = float(np.linalg.norm(way))
    thick = first.radius + second.radius
    scale = max(1.0, float(np.abs(first.points - first.points.mean(axis=0)).max()))
    if apart > 1e3 * ROUND * scale:
        return Gap(apart - thick, one, other, shares, way / apart)
    depth, way = _depth(first, second)
    return Gap(-depth - thick, one, other, shares, way)


def hull(points: Array) -> Array:
    """Return the corners of the hull of points (n, 2) in order round it, (m, 2)."""
    ordered = sorted(set(map(tuple, np.round(points, 9).tolist())))
    if len(ordered) < 3:
        return np.array(ordered)
    rings: list[list[tuple[float, ...]]] = []
    for line in (ordered, ordered[::-1]):
        ring: list[tuple[float, ...]] = []
        for p in line:
            while len(ring) > 1 and turn(ring[-2], ring[-1], p) <= 0.0:
                ring.pop()
            ring.append(p)
        rings.append(ring[:-1])
    return np.array(rings[0] + rings[1])


def turn(a: tuple[float, ...], b: tuple[float, ...], c: tuple[float, ...]) -> float:
    """Return twice the area that three points of a plane go round, left positive."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _unit(vectors: "list[Array] | Array") -> Array:
    """Return the different directions among vectors, as unit vectors (k, 3)."""
    rows = np.asarray(vectors, dtype=float).reshape(-1, 3)
    size = np.linalg.norm(rows, axis=1)
    rows = rows[size > 1e-9] / size[size > 1e-9, None]
    first = np.argmax(np.abs(rows) > 1e-9, axis=1)
    rows = rows * np.sign(rows[np.arange(len(rows)), first])[:, None]
    _, kept = np.unique(np.round(rows, 9), axis=0, return_index=True)
    return np.asarray(rows[np.sort(kept)])


def _flat(ring: Array) -> Array:
    """Return the normal of a flat polygon, (3,), as long as twice its area."""
    return np.asarray(np.cross(ring, np.roll(ring, -1, axis=0)).sum(axis=0))


def _nearest(first: Array, second: Array) -> dict[tuple[int, int], float]:
    """Return the pairs of points, with their weights, that make the shortest difference."""
    pairs: list[tuple[int, int]] = [(0, 0)]
    weights = np.ones(1)
    size = max(1.0, float(np.abs(first[0] - second[0]).max()))
    for _ in range(1000):
        corners = np.array([first[i] - second[j] for i, j in pairs])
        x = weights @ corners
        new = int(np.argmin(first @ x)), int(np.argmax(second @ x))
        drop = float(x @ x - x @ (first[new[0]] - second[new[1]]))
        if drop <= ROUND * max(float(x @ x), ROUND * size * size) or new in pairs:
            break
        pairs.append(new)
        weights = np.append(weights, 0.0)
        pairs, weights = _inside(first, second, pairs, weights)
    return dict(zip(pairs, weights.tolist(), strict=True))


def _inside(
    first: Array, second: Array, pairs: list[tuple[int, int]], weights: Array
) -> tuple[list[tuple[int, int]], Array]:
    """Step towards the shortest vector of the pairs' plane until it lies inside them."""
    while True:
        corners = np.array([first[i] - second[j] for i, j in pairs])
        wanted = _affine(corners)
        if (wanted > ROUND).all():
            return pairs, wanted
        falling = wanted <= ROUND
        steps = weights[falling] / np.maximum(weights[falling] - wanted[falling], 1e-300)
        weights = weights + min(1.0, float(steps.min())) * (wanted - weights)
        kept = weights > ROUND
        if kept.all():  # round-off: drop the least
            kept[int(np.argmin(weights))] = False
        pairs = [pair for pair, keep in zip(pairs, kept.tolist(), strict=True) if keep]
        weights = weights[kept] / weights[kept].sum()


def _affine(corners: Array) -> Array:
    """Return weights, with sum 1, of the shortest vector in the plane through points (n, 3)."""
    if len(corners) == 1:
        return np.ones(1)
    steps = corners[1:] - corners[0]
    rest = np.linalg.lstsq(steps.T, -corners[0], rcond=None)[0]
    return np.concatenate(([1.0 - rest.sum()], rest))


def _depth(first: Solid, second: Solid) -> tuple[float, Array]:
    """Return the least movement that parts two hulls that meet, mm, and its direction."""
    across = np.cross(first.edges[:, None], second.edges[None]).reshape(-1, 3)
    axes = _unit(np.concatenate((first.normals, second.normals, across)))
    one, other = first.points @ axes.T, second.points @ axes.T
    up = one.max(axis=0) - other.min(axis=0)  # the second moves along the axis
    down = other.max(axis=0) - one.min(axis=0)
    k = int(np.argmin(np.minimum(up, down)))
    sign = 1.0 if up[k] <= down[k] else -1.0
    return max(0.0, float(min(up[k], down[k]))), sign * axes[k]
