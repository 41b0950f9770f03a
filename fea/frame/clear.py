"""What must stay clear of the frame's metal, as plain data in mm.

Nothing here bears on stiffness: an arch is the shape of a crossmember alone.
"""

from dataclasses import dataclass

Spot = tuple[float, float, float]
"""Station, offset, height, mm."""


@dataclass(frozen=True)
class Arch:
    """A crossmember's middle raised by `height` over `width`, its sides at 45 degrees."""

    member: str
    height: float
    width: float


@dataclass(frozen=True)
class Shaft:
    """A shaft from `front` to `rear`, which rises by `bump` and falls by `droop`."""

    name: str
    diameter: float
    margin: float
    front: Spot
    rear: Spot
    bump: float = 0.0
    droop: float = 0.0


@dataclass(frozen=True)
class Exhaust:
    """A pipe along a polyline; one of a mirrored pair is called right or left by its start."""

    name: str
    diameter: float
    clearance: float
    points: tuple[Spot, ...]


@dataclass(frozen=True)
class Ground:
    """The free height asked for when laden, and how far each axle sinks and still may."""

    clearance: float
    drop: tuple[float, float] = (0.0, 0.0)
    jounce: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True)
class KeepClear:
    """A box between two corners (no diameter), or a cylinder between the middles of its ends."""

    name: str
    clearance: float
    start: Spot
    end: Spot
    diameter: float | None = None
    near: tuple[str, ...] = ()


@dataclass(frozen=True)
class Gearbox:
    """The middle of the gearbox mount's lower face, and where along the car it may sit."""

    crossmember: str
    mount: Spot
    stations: tuple[float, float]


@dataclass(frozen=True)
class Packaging:
    """All of a document that must stay clear, and the crossmembers that are arched."""

    shafts: tuple[Shaft, ...] = ()
    exhausts: tuple[Exhaust, ...] = ()
    keep_clear: tuple[KeepClear, ...] = ()
    ground: Ground | None = None
    gearbox: Gearbox | None = None
    arches: tuple[Arch, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to stay clear of."""
        return not (self.shafts or self.exhausts or self.keep_clear or self.ground)

    def arch(self, member: str) -> Arch | None:
        """Return the arch of a crossmember, None if it is straight."""
        return next((a for a in self.arches if a.member == member), None)


NOTHING = Packaging()
"""A document that tells of nothing."""
