"""Readings from a spreadsheet: what they mean, and every way to get them wrong."""

import pytest
from stand_test import HEAD, table

from fea.errors import DocumentError
from fea.frame.case import Place
from fea.study.fit_csv import read_readings
from fea.study.fit_readings import GRAVITY, cases

ROW = "40 kg,1200 mm right,G1,right,460 mm,up,-0.42 mm,0.02 mm"


def test_a_row_means_a_push_and_a_reading() -> None:
    found = read_readings(f'# a "quoted" remark\n{HEAD}\n{ROW}\n', "x.csv")
    (load,) = found.loads
    assert load.force == pytest.approx(0.04 * GRAVITY)
    # On the right arm the weight presses the right side down: a couple that lifts the left.
    assert load.couple == pytest.approx(-0.04 * GRAVITY * 1200.0)
    (taken,) = found.taken
    assert (taken.value, taken.uncertainty, taken.line) == (-0.42, 0.02, 3)
    (gauge,) = found.gauges
    assert gauge.place == Place(station=460.0, side="right")
    assert (gauge.motion, gauge.sign) == ("height", 1.0)
    (case,) = cases(found.setup, found.gauges, found.loads, "x")
    assert case.pushes[0].force == pytest.approx((0.0, 0.0, -load.force))
    assert [h.motion for h in case.holds] == ["height", "height", "station", "offset", "offset"]


def test_semicolons_and_tabs_and_empty_cells_do_as_well() -> None:
    plain = read_readings(table(), "x.csv")
    for sign in (";", "\t"):
        text = "".join(f"{line}{sign}{sign}\r\n" for line in table().replace(",", sign).split("\n"))
        assert read_readings(text, "x.csv").taken == plain.taken


def test_a_couple_forces_in_pounds_and_directions() -> None:
    text = (
        "[test]\ncouple at,-520 mm\npivot at,front axle\nstands at,A9\n[readings]\n"
        "couple,load,arm,gauge,side,station,direction,reading\n"
        "-300 N m,,,G1,left,A4,down,1/32 in\n"
        ",90 lbf,48 in left,G2,left,A4,side,0.1 mm\n"
    )
    found = read_readings(text, "x.csv")
    assert found.setup.couple_at == Place(station=-520.0)
    assert found.setup.pivot_at == Place(axle="front")
    assert found.setup.stands_at == Place(point="A9")
    assert found.loads[0].couple == -300e3
    assert found.loads[1].couple == pytest.approx(90 * 4.4482216 * 48 * 25.4)
    assert [g.sign for g in found.gauges] == [-1.0, 1.0]
    assert found.taken[0].value == pytest.approx(0.79375)
    assert found.taken[0].uncertainty is None


def bad_row(**cells: str) -> str:
    names = HEAD.split(",")
    row = dict(zip(names, ROW.split(","), strict=True)) | cells
    return f"{HEAD}\n{','.join(row[n] for n in names)}\n"


@pytest.mark.parametrize(
    ("text", "rule", "where"),
    [
        ("", "there is no reading", "x.csv"),
        (f"{HEAD}\n", "there is no reading", "x.csv"),
        ("load,arm,gauge,side,station,direction\n", 'a column "reading"', "line 1"),
        ("gauge,side,station,direction,reading\n", "columns load and arm", "line 1"),
        (HEAD.replace("arm", "lever") + "\n", "unknown column", "line 1, column lever"),
        (HEAD.replace("arm", "load") + "\n", "must be there once", "line 1, column load"),
        ("[tset]\n", "unknown part", "line 1"),
        ("[test]\ncouple,front axle\n", "unknown line of the test", "line 2"),
        ("[test]\ncouple at\n", "needs a place", "line 2"),
        ("[test]\nstands at,23 kg\n", "must be given as a length", "line 2"),
        ("[test]\nstands at,A1\nstands at,A2\n", "must be told once", "line 3"),
        (bad_row(load="forty kg"), "must be a number with a unit", "line 2, column load"),
        (bad_row(load="40"), "must have a unit of mass or force", "line 2, column load"),
        (bad_row(load="40 mm"), "must be given as", "line 2, column load"),
        (bad_row(load="-40 kg"), "must not be negative", "line 2, column load"),
        (bad_row(load=""), "must be filled in", "line 2, column load"),
        (bad_row(arm="1200 mm"), "and the side it is on", "line 2, column arm"),
        (bad_row(arm="-1200 mm right"), "longer than nothing", "line 2, column arm"),
        (bad_row(arm="1200 kg right"), "must be given as a length", "line 2, column arm"),
        (bad_row(gauge=""), "must be filled in", "line 2, column gauge"),
        (bad_row(side="top"), "unknown side", "line 2, column side"),
        (bad_row(direction="north"), "unknown direction", "line 2, column direction"),
        (bad_row(station="46o mm"), "must", "line 2, column station"),
        (bad_row(station="front axle"), "a gauge stands at a rail", "line 2, column station"),
        (bad_row(reading="0.42"), "must have a unit", "line 2, column reading"),
        (bad_row(reading="nan mm"), "must be a finite number", "line 2, column reading"),
        (bad_row(reading="0.42 m"), "must not be over 100 mm", "line 2, column reading"),
        (bad_row(uncertainty="0 mm"), "must be above zero", "line 2, column uncertainty"),
        (bad_row(uncertainty="0.02 mm,,5"), "more cells than", "line 2"),
        (bad_row() + ROW.replace("460", "470") + "\n", "must stand where", "line 3, column gauge"),
        ("load,couple,arm,gauge,side,station,direction,reading\n"
         "40 kg,3 N m,1 m left,G,left,0 mm,up,0 mm\n", "either load and arm", "column couple"),
    ],
)  # fmt: skip
def test_bad_files(text: str, rule: str, where: str) -> None:
    with pytest.raises(DocumentError) as error:
        read_readings(text, "x.csv")
    told = error.value.complaints
    assert any(rule in c.rule and where in c.where for c in told), str(error.value)


def test_all_complaints_at_once() -> None:
    text = bad_row(load="x", reading="y") + ROW.replace("up", "north") + "\n"
    with pytest.raises(DocumentError) as error:
        read_readings(text, "x.csv")
    assert [c.where for c in error.value.complaints] == [
        "x.csv, line 2, column load",
        "x.csv, line 2, column reading",
        "x.csv, line 3, column direction",
    ]
