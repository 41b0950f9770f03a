"""What every candidate tie gains as the mounts go from soft to stiff.

All mounts are given one vertical stiffness after another by the low-rank update of
:mod:`fea.study.ties`; nothing is factorised again.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.frame.model import Mount
from fea.frame.mounts import GRADES, effective
from fea.mesh.vehicle import mount_stiffness
from fea.result.stiffness import Profile, twist_stiffness
from fea.study.ties import TieStudy

Array = NDArray[np.float64]

SOFTEST, STIFFEST = 1e2, 1e5
"""Vertical stiffness of a mount, N/mm: softer than any rubber, as stiff as a steel spacer."""

SHARE = 0.4
"""Stiffness sideways over that up and down where the frame's own mounts tell nothing."""


@dataclass(frozen=True, eq=False)
class TieSweep:
    """Gains of the candidates over the stiffness of the mounts.

    Attributes
    ----------
    vertical : (n,), N/mm, rising; that of the pads, brackets and worn states come on top
    share : of it, along x and along y
    bare : (n,), twist stiffness without a candidate, N mm/rad
    gains : (n_candidates, n), what each adds, over `bare`
    grades : the study's grades and where they lie, N/mm, in the order of the study
    """

    vertical: Array
    share: tuple[float, float]
    bare: Array
    gains: Array
    grades: tuple[tuple[str, float], ...]


def sweep(vehicle: TieStudy, points: int = 15) -> TieSweep:
    """Return the gain of every candidate for mounts from 100 to 100 000 N/mm.

    Sideways and lengthwise the mounts keep the mean share of the frame's own mounts; their
    state and the brackets under them stay as they are.  A ready grade has shares of its own
    and comes in new pads, so that it need not lie on the curve.

    Parameters
    ----------
    points : how many, evenly spaced by ratio
    """
    share = own_share(vehicle.mounts)
    vertical = np.geomspace(SOFTEST, STIFFEST, points)
    bare, gains = np.zeros(points), np.zeros((len(vehicle.candidates), points))
    for n, k in enumerate(vertical.tolist()):
        pads = (share[0] * k, share[1] * k, k)
        bare[n], gains[:, n] = with_mounts(
            vehicle, [replace(m, stiffness=pads) for m in vehicle.mounts]
        )
    grades = tuple((g.name, place(vehicle.mounts, g.name)) for g in vehicle.grades)
    return TieSweep(vertical, share, bare, gains, grades)


def with_mounts(vehicle: TieStudy, mounts: Sequence[Mount]) -> tuple[float, Array]:
    """Return the twist stiffness with other mounts, and the candidates' gains over it.

    Parameters
    ----------
    mounts : in place of the vehicle's, in their order

    Returns
    -------
    float, N mm/rad; array (n_candidates,)
    """
    extra = np.array([mount_stiffness(m) for m in mounts]) - vehicle.start
    flexible = vehicle.flexible[0].with_springs(vehicle.mount_rows.ravel(), extra.ravel())
    bare = _twist(vehicle, flexible.c)
    gains = [
        _twist(vehicle, flexible.read_with(c.rows, c.stiffness)[0]) / bare - 1.0
        for c in vehicle.candidates
    ]
    return bare, np.array(gains)


def _twist(vehicle: TieStudy, read: Array) -> float:
    none = np.zeros(len(read))
    profile = Profile(vehicle.line.stations, read[:, 0], none, none)
    return twist_stiffness(vehicle.frame, vehicle.cases[0], profile)


def own_share(mounts: Sequence[Mount]) -> tuple[float, float]:
    """Return the mean share, along x and y, of the mounts' vertical stiffness."""
    telling = [m.stiffness for m in mounts if all(0.0 < k < math.inf for k in m.stiffness)]
    if not telling:
        return SHARE, SHARE
    x, y = np.mean([(kx / kz, ky / kz) for kx, ky, kz in telling], axis=0)
    return float(x), float(y)


def place(mounts: Sequence[Mount], grade: str) -> float:
    """Return a grade's vertical stiffness, N/mm; of mounts as fitted the mean by ratio."""
    if grade in GRADES:
        return GRADES[grade].vertical
    live = [m.stiffness[2] for m in mounts if effective(m)[2] > 0.0 and m.stiffness[2] < math.inf]
    return float(np.exp(np.mean(np.log(live)))) if live else math.nan
