"""`plumbrail welds`: what it prints, writes and refuses."""

import csv
import json
import re
from pathlib import Path

import pytest
from running import Run

SMALL = ("welds", "harbour_tourer", "--parts", "cross_box", "--parts", "boxing_side",
         "--run", "350 mm")  # fmt: skip


def test_tables_schedule_and_cautions(plumbrail: Run, tmp_path: Path) -> None:
    table = tmp_path / "w.csv"
    ran = plumbrail(*SMALL, "--csv", table, "--all")
    assert ran.code == 0, ran.err
    said = re.sub(r"\s+", " ", ran.out)
    names = ("one side first", "end to end", "equal and opposite", "back-step", "searched")
    for text in (*names, "Straightest:", "Blodgett", "from memory", "an estimate", "fuel tank",
                 "battery", "jack", "licensed welder", "local codes", "kJ"):  # fmt: skip
        assert text in said
    assert max(map(len, ran.out.splitlines())) <= 110
    rows = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))
    assert [int(r["number"]) for r in rows] == list(range(1, len(rows) + 1))
    assert {r["part"] for r in rows} == {"cross_box", "boxing_side"}
    seams = sum(float(r["weld_mm"]) for r in rows if "seam" in r["run"])
    assert seams == pytest.approx(4 * 1050.0, abs=1.0)


def test_json_and_the_order_asked_for(plumbrail: Run) -> None:
    ran = plumbrail(*SMALL, "--json", "--order", "end to end", "--process", "tig")
    record = json.loads(ran.out)
    assert record["schedule"]["order"] == "end to end"
    assert record["process"] == "tig"
    assert len(record["schedule"]["steps"]) == record["runs"]
    orders = {o["name"]: o for o in record["orders"]}
    best = orders[record["best"]]
    assert best["off_mm"] == min(o["off_mm"] for o in orders.values())
    for o in orders.values():
        low, high = o["off_band_mm"]
        assert 0.0 < low < high
        assert not (o["clearly_worse"] and o["best_is_straighter_in"] < 0.95)
    starts = [s["start_s"] for s in record["schedule"]["steps"]]
    assert starts == sorted(starts)


def test_what_is_not_a_part_of_the_job_is_welded_already(plumbrail: Run) -> None:
    record = json.loads(plumbrail("welds", "harbour_tourer", "--parts", "cross_box", "--json").out)
    assert record["parts"] == ["cross_box"]
    assert {s["member"] for s in record["schedule"]["steps"]} == {"Y7"}


@pytest.mark.picture
def test_the_drawing(plumbrail: Run, tmp_path: Path) -> None:
    png = tmp_path / "w.png"
    assert plumbrail(*SMALL, "--png", png).code == 0
    assert png.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--run", "2 mm", "--tack", "3"), ("10 mm to 1000 mm", "0.01 to 1")),
        (("--process", "glue", "--order", "any"), ("unknown process", "unknown order")),
        (("--leg", "x"), ("--leg",)),
        (("--parts", "mid_mounts"), ("boxing plate or a welded crossmember",)),
        (("--parts", "no_such"), ("no_such",)),
    ],
)
def test_refusals(plumbrail: Run, words: tuple[str, ...], said: tuple[str, ...]) -> None:
    ran = plumbrail("welds", "harbour_tourer", *words)
    assert ran.code == 2
    for text in said:
        assert text in ran.err
    assert "Traceback" not in ran.err
