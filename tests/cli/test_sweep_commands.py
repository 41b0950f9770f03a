"""`sweep`, `boxing` and `positions`: tables, files, refusals, and a run that was killed."""

import csv
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from running import Run

STEPS = "rail.wall=3.5mm..5mm/3"


def test_a_table_with_a_refused_value(quick: Run) -> None:
    ran = quick("sweep", "orchard_pickup", "--vary", "rail.wall=4mm,5mm,70mm", "--stress")
    assert ran.code == 0
    lines = ran.out.splitlines()
    assert next(line for line in lines if line.startswith(" 70 mm")).split()[2] == "refused"
    assert next(line for line in lines if line.startswith(" 5 mm")).count("%") == 3
    assert "Refused at rail.wall = 70 mm: " in ran.out
    assert "Joints by quick beam rules, as asked for; 3 variants." in ran.out
    assert "A planning aid, not a certification" in ran.out


def test_json_csv_and_chart_tell_the_same(quick: Run, tmp_path: Path) -> None:
    table, chart = tmp_path / "s.csv", tmp_path / "s.svg"
    ran = quick("sweep", "orchard_pickup", "--vary", STEPS, "--vary", "part.mid_tube=on,off",
                "--json", "--csv", table, "--chart", chart)  # fmt: skip
    assert ran.code == 0
    record = json.loads(ran.out)
    assert record["joints"] == "beam"
    assert record["varied"][1] == {"key": "part.mid_tube", "values": ["on", "off"]}
    assert len(record["rows"]) == 8
    with table.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    for row, told in zip(rows, record["rows"], strict=True):
        assert row["rail.wall"] == told["at"]["rail.wall"]
        assert float(row["steel_kg"]) == told["steel_kg"]
    on, off = (r["twist_stiffness_nm_per_deg"] for r in record["rows"][:2])
    assert on > off
    assert "part.mid_tube" in chart.read_text(encoding="utf-8")


def test_joints_by_the_number_of_variants(plumbrail: Run) -> None:
    many = plumbrail(
        "sweep", "ladder_tubes", "--vary", "crossmember.X3.station=1150mm..1250mm/20", "--json"
    )
    assert json.loads(many.out)["joints"] == "beam"
    few = plumbrail("sweep", "ladder_tubes", "--vary", "crossmember.X3.station=1200mm,1250mm")
    assert "Joints as sheet metal, as for such a study of up to 20 variants: there are 2" in few.out


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("sweep", "orchard_pickup"), "a sweep that is printed varies one key or two"),
        (("sweep", "orchard_pickup", "--vary", "rail.wal=2mm"), '"wal" names nothing'),
        (("sweep", "orchard_pickup", "--vary", STEPS, "--vary", STEPS), "can be varied once"),
        (("boxing", "orchard_pickup"), "more than one part boxes a rail"),
        (("boxing", "orchard_pickup", "boxing_cab", "--length", "3"), "must have a unit"),
        (("boxing", "orchard_pickup", "boxing_cab", "--length", "3 m"), "must fit the free"),
        (("positions", "orchard_pickup", "X2"), 'no crossmember "X2"'),
        (("positions", "ladder_tubes"), "no crossmember has several positions"),
        (("positions", "orchard_pickup", "--scheduler", "nowhere"), "no scheduler answers"),
    ],
)
def test_what_is_refused(
    quick: Run, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], message: str
) -> None:
    monkeypatch.setattr("fea.study.pools.CONNECT", 1.0)
    ran = quick(*words)
    assert ran.code in (1, 2)
    assert message in ran.err
    assert not ran.out
    assert "Traceback" not in ran.err


def test_unknown_joints(plumbrail: Run) -> None:
    assert "unknown joints" in plumbrail("positions", "orchard_pickup", "--joints", "glue").err


def test_boxing(quick: Run, tmp_path: Path, once: Callable[..., None]) -> None:
    once("fea.study.boxing_sweep.boxing_sweep")
    words = ("boxing", "orchard_pickup", "boxing_cab", "--step", "275 mm", "--length", "650 mm")
    chart, table = tmp_path / "b.png", tmp_path / "b.csv"
    ran = quick(*words, "--chart", chart, "--csv", table)
    assert ran.code == 0
    assert "Best place for 650 mm: 950 to 1600 mm" in ran.out
    assert "Beam rules make too much of an end in the open rail" in ran.out
    assert max(len(line) for line in ran.out.splitlines() if "─" in line) <= 110
    assert chart.read_bytes().startswith(b"\x89PNG")
    record = json.loads(quick(*words, "--json").out)
    assert record["best"]["of_length"]["from_mm"] == 950.0
    assert record["best"]["stiffest"]["to_mm"] == 2050.0
    assert record["best"]["per_kilogram"]["ranked"] is True
    with table.open(encoding="utf-8") as file:
        assert len(list(csv.DictReader(file))) == len(record["plates"]) + len(record["of_length"])


def test_positions(quick: Run, tmp_path: Path) -> None:
    chart, table = tmp_path / "p.png", tmp_path / "p.csv"
    ran = quick("positions", "orchard_pickup", "--chart", chart, "--csv", table)
    assert ran.code == 0
    assert "turned" in ran.out
    assert "too little to choose by" in ran.out
    assert max(len(line) for line in ran.out.splitlines() if "─" in line) <= 110
    assert chart.read_bytes().startswith(b"\x89PNG")
    record = json.loads(quick("positions", "orchard_pickup", "X3", "--json").out)
    assert len(record["positions"]) == 16
    first = record["positions"][0]
    assert (first["station_mm"], first["mount_station_mm"]) == (1180.0, 1215.0)
    assert len(first["loads_per_1000_nm_of_twist"]) == 2
    with table.open(encoding="utf-8") as file:
        assert len(list(csv.DictReader(file))) == 16 * 2 * 2


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="killed by a signal")
def test_a_run_that_was_killed_goes_on(quick: Run, tmp_path: Path) -> None:
    kept = tmp_path / "rows.jsonl"
    words = ("sweep", "ladder_tubes", "--vary", "rail.wall=2mm..4mm/59", "--json")
    code = "from fea.cli.app import main; main()"
    run = subprocess.Popen(
        [sys.executable, "-c", code, *words, "--joints", "beam", "--resume", str(kept)],
        stdout=subprocess.DEVNULL,
    )
    for _ in range(3000):
        if kept.exists() and kept.read_bytes().count(b"\n") >= 5:
            break
        time.sleep(0.01)
    os.kill(run.pid, signal.SIGKILL)
    run.wait()
    done = kept.read_bytes().count(b"\n")
    assert 5 <= done < 60
    with kept.open("ab") as file:
        file.write(b'{"input": "torn')
    resumed = quick(*words, "--resume", kept)
    assert resumed.code == 0
    assert kept.read_bytes().count(b"\n") == 60
    assert resumed.out == quick(*words).out
    other = quick("sweep", "harbour_tourer", "--vary", "rail.wall=3mm,4mm", "--resume", kept)
    assert other.code == 2
    assert "of another document, case, setting or version" in other.err
