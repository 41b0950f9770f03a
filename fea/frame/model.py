"""The frame as plain data, in base units (mm, N, MPa, tonne), names resolved.

Made by :mod:`fea.frame.build` from a validated document for one choice of fitted
parts; read by everything above.  Vehicle axes: x rearward (station), y right
(offset), z up (height).  A left-hand member is the mirror image of the right-hand
one, its section mirrored too.
"""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from fea.frame.clear import NOTHING, Packaging
from fea.section.midline import Midline

if TYPE_CHECKING:
    from fea.frame.body import Body, Tie

Array = NDArray[np.float64]
Side = Literal["right", "left", "centre"]
MemberKind = Literal["rail", "crossmember", "brace"]
JointKind = Literal["web", "web_and_flanges", "through", "rigid", "bolted"]
Carrier = Literal["frame", "mounts", "unsprung"]


@dataclass(frozen=True)
class Material:
    """An isotropic metal: MPa, tonne/mm3."""

    name: str
    E: float
    nu: float
    density: float
    yield_stress: float

    @property
    def G(self) -> float:  # noqa: N802  # the symbol of every source
        """Shear modulus, MPa."""
        return self.E / (2.0 * (1.0 + self.nu))


@dataclass(frozen=True, eq=False)
class Section:
    """A named section as it stands in one member (turned and mirrored already).

    `depth` is the outer height and `width` the outer width in the member's own z
    and y, mm; `is_open` says that the metal encloses no cell.
    """

    name: str
    midline: Midline
    depth: float
    width: float
    is_open: bool
    nominal: "Section | None" = None
    """The section new: without wear and holes, its seams welded all along; None if it is."""


@dataclass(frozen=True, eq=False)
class Run:
    """A length of a member with one section, from `start` to `end` along its path, mm."""

    start: float
    end: float
    section: Section
    material: Material
    part: str | None = None
    """The part that made this run what it is (a boxing plate), None if stock."""
    weakest_yield: float = 0.0
    """The lower yield of the metals in this run, MPa."""


@dataclass(frozen=True, eq=False)
class Member:
    """A rail, a crossmember or a brace.

    `path` holds the corners of its reference line, shape (n, 3), mm; `runs` cover
    its length without gap.  `up` is the direction, shape (3,), that the section's z
    axis leans to.  A member's local x runs along the path.
    """

    name: str
    kind: MemberKind
    side: Side
    path: Array
    point_names: tuple[str, ...]
    runs: tuple[Run, ...]
    up: Array
    part: str | None = None


@dataclass(frozen=True)
class Bolts:
    """The bolts of one bracket: how many, nominal diameter, spacing, the bracket's wall, mm.

    One, two or three stand in a row along the member that is bolted to; four and more, an
    even number, in two columns along it.
    """

    count: int
    diameter: float
    spacing: float
    wall: float


@dataclass(frozen=True)
class Gusset:
    """Triangular plates in a corner between two members, in the plane of their flanges, mm."""

    legs: float
    wall: float
    at: Literal["top", "bottom", "both"]


@dataclass(frozen=True)
class Joint:
    """How one end of `member` is held by the member `onto`.

    `distance` is the place on the path of `onto`, mm from its start.  The end of
    `member`'s path need not lie on the path of `onto`: the metal between is rigid
    unless `stiffness` says otherwise.

    `stiffness`, for a bolted bracket or a joint entered freely: along the vehicle's
    x, y, z (N/mm), about x, y, z (N mm/rad); infinite means rigid, zero means free.
    `warping` goes with it: between the warpings of the two members, N mm3, free if None.
    `bolts` say how a bolted joint is made; without `stiffness`, its stiffness follows from
    them.  `gusset` is welded into the corners beside a welded end.
    """

    member: str
    end: Literal["start", "end"]
    onto: str
    distance: float
    kind: JointKind
    stiffness: tuple[float, float, float, float, float, float] | None = None
    warping: float | None = None
    bolts: Bolts | None = None
    gusset: Gusset | None = None


@dataclass(frozen=True)
class Meeting:
    """A point where members pass through each other's path and are welded as one."""

    name: str
    position: tuple[float, float, float]
    members: tuple[tuple[str, float], ...]
    """Member names with the distance along each one's path, mm."""


MountState = Literal["good", "worn", "torn", "missing", "rusted out"]


@dataclass(frozen=True, eq=False)
class Bulkhead:
    """A plate across a member at `distance` along its path, mm.

    `corners`, (4, 2), mm: in the member's section, round the plate.
    """

    member: str
    distance: float
    corners: Array
    wall: float
    material: Material
    part: str | None = None


@dataclass(frozen=True)
class Fastening:
    """What a mount is clamped to and with, mm and N mm; None where it is not told.

    `wall` and `hole` are of the sheet it bears on, `bolt` the nominal diameter.
    """

    wall: float | None = None
    hole: float | None = None
    washer_diameter: float | None = None
    washer_wall: float | None = None
    bolt: float | None = None
    torque: float | None = None


@dataclass(frozen=True)
class Mount:
    """A body mount: a spring between the frame at `onto`, `distance` and the body.

    Stiffness along x, y, z in N/mm, and about them in N mm/rad; `bracket` is the frame-side
    bracket's vertical stiffness, N/mm (infinite if stiff).  A mount that is missing, torn or
    rusted out holds nothing, a worn one half.
    """

    name: str
    side: Side
    position: tuple[float, float, float]
    onto: str
    distance: float
    stiffness: tuple[float, float, float]
    bracket: float
    carries: str = ""
    turn: tuple[float, float, float] = (0.0, 0.0, 0.0)
    state: MountState = "good"
    grade: str | None = None
    """The ready grade its stiffness is from, None if it is its own."""
    fastening: Fastening = Fastening()


@dataclass(frozen=True)
class Seat:
    """Where a spring or hanger bears on a rail; `share` of that side's wheel load."""

    side: Side
    position: tuple[float, float, float]
    onto: str
    distance: float
    share: float


@dataclass(frozen=True)
class Axle:
    """A pair of wheels: station and track in mm, spring rate N/mm per side."""

    name: Literal["front", "rear"]
    station: float
    track: float
    seats: tuple[Seat, ...]
    spring_rate: float = 0.0
    spring_base: float = 0.0
    bar_rate: float = 0.0
    """Anti-roll bar, N mm/rad."""


@dataclass(frozen=True)
class Mass:
    """A lump (tonne) at `position`, or spread evenly over the stations `spread`."""

    name: str
    mass: float
    position: tuple[float, float, float]
    carrier: Carrier
    mounts: tuple[str, ...] = ()
    spread: tuple[float, float] | None = None
    laden: bool = False
    """Counts only in the laden state (people, payload)."""


@dataclass(frozen=True)
class Part:
    """An added piece that can be fitted or left off."""

    name: str
    about: str
    fitted: bool


@dataclass(frozen=True, eq=False)
class Frame:
    """A whole frame with a given choice of parts."""

    name: str
    title: str
    source: str
    """Where the document came from, for messages and reports."""
    members: tuple[Member, ...]
    joints: tuple[Joint, ...]
    meetings: tuple[Meeting, ...] = ()
    mounts: tuple[Mount, ...] = ()
    masses: tuple[Mass, ...] = ()
    axles: tuple[Axle, ...] = ()
    parts: tuple[Part, ...] = ()
    notes: tuple[str, ...] = field(default=())
    bulkheads: tuple[Bulkhead, ...] = ()
    bodies: "tuple[Body, ...]" = ()
    """The bodies on it, none unless a kind of body was chosen."""
    ties: "tuple[Tie, ...]" = ()
    """The document's ties to these bodies, fitted or not."""
    packaging: Packaging = NOTHING
    """What must stay clear of its metal."""

    def member(self, name: str) -> Member:
        """Return the member called `name`; KeyError if there is none."""
        for member in self.members:
            if member.name == name:
                return member
        raise KeyError(name)

    def axle(self, name: str) -> Axle | None:
        """Return the axle called `name`, or None."""
        for axle in self.axles:
            if axle.name == name:
                return axle
        return None

    @property
    def fitted(self) -> tuple[str, ...]:
        """Names of the parts that are fitted."""
        return tuple(p.name for p in self.parts if p.fitted)
