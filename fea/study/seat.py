"""Where a mount bears on thin sheet: how it gives, pressure, punching; with a washer, without.

References
----------
.. [1] R. von Mises, Mechanik der festen Koerper im plastisch-deformablen Zustand, 1913: metal
   yields in shear at 1/sqrt(3) = 0.58 of its yield stress.
"""

import math
from dataclasses import dataclass

from fea.element.wall_seat import ring_stiffness
from fea.errors import Complaint, ModelError
from fea.frame.model import Mount
from fea.frame.mounts import HELD
from fea.study.bolt import HEAD, preload

PRESSURE = (0.3, 0.5)
"""Pressure under a washer that sheet bears for long, over its yield stress: from the first
on it counts as high, from the second as too high (common practice, no source)."""

SHEAR_YIELD = 0.58


@dataclass(frozen=True)
class Bearing:
    """What bears on the sheet, a washer or the bare head of the bolt.

    Attributes
    ----------
    diameter : mm, of what bears
    stiffness : N/mm, of the sheet round it
    pressure : MPa, preload and load over the ring between hole and edge
    low, high : the same over what sheet bears for long, with the higher and the lower limit
    punching : N, at which the sheet shears through all round; punched : preload and load over it
    """

    diameter: float
    stiffness: float
    pressure: float
    low: float
    high: float
    punching: float
    punched: float


@dataclass(frozen=True)
class SeatLoad:
    """The seat of a mount under a load, with its washer (None if it has none) and without.

    `preload`, N, is 0 where no torque is told.
    """

    preload: float
    load: float
    washer: Bearing | None
    bare: Bearing


def seat_load(
    mount: Mount, load: float, *, yield_stress: float = 240.0, held: float = HELD
) -> SeatLoad:
    """Return what the sheet under a mount bears.

    Preload and load are taken to act on the sheet together, although between two pads of
    equal size the preload only squeezes it: on the safe side.

    Parameters
    ----------
    load : N, upright, of either sign
    yield_stress : MPa, of the sheet
    held : mm, radius at which the sheet counts as clamped

    Raises
    ------
    ModelError
        If the mount's wall or bolt is not told.
    """
    given = mount.fastening
    if given.wall is None or given.bolt is None:
        missing = [n for n in ("wall", "bolt") if getattr(given, n) is None]
        raise ModelError(
            Complaint(
                "the seat of a mount needs the thickness of its sheet and the size of its bolt",
                where=f"mount {mount.name}, {mount.side}",
                do=f"add {' and '.join(missing)}",
            )
        )
    hole = max(given.hole or 0.0, given.bolt)
    tight = preload(given.torque, given.bolt) if given.torque else 0.0
    force = tight + abs(load)
    # A loose hole lets the bare head through: it then bears nothing, and says so.
    bare = _bearing((given.wall, hole, HEAD * given.bolt), force, yield_stress, held)
    washer = None
    if given.washer_diameter is not None:
        washer = _bearing((given.wall, hole, given.washer_diameter), force, yield_stress, held)
    return SeatLoad(tight, load, washer, bare)


def _bearing(
    sizes: tuple[float, float, float], force: float, yield_stress: float, held: float
) -> Bearing:
    """Return how a ring of the last of the sizes bears: wall, hole, diameter; mm."""
    wall, hole, diameter = sizes
    area = math.pi / 4.0 * (diameter**2 - hole**2)
    pressure = force / area if area > 0.0 else math.inf
    punching = math.pi * diameter * wall * SHEAR_YIELD * yield_stress if area > 0.0 else 0.0
    long, most = (share * yield_stress for share in PRESSURE)
    return Bearing(
        diameter=diameter,
        stiffness=ring_stiffness(wall, hole, diameter, held),
        pressure=pressure,
        low=pressure / most,
        high=pressure / long,
        punching=punching,
        punched=force / punching if punching > 0.0 else math.inf,
    )
