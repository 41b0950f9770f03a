"""Shells against published plates, strips and beams, and thin-walled members.

Published numbers are from memory where not said otherwise; where theory gives the number,
the test computes it.  "MH" is R. H. MacNeal, R. L. Harder, A proposed standard set of
problems to test finite element accuracy, Finite Elements in Analysis and Design 1, 1985.
"""

import numpy as np
import pytest
from shell_meshes import RX, RY, RZ, UX, UY, UZ, Sheet, grid, prism

from fea.element import shell

E, NU = 205000.0, 0.3
G = E / (2.0 * (1.0 + NU))


def wave(s, t):
    """Return a smooth distortion of the unit square, nothing at its edges and centre lines."""
    return np.sin(2 * np.pi * s) * np.sin(2 * np.pi * t) / (2 * np.pi)


# Plates ---------------------------------------------------------------------------------


def plate_centre(n: int, t: float, clamped: bool, bend: float = 0.0) -> float:
    """Return w D / (q a^4) at the centre of a square plate of n x n elements, a = 1000."""
    a, q = 1000.0, 1e-3

    def place(s, r):
        return a * (s + bend * wave(s, r)), a * (r - 0.7 * bend * wave(s, r)), 0.0 * s

    sheet = Sheet(*grid(n, n, place), t, E, NU)
    for edge, along in (({"x": 0}, RX), ({"x": a}, RX), ({"y": 0}, RY), ({"y": a}, RY)):
        # Simply supported: the normals of an edge do not turn along it, as in Navier's sum.
        sheet.hold(sheet.at(**edge), (UX, UY, UZ, RX, RY) if clamped else (UX, UY, UZ, along))
    sheet.press(q)
    centre = sheet.at(x=a / 2, y=a / 2)[0]
    D = E * t**3 / (12.0 * (1.0 - NU**2))
    return sheet.solve()[6 * centre + UZ] * D / (q * a**4)


def navier(t: float) -> float:
    """Return the same from Navier's double sine series, with transverse shear, hard edges."""
    m, n = np.meshgrid(np.arange(1, 400, 2), np.arange(1, 400, 2))
    waves = np.pi**2 * (m**2 + n**2)
    load = 16.0 / (np.pi**2 * m * n) * np.sin(m * np.pi / 2) * np.sin(n * np.pi / 2)
    shear = (t / 1000.0) ** 2 / 12.0 / (1.0 - NU**2) * E / (5.0 / 6.0 * G)  # D / (5/6 G t a^2)
    return float((load / waves**2 * (1.0 + waves * shear)).sum())


@pytest.mark.parametrize("bend", [0.0, 0.3], ids=["squares", "distorted"])
@pytest.mark.parametrize(
    ("clamped", "published", "exact"),
    # S. Timoshenko, S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., 1959, tables
    # 8 and 35; the exact column sums the series behind them further, for the rate.
    [(False, 0.00406, 0.00406235), (True, 0.00126, 0.00126532)],
    ids=["supported", "clamped"],
)
def test_thin_square_plate(clamped, published, exact, bend):
    coarse, fine = (plate_centre(n, 1.0, clamped, bend) / exact - 1.0 for n in (16, 32))
    assert abs(fine) < 1e-3  # well within the 0.5 % of the printed digits
    assert plate_centre(32, 1.0, clamped, bend) == pytest.approx(published, rel=5e-3)
    assert np.log2(coarse / fine) == pytest.approx(2.0, abs=0.1)


@pytest.mark.parametrize("t", [1.0, 10.0, 100.0, 200.0])
def test_supported_plate_thin_and_thick(t):
    # The error of a 16 x 16 mesh is 0.1 % at every thickness: no locking, and shear right.
    assert plate_centre(16, t, clamped=False) == pytest.approx(navier(t), rel=1.5e-3)


# In the plane -----------------------------------------------------------------------------


def cantilever_error(n: int, bend: float, drill_factor: float) -> float:
    """Return the mean error of a deep cantilever's motion against elasticity.

    S. Timoshenko, J. N. Goodier, Theory of Elasticity, art. 21: load P at x = 0 as a
    parabola of shear, y downwards; the section x = L moves as there.
    """
    L, c, P = 200.0, 25.0, 1000.0

    def place(s, r):
        return L * (s + 0.25 * bend * wave(s, r)), 2 * c * (r - 0.5 + bend * wave(s, r)), 0.0 * s

    sheet = Sheet(*grid(3 * n, n, place), 1.0, E, NU, drill_factor)
    x, y = sheet.nodes[:, :2].T
    EI = E * 2.0 * c**3 / 3.0
    GI = EI * G / E
    u = (-(x**2) + L**2) * y * P / (2 * EI) - NU * P * y**3 / (6 * EI)
    u += P * y**3 / (6 * GI) - P * c**2 * y / (2 * GI)
    v = P / (6 * EI) * (3 * NU * x * y**2 + x**3 - 3 * L**2 * x + 2 * L**3)
    root = sheet.at(x=L)
    sheet.hold(root, (UX,), u[root])
    sheet.hold(root, (UY,), v[root])
    sheet.hold(np.arange(len(x)), (UZ, RX, RY))
    tip = sheet.at(x=0.0)
    for point, weight in zip(*np.polynomial.legendre.leggauss(3), strict=True):
        low, high = 0.5 * (1.0 - point), 0.5 * (1.0 + point)
        at = low * y[tip[:-1]] + high * y[tip[1:]]
        force = P * E / (2 * EI) * (c**2 - at**2) * weight * np.diff(y[tip]) / 2.0
        sheet.load[6 * tip[:-1] + UY] += low * force
        sheet.load[6 * tip[1:] + UY] += high * force
    found = sheet.solve().reshape(-1, 6)
    return np.sqrt(np.mean((found[:, 0] - u) ** 2 + (found[:, 1] - v) ** 2)) / abs(v).max()


@pytest.mark.parametrize("bend", [0.0, 0.5], ids=["rectangles", "distorted"])
@pytest.mark.parametrize("drill_factor", [1e-3, shell.DRILL_FACTOR, 1.0])
def test_cantilever_in_its_plane_converges_with_the_square_of_the_size(bend, drill_factor):
    coarse, fine = (cantilever_error(n, bend, drill_factor) for n in (8, 16))
    assert fine < 5e-4
    assert np.log2(coarse / fine) == pytest.approx(2.0, abs=0.12)


def strip(shape: str) -> Sheet:
    """Return MH's straight cantilever of six elements, 6 x 0.2 x 0.1, E = 1e7."""
    low = np.linspace(0.0, 6.0, 7)
    lean = {"rectangles": 0.0, "parallelograms": -0.1, "trapezia": 0.1 * (-1.0) ** np.arange(1, 6)}
    high = low.copy()
    low[1:-1] += lean[shape]
    high[1:-1] -= lean[shape]
    x, y = np.concatenate([low, high]), np.repeat([0.0, 0.2], 7)
    i = np.arange(6)
    return Sheet(
        np.column_stack([x, y, 0 * x]), np.column_stack([i, i + 1, i + 8, i + 7]), 0.1, 1e7, 0.3
    )


@pytest.mark.parametrize(
    ("shape", "direction", "published", "ratio"),
    # Rectangles are right to 1 % in their plane and 2 % across it (to the publication's
    # theory, which lets the clamped root contract).  Slanted elements one deep are far too
    # stiff in their plane: no four-node element can pass the patch test and bend as a trapezium
    # (MacNeal, A theorem regarding the locking of tapered four-noded membrane elements, Int.
    # J. Numerical Methods in Engineering 24, 1987).  So mesh thin strips with rectangles.
    [
        ("rectangles", UX, 3e-5, 1.0),
        ("parallelograms", UX, 3e-5, 1.0),
        ("trapezia", UX, 3e-5, 1.0),
        ("rectangles", UZ, 0.4321, 0.980),
        ("parallelograms", UZ, 0.4321, 0.978),
        ("trapezia", UZ, 0.4321, 0.963),
        ("rectangles", UY, 0.1081, 0.993),
        ("parallelograms", UY, 0.1081, 0.632),
        ("trapezia", UY, 0.1081, 0.051),
    ],
)
def test_straight_cantilever(shape, direction, published, ratio):
    sheet = strip(shape)
    # Under tension the root may contract, or the answer is not that of a bar.
    sheet.hold([0, 7], (UX, UZ, RX, RY, RZ) if direction == UX else range(6))
    sheet.hold([0], (UY,))
    sheet.load[[6 * 6 + direction, 6 * 13 + direction]] = 0.5
    assert sheet.solve()[6 * 6 + direction] / published == pytest.approx(ratio, abs=6e-4)


def test_straight_cantilever_in_torsion():
    # Published 0.03208 is 6 % off Saint-Venant's T L / G J with the exact J of a rectangle
    # 0.2 x 0.1 (0.22868 b t^3); the shells, 16 across, agree with the latter.
    points = grid(96, 16, lambda s, t: (6.0 * s, 0.2 * (t - 0.5), 0.0 * s))
    sheet = Sheet(*points, 0.1, 1e7, 0.3)
    sheet.hold(sheet.at(x=0.0))
    low, high = (sheet.at(x=6.0, y=y)[0] for y in (-0.1, 0.1))
    sheet.load[6 * low + UZ], sheet.load[6 * high + UZ] = -5.0, 5.0
    u = sheet.solve()
    twist = (u[6 * high + UZ] - u[6 * low + UZ]) / 0.2
    expected = 6.0 / (1e7 / 2.6 * 0.22868 * 0.2 * 0.1**3)
    assert twist == pytest.approx(expected, rel=3e-3)


def tip_motion(sheet: Sheet, root, tip, direction: int) -> float:
    """Return the mid-tip motion under a unit force spread evenly over the tip."""
    sheet.hold(root)
    share = np.ones(len(tip))
    share[[0, -1]] = 0.5
    sheet.load[6 * tip + direction] = share / share.sum()
    return sheet.solve()[6 * tip[len(tip) // 2] + direction]


def curved(n: int, m: int, direction: int) -> float:
    def place(s, t):
        r = 4.12 + 0.2 * t
        return r * np.sin(np.pi / 2 * s), r * np.cos(np.pi / 2 * s), 0.0 * s

    sheet = Sheet(*grid(n, m, place), 0.1, 1e7, 0.25)
    return tip_motion(sheet, sheet.at(x=0.0), sheet.at(y=0.0), direction)


@pytest.mark.parametrize(
    ("direction", "theory", "published", "coarse", "rel"),
    # Theory: curved bar with shear 6/5, in the plane the exact elasticity solution.  The
    # published 0.08734 is 1.4 % below it, 0.5022 is 0.3 % above.  Across the plane the bar
    # twists; its torsion needs strips thinner than its 0.1 thickness at the edges.
    [(UX, 0.0885655, 0.08734, 0.875, 2e-3), (UZ, 0.500562, 0.5022, 0.958, 1e-2)],
    ids=["in plane", "out of plane"],
)
def test_curved_cantilever(direction, theory, published, coarse, rel):
    assert curved(6, 1, direction) / theory == pytest.approx(coarse, abs=1e-3)
    errors = [abs(curved(n, n // 6, direction) / theory - 1.0) for n in (24, 48)]
    assert errors[1] < errors[0] / 1.9
    assert errors[1] < rel
    assert curved(48, 8, direction) == pytest.approx(published, rel=1.5e-2)


def twisted(n: int, t: float, direction: int, drill_factor=shell.DRILL_FACTOR) -> float:
    def place(s, r):
        angle, y = np.pi / 2 * s, 1.1 * (r - 0.5)
        return 12.0 * s, y * np.cos(angle), y * np.sin(angle)

    sheet = Sheet(*grid(6 * n, n, place), t, 29e6, 0.22, drill_factor)
    return tip_motion(sheet, sheet.at(x=0.0), sheet.at(x=12.0), direction)


@pytest.mark.parametrize("n", [2, 8])
@pytest.mark.parametrize(
    ("t", "direction", "published", "rel"),
    # UZ is along the width of the tip.  The thin strip is the variant of T. Belytschko,
    # B. L. Wong, H. Stolarski, Assumed strain stabilization procedure for the 9-node Lagrange
    # shell element, Int. J. Numerical Methods in Engineering 28, 1989.
    [
        (0.32, UZ, 5.424e-3, 2e-3),
        (0.32, UY, 1.754e-3, 4e-3),
        (0.0032, UZ, 5256.0, 5e-3),
        (0.0032, UY, 1294.0, 5e-3),
    ],
)
def test_twisted_strip(t, direction, published, rel, n):
    # Every element is warped here: 90 degrees of twist in 12 or 48 elements.
    assert twisted(n, t, direction) == pytest.approx(published, rel=rel)


def test_a_weak_drilling_tie_would_not_carry_moments_round_a_turning_surface():
    # Why the factor is what it is; the softness does not go away with the mesh.
    for n in (2, 4):
        assert twisted(n, 0.32, UZ, 1e-3) > 1.2 * 5.424e-3
        assert twisted(n, 0.32, UZ, 1.0) == pytest.approx(5.424e-3, rel=4e-3)


# Thin-walled members: midline 120 x 50 x 3, length 1000, root clamped, web at y = 0 ---------

CHANNEL = [((50, 60), (0, 60)), ((0, 60), (0, -60)), ((0, -60), (50, -60))]
BOXED = [*CHANNEL, ((50, -60), (50, 60))]
LENGTH = 1000.0
SHEAR_CENTRE = -3 * 50.0**2 / (6 * 50.0 + 120.0)
"""y of a channel's shear centre, thin walls: 3 b^2 / (6 b + h) outside the web."""


def tip(walls, load, **options) -> np.ndarray:
    """Return uy, uz, rx of the tip, rigid in its plane and free to warp, at mid-web."""
    sheet = prism(walls, LENGTH, 3.0, **options)
    sheet.hold(sheet.at(x=0.0))
    new = sheet.rigid_in_plane(sheet.at(x=LENGTH), np.array([LENGTH, 0.0, 0.0]))
    sheet.load[new] = load
    return sheet.solve()[new]


def vlasov_twist(torque: float) -> float:
    """Return the tip twist of the channel, root's warping held (V. Z. Vlasov, 1961)."""
    h, b, t = 120.0, 50.0, 3.0
    GJ = G * (h + 2 * b) * t**3 / 3.0
    ECw = E * t * b**3 * h**2 / 12.0 * (3 * b + 2 * h) / (6 * b + h)
    k = np.sqrt(GJ / ECw)
    return torque / GJ * (LENGTH - np.tanh(k * LENGTH) / k)


def test_open_channel_in_torsion():
    # Shells are a little softer than thin-wall theory: near the lips the shear of twisting
    # dies out over about one thickness, so 1 % more appears when strips get thinner than that.
    coarse = tip(CHANNEL, [0, 0, 1e5])[2]
    fine = tip(CHANNEL, [0, 0, 1e5], size=20.0, across=2.0)[2]
    assert vlasov_twist(1e5) == pytest.approx(0.2258, abs=5e-5)
    assert vlasov_twist(1e5) < coarse < fine
    assert fine == pytest.approx(vlasov_twist(1e5), rel=0.015)
    # An earlier thin-shell study of this project's, with other code, converged to this.
    assert fine == pytest.approx(0.2288, rel=5e-3)


def test_open_channel_loaded_through_the_web_and_the_shear_centre():
    web = tip(CHANNEL, [0, 1000.0, 0], size=20.0, across=2.0)
    assert web[1] == pytest.approx(1.838, rel=5e-3)
    assert web[2] == pytest.approx(0.0407, rel=5e-3)
    centre = tip(CHANNEL, [0, 1000.0, 1000.0 * SHEAR_CENTRE])
    assert abs(centre[2]) < 5e-3 * web[2]
    side = tip(CHANNEL, [1000.0, 0, 0])
    assert side[0] == pytest.approx(9.90, rel=1e-3)
    assert abs(side[2]) < 1e-9  # by symmetry


def test_boxed_channel():
    assert tip(BOXED, [0, 0, 1e5])[2] == pytest.approx(9.934e-4, rel=2e-3)
    # Through the middle of the box the section does not turn.
    middle = tip(BOXED, [0, 1000.0, 25e3])
    assert abs(middle[2]) < 1e-9
    assert middle[1] == pytest.approx(0.8535, rel=1e-3)
    assert tip(BOXED, [1000.0, 0, 0])[0] == pytest.approx(3.221, rel=1e-3)


def test_boxed_channel_bends_like_a_beam():
    # P L^3 / 3EI and the shear of two webs; the flanges' shear lag and the webs'
    # uneven shear are left out, hence 0.5 %.
    EI = E * 2 * (3.0 * 120.0**3 / 12.0 + 3.0 * 50.0 * 60.0**2)
    webs = 1000.0 * LENGTH / (G * 2 * 3.0 * 120.0)
    expected = 1000.0 * LENGTH**3 / (3 * EI) + webs
    assert tip(BOXED, [0, 1000.0, 25e3])[1] == pytest.approx(expected, rel=5e-3)


@pytest.mark.parametrize("t", [0.5, 1.0, 3.0])
@pytest.mark.parametrize("drill_factor", [1e-3, shell.DRILL_FACTOR, 1.0])
def test_square_tube_twists_as_bredt_says(t, drill_factor):
    # Between x = 400 and 600, far from both ends; Bredt's cell and the walls' own torsion.
    a, torque = 60.0, 1e5
    corners = a / 2.0 * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)])
    walls = [(corners[k], corners[(k + 1) % 4]) for k in range(4)]
    sheet = prism(walls, LENGTH, t, drill_factor=drill_factor)
    sheet.hold(sheet.at(x=0.0), (UX, UY, UZ))
    new = sheet.rigid_in_plane(sheet.at(x=LENGTH), np.array([LENGTH, 0.0, 0.0]))
    sheet.load[new[2]] = torque
    u = sheet.solve()
    near, far = (u[6 * sheet.at(x=x, y=a / 2, z=0.0)[0] + UZ] for x in (400.0, 600.0))
    rate = (far - near) / (a / 2.0) / 200.0
    J = a**3 * t + 4.0 * a * t**3 / 3.0
    assert rate == pytest.approx(torque / (G * J), rel=1e-3)


@pytest.mark.parametrize(("walls", "rel"), [(CHANNEL, 2e-4), (BOXED, 2.5e-3)])
def test_folded_plates_do_not_feel_the_drilling_tie(walls, rel):
    twists = [tip(walls, [0, 0, 1e5], drill_factor=f)[2] for f in (1e-3, 1e-2, 0.1, 1.0)]
    assert np.ptp(twists) < rel * twists[0]
