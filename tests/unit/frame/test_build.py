"""From document to frame: parts, plates, directions, joints, mirror images."""

import tomllib
from typing import Any

import numpy as np
import pytest

from fea.document.find import find_case, find_frame, shipped_frames
from fea.document.read import read_case, read_frame
from fea.document.schema import FrameDocument
from fea.errors import ModelError
from fea.frame.build import allowed_positions, build_frame
from fea.frame.build_case import build_case
from fea.frame.model import Frame, Member
from fea.frame.path import lengths, point_at
from fea.section import shapes

HEAD = """
title = "A small frame"
[material.steel]
E = "206 GPa"
nu = 0.3
density = "7850 kg/m3"
yield = "240 MPa"
[material.strong]
E = "206 GPa"
nu = 0.3
density = "7850 kg/m3"
yield = "350 MPa"
[section.C]
shape = "channel"
depth = "120 mm"
flange = "55 mm"
wall = "3.5 mm"
[section.H]
shape = "hat"
depth = "80 mm"
width = "60 mm"
lip = "15 mm"
wall = "2.5 mm"
[section.Z]
shape = "Z"
depth = "100 mm"
flange = "40 mm"
wall = "3 mm"
[section.B]
shape = "box"
depth = "80 mm"
width = "60 mm"
wall = "3 mm"
[[rail]]
name = "rail"
points = [
    { name = "P1", station = "0 mm", offset = "400 mm", height = "500 mm", section = "C" },
    { name = "P2", station = "1500 mm", offset = "400 mm", height = "500 mm", section = "H" },
    { name = "P3", station = "2400 mm", offset = "400 mm", height = "500 mm" },
]
"""


def document(text: str) -> FrameDocument:
    return FrameDocument.model_validate(tomllib.loads(HEAD + text))


def build(text: str, **choice: Any) -> Frame:
    return build_frame(document(text), source="small.toml", **choice)


def shipped(name: str, **choice: Any) -> Frame:
    path = find_frame(name)
    return build_frame(read_frame(path), source=str(path), **choice)


def mass(frame: Frame) -> float:
    """Return the members' mass, kg."""
    return 1e3 * sum(
        (run.end - run.start) * shapes.area(run.section.midline) * run.material.density
        for member in frame.members
        for run in member.runs
    )


def opening(member: Member, number: int = 0) -> tuple[float, ...]:
    """Return the way an open section faces, in vehicle axes: from its held wall to the rest."""
    midline = member.runs[number].section.midline
    held = midline.points[midline.walls[midline.held_wall]].mean(axis=0)
    y, z = midline.points.mean(axis=0) - held
    x = member.path[1] - member.path[0]
    across = np.cross(member.up, x / np.linalg.norm(x))
    across /= np.linalg.norm(across)
    upward = np.cross(x / np.linalg.norm(x), across)
    direction = y * across + z * upward
    return tuple((direction / np.linalg.norm(direction)).round(9) + 0.0)


@pytest.mark.parametrize("name", shipped_frames())
def test_every_shipped_frame_is_whole(name: str) -> None:
    """Runs cover each member, joints lie on members, left is the mirror image of right."""
    everything = [part.name for part in shipped(name, stock=True).parts]
    for frame in (shipped(name), shipped(name, stock=True), shipped(name, fit=everything)):
        names = [member.name for member in frame.members]
        assert len(set(names)) == len(names)
        for member in frame.members:
            ends = [run.end for run in member.runs]
            assert [run.start for run in member.runs] == [0.0, *ends[:-1]]
            assert ends[-1] == pytest.approx(lengths(member.path)[-1], rel=1e-14)
            assert len(member.point_names) == len(member.path)
        for joint in frame.joints:
            onto = frame.member(joint.onto)
            assert 0.0 <= joint.distance <= lengths(onto.path)[-1]
            end = frame.member(joint.member).path[0 if joint.end == "start" else -1]
            foot = point_at(onto.path, joint.distance)
            np.testing.assert_allclose(end[:2], foot[:2], atol=1e-9)
        for meeting in frame.meetings:
            for member_name, distance in meeting.members:
                place = point_at(frame.member(member_name).path, distance)
                np.testing.assert_allclose(place, meeting.position, atol=0.01)
        check_mirror(frame)


def check_mirror(frame: Frame) -> None:
    right, left = frame.member("rail right"), frame.member("rail left")
    np.testing.assert_array_equal(right.path * [1, -1, 1], left.path)
    for one, two in zip(right.runs, left.runs, strict=True):
        np.testing.assert_array_equal(
            one.section.midline.points * [-1, 1], two.section.midline.points
        )
        for name in ("start", "end", "material", "part", "weakest_yield"):
            assert getattr(one, name) == getattr(two, name)
    for what in (frame.mounts, *(axle.seats for axle in frame.axles)):
        sides = {side: [w for w in what if w.side == side] for side in ("right", "left")}
        for one, two in zip(sides["right"], sides["left"], strict=True):
            assert one.position[1] == -two.position[1]
            assert one.distance == two.distance


@pytest.mark.parametrize(("name", "listed"), [("orchard_pickup", 95.4), ("harbour_tourer", 95.5)])
def test_the_stock_demo_frames_weigh_what_their_tables_say(name: str, listed: float) -> None:
    """The tables' arithmetic is by hand, to a tenth of a kilogram and a rounded area."""
    assert mass(shipped(name, stock=True)) == pytest.approx(listed, abs=0.15)


def test_plates_weigh_what_their_strips_do() -> None:
    stock = mass(shipped("orchard_pickup", stock=True))
    cab = mass(shipped("orchard_pickup", stock=True, fit=["boxing_cab"]))
    # 1100 mm of 146 x 3 mm plate on each side
    assert cab - stock == pytest.approx(2 * 1100 * 146 * 3 * 7.85e-6, rel=1e-9)


def test_parts_are_switched() -> None:
    text = """
    [[part]]
    name = "one"
    [[part.crossmember]]
    name = "X1"
    station = "600 mm"
    section = "B"
    joint = "web"
    [[part]]
    name = "two"
    fitted = false
    [[part.boxing]]
    rail = "rail"
    from = "200 mm"
    to = "900 mm"
    plate = "3 mm"
    """
    assert build(text).fitted == ("one",)
    assert build(text, fit=["two"]).fitted == ("one", "two")
    assert build(text, leave=["one"]).fitted == ()
    assert build(text, stock=True).fitted == ()
    assert build(text, stock=True, fit=["two"]).fitted == ("two",)
    assert [part.name for part in build(text, stock=True).parts] == ["one", "two"]
    assert "X1" not in {member.name for member in build(text, stock=True).members}
    assert build(text).member("X1").part == "one"
    with pytest.raises(ModelError, match='did you mean "two"'):
        build(text, fit=["tow"])
    with pytest.raises(ModelError, match="cannot be both fitted and left off"):
        build(text, fit=["two"], leave=["two"])


def test_a_part_takes_the_place_of_a_stock_piece() -> None:
    frame = shipped("orchard_pickup", fit=["rear_box"])
    names = {member.name for member in frame.members}
    assert "X7" not in names
    assert not any(joint.member == "X7" for joint in frame.joints)
    assert "X7 closed" in names
    assert "X7" in {m.name for m in shipped("orchard_pickup", leave=["rear_box"]).members}


def test_a_plate_splits_the_rail_and_closes_it() -> None:
    text = """
    [[boxing]]
    rail = "rail"
    side = "left"
    from = "200 mm"
    to = "900 mm"
    plate = "3 mm"
    material = "strong"
    """
    frame = build(text)
    left, right = frame.member("rail left"), frame.member("rail right")
    assert [run.end for run in left.runs] == [200.0, 900.0, 1500.0, 2400.0]
    assert [run.section.is_open for run in left.runs] == [True, False, True, True]
    assert [run.end for run in right.runs] == [1500.0, 2400.0]
    # the rail's own metal is the weaker one
    assert left.runs[1].weakest_yield == 240.0
    assert left.runs[1].part is None


def test_plates_end_to_end_leave_no_gap() -> None:
    frame = shipped("orchard_pickup")
    runs = frame.member("rail right").runs
    assert [run.part for run in runs] == [
        "boxing_front", "boxing_front", "boxing_cab",
        "boxing_kick_up", "boxing_kick_up", "boxing_rear",
    ]  # fmt: skip
    assert not any(run.section.is_open for run in runs)


@pytest.mark.parametrize(
    ("opens", "right", "left"),
    [
        ("inboard", (0, -1, 0), (0, 1, 0)),
        ("outboard", (0, 1, 0), (0, -1, 0)),
        ("up", (0, 0, 1), (0, 0, 1)),
        ("down", (0, 0, -1), (0, 0, -1)),
    ],
)
def test_a_rail_opens_as_told(opens: str, right: Any, left: Any) -> None:
    data = tomllib.loads(HEAD)
    data["rail"][0]["opens"] = opens
    frame = build_frame(FrameDocument.model_validate(data), source="x")
    assert opening(frame.member("rail right")) == right
    assert opening(frame.member("rail left")) == left
    # a hat is open downward whatever the channels do
    assert opening(frame.member("rail right"), 1) == (0, 0, -1)


def test_a_rail_on_the_left_alone_opens_like_the_left_one_of_a_pair() -> None:
    data = tomllib.loads(HEAD)
    pair = build_frame(FrameDocument.model_validate(data), source="x")
    data["rail"][0] |= {"name": "rail left", "side": "left"}
    for point in data["rail"][0]["points"]:
        point["offset"] = "-" + point["offset"]
    alone = build_frame(FrameDocument.model_validate(data), source="x")
    one, two = pair.member("rail left"), alone.member("rail left")
    for a, b in zip(one.runs, two.runs, strict=True):
        # the same corners; of a hat, which is alike on both sides, in another order
        one_set, two_set = (set(map(tuple, r.section.midline.points.tolist())) for r in (a, b))
        assert one_set == two_set


CROSS = """
[[crossmember]]
name = "X1"
station = "600 mm"
section = "{section}"
joint = "web"
{more}
"""


@pytest.mark.parametrize(
    ("section", "opens", "direction"),
    [
        ("C", None, (1, 0, 0)),
        ("C", "rear", (1, 0, 0)),
        ("C", "front", (-1, 0, 0)),
        ("C", "up", (0, 0, 1)),
        ("C", "down", (0, 0, -1)),
        ("H", None, (0, 0, -1)),
        ("H", "up", (0, 0, 1)),
        ("H", "rear", (1, 0, 0)),
        ("H", "front", (-1, 0, 0)),
    ],
)
def test_a_crossmember_opens_as_told(section: str, opens: str | None, direction: Any) -> None:
    more = f'opens = "{opens}"' if opens else ""
    member = build(CROSS.format(section=section, more=more)).member("X1")
    assert opening(member) == direction
    swapped = opens in {"up", "down"} if section == "C" else opens in {"front", "rear"}
    section_made = member.runs[0].section
    assert (section_made.depth > section_made.width) == (swapped == (section == "H"))


def test_opens_does_not_lay_a_box_over() -> None:
    member = build(CROSS.format(section="B", more='opens = "up"')).member("X1")
    assert (member.runs[0].section.depth, member.runs[0].section.width) == (80.0, 60.0)


def test_a_crossmember_hangs_below_its_rails() -> None:
    frame = build(CROSS.format(section="B", more='drop = "110 mm"'))
    np.testing.assert_array_equal(frame.member("X1").path, [[600, -400, 390], [600, 400, 390]])
    start, end = frame.joints
    assert (start.onto, start.end, start.distance) == ("rail left", "start", 600.0)
    assert (end.onto, end.end, end.kind) == ("rail right", "end", "web")
    assert start.stiffness is None


def test_ends_and_joint_stiffness() -> None:
    more = (
        'ends = { left = "bolted", right = "rigid" }\n'
        'joint_stiffness = { move = "200 kN/mm", turn = "free", height = "rigid", '
        'about_offset = "3e8 N mm/rad" }'
    )
    text = CROSS.format(section="B", more=more).replace('joint = "web"\n', "")
    left, right = build(text).joints
    assert left.kind == "bolted"
    assert left.stiffness == (2e5, 2e5, np.inf, 0.0, 3e8, 0.0)
    assert (right.kind, right.stiffness) == ("rigid", None)


def test_positions_of_a_bolted_crossmember() -> None:
    path = find_frame("orchard_pickup")
    doc = read_frame(path)
    assert allowed_positions(doc) == {"X3": tuple(range(1180, 1321, 20))}
    moved = build_frame(doc, source=str(path), positions={"X3": 1300.0})
    assert moved.member("X3").path[:, 0].tolist() == [1300.0, 1300.0]
    with pytest.raises(ModelError, match="1180, 1200, 1220, 1240, 1260, 1280, 1300, 1320 mm"):
        build_frame(doc, source=str(path), positions={"X3": 1250.0})
    with pytest.raises(ModelError, match='no crossmember "X4" with more than one position'):
        build_frame(doc, source=str(path), positions={"X4": 1250.0})


POINT = """
[point.XC]
station = "1000 mm"
offset = "0 mm"
height = "500 mm"
"""
LEG = """
[[brace]]
name = "{name}"
section = "C"
joint = "web"
path = [
    {{ rail = "rail", side = "{side}", station = "500 mm" }},
    {{ point = "XC" }},
    {{ rail = "rail", side = "{other}", station = "1500 mm" }},
]
"""
LEGS = LEG.format(name="leg A", side="left", other="right") + LEG.format(
    name="leg B", side="right", other="left"
)


def test_the_legs_of_an_x_meet_in_the_middle() -> None:
    frame = build(POINT + LEGS)
    (meeting,) = frame.meetings
    half = float(np.hypot(500, 400))
    assert meeting.name == "XC"
    assert dict(meeting.members) == pytest.approx({"leg A": half, "leg B": half})
    assert [(j.member, j.end, j.onto, j.distance) for j in frame.joints] == [
        ("leg A", "start", "rail left", 500.0),
        ("leg A", "end", "rail right", 1500.0),
        ("leg B", "start", "rail right", 500.0),
        ("leg B", "end", "rail left", 1500.0),
    ]
    assert frame.member("leg A").point_names == ("leg A corner 1", "XC", "leg A corner 3")


def test_a_point_on_a_crossmember_joins_it_too() -> None:
    cross = CROSS.format(section="B", more="").replace("600 mm", "1000 mm")
    (meeting,) = build(POINT + LEGS + cross).meetings
    assert dict(meeting.members)["X1"] == pytest.approx(400.0)


def test_a_brace_on_a_crossmember() -> None:
    text = (
        POINT
        + CROSS.format(section="B", more="")
        + LEG.format(name="strut", side="left", other="right").replace(
            '{ rail = "rail", side = "left", station = "500 mm" }',
            '{ crossmember = "X1", offset = "210 mm" }',
        )
    )
    frame = build(text)
    (joint,) = [j for j in frame.joints if j.member == "strut" and j.end == "start"]
    assert (joint.onto, joint.distance) == ("X1", 610.0)
    np.testing.assert_allclose(frame.member("strut").path[0], [600, 210, 500])


def test_an_outrigger_may_end_in_the_open() -> None:
    text = POINT.replace('"0 mm"', '"600 mm"') + LEG.format(
        name="outrigger", side="right", other="right"
    ).replace('    { rail = "rail", side = "right", station = "1500 mm" },\n', "")
    frame = build(text)
    assert frame.meetings == ()
    assert len(frame.joints) == 1


@pytest.mark.parametrize(("gap", "told"), [(0.0, False), (0.009, False), (3.0, True), (26, False)])
def test_a_near_miss_is_told(gap: float, told: bool) -> None:
    cross = CROSS.format(section="B", more="").replace("600 mm", f"{1000 + gap} mm")
    if told:
        with pytest.raises(ModelError, match=r'"XC" of "leg A", "leg B" misses .* "X1" by 3 mm'):
            build(POINT + LEGS + cross)
    else:
        assert len(build(POINT + LEGS + cross).meetings[0].members) == (3 if gap < 1 else 2)


def test_rails_welded_end_to_end_meet() -> None:
    tail = """
    [[rail]]
    name = "tail"
    points = [
        { name = "P4", station = "2400 mm", offset = "400 mm", height = "500 mm", section = "C" },
        { name = "P5", station = "2900 mm", offset = "400 mm", height = "500 mm" },
    ]
    """
    meetings = build(tail).meetings
    assert [dict(m.members) for m in meetings] == [
        {"rail right": 2400.0, "tail right": 0.0},
        {"rail left": 2400.0, "tail left": 0.0},
    ]


def test_axle_seats_lie_on_the_rail_unless_told() -> None:
    text = """
    [axle.front]
    station = "0 mm"
    track = "1400 mm"
    bar_rate = "250 N m/deg"
    seats = [
        { station = "300 mm" },
        { station = "700 mm", offset = "380 mm", height = "440 mm" },
    ]
    """
    axle = build(text).axle("front")
    assert axle is not None
    assert axle.bar_rate == pytest.approx(250e3 * 180 / np.pi)
    assert [(s.side, s.position, s.onto, s.distance, s.share) for s in axle.seats] == [
        ("right", (300.0, 400.0, 500.0), "rail right", 300.0, 0.5),
        ("right", (700.0, 380.0, 440.0), "rail right", 700.0, 0.5),
        ("left", (300.0, -400.0, 500.0), "rail left", 300.0, 0.5),
        ("left", (700.0, -380.0, 440.0), "rail left", 700.0, 0.5),
    ]


def test_mounts_and_the_masses_on_them() -> None:
    frame = shipped("harbour_tourer", fit=["mid_mounts"])
    right = next(m for m in frame.mounts if m.name == "M3" and m.side == "right")
    assert right.position == (1400.0, 690.0, 340.0)
    assert right.onto == "rail right"
    assert right.stiffness == (200.0, 200.0, 500.0)
    assert right.bracket == np.inf
    assert not any(m.name == "M3" for m in shipped("harbour_tourer").mounts)
    kerb = sum(m.mass for m in frame.masses if not m.laden)
    stock = mass(shipped("harbour_tourer", stock=True))
    # the tables' kerb weight, rounded as the frame's own mass is
    assert 1e3 * kerb + stock == pytest.approx(1688.0, abs=0.15)


def test_a_spread_mass_stands_halfway() -> None:
    text = """
    [[mass]]
    name = "load"
    mass = "500 kg"
    from = "1000 mm"
    to = "2000 mm"
    height = "900 mm"
    laden = true
    """
    (load,) = build(text).masses
    assert (load.spread, load.position, load.laden) == (
        (1000.0, 2000.0), (1500.0, 0.0, 900.0), True,
    )  # fmt: skip


def test_the_first_material_is_used_where_none_is_named() -> None:
    frame = build(CROSS.format(section="B", more='material = "strong"'))
    assert frame.member("rail right").runs[0].material.name == "steel"
    assert frame.member("X1").runs[0].material.name == "strong"


def test_equal_sections_share_one_midline() -> None:
    """Properties are kept by fingerprint: the same metal must not be worked out twice."""
    frame = shipped("ladder_flange_welded")
    keys = {r.section.midline.key() for m in frame.members for r in m.runs}
    # rail right and left; crossmember opening to the rear and to the front
    assert len(keys) == 4


def test_upside_down() -> None:
    text = CROSS.format(section="Z", more="")
    data = tomllib.loads(HEAD + text)
    before = build_frame(FrameDocument.model_validate(data), source="x").member("X1")
    data["section"]["Z"]["upside_down"] = True
    after = build_frame(FrameDocument.model_validate(data), source="x").member("X1")
    np.testing.assert_array_equal(
        before.runs[0].section.midline.points * [1, -1], after.runs[0].section.midline.points
    )


def test_the_twist_case() -> None:
    case = build_case(read_case(find_case("twist")))
    mirror = build_case(read_case(find_case("twist_mirror")))
    assert case.name == "twist"
    assert case.measure == "twist"
    # six motions, no more: a plain body would be held without strain
    count = sum(2 if hold.place.side == "each" else 1 for hold in case.holds)
    assert count == 6
    assert [push.couple for push in case.pushes] == [1e6]
    assert [push.couple for push in mirror.pushes] == [-1e6]
    assert case.holds == mirror.holds


def test_the_other_cases() -> None:
    bending = build_case(read_case(find_case("bending")))
    assert bending.pushes[0].force == (0.0, 0.0, -1000.0)
    assert bending.pushes[0].place.wheelbase == 0.5
    payload = build_case(read_case(find_case("payload")))
    assert payload.weight is not None
    assert payload.weight.laden
    own = build_case(read_case(find_case("own_weight")))
    assert own.weight is not None
    assert not own.weight.masses
