"""How the ends of crossmembers and braces are held: kinds, bolts, gussets, free entry."""

import math
import re
from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, WithJsonSchema, model_validator

from fea import units
from fea.document.entry import Entry, Name, key
from fea.document.quantity import (
    JointRotationalStiffness,
    JointStiffness,
    Size,
    Thickness,
    refuse,
)
from fea.errors import DocumentError

JointName = Literal["web", "web_and_flanges", "through", "rigid", "bolted"]

_JOINT = (
    "How its ends are held: web (welded to the rail's web only), web_and_flanges (its "
    "flanges welded to the rail's flanges too), through (passes through the rail and is "
    "welded all round at every wall), rigid, or bolted."
)
_MATERIAL = "Name of a material; the first one in the file if left out."
_METRIC = re.compile(r"\s*M\s?(\d+(?:\.\d+)?)\s*")
_CUBED = re.compile(r"(?P<force>.*\S)\s+(?P<length>mm|cm|m|in|ft)\s?(?:\^|\*\*)?(?:3|\u00b3)\s*")
_MOST_WARPING = 1e22  # N mm3; beyond it a figure is a slip of the unit


def _thread(value: Any) -> Any:  # noqa: ANN401 - whatever the TOML file holds
    """Read M10 as 10 mm; anything else is left to the reader of lengths."""
    match = _METRIC.fullmatch(value) if isinstance(value, str) else None
    return value if match is None else f"{match[1]} mm"


def _warping(value: Any) -> float:  # noqa: ANN401 - whatever the TOML file holds
    """Read a force times a length cubed: a moment times two lengths more."""
    do = 'write it with its unit in quotes, such as "1.1e11 N mm3", or "rigid", or "free"'
    if not isinstance(value, str):
        raise refuse(rule="must have a unit such as N mm3", do=do)
    if value in ("rigid", "free"):
        return math.inf if value == "rigid" else 0.0
    match = _CUBED.fullmatch(value.replace("*", " ") if "**" not in value else value)
    if match is None:
        raise refuse(rule="must have a unit such as N mm3", do=do)
    try:
        moment = units.parse(f"{match['force']} {match['length']}", "moment")
        result = moment * units.parse(f"1 {match['length']}", "length") ** 2
    except DocumentError:
        raise refuse(rule="must have a unit such as N mm3", do=do) from None
    if not 0.0 <= result <= _MOST_WARPING:
        raise refuse(rule=f"must be from 0 to {_MOST_WARPING:g} N mm3", do="check figure and unit")
    return result


def _count(value: Any) -> int:  # noqa: ANN401 - whatever the TOML file holds
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= MOST_BOLTS:
        raise refuse(
            rule=f"must be a whole number from 1 to {MOST_BOLTS}",
            do="count the bolts of one end",
        )
    return value


MOST_BOLTS = 24
Count = Annotated[
    int,
    BeforeValidator(_count),
    WithJsonSchema({"type": "integer", "minimum": 1, "maximum": MOST_BOLTS}),
]
BoltSize = Annotated[
    Size,
    BeforeValidator(_thread),
    WithJsonSchema({"type": "string", "examples": ["M10", "3/8 in"]}),
]
WarpingStiffness = Annotated[
    float,
    BeforeValidator(_warping),
    WithJsonSchema({"type": "string", "examples": ["1.1e11 N mm3", "rigid", "free"]}),
]


class JointStiffnessEntry(Entry):
    """How far a joint gives: "rigid", "free" or a figure, in six directions and in warping."""

    move: JointStiffness | None = key("In all three directions.", default=None)
    turn: JointRotationalStiffness | None = key("About all three axes.", default=None)
    station: JointStiffness | None = key("Along the vehicle; move if left out.", default=None)
    offset: JointStiffness | None = key("Sideways; move if left out.", default=None)
    height: JointStiffness | None = key("Up and down; move if left out.", default=None)
    about_station: JointRotationalStiffness | None = key(
        "About the vehicle's long axis; turn if left out.", default=None
    )
    about_offset: JointRotationalStiffness | None = key(
        "About the crosswise axis; turn if left out.", default=None
    )
    about_height: JointRotationalStiffness | None = key(
        "About the upright axis; turn if left out.", default=None
    )
    warping: WarpingStiffness | None = key(
        "Between the warpings of the two members; free if left out.", default=None
    )

    @model_validator(mode="after")
    def _six(self) -> Self:
        for one, every in (("move", 0), ("turn", 3)):
            names = list(type(self).model_fields)[2 + every : 5 + every]
            if getattr(self, one) is None and any(getattr(self, n) is None for n in names):
                raise refuse(
                    rule="the stiffness of a joint must be given in every direction",
                    do=f"give {one}, or all of {', '.join(names)}",
                )
        return self

    def values(self) -> tuple[float, float, float, float, float, float]:
        """Return the six stiffnesses: along x, y, z in N/mm, about them in N mm/rad."""
        move, turn = self.move or 0.0, self.turn or 0.0
        return (
            move if self.station is None else self.station,
            move if self.offset is None else self.offset,
            move if self.height is None else self.height,
            turn if self.about_station is None else self.about_station,
            turn if self.about_offset is None else self.about_offset,
            turn if self.about_height is None else self.about_height,
        )


class GussetEntry(Entry):
    """Triangular plates welded into the corners between a member's end and the rail."""

    legs: Size = key("Length along the rail and along the member.")
    wall: Thickness = key("Thickness of the plates.")
    at: Literal["top", "bottom", "both"] = key(
        "At the member's upper edge, its lower edge, or both.", default="both"
    )


class EndsEntry(Entry):
    """A joint kind for each end of a crossmember."""

    left: JointName = key("How the left end is held.")
    right: JointName = key("How the right end is held.")


class BraceEndsEntry(Entry):
    """A joint kind for each end of a brace."""

    start: JointName = key("How the first end of its path is held.")
    end: JointName = key("How the last end of its path is held.")


class JoinedEntry(Entry):
    """What crossmembers and braces have in common: a section, and ends that are held."""

    name: Name = key("Its name.")
    about: str = key("What it is for.", default="")
    section: str = key("Name of its section.")
    material: str | None = key(_MATERIAL, default=None)
    joint: JointName | None = key(_JOINT, default=None)
    joint_stiffness: JointStiffnessEntry | None = key(
        "What a bolted end gives way, if it is known; goes before what its bolts say.",
        default=None,
    )
    bolts: Count | None = key(
        "How many bolts hold a bolted end: up to three in a row along the rail, or an even "
        "number in two columns.",
        default=None,
    )
    bolt: BoltSize | None = key("Nominal diameter of these bolts.", default=None)
    bolt_spacing: Size | None = key("From bolt to bolt, along the rail and across.", default=None)
    bracket_wall: Thickness | None = key("Thickness of the bracket they go through.", default=None)
    gusset: GussetEntry | None = key("Plates in the corners beside a welded end.", default=None)

    @model_validator(mode="after")
    def _bracket(self) -> Self:
        names = ["bolts", "bolt", "bracket_wall"] + ["bolt_spacing"] * (self.bolts != 1)
        given = [n for n in names if getattr(self, n) is not None]
        any_given = given or self.bolt_spacing is not None
        if any_given and len(given) < len(names):
            missing = [n for n in names if n not in given]
            raise refuse(
                rule="a bolted bracket must be described in full", do=f"add {', '.join(missing)}"
            )
        if self.bolts is not None and self.bolts > 3 and self.bolts % 2:
            raise refuse(
                rule="more than three bolts stand in two columns, so must be an even number",
                do=f"write bolts = {self.bolts - 1} or {self.bolts + 1}",
            )
        spacing, bolt = self.bolt_spacing, self.bolt
        if spacing is not None and bolt is not None and spacing < 2.0 * bolt:
            raise refuse(
                rule="bolts must stand at least two diameters apart", do="make bolt_spacing larger"
            )
        return self
