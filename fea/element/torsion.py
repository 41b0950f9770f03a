"""Uniform (Saint-Venant) plus warping torsion of one element, exact for end loads.

The twist obeys ``E Cw theta'''' - G J theta'' = m`` [1]_; with ``chi = theta'`` the
bimoment is ``B = E Cw chi'`` and the torque ``T = G J chi - B'``.  Everything is
written with ``lam = k L``, ``k^2 = G J / (E Cw)``, through ``tanh(lam / 2)`` alone, so
that nothing overflows: ``lam`` runs from 0 (warping only) to infinity (no warping
stiffness, `G J / L` alone).  Functions of small ``lam`` that would cancel use their
series.

References
----------
.. [1] V. Z. Vlasov, Thin-Walled Elastic Beams, 2nd ed., 1961, ch. II, eq. for theta;
   S. P. Timoshenko, J. Franklin Inst. 239, 1945 (open sections).
"""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_SMALL = 0.3
"""Below this lam the series below are exact to round-off."""


def flexural_ratio(lam: Array) -> Array:
    """Return ``1 - 2 tanh(lam/2) / lam``, shape of `lam`; lam^2/12 for small lam, 1 at infinity."""
    x = np.minimum(lam, _SMALL) ** 2
    series = x / 12.0 * _ratio_series(x)
    with np.errstate(divide="ignore", invalid="ignore"):
        direct = 1.0 - 2.0 * np.tanh(lam / 2.0) / lam
    return np.where(lam < _SMALL, series, direct)


def stiffnesses(GJ: Array, ECw: Array, length: Array) -> tuple[Array, Array, Array, Array]:
    """Return the torsion element as three springs in series-free form.

    The strain energy is ``(a e^2 + g s^2 + h d^2) / 2`` with the deformations
    ``e = theta_j - theta_i - r s``, ``s = (chi_i + chi_j) / 2``, ``d = chi_j - chi_i``.

    Parameters
    ----------
    GJ, ECw, length : arrays (n,), N mm2, N mm4, mm

    Returns
    -------
    a : array (n,), N mm/rad
    r : array (n,), mm
    g : array (n,), N mm3 (times chi^2: N mm)
    h : array (n,), N mm3
    """
    with np.errstate(divide="ignore"):
        lam = length * np.sqrt(GJ / ECw)
    ratio = flexural_ratio(lam)
    half_tanh = _tanh_over(lam)  # tanh(lam/2) / (lam/2)
    with np.errstate(divide="ignore", invalid="ignore"):
        # GJ/L / ratio, with GJ = ECw lam^2/L^2 where lam is small.
        a = np.where(
            lam < _SMALL,
            ECw / length**3 * _square_over_ratio(lam),
            GJ / length / ratio,
        )
    r = length * half_tanh
    g = GJ * length * half_tanh
    with np.errstate(divide="ignore", invalid="ignore"):
        h = np.where(ECw > 0.0, ECw / length / half_tanh, 0.0)
    return a, r, g, h


def _tanh_over(lam: Array) -> Array:
    """Return tanh(lam/2)/(lam/2), 1 at 0 and 0 at infinity."""
    x = np.minimum(lam, _SMALL) ** 2
    series = 1.0 + x * (-1.0 / 12.0 + x * (1.0 / 120.0 + x * (-17.0 / 20160.0)))
    with np.errstate(divide="ignore", invalid="ignore"):
        direct = np.tanh(lam / 2.0) / (lam / 2.0)
    return np.where(lam < 0.02, series, direct)


def _square_over_ratio(lam: Array) -> Array:
    """Return lam^2 / flexural_ratio(lam) for small lam; 12 at 0."""
    return 12.0 / _ratio_series(np.minimum(lam, _SMALL) ** 2)


def _ratio_series(x: Array) -> Array:
    """Return 12 flexural_ratio / lam^2 as a series in x = lam^2."""
    c = (1.0, -1.0 / 10.0, 17.0 / 1680.0, -31.0 / 30240.0, 691.0 / 6652800.0)
    more = x * (-5461.0 / 518918400.0 + x * (929569.0 / 871782912000.0))
    return c[0] + x * (c[1] + x * (c[2] + x * (c[3] + x * (c[4] + more))))


def end_bimoment(lam: Array, length: Array) -> Array:
    """Return the bimoment at built-in ends per uniform torque m, mm2: L^2/12 for small lam."""
    x = np.minimum(lam, _SMALL) ** 2
    series = 1.0 / 12.0 + x * (
        -1.0 / 720.0 + x * (1.0 / 30240.0 + x * (-1.0 / 1209600.0 + x / 47900160.0))
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        direct = 0.5 / (lam * np.tanh(lam / 2.0)) - 1.0 / (lam * lam)
    return length**2 * np.where(lam < _SMALL, series, np.where(np.isfinite(lam), direct, 0.0))


def interpolation(lam: Array, x: Array) -> tuple[Array, Array, Array]:
    """Return how end values spread along an element.

    A quantity f with ``f'' = k^2 (f - c)`` is ``h_i f_i + h_j f_j - w k^2 L^2 c`` with
    ``w = (h_i + h_j - 1) / (k^2 L^2)``.

    Parameters
    ----------
    lam : array (n,)
    x : array (s,), place along the element, 0 to 1

    Returns
    -------
    h_i, h_j, w : arrays (n, s)
    """
    lam = np.minimum(lam, 1e8)[:, None]
    x = x[None, :]

    def ratio(y: Array) -> Array:
        """Return sinh(lam y) / sinh(lam) without overflow."""
        with np.errstate(divide="ignore", invalid="ignore"):
            direct = np.exp(-lam * (1.0 - y)) * np.expm1(-2.0 * lam * y) / np.expm1(-2.0 * lam)
        q = lam * lam
        return np.where(lam < 1e-4, y * (1.0 + q * (y * y - 1.0) / 6.0), direct)

    h_i, h_j = ratio(1.0 - x), ratio(x)
    # h_i + h_j - 1 = -2 sinh(a) sinh(b) / cosh(lam/2), which does not cancel.
    a, b = lam * x / 2.0, lam * (1.0 - x) / 2.0
    top = np.expm1(-2.0 * a) * np.expm1(-2.0 * b)
    with np.errstate(divide="ignore", invalid="ignore"):
        w = -top / (1.0 + np.exp(-lam)) / (lam * lam)
    return h_i, h_j, np.where(lam < 1e-6, -x * (1.0 - x) / 2.0, w)


def interpolation_slopes(lam: Array, x: Array) -> tuple[Array, Array, Array]:
    """Return the derivatives of :func:`interpolation` by x (place 0 to 1), shapes (n, s)."""
    lam = np.minimum(lam, 1e8)[:, None]
    x = x[None, :]

    def ratio(y: Array) -> Array:
        """Return lam cosh(lam y) / sinh(lam); 1 where lam vanishes."""
        with np.errstate(divide="ignore", invalid="ignore"):
            direct = -lam * np.exp(-lam * (1.0 - y)) * (1.0 + np.exp(-2.0 * lam * y))
            direct = direct / np.expm1(-2.0 * lam)
        q = lam * lam
        return np.where(lam < 1e-4, 1.0 + q * (3.0 * y * y - 1.0) / 6.0, direct)

    # w' = -sinh(lam (1/2 - x)) / (lam cosh(lam/2))
    a, b = lam * (1.0 - x), lam * x
    with np.errstate(divide="ignore", invalid="ignore"):
        gap = np.exp(-np.minimum(a, b)) * np.expm1(-np.abs(a - b)) * np.sign(a - b)
        w = gap / (1.0 + np.exp(-lam)) / lam
    return -ratio(1.0 - x), ratio(x), np.where(lam < 1e-6, -(0.5 - x), w)


def interpolation_integrals(lam: Array, x: Array) -> tuple[Array, Array, Array]:
    """Return the integrals of :func:`interpolation` from 0 to x (place 0 to 1), (n, s)."""
    lam = np.minimum(lam, 1e8)[:, None]
    x = x[None, :]
    small = np.minimum(lam, 0.02)
    q = small * small
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        # 2 sinh(a) sinh(b) / (lam sinh(lam)), a + b <= lam, without overflow
        base = -np.expm1(-2.0 * lam) * lam
        half = -np.expm1(-lam * x)
        i_i = half * -np.expm1(-lam * (2.0 - x)) / base
        i_j = np.exp(-lam * (1.0 - x)) * half * half / base
        w = (i_i + i_j - x) / (lam * lam)
    s_i = x - x**2 / 2.0 + q * (-(x**4) / 24.0 + x**3 / 6.0 - x**2 / 6.0)
    s_j = x**2 / 2.0 + q * (x**4 / 24.0 - x**2 / 12.0)
    s_w = x**3 / 6.0 - x**2 / 4.0 + q * (x**5 / 120.0 - x**4 / 48.0 + x**2 / 48.0)
    s_w = s_w + q * q * (x**7 / 5040.0 - x**6 / 1440.0 + x**4 / 576.0 - x**2 / 480.0)
    tiny = lam < 1e-4
    return np.where(tiny, s_i, i_i), np.where(tiny, s_j, i_j), np.where(lam < 0.02, s_w, w)
