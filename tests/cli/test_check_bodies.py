"""`check`: bodies, the mounts as they stand, and ties."""

import json
import re
from pathlib import Path

import pytest
from handmade import demo
from running import Run

from fea.frame.mounts import effective


def test_bodies_and_ties_in_tables(plumbrail: Run) -> None:
    ran = plumbrail("check", "harbour_tourer")
    assert ran.code == 0
    assert re.search(r"^ body +open +M1 M2 M4 M5 M6 M7 +1200 N m/deg .* 2000 N/mm", ran.out, re.M)
    assert re.search(r"^ body +closed +M1 M2 .* 4500 N m/deg .* 5000 N/mm", ran.out, re.M)
    assert re.search(r"sill link right +left off +rail right +1400 +brace 1400 of body", ran.out)


def test_a_body_of_several_kinds_is_listed_once(plumbrail: Run) -> None:
    ran = plumbrail("check", "orchard_pickup")
    assert re.search(r"^ load bed +open, closed +M4 M5 M6 ", ran.out, re.M)
    assert len(re.findall(r"^ load bed +open", ran.out, re.M)) == 1
    assert "Ties" not in ran.out


def test_a_frame_without_bodies_or_mounts(plumbrail: Run) -> None:
    ran = plumbrail("check", "ladder_tubes")
    for text in ("Bodies", "Ties", "as they stand"):
        assert text not in ran.out
    found = json.loads(plumbrail("check", "ladder_tubes", "--json").out)
    assert found["bodies"] == []
    assert found["ties"] == []


def test_grade_and_state_of_mounts(plumbrail: Run, tmp_path: Path) -> None:
    text = Path(demo("harbour_tourer").source).read_text(encoding="utf-8")
    own = 'vertical = "500 N/mm"\nlateral = "200 N/mm"\ncarries = "cowl'
    assert text.count(own) == 1
    path = tmp_path / "tourer.toml"
    path.write_text(
        text.replace(own, 'grade = "urethane"\nstate = "worn"\ncarries = "cowl'), encoding="utf-8"
    )
    ran = plumbrail("check", path)
    assert re.search(r"M2 right +urethane +worn +750 N/mm .* 300 N/mm", ran.out)
    assert re.search(r"M1 right +its own figures +good +500 N/mm", ran.out)
    mounts = json.loads(plumbrail("check", path, "--json").out)["mounts"]
    worn = [m for m in mounts if m["name"] == "M2"]
    assert {(m["side"], m["grade"], m["state"]) for m in worn} == {
        ("right", "urethane", "worn"),
        ("left", "urethane", "worn"),
    }
    for mount in worn:
        assert mount["stiffness_n_per_mm"] == [600.0, 600.0, 1500.0]
        assert mount["holds_n_per_mm"] == [300.0, 300.0, 750.0]


def test_the_json_of_bodies_and_ties(plumbrail: Run) -> None:
    found = json.loads(plumbrail("check", "harbour_tourer", "--json").out)
    assert [body["kinds"] for body in found["bodies"]] == [["open"], ["closed"]]
    assert [body["twist_nm_per_deg"] for body in found["bodies"]] == pytest.approx([1200.0, 4500.0])
    assert [body["bending_n_per_mm"] for body in found["bodies"]] == [2000.0, 5000.0]
    assert {"name": "M2", "side": "left"} in found["bodies"][0]["mounts"]
    right, left = found["ties"]
    assert (right["name"], right["side"], right["fitted"]) == ("sill link", "right", False)
    assert right["frame_point_mm"] == [1400.0, 690.0, 335.0]
    assert left["body_point_mm"] == [1400.0, -560.0, 360.0]
    held = [m["holds_n_per_mm"] for m in found["mounts"]]
    assert held == [list(effective(m)) for m in demo("harbour_tourer").mounts]


def test_a_mount_of_a_part_holds_the_body_too(plumbrail: Run) -> None:
    ran = plumbrail("check", "harbour_tourer", "--with", "mid_mounts")
    assert re.search(r"^ body +open +M1 M2 M3 M4 M5 M6 M7 ", ran.out, re.M)
