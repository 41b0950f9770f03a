r"""Holes in a wall, smeared to a band of softer sheet.

A hole takes more stiffness than metal: the stress has to go round it.  What one hole of length L
(along the member) and height H (across the wall) in a wall of height h takes is known for a wide
sheet; over a stretch p of the member it is

- in tension or bending, a width lost of ``x = H (L + 1.356 H) / p``, for a round hole the
  ``3 pi d^2 / 4 p`` of [1]_; for an upright one (H > L) ``pi/4 (L H + 2 H^2) / p``, an ellipse's;
- in shear, slip as of ``s = pi c (L + H)^2 / (4 (1 + nu) p)`` more height of sheet, for a round
  hole ``pi d^2 / ((1 + nu) p)`` of [1]_; c is the hole's area over the ellipse's of that L and H.

Estimates of our own, no source, for what a wall of finite height and neighbours in a row do:

- lost width: ``x' = x / sqrt(1 - (H/h)^2)``, then ``x' / (1 + (x'/H)^2.5)^0.4`` in a row, since
  holes close together stand in each other's shadow and never take more than their height;
- slip: ``s / (1 - r^2)^1.6`` with r = (L + H)/2 over the lesser of wall height and pitch.

Against a plane-stress model of the sheet (in the tests), with edges that the flanges hold straight,
the lost width of a row is within 15 % and the slip within 10 % up to the limits that are refused
below; what a single large hole adds to the stretch is within 25 % either way, as the walls beside
it decide.

The band is twice the hole's height, in the middle of the wall.  A single hole is spread over three
times its length.  Limits: holes in the middle of flat walls; the mean stiffness alone.  The peak
of stress at the hole's edge is not in any figure (three times the stress around, for a small round
hole in tension).  A hole takes its own area off what the member weighs, no more.

References
----------
.. [1] M. Kachanov, I. Tsukrov, B. Shafiro, Effective moduli of solids with cavities of various
   shapes, Appl. Mech. Rev. 47 (1S), 1994, pp. S151-S174 (holes that do not see each other).
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from fea.errors import Complaint, ModelError
from fea.section.midline import Midline
from fea.section.seam import NU
from fea.section.wear import wall_names, walls_called

#: A single hole is spread over this many times its length.
SPREAD = 3.0
#: The highest hole, of the wall's flat height; the closest row, mean size over pitch.
HIGHEST, CLOSEST = 0.6, 0.67
#: The most upright hole, height over length.
MOST_UPRIGHT = 1.5


@dataclass(frozen=True)
class Hole:
    """A hole with round ends in the middle of a wall, mm; one of a row if it has a pitch."""

    wall: str
    length: float
    height: float
    pitch: float | None = None

    @property
    def stretch(self) -> float:
        """The length of the member that one hole is spread over, mm."""
        return SPREAD * self.length if self.pitch is None else self.pitch

    @property
    def area(self) -> float:
        """Its area, mm2: its ends are half circles as wide as it is across."""
        return (
            self.length * self.height - (1.0 - math.pi / 4.0) * min(self.length, self.height) ** 2
        )

    def words(self) -> str:
        """Return the hole, short: "web 60", "web 80x50", "bottom flange 12 at 150"."""
        size = (
            f"{self.length:g}" if self.length == self.height else f"{self.length:g}x{self.height:g}"
        )
        return f"{self.wall} {size}" + (f" at {self.pitch:g}" if self.pitch else "")


def lost_width(hole: Hole, wall: float) -> float:
    """Return the width that a hole takes from a wall `wall` high in tension, mm."""
    L, H = hole.length, hole.height
    x = H * (L + (0.75 * math.pi - 1.0) * H) if L >= H else math.pi / 4.0 * (L * H + 2.0 * H * H)
    x /= hole.stretch * math.sqrt(1.0 - (H / wall) ** 2)
    return x if hole.pitch is None else float(x / (1.0 + (x / H) ** 2.5) ** 0.4)


def added_slip(hole: Hole, wall: float, nu: float = NU) -> float:
    """Return the height of plain sheet that slips as much in shear as the hole adds, mm."""
    L, H = hole.length, hole.height
    least, most = sorted((L, H))
    fuller = hole.area / (math.pi / 4.0 * least * most)
    near = (L + H) / 2.0 / (wall if hole.pitch is None else min(wall, hole.pitch))
    wide = math.pi * fuller * (L + H) ** 2 / (4.0 * (1.0 + nu) * hole.stretch)
    return float(wide / (1.0 - near * near) ** 1.6)


def pierced(midline: Midline, hole: Hole) -> Midline:
    """Return a section with a band of softer sheet where the hole is.

    The band takes the place of the middle of the wall; it is the held wall if that was.

    Raises
    ------
    ModelError
        If the wall is not there, is not flat, or the hole is too large for the estimate.
    """
    k = _flat(midline, hole.wall)
    a, b = midline.walls[k]
    step = midline.points[b] - midline.points[a]
    height = float(np.linalg.norm(step))
    _check(hole, height)
    band = min(2.0 * hole.height, height)
    normal = 1.0 - lost_width(hole, height) / band
    shear = band / (band + added_slip(hole, height))
    there = 1.0 - hole.area / (hole.stretch * band)
    ones = np.ones(len(midline.walls))
    factors = [
        (ones if old is None else old).copy()
        for old in (midline.normal_factor, midline.shear_factor, midline.metal_factor)
    ]
    before = [float(factor[k]) for factor in factors]
    for factor, share in zip(factors, (normal, shear, there), strict=True):
        factor[k] *= share
    walls, points, names, thickness = (
        midline.walls,
        midline.points,
        midline.names,
        midline.thickness,
    )
    edge = (height - band) / 2.0
    if edge > 1e-6 * height:
        n, f = len(points), edge / height
        points = np.vstack([points, points[a] + f * step, points[b] - f * step])
        walls = np.vstack([walls, [a, n], [n + 1, b]])
        walls[k] = (n, n + 1)
        names = (*names, names[k], names[k])
        thickness = np.concatenate([thickness, [thickness[k]] * 2])
        factors = [np.concatenate([f, [v] * 2]) for f, v in zip(factors, before, strict=True)]
    return replace(
        midline,
        points=points,
        walls=walls,
        thickness=thickness,
        names=names,
        normal_factor=factors[0],
        shear_factor=factors[1],
        metal_factor=factors[2],
    )


def _flat(midline: Midline, name: str) -> int:
    """Return the number of the longest straight wall of a name."""
    here = np.flatnonzero(walls_called(midline, name))
    if not len(here):
        rule = "wall must be one that the section has"
        do = "its walls are " + ", ".join(f'"{n}"' for n in wall_names(midline))
        raise ModelError(Complaint(rule, found=f'"{name}"', do=do))
    if len({midline.names[k] for k in here}) > 1:
        do = "one of " + ", ".join(f'"{n}"' for n in dict.fromkeys(midline.names[k] for k in here))
        raise ModelError(
            Complaint("wall must say which one has the hole", found=f'"{name}"', do=do)
        )
    ends = midline.points[midline.walls[here]]
    length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    return int(here[np.argmax(length)])


def _check(hole: Hole, height: float) -> None:
    """Refuse a hole that the estimate does not hold for."""
    mean = (hole.length + hole.height) / 2.0
    if hole.height > HIGHEST * height or mean > HIGHEST * height:
        most = HIGHEST * height
        rule = (
            f"a hole must leave enough of the {hole.wall}: at most {most:.4g} mm of {height:.4g} mm"
        )
        found = f"{hole.length:g} mm long, {hole.height:g} mm high"
        do = "a larger hole is a member of its own: two strips"
        raise ModelError(Complaint(rule, found=found, do=do))
    if hole.pitch is not None and mean > CLOSEST * hole.pitch:
        rule = f"pitch must be at least {mean / CLOSEST:.4g} mm for holes of this size"
        raise ModelError(
            Complaint(rule, found=f"{hole.pitch:g} mm", do="describe them as one slot")
        )
    if hole.height > MOST_UPRIGHT * hole.length:
        rule = f"a hole must not be higher than {MOST_UPRIGHT:g} times its length"
        found = f"{hole.length:g} mm long, {hole.height:g} mm high"
        raise ModelError(Complaint(rule, found=found, do="length is along the member"))
