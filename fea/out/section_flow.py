"""Shear flow along the walls of a section, for drawing."""

import numpy as np
from numpy.typing import NDArray

from fea.section.midline import Midline
from fea.section.properties import SectionProperties

Array = NDArray[np.float64]


def upright_flow(midline: Midline, p: SectionProperties, places: Array) -> Array:
    """Return the shear flow of a unit upright force through the shear centre, 1/mm.

    Parameters
    ----------
    places : array, shape (k,)
        Places along each wall, 0 at its start to 1 at its end.

    Returns
    -------
    array, shape (m, k), positive from a wall's start to its end
    """
    s, c = np.sin(p.angle), np.cos(p.angle)
    # Upward is s along y' and c along z'; what feeds the flow is linear along a wall.
    at_start = (s * p.flow_y + c * p.flow_z)[::2]
    feed = (s * p.point_y / p.I2 + c * p.point_z / p.I1).reshape(-1, 2)
    share = 1.0 if midline.normal_factor is None else midline.normal_factor
    area = (midline.thickness * share * p.point_s[::2])[:, None]
    first, rise = feed[:, :1], (feed[:, 1] - feed[:, 0])[:, None]
    return np.asarray(at_start[:, None] - area * (first * places + rise * places**2 / 2.0))


def torsion_flow(p: SectionProperties, places: Array) -> Array:
    """Return the mean flow round the cells of a unit torque, 1/mm2, shape (m, k)."""
    return np.repeat(p.flow_t[::2, None], len(places), axis=1)
