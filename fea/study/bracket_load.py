"""What the bolts and the plate of a tie's bracket carry.

The bracket is a flat plate between two bolted ends, `length` apart on the line from frame
to body.  What it passes on is known at the body end; the frame end follows from its
equilibrium.  At each end:

- the bolts stand in a row along the bracket, `SPACING` diameters apart, the last
  `END_DISTANCE` diameters from the plate's end;
- the force in the plate's plane is shared by the bolts alike, and its moment about the
  plate's normal is borne by the row; a single bolt leaves that to friction under it;
- a moment that lifts the plate is borne by the bolts' tension, the plate leaning on its
  end or on its edge.  That lever is what prying there is: nothing is added for it, nor for
  an angle that bends open;
- a force along the normal counts as tension whichever way it acts, since a document does
  not say on which face the plate lies.

The preload is left out of a bolt's tension: it goes as the load comes, until the joint gapes.

References
----------
.. [1] EN 1993-1-8: Design of steel structures, part 1-8: design of joints, tables 3.3 and 3.4.
.. [2] S. Timoshenko, Strength of Materials, part 1, 3rd ed., 1955: bending and shear of a
   rectangle, bolts in a row under a moment.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.element.bracket import axes
from fea.errors import Complaint, ModelError
from fea.frame.body import Bracket, Tie
from fea.study import bolt

Array = NDArray[np.float64]

SPACING, END_DISTANCE = 3.0, 1.5
"""Of the bolts, over their diameter (common practice; [1]_ asks for 2.2 and 1.2 at least)."""

CLEARANCE = 1.0
"""By which a hole is larger than its bolt, mm (common practice, no source)."""

UNDER_HEAD = 0.6
"""Radius, over the bolt's diameter, at which friction under one bolt acts: between hole and
edge of the head (an estimate, no source)."""


@dataclass(frozen=True)
class Metal:
    """What a bracket is made of and bolted with; MPa, N mm.

    Without a torque the bolts are tightened to `bolt.TIGHT` of their proof load.
    """

    yield_stress: float = 240.0
    bolts: str = "8.8"
    torque: float | None = None
    friction: float = bolt.FRICTION


@dataclass(frozen=True, eq=False)
class EndLoad:
    """One end of a bracket.

    Attributes
    ----------
    load : (6,), N and N mm, what acts on the bracket at the middle of its bolts, vehicle axes
    shear, tension : N, of the worst bolt
    bearing : MPa, shear over diameter and wall
    plate : MPa, equivalent stress (von Mises) of the whole section at the bolts' middle
    net : MPa, the same with the hole taken out
    plate_use : the higher of the two over the plate's yield
    bearing_use : bearing stress over the plate's yield; on the safe side, as a sheet round
        a bolt bears more than it yields at
    bolt_use : of the worst bolt: shear over its shear strength and tension over its proof
        load, the root of their squares' sum
    gape : tension over preload; above 1 the joint opens
    slip : force and moment in the plate's plane over what friction holds of them, with the
        preload that the tension leaves; above 1 the bolts come to bear on their holes
    """

    load: Array
    shear: float
    tension: float
    bearing: float
    plate: float
    net: float
    plate_use: float
    bearing_use: float
    bolt_use: float
    gape: float
    slip: float

    @property
    def use(self) -> float:
        """The highest use of strength; neither gaping nor slip are failures by themselves."""
        return max(self.plate_use, self.bearing_use, self.bolt_use)


@dataclass(frozen=True, eq=False)
class TieLoad:
    """Both ends of a tie's bracket; `preload`, N, is that of one bolt."""

    frame: EndLoad
    body: EndLoad
    preload: float

    @property
    def use(self) -> float:
        """The highest use of strength of plate and bolts; above 1 something yields."""
        return max(self.frame.use, self.body.use)


def tie_load(tie: Tie, load: Array, metal: Metal | None = None) -> TieLoad:
    """Return what a tie's bracket carries.

    Parameters
    ----------
    tie : Tie
        With a bracket.
    load : (6,), N and N mm
        Force and moment with which the body pulls at the bracket's body end, vehicle axes.

    Raises
    ------
    ModelError
        If the tie has no bracket, or its holes leave nothing of the plate.
    """
    where = f"tie {tie.pair}, {tie.side}"
    if tie.bracket is None:
        raise ModelError(Complaint("only a tie with a bracket has bolts to check", where=where))
    if tie.bracket.bolt + CLEARANCE >= tie.bracket.width:
        raise ModelError(
            Complaint(
                "a bracket must be wider than its bolt's hole",
                where=where,
                found=f"{tie.bracket.width:g} mm wide, bolt {tie.bracket.bolt:g} mm",
                do="make it wider, or take a thinner bolt",
            )
        )
    span = np.array(tie.body_point) - np.array(tie.frame_point)
    return bracket_load(tie.bracket, span, load, metal)


def bracket_load(bracket: Bracket, span: Array, load: Array, metal: Metal | None = None) -> TieLoad:
    """Return what a bracket carries under a load at its body end.

    Parameters
    ----------
    span : (3,), from the frame end to the body end; gives the direction
    load : (6,), N and N mm, on the bracket at its body end, vehicle axes
    """
    metal = metal or Metal()
    kind = bolt.property_class(metal.bolts)
    if metal.torque is None:
        preload = bolt.TIGHT * kind.proof * bolt.stress_area(bracket.bolt)
    else:
        preload = bolt.preload(metal.torque, bracket.bolt)
    turn = axes(span)
    arm = bracket.length * turn[0]
    force, moment = load[:3], load[3:]
    held = np.concatenate([-force, -moment - np.cross(arm, force)])
    return TieLoad(
        frame=_end(bracket, turn, held, metal, preload),
        body=_end(bracket, turn, load, metal, preload),
        preload=preload,
    )


def _end(bracket: Bracket, turn: Array, load: Array, metal: Metal, preload: float) -> EndLoad:
    """Return one end from what acts on it; `turn` as :func:`fea.element.bracket.axes`."""
    force, moment = np.abs(turn @ load[:3]), np.abs(turn @ load[3:])
    n, d = bracket.bolts, bracket.bolt
    row = SPACING * d * (np.arange(n) - 0.5 * (n - 1))  # from its middle
    across = force[1] / n
    if n > 1:
        across += moment[2] * row[-1] / float(row @ row)
    shear = math.hypot(force[0] / n, across)
    lever = END_DISTANCE * d + SPACING * d * np.arange(n)  # from the plate's end
    lift = moment[1] * lever[-1] / float(lever @ lever)
    tension = force[2] / n + lift + moment[0] / (n * 0.5 * bracket.width)
    plate, net = (_equivalent(bracket, hole, force, moment) for hole in (0.0, d + CLEARANCE))
    area, kind = bolt.stress_area(d), bolt.property_class(metal.bolts)
    bearing = shear / (d * bracket.wall)
    return EndLoad(
        load=np.asarray(load),
        shear=shear,
        tension=tension,
        bearing=bearing,
        plate=plate,
        net=net,
        plate_use=max(plate, net) / metal.yield_stress,
        bearing_use=bearing / metal.yield_stress,
        bolt_use=math.hypot(shear / (kind.shear * area), tension / (kind.proof * area)),
        gape=tension / preload if preload > 0.0 else math.inf,
        slip=_slip(shear, 0.0 if n > 1 else float(moment[2]), tension, (preload, d, metal)),
    )


def _slip(shear: float, moment: float, tension: float, by: tuple[float, float, Metal]) -> float:
    """Return what is in the plane over the friction of one bolt; `moment` if it is alone."""
    preload, d, metal = by
    wanted = shear + moment / (UNDER_HEAD * d)
    if wanted == 0.0:
        return 0.0
    holds = metal.friction * max(preload - tension, 0.0)
    return wanted / holds if holds > 0.0 else math.inf


def _equivalent(bracket: Bracket, hole: float, force: Array, moment: Array) -> float:
    """Return the equivalent stress of the plate's section with a hole in its middle, MPa.

    Largest direct stress (pull and bending both ways, at a corner) and largest shear stress
    (at the faces' middle) are put together as if they met: on the safe side.  The rectangle
    in twist is thin; its hole is left out of that.
    """
    w, t = bracket.width, bracket.wall
    A = (w - hole) * t
    flat, upright = (w - hole) * t**2 / 6.0, t * (w**3 - hole**3) / (6.0 * w)
    direct = force[0] / A + moment[1] / flat + moment[2] / upright
    twist = moment[0] / (w * t**2 / 3.0 * (1.0 - 0.63 * t / w))
    shear = 1.5 * math.hypot(force[1], force[2]) / A + twist
    return math.sqrt(direct**2 + 3.0 * shear**2)
