"""`plumbrail survey`: what it prints, writes and refuses."""

import csv
import json
import re
from pathlib import Path

import pytest
from running import ROOT, Run

TWISTED = ROOT / "models" / "survey_orchard_pickup_twisted.csv"
GOOD = ROOT / "models" / "survey_orchard_pickup_good.csv"


def test_a_twisted_frame_and_a_slip_of_the_tape(plumbrail: Run) -> None:
    ran = plumbrail("survey", "orchard_pickup", TWISTED)
    assert ran.code == 0
    said = re.sub(r"\s+", " ", ran.out)
    assert "Verdict: straighten first: twist 0.36 ± 0.06 deg" in said
    assert "front right high" in said
    assert "The length A2 left to A9 right (line 43) is off by about 25 mm" in said
    assert "read it again" in said
    for text in ("common practice, no source", "rest it on three", "local codes"):
        assert text in said
    assert max(map(len, ran.out.splitlines())) <= 110


def test_a_good_frame_and_tolerances_of_ones_own(plumbrail: Run, tmp_path: Path) -> None:
    assert "Verdict: weld." in plumbrail("survey", "orchard_pickup", GOOD).out
    tight = plumbrail("survey", "orchard_pickup", GOOD, "--tolerance", "width=0.1mm")
    assert "measure again: width at A2 cannot be told" in tight.out
    assert "* your own tolerance" in tight.out
    table = tmp_path / "t.toml"
    table.write_text('[survey]\nwidth = "0.1 mm"\n', encoding="utf-8")
    also = plumbrail("survey", "orchard_pickup", GOOD, "--tolerances", table)
    assert "measure again: width" in also.out
    iso = plumbrail("survey", "orchard_pickup", GOOD, "--iso", "BF")
    assert "class BF" in iso.out
    assert "Verdict: weld." in iso.out


def test_json_and_the_fitted_points(plumbrail: Run, tmp_path: Path) -> None:
    path = tmp_path / "fitted.csv"
    ran = plumbrail("survey", "orchard_pickup", TWISTED, "--json", "--fitted", path)
    found = json.loads(ran.out)
    assert found["verdict"].startswith("straighten first")
    twist = next(m for m in found["measures"] if m["measure"] == "twist")
    assert abs(twist["value_deg"] - 0.35) < twist["band_deg"]
    assert twist["status"] == "fail"
    (slip,) = found["slips"]
    assert slip["readings"][0]["line"] == 43
    assert sum(not r["used"] for r in found["readings"]) == 1
    with path.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert [r["point"] for r in rows] == [p["point"] for p in found["points"]]
    for row, point in zip(rows, found["points"], strict=True):
        assert float(row["height_mm"]) == pytest.approx(point["height_mm"], abs=1e-3)
        assert float(row["height_off_mm"]) == pytest.approx(point["height_off_mm"], abs=1e-3)


def test_the_form_to_print_is_whole_and_escaped(plumbrail: Run, tmp_path: Path) -> None:
    text = (ROOT / "models" / "orchard_pickup.toml").read_text(encoding="utf-8")
    evil = "<script>alert(1)</script>"
    text = text.replace('title = "Orchard pickup"', f'title = "{evil}"', 1)
    text = text.replace('name = "A1"', 'name = "A1<b>"', 1)
    frame, form = tmp_path / "f.toml", tmp_path / "form.html"
    frame.write_text(text, encoding="utf-8")
    ran = plumbrail("survey", frame, "--sheet", form)
    assert ran.code == 0
    page = form.read_text(encoding="utf-8")
    assert evil not in page
    assert "&lt;script&gt;" in page
    assert "A1<b>" not in page
    assert "http" not in page.replace("http-equiv", "")
    for words in ("A11 left", "4641", "Lengths", "Never a jack alone", "local codes"):
        assert words in page
    ran = plumbrail("survey", frame, "--sheet", form, "--json")
    assert {r["kind"] for r in json.loads(ran.out)["readings"]} == {
        "length", "level", "floor", "offset"
    }  # fmt: skip


@pytest.mark.picture
def test_the_picture(plumbrail: Run, tmp_path: Path) -> None:
    path = tmp_path / "s.svg"
    assert plumbrail("survey", "orchard_pickup", TWISTED, "--png", path).code == 0
    assert path.read_text(encoding="utf-8").count("<path") > 50


@pytest.mark.parametrize(
    ("words", "text"),
    [
        (("orchard_pickup",), "takes either what was measured, or --sheet"),
        (("orchard_pickup", "missing.csv"), "there is no such file"),
        (("orchard_pickup", GOOD, "--tolerance", "width=3"), "must have a unit"),
        (("orchard_pickup", GOOD, "--iso", "ZZ"), "unknown class"),
        (("harbour_tourer", GOOD), "there is no such point"),
    ],
)
def test_what_is_refused(plumbrail: Run, words: tuple[object, ...], text: str) -> None:
    ran = plumbrail("survey", *words)
    assert ran.code == 2
    assert text in ran.err
    assert "Traceback" not in ran.err
    assert ran.out == ""


def test_tolerances_of_a_file_that_are_not_text(plumbrail: Run, tmp_path: Path) -> None:
    table = tmp_path / "t.toml"
    for text, rule in (
        ("[survey]\nwidth = 3\n", "width must be text"),
        ("[other]\n", "no table [survey]"),
        ("[survey\n", "not valid TOML"),
    ):
        table.write_text(text, encoding="utf-8")
        ran = plumbrail("survey", "orchard_pickup", GOOD, "--tolerances", table)
        assert ran.code == 2
        assert rule in ran.err
