"""Mass and geometric stiffness against what they must give by hand."""

import numpy as np
import pytest

from fea.element import beam, inertia
from fea.element.beam import Beams


def bars(n: int, length: float, turn: float = 0.3) -> Beams:
    """n equal bars end to end along a skew direction, channel-like offsets."""
    one = np.ones(n)
    c, s = np.cos(turn), np.sin(turn)
    axes = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    return Beams(
        length=one * length,
        axes=np.repeat(axes[None], n, axis=0),
        arms=np.zeros((n, 2, 3)),
        centroid=np.tile([-12.0, 3.0], (n, 1)),
        shear_centre=np.tile([20.0, 3.0], (n, 1)),
        held=np.zeros((n, 2, 3)),
        EA=one * 1.6e8,
        EI1=one * 7e11,
        EI2=one * 7e10,
        GJ=one * 4e8,
        ECw=one * 2.6e14,
        shear=np.zeros((n, 2, 2)),
    )


def test_rigid_translation_weighs_the_whole_mass():
    beams = bars(1, 900.0)
    M = inertia.mass(beams, np.array([8e-6]), np.array([[0.02, 0.003, 30.0]]))[0]
    for c in range(3):
        u = np.zeros(14)
        u[[c, 7 + c]] = 1.0
        assert u @ M @ u == pytest.approx(8e-6 * 900.0, rel=1e-12)


def test_rigid_turn_gives_the_polar_inertia_about_the_node_line():
    beams = bars(1, 900.0)
    rotary = np.array([[0.02, 0.003, 30.0]])
    M = inertia.mass(beams, np.array([8e-6]), rotary)[0]
    u = np.zeros(14)
    u[3:6] = u[10:13] = beams.axes[0, 0]
    # Steiner: the centroid runs 12 and 3 mm off the line of the nodes.
    expected = 900.0 * (0.02 + 0.003 + 8e-6 * (12.0**2 + 3.0**2))
    assert u @ M @ u == pytest.approx(expected, rel=1e-12)


def test_mass_is_symmetric_and_positive():
    M = inertia.mass(bars(1, 400.0), np.array([8e-6]), np.array([[0.02, 0.003, 30.0]]))[0]
    assert np.allclose(M, M.T, rtol=0, atol=1e-12 * abs(M).max())
    assert np.linalg.eigvalsh(M / np.sqrt(np.outer(M.diagonal(), M.diagonal())))[0] > 0.0


def column(n: int, length: float) -> tuple[np.ndarray, np.ndarray]:
    """Assemble a straight column of n elements, centroid on the nodes: K and Kg of unit load."""
    beams = bars(n, length / n, turn=0.0)
    beams = Beams(**{**vars(beams), "centroid": np.zeros((n, 2)), "shear_centre": np.zeros((n, 2))})
    K, G = np.zeros((2, 7 * (n + 1), 7 * (n + 1)))
    stiff = beam.stiffness(beams)
    geometric = inertia.geometric_stiffness(beams, -np.ones(n), np.full(n, 1e3))
    for e in range(n):
        part = slice(7 * e, 7 * e + 14)
        K[part, part] += stiff[e]
        G[part, part] += geometric[e]
    return K, G


def test_euler_column_pinned_both_ends():
    # Euler: P = pi^2 E I / L^2 about the weak axis, here z' (motion in y).
    n, length = 8, 2000.0
    K, G = column(n, length)
    freedom = [7 * k + c for k in range(n + 1) for c in (1, 5)]
    freedom = [f for f in freedom if f not in (1, 7 * n + 1)]
    from scipy.linalg import eigh

    load = 1.0 / eigh(-G[np.ix_(freedom, freedom)], K[np.ix_(freedom, freedom)])[0][-1]
    # Cubic shapes, 8 elements: Euler's load is met from above within 4e-5.
    exact = np.pi**2 * 7e10 / length**2
    assert exact < load < exact * (1.0 + 4e-5)


def test_geometric_stiffness_of_a_rigid_swing_is_a_string():
    # A bar under tension N swung by an angle a pulls back with N a: energy N L a^2 / 2.
    beams = bars(1, 700.0, turn=0.0)
    G = inertia.geometric_stiffness(beams, np.array([1000.0]), np.array([1e3]))[0]
    u = np.zeros(14)
    u[[5, 12]] = 1.0
    u[8] = 700.0
    assert u @ G @ u == pytest.approx(1000.0 * 700.0, rel=1e-12)


def test_a_rigid_end_weighs_what_its_metal_does_about_any_axis():
    # One end of 120 mm along the bar: mass, moment and inertia of a straight bar whose
    # centroid runs 12 and 3 mm beside the arm, with its slices' own inertia.
    beams = bars(1, 900.0, turn=0.4)
    arms = np.zeros((1, 2, 3))
    arms[0, 0] = 120.0 * beams.axes[0, 0]
    beams = Beams(**{**vars(beams), "arms": arms})
    own = np.array([[0.02, 0.003, 30.0]])
    M = inertia.arm_mass(beams, np.array([8e-6]), own)[0]
    mass = 8e-6 * 120.0
    assert M[:3, :3] == pytest.approx(mass * np.eye(3), abs=1e-15)
    assert not M[7:].any()
    about = beams.axes[0] @ M[3:6, 3:6] @ beams.axes[0].T
    y, z, square = -12.0, 3.0, 120.0**2 / 3.0
    assert about[0, 0] == pytest.approx(120.0 * 0.023 + mass * (y**2 + z**2), rel=1e-12)
    assert about[1, 1] == pytest.approx(120.0 * 0.02 + mass * (square + z**2), rel=1e-12)
    assert about[2, 2] == pytest.approx(120.0 * 0.003 + mass * (square + y**2), rel=1e-12)
    assert about[0, 1] == pytest.approx(-mass * 60.0 * y, rel=1e-12)
    assert about[1, 2] == pytest.approx(-mass * y * z, rel=1e-12)


def test_a_held_end_moves_the_metal_that_warping_moves():
    # The inertia of chi at a held end is that of the axial shift it makes, and of the turns.
    beams = bars(1, 300.0)
    held = np.zeros((1, 2, 3))
    held[0, :, 0] = 400.0
    shifted = Beams(**{**vars(beams), "held": held})
    one = (np.array([8e-6]), np.array([[0.02, 0.003, 30.0]]))
    u = np.zeros(14)
    u[[6, 13]] = 1.0
    more = u @ (inertia.mass(shifted, *one)[0] - inertia.mass(beams, *one)[0]) @ u
    assert more == pytest.approx(8e-6 * 300.0 * 400.0**2, rel=1e-12)
