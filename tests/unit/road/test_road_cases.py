"""Every shipped road case on both vehicles: in equilibrium, and through what carries it."""

from dataclasses import replace

import numpy as np
import pytest
from handmade import case, demo

from fea.analyse import Solution, analyse
from fea.document.find import find_frame, shipped_cases
from fea.document.read import read_frame
from fea.errors import ModelError
from fea.frame.build import build_frame
from fea.frame.case import Case, Hold, Place, Push, Spread, Term
from fea.frame.model import Frame
from fea.frame.road import WHEELS, Bump, Road, Torque, Tow
from fea.frame.spots import places
from fea.load import GRAVITY, Gather, Loads, resultant
from fea.mesh.discretise import discretise
from fea.result.answer import answers
from fea.result.envelope import envelope, mount_forces
from fea.road.cases import case_loads
from fea.road.loads import SUPPORTS
from fea.road.seats import Passed, onto_seats

NAMES = ("orchard_pickup", "harbour_tourer")
ROAD = [name for name in shipped_cases() if name.startswith("road_")]


def made(frame: Frame, load: Case) -> Loads:
    return case_loads(frame, discretise(frame, places(frame, load)), load)


def with_body(name: str) -> Frame:
    path = find_frame(name)
    return build_frame(read_frame(path), source=str(path), body="closed")


def known(load: Case) -> Case:
    """Return a case whose bump knows the frame's twist, for loads without a solution."""
    road = load.road
    assert road is not None
    if road.bump is None:
        return load
    return replace(load, road=replace(road, bump=replace(road.bump, frame_twist=6e7)))


def test_there_is_a_case_for_each_thing_a_road_does() -> None:
    assert {n.removeprefix("road_") for n in ROAD} == {
        "static", "bump", "one_wheel", "pothole", "braking", "braking_reverse", "cornering",
        "kerb", "tow_front", "tow_rear", "jack", "engine_torque",
    }  # fmt: skip


@pytest.mark.parametrize("name", ROAD)
def test_every_factor_says_where_it_comes_from(name: str) -> None:
    road = case(name).road
    assert road is not None
    told = {k for k, text in road.sources if text}
    items = {"bump": road.bump, "kerb": road.kerb, "step": road.step, "tow": road.tow,
             "jack": road.jack, "engine_torque": road.torque, "braking": road.braking,
             "cornering": road.cornering}  # fmt: skip
    assert told == {"vertical", *(k for k, item in items.items() if item)}


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("load", ROAD)
@pytest.mark.parametrize("form", ["stock", "with parts", "with body"])
def test_all_that_acts_is_in_equilibrium(name: str, load: str, form: str) -> None:
    """To 1e-9 of the weight; by the nodes' forces, and by the wheels' against the masses."""
    frame = with_body(name) if form == "with body" else demo(name, form == "stock")
    found = made(frame, known(case(load)))
    road = found.road
    assert road is not None
    weight = road.mass * GRAVITY
    wheelbase = frame.axles[1].station - frame.axles[0].station
    points = discretise(frame, places(frame, case(load))).points
    left = resultant(points, found.force)
    assert np.abs(left[:3]).max() < 1e-9 * weight
    assert np.abs(left[3:]).max() < 1e-9 * weight * wheelbase
    tow = case(load).road.tow
    lifted = tow.share * weight * np.sin(tow.up) if tow else road.jack or 0.0
    borne = sum(f[2] for f in road.wheels.values()) + lifted
    assert borne == pytest.approx(road.weights * weight, rel=3e-3 if "kerb" in load else 1e-9)
    assert min(f[2] for f in road.wheels.values()) >= -1e-9 * weight


@pytest.mark.parametrize("name", NAMES)
def test_supports_bear_nothing_and_do_not_matter(name: str) -> None:
    """Held elsewhere the vehicle is stressed alike."""
    frame = demo(name)
    solutions = analyse(frame, [case(n) for n in ROAD]).solutions
    for s in solutions:
        weight = s.loads.road.mass * GRAVITY
        assert np.abs(s.reactions).max() < 1e-9 * weight
        assert len(s.reactions) == 6
        assert max(s.checks.residual, s.checks.force_balance, s.checks.energy_balance) < 1e-8
    (one,) = analyse(frame, [case("road_cornering")]).solutions
    front_first = tuple(
        replace(h, place=replace(h.place, axle={"front": "rear", "rear": "front"}[h.place.axle]))
        for h in SUPPORTS
    )
    other = held_by(frame, one, front_first)
    np.testing.assert_allclose(other.forces, one.forces, atol=1e-6 * np.abs(one.forces).max())


def held_by(frame: Frame, like: Solution, holds: tuple[Hold, ...]) -> Solution:
    from fea.analyse import solve
    from fea.load import loads

    bare = Case("held", "", "", "none", holds)
    rows = loads(frame, like.mesh, bare)
    (found,) = solve(
        like.mesh,
        [replace(rows, force=like.loads.force, element_load=like.loads.element_load,
                 total=like.loads.total)],
    )  # fmt: skip
    return found


# ---------------------------------------------------------------- through what carries it


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("body", [False, True])
def test_mounts_carry_the_masses_that_stand_on_them(name: str, body: bool) -> None:
    """Straight down: 3 g of all that stands on mounts, through the body's springs or directly."""
    frame = with_body(name) if body else demo(name)
    (solution,) = analyse(frame, [case("road_bump")]).solutions
    carried = sum(m.mass for m in frame.masses if m.carrier == "mounts")
    total = sum(mount_forces(solution).values())
    assert total[2] == pytest.approx(-3.0 * carried * GRAVITY, rel=1e-6)
    assert any("mount" in label for label in solution.mesh.springs.label) == body


def test_a_body_takes_masses_at_its_own_points() -> None:
    """Nothing of the cab's masses is left on the frame's nodes beside its springs."""
    frame = with_body("orchard_pickup")
    only = replace(frame, masses=tuple(m for m in frame.masses if m.name == "cab complete"))
    mesh = discretise(only, places(only, case("road_static")))
    load = replace(case("road_static"), road=None, holds=SUPPORTS)
    gather = Gather(only, mesh, load)
    gather.carry(only.masses[0], np.array([10.0, 20.0, -1000.0]))
    cab = next(b for b in mesh.bodies if b.body.name == "cab")
    loaded = np.flatnonzero(np.abs(gather.force.reshape(-1, 7)).max(axis=1) > 0.0)
    assert set(loaded) == set(cab.nodes[: len(loaded)]) <= set(cab.nodes)
    found = resultant(mesh.points, gather.force)
    force = np.array([10.0, 20.0, -1000.0])
    np.testing.assert_allclose(found[:3], force, rtol=1e-12)
    at = np.array(only.masses[0].position)
    np.testing.assert_allclose(found[3:], np.cross(at, force), rtol=1e-9, atol=1e-6)


def passed(force: tuple[float, float, float], at: tuple[float, float, float]) -> Passed:
    return Passed(np.array(force), np.cross(at, force))


def on_seats(frame: Frame, right: Passed, left: Passed, more: np.ndarray) -> Gather:
    load = replace(case("road_static"), road=None, holds=SUPPORTS)
    gather = Gather(frame, discretise(frame, places(frame, load)), load)
    onto_seats(gather, "front", right, left, more)
    return gather


def test_wheels_push_on_the_seats_of_a_spring_by_hand() -> None:
    """Seats at stations -520 and 460, heights 450 and 440, offset 380 mm; wheels at 0, 725.

    H rearward on the ground at both wheels: half of it at each seat, and of the moment
    445 H a couple over 980 mm.  V up at the right wheel, -V at the left one: a couple of
    2 V 725/760 between the sides.
    """
    frame = demo("orchard_pickup", stock=True)
    h, v = 1000.0, 600.0
    gather = on_seats(
        frame,
        passed((h, 0.0, v), (0.0, 725.0, 0.0)),
        passed((h, 0.0, -v), (0.0, -725.0, 0.0)),
        np.zeros(3),
    )
    seats = {(round(s.position[0]), s.side): s for s in frame.axle("front").seats}
    side = v * 725.0 / 380.0
    for (station, name), seat in seats.items():
        node = gather.mesh.node_at(seat.onto, seat.distance)
        force = gather.force[7 * node : 7 * node + 3]
        pitch = h * 445.0 / 980.0 * (1.0 if station == 460 else -1.0)
        sign = 1.0 if name == "right" else -1.0
        # The wheel's V acts 30 mm behind the seats' middle, the couple of the sides there.
        own = sign * v * 30.0 / 980.0 * (1.0 if station == 460 else -1.0)
        assert force[0] == pytest.approx(h / 2.0)
        assert force[2] == pytest.approx(sign * side / 2.0 + pitch + own)
    wanted = np.array([2.0 * h, 0.0, 0.0, 2.0 * v * 725.0, 0.0, 0.0])
    np.testing.assert_allclose(resultant(gather.mesh.points, gather.force), wanted, atol=1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_seats_do_what_the_wheels_do(name: str) -> None:
    """Any pushes: the same six resultants, with one seat a side as with two."""
    frame = demo(name)
    random = np.random.default_rng(1907)
    right, left = (Passed(random.normal(size=3), 500.0 * random.normal(size=3)) for _ in "rl")
    more = 100.0 * random.normal(size=3)
    gather = on_seats(frame, right, left, more)
    wanted = [*(right.force + left.force), *(right.moment + left.moment + more)]
    np.testing.assert_allclose(resultant(gather.mesh.points, gather.force), wanted, atol=1e-8)


def test_a_frame_with_one_rail_has_no_vehicle() -> None:
    frame = demo("orchard_pickup")
    front, rear = frame.axles
    half = replace(front, seats=tuple(s for s in front.seats if s.side == "right"))
    with pytest.raises(ModelError, match="seats on both sides"):
        on_seats(
            replace(frame, axles=(half, rear)), *[passed((0, 0, 1), (0, 0, 0))] * 2, np.ones(3)
        )


# ----------------------------------------------------------- pushes and supports of its own


def test_a_push_and_a_spread_load_stand_on_the_wheels() -> None:
    frame = demo("orchard_pickup")
    plain = made(frame, case("road_static")).road
    push = Push(Place(station=1450.0, side="mean"), (0.0, 0.0, -1000.0))
    spread = Spread(1200.0, 1700.0, (0.0, 0.0, -2.0), "mean")
    load = replace(case("road_static"), pushes=(push,), spreads=(spread,))
    found = made(frame, load).road
    more = sum(found.wheels[w][2] - plain.wheels[w][2] for w in WHEELS)
    assert more == pytest.approx(2000.0, rel=1e-9)
    front = sum(found.wheels[w][2] - plain.wheels[w][2] for w in WHEELS[:2])
    assert front == pytest.approx(1000.0, rel=1e-6)  # half-way between the axles


def test_supports_of_the_cases_own_bear_the_sprung_vehicle() -> None:
    frame = demo("orchard_pickup", stock=True)
    held = replace(case("road_static"), holds=case("payload").holds)
    payload, mine = analyse(frame, [case("payload"), held]).solutions
    np.testing.assert_allclose(mine.reactions, payload.reactions, rtol=1e-8, atol=1e-6)
    assert mine.loads.road.wheels == {}
    bump = replace(held, road=Road(bump=Bump("front right", 80.0, 200.0, 6e7)))
    with pytest.raises(ModelError, match="stand in place of the wheels"):
        made(frame, bump)


# ---------------------------------------------------------------------------------- sums


@pytest.mark.parametrize("name", NAMES)
def test_a_sum_is_the_sum(name: str) -> None:
    frame = demo(name)
    terms = (("road_static", 1.0), ("road_one_wheel", 0.5), ("road_cornering", -0.25))
    both = replace(
        case("road_static"), name="sum", road=None,
        combine=tuple(Term(case(n), f) for n, f in terms),
    )  # fmt: skip
    *parts, found = analyse(frame, [*(case(n) for n, _ in terms), both]).solutions
    for key in ("force", "element_load", "total"):
        expected = sum(f * getattr(p.loads, key) for p, (_, f) in zip(parts, terms, strict=True))
        size = max(np.abs(getattr(p.loads, key)).max() for p in parts)
        np.testing.assert_allclose(getattr(found.loads, key), expected, atol=1e-12 * size)
    moved = sum(f * p.u for p, (_, f) in zip(parts, terms, strict=True))
    size = max(np.abs(p.u).max() for p in parts)
    np.testing.assert_allclose(found.u, moved, atol=1e-9 * size)
    assert found.loads.road.weights == pytest.approx(1.0 + 0.5 * 1.3 - 0.25)
    np.testing.assert_allclose(
        found.loads.road.wheels["rear left"],
        sum(f * p.loads.road.wheels["rear left"] for p, (_, f) in zip(parts, terms, strict=True)),
        rtol=1e-12,
    )
    assert "the weight counts 1.40 times" in found.loads.road.notes[0]


def test_cases_that_are_held_differently_are_not_added() -> None:
    frame = demo("orchard_pickup")
    terms = (Term(case("twist"), 1.0), Term(case("bending"), 1.0))
    with pytest.raises(ModelError, match="only on the same supports"):
        made(frame, replace(case("twist"), measure="none", holds=(), pushes=(), combine=terms))


def test_a_sum_of_cases_on_a_stand_is_no_vehicle() -> None:
    frame = demo("orchard_pickup")
    terms = (Term(case("bending"), 2.0), Term(case("payload"), 1.0))
    found = made(frame, replace(case("twist"), measure="none", holds=(), pushes=(), combine=terms))
    expected = 2.0 * made(frame, case("bending")).total + made(frame, case("payload")).total
    np.testing.assert_allclose(found.total, expected, rtol=1e-12, atol=1e-6)
    assert found.road is None


# ------------------------------------------------------------------------------- envelope


@pytest.mark.parametrize("name", NAMES)
def test_the_envelope_is_the_worst_of_each(name: str) -> None:
    frame = demo(name, stock=True)
    solved = answers(analyse(frame, [case(n) for n in ROAD]))
    found = envelope(solved)
    assert {r.name for r in found.of("member")} == {m.name for m in frame.members}
    for row in found.of("member"):
        each = {a.case.name: next(p for p in a.peaks if p.member == row.name) for a in solved}
        worst = max(each, key=lambda n: each[n].utilisation)
        assert row.utilisation.case == row.governs == worst
        assert row.utilisation.value == each[worst].utilisation
        assert row.stress.value == max(p.von_mises for p in each.values())
    use = [r.utilisation.value for r in found.of("member")]
    assert use == sorted(use, reverse=True)
    assert len(found.of("joint")) == len(frame.joints)
    mounts = found.of("mount")
    assert {r.name for r in mounts} == {f"{m.name} {m.side}" for m in frame.mounts}
    one = envelope(solved[:1])
    for row in one.of("member"):
        wide = next(r for r in found.of("member") if r.name == row.name)
        assert wide.utilisation.value >= row.utilisation.value


def test_the_force_of_a_joint_is_that_of_the_member_it_holds() -> None:
    """A crossmember pulled apart by its rails: the end force by equilibrium of the rail."""
    frame = demo("ladder_tubes", stock=True)
    pull = (
        Push(Place(station=1200.0, side="right"), (0.0, 1000.0, 0.0)),
        Push(Place(station=1200.0, side="left"), (0.0, -1000.0, 0.0)),
    )
    load = replace(case("own_weight"), weight=None, pushes=pull)
    found = envelope(answers(analyse(frame, [load])))
    across = [m for m in frame.members if m.kind == "crossmember"]
    force = {r.name: r.force.value for r in found.of("joint")}
    for m in across:  # the same at both ends: nothing acts in between
        ends = [v for k, v in force.items() if k.startswith(f"{m.name} on")]
        assert ends[0] == pytest.approx(ends[1], rel=1e-6)
    total = sum(v for k, v in force.items() if k.endswith("right"))
    assert total >= 999.0


def test_tow_and_torque_say_where_they_act() -> None:
    road = Road(tow=Tow("front", Place(station=-600.0), share=0.5), torque=Torque(1.0, station=9.0))
    assert [p.station for p in road.places] == [-600.0, 9.0]
