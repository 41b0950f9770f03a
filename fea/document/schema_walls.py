"""What the workshop and age do to a rail: boxing plates, bulkheads, wear, holes."""

from typing import Annotated, Literal, Self

from pydantic import Discriminator, Tag, model_validator

from fea.document.entry import Entry, key
from fea.document.quantity import Length, Size, Thickness, WallLeft, WallLoss, refuse

Sides = Literal["both", "right", "left"]
Walls = Annotated[
    Annotated[str, Tag("text")] | Annotated[list[str], Tag("list")],
    Discriminator(lambda value: "list" if isinstance(value, list) else "text"),
]


class StitchEntry(Entry):
    """Welds of one length at an even pitch."""

    weld: Size = key("Length of each weld.")
    pitch: Size = key("From the start of one weld to the start of the next.")

    @model_validator(mode="after")
    def _gaps(self) -> Self:
        if self.weld > self.pitch:
            raise refuse(
                rule="the welds of a stitched seam must not overlap",
                do="make pitch larger than weld, or leave stitch out for a continuous seam",
            )
        return self


class BoxingEntry(Entry):
    """A plate that closes a channel rail between its flange tips over a length."""

    rail: str = key("Name of the rail.")
    side: Sides | None = key("Which rails; all of that name if left out.", default=None)
    start: Length = key("Station where the plate starts.", alias="from")
    end: Length = key("Station where the plate ends.", alias="to")
    plate: Thickness = key("Thickness of the plate.")
    material: str | None = key("Material of the plate; the rail's if left out.", default=None)
    stitch: StitchEntry | None = key(
        "Welds with gaps between, along both edges; welded all along if left out.", default=None
    )


class BulkheadEntry(Entry):
    """Plates across the inside of a rail, welded to web and flanges, that keep its shape."""

    rail: str = key("Name of the rail.")
    side: Sides | None = key("Which rails; all of that name if left out.", default=None)
    at: list[Length] = key("Stations, one plate at each.", min_length=1)
    plate: Thickness = key("Thickness of the plates.")
    material: str | None = key("Material of the plates; the rail's if left out.", default=None)


class WearEntry(Entry):
    """Metal lost to rust or grinding, over a length of a rail or in a whole other member."""

    about: str = key("What was found there.", default="")
    rail: str | None = key("Name of a rail.", default=None)
    member: str | None = key("Name of a crossmember or brace, worn all along.", default=None)
    side: Sides | None = key("Which rails; all of that name if left out.", default=None)
    start: Length | None = key(
        "Station where it starts; the rail's front end if left out.", default=None, alias="from"
    )
    end: Length | None = key(
        "Station where it ends; the rail's rear end if left out.", default=None, alias="to"
    )
    wall: Walls | None = key(
        'Names of the worn walls, such as "web" or ["web", "top flange"], as the section stands '
        "(a pair of rails: the right one); every wall but a boxing plate if left out.",
        default=None,
    )
    loss: WallLoss | None = key(
        "Thickness lost, or per cent of each wall; it may be a range.", default=None
    )
    left: WallLeft | None = key(
        "Thickness left, as measured; instead of loss; it may be a range.", default=None
    )
    applied: bool = key("Whether it counts; false keeps the entry for later.", default=True)

    @model_validator(mode="after")
    def _one_of_each(self) -> Self:
        if (self.rail is None) == (self.member is None):
            raise refuse(rule="wear is in one rail or one member", do="give rail or member")
        if (self.loss is None) == (self.left is None):
            raise refuse(
                rule="wear is either what is lost or what is left",
                do='give loss = "0.6 mm", or left = "3.2 mm" as measured',
            )
        if self.member is not None and (self.side, self.start, self.end) != (None, None, None):
            raise refuse(
                rule="wear of a crossmember or a brace is all along it",
                do="leave out side, from and to",
            )
        if self.wall == [] or self.wall == "":
            raise refuse(rule="wall must name a wall", do="leave it out for the whole section")
        return self

    @property
    def walls(self) -> tuple[str, ...]:
        """Names of the walls, none for the whole section."""
        if self.wall is None:
            return ()
        return (self.wall,) if isinstance(self.wall, str) else tuple(self.wall)


class HoleEntry(Entry):
    """A hole in the middle of a rail's wall, or a row of them."""

    about: str = key("What it is for.", default="")
    rail: str = key("Name of the rail.")
    side: Sides | None = key("Which rails; all of that name if left out.", default=None)
    wall: str = key(
        "The wall it is in, as the section stands (a pair of rails: the right one); "
        '"plate" is a boxing plate.'
    )
    diameter: Size | None = key("Diameter of a round hole.", default=None)
    length: Size | None = key("Length of a slot with round ends, along the rail.", default=None)
    height: Size | None = key("Height of a slot, across the wall.", default=None)
    at: Length | None = key("Station of the middle of a single hole.", default=None)
    start: Length | None = key("Station where a row starts.", default=None, alias="from")
    end: Length | None = key("Station where a row ends.", default=None, alias="to")
    pitch: Size | None = key("From hole to hole in a row.", default=None)

    @model_validator(mode="after")
    def _size_and_place(self) -> Self:
        slot = (self.length is not None, self.height is not None)
        if slot not in ((False, False), (True, True)) or (self.diameter is None) != slot[0]:
            raise refuse(rule="a hole is round or a slot", do="give diameter, or length and height")
        row = (self.start is not None, self.end is not None, self.pitch is not None)
        if row not in ((False,) * 3, (True,) * 3) or (self.at is None) != row[0]:
            raise refuse(
                rule="a hole is single or one of a row", do="give at, or from, to and pitch"
            )
        return self

    @property
    def size(self) -> tuple[float, float]:
        """Length along the rail and height across the wall, mm."""
        return self.length or self.diameter or 0.0, self.height or self.diameter or 0.0
