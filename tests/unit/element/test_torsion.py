"""Torsion with warping against its closed forms at fifty digits."""

import mpmath as mp
import numpy as np
import pytest

from fea.element import torsion

LAMS = [1e-8, 1e-4, 1e-2, 0.0199, 0.0201, 0.1, 0.2, 0.2999, 0.3001, 1.0, 3.0, 30.0, 700.0, 1e5]
PLACES = np.array([0.0, 1e-3, 0.1, 0.37, 0.5, 0.9, 1.0])
L = 1200.0


@pytest.fixture(autouse=True)
def _fifty_digits():
    with mp.workdps(50):
        yield


def relative(got, want):
    want = mp.mpf(want)
    return float(abs(mp.mpf(float(got)) - want) / abs(want))


@pytest.mark.parametrize("lam", LAMS)
def test_stiffnesses(lam):
    ECw = 2e12
    GJ = ECw * lam**2 / L**2
    got = torsion.stiffnesses(np.array([GJ]), np.array([ECw]), np.array([L]))
    k = mp.sqrt(mp.mpf(GJ) / ECw)
    half = mp.tanh(k * L / 2)
    ratio = 1 - 2 * half / (k * L)
    over = 2 * half / (k * L)
    want = (GJ / mp.mpf(L) / ratio, L * over, GJ * mp.mpf(L) * over, ECw / mp.mpf(L) / over)
    for one, other in zip(got, want, strict=True):
        assert relative(one[0], other) < 1e-12


@pytest.mark.parametrize("lam", LAMS)
def test_springs_make_the_exact_matrix(lam):
    """The three springs together are the 4 x 4 matrix of the differential equation."""
    ECw = 2e12
    GJ = ECw * lam**2 / L**2
    a, r, g, h = (float(v[0]) for v in torsion.stiffnesses(*(np.array([v]) for v in (GJ, ECw, L))))
    e = np.array([-1.0, -r / 2, 1.0, -r / 2])
    s, d = np.array([0.0, 0.5, 0.0, 0.5]), np.array([0.0, -1.0, 0.0, 1.0])
    K = a * np.outer(e, e) + g * np.outer(s, s) + h * np.outer(d, d)
    k = mp.sqrt(mp.mpf(GJ) / ECw)
    x = k * L
    with mp.workdps(80 if lam > 1e-3 else 160):
        sh, ch = mp.sinh(x), mp.cosh(x)
        det = 2 * (1 - ch) + x * sh
        k11, k12 = GJ * k * sh / det, GJ * (ch - 1) / det
        k22, k24 = GJ / k * (x * ch - sh) / det, GJ / k * (sh - x) / det
    assert relative(K[0, 0], k11) < 1e-12
    assert relative(-K[0, 2], k11) < 1e-12
    assert relative(K[0, 1], k12) < 1e-12
    assert relative(K[1, 1], k22) < 1e-12
    if lam < 1e4:  # at the far ends of a long element only their difference is left
        assert abs(K[1, 3] - float(k24)) < 1e-12 * float(k22)


def test_limits():
    """No Saint-Venant stiffness: a beam's 12, 6, 4, 2; no warping stiffness: G J/L alone."""
    a, r, g, h = torsion.stiffnesses(np.zeros(1), np.array([2e12]), np.array([L]))
    assert a[0] == pytest.approx(12 * 2e12 / L**3, rel=1e-15)
    assert (r[0], g[0], h[0]) == (L, 0.0, pytest.approx(2e12 / L, rel=1e-15))
    a, r, g, h = torsion.stiffnesses(np.array([5e9]), np.zeros(1), np.array([L]))
    assert (a[0], r[0], g[0], h[0]) == (5e9 / L, 0.0, 0.0, 0.0)


@pytest.mark.parametrize("lam", LAMS)
def test_end_bimoment(lam):
    got = torsion.end_bimoment(np.array([lam]), np.array([L]))[0]
    x = mp.mpf(lam)
    with mp.workdps(80):
        assert relative(got, mp.mpf(L) ** 2 * (1 / (2 * x * mp.tanh(x / 2)) - 1 / x**2)) < 1e-12


def test_end_bimoment_without_warping_stiffness():
    assert torsion.end_bimoment(np.array([np.inf]), np.array([L]))[0] == 0.0


def shapes(lam, place):
    """Closed forms of the interpolation and of its slope by place."""
    x, y = mp.mpf(lam), mp.mpf(float(place))
    h_i, h_j = mp.sinh(x * (1 - y)) / mp.sinh(x), mp.sinh(x * y) / mp.sinh(x)
    d_i, d_j = -x * mp.cosh(x * (1 - y)) / mp.sinh(x), x * mp.cosh(x * y) / mp.sinh(x)
    return (h_i, h_j, (h_i + h_j - 1) / x**2), (d_i, d_j, (d_i + d_j) / x**2)


@pytest.mark.parametrize("lam", [1e-7, 1e-6, 2e-6, 1e-4, 1e-2, 0.3, 2.0, 40.0, 800.0])
def test_interpolation_and_slopes(lam):
    values = torsion.interpolation(np.array([lam]), PLACES)
    slopes = torsion.interpolation_slopes(np.array([lam]), PLACES)
    with mp.workdps(60):
        for j, place in enumerate(PLACES):
            want_values, want_slopes = shapes(lam, place)
            for got, want in zip(values, want_values, strict=True):
                assert abs(got[0, j] - float(want)) < 1e-12
            size = max(1.0, lam)
            for got, want in zip(slopes, want_slopes, strict=True):
                assert abs(got[0, j] - float(want)) < 1e-12 * size


def test_interpolation_at_the_ends_and_far_beyond_overflow():
    lam = np.array([1e-9, 1.0, 1e4, 1e12, np.inf])
    h_i, h_j, w = torsion.interpolation(lam, np.array([0.0, 0.5, 1.0]))
    assert np.allclose(h_i[:, 0], 1.0, rtol=1e-15)
    assert np.allclose(h_j[:, 2], 1.0, rtol=1e-15)
    assert not np.any(h_i[:, 2])
    assert not np.any(h_j[:, 0])
    assert np.all(w[:, [0, 2]] == 0.0)
    assert np.all(np.isfinite(np.stack([h_i, h_j, w])))
    assert np.all(np.isfinite(np.stack(torsion.interpolation_slopes(lam, np.array([0.0, 1.0])))))
