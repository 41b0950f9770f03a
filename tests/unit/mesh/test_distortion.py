"""How far a distortion of the cross-section reaches."""

import numpy as np
import pytest

from fea.mesh.distortion import NU, fade_length
from fea.section import shapes
from fea.section.midline import Midline


@pytest.mark.parametrize(("a", "t"), [(60.0, 3.0), (100.0, 2.0)])
def test_the_lozenge_of_a_square_tube_by_hand(a: float, t: float) -> None:
    """Corners warp by 1, -1, 1, -1: every wall slides 2/a and turns 2 (2/a)/a = 4/a^2.

    The corners do not turn, so each wall bends like one with both ends clamped and one
    sunk: energy 12 (plate)/a (4/a^2)^2 each; warping constant 4 t a/3.
    """
    plate = t**3 / (12.0 * (1.0 - NU**2))
    C, B = 4.0 * t * a / 3.0, 4.0 * 12.0 * plate / a * (4.0 / a**2) ** 2
    by_hand = (4.0 * C / B) ** 0.25
    assert fade_length(shapes.box(depth=a + t, width=a + t, wall=t)) == pytest.approx(by_hand)


@pytest.mark.parametrize(
    "midline",
    [
        shapes.channel(depth=123.0, flange=51.5, wall=3.0),
        shapes.zed(depth=123.0, flange=51.5, wall=3.0),
        shapes.i_section(depth=100.0, flange=80.0, wall=3.0),
        shapes.angle(depth=60.0, flange=60.0, wall=5.0),
        shapes.plate(depth=60.0, wall=5.0),
    ],
)
def test_sections_without_stiffened_edges_find_their_shape_at_once(midline: Midline) -> None:
    """Their corners' warping makes the four motions of a beam and no other."""
    assert fade_length(midline) < 1.0


def test_edges_with_lips_carry_a_distortion_far() -> None:
    plain = shapes.channel(depth=123.0, flange=51.5, wall=3.0, corner=8.0)
    lipped = shapes.lipped_channel(depth=123.0, flange=51.5, lip=15.0, wall=3.0)
    hat = shapes.hat(depth=82.5, width=62.5, lip=20.0, wall=2.5)
    assert fade_length(plain) < 40.0 < 100.0 < fade_length(lipped) < fade_length(hat)


def test_it_grows_with_the_size_and_does_not_mind_how_the_section_lies() -> None:
    hat = shapes.hat(depth=82.5, width=62.5, lip=20.0, wall=2.5)
    twice = shapes.hat(depth=165.0, width=125.0, lip=40.0, wall=5.0)
    assert fade_length(twice) == pytest.approx(2.0 * fade_length(hat), rel=1e-6)
    turned = shapes.turn(hat, 1)
    assert fade_length(turned) == pytest.approx(fade_length(hat), rel=1e-6)
    assert np.isfinite(fade_length(shapes.tube(diameter=60.0, wall=3.0)))
