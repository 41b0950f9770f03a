"""Stitched seams: limits, bounds from a twin, and a cell by hand."""

import math

import numpy as np
import pytest

from fea.errors import ModelError
from fea.section import shapes
from fea.section.properties import properties
from fea.section.seam import NU, Stitch, seam_slip, stitched

BOXED = shapes.boxed_channel(depth=150, flange=60, wall=4, plate=3)
OPEN = shapes.channel(depth=150, flange=60, wall=4)


def least_energy_slip(weld, pitch, first, second):
    """Slip times G over the flow, from the tractions of the welds themselves.

    A half-plane under tangential traction cos(kx) moves 2 cos(kx) / (E k).  The traction in a
    weld is a series of Chebyshev polynomials over the square root at its ends, whose harmonics
    are Bessel functions; only the first has a resultant.  The others make the energy least.
    """
    from scipy.special import jv

    n = np.arange(1, 100_001)
    rows = np.array([jv(2 * k, n * math.pi * weld / pitch) for k in range(8)]) / np.sqrt(n)
    energy = rows @ rows.T
    rest = np.linalg.solve(energy[1:, 1:], -energy[1:, 0])
    least = energy[0, 0] + energy[0, 1:] @ rest
    return 2 * pitch / math.pi * least * (1 / first + 1 / second) / (2 * (1 + NU))


@pytest.mark.parametrize("share", [0.05, 0.1, 0.25, 0.4, 0.6, 0.8])
def test_the_slip_is_what_the_welds_tractions_give(share):
    slip = seam_slip(Stitch(weld=100 * share, pitch=100), 4, 3)
    assert slip == pytest.approx(least_energy_slip(100 * share, 100, 4, 3), rel=1e-3)


def test_a_continuous_weld_changes_nothing():
    after = stitched(BOXED, Stitch(weld=80, pitch=80))
    assert after.key() == BOXED.key()
    assert properties(after).J == properties(BOXED).J


def test_far_apart_it_is_the_open_section_in_twist():
    """J falls to the walls' own; bending up and down and the area stay those of the plated one."""
    closed = properties(BOXED)
    last = closed.J
    for pitch in (100.0, 1e3, 1e4, 1e6, 1e8):
        p = properties(stitched(BOXED, Stitch(weld=40, pitch=pitch)))
        assert last > p.J
        last = p.J
        assert (p.A, p.Iy, p.Iz) == (closed.A, closed.Iy, closed.Iz)
    own = properties(OPEN).J + 146 * 3**3 / 3
    assert last == pytest.approx(own, rel=1e-2)


def test_a_plate_that_hardly_holds_gives_the_shear_centre_back():
    """Outside the web, as that of the open channel; that of the closed one is inside."""
    soft = properties(stitched(BOXED, Stitch(weld=1e-6, pitch=1e9)))
    assert soft.shear_centre[0] < properties(OPEN).shear_centre[0] < 0
    assert 0 < properties(BOXED).shear_centre[0] < 58
    assert soft.Cw > 3 * properties(BOXED).Cw


def test_a_cell_by_hand():
    """40 mm on 100: Bredt's circuit with the two seams' slip in it."""
    slip = 100 / (math.pi * 1.3) * (1 / 4 + 1 / 3) * -math.log(math.sin(math.pi * 0.2))
    circuit = 146 / 4 + 2 * 58 / 4 + 146 / 3
    area = 146.0 * 58.0
    p = properties(stitched(BOXED, Stitch(weld=40, pitch=100)))
    assert p.J_cells == pytest.approx(4 * area**2 / (circuit + 2 * slip), rel=1e-12)
    assert 0.8 < p.J / properties(BOXED).J < 0.9


def test_a_cap_plate_of_several_walls():
    capped = shapes.capped_channel(depth=150, flange=60, wall=4, plate=3, plate_depth=180)
    with pytest.raises(ModelError, match="along both edges"):
        stitched(capped, Stitch(weld=40, pitch=100))
    with pytest.raises(ModelError, match="along both edges"):
        stitched(OPEN, Stitch(weld=40, pitch=100))
