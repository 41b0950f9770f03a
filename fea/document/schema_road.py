"""What a load case may say of a vehicle on the road, and of sums of cases."""

from typing import Literal, Self

from pydantic import model_validator

from fea.document.entry import Entry, Name, key
from fea.document.quantity import (
    AngleAmount,
    Factor,
    FirmRotationalStiffness,
    FirmStiffness,
    Force,
    Length,
    Moment,
    PartOfOne,
    Size,
    refuse,
)

Wheel = Literal["front right", "front left", "rear right", "rear left"]
Struck = Literal[
    "front right", "front left", "rear right", "rear left", "right", "left", "front", "rear"
]
Sided = Literal["front right", "front left", "rear right", "rear left", "right", "left"]

FACTORS = (
    "vertical",
    "braking",
    "cornering",
    "lifted",
    "bump",
    "kerb",
    "step",
    "tow",
    "jack",
    "engine_torque",
)
"""What a source may be told of."""


class BumpEntry(Entry):
    """One wheel on a bump: bending and twist."""

    wheel: Wheel = key("Which wheel.")
    height: Size = key("Height of the bump.")
    tyre_rate: FirmStiffness = key("Vertical rate of a tyre; 200 N/mm if left out.", default=200.0)
    frame_twist: FirmRotationalStiffness | None = key(
        "Twist stiffness of the frame between its seats; the frame's own if left out.",
        default=None,
    )


class KerbEntry(Entry):
    """A kerb beside a wheel, or beside both of a side."""

    wheel: Sided = key("Which wheel, or right or left for both of a side.")
    force: Force | None = key("Sideways force on the ground.", default=None)
    share: Factor | None = key(
        "The force as a share of that which would overturn; 1 if neither is given.", default=None
    )

    @model_validator(mode="after")
    def _one_size(self) -> Self:
        if self.force is not None and self.share is not None:
            raise refuse(rule="a kerb's force is given once", do="give force or share, not both")
        return self


class StepEntry(Entry):
    """A step, or a pothole's edge, in front of rolling wheels."""

    wheel: Struck = key("Which wheel; front or rear for both of an axle.")
    height: Size = key("Height of the step.")
    factor: Factor = key("Times the static push rearward.", default=1.0)
    radius: Size | None = key(
        "Radius of the wheel; the height of its axle's unsprung mass if left out.", default=None
    )


class TowEntry(Entry):
    """A pull at one end."""

    end: Literal["front", "rear"] = key("Which end; the pull is away from it.")
    station: Length | None = key("Where on the rails.", default=None)
    point: str | None = key("At this named point instead.", default=None)
    side: Literal["mean", "right", "left"] = key(
        "mean: the two rails share it; or one of them.", default="mean"
    )
    force: Force | None = key("The pull.", default=None)
    share: Factor | None = key("The pull as a share of the vehicle's weight.", default=None)
    angle: AngleAmount = key("How far it pulls upward of level.", default=0.0)
    side_angle: AngleAmount = key("How far it pulls to the right.", default=0.0)
    against: Literal["inertia", "wheels"] = key(
        "What meets the pull: the masses' inertia, or the wheels.", default="inertia"
    )

    @model_validator(mode="after")
    def _told_once(self) -> Self:
        if (self.force is None) == (self.share is None):
            raise refuse(rule="a pull is a force or a share of the weight", do="give one of them")
        if (self.station is None) == (self.point is None):
            raise refuse(rule="a pull needs one place", do="give station or point")
        return self


class JackEntry(Entry):
    """A corner lifted by a jack under its rail until its wheel hangs."""

    corner: Wheel = key("Which wheel is lifted.")
    station: Length = key("Where the jack stands under that side's rail.")


class TorqueEntry(Entry):
    """The reaction to the engine's torque."""

    moment: Moment = key("About the long axis; positive lifts the right side.")
    at: str | None = key("Name of the mass it acts at: the engine.", default=None)
    station: Length | None = key("Where on the rails instead.", default=None)
    driven: Literal["front", "rear"] = key("The axle that the shaft drives.", default="rear")

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if (self.at is None) == (self.station is None):
            raise refuse(rule="an engine's torque needs one place", do="give at or station")
        return self


class RollCentreEntry(Entry):
    """Heights of the roll centres above the ground."""

    front: Length = key("Of the front axle.", default=0.0)
    rear: Length = key("Of the rear axle.", default=0.0)


class RoadEntry(Entry):
    """A vehicle on the road, loaded from the masses of its document."""

    laden: bool = key("With people and payload.", default=True)
    vertical: Factor = key("Times standard gravity, the static one included.", default=1.0)
    braking: Factor = key("Deceleration in g; negative when it gathers speed.", default=0.0)
    cornering: Factor = key(
        "Sideways acceleration in g; positive turns left and loads the right wheels.", default=0.0
    )
    brake_share_front: PartOfOne | None = key(
        "Front axle's share of braking; by the static axle loads if left out.", default=None
    )
    roll_centre: RollCentreEntry = key(
        "Roll centres; on the ground if left out.", default=RollCentreEntry()
    )
    wheels: Literal["all"] | Wheel = key(
        "all wheels bear, or this one is lifted and bears nothing.", default="all"
    )
    bump: BumpEntry | None = key("One wheel on a bump.", default=None)
    kerb: KerbEntry | None = key("A kerb beside a wheel.", default=None)
    step: StepEntry | None = key("A step in front of a wheel.", default=None)
    tow: TowEntry | None = key("A pull at one end.", default=None)
    jack: JackEntry | None = key("A corner on a jack.", default=None)
    engine_torque: TorqueEntry | None = key("The engine's reaction.", default=None)
    source: dict[str, str] = key(
        "Where each factor comes from: author, title and page, by the factor's key.", default={}
    )

    @model_validator(mode="after")
    def _known_factors(self) -> Self:
        wrong = [name for name in self.source if name not in FACTORS]
        if wrong:
            raise refuse(
                rule=f'a source is told of a factor, and "{wrong[0]}" is none',
                do=f"one of {', '.join(FACTORS)}",
            )
        return self

    @model_validator(mode="after")
    def _together(self) -> Self:
        lifted = self.wheels != "all"
        if sum([lifted, self.bump is not None, self.jack is not None]) > 1:
            raise refuse(
                rule="a lifted wheel, a bump and a jack do not go together",
                do="make them cases of their own",
            )
        moves = self.braking or self.cornering or self.kerb or self.step or self.tow
        if self.jack is not None and (moves or self.engine_torque):
            raise refuse(
                rule="a vehicle on a jack stands still", do="leave vertical alone beside jack"
            )
        if self.vertical <= 0.0:
            raise refuse(
                rule="vertical must be greater than 0", do="1 is standing still on its wheels"
            )
        return self


class CombineEntry(Entry):
    """A case that counts in a sum."""

    case: Name = key("Name or path of the case; beside this file first.")
    factor: Factor = key("How often it counts.", default=1.0)
