"""Welding sheet metal together: points tied to the surface they lie on or stand off from.

A tied point moves with the quadrilateral under it (bilinear in its four nodes), turned
rigidly about the point of the surface that is nearest: across a shim or half a wall the
metal between is taken as solid.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]

STEPS = 20
"""Most steps to the place on a quadrilateral; a parallelogram takes two."""

SETTLED = 1e-9
FAR = 2.0

SIGN_X = np.array([-1.0, 1.0, 1.0, -1.0])
SIGN_Y = np.array([-1.0, -1.0, 1.0, 1.0])


@dataclass(frozen=True, eq=False)
class Found:
    """Where points lie on a set of quadrilaterals; all arrays by point.

    Attributes
    ----------
    quad : (k,), the quadrilateral, -1 where there is none
    weight : (k, 4), of its nodes
    gap : (k, 3), mm, from the surface's point to the point
    """

    quad: Index
    weight: Array
    gap: Array


def normals(corners: Array) -> Array:
    """Return unit normals of quadrilaterals (n, 4, 3), shape (n, 3)."""
    normal = np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1])
    return np.asarray(normal / np.linalg.norm(normal, axis=1)[:, None])


def project(points: Array, corners: Array) -> tuple[Array, Array, Array]:
    """Return for every point and quadrilateral its place there.

    Parameters
    ----------
    points : (k, 3); corners : (n, 4, 3)

    Returns
    -------
    xi, eta : (k, n), the nearest point's parameters, -1 to 1
    distance : (k, n), mm, from the point to it
    """
    middle = corners.mean(axis=1)
    a = 0.25 * np.einsum("c,ncj->nj", SIGN_X, corners)
    b = 0.25 * np.einsum("c,ncj->nj", SIGN_Y, corners)
    skew = 0.25 * np.einsum("c,ncj->nj", SIGN_X * SIGN_Y, corners)
    aa, bb, ab = (a * a).sum(axis=1), (b * b).sum(axis=1), (a * b).sum(axis=1)
    det = aa * bb - ab * ab
    offset = points[:, None] - middle[None]
    xi = np.zeros(offset.shape[:2])
    eta = np.zeros_like(xi)
    for _ in range(STEPS):
        rest = offset - (xi * eta)[:, :, None] * skew
        ra, rb = (rest * a).sum(axis=2), (rest * b).sum(axis=2)
        before = xi, eta
        # Far from a quad the place is of no interest: it is kept from running away.
        xi = np.clip((ra * bb - rb * ab) / det, -FAR, FAR)
        eta = np.clip((rb * aa - ra * ab) / det, -FAR, FAR)
        close = (np.abs(xi) < FAR) & (np.abs(eta) < FAR)
        if not np.any(close & (np.hypot(xi - before[0], eta - before[1]) > SETTLED)):
            break
    xi, eta = np.clip(xi, -1.0, 1.0), np.clip(eta, -1.0, 1.0)
    near = middle + xi[..., None] * a + eta[..., None] * b + (xi * eta)[..., None] * skew
    return xi, eta, np.linalg.norm(points[:, None] - near, axis=2)


def locate(points: Array, corners: Array, reach: float) -> Found:
    """Return the nearest quadrilateral of every point within `reach` mm."""
    k = len(points)
    quad = np.full(k, -1, dtype=np.intp)
    weight, gap = np.zeros((k, 4)), np.zeros((k, 3))
    if k == 0 or len(corners) == 0:
        return Found(quad, weight, gap)
    xi, eta, distance = project(points, corners)
    best = distance.argmin(axis=1)
    row = np.arange(k)
    good = distance[row, best] <= reach
    x, y = xi[row, best], eta[row, best]
    weight = 0.25 * (1.0 + SIGN_X * x[:, None]) * (1.0 + SIGN_Y * y[:, None])
    near = np.einsum("kc,kcj->kj", weight, corners[best])
    quad[good] = best[good]
    return Found(quad, weight, points - near)


def hits(origins: Array, direction: Array, corners: Array) -> Array:
    """Return how far along `direction` each ray meets each quadrilateral, (k, n), nan if not.

    Parameters
    ----------
    origins : (k, 3); direction : (3,), unit
    """
    normal = normals(corners)
    slope = normal @ direction
    middle = corners.mean(axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        t = ((middle[None] - origins[:, None]) * normal).sum(axis=2) / slope
    t = np.where(np.abs(slope) > 0.2, t, np.nan)
    at = origins[:, None] + t[..., None] * direction
    inside = np.ones(t.shape, dtype=bool)
    for c in range(4):
        side = corners[:, (c + 1) % 4] - corners[:, c]
        inward = np.cross(normal, side)
        inward /= np.linalg.norm(inward, axis=1)[:, None]
        with np.errstate(invalid="ignore"):
            inside &= ((at - corners[None, :, c]) * inward).sum(axis=2) >= -0.5
    return np.where(inside, t, np.nan)
