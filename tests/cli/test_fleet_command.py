"""`fleet`: what it prints, writes and refuses."""

import json
import sys
from pathlib import Path

import pytest
from running import Run

WORDS = ("sweep", "ladder_tubes", "ladder_web_butt", "--vary", "X3.wall=3mm,70mm")


@pytest.fixture
def out(tmp_path: Path) -> Path:
    pytest.importorskip("pyarrow")
    return tmp_path / "fleet.parquet"


def test_the_account_and_what_is_there_already(quick: Run, out: Path, tmp_path: Path) -> None:
    table = tmp_path / "variants.csv"
    table.write_text("rail.wall\n3mm\n4mm\n", encoding="utf-8")
    ran = quick(*WORDS, "--table", table, "--parquet", out, "--stress")
    assert ran.code == 0
    assert "2 documents, 4 variants each: 8 rows." in ran.out
    assert "4 solved, 0 not solved, 4 refused." in ran.out
    assert "first at ladder_tubes: rail.wall = 3 mm, X3.wall = 70 mm: wall must be" in ran.out
    assert "A planning aid, not a certification" in ran.out
    assert max(len(line) for line in ran.out.splitlines() if "─" in line) <= 110
    record = json.loads(quick(*WORDS, "--table", table, "--parquet", out, "--stress", "--json").out)
    assert (record["rows"], record["taken_over"], record["computed"]) == (8, 8, 0)
    assert (record["solved"], record["refused"], record["not_solved"]) == (4, 4, 0)
    assert sum(c["rows"] for c in record["complaints"]) == 4
    most = record["figures"]["steel_kg"]["most"]
    assert most["at"]["values"] == {"rail.wall": "4 mm", "X3.wall": "3 mm"}
    import pyarrow.parquet as pq

    rows = pq.read_table(out).to_pylist()
    assert max(r["steel_kg"] or 0.0 for r in rows) == most["value"]
    assert all((r["highest_stress_mpa"] is None) == (r["status"] == 2) for r in rows)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("ladder_tubes", "--vary", "rail.wal=2mm"), '"wal" names nothing'),
        (("ladder_tubes", "no_such_frame"), "there is no such frame"),
        (("ladder_tubes", "--vary", "rail.wall"), "is written KEY=FROM..TO"),
        (("ladder_tubes", "--table", "no_such.csv"), "there is no such file"),
    ],
)
def test_what_is_refused(quick: Run, out: Path, words: tuple[str, ...], message: str) -> None:
    ran = quick("sweep", *words, "--parquet", out)
    assert ran.code == 2
    assert message in ran.err
    assert not ran.out
    assert not list(out.parent.iterdir())


def test_where_every_row_is_refused(quick: Run, out: Path) -> None:
    ran = quick("sweep", "ladder_tubes", "--vary", "X3.wall=70mm", "--parquet", out)
    assert ran.code == 1
    assert "0 solved, 0 not solved, 1 refused." in ran.out
    assert out.exists()


def test_without_pyarrow(quick: Run, out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    ran = quick(*WORDS, "--parquet", out)
    assert ran.code == 1
    assert ran.err == 'a fleet writes Parquet files: pip install "plumbrail[fleet]"\n'


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("ladder_tubes", "ladder_web_butt", "--vary", "rail.wall=3mm,4mm"), "one document"),
        (("ladder_tubes", "--table", "rows.csv"), "a table of variants makes a file"),
    ],
)
def test_many_rows_need_a_file(quick: Run, words: tuple[str, ...], message: str) -> None:
    ran = quick("sweep", *words)
    assert ran.code == 2
    assert message in ran.err
    assert "--parquet" in ran.err


def test_what_only_a_printed_sweep_makes(quick: Run, out: Path) -> None:
    ran = quick(*WORDS, "--parquet", out, "--csv", "rows.csv")
    assert ran.code == 2
    assert "does not go with --parquet" in ran.err
    assert not list(out.parent.iterdir())
