"""Validation cases of welds and bolts: a weld as a line, a pattern of bolts, known answers."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from fea.document.entry import key
from fea.document.quantity import Number, refuse
from fea.document.validation_entry import ExpectEntry, Positive, Told

Pair = Annotated[list[Number], Field(min_length=2, max_length=2)]
Vector = Annotated[list[Number], Field(min_length=3, max_length=3)]
Stretch = Annotated[list[Number], Field(min_length=4, max_length=4)]
FastenedUnits = Literal["mm N", "in kip", "in lbf"]

WeldWord = Literal[
    "length", "centroid_x", "centroid_y", "Sw_top", "Sw_bottom", "Jw",
    "load", "throat_stress", "leg", "allowed",
]  # fmt: skip
BoltWord = Literal["shear", "tension", "bearing", "stress_area", "preload"]

_LOADED = ("load", "throat_stress", "leg")


class WeldExpectEntry(ExpectEntry):
    """An answer of a weld."""

    read: WeldWord = key(
        "length; centroid_x, centroid_y; Sw_top, Sw_bottom: section modulus per throat about x;"
        " Jw: polar moment per throat; load: highest per length, or that at a place;"
        " throat_stress: likewise; leg: that the load needs; allowed: per length on the leg."
    )
    at: Pair | None = key("An end of a stretch, for load and throat_stress.", default=None)

    @model_validator(mode="after")
    def _place(self) -> Self:
        if self.at is not None and self.read not in ("load", "throat_stress"):
            raise refuse("at goes with load and throat_stress, and with nothing else")
        return self


class WeldCheck(Told):
    """A weld treated as a line in the plane x, y, and what acts on it."""

    kind: Literal["weld"] = key("A weld treated as a line.")
    units: FastenedUnits = key("The consistent system of units of all numbers in the case.")
    line: list[Stretch] = key("Stretches from x, y to x, y; a double fillet twice.", default=[])
    circle: Positive | None = key("Diameter of a weld all round a tube.", default=None)
    leg: Positive | None = key("Leg of the fillet.", default=None)
    electrode: Positive | None = key("Tensile strength of the electrode.", default=None)
    allowable: Positive | None = key(
        "Load per length allowed per leg, where the source gives it instead.", default=None
    )
    force: Vector | None = key("Force on the weld, x, y, z.", default=None)
    point: Vector = key("Where the force acts.", default=[0.0, 0.0, 0.0])
    moment: Vector = key("A moment besides.", default=[0.0, 0.0, 0.0])
    expect: list[WeldExpectEntry] = key("Known answers.", min_length=1)

    @model_validator(mode="after")
    def _enough(self) -> Self:
        if bool(self.line) == (self.circle is not None):
            raise refuse("a weld is given in one way", do="line, or circle")
        reads = {entry.read for entry in self.expect}
        if reads & set(_LOADED) and self.force is None:
            raise refuse("a load per length needs what acts on the weld", do="add force")
        if reads & {"throat_stress", "allowed"} and self.leg is None:
            raise refuse("a throat needs the leg of the fillet", do="add leg")
        if "allowed" in reads and self.electrode is None:
            raise refuse("what is allowed follows from the electrode", do="add electrode")
        if "leg" in reads and (self.electrode is None) == (self.allowable is None):
            raise refuse("a leg follows from one strength", do="add electrode or allowable")
        return self


class BoltExpectEntry(ExpectEntry):
    """An answer of a pattern of bolts."""

    read: BoltWord = key(
        "shear, tension: of one bolt, or the highest; bearing: shear over diameter and wall;"
        " stress_area; preload: of the torque."
    )
    bolt: Annotated[int, Field(ge=1)] | None = key(
        "Which bolt, counted from 1, for shear and tension.", default=None
    )

    @model_validator(mode="after")
    def _place(self) -> Self:
        if self.bolt is not None and self.read not in ("shear", "tension"):
            raise refuse("bolt goes with shear and tension, and with nothing else")
        return self


class BoltCheck(Told):
    """A pattern of bolts in the plane x, y, and what acts on it."""

    kind: Literal["bolts"] = key("A pattern of bolts.")
    units: Literal["mm N"] = key("Millimetres and newtons: stress areas are of metric threads.")
    place: list[Pair] = key("Where the bolts are.", default=[])
    diameter: Positive = key("Of the bolts.")
    wall: Positive | None = key("The thinner of the sheets, for bearing.", default=None)
    torque: Positive | None = key("Tightening torque.", default=None)
    force: Vector | None = key("Force on the pattern, x, y, z.", default=None)
    point: Vector = key("Where the force acts.", default=[0.0, 0.0, 0.0])
    expect: list[BoltExpectEntry] = key("Known answers.", min_length=1)

    @model_validator(mode="after")
    def _enough(self) -> Self:
        reads = {entry.read for entry in self.expect}
        if reads & {"shear", "tension", "bearing"} and (self.force is None or not self.place):
            raise refuse("a bolt carries what acts on the pattern", do="add place and force")
        if "bearing" in reads and self.wall is None:
            raise refuse("bearing needs the sheet", do="add wall")
        if "preload" in reads and self.torque is None:
            raise refuse("a preload follows from the torque", do="add torque")
        for entry in self.expect:
            if entry.bolt is not None and entry.bolt > len(self.place):
                raise refuse("bolt must be one of the pattern", do=f"1 to {len(self.place)}")
        return self
