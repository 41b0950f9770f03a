"""`plumbrail clearance` and `plumbrail cutlist`: what they print and write."""

import csv
import json
from pathlib import Path

import pytest
from running import ROOT, Run


def test_clearance_of_the_pickup(plumbrail: Run) -> None:
    ran = plumbrail("clearance", "orchard_pickup", "--all")
    assert ran.code == 0
    assert ran.err == ""
    said = " ".join(ran.out.split())
    for text in (
        "X4 propeller shaft 28.8 25 clear 2008 0 525 +90",
        "X3 exhaust 16.5 15 clear",
        "X4 is arched by 110 mm over 260 mm",
        "its stiffness is that of a straight one",
        "local codes",
    ):
        assert text in said
    assert max(map(len, ran.out.splitlines())) <= 110


def test_clearance_of_the_tourer(plumbrail: Run) -> None:
    stock = plumbrail("clearance", "harbour_tourer", "--stock")
    assert "Y3 twin exhaust right -48.2 15 overlap" in " ".join(stock.out.split())
    assert max(map(len, stock.out.splitlines())) <= 110
    added = json.loads(plumbrail("clearance", "harbour_tourer", "--json").out)
    assert not any(one["metal"] == "Y3" for one in added["clearances"])
    worst = added["clearances"][0]
    assert worst["status"] == "overlap"
    assert worst["least_mm"] < 0.0


@pytest.mark.picture
def test_the_picture_of_clearances(plumbrail: Run, tmp_path: Path) -> None:
    path = tmp_path / "clear.png"
    ran = plumbrail("clearance", "orchard_pickup", "--all", "--png", path)
    assert ran.code == 0
    assert path.read_bytes().startswith(b"\x89PNG")
    assert f"Wrote {path}." in ran.out


def test_a_frame_that_tells_of_nothing(plumbrail: Run) -> None:
    ran = plumbrail("clearance", "ladder_tubes")
    assert ran.code == 2
    assert "[[shaft]]" in ran.err


def test_the_cut_list(plumbrail: Run, tmp_path: Path) -> None:
    table, folder = tmp_path / "cuts.csv", tmp_path / "flat"
    ran = plumbrail("cutlist", "orchard_pickup", "--csv", table, "--dxf", folder, "--svg", folder)
    assert ran.code == 0
    assert ran.err == ""
    assert max(len(line) for line in ran.out.splitlines() if "Wrote" not in line) <= 110
    assert "turn over for the left rail" in ran.out
    assert sorted(p.suffix for p in folder.iterdir()) == [".dxf"] * 6 + [".svg"] * 6
    with table.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    record = json.loads(plumbrail("cutlist", "orchard_pickup", "--json").out)
    assert len(rows) == len(record["pieces"]) == 8
    for row, piece in zip(rows, record["pieces"], strict=True):
        assert float(row["mass_kg"]) == pytest.approx(piece["mass_kg"], abs=1e-4)


def test_walls_are_told_to_a_hundredth_and_by_their_gauge(plumbrail: Run, tmp_path: Path) -> None:
    source = (ROOT / "models" / "orchard_pickup.toml").read_text(encoding="utf-8")
    frame, table = tmp_path / "gauges.toml", tmp_path / "cuts.csv"
    frame.write_text(source.replace('plate = "3 mm"', 'plate = "8 ga"'), encoding="utf-8")
    ran = plumbrail("cutlist", frame, "--csv", table, "--svg", tmp_path)
    assert ran.code == 0, ran.err
    assert "4.18 mm (8 ga)" in ran.out
    assert "2.6 mm" in ran.out  # as measured: no gauge is so thick
    assert "4.1757" not in ran.out + table.read_text(encoding="utf-8")
    assert ",4.18," in table.read_text(encoding="utf-8")
    drawing = next(tmp_path.glob("*boxing*.svg")).read_text(encoding="utf-8")
    assert "off, 4.18 mm (8 ga), plate" in drawing


def test_no_parts_to_cut(plumbrail: Run) -> None:
    ran = plumbrail("cutlist", "orchard_pickup", "--stock")
    assert ran.code == 0
    assert "No part is fitted that needs cutting." in ran.out


def test_the_arch_changes_no_stiffness(quick: Run, tmp_path: Path) -> None:
    text = (ROOT / "models" / "orchard_pickup.toml").read_text(encoding="utf-8")
    arch = 'arch = { height = "110 mm", width = "260 mm" }\n'
    assert text.count(arch) == 1
    straight = tmp_path / "orchard_pickup.toml"
    straight.write_text(text.replace(arch, ""), encoding="utf-8")
    kept, left = (
        json.loads(quick("run", name, "--case", "twist", "--json").out)
        for name in ("orchard_pickup", straight)
    )
    for record in (kept, left):
        for key in ("source", "file"):
            record.pop(key, None)
    assert _numbers(kept) == _numbers(left)


def _numbers(value: object) -> list[float]:
    if isinstance(value, dict):
        return [n for inner in value.values() for n in _numbers(inner)]
    if isinstance(value, list):
        return [n for inner in value for n in _numbers(inner)]
    return [value] if isinstance(value, float) else []
