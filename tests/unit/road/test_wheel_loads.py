"""What the wheels bear, against statics by hand from the documents' own masses."""

import math
from dataclasses import replace

import numpy as np
import pytest
from handmade import case, demo

from fea.analyse import analyse
from fea.errors import ModelError
from fea.frame.case import Case, Place, Push
from fea.frame.model import Frame
from fea.frame.road import WHEELS, Bump, Jack, Kerb, OnTheRoad, Road, Step, Torque, Tow
from fea.frame.spots import places
from fea.load import GRAVITY, Loads
from fea.mesh.discretise import discretise
from fea.result.mass import masses
from fea.road.cases import case_loads

NAMES = ("orchard_pickup", "harbour_tourer")
EXACT = 1e-9


def on_road(**road: object) -> Case:
    return replace(case("road_static"), road=Road(**road))  # type: ignore[arg-type]


def made(frame: Frame, load: Case) -> Loads:
    return case_loads(frame, discretise(frame, places(frame, load)), load)


def stood(frame: Frame, **road: object) -> OnTheRoad:
    found = made(frame, on_road(**road)).road
    assert found is not None
    return found


def table(frame: Frame, *, laden: bool) -> np.ndarray:
    """Return mass and place of everything, (n, 4), from the document and its steel."""
    steel = masses(frame)
    rows = [[m.mass, *m.position] for m in frame.masses if laden or not m.laden]
    return np.array([[steel.steel, *steel.centre], *rows])


def up(found: OnTheRoad) -> dict[str, float]:
    return {w: float(f[2]) for w, f in found.wheels.items()}


def axles(found: OnTheRoad, part: int = 2) -> tuple[float, float]:
    force = [float(found.wheels[w][part]) for w in WHEELS]
    return force[0] + force[1], force[2] + force[3]


def roll_rates(frame: Frame) -> list[float]:
    return [0.5 * a.spring_rate * a.spring_base**2 + a.bar_rate for a in frame.axles]


# ------------------------------------------------------------------------------- standing


@pytest.mark.parametrize(
    ("name", "laden", "front", "rear"),
    [
        # Moments about the front axle over the wheelbase, by hand from the mass tables, kg.
        ("orchard_pickup", False, 814.0, 686.0),
        ("orchard_pickup", True, 903.0, 1247.0),
        ("harbour_tourer", False, 979.0, 709.0),
        ("harbour_tourer", True, 1072.0, 966.0),
    ],
)
def test_axle_loads_of_the_tables(name: str, laden: bool, front: float, rear: float) -> None:
    found = axles(stood(demo(name, stock=True), laden=laden))
    kilograms = [1000.0 * f / GRAVITY for f in found]
    assert kilograms == pytest.approx([front, rear], abs=0.6)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("stock", [True, False])
@pytest.mark.parametrize("laden", [True, False])
def test_standing_still_by_moments(name: str, stock: bool, laden: bool) -> None:
    frame = demo(name, stock)
    found = stood(frame, laden=laden)
    m, x, y, z = table(frame, laden=laden).T
    a, b = (frame.axle("front"), frame.axle("rear"))
    rear = GRAVITY * (m @ (x - a.station)) / (b.station - a.station)
    weight = GRAVITY * m.sum()
    assert axles(found) == pytest.approx((weight - rear, rear), rel=EXACT)
    lean = sum(
        axle.track / 2.0 * (up(found)[f"{axle.name} right"] - up(found)[f"{axle.name} left"])
        for axle in frame.axles
    )
    assert lean == pytest.approx(GRAVITY * (m @ y), rel=1e-6, abs=1.0)
    assert found.mass == pytest.approx(m.sum(), rel=1e-12)
    np.testing.assert_allclose(found.centre, m @ np.stack([x, y, z], 1) / m.sum(), atol=1e-6)


def test_the_vertical_factor_counts_for_every_wheel() -> None:
    frame = demo("harbour_tourer")
    one, three = (np.array(list(up(stood(frame, vertical=v)).values())) for v in (1.0, 3.0))
    np.testing.assert_allclose(three, 3.0 * one, rtol=1e-12)


# ---------------------------------------------------------------- braking and cornering


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("braking", [0.6, -0.4])
def test_braking_moves_load_by_height_over_wheelbase(name: str, braking: float) -> None:
    frame = demo(name)
    still, found = stood(frame), stood(frame, braking=braking)
    m, _, _, z = table(frame, laden=True).T
    wheelbase = frame.axle("rear").station - frame.axle("front").station
    moved = braking * GRAVITY * (m @ z) / wheelbase
    (f0, r0), (f1, r1) = axles(still), axles(found)
    assert f1 - f0 == pytest.approx(moved, rel=EXACT)
    assert r0 - r1 == pytest.approx(moved, rel=EXACT)
    along = axles(found, part=0)
    assert sum(along) == pytest.approx(braking * GRAVITY * m.sum(), rel=EXACT)
    assert along[0] / sum(along) == pytest.approx(f0 / (f0 + r0), rel=1e-9)


def test_a_share_of_braking_that_is_given() -> None:
    along = axles(stood(demo("orchard_pickup"), braking=0.5, brake_share_front=0.7), part=0)
    assert along[0] / sum(along) == pytest.approx(0.7, rel=1e-12)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("centres", [(0.0, 0.0), (80.0, 300.0)])
def test_cornering_by_springs_and_roll_centres(name: str, centres: tuple[float, float]) -> None:
    """Per axle: what is unsprung, what links carry at the roll centre, and the springs' share."""
    frame, c = demo(name), 0.3
    still = stood(frame)
    found = stood(frame, cornering=c, roll_centre=centres)
    m, x, _, z = table(frame, laden=True).T
    k = np.array(roll_rates(frame))
    unsprung = [[u for u in frame.masses if u.carrier == "unsprung" and
                 abs(u.position[0] - a.station) < 1.0] for a in frame.axles]  # fmt: skip
    own = [sum(u.mass * u.position[2] for u in us) for us in unsprung]
    wheelbase = frame.axles[1].station - frame.axles[0].station
    rear = (m @ (x - frame.axles[0].station)) / wheelbase  # tonne, by yaw
    at_axle = np.array([m.sum() - rear, rear])
    sprung = at_axle - [sum(u.mass for u in us) for us in unsprung]
    linked = sprung * np.array(centres)
    rest = m @ z - sum(own) - linked.sum()
    moments = c * GRAVITY * (np.array(own) + linked + rest * k / k.sum())
    for a, moment, push in zip(frame.axles, moments, c * GRAVITY * at_axle, strict=True):
        gain = up(found)[f"{a.name} right"] - up(still)[f"{a.name} right"]
        assert gain == pytest.approx(moment / a.track, rel=1e-6)
        sideways = sum(found.wheels[f"{a.name} {s}"][1] for s in ("right", "left"))
        assert sideways == pytest.approx(-push, rel=1e-9)


def test_a_wheel_that_lifts_in_a_corner_leaves_the_rest_to_the_other_axle() -> None:
    frame = demo("harbour_tourer", stock=True)
    found = stood(frame, cornering=0.9)
    assert up(found)["front left"] == 0.0
    assert min(up(found).values()) >= 0.0
    m, _, y, z = table(frame, laden=True).T
    lean = sum(a.track / 2 * (up(found)[f"{a.name} right"] - up(found)[f"{a.name} left"])
               for a in frame.axles)  # fmt: skip
    assert lean == pytest.approx(GRAVITY * (0.9 * (m @ z) + m @ y), rel=1e-9)


def test_limits_of_what_wheels_can_do() -> None:
    pickup = demo("orchard_pickup")
    with pytest.raises(ModelError, match="would turn over"):
        stood(pickup, cornering=1.2)
    with pytest.raises(ModelError, match="rear wheels would leave the ground"):
        stood(pickup, braking=3.0)
    with pytest.raises(ModelError, match="front wheels would leave the ground"):
        stood(pickup, braking=-2.5)


# ------------------------------------------------------------------- one wheel and bumps


@pytest.mark.parametrize("wheel", WHEELS)
def test_a_lifted_wheel_bears_nothing(wheel: str) -> None:
    frame = demo("orchard_pickup", stock=True)
    if wheel.startswith("rear"):  # the front axle, the lighter one laden, cannot balance it
        with pytest.raises(ModelError, match="keep the vehicle upright"):
            stood(frame, lifted=wheel)
        return
    found = stood(frame, lifted=wheel)
    assert up(found)[wheel] == 0.0
    still = stood(frame)
    other = {"right": "left", "left": "right"}[wheel.split()[1]]
    assert up(found)[f"front {other}"] == pytest.approx(axles(still)[0], rel=1e-12)


def series(frame: Frame, height: float, tyre: float, twist: float) -> float:
    give = sum(1.0 / k for k in roll_rates(frame)) + 1.0 / twist
    give += sum(2.0 / (tyre * a.track**2) for a in frame.axles)
    return math.atan(height / frame.axles[0].track) / give


@pytest.mark.parametrize("name", NAMES)
def test_a_low_bump_makes_what_springs_tyres_and_frame_let_through(name: str) -> None:
    frame, twist = demo(name), 6e7
    found = stood(frame, vertical=1.3, bump=Bump("front right", 80.0, 250.0, twist))
    expected = 1.3 * series(frame, 80.0, 250.0, twist)
    assert found.couple == pytest.approx(expected, rel=1e-12)
    level = stood(frame, vertical=1.3)
    track = frame.axles[0].track
    gain = up(found)["front right"] - up(level)["front right"]
    assert gain == pytest.approx(expected / track, rel=1e-9)
    assert "a stiffer frame sees a larger couple" in " ".join(found.notes)


@pytest.mark.parametrize("wheel", WHEELS)
def test_a_high_bump_lifts_another_wheel_and_no_more(wheel: str) -> None:
    frame = demo("orchard_pickup")
    found = stood(frame, bump=Bump(wheel, 3000.0, 250.0, 1e12))
    assert min(up(found).values()) == pytest.approx(0.0, abs=1e-6)
    assert up(found)[wheel] > 1000.0
    # The lighter axle's load at half the track, less what leans already.
    lighter = min(axles(stood(frame)))
    assert abs(found.couple) == pytest.approx(lighter * frame.axles[0].track / 2.0, rel=0.01)
    assert "a stiffer frame sees the same couple" in " ".join(found.notes)


@pytest.mark.parametrize("name", NAMES)
def test_the_frames_own_twist_counts_in_a_bump(name: str) -> None:
    """Measured here by two couples and the work they do; a boxed frame sees a larger couple."""
    couples = []
    for stock in (True, False):
        frame = demo(name, stock)
        (solution,) = analyse(frame, [case("road_one_wheel")]).solutions
        twist = replace(
            case("twist"),
            measure="none",
            pushes=(
                Push(Place(axle="front"), couple=1e6),
                Push(Place(axle="rear"), couple=-1e6),
            ),
        )
        (twisted,) = analyse(frame, [twist]).solutions
        k = 1e12 / float(twisted.loads.force @ twisted.u)
        expected = 1.3 * series(frame, 200.0, 200.0, k)
        assert solution.loads.road.couple == pytest.approx(expected, rel=1e-6)
        couples.append(solution.loads.road.couple)
    assert couples[1] > 1.02 * couples[0]


# ------------------------------------------------------ kerb, step, tow, jack and engine


def test_a_kerb_at_the_overturning_push_empties_the_other_side() -> None:
    frame = demo("orchard_pickup", stock=True)
    m, _, _, z = table(frame, laden=True).T
    force = GRAVITY * m.sum() * 1450.0 / (2.0 * (m @ z) / m.sum())
    found = stood(frame, kerb=Kerb("right"))
    assert sum(found.wheels[w][1] for w in WHEELS) == pytest.approx(-force, rel=1e-9)
    on_left = up(found)["front left"] + up(found)["rear left"]
    assert on_left == pytest.approx(0.0, abs=2e-3 * GRAVITY * m.sum())
    assert all(v >= 0.0 for v in up(found).values())


def test_a_kerb_at_one_wheel() -> None:
    found = stood(demo("harbour_tourer"), kerb=Kerb("front left", force=3000.0))
    sideways = {w: float(f[1]) for w, f in found.wheels.items()}
    assert sideways["front left"] == pytest.approx(3000.0)
    assert sum(abs(v) for v in sideways.values()) == pytest.approx(3000.0, rel=1e-9)


def test_a_step_pushes_rearward_by_its_angle() -> None:
    """At 0.293 of the radius the static push equals the wheel's load: theta is 45 degrees."""
    frame = demo("orchard_pickup", stock=True)
    height = 340.0 * (1.0 - math.sqrt(0.5))
    found = stood(frame, vertical=2.0, step=Step("front right", height, 4.5))
    static = up(stood(frame))["front right"]  # standing still, whatever vertical is
    assert found.wheels["front right"][0] == pytest.approx(4.5 * static, rel=1e-9)
    given = stood(frame, step=Step("front", 50.0, 1.0, radius=200.0))
    ratio = 1.0 / math.tan(math.asin(0.75))
    along = sum(given.wheels[w][0] for w in WHEELS)
    assert along == pytest.approx(ratio * axles(stood(frame))[0], rel=1e-9)


@pytest.mark.parametrize("against", ["inertia", "wheels"])
def test_a_pull_is_met_by_inertia_or_by_the_wheels(against: str) -> None:
    frame = demo("orchard_pickup")
    tow = Tow("front", Place(station=-600.0), force=5000.0, up=math.radians(20.0), against=against)
    found = stood(frame, tow=tow)
    weight = found.mass * GRAVITY
    assert sum(up(found).values()) == pytest.approx(
        weight - 5000.0 * math.sin(math.radians(20.0)), rel=1e-12
    )
    along = sum(axles(found, part=0))
    level = 5000.0 * math.cos(math.radians(20.0))
    assert along == pytest.approx(level if against == "wheels" else 0.0, abs=1e-6)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("corner", WHEELS)
def test_a_jack_lifts_its_wheel_alone(name: str, corner: str) -> None:
    """Statics, and the springs: both axles lean by the same angle."""
    frame = demo(name)
    station = 400.0 if corner.startswith("front") else 2500.0
    found, still = stood(frame, jack=Jack(corner, station)), stood(frame)
    assert up(found)[corner] == pytest.approx(0.0, abs=1e-6)
    assert sum(up(found).values()) + found.jack == pytest.approx(found.mass * GRAVITY, rel=1e-12)
    lean = []
    for a in frame.axles:
        change = [up(found)[f"{a.name} {s}"] - up(still)[f"{a.name} {s}"]
                  for s in ("right", "left")]  # fmt: skip
        lean.append((change[0] - change[1]) * a.track / 2.0)
    k = roll_rates(frame)
    assert lean[0] / k[0] == pytest.approx(lean[1] / k[1], rel=1e-6)
    (front, rear), (front0, rear0) = axles(found), axles(still)
    x = [a.station for a in frame.axles]
    moved = (front - front0) * (x[0] - station) + (rear - rear0) * (x[1] - station)
    assert moved == pytest.approx(0.0, abs=1e-3 * GRAVITY)


def test_a_jack_amid_the_rail_is_refused() -> None:
    with pytest.raises(ModelError, match="leave the other three on the ground"):
        stood(demo("orchard_pickup"), jack=Jack("front right", 2300.0))


def test_an_engines_torque_is_shared_by_the_springs() -> None:
    frame = demo("orchard_pickup")
    found, still = stood(frame, torque=Torque(6e5, mass="engine, clutch, fluids")), stood(frame)
    k = roll_rates(frame)
    change = {w: up(found)[w] - up(still)[w] for w in WHEELS}
    front = -6e5 * k[0] / sum(k) / 1450.0
    assert change["front right"] == pytest.approx(front, rel=1e-6)
    assert change["rear right"] == pytest.approx(-front, rel=1e-6)
    with pytest.raises(ModelError, match="a mass that the frame carries"):
        stood(frame, torque=Torque(6e5, mass="motor"))


# ------------------------------------------------------------------------- what it lacks


def test_a_vehicle_without_axles_or_springs() -> None:
    frame = demo("orchard_pickup")
    with pytest.raises(ModelError, match="a front and a rear axle"):
        made(replace(frame, axles=frame.axles[:1]), on_road())
    soft = replace(frame, axles=tuple(replace(a, spring_rate=0.0) for a in frame.axles))
    for item in ({"bump": Bump("front right", 80.0, 200.0, 1e8)}, {"jack": Jack(WHEELS[0], 400.0)}):
        with pytest.raises(ModelError, match="springs of both axles"):
            stood(soft, **item)
    notes = " ".join(stood(soft, cornering=0.3).notes)
    assert "by the axles' loads" in notes


def test_a_step_needs_a_wheel_it_fits() -> None:
    frame = demo("orchard_pickup")
    with pytest.raises(ModelError, match="as high as its centre"):
        stood(frame, step=Step("front", 400.0, 1.0))
    light = replace(frame, masses=tuple(m for m in frame.masses if m.carrier != "unsprung"))
    with pytest.raises(ModelError, match="needs the radius"):
        stood(light, step=Step("front", 40.0, 1.0))
