"""The software renderer against a slow twin, and what hides what."""

import numpy as np
from numpy.typing import NDArray

from fea.out import finish, raster
from fea.out.camera import Camera, Window, looking
from fea.out.surface import Surface

LEVEL = looking(0.0, 0.0)
WINDOW = Window(0.0, 40.0, 0.0, 30.0)
SIZE = (40, 30)


def slow(
    corners: NDArray[np.float64], colours: NDArray[np.float64], camera: Camera
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return colour and nearness by asking every pixel about every triangle."""
    image, near = np.ones((30, 40, 3)), np.full((30, 40), -np.inf)
    seen = WINDOW.to_pixels(camera.project(corners), SIZE)
    for quad, paint in zip(seen, colours, strict=True):
        for i, j, k in ((0, 1, 2), (0, 2, 3)):
            a, b, c = quad[i], quad[j], quad[k]
            matrix = np.array([[a[0], b[0], c[0]], [a[1], b[1], c[1]], [1.0, 1.0, 1.0]])
            for row in range(30):
                for column in range(40):
                    share = np.linalg.solve(matrix, [column + 0.5, row + 0.5, 1.0])
                    depth = share @ [a[2], b[2], c[2]]
                    if share.min() >= 0.0 and depth > near[row, column]:
                        near[row, column] = depth
                        image[row, column] = share @ paint[[i, j, k]]
    return image, near


def test_it_agrees_with_the_slow_twin() -> None:
    rng = np.random.default_rng(23)
    # a few crossing quadrilaterals, some reaching over the window's border
    middle = rng.uniform((0.0, -20.0, 0.0), (40.0, 20.0, 30.0), size=(6, 1, 3))
    spread = np.array([(-9.0, -6.0), (9.0, -7.0), (8.0, 7.0), (-8.0, 6.0)])
    corners = middle + np.stack([spread[:, 0], rng.normal(size=4) * 5.0, spread[:, 1]], axis=1)
    colours = rng.random((6, 4, 3))
    fast = raster.render(corners, colours, LEVEL, WINDOW, size=SIZE)
    image, near = slow(corners, colours, LEVEL)
    there = np.isfinite(near)
    np.testing.assert_array_equal(np.isfinite(fast.nearness), there)
    np.testing.assert_allclose(fast.nearness[there], near[there], atol=1e-4)  # single precision
    np.testing.assert_allclose(fast.colour, image, atol=1e-5)


def test_a_rectangle_covers_its_area_once() -> None:
    corners = np.array([[[5.0, 0.0, 5.0], [25.0, 0.0, 5.0], [25.0, 0.0, 15.0], [5.0, 0.0, 15.0]]])
    seen = raster.render(corners, np.zeros((1, 4, 3)), LEVEL, WINDOW, size=SIZE)
    rows, columns = np.nonzero(np.isfinite(seen.nearness))
    assert len(rows) == 20 * 10
    assert (rows.min(), rows.max(), columns.min(), columns.max()) == (15, 24, 5, 24)


def test_an_end_that_butts_against_a_web_shows_inside_and_not_through_it() -> None:
    web = np.array([[-200.0, 0.0, 0.0], [200.0, 0.0, 0.0], [200.0, 0.0, 150.0], [-200, 0.0, 150.0]])
    cross = np.array([[0.0, 0.0, 100.0], [0.0, 300.0, 100.0], [60.0, 300.0, 100.0],
                      [60.0, 0.0, 100.0]])  # fmt: skip
    end = np.array([[[0.0, 0.0, 100.0], [60.0, 0.0, 100.0]]])
    both = np.stack([web, cross])
    shape = Surface(both, np.zeros((2, 4, 3)), end, end + np.array([0.0, 6.0, 0.0]))
    for azimuth, in_sight in ((0.3, False), (np.pi + 0.3, True)):
        camera = looking(azimuth, np.deg2rad(35.0))
        window = Window(-400.0, 400.0, -300.0, 300.0)
        buffers = raster.render(both, shape.colours, camera, window, size=(400, 300))
        assert finish.visible_lines(shape, buffers, camera, window).any() == in_sight


def test_hollows_darken_the_inside_of_a_corner_and_not_a_plain_wall() -> None:
    wall = np.zeros((60, 60), dtype=np.float32)
    step = wall.copy()
    step[:, 30:] = 80.0
    colour = np.ones((60, 60, 3), dtype=np.float32)
    flat = finish.hollows(raster.Buffers(colour, wall), 10.0)
    np.testing.assert_allclose(flat, 1.0, atol=1e-5)
    dark = finish.hollows(raster.Buffers(colour, step), 10.0)
    assert dark[30, 28] < 0.92
    np.testing.assert_allclose(dark[30, [5, 55]], 1.0, atol=1e-5)


def test_halving_keeps_the_mean() -> None:
    image = np.random.default_rng(3).random((8, 12, 3)).astype(np.float32)
    small = finish.halve(image, 2)
    assert small.shape == (4, 6, 3)
    np.testing.assert_allclose(small[1, 2], image[2:4, 4:6].mean(axis=(0, 1)), rtol=1e-6)
