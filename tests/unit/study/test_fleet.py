"""Fleets: plans, rows that are refused, and one file whatever computed it or broke it off."""

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from fea.cli.options import load_cases
from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.errors import DocumentError, FeaError, MissingExtraError
from fea.study import fleet_parquet, fleet_work
from fea.study.engine import Runner
from fea.study.fleet import check_keys, journal_of, run_fleet, shared
from fea.study.fleet_plan import Axis, Plan, axes, plan, read_table
from fea.study.fleet_work import Common
from fea.study.variant import Setting, Variant, measure

pq = pytest.importorskip("pyarrow.parquet")

COMMON = Common(tuple(load_cases(None)))
WALLS = "rail.wall=2mm,70mm,3mm"
"""The second is refused."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with two ladders and two files that are no frames."""
    place = tmp_path_factory.mktemp("frames")
    for name in ("ladder_tubes", "ladder_web_butt"):
        shutil.copy(find_frame(name), place)
    (place / "latin.toml").write_bytes(b"title = 'B\xfccher'\n")
    (place / "notes.toml").write_text('title = "notes"\n', encoding="utf-8")
    return place


def planned(names: list[str], vary: list[str], common: Common = COMMON) -> Plan:
    return plan(names, axes(vary), shared(common))


@pytest.fixture(scope="module")
def whole(folder: Path) -> Plan:
    return planned([str(folder)], [WALLS, "X3.wall=3mm,4mm"])


@pytest.fixture(scope="module")
def one_by_one(whole: Plan, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("out") / "fleet.parquet"
    run_fleet(whole, COMMON, path, Runner(workers=1))
    return path


def rows_of(path: Path) -> list[dict[str, object]]:
    return pq.read_table(path).to_pylist()


class TestPlan:
    def test_the_last_key_changes_fastest(self, whole: Plan) -> None:
        assert (len(whole.sources), whole.n_variants, whole.n_rows) == (4, 6, 24)
        told = [whole.asked(v) for v in range(6)]
        assert told[0] == (("rail.wall", "2 mm"), ("X3.wall", "3 mm"))
        assert [dict(t)["X3.wall"] for t in told] == ["3 mm", "4 mm"] * 3
        assert [dict(t)["rail.wall"] for t in told[::2]] == ["2 mm", "70 mm", "3 mm"]

    def test_fingerprints_tell_all_rows_but_those_not_read(self, whole: Plan) -> None:
        found = [whole.fingerprint(n) for n in range(whole.n_rows)]
        assert [s.path.stem for s in whole.sources][2] == "latin"
        assert set(found[12:18]) == {b""}
        assert len(set(found)) == 19

    def test_everything_shared_is_in_the_fingerprint(self) -> None:
        others = [
            Common(COMMON.cases[:1]),
            Common(COMMON.cases, fit=("a",)), Common(COMMON.cases, leave=("a",)),
            Common(COMMON.cases, stock=True), Common(COMMON.cases, positions=(("X3", 1.0),)),
            Common(COMMON.cases, body="b"), Common(COMMON.cases, mounts="solid"),
            Common(COMMON.cases, sheet_joints=True), Common(COMMON.cases, stress=True),
            Common(COMMON.cases, backend="superlu"),
        ]  # fmt: skip
        assert len({shared(c) for c in (COMMON, *others)}) == len(others) + 1

    def test_a_table_times_a_key(self, tmp_path: Path) -> None:
        table = tmp_path / "t.csv"
        table.write_text("\ufeffrail.wall;part.x\n2mm;on\n\n;off\n", encoding="utf-8")
        assert read_table(table) == Axis(("rail.wall", "part.x"), (("2 mm", "on"), ("", "off")))
        made = plan(["ladder_tubes"], axes(["X3.wall=2mm..3mm/1"], table), "")
        assert made.n_rows == 4
        assert made.asked(3) == (("part.x", "off"), ("X3.wall", "3 mm"))
        assert made.figured["rail.wall"] == ({"2 mm": 2.0}, "mm")
        assert "part.x" not in made.figured

    @pytest.mark.parametrize(
        ("text", "message"),
        [
            ("", "names a key over every column"),
            ("rail.wall,\n2mm,3mm\n", "names a key over every column"),
            ("rail.wall\n", "a line for every variant"),
            ("a,b\n1\n1,2\n1,2,3\n", "a line needs 2 values"),
            ("a,a\n1,2\n", "varied once"),
        ],
    )
    def test_tables_that_are_refused(self, tmp_path: Path, text: str, message: str) -> None:
        table = tmp_path / "t.csv"
        table.write_text(text, encoding="utf-8")
        with pytest.raises(DocumentError, match=message) as refused:
            axes([], table)
        assert len(refused.value.complaints) == (2 if "1,2,3" in text else 1)

    def test_names_that_lead_nowhere_are_told_together(self, tmp_path: Path) -> None:
        with pytest.raises(DocumentError) as refused:
            planned([str(tmp_path), str(tmp_path / "*.toml"), "no_such_frame"], [])
        assert len(refused.value.complaints) == 3

    def test_patterns_and_names_given_twice(self, folder: Path) -> None:
        made = planned([str(folder / "ladder_*.toml"), str(folder / "ladder_tubes.toml")], [])
        assert [s.path.stem for s in made.sources] == ["ladder_tubes", "ladder_web_butt"]

    def test_a_slip_of_the_hand(self) -> None:
        with pytest.raises(DocumentError, match="1 000 000 rows at most"):
            planned(["ladder_tubes"], ["a=1..2/1000", "b=1..2/1000"])

    def test_keys_that_one_document_has_are_enough(self, folder: Path) -> None:
        names = [str(folder / "notes.toml"), str(folder / "ladder_tubes.toml")]
        check_keys(planned(names, [WALLS]))
        with pytest.raises(FeaError, match="rail"):
            check_keys(planned(names[:1], [WALLS]))
        with pytest.raises(DocumentError, match='"wal" names nothing'):
            check_keys(planned(names[1:], ["rail.wal=2mm"]))


class TestRows:
    def test_figures_are_those_of_a_sweep(self, folder: Path, one_by_one: Path) -> None:
        row = rows_of(one_by_one)[5]
        path = folder / "ladder_tubes.toml"
        setting = Setting(read_frame(path), str(path), COMMON.cases)
        alone = measure(setting, Variant.of([], edits={"rail.wall": "3 mm", "X3.wall": "4 mm"}))
        assert (row["document"], row["variant"]) == (str(path), 6)
        assert row["rail.wall"] == "3 mm"
        assert row["rail.wall (mm)"] == 3.0
        assert row["steel_kg"] == pytest.approx(1000.0 * alone.steel, rel=1e-12)
        assert row["bending_stiffness_n_per_mm"] == pytest.approx(alone.bending, rel=1e-9)
        checks = ("residual", "force_balance", "moment_balance", "energy_balance")
        assert all(0.0 <= float(str(row[c])) < 1e-6 for c in checks)
        assert row["solver"] in ("banded", "superlu")

    def test_what_is_refused_is_a_row_that_says_why(self, one_by_one: Path) -> None:
        rows = rows_of(one_by_one)
        assert [r["status"] for r in rows[:12]] == [0, 0, 2, 2, 0, 0] * 2
        assert {r["status"] for r in rows[12:]} == {2}
        assert "thinner than" in str(rows[2]["complaint"])
        assert "UTF-8" in str(rows[12]["complaint"])
        assert all(r["twist_stiffness_nm_per_deg"] is None for r in rows if r["status"])
        assert all(r["complaint"] for r in rows if r["status"])

    def test_what_no_rule_foresaw_is_a_row_too(
        self, folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def slip(*_: object) -> None:
            rule = "a slip of ours"
            raise KeyError(rule)

        monkeypatch.setattr(fleet_work, "solve_variant", slip)
        path = tmp_path / "f.parquet"
        found = run_fleet(planned([str(folder / "ladder_tubes.toml")], []), COMMON, path, Runner(1))
        (row,) = rows_of(path)
        assert (row["status"], found.solved) == (1, 0)
        assert "KeyError: 'a slip of ours'" in str(row["complaint"])

    def test_a_document_changed_meanwhile_is_tried_again(
        self, folder: Path, tmp_path: Path
    ) -> None:
        path, frame = tmp_path / "f.parquet", tmp_path / "mine.toml"
        shutil.copy(folder / "ladder_tubes.toml", frame)
        made = planned([str(frame)], ["rail.wall=2mm"])
        frame.write_text(frame.read_text(encoding="utf-8") + "# so\n", encoding="utf-8")
        run_fleet(made, COMMON, path, Runner(1))
        (row,) = rows_of(path)
        assert "was changed" in str(row["complaint"])
        assert row["fingerprint"] is None
        again = run_fleet(planned([str(frame)], ["rail.wall=2mm"]), COMMON, path, Runner(1))
        assert (again.taken_over, again.computed, again.solved) == (0, 1, 1)


class TestFile:
    def test_what_is_done_is_taken_over(
        self, whole: Plan, one_by_one: Path, tmp_path: Path
    ) -> None:
        path = tmp_path / "f.parquet"
        shutil.copy(one_by_one, path)
        told: list[tuple[int, int]] = []
        found = run_fleet(whole, COMMON, path, Runner(1, told=lambda *n: told.append(n)))
        assert (found.taken_over, found.computed) == (18, 0)
        assert told == [(24, 24)]
        assert path.read_bytes() == one_by_one.read_bytes()
        assert not journal_of(path).exists()

    def test_half_a_fleet_goes_on(self, whole: Plan, one_by_one: Path, tmp_path: Path) -> None:
        """Rows of some variants only, a torn line after them: the same bytes in the end."""
        path = tmp_path / "f.parquet"
        some = planned([str(s.path) for s in whole.sources[:1]], ["rail.wall=2mm", "X3.wall=4mm"])
        run_fleet(some, COMMON, path, Runner(1))
        journal_of(path).write_bytes(b'{"plumbrail fleet": 1}\n["torn')
        found = run_fleet(whole, COMMON, path, Runner(1))
        assert (found.taken_over, found.computed) == (1, 17)
        assert path.read_bytes() == one_by_one.read_bytes()

    def test_equal_variants_are_computed_once(self, folder: Path, tmp_path: Path) -> None:
        told: list[int] = []
        made = planned([str(folder / "ladder_tubes.toml")], ["rail.wall=2mm,2 mm,2mm"])
        run_fleet(made, COMMON, tmp_path / "f.parquet", Runner(1, told=lambda n, _: told.append(n)))
        assert told == [2, 3]
        first, *others = rows_of(tmp_path / "f.parquet")
        assert others == [first | {"variant": 2}, first | {"variant": 3}]

    @pytest.mark.parametrize("suffix", ["", ".unfinished"])
    def test_another_file_is_refused_and_left(
        self, whole: Plan, tmp_path: Path, suffix: str
    ) -> None:
        path = tmp_path / "f.parquet"
        other = path.with_name(path.name + suffix)
        other.write_text("my notes\n", encoding="utf-8")
        with pytest.raises(DocumentError, match="not a f"):
            run_fleet(whole, COMMON, path, Runner(1))
        assert other.read_text(encoding="utf-8") == "my notes\n"

    def test_a_file_that_was_being_written_stays_what_it_was(
        self, whole: Plan, one_by_one: Path, tmp_path: Path
    ) -> None:
        path = tmp_path / "f.parquet"
        shutil.copy(one_by_one, path)

        def broken_off() -> Iterator[dict[str, object]]:
            yield from rows_of(one_by_one)[:3]
            raise KeyboardInterrupt

        with pytest.raises(KeyboardInterrupt):
            fleet_parquet.write(path, fleet_parquet.columns(whole, stress=False), broken_off())
        assert path.read_bytes() == one_by_one.read_bytes()
        assert list(tmp_path.iterdir()) == [path]

    @pytest.mark.skipif(sys.platform == "win32", reason="no lock there")
    def test_two_runs_at_once(self, whole: Plan, tmp_path: Path) -> None:
        import fcntl

        path = tmp_path / "f.parquet"
        with journal_of(path).open("ab") as file:
            fcntl.flock(file, fcntl.LOCK_EX)
            with pytest.raises(DocumentError, match="another run is at work"):
                run_fleet(whole, COMMON, path, Runner(1))

    def test_without_the_library(
        self, whole: Plan, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setitem(sys.modules, "pyarrow", None)
        with pytest.raises(MissingExtraError) as refused:
            run_fleet(whole, COMMON, tmp_path / "f.parquet", Runner(1))
        assert re.fullmatch(r".*plumbrail\[fleet\].*", str(refused.value))
        assert not list(tmp_path.iterdir())


class TestElsewhere:
    @pytest.mark.slow
    def test_two_processes_write_the_same_file(
        self, whole: Plan, one_by_one: Path, tmp_path: Path
    ) -> None:
        run_fleet(whole, COMMON, tmp_path / "f.parquet", Runner(workers=2))
        assert (tmp_path / "f.parquet").read_bytes() == one_by_one.read_bytes()

    @pytest.mark.slow
    def test_a_cluster_writes_the_same_file(
        self, whole: Plan, one_by_one: Path, tmp_path: Path, address: str,
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:  # fmt: skip
        monkeypatch.setattr("fea.study.pools.AHEAD", 3)
        run_fleet(whole, COMMON, tmp_path / "f.parquet", Runner(scheduler=address))
        assert (tmp_path / "f.parquet").read_bytes() == one_by_one.read_bytes()


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="killed by a signal")
def test_a_fleet_that_was_killed_goes_on(folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "f.parquet"
    names = [str(folder / f"{name}.toml") for name in ("ladder_tubes", "ladder_web_butt")]
    vary = "rail.wall=2mm..4mm/11"
    words = ["sweep", *names, "--vary", vary, "--parquet", str(path), "--joints", "beam"]
    start = [sys.executable, "-c", "from fea.cli.app import main; main()", *words]
    run = subprocess.Popen([*start, "--workers", "1"], stdout=subprocess.DEVNULL)
    journal = journal_of(path)
    for _ in range(6000):
        if journal.exists() and journal.read_bytes().count(b"\n") > 6:
            break
        time.sleep(0.01)
    os.kill(run.pid, signal.SIGKILL)
    run.wait()
    assert not path.exists()  # never half
    done = journal.read_bytes().count(b"\n") - 1
    assert 6 <= done < 24
    made = planned(names, [vary])
    again = run_fleet(made, COMMON, path, Runner(workers=1))
    assert (again.taken_over, again.computed, again.solved) == (done, 24 - done, 24)
    assert not journal.exists()
    undisturbed = tmp_path / "g.parquet"
    run_fleet(made, COMMON, undisturbed, Runner(workers=1))
    assert path.read_bytes() == undisturbed.read_bytes()
