"""`--joints sheet`, which is what one gets unasked: joints of thin shells, condensed once."""

import json
import shutil
from pathlib import Path
from typing import Any

import handmade
import numpy as np
import pytest
from running import Ran, Run

from fea.analyse import analyse
from fea.result.answer import answers
from fea.store import Disk

CHECKS = {"residual", "force_balance", "moment_balance", "energy_balance"}

SHELLS = {
    "ladder_flange_welded": 31.2,
    "ladder_web_butt": 11.43,
    "ladder_flange_welded_boxed": 1402.0,
    "ladder_tubes": 574.0,
}
"""N m/deg.  Source: own thin-shell study (four-node shells, mesh-converged)."""

SHEET = ("--joints", "sheet")


def case(ran: Ran) -> dict[str, Any]:
    assert ran.code == 0, ran.err
    assert ran.err == ""
    (found,) = json.loads(ran.out)["cases"]
    assert isinstance(found, dict)
    return found


@pytest.mark.parametrize("name", SHELLS)
def test_the_ladders_beside_whole_frames_of_shells(name: str, plumbrail: Run) -> None:
    found = case(plumbrail("run", name, *SHEET, "--case", "twist", "--json"))
    stiffness = found["measures"]["twist_stiffness_nm_per_deg"]
    assert stiffness == pytest.approx(SHELLS[name], rel=0.10)
    assert all(found["checks"][k] < 1e-8 for k in CHECKS)
    assert sum(s["share"] for s in found["strain_energy"]) == pytest.approx(1.0, rel=1e-6)
    assert sum(b["twist_share"] for b in found["bays"]) == pytest.approx(1.0)
    rails = {f"X{k} on rail {side}" for k in range(1, 6) for side in ("right", "left")}
    assert {p["joint"] for p in found["joint_stress"]} == rails
    for peak in found["joint_stress"]:
        assert peak["von_mises_mpa"] > 0.0
    peaks = {p["member"]: p for p in found["peak_stress"]}
    assert set(peaks) == {*(f"X{k}" for k in range(1, 6)), "rail right", "rail left"}
    highest = max(p["von_mises_mpa"] for p in peaks.values())
    assert found["measures"]["highest_stress_mpa"] == highest


def test_sheet_metal_is_what_one_gets_unasked(plumbrail: Run) -> None:
    words = ("run", "ladder_tubes", "--case", "twist", "--json")
    assert plumbrail(*words).out == plumbrail(*words, "--joints", "sheet").out
    assert plumbrail(*words).out != plumbrail(*words, "--joints", "beam").out


def test_the_beam_rules_stand_beside(plumbrail: Run) -> None:
    words = ("run", "ladder_web_butt", *SHEET, "--case", "twist", "--json")
    sheet, beam = case(plumbrail(*words)), case(plumbrail(*words, "--joints", "beam"))
    beside = sheet["by_beam_rules"]
    assert beside["stiffness"] == beam["measures"]["twist_stiffness_nm_per_deg"]
    assert beside["soft_bound"] < beside["stiffness"] < beside["stiff_bound"]
    assert "joint_stress" not in beam or beam["joint_stress"] == []


@pytest.mark.parametrize("load", ["twist", "bending", "own_weight", "ladder_bending"])
def test_every_case_is_in_balance(load: str, plumbrail: Run) -> None:
    found = case(plumbrail("run", "ladder_flange_welded", *SHEET, "--case", load, "--json"))
    assert all(found["checks"][k] < 1e-8 for k in CHECKS)
    forces = {r["place"]: r["force_n"] for r in found["reactions"]}
    if load in ("bending", "ladder_bending"):
        up = sum(v for k, v in forces.items() if k.endswith("height"))
        assert up == pytest.approx(2000.0, rel=1e-8)


def test_weight_is_the_same_with_sheet_joints(plumbrail: Run) -> None:
    """The metal weighs alike, however its stiffness is had; so do the reactions."""
    words = ("run", "ladder_flange_welded", *SHEET, "--case", "own_weight", "--json")
    sheet, beam = case(plumbrail(*words)), case(plumbrail(*words, "--joints", "beam"))
    here, there = ({r["place"]: r["force_n"] for r in c["reactions"]} for c in (sheet, beam))
    assert set(here) == set(there)
    largest = max(there.values())
    for place, force in there.items():
        assert here[place] == pytest.approx(force, abs=1e-3 * largest)


def test_both_hands_are_alike(plumbrail: Run) -> None:
    one, other = (
        case(plumbrail("run", "ladder_web_butt", *SHEET, "--case", load, "--json"))
        for load in ("twist", "twist_mirror")
    )
    key = "twist_stiffness_nm_per_deg"
    assert other["measures"][key] == pytest.approx(one["measures"][key], rel=1e-9)
    np.testing.assert_allclose(
        other["profile"]["twist_deg"], -np.array(one["profile"]["twist_deg"]), rtol=1e-9, atol=1e-12
    )
    energy = {s["name"]: s["energy_j"] for s in one["strain_energy"]}
    largest = max(energy.values())
    for left in (name for name in energy if name.endswith("left") and "joint" not in name):
        right = left.removesuffix("left") + "right"
        assert energy[left] == pytest.approx(energy[right], abs=1e-5 * largest)


def test_tables_name_the_joints(plumbrail: Run) -> None:
    ran = plumbrail("run", "ladder_web_butt", *SHEET, "--case", "twist")
    assert ran.code == 0
    assert "twist stiffness" in ran.out
    assert "joint" in ran.out
    for word in ("nan", "None", "Traceback"):
        assert word not in ran.out


def test_the_table_of_joints_has_a_line_each_and_wraps_none(process: Run) -> None:
    ran = process("run", "ladder_flange_welded_boxed", *SHEET, "--case", "twist")
    assert ran.code == 0
    assert all(len(line) <= 110 for line in ran.out.splitlines() if "station" in line)
    lines = [line for line in ran.out.splitlines() if " on both rails " in line]
    # Right and left are alike: five lines of ten joints, the ends' first.
    assert sorted(line.split()[0] for line in lines) == ["X1", "X2", "X3", "X4", "X5"]
    assert {line.split()[0] for line in lines[:2]} == {"X1", "X5"}
    assert all("MPa" in line and "station" in line for line in lines)
    values = [float(line.split("rails")[1].split()[0]) for line in lines]
    assert values == sorted(values, reverse=True)
    assert "Stress in the joints' sheet metal (quadrilaterals 12 mm wide: for ranking)" in ran.out
    # The rails are metal from end to end, and have their stress all the same.
    for rail in ("rail right", "rail left"):
        (line,) = [x for x in ran.out.splitlines() if x.startswith(f" {rail} ")]
        assert "MPa" in line


def test_unknown_joints(plumbrail: Run, tmp_path: Path) -> None:
    ran = plumbrail("run", "ladder_tubes", "--joints", "glue", "--out", tmp_path / "out")
    assert ran.code == 2
    assert ran.out == ""
    assert "glue" in ran.err
    assert "sheet or beam" in ran.err
    assert not (tmp_path / "out").exists()


def test_files_of_a_frame_with_sheet_joints(plumbrail: Run, tmp_path: Path) -> None:
    import meshio

    ran = plumbrail("run", "ladder_tubes", *SHEET, "--case", "twist", "--out", tmp_path)
    assert ran.code == 0
    mesh = meshio.read(tmp_path / "ladder_tubes_twist.vtu")
    assert np.all(np.isfinite(mesh.point_data["movement_mm"]))
    # The metal reaches from end to end, and no further than half a section beyond.
    assert np.min(mesh.points[:, 0]) == pytest.approx(0.0, abs=40.0)
    assert np.max(mesh.points[:, 0]) == pytest.approx(2400.0, abs=40.0)
    members = set(mesh.cell_data["member"][0].tolist())
    assert members == set(range(7))


def test_the_second_run_finds_what_the_first_kept(
    plumbrail: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PLUMBRAIL_CACHE", str(tmp_path / "kept"))
    words = ("run", "ladder_tubes", *SHEET, "--case", "twist", "--json")
    first = plumbrail(*words)
    kept = {p.name: p.stat().st_mtime_ns for p in (tmp_path / "kept").iterdir()}
    assert kept
    assert all(name.endswith(".npz") for name in kept)
    second = plumbrail(*words)
    assert {p.name: p.stat().st_mtime_ns for p in (tmp_path / "kept").iterdir()} == kept
    one, two = (case(r)["measures"] for r in (first, second))
    key = "twist_stiffness_nm_per_deg"
    assert two[key] == pytest.approx(one[key], rel=1e-12)


def test_keeping_can_be_turned_off(
    plumbrail: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("PLUMBRAIL_CACHE", "")
    assert plumbrail("run", "ladder_tubes", *SHEET, "--case", "twist").code == 0
    assert list(tmp_path.rglob("*.npz")) == []


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, float]]:
    """Return a store that has what a ladder needs in twist, and the ladder's measures."""
    place = tmp_path_factory.mktemp("filled")
    frame, load = handmade.demo("ladder_tubes"), handmade.case("twist")
    solved = analyse(frame, [load], sheet_joints=True, store=Disk(place))
    return place, answers(solved)[0].measures


@pytest.mark.parametrize("spoil", ["cut", "empty", "noise", "other"])
def test_a_spoilt_store_is_made_anew(
    spoil: str,
    filled: tuple[Path, dict[str, float]],
    plumbrail: Run,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    kept, right = filled
    shutil.copytree(kept, tmp_path, dirs_exist_ok=True)
    monkeypatch.setenv("PLUMBRAIL_CACHE", str(tmp_path))
    words = ("run", "ladder_tubes", *SHEET, "--case", "twist", "--json")
    files = sorted(tmp_path.iterdir())
    assert files
    for path in files:
        whole = path.read_bytes()
        spoilt = {"cut": whole[: len(whole) // 2], "empty": b"", "noise": b"\x00" * 5000}
        if spoil == "other":
            np.savez(path, stiffness=np.eye(3))
        else:
            path.write_bytes(spoilt[spoil])
    found = case(plumbrail(*words))["measures"]
    assert sorted(tmp_path.iterdir()) == files  # those it looked for, and no other
    key = "twist_stiffness_nm_per_deg"
    assert found[key] == pytest.approx(right[key], rel=1e-12)


def test_a_store_that_cannot_be_written_is_done_without(
    plumbrail: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    monkeypatch.setenv("PLUMBRAIL_CACHE", str(tmp_path / "file"))
    ran = plumbrail("run", "ladder_tubes", *SHEET, "--case", "twist", "--json")
    assert case(ran)["measures"]["twist_stiffness_nm_per_deg"] > 0.0


def test_a_stock_vehicle(plumbrail: Run) -> None:
    """In twist near the beam rules; in bending softer, for open channels give at their kinks."""
    ran = plumbrail("run", "orchard_pickup", *SHEET, "--stock", "--json")
    assert ran.code == 0, ran.err
    twist, bending = json.loads(ran.out)["cases"]
    for one in (twist, bending):
        assert all(one["checks"][k] < 1e-8 for k in CHECKS)
    stiffness = twist["measures"]["twist_stiffness_nm_per_deg"]
    assert stiffness == pytest.approx(twist["by_beam_rules"]["stiffness"], rel=0.15)
    for one in (twist, bending):
        names = [p["joint"] for p in one["joint_stress"]]
        assert len(set(names)) == len(names)
        assert {"X2 on rail right", "X2 on rail left", "kink at station 700 on rail left"} <= set(
            names
        )
        peaks = {p["member"]: p["utilisation"] for p in one["peak_stress"]}
        assert {"rail right", "rail left"} <= set(peaks)
        assert one["measures"]["highest_utilisation"] == max(peaks.values())
    by_beams = bending["by_beam_rules"]["stiffness"]
    assert 0.5 * by_beams < bending["measures"]["bending_stiffness_n_per_mm"] < by_beams


@pytest.mark.slow
def test_a_vehicle_with_its_parts(plumbrail: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """The main job, as the README has it: in balance, and parts make the frame stiffer.

    With quadrilaterals twice as large as usual: a fifth of the time, and metal all the same.
    """
    monkeypatch.setitem(analyse.__kwdefaults__, "coarse", 2.0)
    ran = plumbrail("run", "harbour_tourer", *SHEET, "--json")
    assert ran.code == 0, ran.err
    twist, bending = json.loads(ran.out)["cases"]
    for one in (twist, bending):
        assert all(one["checks"][k] < 1e-8 for k in CHECKS)
    assert twist["ratio_to_stock"]["twist_stiffness_nm_per_deg"] > 2.0
    assert bending["ratio_to_stock"]["bending_stiffness_n_per_mm"] > 1.0
