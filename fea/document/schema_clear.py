"""What must stay clear of the frame's metal: shaft, exhaust, ground and the rest of the car."""

from typing import Self

from pydantic import model_validator

from fea.document.entry import Entry, Name, key
from fea.document.quantity import Distance, Length, Size, refuse


class ArchEntry(Entry):
    """The middle of a crossmember pressed up, its sides sloping at 45 degrees."""

    height: Size = key("How far the middle is raised.")
    width: Size = key("Width of the raised middle, at its full height.")


class SpotEntry(Entry):
    """A point beside the frame."""

    station: Length = key("Distance rearward.")
    offset: Length = key("Distance from the centreline, right positive.", default=0.0)
    height: Length = key("Height above the datum plane.")


class ShaftEntry(Entry):
    """A turning shaft, held in front and moving up and down behind with the axle."""

    name: Name = key("Name of the shaft.")
    diameter: Size = key("Outer diameter of its tube.")
    margin: Distance = key("Free space asked for all round the tube.")
    front: SpotEntry = key("Middle of its front joint.")
    rear: SpotEntry = key("Middle of its rear joint at ride height.")
    bump: Distance = key("How far the rear joint rises.", default=0.0)
    droop: Distance = key("How far the rear joint falls.", default=0.0)


class ExhaustEntry(Entry):
    """A pipe along straight lines from point to point."""

    name: Name = key("Name of the pipe.")
    diameter: Size = key("Outer diameter.")
    clearance: Distance = key("Free space asked for between the pipe and the frame's metal.")
    mirrored: bool = key("There is another one, its mirror image.", default=False)
    points: list[SpotEntry] = key("Points of its middle line, at least two.", min_length=2)


class GroundEntry(Entry):
    """The ground under the vehicle as it is driven."""

    clearance: Distance = key("Free height asked for at the laden ride.")
    drop_front: Distance = key("How far the laden frame sinks at the front axle.", default=0.0)
    drop_rear: Distance = key("The same at the rear axle.", default=0.0)
    jounce_front: Distance = key("Further travel of the front axle to its stop.", default=0.0)
    jounce_rear: Distance = key("Further travel of the rear axle to its stop.", default=0.0)


class KeepClearEntry(Entry):
    """A box along the vehicle's axes, or a cylinder, that the frame's metal must not come near."""

    name: Name = key("What is there.")
    about: str = key("More of it, for people.", default="")
    clearance: Distance = key("Free space asked for round it.", default=0.0)
    start: SpotEntry | None = key("A corner of the box.", default=None, alias="from")
    end: SpotEntry | None = key("Its opposite corner.", default=None, alias="to")
    axis: list[SpotEntry] | None = key(
        "The middles of a cylinder's two ends.", default=None, min_length=2, max_length=2
    )
    diameter: Size | None = key("Diameter of the cylinder.", default=None)
    near: list[str] = key("Members and exhausts that may come near: what carries it.", default=[])

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        given = [
            name for name in ("start", "end", "axis", "diameter") if getattr(self, name) is not None
        ]
        if given not in (["start", "end"], ["axis", "diameter"]):
            raise refuse(
                rule="what is kept clear is a box or a cylinder",
                do="give from and to, two corners; or axis, two points, and diameter",
            )
        if self.start is not None and self.end is not None:
            low, high = self.start, self.end
            if (
                low.station == high.station
                or low.offset == high.offset
                or low.height == high.height
            ):
                raise refuse(
                    rule="the two corners of a box must differ in station, offset and height",
                    do="give opposite corners",
                )
        return self


class GearboxEntry(Entry):
    """The gearbox's mount, and the crossmember that is to reach it."""

    crossmember: str = key("Name of the crossmember that carries it.")
    mount: SpotEntry = key("Middle of the mount's lower face.")
    start: Length | None = key("Foremost station the mount can sit at.", default=None, alias="from")
    end: Length | None = key("Rearmost station the mount can sit at.", default=None, alias="to")

    @model_validator(mode="after")
    def _forward(self) -> Self:
        low = self.mount.station if self.start is None else self.start
        high = self.mount.station if self.end is None else self.end
        if not low <= self.mount.station <= high:
            raise refuse(
                rule="the mount's station must lie between from and to", do="correct the stations"
            )
        return self
