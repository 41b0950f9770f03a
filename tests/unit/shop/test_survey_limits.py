"""Tolerances: practice, classes, one's own; what makes no sense is refused."""

from math import radians

import pytest

from fea.errors import DocumentError
from fea.shop.survey_limits import PRACTICE, Limits, limits


def test_classes_by_nominal_length() -> None:
    found = limits({}, "bf")
    assert found.at("mash", 2500.0) == 6.0
    assert found.at("width", 850.0) == 3.0
    assert found.at("width", 1000.0) == 3.0
    assert found.at("width", 1000.1) == 4.0
    assert found.at("sag", 2500.0) == 6.0
    assert found.at("sag", 120.0) == 1.0
    assert found.at("sidesway", 4500.0) == 8.0
    # Nine millimetres to the metre of a shorter leg between 400 and 1000 mm.
    assert found.at("diamond", 860.0) == pytest.approx(7.74)
    assert found.at("twist", 2900.0) == PRACTICE["twist"]
    assert "not checked against the standard" in found.words
    assert "rows G and H from memory" in limits({}, "AG").words


def test_options_come_after_the_table_and_the_class() -> None:
    found = limits({"twist": "0.4 deg", "width": "2 mm"}, "BF", ["twist=0.1deg", "level_end=off"])
    assert found.at("twist", 1.0) == pytest.approx(radians(0.1))
    assert found.at("width", 860.0) == 2.0
    assert found.at("level_end", 1.0) is None
    assert found.source("width") == "yours"
    assert found.source("mash") == "class B"
    assert Limits().source("mash") == "practice"


@pytest.mark.parametrize(
    ("own", "iso", "options", "rule"),
    [
        ({}, None, ["twist"], "NAME=VALUE"),
        ({}, None, ["twits=0.2deg"], "unknown measure"),
        ({}, None, ["twist=3 mm"], "must be given as an angle"),
        ({}, None, ["width=3"], "must have a unit"),
        ({}, None, ["width=-3 mm"], "sensible"),
        ({}, None, ["width=3 m"], "sensible"),
        ({"sag": "0 mm"}, None, [], "sensible"),
        ({}, "FB", [], "unknown class"),
        ({}, "B", [], "unknown class"),
    ],
)
def test_what_makes_no_sense(own, iso, options, rule) -> None:
    with pytest.raises(DocumentError) as stop:
        limits(own, iso, options)
    (complaint,) = stop.value.complaints
    assert rule in complaint.rule
