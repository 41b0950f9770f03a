"""What a picture shows, as plain arrays: drawn by the PNG, window and page makers alike.

The scene knows vehicle coordinates and base units; how it looks is the drawer's affair.
"""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Field:
    """A value at every scene point, shape (n,), in the unit it is shown in."""

    name: str
    unit: str
    values: Array


@dataclass(frozen=True, eq=False)
class Walls:
    """The members' walls as quadrilaterals on their midlines.

    Attributes
    ----------
    points : array (n, 3), mm, undeformed
    movement : array (n, 3), mm, true displacement of each point, warping included
    quads : integer array (m, 4), point numbers
    member : integer array (m,), index into `members`
    members : names of the members
    sections : the section's name of each quad's element, one per quad
    fields : values at the points; the first is the one to colour by
    """

    points: Array
    movement: Array
    quads: NDArray[np.intp]
    member: NDArray[np.intp]
    members: tuple[str, ...]
    sections: tuple[str, ...]
    fields: tuple[Field, ...]


@dataclass(frozen=True, eq=False)
class Line:
    """A member's undeformed reference line, shape (k, 3), mm; `part`: added or stock."""

    name: str
    points: Array
    part: str | None


@dataclass(frozen=True)
class Mark:
    """A support (held direction) or a load (force direction) at a point, mm.

    `vector` is a unit direction; `text` a short label such as "1.32 kN" or "height held".
    """

    kind: Literal["hold", "load"]
    position: tuple[float, float, float]
    vector: tuple[float, float, float]
    text: str


@dataclass(frozen=True, eq=False)
class BodyLink:
    """A mount or a tie between frame and body.

    Attributes
    ----------
    ends : array (2, 3), mm, undeformed, on the frame and on the body; movement : likewise
    text : what it is and bears
    """

    name: str
    kind: Literal["mount", "tie"]
    ends: Array
    movement: Array
    text: str


@dataclass(frozen=True)
class Badge:
    """A number at a place, mm, that a list beside the picture speaks of; it moves with the wall."""

    number: int
    position: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Grillage:
    """A body on the frame as beams and panels between points.

    Attributes
    ----------
    points : array (n, 3), mm, undeformed
    movement : array (n, 3), mm
    beams : integer array (m, 2), point numbers; panels : likewise (k, 4)
    beam_names, panel_names : what each belongs to
    links : the mounts and ties that bear it
    """

    name: str
    points: Array
    movement: Array
    beams: NDArray[np.intp]
    panels: NDArray[np.intp]
    beam_names: tuple[str, ...] = ()
    panel_names: tuple[str, ...] = ()
    links: tuple[BodyLink, ...] = ()


@dataclass(frozen=True, eq=False)
class Rated:
    """Links, such as ties that could be fitted, each with a value to be sized and coloured by.

    Attributes
    ----------
    name, unit : what the value is
    ends : array (n, 2, 3), mm, undeformed; the mark stands at the second end
    movement : array (n, 2, 3), mm
    values : array (n,)
    texts : one for each link, "" for none
    """

    name: str
    unit: str
    ends: Array
    movement: Array
    values: Array
    texts: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Curve:
    """A profile along the stations: `values` in `unit` over `stations` in mm."""

    name: str
    unit: str
    stations: Array
    values: Array
    dashed: bool = False
    """A reference to compare with (the stock frame), drawn lighter."""


@dataclass(frozen=True, eq=False)
class Scene:
    """One picture: the frame under one case.

    Attributes
    ----------
    title, subtitle : str, what is shown ("Orchard pickup", "twist, 1000 N m at the front axle")
    facts : (label, value) pairs to write beside it, ratio first where there is one
    walls, lines, marks : the frame
    bodies : what stands on it
    rated : links to choose among
    badges : numbered places
    listed : (number, text) of what is listed beside the picture, under `listed_title`
    stations : (station in mm, label) of crossmembers and axles, to tick along the side
    profile : curves of the twist angle (or deflection) by station, same unit for all
    profile_title : str
    soft : (member or bay, share of strain energy in per cent), largest first
    notes : sentences printed small at the foot (assumptions, cautions)
    """

    title: str
    subtitle: str
    facts: tuple[tuple[str, str], ...]
    walls: Walls
    lines: tuple[Line, ...]
    marks: tuple[Mark, ...] = ()
    stations: tuple[tuple[float, str], ...] = ()
    profile: tuple[Curve, ...] = ()
    profile_title: str = ""
    soft: tuple[tuple[str, float], ...] = ()
    notes: tuple[str, ...] = field(default=())
    bodies: tuple[Grillage, ...] = ()
    rated: Rated | None = None
    badges: tuple[Badge, ...] = ()
    listed: tuple[tuple[int, str], ...] = ()
    listed_title: str = ""
