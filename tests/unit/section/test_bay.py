"""The space between a section's web and flanges, where a bulkhead fits."""

import numpy as np
import pytest

from fea.section import shapes
from fea.section.bay import bay
from fea.section.midline import Midline

SHARP = shapes.channel(depth=120, flange=50, wall=4)
ROUNDED = shapes.channel(depth=120, flange=50, wall=4, corner=8)
BOXED = shapes.boxed_channel(depth=120, flange=50, wall=4, plate=3)


def span(midline: Midline) -> np.ndarray:
    """Return width and height of the bay, mm."""
    corners = bay(midline)
    assert corners is not None
    return np.ptp(corners, axis=0)


@pytest.mark.parametrize(
    ("midline", "width", "height"),
    [
        (SHARP, 48.0, 116.0),
        (ROUNDED, 48.0, 116.0),
        (BOXED, 48.0, 116.0),
        (shapes.lipped_channel(depth=120, flange=50, lip=20, wall=4), 46.0, 116.0),
        (shapes.box(depth=90, width=60, wall=3), 57.0, 87.0),
        (shapes.box(depth=90, width=60, wall=3, corner=6), 57.0, 87.0),
        (shapes.hat(depth=80, width=60, lip=16.25, wall=2.5), 57.5, 77.5),
    ],
)
def test_it_reaches_from_web_to_flange_tips(midline: Midline, width: float, height: float) -> None:
    np.testing.assert_allclose(span(midline), (width, height), rtol=1e-12)


def test_its_corners_go_round() -> None:
    corners = bay(SHARP)
    assert corners is not None
    y, z = corners.T
    area = 0.5 * abs(np.sum(y * np.roll(z, -1) - z * np.roll(y, -1)))
    assert area == pytest.approx(48.0 * 116.0)


@pytest.mark.parametrize(
    "midline",
    [
        shapes.tube(diameter=60, wall=3),
        shapes.angle(depth=50, flange=40, wall=4),
        shapes.i_section(depth=100, flange=50, wall=4, flange_wall=6),
    ],
)
def test_other_sections_have_none(midline: Midline) -> None:
    assert bay(midline) is None
