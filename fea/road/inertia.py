"""What a vehicle's masses do under unit accelerations: on the mesh, and at its axles."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.frame.case import Case
from fea.frame.model import Axle, Frame, Mass
from fea.load import Gather, Loads
from fea.mesh.mesh import Mesh

Array = NDArray[np.float64]

FIELDS: tuple[Callable[[Array], Array], ...] = (
    lambda at: np.broadcast_to([1.0, 0.0, 0.0], at.shape),
    lambda at: np.broadcast_to([0.0, 1.0, 0.0], at.shape),
    lambda at: np.broadcast_to([0.0, 0.0, 1.0], at.shape),
    lambda at: np.stack([0.0 * at[..., 0], -at[..., 2], at[..., 1]], axis=-1),
    lambda at: np.stack([-at[..., 1], at[..., 0], 0.0 * at[..., 0]], axis=-1),
)
"""Unit accelerations: rearward, right and up, 1 mm/s2; roll and yaw about the origin, 1 rad/s2."""

X, Y, Z, ROLL, YAW = range(5)


@dataclass(frozen=True, eq=False)
class Inertia:
    """A vehicle's masses under the unit accelerations of `FIELDS`, k = 5 of them.

    Attributes
    ----------
    units : k loads of the mesh: frame, body and what they carry
    sprung : (k, 6), what these sum to, N and N mm about the origin
    unsprung : (k, 2, 6), the same of what each axle weighs itself
    sides : (k, 2, 2, 6), the same by axle and side, right first
    """

    units: tuple[Loads, ...]
    on_mounts: tuple[dict[tuple[str, str], Array], ...]
    sprung: Array
    sides: Array

    @property
    def unsprung(self) -> Array:
        """By axle, (k, 2, 6)."""
        return np.asarray(self.sides.sum(axis=2))

    @property
    def whole(self) -> Array:
        """All together, (k, 6)."""
        return np.asarray(self.sprung + self.unsprung.sum(axis=1))

    @property
    def mass(self) -> float:
        """Mass of the vehicle, tonne."""
        return float(self.whole[Z, 2])

    @property
    def centre(self) -> Array:
        """Centre of gravity, (3,), mm."""
        whole = self.whole
        return np.array([-whole[Z, 4], whole[Z, 3], whole[X, 4]]) / self.mass


def inertia(frame: Frame, mesh: Mesh, case: Case, axles: Sequence[Axle], *, laden: bool) -> Inertia:
    """Return what the vehicle's masses do, laden or not.

    An unsprung mass belongs to the axle that it is nearest to; its sides share it by lever.
    """
    counted = [m for m in frame.masses if laden or not m.laden]
    units, on_mounts = [], []
    sides = np.zeros((len(FIELDS), 2, 2, 6))
    for k, field in enumerate(FIELDS):
        gather = Gather(frame, mesh, case)
        gather.own(field)
        for mass in counted:
            force = mass.mass * field(np.asarray(mass.position))
            if mass.carrier == "unsprung":
                _by_sides(sides[k], mass, force, axles)
            else:
                gather.carry(mass, force)
        units.append(gather.finish())
        on_mounts.append(gather.on_mounts)
    sprung = np.array([u.total for u in units])
    return Inertia(tuple(units), tuple(on_mounts), sprung, sides)


def _by_sides(sides: Array, mass: Mass, force: Array, axles: Sequence[Axle]) -> None:
    """Add an unsprung mass's force to (2, 2, 6), as at the two wheels of its axle."""
    x, y, z = mass.position
    k = int(np.argmin([abs(x - a.station) for a in axles]))
    half = axles[k].track / 2.0
    for s, sign in enumerate((1.0, -1.0)):
        part = (0.5 + sign * 0.5 * y / half) * force
        sides[k, s] += [*part, *np.cross([x, sign * half, z], part)]


def hub(frame: Frame, axles: Sequence[Axle], k: int) -> float | None:
    """Return the height of an axle's unsprung masses' centre, mm, None if it has none."""
    mine = [
        m
        for m in frame.masses
        if m.carrier == "unsprung"
        and int(np.argmin([abs(m.position[0] - a.station) for a in axles])) == k
    ]
    whole = sum(m.mass for m in mine)
    return sum(m.mass * m.position[2] for m in mine) / whole if whole > 0.0 else None
