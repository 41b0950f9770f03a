"""The shell element: what must hold for any quadrilateral, and patches of them."""

import numpy as np
import pytest

from fea.element import shell
from fea.element.shell import Shells

RECTANGLE = np.array([[0.0, 0, 0], [12, 0, 0], [12, 8, 0], [0, 8, 0]])
SKEW = np.array([[0.0, 0, 0], [12, 1, 0], [15, 8, 0], [2, 7, 0]])
WARPED = SKEW + np.outer([0.8, -0.8, 0.8, -0.8], [0.0, 0.0, 1.0])
ROUGH = np.array([[0.0, 0, 0.4], [13, -2, -1.1], [11, 9, 0.5], [-1, 6, 0.3]])

# The patch of MacNeal and Harder, A proposed standard set of problems to test finite
# element accuracy, Finite Elements in Analysis and Design 1, 1985 (from memory), in
# hundredths of their unit.
PATCH = np.array([[0.0, 0], [24, 0], [24, 12], [0, 12], [4, 2], [18, 3], [16, 8], [8, 8]])
PATCH_QUADS = np.array([[0, 1, 5, 4], [1, 2, 6, 5], [2, 3, 7, 6], [3, 0, 4, 7], [4, 5, 6, 7]])
E, NU, T = 1e6, 0.25, 0.1


def shells(corners: np.ndarray, thickness=0.7, E=205000.0, nu=0.3) -> Shells:
    corners = np.asarray(corners, dtype=float).reshape(-1, 4, 3)
    one = np.ones(len(corners))
    return Shells(corners, one * thickness, one * E, one * nu)


def rotation(seed: int) -> np.ndarray:
    Q = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))[0]
    return Q * np.linalg.det(Q)


def random_quads(n: int, seed: int) -> np.ndarray:
    rng = np.random.default_rng(seed)
    quads = RECTANGLE + rng.uniform(-1.5, 1.5, (n, 4, 3)) * [1.0, 1.0, 0.3]
    return np.array(
        [quad @ rotation(int(k)) for quad, k in zip(quads, rng.integers(1e6, size=n), strict=True)]
    )


def rigid_motions(points: np.ndarray) -> np.ndarray:
    """Return the six rigid motions of four nodes, shape (24, 6), rotations about the origin."""
    motions = np.zeros((4, 6, 6))
    for k in range(3):
        axis = np.eye(3)[k]
        motions[:, k, k] = 1.0
        motions[:, :3, 3 + k] = np.cross(axis, points)
        motions[:, 3 + k, 3 + k] = 1.0
    return motions.reshape(24, 6)


SHAPES = pytest.mark.parametrize(
    "corners",
    [RECTANGLE, SKEW, WARPED, ROUGH, ROUGH @ rotation(3) + [900.0, -400.0, 70.0]],
    ids=["rectangle", "skew", "warped", "rough", "rough, turned and moved"],
)


@SHAPES
@pytest.mark.parametrize("thickness", [0.05, 3.0])
def test_six_motions_are_free_and_no_more(corners, thickness):
    K = shell.stiffness(shells(corners, thickness))[0]
    motions = rigid_motions(corners - corners.mean(axis=0))
    # Forces of a unit turn against the largest entry; 1e-11 leaves room for 24 terms of
    # arms of about 10 mm.
    assert abs(K @ motions).max() < 1e-11 * abs(K).max()
    energies = np.linalg.eigvalsh(K)
    # The softest true deformation is bending, t^3 against t: 1e-7 of the stiffest at
    # t = 0.05 mm, where the rigid motions stay at rounding.
    assert abs(energies[:6]).max() < 1e-13 * energies[-1]
    assert energies[6] > 1e-8 * energies[-1]


@SHAPES
def test_stiffness_is_symmetric(corners):
    K = shell.stiffness(shells(corners))[0]
    assert (K == K.T).all()


@SHAPES
def test_turning_the_element_turns_its_stiffness(corners):
    R = rotation(5)
    turn = np.kron(np.eye(8), R)
    K = shell.stiffness(shells(corners))[0]
    turned = shell.stiffness(shells(corners @ R.T))[0]
    assert abs(turned - turn @ K @ turn.T).max() < 1e-12 * abs(K).max()


@SHAPES
@pytest.mark.parametrize("order", [[1, 2, 3, 0], [2, 3, 0, 1], [3, 2, 1, 0]])
def test_the_first_corner_and_the_sense_do_not_matter(corners, order):
    # A new first corner turns the element's x, the other sense turns its normal over.
    K = shell.stiffness(shells(corners))[0]
    index = (6 * np.array(order)[:, None] + np.arange(6)).ravel()
    again = shell.stiffness(shells(corners[order]))[0]
    assert abs(again - K[np.ix_(index, index)]).max() < 1e-12 * abs(K).max()


def test_many_elements_at_once_are_each_alone():
    quads = random_quads(600, seed=17)  # more than two batches
    every = shells(quads, thickness=np.linspace(0.5, 4.0, 600), nu=np.linspace(0.0, 0.4, 600))
    K = shell.stiffness(every)
    for k in (0, 255, 256, 511, 599):
        alone = shells(quads[k], every.thickness[k], nu=every.nu[k])
        assert abs(shell.stiffness(alone)[0] - K[k]).max() < 1e-13 * abs(K[k]).max()


def test_axes_follow_the_sides_and_the_sense():
    R = shell.axes(shells(random_quads(50, seed=19)))
    assert np.allclose(R @ R.transpose(0, 2, 1), np.eye(3), atol=1e-14)
    assert np.allclose(np.linalg.det(R), 1.0)
    assert np.allclose(shell.axes(shells(RECTANGLE))[0], np.eye(3))
    x = shell.axes(shells(SKEW))[0, 0]
    mean = (SKEW[1] - SKEW[0]) + (SKEW[2] - SKEW[3])
    assert np.allclose(x, mean / np.linalg.norm(mean))


def test_least_corner_tells_a_dart_from_a_quadrilateral():
    dart = np.array([[0.0, 0, 0], [10, 0, 0], [3, 3, 0], [0, 10, 0]])
    flat_corner = np.array([[0.0, 0, 0], [10, 0, 0], [5, 5, 0], [0, 10, 0]])
    parallelogram = np.array([[0.0, 0, 0], [10, 2, 0], [14, 9, 0], [4, 7, 0]])
    least = shell.least_corner(shells([parallelogram, flat_corner, dart]))
    assert least == pytest.approx([1.0, 0.0, -4.0 / 3.0], abs=1e-13)


def test_mass_is_density_times_thickness_times_area():
    masses = shell.mass_per_element(
        shells([RECTANGLE, SKEW], thickness=[2.0, 3.0]), np.array([7.85e-9, 2.7e-9])
    )
    # Shoelace rule for the second.
    x, y = SKEW[:, 0], SKEW[:, 1]
    area = 0.5 * abs(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    assert masses == pytest.approx([7.85e-9 * 2.0 * 96.0, 2.7e-9 * 3.0 * area], rel=1e-14)


def patch(field: np.ndarray, drill_factor: float) -> tuple[np.ndarray, shell.ShellStress]:
    """Move the four outer nodes by a field (8, 6); return all motions, and the stress.

    The patch lies askew in space; field and motions are in its own axes.
    """
    R = rotation(11)
    points = np.column_stack([PATCH, np.zeros(8)]) @ R.T
    elements = shells(points[PATCH_QUADS], T, E, NU)
    turn = np.kron(np.eye(16), R)
    K = np.zeros((48, 48))
    index = (6 * PATCH_QUADS[:, :, None] + np.arange(6)).reshape(5, 24)
    for freedom, block in zip(index, shell.stiffness(elements, drill_factor), strict=True):
        K[np.ix_(freedom, freedom)] += block
    u = turn @ field.ravel()
    u[24:] = np.linalg.solve(K[24:, 24:], -K[24:, :24] @ u[:24])
    return (turn.T @ u).reshape(8, 6), shell.stress(elements, u[index], drill_factor)


def along_patch(own: np.ndarray) -> np.ndarray:
    """Turn sx sy txy from the elements' axes to those of the patch, as (5, 5, 2, 2)."""
    sx, sy, txy = np.moveaxis(own, -1, 0)
    tensor = np.stack([np.stack([sx, txy], -1), np.stack([txy, sy], -1)], -2)
    flat = shells(np.column_stack([PATCH, np.zeros(8)])[PATCH_QUADS])
    R = shell.axes(flat)[:, None, :2, :2]
    return R.swapaxes(-1, -2) @ tensor @ R


FACTORS = pytest.mark.parametrize("drill_factor", [1e-3, shell.DRILL_FACTOR, 1.0])


@FACTORS
def test_membrane_patch(drill_factor):
    x, y = PATCH.T
    field = np.zeros((8, 6))
    # u = 1e-3 (x + y/2), v = 1e-3 (y + x/2), and a turn of 2e-4 in the plane.
    field[:, 0] = 1e-3 * (x + y / 2) - 2e-4 * y
    field[:, 1] = 1e-3 * (y + x / 2) + 2e-4 * x
    field[:, 5] = 2e-4
    motion, found = patch(field, drill_factor)
    assert abs(motion - field).max() < 1e-10 * abs(field).max()
    expected = np.array([[4000.0 / 3.0, 400.0], [400.0, 4000.0 / 3.0]])
    for surface in (found.membrane, found.top, found.bottom):
        assert abs(along_patch(surface) - expected).max() < 1e-10 * 4000.0 / 3.0


@FACTORS
def test_bending_patch(drill_factor):
    x, y = PATCH.T
    a = 1e-4  # 1/mm: w = a (x^2 + x y + y^2) / 2
    field = np.zeros((8, 6))
    field[:, 2] = a * (x**2 + x * y + y**2) / 2.0
    field[:, 3] = a * (x / 2.0 + y)
    field[:, 4] = -a * (x + y / 2.0)
    motion, found = patch(field, drill_factor)
    assert abs(motion - field).max() < 1e-10 * abs(field).max()
    # sx = -E z (w,xx + nu w,yy) / (1 - nu^2), txy = -2 G z w,xy at z = t/2.
    direct = -E * T / 2.0 * a * (1.0 + NU) / (1.0 - NU**2)
    twist = -E / (1.0 + NU) * T / 2.0 * a / 2.0
    expected = np.array([[direct, twist], [twist, direct]])
    assert abs(along_patch(found.top) - expected).max() < 1e-10 * abs(direct)
    assert abs(along_patch(found.bottom) + expected).max() < 1e-10 * abs(direct)
    assert abs(found.membrane).max() < 1e-10 * abs(direct)
    assert abs(found.shear).max() < 1e-9 * abs(direct)  # a difference of terms 1/t larger
    equal = np.sqrt(direct**2 + 3.0 * twist**2)  # von Mises with sx = sy
    assert found.von_mises_top == pytest.approx(np.full((5, 5), equal), rel=1e-10)
    assert found.von_mises_bottom == pytest.approx(np.full((5, 5), equal), rel=1e-10)


@FACTORS
def test_one_rectangle_bends_exactly_in_its_plane(drill_factor):
    # A couple of forces at the end: v = M x^2 / 2EI, corner turns M L / EI, stress M y / I.
    L, h, t = 300.0, 40.0, 3.0
    corners = np.array([[0.0, 0, 0], [L, 0, 0], [L, h, 0], [0, h, 0]])
    beam = shells(corners, t)
    K = shell.stiffness(beam, drill_factor)[0]
    held = [0, 1, 2, 3, 4, 18, 20, 21, 22]  # the depth may contract, the corners may turn
    free = np.setdiff1d(np.arange(24), held)
    load = np.zeros(24)
    load[6], load[12] = 1000.0, -1000.0
    u = np.zeros(24)
    u[free] = np.linalg.solve(K[np.ix_(free, free)], load[free])
    M, EI = 1000.0 * h, 205000.0 * t * h**3 / 12.0
    assert u[7] == pytest.approx(M * L**2 / (2.0 * EI), rel=1e-9)
    assert u[[11, 17]] == pytest.approx(M * L / EI, rel=1e-9)
    assert u[[5, 23]] == pytest.approx(0.0, abs=1e-9 * M * L / EI)
    edge = 6.0 * M / (t * h**2)
    sx = shell.stress(beam, u[None], drill_factor).membrane[0, :, 0]
    assert sx == pytest.approx([0.0, edge, edge, -edge, -edge], abs=1e-9 * edge)


def test_shear_through_the_thickness_carries_the_load():
    # A strip clamped at one end under a tip force F: the mean shear is F / (b t).
    L, b, t, force = 10.0, 8.0, 3.0, 500.0
    strip = shells(np.array([[0.0, 0, 0], [L, 0, 0], [L, b, 0], [0, b, 0]]), t)
    K = shell.stiffness(strip)[0]
    free = np.arange(6, 18)
    load = np.zeros(24)
    load[[8, 14]] = force / 2.0
    u = np.zeros(24)
    u[free] = np.linalg.solve(K[np.ix_(free, free)], load[free])
    found = shell.stress(strip, u[None])
    assert found.shear[0, 0] == pytest.approx([force / (b * t), 0.0], abs=1e-9)


def test_uniaxial_stress_is_its_own_von_mises():
    states = np.array([[7.0, 0.0, 0.0], [-7.0, 0.0, 0.0], [0.0, 0.0, 7.0], [7.0, 7.0, 0.0]])
    assert shell.von_mises(states) == pytest.approx([7.0, 7.0, 7.0 * np.sqrt(3.0), 7.0])


def test_the_centre_alone_is_the_centre_of_all():
    # More elements than a batch holds; distorted and warped, so that no term drops out
    # by symmetry, and softer in shear.
    quads = random_quads(2500, 11)
    assert (shell.least_corner(shells(quads)) > 0.0).all()
    assert shell.least_corner(shells(quads)).min() < 0.7
    soft = np.linspace(0.5, 1.0, len(quads))[:, None] * [205000.0, 60000.0]
    metal = Shells(quads, np.linspace(0.5, 4.0, len(quads)), soft, np.full(len(quads), 0.3))
    motion = np.random.default_rng(12).normal(size=(len(quads), 24)) * 0.01
    every, centre = shell.stress(metal, motion), shell.stress(metal, motion, places=shell.CENTRE)
    for name in ("membrane", "top", "bottom", "von_mises_top", "von_mises_bottom", "shear"):
        one, other = getattr(every, name), getattr(centre, name)
        assert other.shape[1] == 1
        scale = abs(one).max()
        np.testing.assert_allclose(other[:, 0], one[:, 0], rtol=1e-9, atol=1e-12 * scale)


@SHAPES
def test_stress_moves_the_flat_element_by_its_geometry(corners):
    """The quick way from nodes to the flat element is that of the stiffness."""
    metal = shells(corners)
    motion = np.random.default_rng(3).normal(size=(1, 24))
    flat = shell.local_corners(metal) * [1.0, 1.0, 0.0]
    own = np.einsum("nij,nj->ni", shell.geometry(metal), motion)
    here, there = shell.stress(metal, motion), shell.stress(shells(flat), own)
    scale = abs(here.top).max()
    for name in ("membrane", "top", "shear"):
        one, other = getattr(here, name), getattr(there, name)
        np.testing.assert_allclose(other, one, rtol=1e-9, atol=1e-9 * scale)


# ------------------------------------------------------------- sheet that is softer in shear

STRIP = np.array([0.0, 30.0, 75.0, 100.0])
WIDE, THICK, MODULUS, SHEAR, POISSON = 60.0, 2.0, 120e3, 30e3, 0.3


def soft_strip() -> tuple[Shells, np.ndarray, np.ndarray, np.ndarray]:
    """Return three rectangles askew in space, their freedoms, points and turn.

    Nodes 2 k and 2 k + 1 lie at the low and the high side of `STRIP[k]`.
    """
    flat = np.array([[x, y, 0.0] for x in STRIP for y in (0.0, WIDE)])
    R = rotation(11)
    quads = np.array([[2 * k, 2 * k + 2, 2 * k + 3, 2 * k + 1] for k in range(3)])
    one = np.ones(3)
    moduli = np.outer(one, [MODULUS, SHEAR])
    strip = Shells((flat @ R.T)[quads], THICK * one, moduli, POISSON * one)
    index = (6 * quads[:, :, None] + np.arange(6)).reshape(3, 24)
    return strip, index, flat, np.kron(np.eye(16), R)


def strip_motion(held: list[int], load: np.ndarray) -> np.ndarray:
    """Return the strip's motion (8, 6) in its own axes, some freedoms held, under a load."""
    strip, index, _, turn = soft_strip()
    K = np.zeros((48, 48))
    for freedom, block in zip(index, shell.stiffness(strip), strict=True):
        K[np.ix_(freedom, freedom)] += block
    K = turn.T @ K @ turn
    free = np.setdiff1d(np.arange(48), held)
    u = np.zeros(48)
    u[free] = np.linalg.solve(K[np.ix_(free, free)], load[free])
    return u.reshape(8, 6)


def test_a_soft_strip_stretches_by_its_modulus() -> None:
    load = np.zeros(48)
    load[[36, 42]] = 500.0
    u = strip_motion([0, 6, 1, 2, 8, 3], load)  # one end rests on rollers
    strain = 1000.0 / (WIDE * THICK * MODULUS)
    assert u[:, 0] == pytest.approx(strain * np.repeat(STRIP, 2), abs=1e-12)
    assert u[1::2, 1] == pytest.approx(-POISSON * strain * WIDE, rel=1e-10)


def test_a_soft_strip_shears_by_its_shear_modulus() -> None:
    """The energy of an even shear is G gamma^2 / 2 a volume, and its stress G gamma."""
    strip, index, flat, turn = soft_strip()
    u = np.zeros((8, 6))
    u[:, 1] = 1e-3 * flat[:, 0]
    u[:, 5] = 0.5e-3
    motion = (turn @ u.ravel())[index]
    energy = 0.5 * np.einsum("ni,nij,nj->", motion, shell.stiffness(strip), motion)
    assert energy == pytest.approx(0.5 * SHEAR * 1e-6 * WIDE * THICK * STRIP[-1], rel=1e-10)
    found = shell.stress(strip, motion).membrane
    assert found == pytest.approx(np.broadcast_to([0.0, 0.0, 1e-3 * SHEAR], (3, 5, 3)), abs=1e-9)


def test_a_soft_strip_as_a_deep_beam_bends_and_shears() -> None:
    """Built in, pushed across in its plane: P L^3/3EI + 1.2 P L/GA.

    Elements that bend in their planes leave the shear strain even over the depth, 1 for the
    1.2 of the parabola.
    """
    load = np.zeros(48)
    load[[37, 43]] = 0.5
    tip = strip_motion([0, 1, 2, 3, 4, 6, 7, 8, 9, 10], load)[6:, 1].mean()
    I = THICK * WIDE**3 / 12.0  # noqa: E741
    bend, slip = STRIP[-1] ** 3 / (3.0 * MODULUS * I), STRIP[-1] / (SHEAR * WIDE * THICK)
    assert slip > 0.1 * bend
    # Three elements of cubic bending: an element's moment is even, P L^2 h^2 / 12 EI each.
    steps = np.diff(STRIP)
    short = np.sum(steps**3) / (12.0 * MODULUS * I)
    assert tip == pytest.approx(bend - short + slip, rel=1e-3)


def test_a_soft_strip_bends_as_a_plain_one() -> None:
    shear, plain = soft_strip()[0], soft_strip()[0].E[:, 0]
    strip = Shells(shear.corners, shear.thickness, plain, shear.nu)
    _, _, flat, turn = soft_strip()
    u = np.zeros((8, 6))
    u[:, 2], u[:, 3] = 1e-4 * flat[:, 0] * flat[:, 1], 1e-4 * flat[:, 0]
    u[:, 4] = -1e-4 * flat[:, 1]
    motion = (turn @ u.ravel())[soft_strip()[1]]
    energies = [
        np.einsum("ni,nij,nj->", motion, shell.stiffness(s), motion) for s in (shear, strip)
    ]
    assert energies[0] == pytest.approx(energies[1], rel=1e-9)
    assert shell.stress(shear, motion).top == pytest.approx(shell.stress(strip, motion).top)


@SHAPES
def test_the_shear_modulus_of_plain_sheet_changes_nothing(corners) -> None:
    plain = shells(corners)
    both = np.stack([plain.E, plain.E / (2.0 * (1.0 + plain.nu))], axis=1)
    K = shell.stiffness(Shells(plain.corners, plain.thickness, both, plain.nu))
    assert abs(K - shell.stiffness(plain)).max() < 1e-14 * abs(K).max()


def test_many_soft_elements_at_once_are_each_alone() -> None:
    quads = random_quads(300, seed=23)  # more than one batch
    E = np.stack([np.linspace(1e5, 2e5, 300), np.linspace(2e4, 7e4, 300)], axis=1)
    one = np.ones(300)
    every = Shells(quads, one, E, 0.3 * one)
    K = shell.stiffness(every)
    for k in (0, 255, 256, 299):
        alone = shell.stiffness(every.part(np.arange(300) == k))[0]
        assert abs(alone - K[k]).max() < 1e-13 * abs(alone).max()
