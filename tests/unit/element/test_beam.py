"""The beam element: what must hold of any element, and twins written another way."""

from dataclasses import replace

import numpy as np
import pytest
from random_beams import condensed_chain, natural_stiffness, piece_of, random_beams

from fea.element import beam, torsion

SEED = 20177


def rigid_motions(points):
    """Six rigid motions of nodes at `points`, shape (6, 7 n); warping is no part of them."""
    motions = np.zeros((6, len(points), 7))
    for c in range(3):
        motions[c, :, c] = 1.0
        axis = np.eye(3)[c]
        motions[3 + c, :, :3] = np.cross(axis, points)
        motions[3 + c, :, 3 + c] = 1.0
    return motions.reshape(6, -1)


def node_points(beams, k):
    """Where the nodes of element k are, its own start at the origin."""
    start = -beams.arms[k, 0]
    end = beams.length[k] * beams.axes[k, 0] - beams.arms[k, 1]
    return np.array([start, end])


def scaled(K):
    size = 1.0 / np.sqrt(np.diagonal(K))
    return K * size[:, None] * size[None, :]


def test_stiffness_is_symmetric():
    K = beam.stiffness(random_beams(40, SEED))
    largest = np.abs(K).max(axis=(1, 2), keepdims=True)
    assert np.max(np.abs(K - np.swapaxes(K, 1, 2)) / largest) < 1e-14


def test_rigid_motions_cost_nothing_and_there_are_six():
    beams = random_beams(40, SEED)
    K = beam.stiffness(beams)
    for k in range(len(K)):
        motions = rigid_motions(node_points(beams, k))
        strain = motions @ K[k] @ motions.T
        gross = np.abs(motions) @ np.abs(K[k]) @ np.abs(motions).T
        assert np.all(np.abs(strain) <= 1e-12 * gross)
        assert np.all(np.abs(motions @ K[k]) <= 1e-12 * (np.abs(motions) @ np.abs(K[k])))
        values = np.linalg.eigvalsh(scaled(K[k]))
        assert np.all(np.abs(values[:6]) < 1e-12)
        assert np.all(values[6:] > 1e-9)


def test_held_wall_moves_with_the_node():
    """With no warping about, a held wall changes nothing; with it, the plane turns on top."""
    beams = random_beams(5, SEED)
    free = replace(beams, held=np.zeros_like(beams.held))
    with_held, without = beam.geometry(beams), beam.geometry(free)
    chi = [6, 13]
    others = np.setdiff1d(np.arange(14), chi)
    assert np.array_equal(with_held[:, :, others], without[:, :, others])
    turned = with_held[:, 4, 6] - without[:, 4, 6], with_held[:, 5, 6] - without[:, 5, 6]
    assert np.allclose(turned[0], beams.held[:, 0, 1], rtol=1e-14)
    assert np.allclose(turned[1], beams.held[:, 0, 2], rtol=1e-14)


@pytest.mark.parametrize("lam", [1e-3, 0.29, 0.5, 2.0, 20.0, 200.0])
@pytest.mark.parametrize("pieces", [2, 3, 7])
def test_splitting_changes_nothing(lam, pieces):
    beams = random_beams(6, SEED, lam=lam)
    whole = natural_stiffness(beams)
    part = natural_stiffness(piece_of(beams, pieces))
    for k in range(len(whole)):
        K, _ = condensed_chain(part[k], np.zeros(14), pieces)
        size = np.sqrt(np.diagonal(whole[k]))
        assert np.max(np.abs(K - whole[k]) / np.outer(size, size)) < 1e-9


def test_splitting_with_offsets_changes_nothing():
    """Offsets and a held wall along the whole element, as in a rail cut at a joint."""
    beams = random_beams(6, SEED)
    held = np.repeat(beams.held[:, :1], 2, axis=1)
    whole = replace(beams, arms=np.zeros_like(beams.arms), held=held)
    part = replace(whole, length=whole.length / 4)
    K, K_part = beam.stiffness(whole), beam.stiffness(part)
    for k in range(len(K)):
        chain, _ = condensed_chain(K_part[k], np.zeros(14), 4)
        size = np.sqrt(np.diagonal(K[k]))
        assert np.max(np.abs(chain - K[k]) / np.outer(size, size)) < 1e-9


def textbook_stiffness(beams, k):
    """One element without offsets, entry by entry as the textbooks print it (slow twin).

    Bending with shear after Przemieniecki (1968), sec. 5.6; torsion after Vlasov.  Shears
    must not be coupled.
    """
    L, GJ, ECw = beams.length[k], beams.GJ[k], beams.ECw[k]
    K = np.zeros((14, 14))
    for i, j, sign in ((0, 0, 1), (0, 7, -1), (7, 0, -1), (7, 7, 1)):
        K[i, j] = sign * beams.EA[k] / L
    for v, t, EI, s, turn in (
        (1, 5, beams.EI2[k], beams.shear[k, 0, 0], 1.0),
        (2, 4, beams.EI1[k], beams.shear[k, 1, 1], -1.0),
    ):
        phi = 12.0 * EI * s / L**2
        c = EI / (L**3 * (1.0 + phi))
        at = [v, t, v + 7, t + 7]
        block = c * np.array(
            [
                [12.0, 6.0 * L * turn, -12.0, 6.0 * L * turn],
                [6.0 * L * turn, (4.0 + phi) * L**2, -6.0 * L * turn, (2.0 - phi) * L**2],
                [-12.0, -6.0 * L * turn, 12.0, -6.0 * L * turn],
                [6.0 * L * turn, (2.0 - phi) * L**2, -6.0 * L * turn, (4.0 + phi) * L**2],
            ]
        )
        K[np.ix_(at, at)] += block
    w = np.sqrt(GJ / ECw)
    x, sh, ch = w * L, np.sinh(w * L), np.cosh(w * L)
    d = 2.0 * (1.0 - ch) + x * sh
    a, b = GJ * w * sh / d, GJ * (ch - 1.0) / d
    e, f = GJ / w * (x * ch - sh) / d, GJ / w * (sh - x) / d
    at = [3, 6, 10, 13]
    K[np.ix_(at, at)] += np.array([[a, b, -a, b], [b, e, -b, f], [-a, -b, a, -b], [b, f, -b, e]])
    return K


def test_natural_stiffness_is_the_textbooks():
    beams = random_beams(20, SEED)
    apart = beams.shear * np.eye(2)
    beams = replace(beams, shear=apart)
    K = natural_stiffness(beams)
    for k in range(len(K)):
        twin = textbook_stiffness(beams, k)
        size = np.sqrt(np.diagonal(twin))
        assert np.max(np.abs(K[k] - twin) / np.outer(size, size)) < 1e-12


def test_geometry_is_the_motion_of_points():
    """Slow twin: each point's motion from the node's, one cross product at a time."""
    beams = random_beams(10, SEED)
    rng = np.random.default_rng(SEED)
    u = rng.normal(size=(10, 14))
    natural = np.einsum("nij,nj->ni", beam.geometry(beams), u)
    for k in range(10):
        x, y, z = beams.axes[k]
        for end in (0, 1):
            move, turn, chi = (u[k, 7 * end + a : 7 * end + b] for a, b in ((0, 3), (3, 6), (6, 7)))
            origin = move + np.cross(turn, beams.arms[k, end])
            section = turn + chi * (beams.held[k, end, 1] * y + beams.held[k, end, 2] * z)
            c = beams.centroid[k, 0] * y + beams.centroid[k, 1] * z
            s = beams.shear_centre[k, 0] * y + beams.shear_centre[k, 1] * z
            u_c = (origin + np.cross(section, c)) @ x + chi[0] * beams.held[k, end, 0]
            # Sideways motion of the shear centre; the plane's turn by warping is axial there.
            at_s = origin + np.cross(turn, s)
            want = [u_c, at_s @ y, at_s @ z, section @ x, section @ y, section @ z, chi[0]]
            assert np.allclose(natural[k, 7 * end : 7 * end + 7], want, rtol=1e-12, atol=1e-10)


def test_shear_coupling_is_exact():
    """The deflection of a cantilever under both shears is bending plus shear flexibility."""
    beams = random_beams(8, SEED)
    K = natural_stiffness(beams)
    for k in range(8):
        L = beams.length[k]
        tip = np.linalg.inv(K[k][7:, 7:])
        bend = np.diag([L**3 / (3 * beams.EI2[k]), L**3 / (3 * beams.EI1[k])])
        assert np.allclose(tip[1:3, 1:3], bend + L * beams.shear[k], rtol=1e-11, atol=0.0)


def test_no_warping_stiffness_is_plain_torsion():
    beams = random_beams(3, SEED)
    plain = replace(beams, ECw=np.zeros(3))
    K = natural_stiffness(plain)
    twist = [3, 10]
    for k in range(3):
        want = plain.GJ[k] / plain.length[k] * np.array([[1.0, -1.0], [-1.0, 1.0]])
        assert np.allclose(K[k][np.ix_(twist, twist)], want, rtol=1e-14)
        assert not np.any(K[k][[6, 13]])
        assert not np.any(K[k][:, [6, 13]])


@pytest.mark.parametrize("lam", [1e-2, 0.29, 1.0, 5.0, 80.0])
def test_even_loads_of_a_split_element(lam):
    """All six kinds of even load, cut in five: the same forces at the two ends."""
    beams = random_beams(6, SEED, lam=lam)
    load = np.random.default_rng(SEED).normal(size=(6, 6)) * [1.0, 1.0, 1.0, 50.0, 50.0, 50.0]
    part = piece_of(beams, 5)
    K, f = natural_stiffness(part), beam.end_loads(part, load)
    want = beam.end_loads(beams, load)
    for k in range(6):
        _, got = condensed_chain(K[k], f[k], 5)
        size = np.tile(np.array([1, 1, 1, 100, 100, 100, 1e4]), 2) * np.abs(load[k]).max()
        assert np.max(np.abs(got - want[k]) / (size * beams.length[k])) < 1e-10


@pytest.mark.parametrize("kind", range(6))
def test_even_loads_against_many_point_loads(kind):
    """Point loads on many nodes come to the even load as 1/n^2, the trapezium rule's order.

    Two meshes and that order give the limit.
    """
    beams = random_beams(1, SEED)
    load = np.zeros((1, 6))
    load[0, kind] = 1.0
    want = beam.end_loads(beams, load)[0]
    ends = {}
    for n in (16, 32):
        part = piece_of(beams, n)
        lumps = np.zeros(14)
        lumps[[kind, kind + 7]] = part.length[0] / 2.0  # u, v, w, turns: in the load's order
        _, ends[n] = condensed_chain(natural_stiffness(part)[0], lumps, n)
    limit = (4.0 * ends[32] - ends[16]) / 3.0
    assert np.max(np.abs(limit - want)) < 1e-6 * np.max(np.abs(want))


def test_even_loads_are_statically_equivalent():
    beams = random_beams(6, SEED)
    rng = np.random.default_rng(SEED)
    load = rng.normal(size=(6, 6))
    f = beam.end_loads(beams, load)
    L = beams.length
    total = f[:, :7] + f[:, 7:]
    assert np.allclose(total[:, :4], load[:, :4] * L[:, None], rtol=1e-12)
    # Moments about the start: end forces on their arm L, against the load's.
    about_z = total[:, 5] + f[:, 8] * L
    about_y = total[:, 4] - f[:, 9] * L
    assert np.allclose(about_z, load[:, 5] * L + load[:, 1] * L**2 / 2, rtol=1e-11)
    assert np.allclose(about_y, load[:, 4] * L - load[:, 2] * L**2 / 2, rtol=1e-11)


def test_even_load_turns_force_to_the_elements_axes():
    """A load at a point is the force there: resolved by hand, element by element."""
    beams = random_beams(5, SEED)
    rng = np.random.default_rng(SEED)
    force, point = rng.normal(size=(5, 3)), rng.uniform(-50.0, 50.0, (5, 2))
    got = beam.even_load(beams, force, point)
    for k in range(5):
        x, y, z = beams.axes[k]
        place = point[k, 0] * y + point[k, 1] * z
        s = beams.shear_centre[k, 0] * y + beams.shear_centre[k, 1] * z
        c = beams.centroid[k, 0] * y + beams.centroid[k, 1] * z
        about_s = np.cross(place - s, force[k]) @ x
        about_c = np.cross(place - c, (force[k] @ x) * x)
        want = [force[k] @ x, force[k] @ y, force[k] @ z, about_s, about_c @ y, about_c @ z]
        assert np.allclose(got[k], want, rtol=1e-12, atol=1e-12)


def test_lam_is_infinite_without_warping_stiffness():
    beams = replace(random_beams(2, SEED), ECw=np.array([0.0, 1e12]))
    assert np.isinf(beams.lam[0])
    assert np.isfinite(beams.lam[1])
    assert torsion.flexural_ratio(beams.lam)[0] == 1.0
