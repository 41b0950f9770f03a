"""Statics of rigid bodies: forces at points that do what one force elsewhere does."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def least_shares(points: Array, at: Array) -> Array:
    """Return the smallest shares, (k,), that sum to 1 and, if they can, centre on `at`.

    Parameters
    ----------
    points : (k, d); at : (d,), mm
    """
    middle = points.mean(axis=0)
    size = max(1.0, float(np.max(np.abs(points - middle))))
    rows = np.vstack([np.ones(len(points)), (points - middle).T / size])
    return np.asarray(
        np.linalg.pinv(rows, rcond=1e-9) @ np.concatenate(([1.0], (at - middle) / size))
    )


def least_pairs(points: Array, moment: Array) -> Array:
    """Return the smallest upward forces, (k,), that sum to 0 and turn by a moment if they can.

    Parameters
    ----------
    points : (k, 2), mm, station and offset
    moment : (2,), N mm, about the station and the offset axis
    """
    middle = points.mean(axis=0)
    size = max(1.0, float(np.max(np.abs(points - middle))))
    arms = (points - middle).T / size
    rows = np.vstack([np.ones(len(points)), arms[1], -arms[0]])
    return np.asarray(np.linalg.pinv(rows, rcond=1e-9) @ np.concatenate(([0.0], moment / size)))


def shared(points: Array, at: Array, force: Array) -> tuple[Array, Array]:
    """Return forces at points, (k, 3), that stand for one at `at`, and what they leave, (3,).

    The force goes by the shares that centre on `at` in plan.  What moment that leaves goes
    into vertical forces as far as these can balance it; the rest, N mm, is returned.
    """
    each = least_shares(points[:, :2], at[:2])[:, None] * force
    whole = np.cross(at, force)
    each[:, 2] += least_pairs(points[:, :2], (whole - np.cross(points, each).sum(axis=0))[:2])
    return each, whole - np.cross(points, each).sum(axis=0)
