r"""What a weld shrinks by, how hot it leaves the steel, and how long that takes to cool.

Along itself a weld pulls on the section like a tendon that was tightened.  Blodgett [1]_ gives
the bow of a straight beam of length L, second moment I, with a weld of cross-section Aw a
distance d off its centroid, welded all along:

    bow = 0.005 Aw d L^2 / I,

in any consistent units.  A tendon of force F bows it by ``F d L^2 / (8 E I)``: the two agree for

    F = 8 * 0.005 E Aw = 0.04 E Aw.

White's tendon force, ``F = 0.2 q`` (kN for q in kJ/m of heat that reaches the steel) [2]_, and
Okerblom's ``F = 0.335 (alpha / rho c) E q`` [3]_, whose factor of q is the same within a tenth for
steel, stand beside it as a check.  Across itself a weld draws the joint together by

    0.10 Aw / t

on a sheet of thickness t [1]_.  All of these formulas are quoted from memory, not from the books.
Measured shrinkage strays by about a third either way.

The seam cools by conduction alone: heat q per length over a length l, let go at once along the
line between two wide sheets of thickness t1 and t2, leaves in its middle

    q / (rho c (t1 + t2) sqrt(pi a t)) * erf(l / (4 sqrt(a t)))

above where it began: conduction away from the seam, times what runs out along it.  Sheets end
somewhere, which keeps the heat in; air takes some, which is not counted.

References
----------
.. [1] O. W. Blodgett, Design of Welded Structures, 1966, sec. 7.7 (from memory).
.. [2] J. D. White, on longitudinal shrinkage of single-pass welds, Cambridge (from memory).
.. [3] N. O. Okerblom, The Calculations of Deformations of Welded Metal Structures (from memory).
"""

import math
from dataclasses import dataclass

BOW = 0.005
"""Blodgett's factor of longitudinal bow [1]_."""

TENDON = 8.0 * BOW
"""Tendon force over E Aw that gives the same bow."""

TRANSVERSE = 0.10
"""Blodgett's factor of transverse shrinkage [1]_."""

WHITE = 0.2e3 / 1.0
"""White's tendon force over heat per length, N per (J/mm) [2]_."""

OKERBLOM = 0.335
"""Okerblom's factor [3]_."""

BAND = 0.30
"""How far the shrinkage of a weld strays from the formula, either way; an estimate."""

EXPANSION = 12e-6
"""Thermal expansion of mild steel, 1/K."""

HEAT_CAPACITY = 3.85e-3
"""Of mild steel, J/(mm3 K): 7850 kg/m3 times 490 J/(kg K)."""

DIFFUSIVITY = 13.0
"""Of mild steel, mm2/s: 50 W/(m K) over the heat capacity."""


@dataclass(frozen=True)
class Process:
    """A way of welding.

    Attributes
    ----------
    heat : J/mm3, heat that reaches the steel per volume of weld metal
    speed : mm3/s, weld metal laid while the arc burns
    """

    name: str
    about: str
    heat: float
    speed: float


PROCESSES = {
    p.name: p
    for p in (
        # From usual settings for a 3 mm fillet, an estimate: 18 V, 120 A, 6 mm/s, 0.8 of it used.
        Process("mig", "gas metal arc", heat=60.0, speed=27.0),
        # 22 V, 90 A, 3 mm/s, 0.7 of it used.
        Process("stick", "covered electrode", heat=100.0, speed=14.0),
        # 12 V, 110 A, 1.7 mm/s, 0.6 of it used.
        Process("tig", "gas tungsten arc", heat=105.0, speed=7.5),
    )
}


def fillet_area(leg: float) -> float:
    """Return the cross-section of a flat fillet with equal legs, mm2."""
    return 0.5 * leg * leg


def tendon_force(area: float, E: float) -> float:  # noqa: N803 - the symbol of every source
    """Return the force a weld of a cross-section (mm2) pulls along itself with, N."""
    return TENDON * E * area


def free_bow(area: float, distance: float, length: float, inertia: float) -> float:
    """Return Blodgett's bow of a straight free beam, mm.

    Parameters
    ----------
    area : mm2, of the weld; distance : mm, from the beam's centroid
    length : mm; inertia : mm4

    Examples
    --------
    >>> round(free_bow(16.0, 32.0, 1650.0, 9.8e5), 2)
    7.11
    """
    return BOW * area * distance * length**2 / inertia


def transverse_shrinkage(area: float, wall: float) -> float:
    """Return how much a weld draws a joint of a wall's thickness together, mm."""
    return TRANSVERSE * area / wall


def heat_per_length(area: float, process: Process) -> float:
    """Return the heat that reaches the steel, J/mm."""
    return area * process.heat


def white_force(heat: float) -> float:
    """Return White's tendon force, N, of a heat per length, J/mm."""
    return WHITE * heat


def okerblom_force(heat: float, E: float) -> float:  # noqa: N803
    """Return Okerblom's tendon force, N, of a heat per length, J/mm."""
    return OKERBLOM * EXPANSION / HEAT_CAPACITY * E * heat


def rise(heat: float, length: float, sheets: float, time: float) -> float:
    """Return how much hotter than before the middle of a run is, K.

    Parameters
    ----------
    heat : J/mm; length : mm, of the run
    sheets : mm, thickness of both sheets together
    time : s, since it was welded
    """
    spread = math.sqrt(DIFFUSIVITY * time)
    away = heat / (HEAT_CAPACITY * sheets * math.sqrt(math.pi) * spread)
    return away * math.erf(length / (4.0 * spread))


def cooling_time(heat: float, length: float, sheets: float, above: float = 40.0) -> float:
    """Return how long a run takes to cool to so many kelvins above where it began, s."""
    low, high = 1e-3, 1.0
    while rise(heat, length, sheets, high) > above:
        low, high = high, 2.0 * high
    for _ in range(60):
        middle = 0.5 * (low + high)
        if rise(heat, length, sheets, middle) > above:
            low = middle
        else:
            high = middle
    return high
