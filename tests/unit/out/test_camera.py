"""The parallel projection, the window fitted to it, and the scale of the movements."""

import numpy as np
import pytest

from fea.out.camera import STANDARD, Window, auto_scale, fit, looking, round_125


@pytest.mark.parametrize("azimuth", [-2.0, 0.0, 0.4, 1.6, 3.0])
@pytest.mark.parametrize("elevation", [-0.7, 0.0, 0.5, np.pi / 2])
def test_axes_are_a_right_handed_turn(azimuth: float, elevation: float) -> None:
    axes = looking(azimuth, elevation).axes
    np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-15)
    assert np.linalg.det(axes) == pytest.approx(1.0, abs=1e-14)


def test_level_view_from_the_left_shows_station_and_height() -> None:
    seen = looking(0.0, 0.0).project(np.array([1200.0, 300.0, 450.0]))
    np.testing.assert_allclose(seen, [1200.0, 450.0, -300.0])  # the right side is farther away


def test_view_from_above_shows_front_left_and_left_side_below() -> None:
    seen = looking(0.0, np.pi / 2).project(np.array([[0.0, -400.0, 0.0], [900.0, 400.0, 0.0]]))
    assert seen[0, 0] < seen[1, 0]
    assert seen[0, 1] < seen[1, 1]


def test_standard_view_has_the_front_left_corner_nearest() -> None:
    corners = np.array([[x, y, 0.0] for x in (0.0, 3000.0) for y in (-400.0, 400.0)])
    assert np.argmax(STANDARD.project(corners)[:, 2]) == 0


def test_fit_keeps_the_shape_and_the_free_borders() -> None:
    points = np.array([[-10.0, 5.0], [90.0, 25.0]])
    window = fit(points, 2.5, pad=(0.1, 0.2, 0.05, 0.05))
    assert window.width / window.height == pytest.approx(2.5)
    assert (-10.0 - window.left) / window.width == pytest.approx(0.1)
    assert (window.right - 90.0) / window.width == pytest.approx(0.2)
    assert window.bottom <= 5.0 - 0.05 * window.height
    assert window.top >= 25.0 + 0.05 * window.height


def test_pixels_count_from_the_upper_left_border() -> None:
    window = Window(-50.0, 50.0, -25.0, 25.0)
    at = window.to_pixels(np.array([[-50.0, 25.0, 7.0], [0.0, 0.0, 8.0]]), (400, 200))
    np.testing.assert_allclose(at, [[0.0, 0.0, 7.0], [200.0, 100.0, 8.0]])


@pytest.mark.parametrize(
    ("value", "rounded"), [(1.0, 1), (1.3, 1), (1.5, 2), (3.0, 2), (3.3, 5), (7.2, 10), (73.0, 100),
                           (0.034, 0.05), (1414.0, 1000), (1415.0, 2000)],
)  # fmt: skip
def test_rounding_to_1_2_5_by_ratio(value: float, rounded: float) -> None:
    assert round_125(value) == pytest.approx(rounded)


def test_largest_movement_is_drawn_near_the_share_of_the_length() -> None:
    rng = np.random.default_rng(17)
    for size in (1e-4, 0.03, 2.0, 55.0):
        movement = size * rng.normal(size=(40, 3))
        drawn = auto_scale(movement, 4500.0) * np.linalg.norm(movement, axis=1).max()
        # 1-2-5 rounding by ratio is off by at most the root of 2.5
        assert 0.06 / np.sqrt(2.5) <= drawn / 4500.0 <= 0.06 * np.sqrt(2.5)


def test_a_frame_that_does_not_move_is_drawn_as_it_is() -> None:
    assert auto_scale(np.zeros((5, 3)), 4500.0) == 1.0
    assert auto_scale(np.zeros((0, 3)), 0.0) == 1.0
