"""What the road does to a vehicle, as plain data, and the wheel loads that it leads to.

The vehicle is loaded from the masses of its document; the wheels bear what keeps it in
equilibrium.  Multiples of standard gravity are written g.
"""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fea.frame.case import Place

Array = NDArray[np.float64]

AxleName = Literal["front", "rear"]
Wheel = Literal["front right", "front left", "rear right", "rear left"]
WHEELS: tuple[Wheel, ...] = ("front right", "front left", "rear right", "rear left")
Struck = Wheel | Literal["right", "left", "front", "rear"]
"""One wheel, or the two of a side or of an axle."""

TYRE_RATE = 200.0
"""Vertical rate of a tyre where none is told, N/mm: common practice for a light vehicle."""


@dataclass(frozen=True)
class Bump:
    """One wheel on a bump of a height, mm; the frame's twist (N mm/rad) is measured if None."""

    wheel: Wheel
    height: float
    tyre_rate: float = TYRE_RATE
    frame_twist: float | None = None


@dataclass(frozen=True)
class Kerb:
    """A kerb beside the wheels: a force, N, or a share of the force that would overturn."""

    wheel: Struck
    force: float | None = None
    share: float = 1.0


@dataclass(frozen=True)
class Step:
    """A step in front of rolling wheels, mm: `factor` times the static push rearward.

    `radius` is the wheel's; the height of its axle's unsprung mass if None.
    """

    wheel: Struck
    height: float
    factor: float
    radius: float | None = None


@dataclass(frozen=True)
class Tow:
    """A pull at one end: N, or a share of the vehicle's weight; angles up and to the right, rad.

    It is met by the inertia of the masses, or by the wheels.
    """

    end: AxleName
    place: Place
    force: float | None = None
    share: float = 0.0
    up: float = 0.0
    side: float = 0.0
    against: Literal["inertia", "wheels"] = "inertia"


@dataclass(frozen=True)
class Jack:
    """A corner lifted at a station of its rail, mm, until its wheel hangs free."""

    corner: Wheel
    station: float

    @property
    def place(self) -> Place:
        """Where the jack stands."""
        return Place(
            station=self.station, side="right" if self.corner.endswith("right") else "left"
        )


@dataclass(frozen=True)
class Torque:
    """The engine's reaction, N mm about the long axis, as a couple on the rails.

    At the stations of a mass that the frame carries, or at a station, mm.  The propeller
    shaft takes it to the axle `driven`.
    """

    moment: float
    mass: str | None = None
    station: float | None = None
    driven: AxleName = "rear"


@dataclass(frozen=True)
class Road:
    """A vehicle on the road.

    `vertical`, `braking` (forward deceleration positive) and `cornering` (positive turns
    left and loads the right wheels) in g.  `lifted` names a wheel that bears nothing.
    `roll_centre`: heights of the front and the rear one, mm.  `sources` say where factors
    come from.
    """

    laden: bool = True
    vertical: float = 1.0
    braking: float = 0.0
    cornering: float = 0.0
    brake_share_front: float | None = None
    roll_centre: tuple[float, float] = (0.0, 0.0)
    lifted: Wheel | None = None
    bump: Bump | None = None
    kerb: Kerb | None = None
    step: Step | None = None
    tow: Tow | None = None
    jack: Jack | None = None
    torque: Torque | None = None
    sources: tuple[tuple[str, str], ...] = ()

    @property
    def places(self) -> list[Place]:
        """Where it takes hold of the frame, beside its axles and masses."""
        found = [self.tow.place] if self.tow else []
        if self.jack:
            found.append(self.jack.place)
        if self.torque and self.torque.station is not None:
            found.append(Place(station=self.torque.station))
        return found

    @property
    def wheel_items(self) -> list[str]:
        """What it does at the wheels, which supports of a case's own cannot bear."""
        named = {
            "a lifted wheel": self.lifted,
            "a bump": self.bump,
            "a kerb": self.kerb,
            "a step": self.step,
            "a jack": self.jack,
        }
        return [name for name, item in named.items() if item is not None]


@dataclass(frozen=True, eq=False)
class OnTheRoad:
    """How a vehicle stands under a road case.

    Attributes
    ----------
    wheels : what the road does to each wheel, N along x, y, z; empty where supports bear
    mass : tonne, with what it carries; centre : (3,), mm
    on_mounts : (mount, side) -> what masses do to it, N along x, y, z
    weights : how often standard gravity counts
    jack, couple : N of the jack; N mm of a bump's couple
    imbalance : what all loads together leave over, of the weight (moments at the wheelbase)
    notes : sentences on how the loads came about
    """

    wheels: dict[Wheel, Array]
    mass: float
    centre: Array
    on_mounts: dict[tuple[str, str], Array]
    weights: float
    jack: float | None = None
    couple: float | None = None
    imbalance: float = 0.0
    notes: tuple[str, ...] = field(default=())
