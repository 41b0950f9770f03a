"""A load case as plain data: what holds the frame, what pushes it, what is read off."""

from dataclasses import dataclass
from typing import Literal

Motion = Literal["station", "offset", "height"]
Measure = Literal["twist", "bending", "none"]
Which = Literal["each", "mean", "right", "left"]


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
    """A motion that is held, or imposed (`value`, mm)."""

    place: Place
    motion: Motion
    value: float = 0.0


@dataclass(frozen=True)
class Push:
    """A force (N; x, y, z; per side if `each`) and a couple about x (N mm) at a place.

    A couple acts as equal and opposite vertical forces on the two sides; positive
    lifts the right side.
    """

    place: Place
    force: tuple[float, float, float] = (0.0, 0.0, 0.0)
    couple: float = 0.0


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
class Case:
    """One load case."""

    name: str
    title: str
    about: str
    measure: Measure
    holds: tuple[Hold, ...]
    pushes: tuple[Push, ...] = ()
    spreads: tuple[Spread, ...] = ()
    weight: Weight | None = None
    source: str = ""
