"""Loads add up to what the case says; supports answer by statics."""

from dataclasses import replace

import numpy as np
import pytest
from handmade import DEMOS, case, demo, simply_held, square_tube, two_rails

from fea.analyse import Solution, analyse
from fea.element.beam import N_FREEDOMS
from fea.errors import ModelError
from fea.frame.case import Case, Hold, Place, Push, Spread, Weight
from fea.frame.model import Frame, Mass, Mount
from fea.frame.spots import places
from fea.load import GRAVITY, Loads, loads, resultant
from fea.mesh.discretise import discretise
from fea.result.mass import masses
from fea.solve.assemble import sparse_rows

TUBE = square_tube(60.0, 3.0)
SMALL = two_rails(2000.0, 800.0, TUBE, TUBE, [0.0, 1000.0, 2000.0])
VEHICLES = [(name, stock) for name, stock in DEMOS if "ladder" not in name]
EXACT = 1e-9


def made(frame: Frame, load: Case) -> Loads:
    return loads(frame, discretise(frame, places(frame, load)), load)


def total(load: Case, frame: Frame = SMALL) -> np.ndarray:
    return made(frame, load).total


# --------------------------------------------------------------------- pushes and couples


@pytest.mark.parametrize("place", [Place(axle="front"), Place(station=700.0), Place(wheelbase=0.3)])
def test_a_couple_is_a_couple(place: Place) -> None:
    found = total(simply_held([Push(place, couple=1e6)]))
    np.testing.assert_allclose(found, [0, 0, 0, 1e6, 0, 0], atol=1e-6)


@pytest.mark.parametrize("name", ["orchard_pickup", "harbour_tourer"])
def test_the_twist_of_a_shipped_frame_is_a_pure_couple(name: str) -> None:
    found = made(demo(name), case("twist")).total
    assert found[3] == pytest.approx(1e6, rel=1e-12)
    np.testing.assert_allclose(found[[0, 1, 2, 4, 5]], 0.0, atol=1e-6)
    np.testing.assert_allclose(made(demo(name), case("twist_mirror")).total, -found, atol=1e-6)


@pytest.mark.parametrize(
    ("side", "factor", "offset"),
    [("each", 2.0, 0.0), ("mean", 1.0, 0.0), ("right", 1.0, 400.0), ("left", 1.0, -400.0)],
)
def test_a_push_acts_where_it_is_said_to(side: str, factor: float, offset: float) -> None:
    """Force P at r: moment r x P."""
    force = np.array([30.0, -20.0, -1000.0])
    found = total(simply_held([Push(Place(station=700.0, side=side), tuple(force))]))
    at = np.array([700.0, offset, 0.0])
    expected = np.concatenate([factor * force, factor * np.cross(at, force)])
    np.testing.assert_allclose(found, expected, atol=1e-9)


def test_pushes_at_a_mount_and_at_a_point() -> None:
    mount = Mount("M1 right", "right", (650.0, 450.0, 80.0), "rail right", 640.0, (1, 1, 1), np.inf)
    frame = replace(SMALL, mounts=(mount,))
    force = (10.0, 20.0, -500.0)
    for place, at in (
        (Place(mount="M1"), (650.0, 450.0, 80.0)),
        (Place(mount="M1 right"), (650.0, 450.0, 80.0)),
        (Place(point="rail left 1"), (2000.0, -400.0, 0.0)),
    ):
        found = total(simply_held([Push(place, force)]), frame)
        np.testing.assert_allclose(found, [*force, *np.cross(at, force)], atol=1e-9)


def test_the_share_of_each_seat() -> None:
    """Orchard pickup, front: half at -520 and half at 460 mm; by moments as one at -30."""
    frame = demo("orchard_pickup")
    push = Push(Place(axle="front", side="right"), (0.0, 0.0, -1000.0))
    found = total(simply_held([push]), frame)
    np.testing.assert_allclose(found[[2, 3, 4]], [-1000.0, -380e3, -30.0 * 1000.0], rtol=1e-9)


# ------------------------------------------------------------------------- spread loads


@pytest.mark.parametrize(("side", "both"), [("each", 2.0), ("mean", 1.0), ("right", 1.0)])
def test_a_spread_load(side: str, both: float) -> None:
    spread = Spread(300.0, 900.0, (0.5, -1.0, -2.0), side)
    found = total(replace(simply_held(), spreads=(spread,)))
    force = both * 600.0 * np.array([0.5, -1.0, -2.0])
    offset = 400.0 if side == "right" else 0.0
    moment = np.cross([600.0, offset, 0.0], force)
    np.testing.assert_allclose(found, [*force, *moment], atol=1e-6)


def test_a_spread_load_is_cut_at_the_rails_ends() -> None:
    spread = Spread(-500.0, 500.0, (0.0, 0.0, -2.0))
    found = total(replace(simply_held(), spreads=(spread,)))
    assert found[2] == pytest.approx(-2.0 * 2.0 * 500.0)


def test_a_spread_load_beside_the_rails_is_refused() -> None:
    spread = Spread(2500.0, 2600.0, (0.0, 0.0, -2.0))
    with pytest.raises(ModelError, match="must lie on a rail"):
        total(replace(simply_held(), spreads=(spread,)))


def test_a_spread_load_of_nothing_is_no_load() -> None:
    spread = Spread(300.0, 900.0, (0.0, 0.0, 0.0))
    assert np.all(total(replace(simply_held(), spreads=(spread,))) == 0.0)


def test_a_spread_load_against_many_small_pushes() -> None:
    """A row of 200 equal forces does nearly what the even load does."""
    steps = np.arange(200) * 3.0 + 301.5
    row = [Push(Place(station=float(x)), (0.0, 0.0, -6.0)) for x in steps]
    even = replace(simply_held(), spreads=(Spread(300.0, 900.0, (0.0, 0.0, -2.0)),))
    watched = [Push(Place(station=600.0), (0.0, 0.0, 0.0))]
    one = analyse(SMALL, [replace(even, pushes=tuple(watched))]).solutions[0]
    two = analyse(SMALL, [simply_held([*row, *watched])]).solutions[0]
    sag = [s.u[N_FREEDOMS * s.mesh.node_at("rail right", 600.0) + 2] for s in (one, two)]
    assert sag[1] == pytest.approx(sag[0], rel=1e-4)


# ------------------------------------------------------------------------------- weight


def test_standard_gravity() -> None:
    """CGPM 1901: 9.80665 m/s2; a kilogram weighs as many newtons."""
    assert GRAVITY == 9806.65
    load = replace(simply_held(), weight=Weight(masses=True))
    heavy = replace(SMALL, masses=(Mass("one", 0.001, (700.0, 0.0, 0.0), "frame"),))
    bare = total(replace(simply_held(), weight=Weight()))
    assert total(load, heavy)[2] - bare[2] == pytest.approx(-9.80665, rel=1e-9)


@pytest.mark.parametrize(("name", "stock"), DEMOS)
def test_own_weight_is_mass_times_g(name: str, stock: bool) -> None:
    frame = demo(name, stock)
    summary = masses(frame)
    found = total(case("own_weight"), frame)
    x, y, _ = summary.centre
    weight = summary.steel * GRAVITY
    np.testing.assert_allclose(
        found[2:5], [-weight, -y * weight, x * weight], rtol=EXACT, atol=1e-6
    )
    np.testing.assert_allclose(found[[0, 1, 5]], 0.0, atol=1e-6)


@pytest.mark.parametrize(("name", "stock"), VEHICLES)
@pytest.mark.parametrize("laden", [True, False])
def test_the_weight_of_everything_and_its_moments(name: str, stock: bool, laden: bool) -> None:
    """Against the mass table: sum of m g, and of m g times station and offset."""
    frame = demo(name, stock)
    summary = masses(frame)
    load = replace(case("payload"), weight=Weight(1.0, masses=True, laden=laden))
    carried = [m for m in frame.masses if m.carrier != "unsprung" and (laden or not m.laden)]
    table = np.array([[m.mass, *m.position] for m in carried])
    steel = np.array([[summary.steel, *summary.centre]])
    rows = np.concatenate([table, steel])
    weight = rows[:, 0] * GRAVITY
    found = total(load, frame)
    assert found[2] == pytest.approx(-weight.sum(), rel=1e-12)
    assert found[3] == pytest.approx(-weight @ rows[:, 2], rel=EXACT, abs=1e-3)
    assert found[4] == pytest.approx(weight @ rows[:, 1], rel=EXACT)
    np.testing.assert_allclose(found[[0, 1, 5]], 0.0, atol=1e-6)


def test_the_factor_of_weight() -> None:
    one, two = (total(replace(simply_held(), weight=Weight(factor))) for factor in (1.0, -2.5))
    np.testing.assert_allclose(two, -2.5 * one, rtol=1e-12, atol=1e-9)


@pytest.mark.parametrize(
    "mass",
    [
        Mass("engine", 0.2, (300.0, 50.0, 400.0), "frame"),
        Mass("behind the rails", 0.1, (2600.0, -90.0, 100.0), "frame"),
        Mass("tank", 0.05, (700.0, 0.0, 300.0), "frame", spread=(500.0, 900.0)),
        Mass("cab", 0.3, (600.0, 30.0, 900.0), "mounts", mounts=("M1", "M2")),
        Mass("wing", 0.02, (600.0, 500.0, 900.0), "mounts", mounts=("M1 right",)),
    ],
    ids=lambda m: m.name,
)
def test_one_mass_weighs_where_it_is(mass: Mass) -> None:
    mounts = tuple(
        Mount(f"{n} {side}", side, (x, s * 450.0, 60.0), f"rail {side}", x, (1, 1, 1), np.inf)
        for n, x in (("M1", 400.0), ("M2", 900.0))
        for side, s in (("right", 1.0), ("left", -1.0))
    )
    frame = replace(SMALL, mounts=mounts, masses=(mass,))
    bare = total(replace(simply_held(), weight=Weight()), frame)
    found = total(replace(simply_held(), weight=Weight(masses=True)), frame) - bare
    x, y, _ = mass.position
    weight = mass.mass * GRAVITY
    np.testing.assert_allclose(found, [0, 0, -weight, -y * weight, x * weight, 0], atol=1e-5)


def test_unsprung_masses_do_not_load_the_frame() -> None:
    heavy = Mass("axle", 0.15, (0.0, 0.0, 300.0), "unsprung")
    frame = replace(SMALL, masses=(heavy,))
    loaded = total(replace(simply_held(), weight=Weight(masses=True)), frame)
    np.testing.assert_array_equal(loaded, total(replace(simply_held(), weight=Weight())))


# ----------------------------------------------------------------------------- supports


def reactions(solution: Solution) -> dict[str, float]:
    return dict(zip(solution.loads.labels, solution.reactions.tolist(), strict=True))


def seat_station(frame: Frame, axle: str) -> float:
    seats = [s for s in frame.axle(axle).seats if s.side == "right"]
    return sum(s.share * s.position[0] for s in seats) / sum(s.share for s in seats)


@pytest.mark.parametrize(("name", "stock"), VEHICLES)
@pytest.mark.parametrize("load", ["payload", "own_weight"])
def test_the_axles_carry_the_weight_by_statics(name: str, stock: bool, load: str) -> None:
    """Moments about one axle's seats give the other axle's load, whatever the stiffness."""
    frame = demo(name, stock)
    solution = analyse(frame, [case(load)]).solutions[0]
    found = reactions(solution)
    weight, moment = -solution.loads.total[2], solution.loads.total[4]
    front, rear = seat_station(frame, "front"), seat_station(frame, "rear")
    on_rear = (moment - front * weight) / (rear - front)
    measured = {
        axle: found[f"{axle} axle right, height"] + found[f"{axle} axle left, height"]
        for axle in ("front", "rear")
    }
    assert measured["rear"] == pytest.approx(on_rear, rel=1e-8)
    assert measured["front"] == pytest.approx(weight - on_rear, rel=1e-8)
    # Roll: the right-hand seats take more of what sits on the right.
    arms = {axle: next(s.position[1] for s in frame.axle(axle).seats if s.side == "right")
            for axle in ("front", "rear")}  # fmt: skip
    roll = sum(
        arms[a] * (found[f"{a} axle right, height"] - found[f"{a} axle left, height"])
        for a in ("front", "rear")
    )
    assert roll == pytest.approx(-solution.loads.total[3], rel=1e-8, abs=1.0)


def test_axle_loads_of_the_laden_pickup_by_its_table() -> None:
    """Sprung part of the table's statics: 1810 kg laden, front 753 and rear 1057 kg, by hand.

    Laden total 2150 kg with 1247 kg on the rear wheels, less 190 kg of rear axle: 1057 kg at
    the wheels.  The springs' seats average -30 and 2880 mm instead of 0 and 2900 mm.
    """
    frame = demo("orchard_pickup", stock=True)
    found = reactions(analyse(frame, [case("payload")]).solutions[0])
    rear = (found["rear axle right, height"] + found["rear axle left, height"]) / GRAVITY * 1000.0
    front = (found["front axle right, height"] + found["front axle left, height"]) / GRAVITY * 1e3
    assert front + rear == pytest.approx(1810.0, abs=1.0)
    assert (front * -30.0 + rear * 2880.0) / 2900.0 == pytest.approx(1057.0, abs=1.5)


def test_support_rows_give_the_motion_of_their_places() -> None:
    """Under a rigid motion each row reads the motion of the point that it holds."""
    frame = demo("orchard_pickup")
    load = case("twist")
    mesh = discretise(frame, places(frame, load))
    made_rows = loads(frame, mesh, load)
    shift, turn = np.array([3.0, -2.0, 1.0]), np.array([0.01, -0.02, 0.03])
    u = np.zeros((len(mesh.points), N_FREEDOMS))
    u[:, :3], u[:, 3:6] = shift + np.cross(turn, mesh.points), turn
    read = sparse_rows(made_rows.rows, mesh.n_freedoms) @ u.ravel()

    def at(axle: str, side: str, c: int) -> float:
        seats = [s for s in frame.axle(axle).seats if s.side == side]
        share = sum(s.share for s in seats)
        return sum(s.share * (shift + np.cross(turn, s.position))[c] for s in seats) / share

    def mean(axle: str, c: int) -> float:
        return 0.5 * (at(axle, "right", c) + at(axle, "left", c))

    expected = {
        "rear axle right, height": at("rear", "right", 2),
        "rear axle left, height": at("rear", "left", 2),
        "front axle mean, height": mean("front", 2),
        "rear axle mean, station": mean("rear", 0),
        "rear axle mean, offset": mean("rear", 1),
        "front axle mean, offset": mean("front", 1),
    }
    assert dict(zip(made_rows.labels, read.tolist(), strict=True)) == pytest.approx(expected)


def test_imposed_motions_are_kept() -> None:
    usual = simply_held()
    lift = Hold(Place(axle="front", side="right"), "height", 4.0)
    other = Hold(Place(axle="front", side="left"), "height", -1.0)
    solution = analyse(SMALL, [replace(usual, holds=(lift, other, *usual.holds[1:]))]).solutions[0]
    u = solution.u.reshape(-1, N_FREEDOMS)
    assert u[solution.mesh.node_at("rail right", 0.0), 2] == pytest.approx(4.0, rel=1e-12)
    assert u[solution.mesh.node_at("rail left", 0.0), 2] == pytest.approx(-1.0, rel=1e-12)
    found = reactions(solution)
    assert found["front axle right, height"] > 0.0
    assert sum(v for k, v in found.items() if "height" in k) == pytest.approx(0.0, abs=1e-6)


# ----------------------------------------------------------------------------- refusals


def refused(load: Case, frame: Frame = SMALL) -> str:
    with pytest.raises(ModelError) as error:
        total(load, frame)
    (complaint,) = error.value.complaints
    assert "case held" in complaint.where
    return str(complaint)


def test_a_station_beyond_the_rails() -> None:
    text = refused(simply_held([Push(Place(station=2100.0), (0, 0, -1.0))]))
    assert "must lie on the rails" in text
    assert "station 2100 mm" in text
    assert "between 0 and 2000 mm" in text


def test_a_case_for_axles_on_a_frame_without() -> None:
    text = refused(simply_held(), replace(SMALL, axles=()))
    assert "needs a front and a rear axle" in text
    assert "no axle" in text


def test_a_mount_and_a_point_that_are_not_there() -> None:
    assert "no such mount" in refused(simply_held([Push(Place(mount="M9"), (0, 0, 1.0))]))
    assert "no such point" in refused(simply_held([Push(Place(point="Q"), (0, 0, 1.0))]))


def test_a_case_that_holds_nothing() -> None:
    text = refused(replace(simply_held([Push(Place(station=1.0), (0, 0, 1.0))]), holds=()))
    assert "must hold the frame somewhere" in text


def test_a_side_that_is_not_there() -> None:
    one = replace(SMALL, members=tuple(m for m in SMALL.members if m.side != "left"), joints=())
    push = Push(Place(station=500.0, side="left"), (0, 0, 1.0))
    hold = Hold(Place(station=100.0), "height")
    text = refused(replace(simply_held([push]), holds=(hold,)), replace(one, axles=()))
    assert "no left side" in text
    assert "station 500 mm" in text


def test_a_couple_on_one_rail() -> None:
    one = replace(SMALL, members=tuple(m for m in SMALL.members if m.side != "left"), joints=())
    push = Push(Place(station=500.0), couple=1e6)
    hold = Hold(Place(station=100.0), "height")
    text = refused(replace(simply_held([push]), holds=(hold,)), replace(one, axles=()))
    assert "a right and a left rail" in text


def test_the_resultant_against_a_loop() -> None:
    chance = np.random.default_rng(815)
    points, force = chance.normal(size=(5, 3)), chance.normal(size=35)
    expected = np.zeros(6)
    for k, point in enumerate(points):
        f = force[7 * k : 7 * k + 7]
        expected[:3] += f[:3]
        expected[3:] += f[3:6] + np.cross(point, f[:3])
    np.testing.assert_allclose(resultant(points, force), expected, atol=1e-14)
