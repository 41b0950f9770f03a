"""What a load case file may hold."""

from typing import Literal, Self

from pydantic import model_validator

from fea.document.entry import Entry, Name, key
from fea.document.origin import Sourced
from fea.document.quantity import (
    Factor,
    Force,
    ForcePerLength,
    ImposedMotion,
    Length,
    Moment,
    refuse,
)
from fea.document.schema_road import CombineEntry, RoadEntry

Motion = Literal["station", "offset", "height", "roll", "pitch", "yaw", "warping"]

_PLACES = ("axle", "station", "wheelbase", "point", "mount")
_ONE_PLACE = "a place is exactly one of axle, station, wheelbase, point and mount"


class _Place(Entry):
    """A place on the frame and the side it is taken on."""

    axle: Literal["front", "rear"] | None = key("At the spring seats of this axle.", default=None)
    station: Length | None = key("On the rails at this station.", default=None)
    wheelbase: Factor | None = key(
        "On the rails at this fraction of the wheelbase behind the front axle.", default=None
    )
    point: str | None = key("At this named point of a rail or another member.", default=None)
    mount: str | None = key("At this body mount.", default=None)
    side: Literal["each", "mean", "right", "left"] = key(
        "each: the right and the left side separately; mean: the two taken together; "
        "or one of the two sides.",
        default="each",
    )

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        given = [name for name in _PLACES if getattr(self, name) is not None]
        if len(given) != 1:
            found = ", ".join(given) if given else "none of them"
            raise refuse(_ONE_PLACE, do=f"give one; this table has {found}")
        return self


class HoldEntry(_Place):
    """A motion that is held, or imposed by `value`."""

    motion: Literal[Motion, "clamped"] = key(
        "The motion that is held: station, offset or height (rearward, sideways, up); roll, pitch "
        "or yaw (rotation about these axes); warping; or clamped, all seven."
    )
    value: ImposedMotion = key(
        "Motion imposed: a length, of a rotation an angle; not for warping and clamped.",
        default=0.0,
    )


class ForceEntry(Entry):
    """A force by its parts along the vehicle's axes."""

    station: Force = key("Part of the force rearward.", default=0.0)
    offset: Force = key("Part of the force to the right.", default=0.0)
    height: Force = key("Part of the force upward.", default=0.0)


class MomentEntry(Entry):
    """A moment by its parts about the vehicle's axes, right-handed."""

    roll: Moment = key("Part about the station axis; positive lifts the right side.", default=0.0)
    pitch: Moment = key("Part about the offset axis; positive lifts the front.", default=0.0)
    yaw: Moment = key("Part about the height axis.", default=0.0)


class ArmEntry(Entry):
    """A rigid arm by its parts along the vehicle's axes."""

    station: Length = key("How far rearward.", default=0.0)
    offset: Length = key("How far to the right.", default=0.0)
    height: Length = key("How far up.", default=0.0)


class PushEntry(_Place):
    """A force, a moment, or a couple about the vehicle's long axis, at a place."""

    force: ForceEntry | None = key("Force; on each side, if the side is each.", default=None)
    couple: Moment = key(
        "Couple about the long axis, as equal and opposite vertical forces on the two "
        "sides; positive lifts the right side.",
        default=0.0,
    )
    moment: MomentEntry | None = key(
        "Moment on the place itself; on each side, if the side is each.", default=None
    )
    arm: ArmEntry | None = key(
        "Rigid arm from the place, such as the rail's reference line, to where the force acts.",
        default=None,
    )

    @model_validator(mode="after")
    def _pushes(self) -> Self:
        if self.force is None and self.moment is None and "couple" not in self.model_fields_set:
            raise refuse(
                rule="a push needs a force, a couple or a moment", do='such as couple = "1000 N m"'
            )
        if self.arm is not None and self.force is None:
            raise refuse(rule="an arm carries a force", do="add a force, or leave out arm")
        if self.couple and self.side in {"right", "left"}:
            raise refuse(
                rule="a couple acts on both sides together", do="leave out side, or write a force"
            )
        return self


class SpreadForceEntry(Entry):
    """A force per length of rail by its parts along the vehicle's axes."""

    station: ForcePerLength = key("Part of the load rearward.", default=0.0)
    offset: ForcePerLength = key("Part of the load to the right.", default=0.0)
    height: ForcePerLength = key("Part of the load upward.", default=0.0)


class SpreadEntry(Entry):
    """A load spread evenly along the rails between two stations."""

    start: Length = key("Station where the load starts.", alias="from")
    end: Length = key("Station where the load ends.", alias="to")
    force: SpreadForceEntry = key("Load per length of rail; on each side, if the side is each.")
    side: Literal["each", "mean", "right", "left"] = key(
        "each, mean (the two sides share it equally), right or left.", default="each"
    )

    @model_validator(mode="after")
    def _forward(self) -> Self:
        if self.end <= self.start:
            raise refuse(
                rule="a spread load must end behind its start", do="make to larger than from"
            )
        return self


class WeightEntry(Entry):
    """Weight of the frame and of what it carries."""

    factor: Factor = key("Times standard gravity; 1 is standing still.", default=1.0)
    masses: bool = key("Count the masses that the frame carries.", default=False)
    laden: bool = key("Count the laden masses too: people and payload.", default=False)


class ReadEntry(_Place):
    """A motion that the case reports."""

    name: Name = key("What it is called in the answer.")
    motion: Motion = key(
        "The motion that is read: station, offset or height (rearward, sideways, up); roll, pitch "
        "or yaw (rotation about these axes); or warping (the rate of twist)."
    )


class CaseDocument(Sourced):
    """A load case: what holds the frame, what pushes it, what is read off."""

    title: str = key("Title of the case, one line.")
    about: str = key("What the case is for and where its figures come from.", default="")
    measure: Literal["twist", "bending", "none"] = key(
        "The stiffness that is read off: twist, bending or none.", default="none"
    )
    source: str = key("Author, title and page, if the case is a published one.", default="")
    hold: list[HoldEntry] = key(
        "Motions that are held or imposed; a vehicle on the road needs none.", default=[]
    )
    push: list[PushEntry] = key("Forces, couples and moments.", default=[])
    spread: list[SpreadEntry] = key("Loads per length of rail.", default=[])
    weight: WeightEntry | None = key("Weight, if the case has any.", default=None)
    read: list[ReadEntry] = key("Motions that are reported.", default=[])
    road: RoadEntry | None = key("The whole vehicle on the road, if it is that.", default=None)
    combine: list[CombineEntry] = key("Other cases that this one is the sum of.", default=[])

    @model_validator(mode="after")
    def _held(self) -> Self:
        if not (self.hold or self.road or self.combine):
            raise refuse(
                rule="a load case must hold the frame somewhere",
                do="add a [[hold]]; a vehicle on the road, [road], needs none",
            )
        return self

    @model_validator(mode="after")
    def _alone(self) -> Self:
        if self.road is not None and self.weight is not None:
            raise refuse(
                rule="[road] has the vehicle's weight in it", do="leave out [weight], set vertical"
            )
        if self.road is not None and self.measure != "none":
            raise refuse(
                rule="a vehicle on the road measures no stiffness", do='set measure = "none"'
            )
        others = self.hold or self.push or self.spread or self.weight or self.road
        if self.combine and (others or self.measure != "none"):
            raise refuse(
                rule="a sum of cases holds nothing but [[combine]] and [[read]]",
                do="move the rest into a case of its own and combine that",
            )
        return self

    @model_validator(mode="after")
    def _loaded(self) -> Self:
        if self.road is not None or self.combine or not self.hold:
            return self
        imposed = any(hold.value for hold in self.hold)
        if not (self.push or self.spread or self.weight or imposed):
            raise refuse(
                rule="a case needs a load",
                do="add a [[push]], a [[spread]], [weight] or a hold's value",
            )
        return self

    @model_validator(mode="after")
    def _told_apart(self) -> Self:
        names = [read.name for read in self.read]
        twice = dict.fromkeys(name for name in names if names.count(name) > 1)
        if twice:
            raise refuse(
                rule="every read needs a name of its own", do=f"rename one of {', '.join(twice)}"
            )
        return self

    @model_validator(mode="after")
    def _twisted_by_couples(self) -> Self:
        if self.measure == "twist" and any(push.moment for push in self.push):
            raise refuse(
                rule="a case that measures twist turns the frame by couples alone",
                do='write couple in place of moment, or set measure = "none" and add a [[read]]',
            )
        return self
