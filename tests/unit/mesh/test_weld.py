"""Points found on quadrilaterals, and what ties them there."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fea.mesh import weld
from fea.mesh.tie import Ties
from fea.solve.constrain import eliminate

QUADS = np.array(
    [
        [[0.0, 0.0, 0.0], [20.0, 0.0, 0.0], [22.0, 10.0, 0.0], [1.0, 12.0, 0.0]],
        [[20.0, 0.0, 0.0], [40.0, 0.0, 0.0], [40.0, 10.0, 0.0], [22.0, 10.0, 0.0]],
    ]
)
place = st.floats(-1.0, 1.0)


@given(place, place, st.floats(-3.0, 3.0))
def test_a_point_above_a_quad_is_found_with_its_bilinear_weights(x: float, y: float, z: float):
    want = 0.25 * (1.0 + weld.SIGN_X * x) * (1.0 + weld.SIGN_Y * y)
    point = want @ QUADS[0] + [0.0, 0.0, z]
    found = weld.locate(point[None], QUADS, 5.0)
    there = found.weight[0] @ QUADS[found.quad[0]]
    np.testing.assert_allclose(there, point - [0.0, 0.0, z], atol=1e-6)
    np.testing.assert_allclose(found.gap[0], [0.0, 0.0, z], atol=1e-6)
    assert found.weight[0].sum() == pytest.approx(1.0)


def test_a_point_out_of_reach_or_with_nothing_there_is_not_found() -> None:
    far = np.array([[10.0, 5.0, 4.0], [-6.0, 5.0, 0.0]])
    assert weld.locate(far, QUADS, 3.0).quad.tolist() == [-1, -1]
    assert weld.locate(far, np.zeros((0, 4, 3)), 3.0).quad.tolist() == [-1, -1]
    assert weld.locate(far, QUADS, 6.5).quad.tolist() == [0, 0]


def test_a_ray_meets_the_quads_in_its_way_only() -> None:
    t = weld.hits(
        np.array([[10.0, 5.0, -7.0], [60.0, 5.0, -7.0]]), np.array([0.0, 0.0, 1.0]), QUADS
    )
    assert t[0, 0] == pytest.approx(7.0)
    assert np.all(np.isnan([t[0, 1], *t[1]]))
    along = weld.hits(np.array([[-5.0, 5.0, 0.0]]), np.array([1.0, 0.0, 0.0]), QUADS)
    assert np.all(np.isnan(along))


def test_what_is_tied_keeps_to_a_rigid_motion() -> None:
    points = np.vstack([QUADS.reshape(-1, 3)[:4], [[9.0, 4.0, 6.0], [3.0, 8.0, -2.0]]])
    ties = Ties(points)
    assert ties.attach(np.array([4, 5]), np.array([[0, 1, 2, 3]]), 10.0) == 2
    assert ties.attach(np.array([4]), np.array([[0, 1, 2, 3]]), 10.0) == 0  # once is enough
    links = eliminate(ties.rows, ties.slaves, 6 * len(points))
    turn, move = np.array([0.2, -0.4, 0.3]), np.array([1.0, 2.0, -3.0])
    u = np.hstack([move + np.cross(turn, points), np.tile(turn, (len(points), 1))]).ravel()
    np.testing.assert_allclose(links.matrix @ u[links.independent], u, atol=1e-12)
