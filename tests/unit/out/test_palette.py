"""The sequential map: lightness falls evenly, for every kind of colour vision."""

import numpy as np
import pytest
from numpy.typing import NDArray

from fea.out import palette

Array = NDArray[np.float64]

# G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A physiologically-based model for simulation
# of color vision deficiency", 2009: full dichromacy, applied to linear RGB.
BLINDNESS = {
    "none": np.eye(3),
    "protan": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
         [-0.003882, -0.048116, 1.051998]]
    ),
    "deutan": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
         [-0.011820, 0.042940, 0.968881]]
    ),
}  # fmt: skip


def linear(srgb: Array) -> Array:
    """Return linear RGB of sRGB (IEC 61966-2-1)."""
    return np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)


def cie_lab(rgb_linear: Array) -> Array:
    """Return CIE 1976 L*a*b*, white D65: a measure that the map was not made with."""
    to_xyz = np.array(
        [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    )
    ratio = rgb_linear @ to_xyz.T / np.array([0.9505, 1.0, 1.089])
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.stack(
        [116 * f[:, 1] - 16, 500 * (f[:, 0] - f[:, 1]), 200 * (f[:, 1] - f[:, 2])], axis=1
    )


@pytest.mark.parametrize("kind", BLINDNESS)
def test_lightness_falls_at_every_step(kind: str) -> None:
    seen = np.clip(linear(palette.table()) @ BLINDNESS[kind].T, 0.0, 1.0)
    lightness = cie_lab(seen)[:, 0]
    assert (np.diff(lightness) < 0.0).all()
    assert lightness[0] - lightness[-1] > 55.0


@pytest.mark.parametrize("kind", BLINDNESS)
def test_equal_steps_look_equal_enough(kind: str) -> None:
    seen = np.clip(linear(palette.table()) @ BLINDNESS[kind].T, 0.0, 1.0)
    step = np.linalg.norm(np.diff(cie_lab(seen)[::15], axis=0), axis=1)
    # even in OKLab by making; CIE L*a*b* measures chroma of blues more generously
    assert step.min() > 0.45 * step.mean()
    assert step.max() < 2.0 * step.mean()


def test_the_map_is_inside_the_gamut_and_even_in_its_own_space() -> None:
    path = palette._path(256)
    srgb = palette.oklab_to_srgb(path)
    assert srgb.min() >= 0.0
    assert srgb.max() <= 1.0
    step = np.linalg.norm(np.diff(path, axis=0), axis=1)
    # straight chords of a curve, the corners at the stops cut a little
    assert step.min() > 0.93 * step.max()


def test_oklab_white_black_and_grey() -> None:
    grey = palette.oklab_to_srgb(np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 0.0], [0.6, 0.0, 0.0]]))
    np.testing.assert_allclose(grey[0], 1.0, atol=2e-4)
    np.testing.assert_allclose(grey[1], 0.0, atol=1e-12)
    np.testing.assert_allclose(grey[2], grey[2, 0], atol=2e-4)


def test_colours_of_values_reach_both_ends_and_mark_the_missing() -> None:
    found = palette.colours(np.array([-5.0, 0.0, 10.0, 99.0, np.nan]), 0.0, 10.0)
    table = palette.table()
    np.testing.assert_array_equal(found[:2], table[[0, 0]])
    np.testing.assert_array_equal(found[2:4], table[[255, 255]])
    np.testing.assert_array_equal(found[4], palette.rgb(palette.THEME.no_value))


def test_texts_and_numbers_agree() -> None:
    texts = palette.hexes()
    assert len(texts) == 256
    np.testing.assert_allclose(palette.rgb(texts[77]), palette.table()[77], atol=0.5 / 255)
