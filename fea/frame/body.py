"""The body on the frame as plain data: its grillage, its panels, and ties to the frame.

A body is beams and shear panels between points, in vehicle axes.  What of it the frame
feels is its stiffness between the points where mounts and ties hold it; two measured
figures, its twist and its bending stiffness on its own mounts, scale that.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fea.frame.model import Material, Section, Side

Array = NDArray[np.float64]

Ends = Literal["clamped", "pinned"]


@dataclass(frozen=True, eq=False)
class BodyBeam:
    """A sill, a floor brace, a pillar: straight pieces between the points of its path.

    `path`, (n, 3), mm: places where beams of the body share a point are joined rigidly.
    `floor` marks a brace that a tie can be bolted to.
    """

    name: str
    side: Side
    path: Array
    section: Section
    material: Material
    floor: bool = False


@dataclass(frozen=True, eq=False)
class BodyPanel:
    """A sheet that carries shear between four points, (4, 3), mm, in order round it."""

    name: str
    corners: Array
    wall: float
    material: Material


@dataclass(frozen=True)
class BodyFigure:
    """A stiffness of the body alone on its own mounts.

    Twist (N mm/rad): the pairs of mounts `between` are held upright behind and twisted in
    front by a couple of vertical forces.  Bending (N/mm): both pairs are held upright and
    the pair of points `at` is pushed down, half the load on each.
    """

    stiffness: float
    between: tuple[str, str]
    """Names of two mounts, front first."""
    at: tuple[tuple[float, float, float], ...] = ()
    """The loaded points, mm; bending only."""


@dataclass(frozen=True, eq=False)
class Body:
    """One body, or one of several that stand on a frame (a cab, a load bed).

    `points`: mount (its name and side) -> the body's point above it, mm; what lies between
    that and the mount is rigid.
    """

    name: str
    beams: tuple[BodyBeam, ...]
    panels: tuple[BodyPanel, ...]
    points: dict[tuple[str, Side], tuple[float, float, float]]
    twist: BodyFigure | None = None
    bending: BodyFigure | None = None


@dataclass(frozen=True)
class Bracket:
    """A flat bracket of a tie, mm, bolted at both ends.

    `ends_stiffness`: what the metal round the two ends gives together, each way, N/mm.
    """

    length: float
    width: float
    wall: float
    bolts: int
    bolt: float
    """Nominal diameter of the bolts."""
    ends: Ends = "clamped"
    ends_stiffness: float = 5000.0


@dataclass(frozen=True)
class Tie:
    """A link between a frame member and a body: `pair` names both sides of one candidate.

    Its stiffness follows from `bracket`, or is given: along x, y, z (N/mm).
    """

    pair: str
    side: Side
    onto: str
    distance: float
    frame_point: tuple[float, float, float]
    body: str
    beam: str
    """The body's beam it is bolted to."""
    body_point: tuple[float, float, float]
    bracket: Bracket | None = None
    stiffness: tuple[float, float, float] | None = None
    fitted: bool = False
