r"""A plate that is stitched: welded over short lengths with gaps between.

The shear flow q of a closed cell passes from flange to plate through the welds alone.  Between
welds the two edges slip past each other by a little, so the cell twists more than one with
continuous seams.

Own derivation.  Plane sheets of the flange and of the plate are taken as half-planes that are
joined along a line by bonds of length w at a pitch p; between bonds the line is a slit.  A row of
collinear slits of length 2a = p - w under shear has the stress intensity
``K = tau sqrt(p tan(pi a / p))`` [1]_, [2]_.  The energy that both tips of a slit release as it
grows, ``2 int K^2/E da``, is the energy that the slits add per pitch; equal to half the flow times
the mean slip they add, that slip is, for sheets of thickness t1 and t2,

    slip = (2 p / (pi E)) (1/t1 + 1/t2) (-ln sin(pi w / 2p)) q.

The slits do not open, since the two sheets meet at an angle and are free across their planes: each
sheet has its own thickness and the integral equation for the bonds is the same.  A continuous weld
(w = p) adds nothing; the slip grows without end as w/p goes to zero, or p to infinity with w/p
kept: then nothing is left but the open section.

In Bredt's equation the slip of a flow over a wall is ``q l / (G t)``.  Both seams together are as
much slip as makes the plate thinner by a factor

    1 / (1 + 2 G slip/q t_plate / l_plate),     G/E = 1 / (2 (1 + nu)).

Limits.  Sheets wider than about half the pitch (the disturbance dies out as exp(-2 pi y / p));
beyond that the slip is larger than this.  Welds are as strong as the sheet and do not give; the
plate does not buckle or gape between welds; it carries normal stress in full, as it does away from
its ends.  The energy is elastic: friction between the edges would only help.

References
----------
.. [1] H. M. Westergaard, J. Appl. Mech. 6, 1939, pp. A49-A53 (a row of slits in a sheet).
.. [2] H. Tada, P. C. Paris, G. R. Irwin, The Stress Analysis of Cracks Handbook (the same under
   shear).
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from fea.errors import Complaint, ModelError
from fea.section.midline import Midline
from fea.section.wear import walls_called

#: Poisson's ratio taken for the ratio G/E; from 0.27 to 0.33 the slip changes by 2 %.
NU = 0.3


@dataclass(frozen=True)
class Stitch:
    """Welds of one length at a pitch, mm, along both edges of a plate."""

    weld: float
    pitch: float


def seam_slip(stitch: Stitch, first: float, second: float, nu: float = NU) -> float:
    """Return the slip that a stitched seam adds, times G over the flow (mm per mm).

    Parameters
    ----------
    first, second : float, mm
        Thickness of the two sheets that the seam joins.

    Examples
    --------
    >>> seam_slip(Stitch(weld=100.0, pitch=100.0), 4.0, 3.0)
    0.0
    """
    if stitch.weld >= stitch.pitch:
        return 0.0
    open_share = -math.log(math.sin(math.pi * stitch.weld / (2.0 * stitch.pitch)))
    return stitch.pitch / (math.pi * (1.0 + nu)) * (1.0 / first + 1.0 / second) * open_share


def stitched(midline: Midline, stitch: Stitch, plate: str = "plate") -> Midline:
    """Return a section whose plate is held by stitches, softer in shear flow alone.

    Raises
    ------
    ModelError
        If the section has no such plate, or it is not joined at both edges.
    """
    here = walls_called(midline, plate)
    ends = np.bincount(midline.walls[here].ravel(), minlength=len(midline.points)) == 1
    joined = [
        float(midline.thickness[k])
        for k in np.flatnonzero(~here)
        for corner in midline.walls[k]
        if ends[corner]
    ]
    if len(joined) != 2:
        rule = "only a plate that is welded along both edges can be stitched"
        raise ModelError(Complaint(rule))
    step = midline.points[midline.walls[here, 1]] - midline.points[midline.walls[here, 0]]
    length, t = np.linalg.norm(step, axis=1), midline.thickness[here]
    plain = float(np.sum(length / t))
    sheet = float(length.sum()) / plain
    extra = sum(seam_slip(stitch, other, sheet) for other in joined)
    factor = np.ones(len(here)) if midline.shear_factor is None else midline.shear_factor.copy()
    factor[here] *= plain / (plain + extra)
    return replace(midline, shear_factor=factor)
