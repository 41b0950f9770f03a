"""The shear panel: its strain on any quadrilateral, patches of it, and a closed box."""

import numpy as np
import pytest

from fea.element import beam, panel
from fea.element.beam import Beams
from fea.element.panel import Panels

RECTANGLE = np.array([[0.0, 0, 0], [900, 0, 0], [900, 400, 0], [0, 400, 0]])
TRAPEZE = np.array([[0.0, 0, 0], [900, 0, 0], [700, 400, 0], [200, 400, 0]])
PARALLELOGRAM = np.array([[0.0, 0, 0], [900, 0, 0], [1100, 400, 0], [200, 400, 0]])
ROUGH = np.array([[0.0, 0, 0], [950, -60, 0], [810, 430, 0], [120, 340, 0]])
WARPED = ROUGH + np.outer([9.0, -7.0, 4.0, -3.0], [0.0, 0.0, 1.0])
G, T = 79000.0, 0.9

SHAPES = pytest.mark.parametrize(
    "corners",
    [RECTANGLE, TRAPEZE, PARALLELOGRAM, ROUGH],
    ids=["rectangle", "trapeze", "parallelogram", "rough"],
)


def turned(seed: int) -> np.ndarray:
    Q = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))[0]
    return Q * np.linalg.det(Q)


def panels(*corners: np.ndarray) -> Panels:
    n = len(corners)
    return Panels(np.array(corners, dtype=float), np.full(n, T), np.full(n, G))


def energy(corners: np.ndarray, u: np.ndarray) -> float:
    K = panel.stiffness(panels(corners))[0]
    return 0.5 * float(u.ravel() @ K @ u.ravel())


@SHAPES
def test_a_linear_field_has_its_own_shear_strain(corners: np.ndarray) -> None:
    gradient = np.random.default_rng(11).normal(size=(3, 3))
    Q = turned(5)
    gradient, corners = Q @ gradient @ Q.T, corners @ Q.T + [300.0, -50.0, 700.0]
    x, y, _ = panel.axes(corners[None])[0]
    u = corners @ gradient.T
    shear = x @ (gradient + gradient.T) @ y
    assert float(panel.shear_rows(corners[None])[0] @ u.ravel()) == pytest.approx(shear, rel=1e-12)
    size = 0.5 * G * T * shear**2 * panel.area(corners[None])[0]
    assert energy(corners, u) == pytest.approx(size, rel=1e-12)


def test_the_mean_strain_is_that_of_the_bilinear_field() -> None:
    # The slow way: Gauss points, exact for the area integral of a bilinear map's slopes.
    u = np.random.default_rng(3).normal(size=(4, 3))
    frame = panel.axes(ROUGH[None])[0]
    plane, moved = ROUGH @ frame[:2].T, u @ frame[:2].T
    signs = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    total = area = 0.0
    for xi, eta in signs / np.sqrt(3.0):
        slopes = 0.25 * np.stack(
            [signs[:, 0] * (1 + eta * signs[:, 1]), signs[:, 1] * (1 + xi * signs[:, 0])]
        )
        J = slopes @ plane
        by = np.linalg.solve(J, slopes) @ moved  # row: by x, y; column: of u, v
        total += (by[1, 0] + by[0, 1]) * np.linalg.det(J)
        area += np.linalg.det(J)
    assert area == pytest.approx(panel.area(ROUGH[None])[0], rel=1e-12)
    assert total / area == pytest.approx(panel.shear_rows(ROUGH[None])[0] @ u.ravel(), rel=1e-12)


@SHAPES
def test_stretching_costs_nothing(corners: np.ndarray) -> None:
    x, y, _ = panel.axes(corners[None])[0]
    b = panel.shear_rows(corners[None])[0]
    assert b @ (corners @ (np.outer(x, y) + np.outer(y, x))).ravel() == pytest.approx(2.0)
    for axis in (x, y):
        assert abs(b @ (corners @ np.outer(axis, axis)).ravel()) < 1e-13


@pytest.mark.parametrize("corners", [RECTANGLE, ROUGH, WARPED], ids=["plane", "rough", "warped"])
def test_rigid_motions_cost_nothing(corners: np.ndarray) -> None:
    corners = corners @ turned(9).T + [200.0, 30.0, -80.0]
    K = panel.stiffness(panels(corners))[0]
    assert np.array_equal(K, K.T)
    for k in range(3):
        axis = np.eye(3)[k]
        push, turn = np.tile(axis, 4), np.cross(axis, corners).ravel()
        # Round-off over the work of the like motions without what cancels.
        for u in (push, turn):
            assert np.max(np.abs(K @ u)) < 1e-12 * np.max(np.abs(K)) * np.max(np.abs(u))
    assert np.linalg.matrix_rank(K, tol=1e-9 * np.max(np.abs(K))) == 1


@pytest.mark.parametrize("corners", [RECTANGLE, ROUGH, WARPED], ids=["plane", "rough", "warped"])
def test_it_matters_not_where_it_is_begun_nor_from_which_side_it_is_seen(
    corners: np.ndarray,
) -> None:
    K = panel.stiffness(panels(corners))[0]
    for order in ([1, 2, 3, 0], [2, 3, 0, 1], [3, 2, 1, 0]):
        again = panel.stiffness(panels(corners[order]))[0].reshape(4, 3, 4, 3)
        back = np.argsort(order)
        again = again[back][:, :, back].reshape(12, 12)
        assert np.max(np.abs(again - K)) < 1e-12 * np.max(np.abs(K))


def test_many_at_once_are_as_one_by_one() -> None:
    every = [RECTANGLE, TRAPEZE, PARALLELOGRAM, ROUGH, WARPED]
    together = panel.stiffness(panels(*every))
    assert together.shape == (5, 12, 12)
    for K, corners in zip(together, every, strict=True):
        assert np.max(np.abs(K - panel.stiffness(panels(corners))[0])) == 0.0


@pytest.mark.parametrize("skew", [0.0, 0.4])
def test_a_patch_in_even_shear_is_in_balance(skew: float) -> None:
    """Uneven rows and columns of panels under a linear field: no force on inner nodes.

    Their axes must agree for that, as they do in rectangles and parallelograms: a sheet
    without normal stress cannot hand a shear stress on to one whose axes are turned.
    """
    xs, ys = np.array([0.0, 300, 420, 1000]), np.array([0.0, 90, 330, 500])
    points = np.array([[x + skew * y, y, 0.0] for y in ys for x in xs])
    quads = np.array([[4 * j + i, 4 * j + i + 1, 4 * j + i + 5, 4 * j + i + 4]
                      for j in range(3) for i in range(3)])  # fmt: skip
    gradient = np.random.default_rng(7).normal(size=(3, 3))
    u = points @ gradient.T
    blocks = panel.stiffness(panels(*points[quads]))
    force = np.zeros((16, 3))
    for K, quad in zip(blocks, quads, strict=True):
        force[quad] += (K @ u[quad].ravel()).reshape(4, 3)
    inner = [5, 6, 9, 10]
    assert np.max(np.abs(force[inner])) < 1e-11 * np.max(np.abs(force))
    x, y, _ = panel.axes(points[quads][:1])[0]
    shear = x @ (gradient + gradient.T) @ y
    whole = 1000.0 * 500.0
    assert 0.5 * np.sum(force * u) == pytest.approx(0.5 * G * T * whole * shear**2, rel=1e-12)


def test_a_patch_of_rough_quadrilaterals_holds_the_energy_of_its_own_axes() -> None:
    points = np.array([[0.0, 0], [24, 0], [24, 12], [0, 12], [4, 2], [18, 3], [16, 8], [8, 8]])
    points = np.column_stack([points, np.zeros(8)])
    quads = np.array([[0, 1, 5, 4], [1, 2, 6, 5], [2, 3, 7, 6], [3, 0, 4, 7], [4, 5, 6, 7]])
    gradient = np.random.default_rng(8).normal(size=(3, 3))
    u = points @ gradient.T
    expected = 0.0
    for corners in points[quads]:
        x, y, _ = panel.axes(corners[None])[0]
        shear = x @ (gradient + gradient.T) @ y
        expected += 0.5 * G * T * panel.area(corners[None])[0] * shear**2
    found = sum(energy(points[q], u[q]) for q in quads)
    assert panel.area(points[quads]).sum() == pytest.approx(24.0 * 12.0, rel=1e-12)
    assert found == pytest.approx(expected, rel=1e-12)


def test_order_and_flatness_are_seen() -> None:
    bow_tie = RECTANGLE[[0, 2, 1, 3]]
    bay = np.array([[0.0, 0, 0], [10, 0, 0], [2, 2, 0], [0, 10, 0]])
    assert panel.is_convex(np.array([RECTANGLE, ROUGH, WARPED, bay, bow_tie])).tolist() == [
        True, True, True, False, False,
    ]  # fmt: skip
    lifted = RECTANGLE + np.outer([1.0, -1.0, 1.0, -1.0], [0.0, 0.0, 6.0])
    assert panel.flatness(np.array([RECTANGLE, lifted])) == pytest.approx([0.0, 6.0], abs=1e-12)


def boom(ends: np.ndarray) -> Beams:
    n = len(ends)
    step = ends[:, 1] - ends[:, 0]
    length = np.linalg.norm(step, axis=1)
    one = np.ones(n)
    return Beams(
        length=length,
        axes=beam.beam_axes(step / length[:, None], np.tile([0.0, 0, 1], (n, 1)), 0.0 * one),
        arms=np.zeros((n, 2, 3)),
        centroid=np.zeros((n, 2)),
        shear_centre=np.zeros((n, 2)),
        held=np.zeros((n, 2, 3)),
        EA=2e7 * one,
        EI1=3e9 * one,
        EI2=2e9 * one,
        GJ=1e9 * one,
        ECw=0.0 * one,
        shear=np.tile(np.eye(2) * 1e-7, (n, 1, 1)),
    )


@pytest.mark.parametrize("bays", [1, 3])
def test_a_closed_box_twists_as_bredt_has_it(bays: int) -> None:
    """K = 4 A^2 G / (L times the sum of side over wall) (R. Bredt 1896; C. Batho 1915).

    Four walls of different thickness, corner booms, a diaphragm at every station.
    """
    wide, deep, length = 1200.0, 500.0, 1800.0
    walls = np.array([0.7, 1.1, 0.9, 1.6])  # bottom, right, top, left
    round_it = np.array([[-wide, -deep], [wide, -deep], [wide, deep], [-wide, deep]]) / 2.0
    # Uneven bays.
    stations = length * np.linspace(0.0, 1.0, bays + 1) ** 1.3
    points = np.array([[x, y, z] for x in stations for y, z in round_it])
    quads, t = [], []
    for b in range(bays):
        for k in range(4):
            i, j = 4 * b + k, 4 * b + (k + 1) % 4
            quads.append([i, j, j + 4, i + 4])
            t.append(walls[k])
    for s in range(bays + 1):
        quads.append([4 * s, 4 * s + 1, 4 * s + 2, 4 * s + 3])
        t.append(1.0)
    sheets = Panels(points[quads], np.array(t), np.full(len(t), G))
    pairs = np.array([[4 * b + k, 4 * b + k + 4] for b in range(bays) for k in range(4)])
    n = len(points)
    K = np.zeros((n, 6, n, 6))
    for quad, block in zip(quads, panel.stiffness(sheets).reshape(-1, 4, 3, 4, 3), strict=True):
        for a in range(4):
            for b in range(4):
                K[quad[a], :3, quad[b], :3] += block[a, :, b]
    for pair, block in zip(pairs, beam.stiffness(boom(points[pairs])), strict=True):
        block = block.reshape(2, 7, 2, 7)
        for a in range(2):
            for b in range(2):
                K[pair[a], :, pair[b], :] += block[a, :6, b, :6]
    K = K.reshape(6 * n, 6 * n)
    # Unit torque: Bredt's flow 1/2A on the walls' edges at both ends, half to each corner.
    area = wide * deep
    f = np.zeros((n, 6))
    for k in range(4):
        j = (k + 1) % 4
        along = round_it[j] - round_it[k]
        for node in (k, j):
            f[node, 1:3] -= 0.5 * along / (2.0 * area)
            f[4 * bays + node, 1:3] += 0.5 * along / (2.0 * area)
    scale = 1.0 / np.sqrt(np.diagonal(K))
    # Lengths of mm and radians weigh alike; the six rigid motions are left out by lstsq.
    unit = K * np.outer(scale, scale)
    u = (scale * np.linalg.lstsq(unit, scale * f.ravel(), rcond=1e-12)[0]).reshape(n, 6)

    def angle(start: int) -> float:
        return float((u[start + 1, 2] - u[start, 2]) / wide)

    around = np.array([wide, deep, wide, deep])
    expected = 4.0 * area**2 * G / (length * np.sum(around / walls))
    assert 1.0 / (angle(4 * bays) - angle(0)) == pytest.approx(expected, rel=1e-9)
