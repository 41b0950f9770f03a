"""Ties between frame and body: the document's own, and where one more could go."""

from dataclasses import replace

import numpy as np
import pytest
from cabs import CAB, build

from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.errors import ModelError
from fea.frame.body import Bracket, Tie
from fea.frame.build import build_frame
from fea.frame.model import Frame
from fea.frame.ties import candidates

LINK = """
[[tie]]
name = "link"
rail = "rail"
station = "1000 mm"
brace = "brace"
bracket = { width = "40 mm", wall = "6 mm", bolts = 2, bolt = "M8", ends = "pinned" }
"""
CROSS = """
[[crossmember]]
name = "X1"
station = "900 mm"
section = "B"
joint = "web"
drop = "50 mm"
"""


def ties(text: str, kind: str = "open", **choice: object) -> tuple[Tie, ...]:
    return build(text, body=kind, **choice).ties


def tourer(kind: str = "open") -> Frame:
    path = find_frame("harbour_tourer")
    return build_frame(read_frame(path), source=str(path), body=kind)


def test_a_tie_of_the_document() -> None:
    right, left = ties(CAB + LINK)
    assert (right.pair, right.side, right.onto, right.distance) == (
        "link", "right", "rail right", 1000.0,
    )  # fmt: skip
    assert right.frame_point == (1000.0, 400.0, 500.0)
    assert (right.body, right.beam, right.body_point) == ("cab", "brace", (1000.0, 400.0, 620.0))
    assert right.bracket == Bracket(120.0, 40.0, 6.0, 2, 8.0, "pinned", 5000.0)
    assert right.stiffness is None
    assert right.fitted
    mirrored = replace(
        right,
        side="left",
        onto="rail left",
        frame_point=(1000.0, -400.0, 500.0),
        body_point=(1000.0, -400.0, 620.0),
    )
    assert left == mirrored


def test_its_ends_where_they_are_told() -> None:
    more = 'offset = "440 mm"\nheight = "540 mm"\nbody_offset = "300 mm"\nside = "left"\n'
    text = LINK.replace('brace = "brace"\n', 'brace = "brace"\n' + more)
    (only,) = ties(CAB + text.replace("width", 'length = "90 mm", width'))
    assert only.side == "left"
    assert only.frame_point == (1000.0, -440.0, 540.0)
    assert only.body_point == (1000.0, -300.0, 620.0)
    assert only.bracket is not None
    assert only.bracket.length == 90.0


@pytest.mark.parametrize(
    ("given", "found"),
    [
        ('"2 kN/mm"', (2e3, 2e3, 2e3)),
        ('{ station = "1 N/mm", offset = "2 N/mm", height = "3 N/mm" }', (1.0, 2.0, 3.0)),
    ],
)
def test_a_stiffness_instead_of_a_bracket(given: str, found: tuple[float, ...]) -> None:
    text = "\n".join(LINK.splitlines()[:-1]) + f"\nstiffness = {given}\n"
    for tie in ties(CAB + text):
        assert tie.stiffness == found
        assert tie.bracket is None


def test_a_tie_on_a_crossmember() -> None:
    text = LINK.replace(
        'rail = "rail"\nstation = "1000 mm"', 'crossmember = "X1"\noffset = "300 mm"'
    )
    right, left = ties(CROSS + CAB + text)
    assert (right.onto, left.onto) == ("X1", "X1")
    assert right.frame_point == (900.0, 300.0, 450.0)
    assert left.frame_point == (900.0, -300.0, 450.0)
    assert right.distance + left.distance == pytest.approx(800.0)
    assert right.distance - left.distance == pytest.approx(600.0)
    assert right.body_point == (1000.0, 300.0, 620.0)


def test_a_tie_of_a_part_comes_with_it() -> None:
    part = '[[part]]\nname = "links"\nfitted = false\n' + LINK.replace("[[tie]]", "[[part.tie]]")
    assert [tie.fitted for tie in ties(CAB + part)] == [False, False]
    assert [tie.fitted for tie in ties(CAB + part, fit=["links"])] == [True, True]
    off = part + "fitted = false\n"
    assert [tie.fitted for tie in ties(CAB + off, fit=["links"])] == [False, False]


def test_a_tie_from_a_crossmember_that_is_off_is_off_too() -> None:
    cross = CROSS.replace("[[crossmember]]", '[[part]]\nname = "X"\n[[part.crossmember]]')
    text = LINK.replace(
        'rail = "rail"\nstation = "1000 mm"', 'crossmember = "X1"\noffset = "300 mm"'
    )
    assert len(ties(CAB + cross + text)) == 2
    assert ties(CAB + cross + text, stock=True) == ()


def test_ties_to_a_body_that_is_not_there() -> None:
    closed = CAB.replace("floor = true", 'floor = true\nkind = ["closed"]')
    assert len(ties(closed + LINK, "closed")) == 2
    assert ties(closed + LINK) == ()
    assert build(closed + LINK).ties == ()


def test_a_long_tie() -> None:
    """600 mm in front of the brace, 120 mm below it: 612 mm; 380 mm in front: 398 mm."""
    assert len(ties(CAB + LINK.replace("1000", "620"))) == 2
    with pytest.raises(ModelError, match="must not be longer than 400 mm") as error:
        build(CAB + LINK.replace("1000", "400"))
    (complaint,) = error.value.complaints
    assert complaint.found == '612 mm from frame to brace "brace"'


# --------------------------------------------------------------------------- candidates


def test_candidates_of_a_small_frame() -> None:
    frame = build(CAB + LINK, body="open")
    found = candidates(frame)
    assert found[:2] == list(frame.ties)
    right, left = found[2:]
    assert (right.pair, right.side, right.onto, right.fitted) == (
        "brace", "right", "rail right", False,
    )  # fmt: skip
    assert right.frame_point == (1000.0, 400.0, 500.0)
    assert right.body_point == (1000.0, 400.0, 620.0)
    assert right.bracket == Bracket(120.0, 40.0, 6.0, 1, 10.0, "clamped", 5000.0)
    assert left.body_point == (1000.0, -400.0, 620.0)
    assert candidates(frame, 119.0) == list(frame.ties)
    assert candidates(build(CAB + LINK)) == []


def test_a_candidate_never_takes_the_name_of_a_tie() -> None:
    named = LINK.replace('name = "link"', 'name = "brace"')
    found = candidates(build(CAB + named, body="open"))
    assert [tie.pair for tie in found] == ["brace"] * 2 + ["brace of cab"] * 2


def test_a_brace_on_a_slant_is_met_where_it_is_nearest() -> None:
    """It runs rearward and inward over the rail: tied where it crosses over it."""
    slant = CAB.replace('across = "S2"\nfloor = true', 'path = ["S2", "I3"]\nfloor = true')
    inner = 'I3 = { station = "1400 mm", offset = "250 mm", height = "620 mm" }\nC1 ='
    found = candidates(build(slant.replace("C1 =", inner, 1), body="open"))
    assert [(tie.pair, tie.side, tie.beam) for tie in found] == [
        ("brace", "right", "brace right"),
        ("brace", "left", "brace left"),
    ]
    for tie in found:
        assert np.abs(tie.frame_point) == pytest.approx((1100.0, 400.0, 500.0), abs=1.0)
        gap = np.linalg.norm(np.subtract(tie.frame_point, tie.body_point))
        assert gap == pytest.approx(120.0, abs=0.01)


def test_a_short_bracket_keeps_room_for_its_bolts() -> None:
    low = CAB.replace('"620 mm"', '"520 mm"')
    (right, _) = candidates(build(low, body="open"))
    assert right.bracket is not None
    assert right.bracket.length == 40.0
    assert right.frame_point[2] - right.body_point[2] == -20.0


@pytest.mark.parametrize("kind", ["open", "closed"])
def test_candidates_of_the_tourer(kind: str) -> None:
    frame = tourer(kind)
    found = candidates(frame)
    link = found[0]
    assert (link.pair, link.fitted) == ("sill link", False)
    assert link.frame_point == (1400.0, 690.0, 335.0)
    assert link.body_point == (1400.0, 560.0, 360.0)
    assert link.bracket == Bracket(pytest.approx(np.hypot(130, 25)), 40.0, 6.0, 1, 10.0)
    floor = [beam.name for beam in frame.bodies[0].beams if beam.floor]
    assert len(floor) == 7
    assert [tie.pair for tie in found[2:]] == [name for name in floor for _ in range(2)]
    for tie in found[2:]:
        start, end = np.array(tie.frame_point), np.array(tie.body_point)
        assert start[0] == end[0]
        assert 40.0 < np.linalg.norm(end - start) < 150.0
