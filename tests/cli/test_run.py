"""`run`: its tables, its JSON, its files, and the choice of parts."""

import csv
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from handmade import CASES, FRAMES, case, demo
from running import Ran, Run

from fea.analyse import analyse
from fea.errors import DocumentError
from fea.out.files import write_whole
from fea.out.record import to_json
from fea.result.answer import answers
from fea.result.shape import surface

CHECKS = {"residual", "force_balance", "moment_balance", "energy_balance"}


def record(ran: Ran) -> dict[str, Any]:
    assert ran.code == 0, ran.err
    found = json.loads(ran.out)
    assert isinstance(found, dict)
    return found


# ------------------------------------------------------------------------------- tables


def test_the_answer_in_tables(process: Run) -> None:
    ran = process("run", "orchard_pickup", "--joints", "beam")
    assert ran.code == 0
    assert ran.err == ""
    for text in (
        "Orchard pickup: Twist between the axles",
        "Orchard pickup: Bending",
        "Parts fitted: boxing_front, boxing_cab",
        "x stock",
        "twist stiffness",
        "bending stiffness",
        "N m/deg",
        "Where it twists",
        "front axle to X2",
        "Strain energy, and stress along members, by member",
        "Reactions",
        "rear axle right, height",
        "Checks: residual",
        "Assumed: 10 ends welded to the web only",
        "A planning aid, not a certification",
    ):
        assert text in ran.out
    for text in ("nan", "inf ", "None", "Traceback", "\x1b["):
        assert text not in ran.out


def test_a_stock_frame_stands_alone(quick: Run) -> None:
    ran = quick("run", "orchard_pickup", "--stock", "--case", "twist")
    assert ran.code == 0
    assert "Stock frame: no added part fitted." in ran.out
    assert "x stock" not in ran.out
    assert "bending stiffness" not in ran.out


@pytest.mark.parametrize(("system", "first"), [("si", r"N m/deg \("), ("us", r"ft lbf/deg \(")])
def test_the_unit_that_comes_first(system: str, first: str, quick: Run) -> None:
    ran = quick("run", "ladder_tubes", "--case", "twist", "--units", system)
    assert ran.code == 0
    assert re.search(rf"twist stiffness +[\d.]+ {first}", ran.out)


def test_both_units_say_the_same(quick: Run) -> None:
    ran = quick("run", "ladder_tubes", "--case", "twist", "--units", "us")
    found = re.search(r"twist stiffness +([\d.]+) ft lbf/deg \(([\d.]+) N m/deg\)", ran.out)
    assert found
    assert float(found[1]) * 1.3558179 == pytest.approx(float(found[2]), rel=5e-3)


# --------------------------------------------------------------------------------- JSON


@pytest.mark.parametrize("name", FRAMES)
def test_the_layout_of_the_json(name: str, quick: Run) -> None:
    found = record(quick("run", name, "--json"))
    frame = demo(name)
    assert found["format"] == 1
    assert found["frame"] == name
    assert found["title"] == frame.title
    assert found["parts_fitted"] == list(frame.fitted)
    assert {*found["parts_fitted"], *found["parts_left_off"]} == {p.name for p in frame.parts}
    assert found["assumptions"]
    assert [c["case"] for c in found["cases"]] == ["twist", "bending"]
    for one in found["cases"]:
        assert set(one["checks"]) == CHECKS
        assert all(0.0 <= v < 1e-8 for v in one["checks"].values())
        assert set(one["solver"]) == {"backend", "free_motions", "smallest_pivot"}
        assert set(one["accuracy"]) == {"condition", "stiffness_round_off"}
        assert 1.0 <= one["accuracy"]["condition"] < 1e12
        bound = one["accuracy"]["stiffness_round_off"]
        assert bound is None or 0.0 < bound < 1e-4
        assert sum(s["share"] for s in one["strain_energy"]) == pytest.approx(1.0)
        assert {p["member"] for p in one["peak_stress"]} == {m.name for m in frame.members}
        assert ("ratio_to_stock" in one) == bool(frame.fitted)
        assert ("stock_measures" in one) == bool(frame.fitted)
        lengths = {k: len(v) for k, v in one["profile"].items()}
        assert set(lengths) == {"station_mm", "twist_deg", "height_mm", "offset_mm"}
        assert len(set(lengths.values())) == 1
        assert all(set(r) == {"place", "force_n"} for r in one["reactions"])
    twist, bending = found["cases"]
    assert "twist_stiffness_nm_per_deg" in twist["measures"]
    assert "bending_stiffness_n_per_mm" in bending["measures"]
    assert sum(b["twist_share"] for b in twist["bays"]) == pytest.approx(1.0)
    assert bending["bays"] == []


def test_the_json_holds_what_the_library_says(quick: Run) -> None:
    found = record(quick("run", "harbour_tourer", "--case", "twist", "--json"))["cases"][0]
    answer = answers(analyse(demo("harbour_tourer"), [case("twist")]))[0]
    stock = answers(analyse(demo("harbour_tourer", stock=True), [case("twist")]))[0]
    assert found["measures"] == answer.measures
    assert found["stock_measures"] == stock.measures
    key = "twist_stiffness_nm_per_deg"
    assert found["ratio_to_stock"][key] == answer.measures[key] / stock.measures[key]
    assert answer.profile is not None
    assert found["profile"]["station_mm"] == answer.profile.stations.tolist()
    assert found["reactions"] == [{"place": r.place, "force_n": r.force} for r in answer.reactions]


def test_the_json_is_the_same_every_time(process: Run) -> None:
    """In processes of their own: where tests have more threads, sums go in another order."""
    words = ("run", "orchard_pickup", "--case", "twist", "--json", "--joints", "beam")
    first, second = process(*words), process(*words)
    assert first.code == second.code == 0
    assert first.out == second.out
    assert first.err == ""


def test_every_case_in_one_run(quick: Run) -> None:
    words = [w for name in CASES for w in ("--case", name)]
    found = record(quick("run", "orchard_pickup", "--json", *words))
    assert [c["case"] for c in found["cases"]] == list(CASES)
    for one in found["cases"]:
        assert all(v < 1e-8 for v in one["checks"].values())


# -------------------------------------------------------------------------------- parts


def test_each_part_left_off_makes_the_frame_lighter_and_softer(quick: Run) -> None:
    def twist(*words: str) -> tuple[float, float]:
        found = record(quick("run", "orchard_pickup", "--case", "twist", "--json", *words))
        measures = found["cases"][0]["measures"]
        return measures["twist_stiffness_nm_per_deg"], measures["mass_kg"]

    whole, mass = twist()
    for part in demo("orchard_pickup").fitted:
        softer, lighter = twist("--without", part)
        assert softer < whole
        assert lighter < mass
    stiffer, heavier = twist("--with", "x_member")
    assert stiffer > whole
    assert heavier > mass


def test_choosing_parts(quick: Run) -> None:
    words = ("run", "orchard_pickup", "--case", "twist", "--json")
    found = record(quick(*words, "--without", "mid_tube", "--without", "rear_box"))
    assert "mid_tube" in found["parts_left_off"]
    assert "rear_box" in found["parts_left_off"]
    assert "boxing_cab" in found["parts_fitted"]
    found = record(quick(*words, "--stock", "--with", "mid_tube"))
    assert found["parts_fitted"] == ["mid_tube"]
    ratio = found["cases"][0]["ratio_to_stock"]
    assert ratio["mass_kg"] > 1.0
    assert ratio["twist_stiffness_nm_per_deg"] > 1.0
    found = record(quick(*words, "--stock"))
    assert found["parts_fitted"] == []
    assert "ratio_to_stock" not in found["cases"][0]


def test_bolting_a_crossmember_elsewhere(quick: Run) -> None:
    def stations(*words: str) -> set[float]:
        words = ("run", "orchard_pickup", "--case", "twist", "--json", *words)
        bays = record(quick(*words))["cases"][0]["bays"]
        return {b["from_mm"] for b in bays if b["between"].startswith("X3 ")}

    assert stations() == {1260.0}
    assert stations("--at", "X3=1180 mm") == {1180.0}
    assert stations("--at", "X3 = 132 cm") == {1320.0}


def test_the_stock_frame_has_its_crossmember_in_the_same_place(quick: Run) -> None:
    words = ("run", "orchard_pickup", "--case", "twist", "--json")
    moved = record(quick(*words, "--at", "X3=1320 mm"))
    alone = record(quick(*words, "--at", "X3=1320 mm", "--stock"))
    assert moved["cases"][0]["stock_measures"] == alone["cases"][0]["measures"]


@pytest.mark.parametrize(
    ("words", "texts"),
    [
        (("--with", "nope"), ("no part", "nope", "x_member")),
        (("--without", "nope"), ("no part", "nope", "x_member")),
        (("--with", "x_membr"), ("x_member",)),
        (("--with", "x_member", "--without", "x_member"), ("both fitted and left off",)),
        (("--at", "X3"), ("NAME=STATION",)),
        (("--at", "X3=1250 mm"), ("cannot be bolted there", "1250 mm", "1240")),
        (("--at", "X3=1250"), ("unit", "1250")),
        (("--at", "X9=1200 mm"), ("X9", "X3")),
        (("--at", "X3=NaN mm"), ("NaN",)),
        (("--units", "metric"), ("metric", "si or us")),
        (("--case", "nope"), ("no such load case", "nope", "twist")),
        (("--case", "twist", "--case", "twist"), ("once", "twist")),
        (("--backend", "magic"), ("unknown solver backend", "magic", "banded")),
    ],
)
def test_a_choice_that_cannot_be(words: tuple[str, ...], texts: tuple[str, ...],
                                 quick: Run, tmp_path: Path) -> None:  # fmt: skip
    ran = quick("run", "orchard_pickup", "--out", tmp_path / "out", *words)
    assert ran.code == 2
    assert ran.out == ""
    for text in texts:
        assert text in ran.err
    assert "Traceback" not in ran.err
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("backend", ["banded", "superlu"])
def test_the_backend_asked_for(backend: str, quick: Run) -> None:
    found = record(quick("run", "ladder_tubes", "--json", "--backend", backend))
    assert {c["solver"]["backend"] for c in found["cases"]} == {backend}


# -------------------------------------------------------------------------------- files


def test_files_are_written(quick: Run, tmp_path: Path) -> None:
    folder = tmp_path / "new" / "results"
    words = ("run", "orchard_pickup", "--case", "twist", "--case", "payload")
    ran = quick(*words, "--out", folder)
    assert ran.code == 0
    names = {"orchard_pickup.json"} | {
        f"orchard_pickup_{load}{ending}"
        for load in ("twist", "payload")
        for ending in ("_profile.csv", "_members.csv", ".vtu")
    }
    assert {p.name for p in folder.iterdir()} == names  # and nothing half-written
    for name in names:
        assert f"wrote {folder / name}" in ran.out
    printed = quick(*words, "--json").out
    assert (folder / "orchard_pickup.json").read_text(encoding="utf-8") == printed
    modes = {p.stat().st_mode & 0o777 for p in folder.iterdir()}
    assert len(modes) == 1
    assert modes.pop() & 0o400


def test_with_json_the_files_are_written_in_silence(quick: Run, tmp_path: Path) -> None:
    ran = quick("run", "ladder_tubes", "--json", "--out", tmp_path)
    assert json.loads(ran.out)["frame"] == "ladder_tubes"
    assert (tmp_path / "ladder_tubes_twist.vtu").exists()


def test_files_are_written_anew(quick: Run, tmp_path: Path) -> None:
    path = tmp_path / "ladder_tubes.json"
    path.write_text("old", encoding="utf-8")
    quick("run", "ladder_tubes", "--out", tmp_path)
    assert json.loads(path.read_text(encoding="utf-8"))["frame"] == "ladder_tubes"


def test_the_csv_files(quick: Run, tmp_path: Path) -> None:
    quick("run", "ladder_tubes", "--case", "twist", "--out", tmp_path)
    answer = answers(analyse(demo("ladder_tubes"), [case("twist")]))[0]
    with (tmp_path / "ladder_tubes_twist_profile.csv").open(newline="", encoding="utf-8") as file:
        heads, *rows = list(csv.reader(file))
    assert heads == ["station_mm", "twist_deg", "height_mm", "offset_mm"]
    assert answer.profile is not None
    values = np.array(rows, dtype=float)
    np.testing.assert_allclose(values[:, 0], answer.profile.stations, rtol=1e-8)
    np.testing.assert_allclose(values[:, 1], np.degrees(answer.profile.angle), rtol=1e-8)
    with (tmp_path / "ladder_tubes_twist_members.csv").open(newline="", encoding="utf-8") as file:
        table = list(csv.DictReader(file))
    assert [r["member"] for r in table] == [s.name for s in answer.shares]
    assert sum(float(r["energy_share"]) for r in table) == pytest.approx(1.0, abs=1e-5)
    stress = {p.member: p.von_mises for p in answer.peaks}
    for row in table:
        assert float(row["von_mises_mpa"]) == pytest.approx(stress[row["member"]], rel=1e-5)


def test_the_vtu_file_reads_back_the_same(quick: Run, tmp_path: Path) -> None:
    import meshio

    quick("run", "orchard_pickup", "--case", "twist", "--out", tmp_path)
    mesh = meshio.read(tmp_path / "orchard_pickup_twist.vtu")
    solution = analyse(demo("orchard_pickup"), [case("twist")]).solutions[0]
    skin = surface(solution)
    np.testing.assert_array_equal(mesh.points, skin.points)
    assert [block.type for block in mesh.cells] == ["quad"]
    np.testing.assert_array_equal(mesh.cells[0].data, skin.quads)
    np.testing.assert_array_equal(mesh.point_data["movement_mm"], skin.movement)
    np.testing.assert_array_equal(mesh.point_data["von_mises_mpa"], skin.von_mises)
    members = skin.member
    np.testing.assert_array_equal(mesh.cell_data["member"][0], members)


@pytest.mark.parametrize("slip", [OSError(28, "No space left on device"), RuntimeError("broken")])
def test_a_file_that_fails_half_way_leaves_the_old_one(slip: Exception, tmp_path: Path) -> None:
    path = tmp_path / "frame.vtu"
    path.write_text("old", encoding="utf-8")

    def write(name: Path) -> None:
        name.write_text("half", encoding="utf-8")
        raise slip

    with pytest.raises(DocumentError if isinstance(slip, OSError) else RuntimeError) as error:
        write_whole(path, write)
    assert str(slip.args[-1]) in str(error.value)
    assert [p.name for p in tmp_path.iterdir()] == ["frame.vtu"]
    assert path.read_text(encoding="utf-8") == "old"


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")])
def test_what_is_not_a_number_is_never_written_as_json(value: float) -> None:
    with pytest.raises(ValueError, match="JSON"):
        to_json({"value": value})


def test_a_folder_that_cannot_be_written_to(quick: Run, tmp_path: Path) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("here", encoding="utf-8")
    ran = quick("run", "ladder_tubes", "--out", in_the_way)
    assert ran.code == 2
    assert "the output file could not be written" in ran.err
    assert str(in_the_way) in ran.err
    assert "Traceback" not in ran.err
    assert in_the_way.read_text(encoding="utf-8") == "here"
    assert list(tmp_path.iterdir()) == [in_the_way]
