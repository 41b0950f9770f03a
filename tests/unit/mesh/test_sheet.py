"""Sheet metal: mean motions, cuts where beams go on, ends that fit what they stand on."""

from pathlib import Path

import numpy as np
import pytest
from handmade import STEEL, member, section, two_rails
from plain_ladder import ladder

from fea.errors import ModelError
from fea.frame import path
from fea.frame.crossing import crossings, tip
from fea.frame.model import Frame, Section
from fea.frame.path import lengths
from fea.mesh.mesh import Rows
from fea.mesh.piece import Length, Sheet
from fea.mesh.section_motion import mean_motion
from fea.mesh.sheet import sheet
from fea.section import shapes
from fea.section.holes import Hole, pierced
from fea.section.midline import Midline
from fea.section.properties import properties
from fea.section.seam import Stitch, stitched
from fea.solve.assemble import sparse_rows
from fea.solve.condense import condense, tied

CHANNEL = section(shapes.channel(depth=123.0, flange=51.5, wall=3.0), "C", is_open=True)
BOX = section(shapes.box(depth=63.0, width=63.0, wall=3.0), "box")
TURN, MOVE = np.array([0.2, -0.4, 0.3]), np.array([1.0, 2.0, -3.0])


def rigid(points: np.ndarray, freedoms: int) -> np.ndarray:
    u = np.zeros((len(points), freedoms))
    u[:, :3], u[:, 3:6] = MOVE + np.cross(TURN, points), TURN
    return u.ravel()


def whole(frame: Frame, size: float = 16.0) -> Sheet:
    return sheet(frame, [Length(m.name, 0.0, lengths(m.path)[-1]) for m in frame.members], {}, size)


def times(rows: Rows, u: np.ndarray) -> np.ndarray:
    return np.asarray(sparse_rows(rows, len(u)) @ u)


@pytest.mark.parametrize("line", [False, True])
def test_the_mean_of_a_rigid_motion_is_that_motion(line: bool) -> None:
    rng = np.random.default_rng(7)
    points = rng.uniform(-50.0, 50.0, (9, 3))
    if line:  # nodes of a flat wall seen from its edge: turning about it shows in rotations only
        points = np.outer(np.linspace(-60.0, 60.0, 9), [0.0, 0.6, 0.8])
    share = rng.uniform(0.5, 1.0, 9)
    at = np.array([5.0, -80.0, 30.0])
    rows = mean_motion(np.arange(9), points, share / share.sum(), at)
    want = np.concatenate([MOVE + np.cross(TURN, at), TURN])
    np.testing.assert_allclose(times(rows, rigid(points, 6)), want, rtol=0, atol=1e-12)


def test_a_mean_motion_is_a_weighted_one() -> None:
    points = np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [0.0, 10.0, 0.0]])
    share = np.array([0.5, 0.3, 0.2])
    u = np.zeros((3, 6))
    u[:, 2] = [1.0, 1.0, 1.0]
    u[1, 0] = 2.0
    rows = mean_motion(np.arange(3), points, share, share @ points)
    assert times(rows, u.ravel())[[0, 2]].tolist() == pytest.approx([0.6, 1.0])


# ------------------------------------------------------------------------ cuts and beams


def bar(shape: Section, long: float = 600.0, kind: str = "rail") -> Sheet:
    frame = Frame("bar", "", "", (member("m", [(0, 0, 0), (long, 0, 0)], shape, kind),), ())
    return sheet(frame, [Length("m", 0.0, long, True, True)], {}, 12.0)


@pytest.mark.parametrize("shape", [CHANNEL, BOX])
@pytest.mark.parametrize("kind", ["rail", "crossmember"])
def test_the_metal_between_two_cuts_moves_rigidly_for_nothing(shape: Section, kind: str) -> None:
    metal = bar(shape, 300.0, kind)
    K, recover = condense(metal)
    ends = np.array([c.point for c in metal.cuts])
    u = rigid(ends, 7)
    assert np.linalg.norm(K @ u) < 1e-10 * np.linalg.norm(K) * np.linalg.norm(u)
    n = 6 * len(metal.points)
    np.testing.assert_allclose((recover @ u)[:n], rigid(metal.points, 6), atol=1e-8)


@pytest.mark.parametrize("warps", [True, False])
def test_twist_of_a_cut_length_is_that_of_the_beam(warps: bool) -> None:
    """A channel built in at one cut; the other end's warping free, or held.

    Vlasov: with k^2 = GJ/ECw the twist under a torque T is T L/GJ (1 - tanh(kL)/kL), or with
    the other end held T L/GJ (1 - 2 tanh(kL/2)/kL).
    """
    K, _ = condense(bar(CHANNEL, kind="crossmember"))
    p, L = properties(CHANNEL.midline), 600.0
    k = L * np.sqrt(STEEL.G * p.J / (STEEL.E * p.Cw))
    torque = 1e5
    fade = np.tanh(k) / k if warps else 2.0 * np.tanh(k / 2.0) / k
    beam = torque * L / (STEEL.G * p.J) * (1.0 - fade)
    free = [7, 8, 9, 10, 11, 12] + [13] * warps
    f = np.zeros(len(free))
    f[3] = torque
    twist = np.linalg.solve(K[np.ix_(free, free)], f)[3]
    # The flanges, 50 mm wide and bent in their planes over 600 mm, also shear: 12 EI/(GA L^2)
    # is 0.022 with both ends held.
    assert beam < twist < 1.04 * beam


def test_bending_and_stretch_of_a_cut_length_are_those_of_the_beam() -> None:
    K, _ = condense(bar(BOX, kind="crossmember"))
    p, L = properties(BOX.midline), 600.0
    free = np.arange(7, 13)  # a square tube does not warp
    C = np.linalg.inv(K[np.ix_(free, free)])
    shear = L * p.shear[1, 1] / STEEL.G
    assert C[2, 2] == pytest.approx(L**3 / (3.0 * STEEL.E * p.Iy) + shear, rel=0.01)
    assert C[0, 0] == pytest.approx(L / (STEEL.E * p.A), rel=0.01)


BOXED = shapes.boxed_channel(depth=123.0, flange=51.5, wall=3.0, plate=3.0)
ROW = Hole("web", 60.0, 60.0, 120.0)


@pytest.mark.parametrize(
    ("midline", "least"),
    [(BOXED, 1.0), (stitched(BOXED, Stitch(25.0, 150.0)), 1.5),
     (stitched(BOXED, Stitch(40.0, 120.0)), 1.2), (pierced(BOXED, ROW), 1.3),
     (pierced(BOXED, Hole("plate", 60.0, 40.0, 120.0)), 1.2),
     (stitched(pierced(BOXED, ROW), Stitch(25.0, 150.0)), 1.8)],
    ids=["plain", "stitched 25/150", "stitched 40/120", "web holed", "plate holed", "both"],
)  # fmt: skip
def test_a_stitched_or_holed_tube_twists_as_the_beam(midline: Midline, least: float) -> None:
    """Bredt's twist of the softened walls; shells within 0.1 to 0.7 %."""
    long = 1500.0
    K, _ = condense(bar(section(midline, "boxed"), long, kind="crossmember"))
    twist = np.linalg.inv(K[7:14, 7:14])[3, 3] * STEEL.G / long
    beam, plain = 1.0 / properties(midline).J, 1.0 / properties(BOXED).J
    assert beam >= least * plain
    assert twist == pytest.approx(beam, rel=0.01)


# --------------------------------------------------------------------- ends that are welded


def end_nodes(frame: Frame, metal: Sheet, name: str) -> np.ndarray:
    """Return the nodes of a crossmember's last row: those nearest to its right end."""
    mine = np.unique(metal.quads[metal.member == metal.members.index(name)])
    point, inward = tip(frame.member(name), "end")
    ahead = (metal.points[mine] - point) @ inward
    return mine[ahead < ahead.min() + 40.0]


def tied_nodes(metal: Sheet) -> set[int]:
    return set((metal.slaves // 6).tolist())


@pytest.mark.parametrize("slant", [0.0, 200.0])
def test_an_end_is_cut_to_the_rail_and_welded_all_round(tmp_path: Path, slant: float) -> None:
    points = ((0.0, 300.0), (1200.0, 300.0 + slant))
    frame = ladder(tmp_path, cross="box 60", points=points, stations=(600.0,))
    metal = whole(frame)
    rail = frame.member("rail right")
    direction = (rail.path[1] - rail.path[0]) / np.linalg.norm(rail.path[1] - rail.path[0])
    across = np.cross(direction, [0.0, 0.0, 1.0])
    nodes = end_nodes(frame, metal, "X0")
    on_web = nodes[np.abs((metal.points[nodes] - rail.path[0]) @ across) < 1e-6]
    assert len(on_web) >= 16
    long = np.ptp(metal.points[on_web] @ direction)
    assert long == pytest.approx(60.0 / direction[0], rel=1e-6)
    assert set(on_web.tolist()) <= tied_nodes(metal)
    assert metal.unwelded == ()


def test_what_stands_beyond_a_narrow_rail_stays_free(tmp_path: Path) -> None:
    frame = ladder(tmp_path, rail="channel 80", stations=(600.0,))
    metal = whole(frame)
    nodes = end_nodes(frame, metal, "X0")
    nodes = nodes[np.abs(metal.points[nodes, 1] - 300.0) < 1e-6]
    height = np.abs(metal.points[nodes, 2])
    fixed = np.isin(nodes, list(tied_nodes(metal)))
    assert np.all(fixed[height <= 40.0 + 1e-6])
    assert not np.any(fixed[height > 43.1])
    assert np.sum(height > 43.1) >= 8
    assert np.any(np.abs(height - 40.0) < 1e-6)  # a line of nodes at the rail's edge


@pytest.mark.parametrize("keys", ['joint = "web"', 'joint = "through"'])
def test_a_box_is_met_at_one_wall_or_at_both(tmp_path: Path, keys: str) -> None:
    frame = ladder(tmp_path, rail="box 120", cross="tube", keys=keys, stations=(600.0,))
    metal = whole(frame)
    through = "through" in keys
    mine = np.unique(metal.quads[metal.member == metal.members.index("X0")])
    y = metal.points[mine, 1]
    assert np.max(y) == pytest.approx(325.0 if through else 275.0, abs=1e-6)
    fixed = mine[np.isin(mine, list(tied_nodes(metal)))]
    walls = sorted({round(abs(v), 3) for v in metal.points[fixed, 1].tolist()})
    assert walls == ([275.0, 325.0] if through else [275.0])


def test_a_line_meets_the_walls_in_its_way(tmp_path: Path) -> None:
    frame = ladder(tmp_path, rail="box 120", cross="box 60", stations=(600.0,))
    found = crossings(frame.member("rail right"), 600.0, np.array([600.0, 0.0, 10.0]), np.eye(3)[1])
    assert [c.t for c in found] == pytest.approx([275.0, 325.0])
    above = np.array([600.0, 0.0, 70.0])
    assert crossings(frame.member("rail right"), 600.0, above, np.eye(3)[1]) == []


def test_a_rigid_motion_of_the_whole_metal_costs_nothing(tmp_path: Path) -> None:
    metal = whole(ladder(tmp_path, keys='joint = "web_and_flanges"', stations=(600.0,)), 24.0)
    links, K = tied(metal)
    u = rigid(metal.points, 6)
    assert metal.n_freedoms == len(u)
    q = u[links.independent]
    np.testing.assert_allclose(links.matrix @ q, u, atol=1e-9)
    assert np.linalg.norm(K @ q) < 1e-10 * np.max(np.abs(K.data)) * np.linalg.norm(q)


def test_metal_that_folds_back_on_itself_is_refused() -> None:
    """Two corners of a right angle 60 mm apart, in a rail 120 mm deep lying on its side."""
    wide = section(shapes.turn(CHANNEL.midline, 1), "wide", is_open=True)
    path = [(0, 0, 0), (400, 0, 0), (400.1, 60, 0), (0, 60.1, 0)]
    frame = two_rails(600.0, 600.0, CHANNEL, CHANNEL, [])
    hairpin = member("hairpin", path, wide)
    frame = Frame("f", "", "", (*frame.members, hairpin), ())
    with pytest.raises(ModelError, match="fold back on itself") as error:
        sheet(frame, [Length("hairpin", 0.0, lengths(hairpin.path)[-1])], {}, 12.0)
    assert error.value.complaints[0].where == "hairpin"


def test_a_seat_beyond_where_a_member_is_cut_off_moves_with_its_end(tmp_path: Path) -> None:
    frame = ladder(tmp_path, keys='joint = "web"')
    lengths = [Length("rail right", 0.0, 400.0, False, True), Length("X0", 300.0, 600.0, True)]
    places = {"X0": (599.5,)}
    metal = sheet(frame, lengths, places)
    shift, turn = np.array([0.3, -0.2, 0.5]), np.array([1e-3, 2e-3, -3e-3])
    u = np.zeros(metal.n_freedoms)
    nodes = u[: 6 * len(metal.points)].reshape(-1, 6)
    nodes[:, :3], nodes[:, 3:] = shift + np.cross(turn, metal.points), turn
    rows = metal.seats["X0", 599.5]
    found = np.zeros(6)
    np.add.at(found, rows.row, rows.coefficient * u[rows.freedom])
    at = path.point_at(frame.member("X0").path, 599.5)
    np.testing.assert_allclose(found[:3], shift + np.cross(turn, at), atol=1e-12)
    np.testing.assert_allclose(found[3:], turn, atol=1e-12)
