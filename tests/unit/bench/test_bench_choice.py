"""What the bench offers, and what it takes of what a page asks for."""

import pytest
from study_frames import setting

from fea.bench.controls import LOSS, Controls
from fea.bench.session import Bench
from fea.bench.wanted import figure, wanted
from fea.errors import DocumentError

PLATE = "part.boxing_cab.boxing.1.plate"


@pytest.fixture(scope="module")
def pickup() -> Controls:
    return Bench(setting("orchard_pickup")).controls


@pytest.fixture(scope="module")
def tourer() -> Controls:
    return Bench(setting("harbour_tourer", body="open")).controls


def test_parts_plates_walls_and_wear_are_offered(pickup: Controls) -> None:
    on = {s.key: s.on for s in pickup.switches}
    assert on["part:boxing_cab"] is True
    assert on["part:x_member"] is False
    assert on["wear.1.applied"] is False
    plate, wall = pickup.slider(PLATE), pickup.slider("section.C150x60.wall")
    assert plate is not None
    assert (plate.value, plate.needs) == (3.0, "part:boxing_cab")
    assert plate.low < plate.value < plate.high
    assert wall is not None
    assert wall.label == "C150x60 wall (rail)"


def test_sections_of_bodies_are_not_offered_as_the_frames(pickup: Controls) -> None:
    assert pickup.slider("section.cab_sill.wall") is None


def test_grades_and_ties_come_with_a_body_only(pickup: Controls, tourer: Controls) -> None:
    assert pickup.grades == ()
    assert "urethane" in tourer.grades
    assert not Bench(setting("harbour_tourer")).controls.grades
    tie = tourer.slider("tie.sill link.bracket.ends_stiffness")
    assert tie is not None
    assert (tie.value, tie.by_factor, tie.needs) == (5000.0, True, "tie.sill link.fitted")
    assert tourer.switch("tie.sill link.fitted") is not None


def test_a_choice_becomes_a_variant(pickup: Controls) -> None:
    switches = {"part:boxing_cab": False, "wear.1.applied": True}
    record = {"switches": switches, "values": {PLATE: "1/8 in", LOSS: "0.3 mm"}, "mounts": None}
    found = wanted(record, pickup)
    assert found.loss == "0.3 mm"
    assert dict(found.variant.edits) == {PLATE: "1/8 in", "wear.1.applied": True}
    assert found.variant.parts is not None
    assert "boxing_cab" not in found.variant.parts
    assert "boxing_rear" in found.variant.parts


def test_what_the_document_says_anyhow_is_no_edit(pickup: Controls) -> None:
    same = {"switches": {"wear.1.applied": False}, "values": {PLATE: "0.3 cm", LOSS: "0 mm"}}
    assert wanted(same, pickup) == wanted({}, pickup)
    assert wanted({}, pickup).variant.edits == ()


def test_all_that_is_wrong_is_told_at_once(pickup: Controls) -> None:
    record = {
        "switches": {"part:none": True, "part:boxing_cab": "yes"},
        "values": {"title": "mine", PLATE: "-3 mm", "section.C150x60.wall": 3.0},
        "mounts": "jelly",
        "fit": [],
    }
    with pytest.raises(DocumentError) as error:
        wanted(record, pickup)
    rules = [c.rule for c in error.value.complaints]
    assert len(rules) == 7
    assert "must be more than nothing" in rules


@pytest.mark.parametrize("record", [None, [], "x", {"values": []}, {"switches": 3}])
def test_what_is_no_table_is_refused(record: object, pickup: Controls) -> None:
    with pytest.raises(DocumentError):
        wanted(record, pickup)


@pytest.mark.parametrize("text", ["", "3", "nan mm", "3 kg", "inf mm", "1e999 mm", "x" * 500])
def test_no_thickness(text: str, pickup: Controls) -> None:
    slider = pickup.slider(PLATE)
    assert slider is not None
    with pytest.raises(DocumentError) as error:
        figure(text, slider)
    assert len(error.value.complaints[0].found) <= 60
