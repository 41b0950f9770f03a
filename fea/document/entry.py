"""The base of every table in a document, and the sections, one class per shape."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from fea.document.quantity import Length, Size, Thickness


class Entry(BaseModel):
    """A table of a document: closed to unknown keys, never changed once read."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, defer_build=True)


def key(text: str, *, default: Any = ..., **more: Any) -> Any:  # noqa: ANN401 - as Field
    """Return a field with its description; `more` goes to pydantic's own."""
    return Field(default, description=text, **more)


Name = Annotated[str, Field(min_length=1)]

Depth = Annotated[Size, Field(description="Outer height of the section, as it stands.")]
Flange = Annotated[Size, Field(description="Outer width of a flange, web thickness included.")]
Width = Annotated[Size, Field(description="Outer width of the section.")]
Wall = Annotated[Thickness, Field(description="Thickness of the sheet, measured or by gauge.")]
Plate = Annotated[Thickness, Field(description="Thickness of the closing plate.")]
_BEND = "Outside radius of the bends; sharp corners if left out."


class _Section(Entry):
    about: str = key("What the section is, for people.", default="")
    upside_down: bool = key("Turn the section over, top to bottom.", default=False)


class Channel(_Section):
    """A channel, measured over the outside."""

    shape: Literal["channel"] = key("The trade's name of the shape.")
    depth: Depth
    flange: Flange
    wall: Wall
    corner: Size | None = key(_BEND, default=None)


class LippedChannel(_Section):
    """A channel with lips at the flange edges."""

    shape: Literal["lipped channel"] = key("The trade's name of the shape.")
    depth: Depth
    flange: Flange
    lip: Size = key("Outer height of a lip, flange thickness included.")
    wall: Wall
    corner: Size | None = key(_BEND, default=None)


class BoxedChannel(_Section):
    """A channel closed along its whole length by a flush plate between the flange tips."""

    shape: Literal["boxed channel"] = key("The trade's name of the shape.")
    depth: Depth
    flange: Flange
    wall: Wall
    plate: Plate
    corner: Size | None = key(_BEND, default=None)


class CappedChannel(_Section):
    """A channel with a plate laid over its flange tips."""

    shape: Literal["capped channel"] = key("The trade's name of the shape.")
    depth: Depth
    flange: Flange
    wall: Wall
    plate: Plate
    plate_depth: Size | None = key("Height of the plate; the depth if left out.", default=None)


class ToeToToe(_Section):
    """Two equal channels welded flange tip to flange tip."""

    shape: Literal["toe to toe"] = key("The trade's name of the shape.")
    depth: Depth
    flange: Size = key("Outer width of a flange of one of the two channels.")
    wall: Wall
    corner: Size | None = key(_BEND, default=None)


class Box(_Section):
    """A rectangular tube."""

    shape: Literal["box"] = key("The trade's name of the shape.")
    depth: Depth
    width: Width
    wall: Wall
    corner: Size | None = key(_BEND, default=None)


class Tube(_Section):
    """A round tube."""

    shape: Literal["tube"] = key("The trade's name of the shape.")
    diameter: Size = key("Outer diameter.")
    wall: Wall


class Hat(_Section):
    """A hat, open downward unless turned."""

    shape: Literal["hat"] = key("The trade's name of the shape.")
    depth: Depth
    width: Size = key("Outer width over the two sides, without the lips.")
    lip: Size = key("Width of a lip, from the inner face of the side to the lip's edge.")
    wall: Wall


class Angle(_Section):
    """An angle: one leg upright, the other at its foot."""

    shape: Literal["angle"] = key("The trade's name of the shape.")
    depth: Size = key("Outer height of the upright leg.")
    flange: Size = key("Outer width of the leg at the foot.")
    wall: Wall


class Zed(_Section):
    """A Z: the lower flange to the open side, the upper one the other way."""

    shape: Literal["Z"] = key("The trade's name of the shape.")
    depth: Depth
    flange: Flange
    wall: Wall


class ISection(_Section):
    """An I, rolled or welded."""

    shape: Literal["I"] = key("The trade's name of the shape.")
    depth: Depth
    flange: Size = key("Whole width of a flange.")
    wall: Size = key("Thickness of the web.")
    flange_wall: Size | None = key("Thickness of the flanges; the web's if left out.", default=None)


class FlatPlate(_Section):
    """A flat plate standing upright."""

    shape: Literal["plate"] = key("The trade's name of the shape.")
    depth: Depth
    wall: Wall


class FlatBar(_Section):
    """A solid rectangular bar, taken as one thick wall."""

    shape: Literal["flat"] = key("The trade's name of the shape.")
    depth: Depth
    width: Width


class FreeWall(Entry):
    """A straight wall of a free section."""

    start: str = key("Corner where the wall starts.", alias="from")
    end: str = key("Corner where the wall ends.", alias="to")
    thickness: Thickness = key("Thickness of this wall.")
    held: bool = key("Other members hold this one by this wall.", default=False)
    name: str | None = key(
        'What wear and holes call this wall; "a to b" if left out.', default=None, min_length=1
    )


Corner = Annotated[list[Length], Field(min_length=2, max_length=2)]


class FreeSection(_Section):
    """A section drawn by its corners, at the middle of the sheet."""

    shape: Literal["free"] = key("The trade's name of the shape.")
    corners: dict[str, Corner] = key(
        "Corners by name, each as [across, up] from the member's reference line; "
        "across is toward the open side."
    )
    walls: list[FreeWall] = key("Straight walls between corners.", min_length=1)


Section = Annotated[
    Channel
    | LippedChannel
    | BoxedChannel
    | CappedChannel
    | ToeToToe
    | Box
    | Tube
    | Hat
    | Angle
    | Zed
    | ISection
    | FlatPlate
    | FlatBar
    | FreeSection,
    Field(discriminator="shape"),
]
