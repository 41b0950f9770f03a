"""A load case as plain data: what holds the frame, what pushes it, what is read off."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from fea.frame.road import Road

Motion = Literal["station", "offset", "height", "roll", "pitch", "yaw", "warping"]
Held = Motion | Literal["clamped"]
Measure = Literal["twist", "bending", "none"]
Which = Literal["each", "mean", "right", "left"]

MOTIONS: tuple[Motion, ...] = ("station", "offset", "height", "roll", "pitch", "yaw", "warping")
"""All motions of a place: movements along the axes, rotations about the same axes (right-handed),
and the rate of twist; in the order of a node's freedoms."""

ROTATIONS: tuple[Motion, ...] = ("roll", "pitch", "yaw")
"""Rotations about the station, the offset and the height axis."""


@dataclass(frozen=True)
class Place:
    """A place on the rails; exactly one of the first five is given.

    `side`: `each` means the right and the left one separately, `mean` the two taken
    together (their average moves, or they share the load equally).
    """

    axle: Literal["front", "rear"] | None = None
    station: float | None = None
    """mm"""
    wheelbase: float | None = None
    """Fraction of the wheelbase behind the front axle."""
    point: str | None = None
    """A named point of a rail or a member."""
    mount: str | None = None
    side: Which = "each"


@dataclass(frozen=True)
class Hold:
    """A motion that is held, or imposed (`value`, mm, of a rotation rad); clamped is all seven."""

    place: Place
    motion: Held
    value: float = 0.0

    @property
    def motions(self) -> tuple[Motion, ...]:
        """The motions that it holds."""
        return MOTIONS if self.motion == "clamped" else (self.motion,)


@dataclass(frozen=True)
class Push:
    """A force (N; x, y, z; per side if `each`) and a couple about x (N mm) at a place.

    A couple acts as equal and opposite vertical forces on the two sides; positive
    lifts the right side.  A moment (N mm; about x, y, z; per side if `each`) turns the
    place itself.  The force acts at the end of a rigid arm (mm; x, y, z) from the place.
    """

    place: Place
    force: tuple[float, float, float] = (0.0, 0.0, 0.0)
    couple: float = 0.0
    moment: tuple[float, float, float] = (0.0, 0.0, 0.0)
    arm: tuple[float, float, float] = (0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Read:
    """A motion that the case reports, by a name of its own."""

    name: str
    place: Place
    motion: Motion


@dataclass(frozen=True)
class Spread:
    """A load per length of rail (N/mm; x, y, z) between two stations (mm), on each side."""

    start: float
    end: float
    force: tuple[float, float, float]
    side: Which = "each"


@dataclass(frozen=True)
class Weight:
    """Weight of the frame itself and, if asked, of the masses it carries."""

    factor: float = 1.0
    masses: bool = False
    laden: bool = False


@dataclass(frozen=True)
class Term:
    """A case that counts `factor` times in a combination."""

    case: "Case"
    factor: float


@dataclass(frozen=True)
class Case:
    """One load case.

    With `road`, what the vehicle's masses and its wheels do is found from its statics; it
    needs no holds then.  With `combine` it is the sum of other cases and nothing else.
    """

    name: str
    title: str
    about: str
    measure: Measure
    holds: tuple[Hold, ...]
    pushes: tuple[Push, ...] = ()
    spreads: tuple[Spread, ...] = ()
    weight: Weight | None = None
    source: str = ""
    reads: tuple[Read, ...] = ()
    road: "Road | None" = None
    combine: tuple[Term, ...] = ()
