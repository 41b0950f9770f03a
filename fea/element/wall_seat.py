"""How a thin wall gives where something bears on it round a hole: an annular plate.

The wall is a round plate, clamped at some radius, with a hole in its middle and the force
spread along a circle: the edge of a washer, or of a bolt's head.  Small deflections of a
thin plate; what it gives by shear is left out.

References
----------
.. [1] S. Timoshenko and S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., 1959,
   sec. 16 to 19: round plates under rotationally symmetric loads.
"""

import math

E, NU = 205e3, 0.3
"""Of steel: modulus of elasticity, MPa, and Poisson's ratio (common practice, no source)."""


def ring_stiffness(
    wall: float, hole: float, ring: float, held: float, *, welded: bool = False
) -> float:
    """Return force over deflection of the loaded ring, N/mm.

    With shear force ``P / 2 pi r`` outside the ring and none inside it, the slope is
    ``p r ln(r/a) + C (r - a^2/r)`` outside, with ``p = P / 4 pi D``, and ``A r + B/r``
    inside; no moment at the hole's edge, slope and moment the same on both sides of the
    ring.

    Parameters
    ----------
    wall : mm, its thickness
    hole, ring : mm, diameters
    held : mm, radius at which the wall is clamped
    welded : bool
        What bears on the wall keeps it flat inside the ring, as a disc welded on at its
        edge; otherwise it lies loose, and the wall turns under its edge.

    Returns
    -------
    float
        Infinite if the ring reaches as far as the wall is held, 0 if it falls into the hole.
    """
    a, b, c = held, ring / 2.0, hole / 2.0
    if b <= c:
        return 0.0
    if b >= a:
        return math.inf
    D = E * wall**3 / (12.0 * (1.0 - NU**2))
    log = math.log(b / a)
    g = (a / b) ** 2
    q = (c / b) ** 2 * (1.0 + NU) / (1.0 - NU)
    C = log / (g - 1.0) if welded else -(1.0 + q + 2.0 * q * log) / (2.0 * (g + q))
    square = a**2 - b**2
    deflection = square / 4.0 + b**2 * log / 2.0 - C * (square / 2.0 + a**2 * log)  # over p
    return 4.0 * math.pi * D / deflection
