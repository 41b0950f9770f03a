"""Bolted joints: what the worst bolt of a bracket carries, elastic pattern.

The pattern is that of :mod:`fea.mesh.bolts`: a rigid bracket on a wall.  In the wall's plane the
force is shared alike and the moment as M r / sum r2; off it the force is shared alike, and a
moment as M b / sum b2 with b the distance from the pattern's middle line [1]_.  Where the bolts
have no lever (one bolt, or a row in which the moment turns about the row itself) the moment
is borne by each bolt over the radius under its head; a single bolt bears twist by friction alone.

Strengths are those of the bolt's property class [2]_, [3]_ (:mod:`fea.study.bolt`).  Shear goes
through the thread.  A force that presses the bracket to the wall counts as tension, since a
document does not say on which face it lies: on the safe side.

References
----------
.. [1] R. G. Budynas, J. K. Nisbett, Shigley's Mechanical Engineering Design, 10th ed., 2015,
   sec. 8-12 (bolted joints loaded in shear, eccentric loading).
.. [2] ISO 898-1.
.. [3] EN 1993-1-8, table 3.4.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.frame.model import Frame, Joint
from fea.mesh.bolts import WASHER, pattern
from fea.strength.joint_forces import JointForce, moved
from fea.study import bolt

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Fastener:
    """What a joint is bolted with: property class, torque in N mm (None: usual preload)."""

    kind: str = "8.8"
    torque: float | None = None
    friction: float = bolt.FRICTION

    def preload(self, diameter: float) -> float:
        """Return the preload of one bolt, N."""
        if self.torque is not None:
            return bolt.preload(self.torque, diameter)
        return bolt.TIGHT * bolt.property_class(self.kind).proof * bolt.stress_area(diameter)


@dataclass(frozen=True, eq=False)
class BoltLoad:
    """The worst bolt of a joint, each figure that of the bolt where it is highest.

    Attributes
    ----------
    shear, tension : N; bearing : MPa, shear over diameter and the thinner wall
    bolt_use : shear over shear strength and tension over proof load, the root of their
        squares' sum; bearing_use : over the weaker wall's yield
    slip : shear over what friction holds with the preload that the tension leaves; above 1 the
        bolts come to bear on their holes
    gape : tension over preload; above 1 the bracket lifts off
    """

    joint: Joint
    count: int
    diameter: float
    preload: float
    shear: float
    tension: float
    bearing: float
    bolt_use: float
    bearing_use: float
    slip: float
    gape: float

    @property
    def use(self) -> float:
        """The highest use of strength; neither slip nor gaping are failures by themselves."""
        return max(self.bolt_use, self.bearing_use)


def shears(places: Array, force: Array, twist: float) -> Array:
    """Return the force of every bolt in the plane of the pattern, (n, 2), N.

    Parameters
    ----------
    places : (n, 2), mm; force : (2,), N, at their middle; twist : N mm, about the normal
    """
    r = places - places.mean(axis=0)
    polar = float((r**2).sum())
    out = np.tile(np.asarray(force) / len(r), (len(r), 1))
    if polar > 0.0:
        out = out + twist / polar * np.column_stack([-r[:, 1], r[:, 0]])
    return np.asarray(out)


def tensions(places: Array, pull: float, moment: Array, diameter: float) -> Array:
    """Return the tension of every bolt, (n,), N; what presses it is negative.

    Parameters
    ----------
    pull : N, off the wall; moment : (2,), N mm, about the pattern's two axes
    """
    r = places - places.mean(axis=0)
    n = len(r)
    out = np.full(n, pull / n)
    # A pull at (a, b) has the moment (b, -a) about the two axes.
    for lever, m in ((r[:, 1], moment[0]), (-r[:, 0], moment[1])):
        square = float(lever @ lever)
        out = out + (m * lever / square if square > 0.0 else abs(m) / (n * WASHER * diameter))
    return np.asarray(out)


def bolt_load(frame: Frame, found: JointForce, fastener: Fastener | None = None) -> BoltLoad | None:
    """Return what a joint's bolts carry, None if the document does not say what they are.

    Raises
    ------
    ModelError
        If there is no such property class, or the wall is too small for the bolts.
    """
    joint = found.joint
    if joint.bolts is None or joint.kind != "bolted":
        return None
    fastener = fastener or Fastener()
    holes = pattern(frame, joint)
    member = frame.member(joint.member)
    run = member.runs[0 if joint.end == "start" else -1]
    weakest = min(r.weakest_yield or r.material.yield_stress for r in (run, holes.run))
    force = moved(found.force, found.point, holes.centre)
    local, turn = holes.axes @ force[:3], holes.axes @ force[3:]
    d = joint.bolts.diameter
    shear = np.linalg.norm(shears(holes.places, local[:2], float(turn[2])), axis=1)
    pull = tensions(holes.places, abs(float(local[2])), turn[:2], d)
    pull = np.maximum(pull, tensions(holes.places, abs(float(local[2])), -turn[:2], d))
    held = shear
    if len(shear) == 1:  # friction under the head bears the twist
        held = shear + abs(float(turn[2])) / (WASHER * d)
    return _worst(joint, (shear, np.maximum(pull, 0.0), held), holes.thickness, weakest, fastener)


def _worst(
    joint: Joint,
    each: tuple[Array, Array, Array],
    wall: float,
    weakest: float,
    fastener: Fastener,
) -> BoltLoad:
    shear, tension, held = each
    bolts = joint.bolts
    assert bolts is not None
    d, kind = bolts.diameter, bolt.property_class(fastener.kind)
    area, preload = bolt.stress_area(d), fastener.preload(d)
    bearing = float(shear.max()) / (d * min(wall, bolts.wall))
    left = fastener.friction * np.maximum(preload - tension, 0.0)
    slip = [
        s / h if h > 0.0 else (math.inf if s > 0.0 else 0.0)
        for s, h in zip(held, left, strict=True)
    ]
    return BoltLoad(
        joint=joint,
        count=bolts.count,
        diameter=d,
        preload=preload,
        shear=float(shear.max()),
        tension=float(tension.max()),
        bearing=bearing,
        bolt_use=float(np.hypot(shear / (kind.shear * area), tension / (kind.proof * area)).max()),
        bearing_use=bearing / weakest,
        slip=float(max(slip)),
        gape=float(tension.max()) / preload if preload > 0.0 else math.inf,
    )
