"""What a frame file may hold: its tables, their keys, units and ranges.

One class per table; checks that span tables (names, places that must meet) are in
:mod:`fea.frame.build`.  The classes hold base units: mm, N, MPa, tonne, rad.
"""

from typing import Annotated, Any, Literal, Self

from pydantic import Discriminator, Tag, model_validator

from fea.document.entry import Entry, Name, Section, key
from fea.document.origin import Sourced
from fea.document.quantity import (
    Density,
    Distance,
    Length,
    MassAmount,
    PoissonRatio,
    RotationalStiffness,
    Share,
    Size,
    Stiffness,
    Stress,
    refuse,
)
from fea.document.schema_body import BodyEntry, MountEntry, TieEntry
from fea.document.schema_case import CaseDocument
from fea.document.schema_clear import (
    ArchEntry,
    ExhaustEntry,
    GearboxEntry,
    GroundEntry,
    KeepClearEntry,
    ShaftEntry,
)
from fea.document.schema_joint import BraceEndsEntry, EndsEntry, JoinedEntry
from fea.document.schema_walls import BoxingEntry, BulkheadEntry, HoleEntry, WearEntry

Opening = Literal["inboard", "outboard", "right", "left", "front", "rear", "up", "down"]
RailOpening = Literal["inboard", "outboard", "up", "down"]

_OPENS = "Which way an open section faces; closed ones are not turned."
_MATERIAL = "Name of a material; the first one in the file if left out."
_PART_OF_LINE = "Height above the datum plane."


class MaterialEntry(Entry):
    """A metal."""

    E: Stress = key("Modulus of elasticity.")
    nu: PoissonRatio = key("Poisson's ratio.")
    density: Density = key("Density.")
    yield_stress: Stress = key("Yield stress.", alias="yield")
    about: str = key("Where the figures come from.", default="")


class RailPointEntry(Entry):
    """A point of a rail's reference line: on the web's middle plane, at mid-depth."""

    name: Name = key("Name of the point, as on the frame sheet.")
    station: Length = key("Distance rearward.")
    offset: Length = key("Distance from the centreline, right positive.")
    height: Length = key(_PART_OF_LINE)
    section: str | None = key(
        "Section from here to the next point; the one before goes on if left out.", default=None
    )
    material: str | None = key("Material from here on, where it changes.", default=None)
    opens: RailOpening | None = key(
        "Which way the section opens from here on, where it changes.", default=None
    )


class RailEntry(Entry):
    """A long rail, or a pair of them of which the right one is given."""

    name: Name = key("Name of the rail.")
    side: Literal["both", "right", "left", "centre"] = key(
        "both: given for the right, the left is its mirror image; or one rail alone.",
        default="both",
    )
    material: str | None = key(_MATERIAL, default=None)
    opens: RailOpening = key(
        "Which way a channel opens; hats open down unless a point says otherwise.",
        default="inboard",
    )
    points: list[RailPointEntry] = key("Points from front to rear, at least two.", min_length=2)


class SlotsEntry(Entry):
    """Evenly spaced stations that a crossmember can be bolted to."""

    start: Length = key("First station.", alias="from")
    end: Length = key("Last station.", alias="to")
    step: Size = key("Distance from one to the next.")

    @model_validator(mode="after")
    def _forward(self) -> Self:
        if self.end <= self.start or (self.end - self.start) / self.step > 1000:
            raise refuse(
                rule="positions must run rearward", do="make to larger than from, step less"
            )
        return self


Positions = Annotated[
    Annotated[SlotsEntry, Tag("table")] | Annotated[list[Length], Tag("list")],
    Discriminator(lambda value: "table" if isinstance(value, dict | Entry) else "list"),
]
Between = Annotated[
    Annotated[str, Tag("text")] | Annotated[list[str], Tag("list")],
    Discriminator(lambda value: "list" if isinstance(value, list) else "text"),
]


class CrossmemberEntry(JoinedEntry):
    """A straight crossmember from rail to rail at one station."""

    station: Length = key("Station of its reference line.")
    ends: EndsEntry | None = key("The joint of each end, if they differ.", default=None)
    drop: Length = key("How far it hangs below the rails' reference lines.", default=0.0)
    opens: Literal["front", "rear", "up", "down"] | None = key(
        f"{_OPENS} Rear if left out; a hat opens down.", default=None
    )
    between: Between | None = key(
        "The rail it joins, or [left rail, right rail]; the first pair if left out.",
        default=None,
    )
    positions: Positions | None = key(
        "Stations it can be bolted at: a list, or from, to and step.", default=None
    )
    reversible: bool = key("It can be bolted in turned round, front to rear.", default=False)
    reach: Length = key("How far what it carries sits behind its reference line.", default=0.0)
    arch: ArchEntry | None = key(
        "Its middle pressed up: shape only, its stiffness is that of a straight one.", default=None
    )


class PointEntry(Entry):
    """A named point in the open, where braces meet or end."""

    station: Length = key("Distance rearward.")
    offset: Length = key("Distance from the centreline, right positive.")
    height: Length = key(_PART_OF_LINE)


class PathEntry(Entry):
    """A corner of a brace: a named point, or a place on a rail or a crossmember."""

    point: str | None = key("Name of a free point.", default=None)
    rail: str | None = key("Name of a rail; give station and, for a pair, side.", default=None)
    side: Literal["right", "left"] | None = key("Which rail of a pair.", default=None)
    station: Length | None = key("Where on the rail.", default=None)
    crossmember: str | None = key("Name of a crossmember; give offset.", default=None)
    offset: Length | None = key("Where on the crossmember, right positive.", default=None)

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        given = {name for name in type(self).model_fields if getattr(self, name) is not None}
        if given not in (
            {"point"},
            {"rail", "station"},
            {"rail", "station", "side"},
            {"crossmember", "offset"},
        ):
            raise refuse(
                rule="a corner of a brace lies on one point, rail or crossmember",
                do="give point alone, rail with station and side, or crossmember with offset",
            )
        return self


class BraceEntry(JoinedEntry):
    """A member along a path of its own: a leg of an X, a diagonal, an outrigger."""

    path: list[PathEntry] = key("Corners from one end to the other, at least two.", min_length=2)
    ends: BraceEndsEntry | None = key("The joint of each end, if they differ.", default=None)
    opens: Opening | None = key(f"{_OPENS} As drawn if left out.", default=None)


class SeatEntry(Entry):
    """Where a spring or its hanger bears on the rail, given for the right side."""

    station: Length = key("Where on the rail.")
    offset: Distance | None = key("Distance from the centreline, if off the rail.", default=None)
    height: Length | None = key("Height, if off the rail's reference line.", default=None)
    rail: str | None = key("Name of the rail; the first that reaches there.", default=None)
    share: Share | None = key("Share of the wheel's load; equal if left out.", default=None)


class AxleEntry(Entry):
    """An axle: where it is and how it is sprung."""

    station: Length = key("Station of the wheel centres.")
    track: Size = key("Distance between the wheels' middles.")
    spring_rate: Stiffness = key("Spring rate of one side, at the springs.", default=0.0)
    spring_base: Distance = key("Distance between the springs.", default=0.0)
    bar_rate: RotationalStiffness = key("Anti-roll bar.", default=0.0)
    seats: list[SeatEntry] = key("Where the springs bear on each rail.", min_length=1)


class AxlesEntry(Entry):
    """The two axles."""

    front: AxleEntry | None = key("Front axle.", default=None)
    rear: AxleEntry | None = key("Rear axle.", default=None)


class MassEntry(Entry):
    """Something heavy that the frame carries."""

    name: Name = key("What it is.")
    mass: MassAmount = key("Its mass.")
    station: Length | None = key(
        "Station of its centre; halfway between from and to if left out.", default=None
    )
    offset: Length = key("Distance of its centre from the centreline.", default=0.0)
    height: Length = key("Height of its centre.")
    carried: Literal["frame", "mounts", "unsprung"] = key(
        "On the frame itself, through the body mounts, or by the wheels.", default="frame"
    )
    mounts: list[str] = key("Names of the mounts that carry it.", default=[])
    start: Length | None = key("If spread out: where it starts.", default=None, alias="from")
    end: Length | None = key("If spread out: where it ends.", default=None, alias="to")
    laden: bool = key("Counts only when laden: people, payload.", default=False)

    @model_validator(mode="after")
    def _placed(self) -> Self:
        if (self.start is None) != (self.end is None):
            raise refuse(rule="from and to belong together", do="give both, or station alone")
        if self.start is not None and self.end is not None and self.end <= self.start:
            raise refuse(
                rule="a spread mass must end behind its start", do="make to larger than from"
            )
        if self.station is None and self.start is None:
            raise refuse(rule="a mass needs a place", do="give station, or from and to")
        if (self.carried == "mounts") != bool(self.mounts):
            raise refuse(
                rule='mounts goes with carried = "mounts"', do="name the mounts that carry the mass"
            )
        return self


class PartEntry(Entry):
    """An added piece, or several that go together: fitted or left off as one."""

    name: Name = key("Name of the part, for switching it.")
    about: str = key("What it is and why.", default="")
    fitted: bool = key("Whether it is on the frame unless switched.", default=True)
    replaces: list[str] = key("Stock crossmembers, braces or mounts it stands for.", default=[])
    crossmember: list[CrossmemberEntry] = key("Crossmembers of the part.", default=[])
    boxing: list[BoxingEntry] = key("Boxing plates of the part.", default=[])
    bulkhead: list[BulkheadEntry] = key("Bulkheads of the part.", default=[])
    brace: list[BraceEntry] = key("Braces of the part.", default=[])
    mount: list[MountEntry] = key("Body mounts of the part.", default=[])
    tie: list[TieEntry] = key("Ties between frame and body that come with the part.", default=[])
    mass: list[MassEntry] = key("Masses that come with the part.", default=[])


class FrameDocument(Sourced):
    """A frame: rails, crossmembers, what holds and loads it, and the parts to choose from."""

    title: str = key("Title of the frame, one line.")
    about: str = key("What the frame is.", default="")
    notes: list[str] = key("Remarks that go into reports.", default=[])
    material: dict[str, MaterialEntry] = key("Metals by name.", min_length=1)
    section: dict[str, Section] = key("Sections by name.", min_length=1)
    rail: list[RailEntry] = key("The long rails.", min_length=1)
    crossmember: list[CrossmemberEntry] = key("Stock crossmembers.", default=[])
    point: dict[str, PointEntry] = key("Free points by name.", default={})
    brace: list[BraceEntry] = key("Stock braces.", default=[])
    boxing: list[BoxingEntry] = key("Boxing plates that always belong to it.", default=[])
    bulkhead: list[BulkheadEntry] = key("Bulkheads that always belong to it.", default=[])
    wear: list[WearEntry] = key("Walls worn by rust or grinding.", default=[])
    hole: list[HoleEntry] = key("Holes in rails that count.", default=[])
    axle: AxlesEntry = key("The axles.", default=AxlesEntry())
    mount: list[MountEntry] = key("Body mounts.", default=[])
    body: list[BodyEntry] = key("Bodies, to choose from by their kind.", default=[])
    tie: list[TieEntry] = key("Ties between frame and body.", default=[])
    mass: list[MassEntry] = key("Masses.", default=[])
    shaft: list[ShaftEntry] = key("Shafts that turn beside the frame.", default=[])
    exhaust: list[ExhaustEntry] = key("Exhaust pipes.", default=[])
    keep_clear: list[KeepClearEntry] = key("Boxes and cylinders to stay clear of.", default=[])
    ground: GroundEntry | None = key("Height asked for above the ground.", default=None)
    gearbox: GearboxEntry | None = key("The gearbox mount and what carries it.", default=None)
    part: list[PartEntry] = key("Parts that can be fitted or left off.", default=[])


def frame_json_schema() -> dict[str, Any]:
    """Return the JSON schema of a frame file, with a description of every key."""
    return _plain(FrameDocument.model_json_schema())


def case_json_schema() -> dict[str, Any]:
    """Return the JSON schema of a load case file, with a description of every key."""
    return _plain(CaseDocument.model_json_schema())


def _plain(schema: dict[str, Any]) -> dict[str, Any]:
    """Leave out defaults in base units, where the file holds text with a unit."""
    for table in (schema, *schema["$defs"].values()):
        for entry in table["properties"].values():
            kinds = [entry, *entry.get("anyOf", ())]
            if any(kind.get("type") == "string" for kind in kinds) and not isinstance(
                entry.get("default", ""), str
            ):
                del entry["default"]
    return schema
