"""Many variants: the same rows whatever runs them, whoever dies, and wherever it stopped."""

import json
import sys
from pathlib import Path

import deadly
import pytest

from fea.cli.options import load_cases
from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.errors import DocumentError, FeaError, MissingExtraError, SolveError
from fea.study.engine import Row, Runner, run
from fea.study.ledger import input_fingerprint
from fea.study.sweep import plain, stressed
from fea.study.variant import Setting, Variant, measure

if sys.platform == "win32":
    pytest.skip("processes are killed by a signal", allow_module_level=True)

WALLS = ("3.5 mm", "4 mm", "4.5 mm", "70 mm", "5 mm", "5.5 mm")
"""Of the rails; the fourth is refused: rust leaves more than that."""

ALL = [Variant.of(edits={"rail.wall": wall}) for wall in WALLS]


@pytest.fixture(scope="module")
def setting() -> Setting:
    document = read_frame(find_frame("ladder_tubes"))
    return Setting(document, "ladder", tuple(load_cases(None)))


@pytest.fixture(scope="module")
def one_by_one(setting: Setting) -> list[Row]:
    return run(setting, ALL, stressed, Runner(workers=1))


def with_source(setting: Setting, path: Path) -> Setting:
    return Setting(setting.document, str(path), setting.cases)


def test_rows_are_what_each_variant_measures(setting: Setting, one_by_one: list[Row]) -> None:
    for row, variant in zip(one_by_one, ALL, strict=True):
        assert row.variant == variant
        if row.values is not None:
            alone = measure(setting, variant, stress=True)
            # In this process more threads may share a sum, which moves its last bits.
            assert row.values["twist"] == pytest.approx(alone.twist, rel=1e-12)
            assert row.values["peak"] == pytest.approx(alone.peak, rel=1e-10)


def test_a_refused_variant_is_a_row_and_the_rest_go_on(one_by_one: list[Row]) -> None:
    assert [row.values is None for row in one_by_one] == [w == "70 mm" for w in WALLS]
    assert any("wall" in c.rule or "left" in c.rule for c in one_by_one[3].complaints)


def test_equal_variants_are_computed_once(setting: Setting) -> None:
    told: list[tuple[int, int]] = []
    rows = run(setting, [ALL[0], ALL[1], ALL[0]], plain, Runner(1, told=lambda *n: told.append(n)))
    assert told == [(0, 2), (1, 2), (2, 2)]
    assert rows[0].values == rows[2].values


def test_what_was_measured_before_does_not_move_a_bit(setting: Setting) -> None:
    first = run(setting, ALL[:2], stressed, Runner(workers=1))
    for variant in ALL[:2]:
        measure(setting, variant, stress=True)
    assert run(setting, ALL[:2], stressed, Runner(workers=1)) == first


@pytest.mark.slow
def test_processes_give_the_same_bits(setting: Setting, one_by_one: list[Row]) -> None:
    assert run(setting, ALL, stressed, Runner(workers=2)) == one_by_one


@pytest.mark.slow
def test_a_process_killed_half_way_loses_nothing_but_what_always_kills(
    setting: Setting, tmp_path: Path
) -> None:
    mine = with_source(setting, tmp_path / "died")
    kept = tmp_path / "rows.jsonl"
    rows = run(mine, ALL, deadly.die_once_and_always, Runner(workers=2, resume=kept))
    assert (tmp_path / "died").exists()
    assert "died" in rows[4].complaints[0].rule
    plainly = run(mine, ALL, plain, Runner(workers=1))
    assert rows[:4] + rows[5:] == plainly[:4] + plainly[5:]
    assert len(kept.read_text().splitlines()) == len(ALL) - 1  # it is tried again next time


class TestCluster:
    @pytest.mark.slow
    def test_a_cluster_gives_the_same_bits(
        self, setting: Setting, one_by_one: list[Row], address: str
    ) -> None:
        assert run(setting, ALL, stressed, Runner(scheduler=address)) == one_by_one

    @pytest.mark.slow
    def test_a_worker_killed_half_way_loses_nothing(
        self, setting: Setting, tmp_path: Path, address: str
    ) -> None:
        mine = with_source(setting, tmp_path / "died")
        rows = run(mine, ALL, deadly.die_once, Runner(scheduler=address))
        assert (tmp_path / "died").exists()
        assert rows == run(mine, ALL, plain, Runner(workers=1))

    def test_where_no_scheduler_answers(
        self, setting: Setting, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        pytest.importorskip("distributed")
        monkeypatch.setattr("fea.study.pools.CONNECT", 0.2)
        with pytest.raises(SolveError, match="no scheduler answers"):
            run(setting, ALL, plain, Runner(scheduler="tcp://127.0.0.1:9"))

    def test_without_the_library(self, setting: Setting, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setitem(sys.modules, "distributed", None)
        with pytest.raises(MissingExtraError, match=r"plumbrail\[cluster\]"):
            run(setting, ALL, plain, Runner(scheduler="tcp://127.0.0.1:9"))


class TestResume:
    def counted(
        self, setting: Setting, kept: Path, variants: list[Variant]
    ) -> tuple[int, list[Row]]:
        """Return how many rows were done when a run began, and its rows."""
        told: list[int] = []
        rows = run(
            setting, variants, plain, Runner(1, resume=kept, told=lambda done, _: told.append(done))
        )
        return told[0], rows

    def test_what_is_done_is_read(self, setting: Setting, tmp_path: Path) -> None:
        kept = tmp_path / "rows.jsonl"
        none, first = self.counted(setting, kept, ALL[:4])
        four, again = self.counted(setting, kept, ALL)
        assert (none, four) == (0, 4)
        assert again[:4] == first
        assert again == run(setting, ALL, plain, Runner(1))

    @pytest.mark.parametrize("cut", [1, 15, 60])
    def test_a_torn_last_line_is_dropped(self, setting: Setting, tmp_path: Path, cut: int) -> None:
        kept = tmp_path / "rows.jsonl"
        _, first = self.counted(setting, kept, ALL[:3])
        whole = kept.read_bytes()
        kept.write_bytes(whole[:-cut])
        two, again = self.counted(setting, kept, ALL[:3])
        assert two == 2
        assert again == first
        assert kept.read_bytes() == whole

    def test_a_row_of_another_input_is_refused(self, setting: Setting, tmp_path: Path) -> None:
        kept = tmp_path / "rows.jsonl"
        self.counted(setting, kept, ALL[:2])
        before = kept.read_bytes()
        other = Setting(setting.document, "ladder", setting.cases[:1])
        with pytest.raises(DocumentError, match="of another document, case, setting") as refused:
            self.counted(other, kept, ALL[:2])
        assert len(refused.value.complaints) == 1
        assert "line 1" in str(refused.value)
        assert kept.read_bytes() == before

    @pytest.mark.parametrize("text", ["my notes", "my notes\n", '{"input": 1}\n', "[1]\n"])
    def test_any_other_file_is_refused_and_left(
        self, setting: Setting, tmp_path: Path, text: str
    ) -> None:
        kept = tmp_path / "notes.txt"
        kept.write_text(text, encoding="utf-8")
        with pytest.raises(FeaError, match=r"not a file of finished rows"):
            self.counted(setting, kept, ALL[:1])
        assert kept.read_text(encoding="utf-8") == text

    def test_a_folder_is_refused(self, setting: Setting, tmp_path: Path) -> None:
        with pytest.raises(DocumentError, match="cannot be used"):
            self.counted(setting, tmp_path, ALL[:1])

    def test_everything_that_counts_is_in_the_fingerprint(self, setting: Setting) -> None:
        document = read_frame(find_frame("harbour_tourer"))
        others = [
            Setting(document, "ladder", setting.cases),
            Setting(setting.document, "ladder", setting.cases[::-1]),
            Setting(setting.document, "ladder", setting.cases, sheet_joints=True),
            Setting(setting.document, "ladder", setting.cases, coarse=2.0),
            Setting(setting.document, "ladder", setting.cases, body="closed"),
            Setting(setting.document, "ladder", setting.cases, mounts="solid"),
        ]
        prints = {input_fingerprint(s, plain) for s in (setting, *others)}
        prints.add(input_fingerprint(setting, stressed))
        assert len(prints) == len(others) + 2
        moved = Setting(setting.document, "elsewhere", setting.cases)
        assert input_fingerprint(moved, plain) == input_fingerprint(setting, plain)

    def test_lines_are_json(self, setting: Setting, tmp_path: Path) -> None:
        kept = tmp_path / "deep" / "rows.jsonl"
        self.counted(setting, kept, ALL[:4])
        rows = [json.loads(line) for line in kept.read_text(encoding="utf-8").splitlines()]
        assert [sorted(r)[0] for r in rows] == ["input", "input", "input", "complaints"]
