"""What a bolt holds: preload from torque, area, strengths of its property class.

References
----------
.. [1] ISO 898-1: Mechanical properties of fasteners made of carbon steel and alloy steel,
   part 1: bolts, screws and studs: stresses under proof load, tensile strengths, stress area.
.. [2] EN 1993-1-8: Design of steel structures, part 1-8: design of joints, table 3.4.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from fea.document.spelling import choices
from fea.errors import Complaint, ModelError

TORQUE_FACTOR = 0.2
"""K in ``T = K d F``, steel on steel as delivered (common practice, no source)."""

FRICTION = 0.15
"""Between clamped plates, painted or oily (common practice, no source: 0.15 to 0.2)."""

TIGHT = 0.7
"""Preload over proof load where no torque is told (common practice, no source)."""

HEAD = 1.5
"""What a bolt's head bears on without a washer, diameter over the bolt's; about that of a
hexagon's width across flats, 16 mm for M10 and 18 mm for M12."""

#: Coarse pitch, mm, of the usual nominal diameters, and of 1/4 to 1/2 inch (unified coarse).
PITCH: Mapping[float, float] = {
    6.0: 1.0, 8.0: 1.25, 10.0: 1.5, 12.0: 1.75, 14.0: 2.0, 16.0: 2.0, 20.0: 2.5,
    6.35: 25.4 / 20, 7.9375: 25.4 / 18, 9.525: 25.4 / 16, 11.1125: 25.4 / 14, 12.7: 25.4 / 13,
}  # fmt: skip

STEEPEST = 1.0 / 6.0
"""Pitch over diameter of a bolt that is not among these: as 3/8 inch coarse, the steepest."""


@dataclass(frozen=True)
class PropertyClass:
    """Strengths of a bolt, MPa.

    `proof` and `tensile` are those of [1]_, the latter nominal; a bolt shears through its
    thread at `shear_share` of its tensile strength [2]_.
    """

    name: str
    proof: float
    tensile: float
    shear_share: float

    @property
    def shear(self) -> float:
        """Shear strength, MPa."""
        return self.shear_share * self.tensile


#: By name.  The proof stress of 8.8 is that up to 16 mm; above it is 600 MPa.
CLASSES: Mapping[str, PropertyClass] = {
    c.name: c
    for c in (
        PropertyClass("4.6", 225.0, 400.0, 0.6),
        PropertyClass("5.8", 380.0, 500.0, 0.5),
        PropertyClass("8.8", 580.0, 800.0, 0.6),
        PropertyClass("10.9", 830.0, 1000.0, 0.5),
        PropertyClass("12.9", 970.0, 1200.0, 0.5),
    )
}


def property_class(name: str) -> PropertyClass:
    """Return a property class by its name.

    Raises
    ------
    ModelError
        If there is no such class.
    """
    if name not in CLASSES:
        raise ModelError(
            Complaint(f'there is no property class "{name}" of bolts', do=choices(CLASSES, name))
        )
    return CLASSES[name]


def stress_area(diameter: float) -> float:
    """Return the area that counts in tension and in shear through the thread, mm2 [1]_."""
    near = min(PITCH, key=lambda d: abs(d - diameter))
    pitch = PITCH[near] if abs(near - diameter) < 0.05 else STEEPEST * diameter
    return math.pi / 4.0 * (diameter - 0.9382 * pitch) ** 2


def preload(torque: float, diameter: float) -> float:
    """Return the preload, N, of a torque in N mm; within some 30 % of it, as K scatters."""
    return torque / (TORQUE_FACTOR * diameter)
