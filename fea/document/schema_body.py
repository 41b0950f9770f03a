"""The body on the frame: its grillage and panels, the mounts it stands on, ties to it."""

from typing import Annotated, Literal, Self

from pydantic import Discriminator, Field, Tag, model_validator

from fea.document.entry import Entry, Name, key
from fea.document.quantity import (
    BracketStiffness,
    Distance,
    FirmRotationalStiffness,
    FirmStiffness,
    Length,
    RotationalStiffness,
    Size,
    Stiffness,
    Thickness,
    Torque,
    refuse,
)
from fea.document.schema_joint import BoltSize, Count

Grade = Literal[
    "rubber 50",
    "rubber 60",
    "rubber 70",
    "urethane 80",
    "urethane 90",
    "soft rubber",
    "rubber",
    "urethane",
    "hard urethane",
    "solid",
]
Four = Annotated[list[str], Field(min_length=4, max_length=4)]
Two = Annotated[list[str], Field(min_length=2, max_length=2)]

_KIND = "Only with these kinds of the body; with all of them if left out."


class WasherEntry(Entry):
    """A washer that spreads a mount's clamping over the sheet."""

    diameter: Size = key("Outer diameter.")
    wall: Thickness = key("Thickness.")


class MountEntry(Entry):
    """A body mount and what it carries."""

    name: Name = key("Name of the mount.")
    about: str = key("What it is.", default="")
    station: Length = key("Distance rearward.")
    offset: Length = key("Distance from the centreline; with side both, of the right one.")
    height: Length = key("Height above the datum plane.")
    side: Literal["both", "right", "left", "centre"] = key(
        "both: a pair, given for the right; or one alone.", default="both"
    )
    grade: Grade | None = key(
        "A ready grade; vertical and lateral may then be left out.", default=None
    )
    vertical: Stiffness | None = key(
        "Stiffness up and down; the grade's if left out.", default=None
    )
    lateral: Stiffness | None = key("Stiffness sideways; the grade's if left out.", default=None)
    longitudinal: Stiffness | None = key("Stiffness rearward; lateral if left out.", default=None)
    turn: RotationalStiffness = key(
        "Stiffness about each axis; none if left out, as a pad that tilts freely.", default=0.0
    )
    state: Literal["good", "worn", "torn", "missing", "rusted out"] = key(
        "How it was found: worn has half its stiffness; torn, missing or rusted out has none.",
        default="good",
    )
    bracket: BracketStiffness | None = key(
        "Upright stiffness of the bracket on the frame; rigid if left out.", default=None
    )
    wall: Thickness | None = key("Thickness of the sheet that it is clamped to.", default=None)
    hole: Size | None = key("Diameter of the hole in that sheet.", default=None)
    washer: WasherEntry | None = key("The washer on that sheet.", default=None)
    bolt: BoltSize | None = key("Nominal diameter of its bolt.", default=None)
    torque: Torque | None = key("Tightening torque of the bolt.", default=None)
    carries: str = key("What stands on it.", default="")
    rail: str | None = key("Rail it stands on; the nearest if left out.", default=None)
    crossmember: str | None = key("Crossmember it stands on, instead of a rail.", default=None)

    @model_validator(mode="after")
    def _stiff(self) -> Self:
        missing = [n for n in ("vertical", "lateral") if getattr(self, n) is None]
        if missing and self.grade is None:
            raise refuse(
                rule="a mount needs its stiffness, up and down and sideways",
                do=f"add {' and '.join(missing)}, or a grade",
            )
        if self.bolt and self.hole and self.hole < self.bolt:
            raise refuse(rule="a mount's bolt must go through its hole", do="make hole larger")
        inner = max(self.bolt or 0.0, self.hole or 0.0)
        if self.washer and self.washer.diameter <= inner:
            raise refuse(
                rule="a mount's washer must be larger than bolt and hole",
                do="give the washer's outer diameter",
            )
        return self


class BodyPointEntry(Entry):
    """A point of a body, given for the right side."""

    station: Length = key("Distance rearward.")
    offset: Distance = key("Distance from the centreline; 0 is on it, else there is a left one.")
    height: Length = key("Height above the datum plane.")


class BodyBeamEntry(Entry):
    """A sill, a brace, a pillar: on both sides along a path, or across from side to side."""

    name: Name = key("Name of the beam.")
    section: str = key("Name of its section.")
    path: list[str] | None = key(
        "Points of the body along it; both sides have one.", default=None, min_length=2
    )
    across: str | None = key(
        "The point on the right that it starts from, straight to the one on the left.", default=None
    )
    floor: bool = key("A floor brace that a tie can be bolted to.", default=False)
    kind: list[Name] | None = key(_KIND, default=None, min_length=1)

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if (self.path is None) == (self.across is None):
            raise refuse(
                rule="a beam of a body runs along a path or across", do="give path or across"
            )
        return self


class BodyPanelEntry(Entry):
    """A sheet that carries shear: on both sides between corners, or across."""

    name: Name = key("Name of the panel.")
    wall: Thickness = key("Thickness of the sheet.")
    corners: Four | None = key(
        "Four points of the body, in order round it; both sides have one.", default=None
    )
    across: Two | None = key(
        "Two points on the right, each with the one on the left: a floor, a roof, a firewall.",
        default=None,
    )
    kind: list[Name] | None = key(_KIND, default=None, min_length=1)

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if (self.corners is None) == (self.across is None):
            raise refuse(
                rule="a panel of a body has four corners or lies across",
                do="give corners or across",
            )
        return self


class TwistEntry(Entry):
    """How stiff the body alone is in twist, on its own mounts."""

    stiffness: FirmRotationalStiffness = key("Moment per angle between the two pairs of mounts.")
    between: Two = key("Names of two pairs of mounts, front first.")
    kind: list[Name] | None = key(_KIND, default=None, min_length=1)


class BendingEntry(Entry):
    """How stiff the body alone is in bending, on its own mounts."""

    stiffness: FirmStiffness = key("Force per sag, half of the force on each side.")
    between: Two = key("Names of two pairs of mounts, front first.")
    at: str = key("The body's point that is pushed down, on both sides.")
    kind: list[Name] | None = key(_KIND, default=None, min_length=1)


Twist = Annotated[
    Annotated[TwistEntry, Tag("table")] | Annotated[list[TwistEntry], Tag("list")],
    Discriminator(lambda value: "list" if isinstance(value, list) else "table"),
]
Bending = Annotated[
    Annotated[BendingEntry, Tag("table")] | Annotated[list[BendingEntry], Tag("list")],
    Discriminator(lambda value: "list" if isinstance(value, list) else "table"),
]


class BodyEntry(Entry):
    """A body, or one of several that stand on the frame: a cab, a load bed."""

    name: Name = key("Name of the body.")
    about: str = key("What it is.", default="")
    kind: list[Name] = key(
        'Words for the choice of a body that it belongs to, such as ["open", "closed"].',
        min_length=1,
    )
    material: str | None = key(
        "Name of a material; the first one in the file if left out.", default=None
    )
    point: dict[str, BodyPointEntry] = key("Points of the body by name.", min_length=1)
    beam: list[BodyBeamEntry] = key("Beams of the body.", min_length=1)
    panel: list[BodyPanelEntry] = key("Panels of the body.", default=[])
    mounts: dict[str, str] = key(
        "Mounts it stands on: the mount's name, and the body's point above it.", min_length=1
    )
    twist: Twist | None = key(
        "Its stiffness alone in twist, which its parts are scaled to; "
        "a list if it differs between kinds.",
        default=None,
    )
    bending: Bending | None = key(
        "Its stiffness alone in bending, which its parts are scaled to; "
        "a list if it differs between kinds.",
        default=None,
    )


class BracketEntry(Entry):
    """A flat bracket, bolted at both ends."""

    length: Size | None = key(
        "Length between its bolts; the distance of its two points if left out.", default=None
    )
    width: Size = key("Width.")
    wall: Thickness = key("Thickness.")
    bolts: Count = key("How many bolts hold each end.", default=1)
    bolt: BoltSize = key("Nominal diameter of these bolts.")
    ends: Literal["clamped", "pinned"] = key(
        "clamped: its ends do not turn on their bolts; or pinned.", default="clamped"
    )
    ends_stiffness: FirmStiffness = key(
        "What the metal round both ends gives together, each way.", default=5000.0
    )


class TieStiffnessEntry(Entry):
    """The stiffness of a tie along the vehicle's axes."""

    station: Stiffness = key("Stiffness along the vehicle.")
    offset: Stiffness = key("Stiffness sideways.")
    height: Stiffness = key("Stiffness up and down.")


TieStiffness = Annotated[
    Annotated[TieStiffnessEntry, Tag("table")] | Annotated[Stiffness, Tag("text")],
    Discriminator(lambda value: "table" if isinstance(value, dict | Entry) else "text"),
]


class TieEntry(Entry):
    """A link between a member of the frame and a floor brace of a body."""

    name: Name = key("Name of the tie.")
    about: str = key("What it is.", default="")
    rail: str | None = key("Name of the rail it starts from; give station.", default=None)
    crossmember: str | None = key(
        "Name of the crossmember it starts from, instead of a rail; give offset.", default=None
    )
    side: Literal["both", "right", "left"] = key(
        "both: a pair, given for the right; or one alone, its offsets given without a sign.",
        default="both",
    )
    station: Length | None = key(
        "Station of its end on the frame; the crossmember's if left out.", default=None
    )
    offset: Distance | None = key(
        "Distance of that end from the centreline, if off the rail's line.", default=None
    )
    height: Length | None = key("Height of that end, if off the member's line.", default=None)
    brace: str = key("Name of the body's floor brace it is bolted to.")
    body_offset: Distance | None = key(
        "Where on the brace; the point nearest to the frame's end if left out.", default=None
    )
    bracket: BracketEntry | None = key("The flat bracket it is made of.", default=None)
    stiffness: TieStiffness | None = key(
        "Its stiffness instead: the same each way, or along station, offset and height.",
        default=None,
    )
    fitted: bool = key("Whether it is there; one of a part comes with the part.", default=True)

    @model_validator(mode="after")
    def _placed(self) -> Self:
        if (self.rail is None) == (self.crossmember is None):
            raise refuse(
                rule="a tie starts from one rail or crossmember", do="give rail or crossmember"
            )
        if self.rail is not None and self.station is None:
            raise refuse(rule="a tie on a rail needs its station", do="add station")
        if self.crossmember is not None and not self.offset:
            raise refuse(
                rule="a tie on a crossmember needs its offset", do="add offset, greater than 0 mm"
            )
        if (self.bracket is None) == (self.stiffness is None):
            raise refuse(
                rule="a tie is a bracket or has a stiffness", do="give bracket or stiffness"
            )
        return self
