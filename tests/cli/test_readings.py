"""What a case reads: in tables, in JSON, and on a single rail without axles."""

import json
import tomllib
from pathlib import Path

import pytest
from running import ROOT, Run

FOLDER = ROOT / "cases" / "sheet_metal"
MEMBER, TWIST = FOLDER / "member_open.toml", FOLDER / "tip_twist.toml"


def words(text: str) -> str:
    return " ".join(text.split())


def test_readings_and_moments_in_the_tables(quick: Run) -> None:
    ran = quick("run", MEMBER, "--case", TWIST)
    assert ran.code == 0, ran.err
    text = words(ran.out)
    assert "Single member, open channel: Tip twist, 100 N m" in text
    assert "tip twist roll 12.94 deg (0.2258 rad)" in text
    assert "tip warping warping 0.0003294 1/mm" in text
    assert "point root centre, roll -100 N m (-73.8 ft lbf)" in text
    assert "point root centre, warping bimoment -64.74 N m2" in text
    assert "root centre, offset" not in text  # round-off is no reaction
    assert "stiffness" not in text
    assert "Traceback" not in ran.err


def test_movements_in_the_tables(quick: Run) -> None:
    case = FOLDER / "tip_force_web.toml"
    assert "tip lift height 1.836 mm (0.07229 in)" in words(
        quick("run", MEMBER, "--case", case).out
    )
    shown = words(quick("run", MEMBER, "--case", case, "--units", "us").out)
    assert "tip lift height 0.07229 in (1.836 mm)" in shown


def test_readings_in_the_json(quick: Run) -> None:
    force = FOLDER / "tip_force_web.toml"
    ran = quick("run", MEMBER, "--case", TWIST, "--case", force, "--json")
    twist, lift = json.loads(ran.out)["cases"]
    assert twist["readings"] == [
        {"name": "tip twist", "motion": "roll", "side": "centre", "unit": "rad",
         "value": pytest.approx(0.22583, rel=1e-4)},
        {"name": "tip warping", "motion": "warping", "side": "centre", "unit": "1/mm",
         "value": pytest.approx(3.2935e-4, rel=1e-4)},
    ]  # fmt: skip
    assert [(r["name"], r["unit"]) for r in lift["readings"]] == [
        ("tip lift", "mm"), ("tip twist", "rad")
    ]  # fmt: skip
    borne = {r["place"]: r for r in twist["reactions"]}
    assert borne["point root centre, roll"]["moment_nm"] == pytest.approx(-100.0)
    assert borne["point root centre, warping"]["bimoment_nm2"] == pytest.approx(-64.74, rel=1e-4)
    assert set(borne["point root centre, height"]) == {"place", "force_n"}
    assert "profile" not in twist
    assert twist["bays"] == []


def test_readings_are_one_a_side_and_stand_beside_the_stock_frames(
    quick: Run, tmp_path: Path
) -> None:
    text = (ROOT / "cases" / "twist.toml").read_text(encoding="utf-8")
    read = '[[read]]\nname = "front turn"\naxle = "front"\nmotion = "pitch"\n'
    case = tmp_path / "twist_read.toml"
    case.write_text(text + read, encoding="utf-8")
    ran = quick("run", "ladder_flange_welded_boxed", "--case", case)
    assert ran.code == 0, ran.err
    lines = [words(line) for line in ran.out.splitlines() if "front turn" in line]
    assert [line.split(" pitch ")[0] for line in lines] == ["front turn, right", "front turn, left"]
    assert all(line.count("rad)") == 2 for line in lines)
    ran = quick("run", "ladder_flange_welded_boxed", "--case", case, "--json")
    right, left = json.loads(ran.out)["cases"][0]["readings"]
    assert (right["side"], left["side"]) == ("right", "left")
    assert right["value"] == pytest.approx(-left["value"], rel=1e-6)


def test_a_case_without_reads_has_none(quick: Run) -> None:
    ran = quick("run", "ladder_tubes", "--case", "twist", "--json")
    assert json.loads(ran.out)["cases"][0]["readings"] == []
    assert "Readings" not in quick("run", "ladder_tubes", "--case", "twist").out


def test_a_single_rail_is_checked_and_viewed(plumbrail: Run, tmp_path: Path) -> None:
    assert plumbrail("check", MEMBER).code == 0
    page = tmp_path / "member.html"
    ran = plumbrail("view", MEMBER, "--case", TWIST, "--html", page)
    assert ran.code == 0, ran.err
    text = page.read_text(encoding="utf-8")
    assert "clamped" in text
    assert "moment 100 N m" in text


def test_a_turned_support_is_viewed(plumbrail: Run, tmp_path: Path) -> None:
    text = TWIST.read_text(encoding="utf-8").split("[[push]]")[0]
    case, page = tmp_path / "turned.toml", tmp_path / "turned.html"
    turned = '[[hold]]\npoint = "tip"\nmotion = "yaw"\nvalue = "0.5 deg"\n'
    case.write_text(text + turned, encoding="utf-8")
    ran = plumbrail("view", MEMBER, "--case", case, "--html", page)
    assert ran.code == 0, ran.err
    assert "turned 0.500 deg" in page.read_text(encoding="utf-8")


def test_a_single_rail_as_sheet_metal(plumbrail: Run) -> None:
    member = FOLDER / "member_part_boxed_root.toml"
    ran = plumbrail("run", member, "--case", TWIST, "--joints", "sheet", "--json")
    assert ran.code == 0, ran.err
    (found,) = json.loads(ran.out)["cases"]
    assert found["readings"][0]["value"] == pytest.approx(0.0745, rel=0.05)  # by thin shells
    assert found["joint_stress"]


def test_a_single_rail_has_no_twist_case(quick: Run) -> None:
    ran = quick("run", MEMBER)
    assert ran.code == 2
    assert ran.out == ""
    assert "needs a front and a rear axle" in ran.err


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.toml")), ids=lambda p: p.stem)
def test_the_schema_takes_the_documents(path: Path, plumbrail: Run) -> None:
    jsonschema = pytest.importorskip("jsonschema")
    kind = "case" if path.stem.startswith("tip_") else "frame"
    schema = json.loads(plumbrail("schema", kind).out)
    jsonschema.validate(tomllib.loads(path.read_text(encoding="utf-8")), schema)
