"""Walls made ready to draw: folds, free edges, light, colour range."""

import numpy as np
import pytest
from numpy.typing import NDArray

from fea.out import surface
from fea.out.scene import Field, Walls


def strip(outline: NDArray[np.float64], along: int, *, shared: bool) -> Walls:
    """Return an outline (c, 2) drawn along x as quads; points shared or one set per quad."""
    c = len(outline)
    x = np.linspace(0.0, 100.0, along + 1)
    points = np.empty((along + 1, c, 3))
    points[..., 0] = x[:, None]
    points[..., 1:] = outline
    at = np.arange((along + 1) * c).reshape(along + 1, c)
    quads = np.stack([at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]], axis=2).reshape(-1, 4)
    flat = points.reshape(-1, 3)
    if not shared:
        flat = flat[quads].reshape(-1, 3)
        quads = np.arange(len(flat)).reshape(-1, 4)
    m = len(quads)
    return Walls(flat, np.zeros_like(flat), quads, np.zeros(m, dtype=np.intp), ("one",),
                 ("s",) * m, ())  # fmt: skip


CHANNEL = np.array([(40.0, 60.0), (20.0, 60.0), (0.0, 60.0), (0.0, 0.0), (0.0, -60.0),
                    (20.0, -60.0), (40.0, -60.0)])  # fmt: skip
TURN = np.linspace(0.0, 2.0 * np.pi, 17)
TUBE = 30.0 * np.stack([np.cos(TURN), np.sin(TURN)], axis=1)
TUBE[-1] = TUBE[0]


@pytest.mark.parametrize("shared", [True, False])
def test_a_channel_shows_its_folds_and_free_edges(shared: bool) -> None:
    ends, _ = surface.fold_edges(strip(CHANNEL, 5, shared=shared))
    # two folds counted for both walls, two lips once, and six walls at each end
    assert len(ends) == 5 * (2 * 2 + 2) + 2 * 6


def test_a_tube_shows_its_ends_alone() -> None:
    walls = strip(TUBE, 5, shared=True)
    ends, _ = surface.fold_edges(walls)
    assert len(ends) == 2 * 16
    assert set(walls.points[ends][:, :, 0].ravel().tolist()) == {0.0, 100.0}


def test_members_that_touch_keep_their_edges() -> None:
    one = strip(CHANNEL, 2, shared=True)
    n = len(one.points)
    two = Walls(
        np.concatenate([one.points, one.points + np.array([100.0, 0.0, 0.0])]),
        np.zeros((2 * n, 3)), np.concatenate([one.quads, one.quads + n]),
        np.repeat([0, 1], len(one.quads)), ("a", "b"), ("s",) * 2 * len(one.quads), (),
    )  # fmt: skip
    assert len(surface.fold_edges(two)[0]) == 2 * len(surface.fold_edges(one)[0])


def test_the_step_inward_lies_in_the_wall_and_crosses_the_edge() -> None:
    walls = strip(CHANNEL, 5, shared=True)
    _, quads = surface.fold_edges(walls)
    _, lines, inward = surface.edges_at_rest(walls)
    along = lines[:, 1] - lines[:, 0]
    normal = surface.normals(walls.points[walls.quads])[quads]
    np.testing.assert_allclose(np.einsum("ij,ij->i", inward, along), 0.0, atol=1e-9)
    np.testing.assert_allclose(np.einsum("ij,ij->i", inward, normal), 0.0, atol=1e-9)
    np.testing.assert_allclose(np.linalg.norm(inward, axis=1), surface.BESIDE)


def test_both_faces_of_a_wall_are_lit_alike() -> None:
    corners = np.random.default_rng(7).normal(size=(20, 4, 3))
    np.testing.assert_allclose(
        surface.brightness(corners), surface.brightness(corners[:, ::-1]), rtol=1e-12
    )


def test_web_flange_and_crossmember_differ_in_light() -> None:
    square = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
    faces = np.stack([np.insert(square, k, 0.0, axis=1) for k in range(3)])
    light = surface.brightness(faces)  # crossmember side, web, flange
    assert light[2] > light[1] + 0.1
    assert light[1] > light[0] + 0.05


@pytest.mark.parametrize(
    ("values", "expected"),
    [([1.0, 9.0], (0.0, 9.0)), ([8.0, 9.0], (8.0, 9.0)), ([-3.0, 5.0], (-3.0, 5.0)),
     ([2.0, np.nan, 9.0], (0.0, 9.0)), ([4.0, 4.0], (4.0, 8.0)), ([0.0, 0.0], (0.0, 1.0)),
     ([np.nan], (0.0, 1.0))],
)  # fmt: skip
def test_the_colour_range(values: list[float], expected: tuple[float, float]) -> None:
    assert surface.value_range(Field("f", "u", np.array(values))) == expected


def test_a_scene_without_walls_has_a_surface_without_walls(sample: object) -> None:
    empty = strip(CHANNEL, 5, shared=True)
    none = Walls(empty.points[:0], empty.movement[:0], empty.quads[:0], empty.member[:0], (), (),
                 ())  # fmt: skip
    ends, quads = surface.fold_edges(none)
    assert ends.shape == (0, 2)
    assert quads.shape == (0,)
