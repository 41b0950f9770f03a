"""`check`: what a frame document holds."""

import json
import re
from pathlib import Path

import pytest
from handmade import FRAMES, demo
from running import Run

from fea.result.mass import masses


def test_a_frame_without_complaint(process: Run) -> None:
    ran = process("check", "orchard_pickup")
    assert ran.code == 0
    assert ran.err == ""
    for text in (
        "Orchard pickup", "no complaint", "Members", "rail right", "X4", "web and flanges",
        "Parts", "x_member", "left off", "Body mounts", "cab front", "Masses carried",
        "payload", "laden only", "Frame steel", "With all it carries, unladen",
    ):  # fmt: skip
        assert text in ran.out
    for text in ("nan", "None", "Traceback", "\x1b[", "inf N"):
        assert text not in ran.out


@pytest.mark.parametrize("name", FRAMES)
def test_the_json_of_every_shipped_frame(name: str, plumbrail: Run) -> None:
    ran = plumbrail("check", name, "--json")
    assert ran.code == 0
    found, frame = json.loads(ran.out), demo(name)
    assert found["frame"] == name
    assert [m["name"] for m in found["members"]] == [m.name for m in frame.members]
    for row, member in zip(found["members"], frame.members, strict=True):
        assert row["length_mm"] == pytest.approx(member.runs[-1].end)
        ends = {"start", "end"} if member.kind == "crossmember" else set()
        assert set(row["joints"]) == ends
    assert [m["mass_kg"] for m in found["masses"]] == [1000.0 * m.mass for m in frame.masses]
    assert len(found["mounts"]) == len(frame.mounts)
    summary = masses(frame)
    assert found["steel_kg"] == pytest.approx(1000.0 * summary.steel)
    assert found["kerb_kg"] == pytest.approx(1000.0 * summary.kerb)


def test_the_parts_add_up(plumbrail: Run) -> None:
    """Each part's mass alone on the stock frame; these do not touch each other."""
    whole = json.loads(plumbrail("check", "orchard_pickup", "--json").out)
    stock = json.loads(plumbrail("check", "orchard_pickup", "--stock", "--json").out)
    added = sum(p["adds_kg"] for p in whole["parts"] if p["fitted"])
    assert all(p["adds_kg"] > 0.0 for p in whole["parts"])
    assert whole["steel_kg"] == pytest.approx(stock["steel_kg"] + added, rel=1e-9)
    assert not any(p["fitted"] for p in stock["parts"])
    assert [p["adds_kg"] for p in stock["parts"]] == [p["adds_kg"] for p in whole["parts"]]


def test_a_part_switched(plumbrail: Run) -> None:
    ran = plumbrail("check", "orchard_pickup", "--with", "x_member", "--without", "mid_tube")
    assert ran.code == 0
    assert re.search(r"x_member +fitted", ran.out)
    assert re.search(r"mid_tube +left off", ran.out)
    assert "leg A" in ran.out
    assert not re.search(r"^ *X8 ", ran.out, re.MULTILINE)


def test_a_crossmember_bolted_elsewhere(plumbrail: Run) -> None:
    ran = plumbrail("check", "orchard_pickup", "--at", "X3=1180 mm")
    assert re.search(r"X3 +crossmember +1180 ", ran.out)


def test_american_units_first(plumbrail: Run) -> None:
    ran = plumbrail("check", "ladder_tubes", "--units", "us")
    assert re.search(r"rail right +rail +0 +94\.49 in \(2400 mm\)", ran.out)
    assert re.search(r"Frame steel [\d.]+ lb \([\d.]+ kg\)", ran.out)


def test_a_document_of_ones_own(plumbrail: Run, tmp_path: Path) -> None:
    path = tmp_path / "my frame.toml"
    path.write_bytes((Path(demo("ladder_tubes").source)).read_bytes())
    ran = plumbrail("check", path)
    assert ran.code == 0
    assert f"{path}: no complaint." in ran.out


def test_the_document_is_left_as_it_was(plumbrail: Run) -> None:
    path = Path(demo("orchard_pickup").source)
    before = path.read_bytes()
    plumbrail("check", path)
    assert path.read_bytes() == before
