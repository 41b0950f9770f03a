"""Section properties: what must not change, hand results, and twins written another way."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from fea.errors import ModelError
from fea.section import shapes
from fea.section.holes import Hole, pierced
from fea.section.midline import Midline
from fea.section.properties import properties
from fea.section.seam import Stitch, stitched


def midline(points, walls):
    """Corners, and walls as (from, to, thickness)."""
    table = np.array(walls, dtype=float)
    return Midline(np.array(points, dtype=float), table[:, :2].astype(np.intp), table[:, 2])


TWO_CELLS = midline(
    [(0, -50), (60, -50), (150, -50), (150, 50), (60, 50), (0, 50)],
    [(0, 1, 4), (1, 2, 4), (2, 3, 4), (3, 4, 4), (4, 5, 4), (5, 0, 4), (1, 4, 3)],
)
CELL_WITH_FINS = midline(
    [(0, -40), (50, -40), (50, 40), (0, 40), (90, -40), (-20, 55), (50, 70)],
    [(0, 1, 2), (1, 2, 3), (2, 3, 2.5), (3, 0, 4), (1, 4, 2), (3, 5, 3), (2, 6, 1.5)],
)
CROOKED_TREE = midline(
    [(0, 0), (70, 10), (95, 60), (-15, 80), (-60, 95), (20, 130), (-40, -35)],
    [(0, 1, 3), (1, 2, 2), (0, 3, 4), (3, 4, 2.5), (3, 5, 1.5), (0, 6, 3.5)],
)


def softened(section):
    """Give every wall other shares that carry normal stress and shear flow."""
    m = len(section.walls)
    return replace(
        section,
        normal_factor=np.linspace(0.6, 1.0, m),
        shear_factor=np.linspace(0.9, 0.25, m),
    )


def carrying(section):
    """Thickness that carries normal stress."""
    factor = section.normal_factor
    return section.thickness if factor is None else section.thickness * factor


SECTIONS = {
    "channel": shapes.channel(depth=200, flange=75, wall=6),
    "lipped channel": shapes.lipped_channel(depth=150, flange=60, lip=20, wall=3),
    "boxed channel": shapes.boxed_channel(depth=150, flange=60, wall=4, plate=5),
    "capped channel": shapes.capped_channel(depth=150, flange=60, wall=4, plate=5, plate_depth=180),
    "toe to toe": shapes.toe_to_toe(depth=120, flange=50, wall=3),
    "box": shapes.box(depth=100, width=60, wall=3),
    "hat": shapes.hat(depth=60, width=70, lip=25, wall=2),
    "unequal angle": shapes.angle(depth=90, flange=60, wall=6),
    "Z": shapes.zed(depth=160, flange=60, wall=5),
    "I": shapes.i_section(depth=200, flange=100, wall=6, flange_wall=9),
    "two cells": TWO_CELLS,
    "cell with fins": CELL_WITH_FINS,
    "crooked tree": CROOKED_TREE,
}
SOFT = ("channel", "boxed channel", "two cells", "cell with fins", "crooked tree")
SECTIONS |= {f"softened {name}": softened(SECTIONS[name]) for name in SOFT}
SECTIONS["stitched"] = stitched(SECTIONS["boxed channel"], Stitch(weld=40, pitch=100))
SECTIONS["pierced"] = pierced(SECTIONS["boxed channel"], Hole("web", 30, 20, 120))
OPEN = ("channel", "lipped channel", "hat", "unequal angle", "Z", "I", "crooked tree")

every = pytest.mark.parametrize("name", SECTIONS)


def moved(section, turn=0.0, shift=(0.0, 0.0), flip=False):
    points = section.points * (np.array([-1.0, 1.0]) if flip else 1.0)
    c, s = np.cos(turn), np.sin(turn)
    points = points @ np.array([[c, s], [-s, c]]) + np.array(shift)
    return replace(section, points=points)


def split(section, pieces):
    """Cut every wall into equal pieces; the held wall becomes its first piece."""
    points, walls = [*section.points], []
    for (a, b), t in zip(section.walls, section.thickness, strict=True):
        chain = [int(a)]
        for k in range(1, pieces):
            chain.append(len(points))
            x = k / pieces
            points.append((1 - x) * section.points[a] + x * section.points[b])
        chain.append(int(b))
        walls += [(i, j, t) for i, j in pairwise(chain)]
    factors = {
        name: None if value is None else np.repeat(value, pieces)
        for name, value in (
            ("normal_factor", section.normal_factor),
            ("shear_factor", section.shear_factor),
        )
    }
    return replace(midline(points, walls), **factors)


def size(section):
    p = properties(section)
    return float(np.sqrt(p.Iy + p.Iz) / np.sqrt(p.A))


def close(got, want, scale, tolerance=1e-12):
    """Compare within a tolerance of a natural size of the quantity."""
    assert np.max(np.abs(np.asarray(got) - np.asarray(want))) <= tolerance * scale


def tensor(p):
    return np.array([[p.Iz, p.Iyz], [p.Iyz, p.Iy]])


def shear_tensor(p):
    """Shear flexibility in section axes."""
    return p.principal_axes.T @ p.shear @ p.principal_axes


@every
@pytest.mark.parametrize("turn", [0.3, 1.1, 2.0, -0.7])
def test_turning_and_moving_the_axes(name, turn):
    section = SECTIONS[name]
    p, q = properties(section), properties(moved(section, turn, (310.0, -120.0)))
    c, s = np.cos(turn), np.sin(turn)
    R = np.array([[c, -s], [s, c]])
    r = size(section)
    close(q.A, p.A, p.A)
    close(q.J, p.J, p.J)
    close(q.J_cells, p.J_cells, p.J)
    close(q.Cw, p.Cw, p.A * r**4, 1e-11)
    close(q.centroid, R @ p.centroid + [310.0, -120.0], 400.0)
    close(q.shear_centre, R @ p.shear_centre + [310.0, -120.0], 400.0, 1e-11)
    close(tensor(q), R @ tensor(p) @ R.T, p.Iy + p.Iz, 1e-11)
    close(sorted([q.I1, q.I2]), sorted([p.I1, p.I2]), p.Iy + p.Iz, 1e-11)
    close(shear_tensor(q), R @ shear_tensor(p) @ R.T, np.abs(p.shear).max(), 1e-9)
    close(q.omega, p.omega, r**2, 1e-10)
    close(q.flow_t, p.flow_t, 1.0 / r**2, 1e-10)


@every
@pytest.mark.parametrize("pieces", [2, 5])
def test_splitting_walls(name, pieces):
    section = SECTIONS[name]
    p, q = properties(section), properties(split(section, pieces))
    r = size(section)
    for value in ("A", "I1", "I2"):
        close(getattr(q, value), getattr(p, value), getattr(p, value), 1e-11)
    close(q.J, p.J, p.J + 1e-3 * p.I1, 1e-11)  # no cell: J_cells is round-off of I
    close(q.Cw, p.Cw, p.A * r**4, 1e-11)
    close(q.angle, p.angle, 1.0, 1e-10)
    close(q.centroid, p.centroid, r)
    close(q.shear_centre, p.shear_centre, r, 1e-10)
    close(q.shear, p.shear, np.abs(p.shear).max(), 1e-9)
    ends = np.arange(len(section.walls)) * 2 * pieces  # end a of each wall's first piece
    close(q.omega[ends], p.omega[::2], r**2, 1e-10)
    for flow in ("flow_y", "flow_z", "flow_w"):
        whole = getattr(p, flow)
        close(getattr(q, flow)[ends], whole[::2], max(np.abs(whole).max(), 1e-300), 1e-9)


@every
def test_mirror_image(name):
    section = SECTIONS[name]
    p, q = properties(section), properties(moved(section, flip=True))
    r = size(section)
    for value in ("A", "J", "J_cells", "Iy", "Iz"):
        close(getattr(q, value), getattr(p, value), max(p.Iy, p.J, p.A))
    close(q.Cw, p.Cw, p.A * r**4)
    close(q.Iyz, -p.Iyz, p.Iy)
    close(q.shear_centre, p.shear_centre * [-1.0, 1.0], r, 1e-11)
    close(q.omega, -p.omega, r**2, 1e-11)


@every
def test_direction_of_a_wall_is_immaterial(name):
    section = SECTIONS[name]
    p = properties(section)
    q = properties(replace(section, walls=section.walls[:, ::-1].copy()))
    r = size(section)
    close([q.A, q.J, q.I1, q.I2], [p.A, p.J, p.I1, p.I2], p.Iy + p.Iz)
    close(q.Cw, p.Cw, p.A * r**4)
    close(q.omega.reshape(-1, 2)[:, ::-1].ravel(), p.omega, r**2, 1e-11)
    close(q.shear, p.shear, np.abs(p.shear).max(), 1e-11)
    close(q.held, p.held, np.abs(p.held).max() + 1.0, 1e-11)
    assert q.held == pytest.approx(p.held, abs=1e-9 * r**2)


@every
def test_twice_as_large(name):
    section = SECTIONS[name]
    double = replace(section, points=2 * section.points, thickness=2 * section.thickness)
    p, q = properties(section), properties(double)
    for value, power in (("A", 2), ("I1", 4), ("I2", 4), ("J", 4)):
        close(getattr(q, value), 2.0**power * getattr(p, value), getattr(q, value))
    close(q.Cw, 2.0**6 * p.Cw, q.A * size(double) ** 4)
    close(q.shear, p.shear / 4.0, np.abs(p.shear).max())


def wall_integrals(section, p, corner, at_a):
    """Along each wall: the mean of a flow with dq/ds = -f t, f linear between wall ends."""
    length = np.linalg.norm(
        section.points[section.walls[:, 1]] - section.points[section.walls[:, 0]], axis=1
    )
    fa, fb = corner.reshape(-1, 2).T
    return at_a - carrying(section) * length * (fa / 2.0 + (fb - fa) / 6.0), length


def resultant_of(section, p, corner, flow):
    """Force along y', z' and moment about the shear centre of a shear flow."""
    y, z = p.point_y.reshape(-1, 2), p.point_z.reshape(-1, 2)
    mean, length = wall_integrals(section, p, corner, flow[::2])
    ty, tz = (y[:, 1] - y[:, 0]) / length, (z[:, 1] - z[:, 0]) / length
    centre = p.principal_axes @ (p.shear_centre - p.centroid)
    arm = (y[:, 0] - centre[0]) * tz - (z[:, 0] - centre[1]) * ty
    force = mean * length
    return np.array([force @ ty, force @ tz, force @ arm])


@every
def test_shear_flows_balance_unit_forces_at_the_shear_centre(name):
    section = SECTIONS[name]
    p = properties(section)
    r = size(section)
    # A wall's own bending carries its share of the force through its thickness, not as flow.
    own = section.thickness.max() ** 2 / r**2
    along_y = resultant_of(section, p, p.point_y / p.I2, p.flow_y)
    along_z = resultant_of(section, p, p.point_z / p.I1, p.flow_z)
    assert along_y[:2] == pytest.approx([1.0, 0.0], abs=2 * own)
    assert along_z[:2] == pytest.approx([0.0, 1.0], abs=2 * own)
    assert abs(along_y[2]) < 1e-9 * r + 2 * own * r
    assert abs(along_z[2]) < 1e-9 * r + 2 * own * r


@every
def test_warping_flow_is_a_unit_torque(name):
    section = SECTIONS[name]
    p = properties(section)
    if p.Cw == 0.0:
        assert not np.any(p.flow_w)
        return
    y, z, torque = resultant_of(section, p, -p.omega / p.Cw, p.flow_w)
    assert abs(y) < 1e-9 / size(section)
    assert abs(z) < 1e-9 / size(section)
    assert torque == pytest.approx(1.0, rel=1e-9)


@every
def test_omega_is_orthogonal_to_bending_and_stretching(name):
    section = SECTIONS[name]
    p = properties(section)
    r = size(section)
    length = np.linalg.norm(
        section.points[section.walls[:, 1]] - section.points[section.walls[:, 0]], axis=1
    )
    weight = carrying(section) * length / 6.0

    def product(f, g):
        (fa, fb), (ga, gb) = f.reshape(-1, 2).T, g.reshape(-1, 2).T
        return weight @ (2 * fa * ga + 2 * fb * gb + fa * gb + fb * ga)

    one = np.ones_like(p.omega)
    assert abs(product(p.omega, one)) < 1e-11 * p.A * r**2
    assert abs(product(p.omega, p.point_y)) < 1e-11 * p.A * r**3
    assert abs(product(p.omega, p.point_z)) < 1e-11 * p.A * r**3
    assert product(p.omega, p.omega) == pytest.approx(p.Cw, rel=1e-11, abs=1e-9)


def sectorial_twin(section):
    """Shear centre and Cw of an open section by walking its branches from a pole (Vlasov).

    One wall at a time from the first corner; then the shear centre from the moments of the
    sectorial coordinate about the centroid's own axes.
    """
    n = len(section.points)
    omega = np.full(n, np.nan)
    omega[0] = 0.0
    for _ in range(n):
        for a, b in section.walls:
            sweep = section.points[a] @ (section.points[b][::-1] * [1.0, -1.0])
            if np.isnan(omega[b]) and not np.isnan(omega[a]):
                omega[b] = omega[a] - sweep
            if np.isnan(omega[a]) and not np.isnan(omega[b]):
                omega[a] = omega[b] + sweep
    places = np.array([0.5 - np.sqrt(0.15), 0.5, 0.5 + np.sqrt(0.15)])
    rows, weights = [], []
    for (a, b), t in zip(section.walls, section.thickness, strict=True):
        length = np.linalg.norm(section.points[b] - section.points[a])
        for x, w in zip(places, (5 / 18, 8 / 18, 5 / 18), strict=True):
            point = (1 - x) * section.points[a] + x * section.points[b]
            rows.append([1.0, *point, (1 - x) * omega[a] + x * omega[b]])
            weights.append(w * t * length)
    f, w = np.array(rows), np.array(weights)
    # Take stretching and bending out of omega; what it takes is the way to the shear centre.
    plane = np.linalg.solve(f[:, :3].T @ (f[:, :3] * w[:, None]), f[:, :3].T @ (f[:, 3] * w))
    left = f[:, 3] - f[:, :3] @ plane
    return np.array([-plane[2], plane[1]]), float(left**2 @ w)


@pytest.mark.parametrize("name", OPEN)
def test_open_sections_against_vlasovs_sectorial_coordinate(name):
    section = SECTIONS[name]
    p = properties(section)
    centre, Cw = sectorial_twin(section)
    r = size(section)
    close(p.shear_centre, centre, r, 1e-9)
    close(p.Cw, Cw, p.A * r**4, 1e-10)


def test_two_cells_by_hand():
    """Bredt-Batho for both cells: two equations in the two flows."""
    p = properties(TWO_CELLS)
    flexibility = np.array([[220 / 4 + 100 / 3, -100 / 3], [-100 / 3, 280 / 4 + 100 / 3]])
    areas = np.array([6000.0, 9000.0])
    flows = np.linalg.solve(flexibility, 2 * areas)
    own = sum(t**3 * s / 3 for t, s in ((4, 60), (4, 90), (4, 100), (4, 90), (4, 60), (4, 100)))
    own += 3**3 * 100 / 3
    assert p.J_cells == pytest.approx(2 * areas @ flows, rel=1e-12)
    assert p.J - own == pytest.approx(2 * areas @ flows, rel=1e-12)
    assert p.flow_t[2 * 2] == pytest.approx(flows[1] / p.J, rel=1e-12)
    assert p.flow_t[2 * 6] == pytest.approx((flows[0] - flows[1]) / p.J, rel=1e-12)


@pytest.mark.parametrize("name", OPEN)
def test_open_walls_carry_no_torsion_flow(name):
    p = properties(SECTIONS[name])
    assert abs(p.J_cells) < 1e-12 * p.I1
    assert not p.is_closed
    assert np.max(np.abs(p.flow_t)) * p.J < 1e-9 * size(SECTIONS[name])


def test_fins_add_to_a_cell_only_their_own_torsion():
    cell = midline(
        CELL_WITH_FINS.points[:4],
        [(*w, t) for w, t in zip(CELL_WITH_FINS.walls[:4], CELL_WITH_FINS.thickness, strict=False)],
    )
    p, q = properties(cell), properties(CELL_WITH_FINS)
    assert q.J_cells == pytest.approx(p.J_cells, rel=1e-12)
    fins = [(40, 2), (25, 3), (30, 1.5)]
    own = sum(length * t**3 / 3 for length, t in fins)
    added = q.J - p.J
    assert added == pytest.approx(own, rel=1e-9)


def test_thin_box_is_bredts():
    """The thinner the walls, the less their own torsion: (t/b)^2."""
    for t in (1.0, 0.1, 0.01):
        p = properties(shapes.box(depth=80 + t, width=50 + t, wall=t))
        bredt = 2 * t * (80.0 * 50.0) ** 2 / 130.0
        assert p.J_cells == pytest.approx(bredt, rel=1e-12)
        assert p.J / bredt - 1.0 == pytest.approx(260 * t**3 / 3 / bredt, rel=1e-6)
        assert p.is_closed


def test_square_box_does_not_warp():
    assert properties(shapes.box(depth=80, width=80, wall=3)).Cw == 0.0


@pytest.mark.parametrize("name", ["channel", "Z", "I"])
def test_held_wall_of_an_open_section_is_followed_exactly(name):
    """Plane plus warping leaves the held wall as it was: no axial motion along it.

    In an open section the wall has no shear, so its turn by sweep is that by warping.
    """
    section = SECTIONS[name]
    p = properties(section)
    shift, about_y, about_z = p.held
    origin = p.principal_axes @ -p.centroid
    wall = 2 * section.held_wall
    for k in (wall, wall + 1):
        y, z = p.point_y[k] - origin[0], p.point_z[k] - origin[1]
        axial = shift + about_y * z - about_z * y + p.omega[k]
        assert abs(axial) < 1e-10 * np.abs(p.omega).max()


def test_a_share_of_all_walls_is_a_thinner_sheet():
    """Half the normal stress and half the flow everywhere: half of A, I, Cw and of a thin cell."""
    half = np.full(4, 0.5)
    p = properties(SECTIONS["boxed channel"])
    q = properties(replace(SECTIONS["boxed channel"], normal_factor=half, shear_factor=half))
    for value in ("A", "Iy", "Iz", "J", "J_cells", "Cw"):
        assert getattr(q, value) == pytest.approx(0.5 * getattr(p, value), rel=1e-12)
    assert q.shear == pytest.approx(2.0 * p.shear, rel=1e-11)
    assert q.shear_centre == pytest.approx(p.shear_centre, rel=1e-11)


def test_bredts_cell_with_one_wall_softer_in_shear():
    factor = np.array([1.0, 1.0, 1.0, 0.25])
    section = shapes.box(depth=83, width=53, wall=3)
    p, q = properties(section), properties(replace(section, shear_factor=factor))
    area, slips = 80.0 * 50.0, np.array([50.0, 80.0, 50.0, 80.0]) / 3.0
    assert q.J_cells == pytest.approx(4.0 * area**2 / np.sum(slips / factor), rel=1e-12)
    for value in ("A", "Iy", "Iz", "centroid"):
        assert getattr(q, value) == pytest.approx(getattr(p, value), rel=1e-14)


def test_shares_of_one_are_no_shares():
    section = SECTIONS["channel"]
    assert replace(section, shear_factor=np.ones(3)).key() == section.key()
    assert softened(section).key() != section.key()


@pytest.mark.parametrize("share", [0.0, -0.1, 1.1, np.nan])
def test_a_share_out_of_range_is_refused(share):
    for name in ("normal_factor", "shear_factor"):
        with pytest.raises(ModelError, match="greater than 0 and at most 1"):
            properties(replace(SECTIONS["channel"], **{name: np.array([1.0, share, 1.0])}))


def test_flat_plate():
    p = properties(shapes.plate(depth=100, wall=5))
    inertia = [p.I1, p.I2]
    assert inertia == pytest.approx([5 * 100**3 / 12, 100 * 5**3 / 12], rel=1e-14)
    assert (p.Cw, p.Iyz, p.angle) == (0.0, 0.0, 0.0)
    assert 1.0 / p.shear[0, 0] == pytest.approx(5 / 6 * 500, rel=1e-12)
    assert 1.0 / p.shear[1, 1] == pytest.approx(5 / 6 * 500, rel=1e-12)
    assert not np.any(p.held)


def test_properties_are_kept():
    """Equal midlines share their properties; another held wall is another section."""
    first = shapes.channel(depth=200, flange=75, wall=6)
    again = shapes.channel(depth=200, flange=75, wall=6)
    assert properties(first) is properties(again)
    other = replace(first, held_wall=0)
    assert properties(other) is not properties(first)
    assert not np.allclose(properties(other).held, properties(first).held)
    thicker = shapes.channel(depth=200, flange=75, wall=6.001)
    assert properties(thicker).A > properties(first).A


@pytest.mark.parametrize(
    ("points", "walls", "text"),
    [
        ([(0, 0), (0, 0)], [(0, 1, 2)], "length and a thickness"),
        ([(0, 0), (9, 0)], [(0, 1, 0)], "length and a thickness"),
        ([(0, 0), (9, np.nan)], [(0, 1, 2)], "length and a thickness"),
        ([(0, 0), (9, 0), (0, 5), (9, 5)], [(0, 1, 2), (2, 3, 2)], "hang together"),
    ],
)
def test_what_is_no_section(points, walls, text):
    with pytest.raises(ModelError, match=text):
        properties(midline(points, walls))
