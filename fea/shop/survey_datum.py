"""The frame's own datum: measured places laid on the sheet by a rigid motion.

Coordinates that the readings do not tell have no say in it.  Which they are depends on the
motion itself, so both are sought together by weighing down what is not told, again and again.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.solve.adjust import FREE, Adjusted

Array = NDArray[np.float64]

TOLD = 5.0
"""Standard deviation, mm, from the directions that are not told, beyond which a coordinate or a
measure cannot be judged."""

_ROUNDS = 60
_STILL = 1e-10  # rad and mm


@dataclass(frozen=True, eq=False)
class Placed:
    """Adjusted points on the sheet.

    Attributes
    ----------
    places : (n, 3), in the sheet's axes, mm
    off : (3 n,), places less sheet, flat
    told : (3 n,) bool: the readings tell this coordinate
    root, free : (3 n, k) and (3 n, f): square roots of the covariance of `off`, of what is
        told and (FREE included) of what is not
    plumb : (3 n,), places less sheet in the shop's axes, for what is plumb
    plumb_root, plumb_free : the same roots in the shop's axes
    """

    places: Array
    off: Array
    told: NDArray[np.bool_]
    root: Array
    free: Array
    plumb: Array
    plumb_root: Array
    plumb_free: Array


def rigid_modes(places: Array) -> Array:
    """Return the movements of points, (n, 3), as a rigid body: shape (3 n, 6).

    Along x, y, z in mm; about x, y, z through the middle in rad.
    """
    arm = places - places.mean(axis=0)
    out = np.zeros((len(places), 3, 6))
    out[:, :, :3] = np.eye(3)
    for axis in range(3):
        out[:, :, 3 + axis] = np.cross(np.eye(3)[axis], arm)
    return out.reshape(-1, 6)


def remainder(modes: Array, weight: Array) -> Array:
    """Return what is left of a movement when its rigid part is taken off: (3 n, 3 n)."""
    root = np.sqrt(weight)
    fit = modes @ np.linalg.pinv(root[:, None] * modes, 1e-9)
    return np.asarray(np.eye(len(weight)) - fit * root)


def place(found: Adjusted, sheet: Array) -> Placed:
    """Lay adjusted points on the sheet, shape (n, 3)."""
    size = sheet.size
    shop = found.x[:size].reshape(-1, 3)
    free = found.free[:size]
    weight = _told(free, shop)
    turn, places = _align(shop, sheet, weight)
    turned = np.kron(np.eye(len(sheet)), turn)
    project = remainder(rigid_modes(places), weight) @ turned
    root, loose = project @ found.root[:size], FREE * (project @ free)
    told = np.linalg.norm(loose, axis=1) < TOLD
    return Placed(
        places,
        (places - sheet).ravel(),
        told,
        root,
        loose,
        (shop - sheet).ravel(),
        found.root[:size],
        FREE * free,
    )


def _told(free: Array, places: Array) -> Array:
    """Return a weight, 1 or 0, per coordinate, shape (3 n,): 1 where the readings tell it.

    Seeks the rigid motions that bring the directions not told to as few coordinates as can
    be: least sum of the coordinates' amounts, by least squares with changing weights.
    """
    modes = rigid_modes(places)
    weight = np.ones(len(free))
    if not free.shape[1]:
        return weight
    amount = np.zeros(len(free))
    for k in range(_ROUNDS):
        amount = np.linalg.norm(remainder(modes, weight) @ free, axis=1)
        weight = 1.0 / (amount + max(1e-1 * 0.7**k, 1e-7))
        weight /= weight.max()
    return np.asarray(amount * FREE < TOLD, dtype=np.float64)


def _align(shop: Array, sheet: Array, weight: Array) -> tuple[Array, Array]:
    """Return the rotation (3, 3), and the places (n, 3), turned and moved onto the sheet."""
    turn, places = np.eye(3), shop.copy()
    root = np.sqrt(weight)
    for _ in range(_ROUNDS):
        modes = rigid_modes(places)
        off = root * (sheet - places).ravel()
        move = np.asarray(
            np.linalg.lstsq(root[:, None] * modes, off, rcond=1e-9)[0], dtype=np.float64
        )
        spin = _rotation(move[3:])
        middle = places.mean(axis=0)
        places = (places - middle) @ spin.T + middle + move[:3]
        turn = spin @ turn
        if np.abs(move).max() < _STILL:
            break
    return turn, places


def _rotation(vector: Array) -> Array:
    """Return the rotation about a vector by its length in rad (O. Rodrigues, 1840)."""
    angle = float(np.linalg.norm(vector))
    if angle < 1e-15:
        return np.eye(3)
    x, y, z = vector / angle
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.asarray(np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * (cross @ cross))
