"""Bodies: both sides from the points of one, what is there in which kind, their mounts."""

import math
import tomllib
from typing import Any

import numpy as np
import pytest
from cabs import CAB, FRAME, HARD, build

from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.document.schema import FrameDocument
from fea.errors import ModelError
from fea.frame.body import Body
from fea.frame.build import build_frame
from fea.frame.build_body import body_kinds
from fea.frame.model import Fastening
from fea.frame.mounts import GRADES
from fea.section import shapes

MIRROR = np.array([1.0, -1.0, 1.0])


def cab(kind: str, text: str = CAB, **choice: Any) -> Body:
    (body,) = build(text, body=kind, **choice).bodies
    return body


def test_without_a_body_nothing_stands_on_the_frame() -> None:
    bare = build("")
    for frame in (build(CAB), build(CAB, body="none")):
        assert frame.bodies == ()
        assert frame.ties == ()
        assert frame.mounts == bare.mounts
        assert [m.name for m in frame.members] == [m.name for m in bare.members]


def test_an_unknown_kind_of_body() -> None:
    with pytest.raises(ModelError, match='there is no kind of body "close"') as error:
        build(CAB, body="close")
    assert 'did you mean "closed"? one of "open", "closed", "none"' in str(error.value)
    with pytest.raises(ModelError, match="this frame's document has no body"):
        build("", body="open")


def test_kinds_are_listed_in_the_order_of_the_file() -> None:
    document = FrameDocument.model_validate(tomllib.loads(FRAME + CAB))
    assert body_kinds(document) == ("open", "closed")


def test_beams_of_both_sides_mirror_each_other() -> None:
    beams = {beam.name: beam for beam in cab("open").beams}
    assert list(beams) == [
        "sill right", "sill left", "waist right", "waist left", "bow right", "bow left",
        "bow, rear right", "bow, rear left", "brace",
    ]  # fmt: skip
    right, left = beams["sill right"], beams["sill left"]
    assert (right.side, left.side) == ("right", "left")
    assert right.path.tolist() == [[300, 450, 620], [1000, 450, 620], [1800, 450, 620]]
    np.testing.assert_array_equal(left.path, MIRROR * right.path)
    np.testing.assert_array_equal(
        left.section.midline.points, shapes.mirror(right.section.midline).points
    )
    assert not np.allclose(left.section.midline.points, right.section.midline.points)
    assert right.material.name == "sheet"


def test_a_beam_across_is_one() -> None:
    (brace,) = [beam for beam in cab("open").beams if beam.floor]
    assert brace.side == "centre"
    assert brace.path.tolist() == [[1000, 450, 620], [1000, -450, 620]]


def test_a_beam_along_the_centreline_is_one() -> None:
    (ridge,) = [beam for beam in cab("closed").beams if beam.name.startswith("ridge")]
    assert (ridge.name, ridge.side) == ("ridge", "centre")
    assert not ridge.path[:, 1].any()


def test_panels_go_round() -> None:
    panels = {panel.name: panel for panel in cab("closed").panels}
    assert list(panels) == ["side right", "side left", "floor", "roof"]
    np.testing.assert_array_equal(
        panels["side left"].corners, MIRROR * panels["side right"].corners
    )
    assert panels["floor"].corners.tolist() == [
        [300, 450, 620], [300, -450, 620], [1000, -450, 620], [1000, 450, 620],
    ]  # fmt: skip
    assert panels["roof"].wall == 0.8


def test_what_belongs_to_one_kind_only() -> None:
    kinds = {kind: cab(kind) for kind in ("open", "closed")}
    assert {len(kinds["closed"].beams) - len(kinds["open"].beams)} == {1}
    assert "roof" not in {panel.name for panel in kinds["open"].panels}
    degree = 1e3 * 180.0 / math.pi
    for kind, twist in (("open", 900.0), ("closed", 2500.0)):
        found = kinds[kind].twist
        assert found is not None
        assert found.stiffness == pytest.approx(twist * degree)
        assert found.between == ("M1", "M2")
        assert found.at == ()
        bending = kinds[kind].bending
        assert bending is not None
        assert bending.stiffness == 5000.0
        assert bending.at == ((1000, 450, 620), (1000, -450, 620))


def test_a_body_of_another_kind_is_left_out() -> None:
    text = CAB.replace('kind = ["open", "closed"]', 'kind = ["open"]', 1)
    text = text.replace(
        '    { kind = ["closed"], stiffness = "2500 N m/deg", between = ["M1", "M2"] },\n', ""
    )
    text = text.replace('kind = ["closed"]', 'kind = ["open"]')
    van = text.replace('"cab"', '"van"').replace('["open"]', '["van"]')
    assert [body.name for body in build(text + van, body="open").bodies] == ["cab"]
    assert [body.name for body in build(text + van, body="van").bodies] == ["van"]


def test_points_above_mounts() -> None:
    assert cab("open").points == {
        ("M1", "right"): (300, 450, 620),
        ("M1", "left"): (300, -450, 620),
        ("M2", "right"): (1800, 450, 620),
        ("M2", "left"): (1800, -450, 620),
    }


def test_a_mount_of_a_part_comes_with_it() -> None:
    text = CAB.replace('M2 = "S3" }', 'M2 = "S3", M3 = "S2" }') + HARD.replace(
        'replaces = ["M2"]\n', ""
    ).replace("M2 hard", "M3").replace("1800", "1000")
    assert ("M3", "right") not in cab("open", text).points
    assert cab("open", text, fit=["hard"]).points["M3", "left"] == (1000, -450, 620)


def test_a_mount_that_stands_in_for_another() -> None:
    text = CAB.replace('M2 = "S3" }', 'M2 = "S3", "M2 hard" = "S3" }') + HARD
    stock, hard = cab("open", text), cab("open", text, fit=["hard"])
    assert {name for name, _ in stock.points} == {"M1", "M2"}
    assert {name for name, _ in hard.points} == {"M1", "M2 hard"}
    assert hard.twist is not None
    assert hard.twist.between == ("M1", "M2 hard")


def test_a_replaced_mount_without_a_stand_in_is_told() -> None:
    assert cab("open", CAB + HARD)
    with pytest.raises(ModelError, match='mount "M2" of body "cab" is not fitted') as error:
        build(CAB + HARD, fit=["hard"])
    assert len(error.value.complaints) == 1


def test_a_mount_on_one_side_or_the_centreline() -> None:
    text = CAB.replace('M2 = "S3" }', 'M2 = "S3", M3 = "S2", M4 = "T1" }')
    more = '[[mount]]\nname = "M3"\nside = "left"\nstation = "1000 mm"\noffset = "-450 mm"\n'
    more += 'height = "580 mm"\ngrade = "solid"\n[[mount]]\nname = "M4"\nside = "centre"\n'
    more += 'station = "300 mm"\noffset = "0 mm"\nheight = "580 mm"\ngrade = "solid"\n'
    more += '[[crossmember]]\nname = "X1"\nstation = "300 mm"\nsection = "B"\njoint = "web"\n'
    points = cab("open", more + text).points
    assert points["M3", "left"] == (1000, -450, 620)
    assert ("M3", "right") not in points
    assert points["M4", "centre"] == (300, 0, 1000)
    with pytest.raises(ModelError, match='mount "M4" on the centreline needs a point'):
        build(more + text.replace('M4 = "T1"', 'M4 = "S1"'))


def test_a_failed_mount_is_told_once() -> None:
    with pytest.raises(ModelError) as error:
        build_frame(
            FrameDocument.model_validate(
                tomllib.loads(FRAME.replace('height = "580 mm"', 'height = "1580 mm"') + CAB)
            ),
            source="small.toml",
        )
    assert [c.rule.split(" stands")[0] for c in error.value.complaints] == [
        'mount "M1"',
        'mount "M2"',
    ]


def test_slips_in_a_body_show_though_none_is_chosen() -> None:
    with pytest.raises(ModelError, match='there is no section "Q"') as error:
        build(CAB.replace('section = "Z"', 'section = "Q"', 1))
    assert len(error.value.complaints) == 1


def test_corners_within_5_mm_of_a_plane() -> None:
    """One corner of a rectangle off by d is off the plane between all four by d/4."""

    def bent(off: float) -> str:
        point = 'C3 = { station = "1800 mm", offset = "450 mm"'
        flat = CAB.replace('[[body.panel]]\nname = "roof"', '[[body.panel]]\nname = "x"')
        return flat.replace(point, point.replace("450", str(450 - off)))

    assert cab("open", bent(19.9))
    with pytest.raises(ModelError, match="within 5 mm of a plane") as error:
        build(bent(20.2))
    assert len(error.value.complaints) == 1


# ------------------------------------------------------------------------------ mounts


def test_the_mount_of_a_document_in_full() -> None:
    more = """[[mount]]
name = "M3"
station = "1000 mm"
offset = "450 mm"
height = "580 mm"
grade = "urethane"
lateral = "700 N/mm"
turn = "20 N m/deg"
state = "worn"
bracket = "8 kN/mm"
wall = "1.2 mm"
hole = "14 mm"
washer = { diameter = "60 mm", wall = "4 mm" }
bolt = "M12"
torque = "45 N m"
"""
    frame = build(more)
    right, left = (m for m in frame.mounts if m.name == "M3")
    assert right.stiffness == (700.0, 700.0, 1500.0)
    assert right.turn == pytest.approx((20e3 * 180.0 / math.pi,) * 3)
    assert (right.state, right.grade, right.bracket) == ("worn", None, 8000.0)
    assert right.fastening == Fastening(1.2, 14.0, 60.0, 4.0, 12.0, 45e3)
    assert left.fastening == right.fastening
    assert (left.side, left.position) == ("left", (1000.0, -450.0, 580.0))
    plain = frame.mounts[0]
    rubber = GRADES["rubber"]
    assert plain.stiffness == (rubber.lateral, rubber.lateral, rubber.vertical)
    assert (plain.grade, plain.state, plain.turn) == ("rubber", "good", (0.0, 0.0, 0.0))
    assert plain.fastening == Fastening()


def test_one_grade_for_all_mounts() -> None:
    frame = build(CAB, mounts="solid")
    assert {m.stiffness for m in frame.mounts} == {(5000.0, 5000.0, 5000.0)}
    with pytest.raises(ModelError, match='there is no grade of mount "steel"'):
        build(CAB, mounts="steel")


# ---------------------------------------------------------------------- shipped frames

BODIES = [
    ("orchard_pickup", "open", "cab", 900.0, "M2", "M3"),
    ("orchard_pickup", "closed", "cab", 2500.0, "M2", "M3"),
    ("orchard_pickup", "open", "load bed", 600.0, "M4", "M6"),
    ("orchard_pickup", "closed", "load bed", 600.0, "M4", "M6"),
    ("harbour_tourer", "open", "body", 1200.0, "M2", "M5"),
    ("harbour_tourer", "closed", "body", 4500.0, "M2", "M5"),
]


@pytest.mark.parametrize(("name", "kind", "body", "twist", "front", "rear"), BODIES)
def test_the_shipped_bodies(
    name: str, kind: str, body: str, twist: float, front: str, rear: str
) -> None:
    path = find_frame(name)
    frame = build_frame(read_frame(path), source=str(path), body=kind)
    (found,) = [b for b in frame.bodies if b.name == body]
    assert found.twist is not None
    assert found.twist.stiffness == pytest.approx(twist * 1e3 * 180.0 / math.pi)
    assert found.twist.between == (front, rear)
    assert found.bending is not None
    mounts = {(m.name, m.side): m.position for m in frame.mounts}
    for place, point in found.points.items():
        over = np.subtract(point, mounts[place])
        assert 0.0 < over[2] < 200.0
        assert np.hypot(*over[:2]) < 50.0


@pytest.mark.parametrize(("name", "kind", "body"), [row[:3] for row in BODIES])
def test_the_shipped_bodies_are_symmetric(name: str, kind: str, body: str) -> None:
    path = find_frame(name)
    frame = build_frame(read_frame(path), source=str(path), body=kind)
    (found,) = [b for b in frame.bodies if b.name == body]

    def key(points: Any) -> tuple[Any, ...]:
        return tuple(sorted(map(tuple, np.round(points, 6) + 0.0)))

    for things in ([b.path for b in found.beams], [p.corners for p in found.panels]):
        here = sorted(key(points) for points in things)
        assert here == sorted(key(MIRROR * points) for points in things)
