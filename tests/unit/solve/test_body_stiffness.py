"""A body between its mounts and ties: condensed, to its figures, and what is refused."""

from dataclasses import replace

import numpy as np
import pytest

from fea.errors import ModelError, SolveError
from fea.frame.body import Body, BodyBeam, BodyFigure, BodyPanel, Tie
from fea.frame.model import Material, Section
from fea.mesh.body import body_mesh
from fea.section import shapes
from fea.section.properties import properties
from fea.solve.body import alone_bending, alone_twist, between, body_stiffness, condensed
from fea.solve.grillage import condense_body

STEEL = Material("steel", 205000.0, 0.3, 7.85e-9, 240.0)
SILL = shapes.box(depth=90.0, width=60.0, wall=1.2)
BRACE = shapes.box(depth=40.0, width=60.0, wall=1.0)
DEGREE = np.pi / 180.0

TWIST = BodyFigure(4.0e6 / DEGREE, ("M1", "M3"))
BENDING = BodyFigure(2500.0, ("M1", "M3"), ((1100.0, 720.0, 0.0), (1100.0, -720.0, 0.0)))
STATIONS = (0.0, 1000.0, 2200.0)


def bar(name: str, side: str, midline, *path) -> BodyBeam:
    section = Section(name, midline, 90.0, 60.0, is_open=False)
    return BodyBeam(name, side, np.array(path, dtype=float), section, STEEL)


def sheet(name: str, *corners) -> BodyPanel:
    return BodyPanel(name, np.array(corners, dtype=float), 0.8, STEEL)


def cab(*, roof: bool = True, floor: bool = True, twist=None, bending=None, tilt=0.0) -> Body:
    """Two sills, braces between them, and a roof on pillars; `tilt` lifts the right rear."""
    beams, panels = [], []
    a, b, c = STATIONS
    for side, y in (("right", 720.0), ("left", -720.0)):
        lift = tilt if side == "right" else 0.0
        beams.append(bar("sill", side, SILL, (a, y, 0), (b, y, 0), (c, y, lift)))
        if roof:
            beams.append(bar("cant rail", side, BRACE, (300, 0.8 * y, 1200), (c, 0.8 * y, 1200)))
            beams.append(bar("front pillar", side, BRACE, (a, y, 0), (300, 0.8 * y, 1200)))
            beams.append(bar("rear pillar", side, BRACE, (c, y, lift), (c, 0.8 * y, 1200)))
    for k, x in enumerate(STATIONS):
        z = tilt if x == c else 0.0
        beams.append(bar(f"brace {k}", "centre", BRACE, (x, 720, z), (x, -720, 0)))
    if roof:
        beams += [bar(f"bow {x}", "centre", BRACE, (x, 576, 1200), (x, -576, 1200))
                  for x in (300, c)]  # fmt: skip
        panels.append(sheet("roof", (300, 576, 1200), (300, -576, 1200),
                            (c, -576, 1200), (c, 576, 1200)))  # fmt: skip
    if floor:
        panels += [sheet("floor", (x, 720, 0), (x, -720, 0), (z, -720, 0), (z, 720, 0))
                   for x, z in ((a, b),)]  # fmt: skip
    points = {}
    for side, y in (("right", 720.0), ("left", -720.0)):
        for k, (x, d) in enumerate(zip(STATIONS, (150.0, 0.0, 0.0), strict=True), 1):
            points[f"M{k}", side] = (x + d, y, tilt if x == c and side == "right" else 0.0)
    return Body("cab", tuple(beams), tuple(panels), points, twist, bending)


def tie(pair: str, side: str, point, body="cab") -> Tie:
    return Tie(pair, side, "rail", 0.0, (0.0, 0.0, 0.0), body, "sill", point)


TIES = [
    tie("T1", "right", (600.0, 720.0, 0.0)),
    tie("T1", "left", (600.0, -720.0, 0.0)),
    tie("T2", "right", (1700.0, 720.0, 0.0)),
    tie("T2", "left", (1700.0, -720.0, 0.0)),
]


def rigid(points) -> np.ndarray:
    out = np.zeros((len(points), 6, 6))
    for k in range(3):
        axis = np.eye(3)[k]
        out[:, k, k] = 1.0
        out[:, :3, 3 + k] = np.cross(axis, points)
        out[:, 3 + k, 3 + k] = 1.0
    return out.reshape(-1, 6)


def spread(K: np.ndarray) -> np.ndarray:
    """Eigenvalues in units in which the diagonal is one."""
    scale = 1.0 / np.sqrt(np.diagonal(K))
    return np.linalg.eigvalsh(K * np.outer(scale, scale))


def flexible(found, figure, load_rows) -> float:
    """A stiffness by another way: the bordered matrix, four corner mounts held by name."""
    K = found.stiffness
    n = len(K)
    row = {label: 6 * r for label, (r, _) in found.places.items()}
    front, rear = ([row["mount", m, s] for s in ("right", "left")] for m in figure.between)
    if load_rows is None:  # twist: rear pair and one front corner's plan motions
        held = [rear[0] + 2, rear[1] + 2, front[0], front[0] + 1, rear[0] + 1]
        C = np.zeros((6, n))
        C[np.arange(5), held] = 1.0
        C[5, [front[0] + 2, front[1] + 2]] = 1.0
        load = np.zeros(n)
        wide = found.points[front[0] // 6][1] - found.points[front[1] // 6][1]
        load[front[0] + 2], load[front[1] + 2] = 1.0 / wide, -1.0 / wide
    else:
        held = [r + 2 for r in (*front, *rear)] + [front[0], front[0] + 1, rear[0] + 1]
        C = np.zeros((7, n))
        C[np.arange(7), held] = 1.0
        load = np.zeros(n)
        load[np.array(load_rows) + 2] = 1.0 / len(load_rows)
    whole = np.block([[K, 1e3 * C.T], [1e3 * C, np.zeros((len(C), len(C)))]])
    u = np.linalg.solve(whole, np.concatenate([load, np.zeros(len(C))]))[:n]
    return 1.0 / float(load @ u)


@pytest.mark.parametrize("roof", [True, False])
def test_both_figures_are_met(roof: bool) -> None:
    found = body_stiffness(cab(roof=roof, twist=TWIST, bending=BENDING), TIES)
    assert alone_twist(found, TWIST) == pytest.approx(TWIST.stiffness, rel=1e-9)
    assert alone_bending(found, BENDING) == pytest.approx(BENDING.stiffness, rel=1e-9)
    # By another way, which loses digits: its matrix mixes mm and radians.
    at = [6 * found.places["bending", k][0] for k in ("1", "2")]
    assert flexible(found, TWIST, None) == pytest.approx(TWIST.stiffness, rel=1e-7)
    assert flexible(found, BENDING, at) == pytest.approx(BENDING.stiffness, rel=1e-7)
    assert found.factors[0] != pytest.approx(found.factors[1], rel=0.01)


@pytest.mark.parametrize(("twist", "bending"), [(TWIST, None), (None, BENDING), (None, None)])
def test_one_figure_scales_everything(twist, bending) -> None:
    found = body_stiffness(cab(twist=twist, bending=bending), TIES)
    plain = body_stiffness(cab(), TIES)
    assert found.factors[0] == found.factors[1]
    if twist:
        assert alone_twist(found, twist) == pytest.approx(twist.stiffness, rel=1e-9)
    if bending:
        assert alone_bending(found, bending) == pytest.approx(bending.stiffness, rel=1e-9)
    if not (twist or bending):
        assert found.factors == (1.0, 1.0)
    m = len(plain.stiffness)
    if not bending:
        assert np.allclose(found.stiffness, found.factors[0] * plain.stiffness, rtol=1e-12)
        assert found.stiffness.shape == (m, m)


@pytest.mark.parametrize("figures", [{}, {"twist": TWIST}, {"twist": TWIST, "bending": BENDING}])
def test_a_free_body_has_six_motions_that_cost_nothing(figures) -> None:
    found = body_stiffness(cab(**figures), TIES)
    K = found.stiffness
    scale = np.sqrt(np.diagonal(K))
    forces = (K @ rigid(found.points)) / scale[:, None]
    size = np.abs(rigid(found.points)) * scale[:, None]
    assert np.max(np.abs(forces) / size.max(axis=0)) < 1e-12
    values = spread(K)
    assert np.max(np.abs(values[:6])) < 1e-12
    assert values[6] > 1e-7
    assert np.array_equal(K, K.T)


def test_twice_the_figure_is_twice_the_stiffness() -> None:
    once = body_stiffness(cab(twist=TWIST, bending=BENDING), TIES)
    double = replace(TWIST, stiffness=2.0 * TWIST.stiffness)
    twice = body_stiffness(cab(twist=double, bending=BENDING), TIES)
    assert twice.factors == pytest.approx((2.0 * once.factors[0], once.factors[1]), rel=1e-12)
    assert alone_bending(twice, BENDING) == pytest.approx(BENDING.stiffness, rel=1e-9)
    both = replace(BENDING, stiffness=2.0 * BENDING.stiffness)
    all_twice = body_stiffness(cab(twist=double, bending=both), TIES)
    gap = np.abs(all_twice.stiffness - 2.0 * once.stiffness)
    assert np.max(gap) < 1e-12 * np.max(np.abs(once.stiffness))


def test_a_body_with_roof_and_floor_is_stiffer_in_twist_than_bare_sills() -> None:
    figure = {roof: condensed(body_mesh(cab(roof=roof, floor=roof))) for roof in (True, False)}
    closed, bare = alone_twist(figure[True], TWIST), alone_twist(figure[False], TWIST)
    assert closed > 3.0 * bare
    no_floor = condensed(body_mesh(cab(floor=False)))
    assert bare < alone_twist(no_floor, TWIST) <= closed * (1.0 + 1e-9)


def test_a_plain_cross_of_two_sills_and_two_braces_twists_as_by_hand() -> None:
    """Four equal bars in a square under forces F at its corners, alternating in sign.

    Turned by a quarter the load changes its sign, and so does the answer: every bar has
    the shear F/2, no moment at its middle, so F a/4 at its ends, which its neighbours
    take as torque; each turns by F a^2/4GJ over its length, half of it at either end.
    """
    a = 1000.0
    tube = shapes.tube(diameter=50.0, wall=2.0)
    corners = [(0, a / 2, 0), (a, a / 2, 0), (a, -a / 2, 0), (0, -a / 2, 0)]
    sides = [bar(f"bar {k}", "centre", tube, corners[k], corners[(k + 1) % 4]) for k in range(4)]
    points = {("M1", "right"): corners[0], ("M2", "right"): corners[1],
              ("M2", "left"): corners[2], ("M1", "left"): corners[3]}  # fmt: skip
    mesh = body_mesh(Body("square", tuple(sides), (), points))
    found = alone_twist(condensed(mesh), BodyFigure(1.0, ("M1", "M2")))
    b = mesh.beams
    EI, GJ, slip = b.EI1[0], b.GJ[0], b.shear[0, 0, 0]
    F = 1.0
    # How far one end of a bar lies above the other: bending and shear, and the slope of
    # its ends times its length.
    rise = F / 2.0 * (a**3 / (12.0 * EI) + slip * a) + a * (F * a**2 / (4.0 * GJ)) / 2.0
    assert found == pytest.approx(F * a / (2.0 * rise / a), rel=1e-9)


def test_further_ties_on_a_beam_do_not_change_the_stiffness() -> None:
    few = body_stiffness(cab(twist=TWIST, bending=BENDING), TIES[:2])
    many = body_stiffness(cab(twist=TWIST, bending=BENDING), TIES)
    rows = np.concatenate([6 * many.places[label][0] + np.arange(6) for label in few.labels])
    others = np.setdiff1d(np.arange(len(many.stiffness)), rows)
    K = many.stiffness
    inner = K[np.ix_(others, others)]
    condensed_again = K[np.ix_(rows, rows)] - K[np.ix_(rows, others)] @ np.linalg.solve(
        inner, K[np.ix_(others, rows)]
    )
    scale = np.sqrt(np.diagonal(few.stiffness))
    gap = (condensed_again - few.stiffness) / np.outer(scale, scale)
    assert np.max(np.abs(gap)) < 1e-9
    assert many.factors == pytest.approx(few.factors, rel=1e-9)


def test_the_stiffness_is_its_own_mirror_image() -> None:
    found = body_stiffness(cab(twist=TWIST, bending=BENDING), TIES)
    other = {"right": "left", "left": "right"}
    swap = {"1": "2", "2": "1"}
    order = []
    for label in found.labels:
        twin = (*label[:-1], other.get(label[-1]) or swap[label[-1]])
        order.append(found.places[twin][0])
    sign = np.tile([1.0, -1.0, 1.0, -1.0, 1.0, -1.0], len(order))
    at = (6 * np.array(order)[:, None] + np.arange(6)).ravel()
    mirrored = found.stiffness[np.ix_(at, at)] * np.outer(sign, sign)
    assert np.max(np.abs(mirrored - found.stiffness)) < 1e-12 * np.max(np.abs(mirrored))


def test_a_tie_on_one_side_only_leaves_the_calibration_as_it_is() -> None:
    one = body_stiffness(cab(twist=TWIST, bending=BENDING), TIES[:1])
    two = body_stiffness(cab(twist=TWIST, bending=BENDING), TIES[:2])
    assert ("tie", "T1", "left") not in one.places
    assert len(one.points) == len(two.points) - 1
    assert one.factors == pytest.approx(two.factors, rel=1e-9)
    assert alone_twist(one, TWIST) == pytest.approx(TWIST.stiffness, rel=1e-9)
    assert alone_bending(one, BENDING) == pytest.approx(BENDING.stiffness, rel=1e-9)
    assert np.max(np.abs(spread(one.stiffness)[:6])) < 1e-12


def test_a_mount_missing_on_one_side_changes_nothing() -> None:
    body = cab(twist=TWIST, bending=BENDING)
    points = {k: p for k, p in body.points.items() if k != ("M2", "left")}
    found = body_stiffness(replace(body, points=points), [])
    assert alone_twist(found, TWIST) == pytest.approx(TWIST.stiffness, rel=1e-9)
    assert found.factors == pytest.approx(body_stiffness(body, []).factors, rel=1e-9)


def test_labels_and_points() -> None:
    away = tie("T9", "right", (0.0, 0.0, 0.0), body="load bed")
    found = body_stiffness(cab(bending=BENDING), [*TIES, away])
    assert found.name == "cab"
    assert found.labels[:2] == (("mount", "M1", "right"), ("mount", "M2", "right"))
    assert ("bending", "2") in found.labels
    assert ("tie", "T9", "right") not in found.places
    assert found.point(("tie", "T2", "left")).tolist() == [1700.0, -720.0, 0.0]
    assert found.stiffness.shape == (6 * len(found.points), 6 * len(found.points))


def test_labels_on_one_node_share_a_point() -> None:
    near = [*TIES, tie("T3", "right", (600.3, 720.0, 0.0)), tie("T4", "right", (600.0, 723.0, 0.0))]
    found = body_stiffness(cab(), near)
    rows = {found.places["tie", pair, "right"][0] for pair in ("T1", "T3", "T4")}
    assert len(rows) == 1
    assert len(found.points) == len(body_stiffness(cab(), TIES).points)
    row, arm = found.places["tie", "T4", "right"]
    assert (found.points[row] + arm).tolist() == [600.0, 723.0, 0.0]


def test_a_point_beside_the_beam_moves_with_it_rigidly() -> None:
    on = condensed(body_mesh(cab(), {("tie", "T", "right"): (600.0, 720.0, 0.0)}))
    off = condensed(body_mesh(cab(), {("tie", "T", "right"): (600.0, 722.0, 3.0)}))
    row, _ = on.places["tie", "T", "right"]
    x, y, z = off.points[row] - on.points[row]
    T = np.eye(len(on.stiffness))
    # Motion of the node from that of the point: u + theta x (node - point).
    T[6 * row : 6 * row + 3, 6 * row + 3 : 6 * row + 6] = [[0, -z, y], [z, 0, -x], [-y, x, 0]]
    gap = np.abs(T.T @ on.stiffness @ T - off.stiffness)
    assert np.max(gap) < 1e-10 * np.max(np.abs(on.stiffness))


def test_a_load_that_shares_a_node_with_a_mount_stands_at_its_own_point() -> None:
    at = ((-3.0, 722.0, -2.0), (-3.0, -722.0, -2.0))
    figure = replace(BENDING, at=at)
    extra = {("bending", str(k)): p for k, p in enumerate(at, 1)}
    body = cab()
    ends = {("M0", "right"): (0.0, 720.0, 0.0), ("M0", "left"): (0.0, -720.0, 0.0)}
    shared = condensed(body_mesh(replace(body, points=body.points | ends), extra))
    assert shared.places["bending", "1"][1].tolist() == [-3.0, 2.0, -2.0]
    alone = condensed(body_mesh(body, extra))
    assert not alone.places["bending", "1"][1].any()
    assert alone_bending(shared, figure) == pytest.approx(alone_bending(alone, figure), rel=1e-9)


def test_a_staggered_pair_is_held_up_at_its_mean() -> None:
    body = cab()
    points = {**body.points, ("M1", "right"): (550.0, 720.0, 0.0)}
    found = condensed(body_mesh(replace(body, points=points)))
    # The other way loses digits: its matrix mixes mm and radians.
    assert alone_twist(found, TWIST) == pytest.approx(flexible(found, TWIST, None), rel=1e-7)


def test_between_some_labels_at_their_own_points() -> None:
    extra = {("tie", pair, "right"): (600.0, 720.0 + d, 0.0) for pair, d in (("A", 0), ("B", 3))}
    both = condensed(body_mesh(cab(), {**extra, ("bending", "1"): (1700.0, 720.0, 0.0)}))
    only = condensed(body_mesh(cab(), {("tie", "B", "right"): extra["tie", "B", "right"]}))
    assert both.places["tie", "B", "right"][1].tolist() == [0.0, 3.0, 0.0]
    gap = np.abs(between(both, only.labels) - only.stiffness)
    scale = np.sqrt(np.diagonal(only.stiffness))
    assert np.max(gap / np.outer(scale, scale)) < 1e-9


def test_a_lopsided_body_takes_one_figure_but_not_two() -> None:
    found = body_stiffness(cab(tilt=80.0, twist=TWIST), [])
    assert alone_twist(found, TWIST) == pytest.approx(TWIST.stiffness, rel=1e-9)
    with pytest.raises(ModelError, match="its own mirror image") as told:
        body_stiffness(cab(tilt=80.0, twist=TWIST, bending=BENDING), [])
    assert told.value.complaints[0].where == "body cab"


def test_a_body_with_one_weaker_side_does_not_take_both_figures() -> None:
    body = cab(twist=TWIST, bending=BENDING)
    weak = shapes.box(depth=90.0, width=60.0, wall=1.1)
    right = replace(body.beams[0], section=replace(body.beams[0].section, midline=weak))
    with pytest.raises(ModelError, match="differ in stiffness"):
        body_stiffness(replace(body, beams=(right, *body.beams[1:])), [])


def test_figures_must_be_between_pairs_that_are_there() -> None:
    with pytest.raises(ModelError, match="M9") as told:
        body_stiffness(cab(twist=replace(TWIST, between=("M9", "M3"))), [])
    assert told.value.complaints[0].do == "one of M1, M2, M3"
    with pytest.raises(ModelError, match="two different pairs"):
        body_stiffness(cab(twist=replace(TWIST, between=("M3", "M3"))), [])
    at_mount = replace(BENDING, at=((2200.0, 720.0, 0.0), (2200.0, -720.0, 0.0)))
    with pytest.raises(ModelError, match="away from the held mounts"):
        body_stiffness(cab(bending=at_mount), [])
    with pytest.raises(ModelError, match="where the load stands"):
        body_stiffness(cab(bending=replace(BENDING, at=())), [])
    with pytest.raises(ModelError, match="bending 1"):
        body_stiffness(cab(bending=replace(BENDING, at=((1100.0, 0.0, 0.0),))), [])


def test_loose_pieces_are_named() -> None:
    body = cab()
    stray = bar("stray", "right", BRACE, (0, 720, 30), (900, 720, 30))
    with pytest.raises(SolveError, match="hang together") as told:
        body_stiffness(replace(body, beams=(*body.beams, stray)), [])
    (complaint,) = told.value.complaints
    assert "body cab, beam stray, right, at station 0 mm" in complaint.where


def test_a_grillage_held_by_panels_only_can_move_and_is_named() -> None:
    a = bar("front", "centre", BRACE, (0, 720, 0), (0, -720, 0))
    b = bar("rear", "centre", BRACE, (900, 720, 0), (900, -720, 0))
    floor = sheet("floor", (0, 720, 0), (0, -720, 0), (900, -720, 0), (900, 720, 0))
    points = {("M1", s): (x, y, 0.0) for s, x, y in (("right", 0.0, 720.0), ("left", 900.0, 720.0))}
    with pytest.raises(SolveError, match="nothing holds") as told:
        body_stiffness(Body("tray", (a, b), (floor,), points), [])
    assert all("body tray, beam rear" in c.where for c in told.value.complaints)


def test_a_panels_corner_in_the_air_is_named() -> None:
    body = cab()
    wing = sheet("wing", (2200, 720, 0), (2200, -720, 0), (2700, -720, 0), (2700, 720, 0))
    with pytest.raises(SolveError, match="its movement up and down") as told:
        body_stiffness(replace(body, panels=(*body.panels, wing)), [])
    assert "panel wing, at station 2700 mm" in str(told.value)


def test_a_corner_where_only_panels_meet_moves_without_turning() -> None:
    """A cube's edges as bars, but for the three that meet in one corner, and its faces there.

    The shear of three faces at right angles holds the corner: of its movements by pairs,
    ``ux + uy``, ``uy + uz``, ``uz + ux`` over the edge, each is one face's.
    """
    a = 800.0
    p = {f"{x}{y}{z}": (a * x, a * y, a * z) for x in (0, 1) for y in (0, 1) for z in (0, 1)}
    edges = [(i, j) for i in p for j in p
             if i < j and sum(c != d for c, d in zip(i, j, strict=True)) == 1]  # fmt: skip
    beams = [bar(i + j, "centre", BRACE, p[i], p[j]) for i, j in edges if j != "111"]
    assert len(beams) == 9
    faces = [("100", "110", "111", "101"), ("010", "110", "111", "011"),
             ("001", "101", "111", "011")]  # fmt: skip
    sheets = [sheet(str(k), *(p[c] for c in face)) for k, face in enumerate(faces)]
    points = {("M1", "left"): p["000"], ("M1", "right"): p["010"], ("M2", "right"): p["110"]}
    body = Body("cube", tuple(beams), tuple(sheets), points)
    found = body_stiffness(body, [])
    bare = body_stiffness(replace(body, panels=()), [])
    assert np.max(np.abs(spread(found.stiffness)[:6])) < 1e-12
    # The corner alone is no fourth support: each face's shear can be undone by its movement.
    gap = np.abs(found.stiffness - bare.stiffness)
    assert np.max(gap) < 1e-9 * np.max(np.abs(bare.stiffness))


def test_a_closed_box_twists_as_bredt_has_it_with_its_ends_in_shear() -> None:
    """From the body to its figure: R. Bredt 1896, and the energy of the two end sheets.

    The couple comes as vertical forces at two corners, so half its flow, T/2A, has to
    cross the end sheet in shear: 1/K = L sum(side/wall) / 4 A^2 G + 2 / 4 A G wall.  Half
    of each force climbs a post to the upper corner, N = T/2 wide, which gives N h/EA.
    """
    wide, deep, length, wall = 1200.0, 500.0, 1800.0, 0.8
    thread = shapes.tube(diameter=1.0, wall=0.05)  # keeps the booms from spinning
    ring = [(wide / 2, 0.0), (-wide / 2, 0.0), (-wide / 2, deep), (wide / 2, deep)]
    beams, sheets, ends = [], [], (0.0, length)
    for k, (y, z) in enumerate(ring):
        v, w = ring[(k + 1) % 4]
        beams.append(bar(f"boom {k}", "centre", SILL, (0, y, z), (length, y, z)))
        beams += [bar(f"thread {k}", "centre", thread, (x, y, z), (x, v, w)) for x in ends]
        sheets.append(sheet(f"wall {k}", (0, y, z), (0, v, w), (length, v, w), (length, y, z)))
    sheets += [sheet(f"end {x}", *((x, y, z) for y, z in ring)) for x in ends]
    points = {(f"M{k}", side): (x, y, 0.0) for k, x in enumerate(ends, 1)
              for side, y in (("right", wide / 2), ("left", -wide / 2))}  # fmt: skip
    mesh = body_mesh(Body("box", tuple(beams), tuple(sheets), points))
    area, round_it = wide * deep, 2.0 * (wide + deep) / wall
    soft = length * round_it / (4.0 * area**2 * STEEL.G) + 2.0 / (4.0 * area * STEEL.G * wall)
    posts = 4.0 * deep / (4.0 * wide**2 * STEEL.E * properties(thread).A)
    found = alone_twist(condensed(mesh), BodyFigure(1.0, ("M1", "M2")))
    # The threads' own bending is 1e-8 of the box; the posts give a hundred times as much
    # as the sheets, which costs the difference two digits.
    assert 1.0 / found - posts == pytest.approx(soft, rel=1e-6)


def test_a_kept_point_must_bear_couples() -> None:
    body = cab()
    wing = sheet("wing", (2200, 720, 0), (2200, -720, 0), (2700, -720, 0), (2700, 720, 0))
    mesh = body_mesh(replace(body, panels=(*body.panels, wing)))
    corner = int(np.argmax(mesh.points[:, 0]))
    nodes = np.array([*mesh.label_nodes, corner])
    with pytest.raises(SolveError, match="bears no couple") as told:
        condense_body(mesh, nodes, mesh.points[nodes])
    assert "panel wing" in told.value.complaints[0].where
