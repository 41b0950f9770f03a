"""Survey files: what they may hold, and every slip in them told once, by line and column."""

from math import radians

import pytest
from handmade import demo

from fea.errors import DocumentError
from fea.shop.survey_csv import USUAL, read_survey

HEAD = "[readings]\nkind,from,to,reading,uncertainty\n"


def read(text: str):
    return read_survey(text, "s.csv", demo("orchard_pickup"))


def test_every_kind_of_reading_in_any_unit() -> None:
    found = read(
        "\ufeff# say what you like; even; this\r\n"
        "[units]\r\nlength,in\r\nangle,deg\r\n"
        "[coordinates]\r\npoint,station,height,uncertainty\r\na3 RIGHT,17,,1/16\r\n"
        "[points]\r\nname,side,station,offset,height\r\nP1,both,-520 mm,,\r\n"
        "T,,0 mm,0 mm,500 mm\r\n"
        "[readings]\r\nkind,from,to,reading,uncertainty\r\n"
        "length,P1 left,A3 right,4 ft,1 mm\r\n"
        "level,P1 left,P1 right,-3 mm,\r\n"
        "level,P1 left,P1 right,0.3 deg,0.1 deg\r\n"
        "level,P1 left,P1 right,2 mm/m,1 mm/m\r\n"
        "floor,T,,600 mm,2 mm\r\n"
    )
    by_kind = {(r.kind, r.line): r for r in found.readings}
    kinds = [r.kind for r in found.readings]
    assert kinds == ["station", "length", "level", "tilt", "tilt", "floor"]
    station, length, level, tilt, slope, floor = found.readings
    assert station.value == pytest.approx(431.8)
    assert station.sigma == pytest.approx(25.4 / 16)
    assert length.value == pytest.approx(1219.2)
    assert (level.value, level.sigma, level.assumed) == (-3.0, USUAL["level"], True)
    assert tilt.value == pytest.approx(radians(0.3))
    assert slope.value == pytest.approx(0.002)
    assert floor.value == 600.0
    keys = [p.key for p in found.points]
    assert keys == ["A3 right", "P1 left", "P1 right", "T"]
    at = found.points[1]
    assert (at.station, at.offset, at.height) == (-520.0, -380.0, 520.0)
    assert len(by_kind) == 6


def test_semicolons_and_tabs_do_as_well() -> None:
    for sign in ";\t":
        text = HEAD.replace(",", sign) + f"length{sign}A1 left{sign}A1 right{sign}760 mm"
        assert read(text).readings[0].value == 760.0


@pytest.mark.parametrize(
    ("row", "where", "rule"),
    [
        ("length,A1 left,A1 right,760,1 mm", "line 3, column reading", "must have a unit"),
        ("length,A1 left,A1 right,760 kg,1 mm", "column reading", "not as a mass"),
        ("length,A1 left,A1 left,760 mm,", "column to", "needs two of them"),
        ("length,A1 left,,760 mm,", "column to", "must be filled in"),
        ("length,A1,A1 right,760 mm,", "column from", "needs its side"),
        ("length,Z1 left,A1 right,760 mm,", "column from", "no such point"),
        ("lenght,A1 left,A1 right,760 mm,", "column kind", "unknown kind"),
        ("length,A1 left,A1 right,-760 mm,", "column reading", "longer than nothing"),
        ("length,A1 left,A1 right,760 m,", "column reading", "not be over 20 m"),
        ("length,A1 left,A1 right,760 mm,0 mm", "column uncertainty", "above zero"),
        ("length,A1 left,A1 right,760 mm,1 m", "column uncertainty", "above zero"),
        ("length,A1 left,A1 right,,1 mm", "column reading", "must be filled in"),
        ("floor,A1 left,A1 right,600 mm,", "column to", "one point"),
        ("level,A1 left,A1 right,60 deg,", "column reading", "not so steep"),
        ("level,A1 left,A1 right,3 mm,1 mm,4,5", "column 6", "more cells"),
        ("level,A1 left,A1 right,nan mm,", "column reading", "finite"),
    ],
)
def test_one_message_for_one_slip(row: str, where: str, rule: str) -> None:
    with pytest.raises(DocumentError) as stop:
        read(HEAD + row + "\n")
    (complaint,) = stop.value.complaints
    assert where in complaint.where
    assert "line 3" in complaint.where
    assert rule in complaint.rule


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("", "no reading in this file"),
        ("length,A1 left,A1 right,760 mm", "must stand in a part"),
        ("[reading]\nkind,from\n", "unknown part"),
        ("[readings]\nkind,from,two,reading\n", "unknown column"),
        ("[readings]\nkind,from,from,reading\n", "there once"),
        ("[readings]\nkind,to,reading\n", 'a column "from"'),
        ("[units]\nlength,parsec3\n", "unit"),
        ("[units]\nmass,kg\n", "unknown kind of unit"),
        ("[points]\nname,side,station\nP,top,0 mm\n", "unknown side"),
        ("[points]\nname,side,station\nP,right,99 m\n", "no rail at this station"),
        ("[points]\nname,side,station,offset\nP,right,0 mm,3 mm\n", "go together"),
        ("[points]\nname,side,station\nA1,right,0 mm\n", "must be there once"),
        ("[points]\nname,side,station\nP,,0 mm\n", "needs all three"),
        ("[coordinates]\npoint,station\nA1 right,\n", "no station, offset or height"),
    ],
)
def test_what_is_wrong_with_the_file(text: str, rule: str) -> None:
    with pytest.raises(DocumentError) as stop:
        read(text)
    (complaint,) = stop.value.complaints
    assert rule in complaint.rule
    assert complaint.where.startswith("s.csv")


def test_all_slips_of_a_file_at_once() -> None:
    rows = "length,A1 left,A1 right,76O mm,\nlevel,A1 left,B1 right,3 mm,\nfloor,A1 left,,6,\n"
    with pytest.raises(DocumentError) as stop:
        read(HEAD + rows)
    assert [c.where.split(", ")[1] for c in stop.value.complaints] == ["line 3", "line 4", "line 5"]
