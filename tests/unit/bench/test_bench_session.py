"""The bench solves what the command solves, and saves what it shows."""

from pathlib import Path

import numpy as np
import pytest
from study_frames import setting

from fea.bench.controls import LOSS
from fea.bench.record import Edges, figures, scene_record
from fea.bench.saving import file_name, save, variant_text
from fea.bench.server import sheet_request, stiffnesses
from fea.bench.session import KEPT, Bench
from fea.bench.wanted import wanted
from fea.document.read import read_frame
from fea.errors import DocumentError, FeaError
from fea.frame.build import build_frame
from fea.study.variant import Variant, solve_variant

PLATE = "part.boxing_cab.boxing.1.plate"


@pytest.fixture(scope="module")
def pickup() -> Bench:
    return Bench(setting("orchard_pickup"))


@pytest.fixture(scope="module")
def tourer() -> Bench:
    return Bench(setting("harbour_tourer", body="open"))


def test_a_variant_is_that_of_a_study(pickup: Bench) -> None:
    record = {"switches": {"part:boxing_rear": False}, "values": {PLATE: "4 mm"}}
    choice = wanted(record, pickup.controls)
    parts = [s.label.replace(" ", "_") for s in pickup.controls.switches if s.sort == "part"]
    parts = [p for p in parts if p not in ("boxing_rear", "x_member")]
    other = solve_variant(pickup.setting, Variant.of(parts, edits={PLATE: "4 mm"}))
    found = pickup.quick(choice)
    assert [a.measures for a in found.answers] == [a.measures for a in other]
    again = pickup.quick(choice)
    assert again.kept
    assert again.answers is found.answers


def test_only_the_latest_are_kept(pickup: Bench) -> None:
    for k in range(3):
        pickup.quick(wanted({"values": {PLATE: f"{3.1 + k / 10:.1f} mm"}}, pickup.controls))
    assert len(pickup._quick) <= KEPT


def test_metal_lost_softens_the_frame(pickup: Bench) -> None:
    new = stiffnesses(pickup.quick(wanted({}, pickup.controls)))
    worn = stiffnesses(pickup.quick(wanted({"values": {LOSS: "0.5 mm"}}, pickup.controls)))
    assert worn["twist"] < new["twist"]  # type: ignore[operator]
    assert worn["bending"] < new["bending"]  # type: ignore[operator]
    with pytest.raises(FeaError):  # more than there is
        pickup.quick(wanted({"values": {LOSS: "9 mm"}}, pickup.controls))


def test_metal_lost_twice_is_refused(pickup: Bench) -> None:
    record = {"switches": {"wear.2.applied": True}, "values": {LOSS: "0.2 mm"}}
    with pytest.raises(FeaError, match="only once for each place"):
        pickup.quick(wanted(record, pickup.controls))


def test_grade_and_tie_change_the_vehicle(tourer: Bench) -> None:
    found = []
    for record in (
        {"mounts": "rubber"},
        {"mounts": "solid"},
        {"mounts": "solid", "switches": {"tie.sill link.fitted": True}},
        {
            "mounts": "solid",
            "switches": {"tie.sill link.fitted": True},
            "values": {"tie.sill link.bracket.ends_stiffness": "50 kN/mm"},
        },
    ):
        found.append(stiffnesses(tourer.quick(wanted(record, tourer.controls)))["twist"])
    assert found == sorted(found)  # type: ignore[type-var]
    assert len(set(found)) == 4


def test_the_record_holds_the_answer(pickup: Bench) -> None:
    solved = pickup.quick(wanted({}, pickup.controls))
    record = scene_record(solved, 0, Edges())
    rows = {row["key"]: row["value"] for row in figures(solved, 0)}
    assert rows["twist"] == solved.answers[0].measures["twist_stiffness_nm_per_deg"]
    assert rows["bending"] == solved.answers[1].measures["bending_stiffness_n_per_mm"]
    assert rows["steel"] == solved.answers[0].measures["mass_kg"]
    assert rows["yield"] == 100.0 * solved.answers[0].measures["highest_utilisation"]
    inside = sum(m["energy_percent"] for m in record["members"])
    assert 50.0 < inside <= 100.0 + 1e-9
    assert record["scale"] > 0.0


def test_what_the_page_has_is_not_sent_again(pickup: Bench) -> None:
    edges = Edges()
    first = scene_record(pickup.quick(wanted({}, pickup.controls)), 0, edges)["walls"]
    thick = pickup.quick(wanted({"values": {PLATE: "5 mm"}}, pickup.controls))
    second = scene_record(thick, 0, edges, first["hang"])["walls"]
    assert second["hang"] == first["hang"]
    assert not {"quads", "edges", "sections"} & second.keys()
    assert second["movement"] != first["movement"]
    off = pickup.quick(wanted({"switches": {"part:boxing_cab": False}}, pickup.controls))
    other = scene_record(off, 0, edges, first["hang"])["walls"]
    assert other["hang"] != first["hang"]
    assert "quads" in other


@pytest.mark.parametrize(
    "name",
    ["../x", "a/b", "a\\b", "", ".", "..", ".toml", "/tmp/x", "a" * 61, "con", "NUL.toml",
     "x\n", "x y", "ä", "a.b", None, 3, ["x"]],
)  # fmt: skip
def test_a_name_that_is_no_plain_name_is_refused(name: object) -> None:
    with pytest.raises(DocumentError):
        file_name(name)


def test_a_name() -> None:
    assert file_name("cab_bay-2.toml") == file_name("cab_bay-2") == "cab_bay-2.toml"


def test_saved_and_read_back_it_is_the_variant(pickup: Bench, tmp_path: Path) -> None:
    record = {
        "switches": {"part:boxing_cab": False, "part:x_member": True},
        "values": {"section.C150x60.wall": "3/16 in", LOSS: "0.2 mm"},
    }
    choice = wanted(record, pickup.controls)
    path = save(pickup, choice, "mine", tmp_path)
    assert path == tmp_path / "mine.toml"
    text = path.read_text(encoding="utf-8")
    assert "# Outer dimensions, as a caliper reads them." in text  # comments stay
    frame = build_frame(read_frame(path), source="mine")
    own = pickup.quick(choice).answers[0].frame
    assert frame.fitted == own.fitted
    for member, other in zip(frame.members, own.members, strict=True):
        for run, expected in zip(member.runs, other.runs, strict=True):
            walls = expected.section.midline.thickness
            np.testing.assert_allclose(run.section.midline.thickness, walls, rtol=1e-12)


def test_saving_never_writes_over(pickup: Bench, tmp_path: Path) -> None:
    choice = wanted({}, pickup.controls)
    (tmp_path / "there.toml").write_text("mine", encoding="utf-8")
    (tmp_path / "link.toml").symlink_to(tmp_path / "elsewhere.toml")
    for name in ("there", "link"):
        with pytest.raises(DocumentError, match="already"):
            save(pickup, choice, name, tmp_path)
    assert (tmp_path / "there.toml").read_text(encoding="utf-8") == "mine"
    assert not (tmp_path / "elsewhere.toml").exists()


def test_saved_grade(tourer: Bench, tmp_path: Path) -> None:
    choice = wanted({"mounts": "urethane", "switches": {"part:mid_mounts": True}}, tourer.controls)
    path = save(tourer, choice, "urethane", tmp_path)  # proves itself against the page's figures
    frame = build_frame(read_frame(path), source="urethane", body="open")
    assert {m.grade for m in frame.mounts} == {"urethane"}


def test_a_document_that_tells_something_else_is_not_saved(
    pickup: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    choice = wanted({"values": {PLATE: "4 mm"}}, pickup.controls)
    text = variant_text(pickup, choice)
    assert '"4 mm"' in text
    monkeypatch.setattr(
        "fea.bench.saving.variant_text", lambda *_: pickup.setting.document.origin.text
    )
    with pytest.raises(DocumentError, match="nothing is saved"):
        save(pickup, choice, "wrong", tmp_path)
    assert not list(tmp_path.iterdir())


@pytest.mark.slow
def test_sheet_metal_on_demand() -> None:
    from fea.bench.server import Desk

    bench = Bench(setting("ladder_tubes"))
    found = sheet_request(Desk(bench, {}, Path(), 1), {})
    other = solve_variant(setting_with_sheet("ladder_tubes"), Variant.of([]))
    assert found["sheet"]["twist"] == pytest.approx(
        other[0].measures["twist_stiffness_nm_per_deg"], rel=1e-9
    )
    assert found["quick"]["twist"] != pytest.approx(found["sheet"]["twist"], rel=1e-4)
    assert np.isfinite(found["worst_check"])


def setting_with_sheet(name: str):
    from dataclasses import replace

    return replace(setting(name), sheet_joints=True)
