"""Places along a member's path: distance from its start, from and to coordinates."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

KINK = float(np.radians(3.0))
"""A corner of a path that turns by more than this bends thin walls out of their plane."""


def cross(a: Array, b: Array) -> Array:
    """Return a x b of vectors along the last axis, shape (..., 3); quick for a few of them."""
    x = a[..., 1] * b[..., 2] - a[..., 2] * b[..., 1]
    y = a[..., 2] * b[..., 0] - a[..., 0] * b[..., 2]
    z = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return np.array([x, y, z]) if x.ndim == 0 else np.stack([x, y, z], axis=-1)


def lengths(path: Array) -> Array:
    """Return the distance of every corner from the start, shape (n,), mm."""
    step = path[1:] - path[:-1]
    out = np.zeros(len(path))
    np.cumsum(np.sqrt(np.einsum("ij,ij->i", step, step)), out=out[1:])
    return out


def point_at(path: Array, distance: float | Array) -> Array:
    """Return the coordinates at a distance along the path, shape (..., 3), mm."""
    s = lengths(path)
    return np.stack([np.interp(distance, s, path[:, k]) for k in range(3)], axis=-1)


def distance_at_station(path: Array, station: float) -> float:
    """Return the distance along a path at a station x; the path's x must increase."""
    return float(np.interp(station, path[:, 0], lengths(path)))


def nearest(path: Array, point: Array) -> tuple[float, float]:
    """Return distance along the path of the point nearest to `point`, and the gap, mm."""
    start, step = path[:-1], np.diff(path, axis=0)
    square = np.einsum("ij,ij->i", step, step)
    part = np.clip(np.einsum("ij,ij->i", point - start, step) / square, 0.0, 1.0)
    gap = np.linalg.norm(start + part[:, None] * step - point, axis=1)
    best = int(np.argmin(gap))
    return float(lengths(path)[best] + part[best] * np.sqrt(square[best])), float(gap[best])


def leg_axes(path: Array, up: Array) -> Array:
    """Return unit vectors along x, y, z of every leg of a path, shape (n - 1, 3, 3).

    z leans to `up`, shape (3,), and ``y = z cross x``.
    """
    direction = np.diff(path, axis=0)
    direction = direction / np.linalg.norm(direction, axis=1)[:, None]
    z = up - (direction @ up)[:, None] * direction
    z = z / np.linalg.norm(z, axis=1)[:, None]
    return np.stack([direction, cross(z, direction), z], axis=1)
