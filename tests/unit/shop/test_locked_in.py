"""What welding locks in, against springs and small frames by hand."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from handmade import STEEL, cantilever, demo, mirror, section, square_tube, two_rails

from fea.errors import DocumentError, ModelError
from fea.frame.model import Frame, Member
from fea.mesh.discretise import discretise
from fea.section import shapes
from fea.section.properties import properties
from fea.shop.gaps import pull, without
from fea.shop.left_in import left_in
from fea.shop.locked import Locked, before_parts, locked
from fea.shop.locked_words import overbend, sense, share_back
from fea.shop.rig import Grip, at
from fea.shop.shape_csv import Shape, read_shape
from fea.shop.staged import Staged, stage, stiffer
from fea.shop.survey_points import rail_points
from fea.solve.system import System, system

EXACT = 1e-9  # round-off of a solve with long and short elements
X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def box(wall: float) -> float:
    """Return the area of the square tube below by hand, mm2: four walls of 100 mm."""
    return 400.0 * wall


def bar(wall: float, length: float = 2000.0) -> Frame:
    return cantilever(length, square_tube(100.0, wall))


def meshed(frame: Frame, **places: list[float]) -> System:
    return system(discretise(frame, places))


def stretch(frame: Frame, length: float) -> Grip:
    ends = at(frame, "rail", length), at(frame, "rail", 0.0)
    return Grip("longer", ((ends[0], X), (ends[1], (-1.0, 0.0, 0.0))))


def with_steel(frame: Frame, times: float) -> Frame:
    """Return a frame of a metal that is many times as stiff."""

    def of(member: Member) -> Member:
        runs = tuple(
            replace(r, material=replace(r.material, E=times * r.material.E)) for r in member.runs
        )
        return replace(member, runs=runs)

    return replace(frame, members=tuple(of(m) for m in frame.members))


def stays(staged: Staged, grip: Grip) -> float:
    forced, released = staged.steps([grip])
    return float(forced[0] + released[0])


# ------------------------------------------------------------------ springs in parallel


def test_two_bars_side_by_side_are_two_springs() -> None:
    length, d = 2000.0, 1.5
    thin, thick = bar(3.0), bar(5.0)  # the part: 2 mm all round
    grip = stretch(thin, length)
    staged = stage(meshed(thin), meshed(thick), [grip], np.array([d]))
    k = STEEL.E * box(3.0) / length
    part = STEEL.E * box(2.0) / length
    assert staged.clamps[0] == pytest.approx(k * d, rel=EXACT)
    assert stays(staged, grip) == pytest.approx(d * part / (k + part), rel=EXACT)
    assert staged.work == pytest.approx(0.5 * k * d**2, rel=EXACT)
    ratio = stiffer(meshed(thin), meshed(thick), [grip], np.array([d]))
    assert ratio == pytest.approx(5.0 / 3.0, rel=EXACT)


def test_stress_left_in_the_stretched_bar_and_its_plates() -> None:
    length, d = 2000.0, 1.5
    thin, thick = bar(3.0), bar(5.0)
    grip = stretch(thin, length)
    staged = stage(meshed(thin), meshed(thick), [grip], np.array([d]))
    force = STEEL.E * box(3.0) / length * d
    (left,) = left_in(staged)
    # The bar keeps what it was pulled by, less what letting go takes off both.
    assert left.normal == pytest.approx(force / box(3.0) - force / box(5.0), rel=EXACT)
    assert left.utilisation == pytest.approx(left.stress / STEEL.yield_stress)


def test_a_beam_bent_by_three_clamps() -> None:
    length, d = 2000.0, 8.0
    thin, thick = bar(3.0), bar(5.0)
    places = [0.0, length / 2.0, length]
    grips = [Grip(f"{x}", ((at(thin, "rail", x), Z),)) for x in places]
    staged = stage(
        meshed(thin, rail=places), meshed(thick, rail=places), grips, np.array([0.0, d, 0.0])
    )

    def spring(frame: Frame) -> float:
        p = properties(frame.members[0].runs[0].section.midline)
        bend = length**3 / (48.0 * STEEL.E * p.I1)
        shear = length * float(p.shear[1, 1]) / (4.0 * STEEL.G)
        return 1.0 / (bend + shear)

    k, both = spring(thin), spring(thick)
    assert staged.clamps == pytest.approx(np.array([-0.5, 1.0, -0.5]) * k * d, rel=EXACT)
    ends, middle, other = (np.add(*staged.steps([g]))[0] for g in grips)
    assert middle - 0.5 * (ends + other) == pytest.approx(d * (1.0 - k / both), rel=EXACT)


# --------------------------------------------------------- a gap in a ring of two beams


def test_a_gap_between_two_rails_by_hand() -> None:
    """A closed ring pulled together at the middles of its long sides, and a strut welded in."""
    length, wide = 1600.0, 700.0
    rail, cross, strut = square_tube(80.0, 3.0), square_tube(60.0, 2.0), square_tube(40.0, 2.0)
    full = two_rails(length, wide, rail, cross, [0.0, length / 2.0, length])
    members = tuple(
        replace(m, part="strut", runs=(replace(m.runs[0], section=strut),)) if m.name == "X1" else m
        for m in full.members
    )
    full = replace(full, members=members)
    base = without(full, "X1")
    joints = {j.end: j for j in full.joints if j.member == "X1"}
    grip = pull(full.member("X1"), joints["start"], joints["end"])
    middles = {"rail right": [length / 2.0], "rail left": [length / 2.0]}
    staged = stage(meshed(base, **middles), meshed(full), [grip], np.array([-1.0]))
    r, c = properties(rail.midline), properties(cross.midline)
    # Corner moment of the ring from Castigliano: each long side carries M - P x / 2 from its
    # corner to the middle, each short one M all along.
    M = (length**2 / 16.0) / (length / 2.0 + wide * r.I2 / (2.0 * c.I2))
    h = length / 2.0
    half_side = (M**2 * h - M * h**2 / 2.0 + h**3 / 12.0) / (STEEL.E * r.I2)
    shear = 0.25 * h * float(r.shear[0, 0]) / STEEL.G
    short = M**2 * wide / (STEEL.E * c.I2) + 0.25 * wide / (STEEL.E * c.A)
    # Twice the energy of a unit pull is how far the middles come together.
    flexible = 4.0 * (half_side + shear) + 2.0 * short
    k = 1.0 / flexible
    part = STEEL.E * properties(strut.midline).A / wide
    assert -staged.clamps[0] == pytest.approx(k, rel=EXACT)
    assert -stays(staged, grip) == pytest.approx(part / (k + part), rel=EXACT)
    own = next(one for one in left_in(staged) if one.member == "X1")
    pulled = k / (k + part) * STEEL.E / wide  # the strut's stretch over its length
    assert own.normal == pytest.approx(pulled, rel=1e-6)  # and no bending but round-off


def test_a_beam_of_nothing_and_of_rock() -> None:
    stock, full = demo("orchard_pickup", True), demo("orchard_pickup")
    shape = twisted(stock, 0.35)
    base = before_parts(full, stock)
    for parts, back, near in ((base, 1.0, 1e-8), (with_steel(full, 1e9), 0.0, 1e-7)):
        staged = locked_between(base, parts, shape)
        forced, released = staged.steps(staged.grips)
        # Forces that balance each other do not see a motion as a whole.
        pattern = staged.clamps / np.abs(staged.clamps).max()
        assert -(pattern @ released) / (pattern @ forced) == pytest.approx(back, abs=near)


def locked_between(base: Frame, full: Frame, shape: Shape) -> Staged:
    from fea.shop.locked import clamp_grips
    from fea.shop.rig import places

    grips, motions = clamp_grips(shape, ("A2", "A9"), square=False)
    wanted = places(shape.at)
    one, other = (system(discretise(f, wanted)) for f in (base, full))
    return stage(one, other, grips, motions)


# ---------------------------------------------------------------------- the demo frames


def twisted(frame: Frame, degrees: float) -> Shape:
    """Return a frame twisted evenly between its axles, front right high, as its file says it."""
    rows = ["point,height_off_mm"]
    for key, point in rail_points(frame).items():
        turn = np.radians(degrees) * (0.5 - point.station / 2900.0)
        rows.append(f"{key},{turn * point.offset:.12f}")
    return read_shape("\n".join(rows), "twisted", frame)


@pytest.fixture(scope="module")
def pickup() -> Locked:
    stock = demo("orchard_pickup", True)
    return locked(demo("orchard_pickup"), stock, twisted(stock, 0.35), clamps=("A2", "A9"))


def test_four_clamps_have_one_way_to_work(pickup: Locked) -> None:
    # Four vertical forces that balance are one pattern: twist springs back by the ratio of
    # what that pattern does to the frame with its parts and without.
    forced, released = pickup.staged.steps(pickup.staged.grips)
    pattern = pickup.staged.clamps / np.abs(pickup.staged.clamps).max()
    back = -(pattern @ released) / (pattern @ forced)
    assert back == pytest.approx(1.0 / pickup.stiffer, rel=1e-8)
    assert pickup.staged.clamps.sum() == pytest.approx(0.0, abs=1e-6)


def test_twist_is_taken_out_and_some_springs_back(pickup: Locked) -> None:
    twist = pickup.worst("twist")
    assert twist is not None
    assert twist.off == pytest.approx(np.radians(0.35), rel=1e-9)
    assert abs(twist.forced) < 0.1 * twist.off
    assert 0.0 < twist.after < 0.5 * twist.off
    back = share_back(twist)
    assert back == pytest.approx((twist.after - twist.forced) / (twist.off - twist.forced))
    far = overbend(pickup)
    assert far is not None
    # Everything is linear: so many times as far leaves none.
    assert twist.off + far * (twist.after - twist.off) == pytest.approx(0.0, abs=1e-12)


def test_a_mirrored_frame_locks_in_the_mirror_image(pickup: Locked) -> None:
    stock, full = demo("orchard_pickup", True), demo("orchard_pickup")
    other = locked(mirror(full), mirror(stock), twisted(mirror(stock), -0.35), clamps=("A2", "A9"))
    one, two = pickup.worst("twist"), other.worst("twist")
    assert one is not None
    assert two is not None
    assert two.after == pytest.approx(-one.after, rel=1e-7)
    assert other.stiffer == pytest.approx(pickup.stiffer, rel=1e-8)
    assert [p.utilisation for p in other.left[:3]] == pytest.approx(
        [p.utilisation for p in pickup.left[:3]], rel=1e-6
    )


def test_nothing_is_left_where_nothing_is_welded_in() -> None:
    stock, full = demo("orchard_pickup", True), demo("orchard_pickup")
    base = before_parts(full, stock)
    assert {m.name for m in stock.members} - {m.name for m in base.members} == {"X7"}
    staged = locked_between(base, base, twisted(stock, 0.35))
    assert max(one.stress for one in left_in(staged)) < 1e-6


def test_boxed_rails_keep_some_of_the_stress_of_the_open_ones(pickup: Locked) -> None:
    clamped = {p.member: p.utilisation for p in pickup.clamping}
    left = {one.member: one.utilisation for one in pickup.left}
    for rail in ("rail right", "rail left"):
        assert 0.0 < left[rail] < 1.05 * clamped[rail]


def test_gaps_of_the_parts_that_are_members(pickup: Locked) -> None:
    assert {g.member for g in pickup.gaps} == {"X8", "X7 closed"}
    for gap in pickup.gaps:
        assert gap.force > 0.0
        assert 0.0 < gap.drawn < 1.0
        twist = gap.worst("twist")
        assert twist is not None
        assert abs(twist[1]) < 1e-9  # a tube straight across twists nothing
        assert min(value for m, value in gap.leaves if m.key == "width") < 0.0


def test_a_chain_pulls_the_longer_diagonal() -> None:
    stock, full = demo("orchard_pickup", True), demo("orchard_pickup")
    rows = ["point,station_off_mm,offset_off_mm,height_off_mm"]
    for key in rail_points(stock):
        side = 2.0 if key.endswith("right") else -2.0
        rows.append(f"{key},{side},0,0")  # right rail 4 mm rearward
    found = locked(full, stock, read_shape("\n".join(rows), "pushed", stock), square=True)
    grip, force = found.staged.grips[-1], found.staged.clamps[-1]
    assert grip.words == "chain A1 left to A11 right"
    assert sense(grip, force) == "pull"
    diamond = found.worst("diamond")
    assert diamond is not None
    assert diamond.off == pytest.approx(4.0)
    # The chain bends the ends it pulls at, which takes some of its way.
    assert abs(diamond.forced) < 0.2 * diamond.off
    assert diamond.forced < diamond.after < diamond.off


# --------------------------------------------------------------------------- bad input


def test_every_bad_line_of_a_shape_is_told() -> None:
    frame = demo("orchard_pickup", True)
    text = "# by hand\npoint,height_off_mm\nA1 right,2\nA99 right,1\nA1 right,3\nA2 right,abc\n"
    with pytest.raises(DocumentError) as stop:
        read_shape(text, "shape.csv", frame)
    said = str(stop.value)
    assert "shape.csv, line 4" in said
    assert "shape.csv, line 5" in said
    assert "shape.csv, line 6" in said
    with pytest.raises(DocumentError, match="holds no shape"):
        read_shape("kind,from,to\n", "shape.csv", frame)
    with pytest.raises(DocumentError, match="too little"):
        read_shape("point,height_off_mm\nA1 right,2\n", "shape.csv", frame)


def test_a_surveyed_point_off_the_rails_is_left_out() -> None:
    frame = demo("orchard_pickup", True)
    heads = "point,station_mm,offset_mm,height_mm,height_off_mm"
    rows = [f"{key},,,,1.5" for key in ("A1 right", "A1 left", "A9 right", "A9 left")]
    shape = read_shape("\n".join([heads, *rows, "engine mount,60,0,600,2.0"]), "s", frame)
    assert shape.beside == ("engine mount",)
    assert len(shape.points) == 4


def test_a_point_between_the_named_ones_and_clamps_that_are_not_there(tmp_path: Path) -> None:
    stock, full = demo("orchard_pickup", True), demo("orchard_pickup")
    text = "point,station_mm,height_off_mm\n" + "".join(
        f"{name} {side},{x},{off}\n"
        for name, x in (("P", -100.0), ("Q", 1500.0), ("R", 3700.0))
        for side, off in (("right", 1.0), ("left", -1.0))
    )
    shape = read_shape(text, "own", stock)
    assert shape.at[2].point == pytest.approx((1500.0, 430.0, 475.0))
    with pytest.raises(ModelError, match="one of P, Q, R"):
        locked(full, stock, shape, clamps=("A5",))
    with pytest.raises(ModelError, match="part to weld in"):
        locked(stock, stock, shape)
    with pytest.raises(ModelError, match="--square needs"):
        locked(full, stock, shape, square=True)


def test_walls_are_matched_whichever_way_they_run() -> None:
    """A section listed backwards carries the same stress: letting go cancels it."""
    thin = cantilever(1000.0, section(shapes.channel(depth=80, flange=40, wall=3), is_open=True))
    line = thin.members[0].runs[0].section.midline
    back = replace(line, walls=line.walls[:, ::-1].copy())
    turned = replace(thin.members[0].runs[0].section, midline=back)
    run = replace(thin.members[0].runs[0], section=turned)
    other = replace(thin, members=(replace(thin.members[0], runs=(run,)),))
    places = [0.0, 500.0, 1000.0]
    grips = [Grip(f"{x}", ((at(thin, "rail", x), Z),)) for x in places]
    staged = stage(
        meshed(thin, rail=places), meshed(other, rail=places), grips, np.array([0.0, 4.0, 0.0])
    )
    assert max(one.stress for one in left_in(staged)) < 1e-6
