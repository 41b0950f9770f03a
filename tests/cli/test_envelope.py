"""The command `envelope`, and road cases and sums through `run`."""

import csv
import io
import json
from pathlib import Path

import numpy as np
import pytest
from handmade import case
from running import Run

SUM = """
title = "Half a bump in a corner"

[[combine]]
case = "road_cornering"

[[combine]]
case = "mine"
factor = 0.5
"""
MINE = """
title = "Bump of mine"

[road]
vertical = 2.5
"""


def words(text: str) -> str:
    return " ".join(text.split())


def test_all_road_cases_by_default(quick: Run) -> None:
    ran = quick("envelope", "orchard_pickup", "--stock")
    assert ran.code == 0, ran.err
    text = words(ran.out)
    assert "Orchard pickup: the worst of 12 load cases" in text
    for head in ("Members", "Joints", "Body mounts", "Cases", "governed by"):
        assert head in text
    for name in ("rail right", "X3 on rail left", "M2 right", "engine_torque"):
        assert name in text
    assert "the height limits it: a stiffer frame sees a larger couple (one_wheel)" in text
    assert "Source of step: 4.5" in text
    assert "common practice, no source" in text
    assert text.endswith("local codes and a licensed engineer decide.")
    tables = [line for line in ran.out.splitlines() if "─" in line]
    assert tables
    assert max(len(line) for line in tables) <= 110


@pytest.mark.parametrize("frame", ["orchard_pickup", "harbour_tourer"])
def test_json_and_csv_tell_the_same(frame: str, quick: Run, tmp_path: Path) -> None:
    path = tmp_path / "e.csv"
    ran = quick("envelope", frame, "--body", "open", "--json", "--csv", path)
    assert ran.code == 0, ran.err
    found = json.loads(ran.out)
    assert len(found["cases"]) == 12
    assert all(c["sources"] for c in found["cases"])
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    for kind in ("member", "joint", "mount"):
        mine = {r["name"]: r for r in rows if r["kind"] == kind}
        assert mine.keys() == {r["name"] for r in found[f"{kind}s"]}
        for row in found[f"{kind}s"]:
            assert mine[row["name"]]["governs"] == row["governs"]
            assert float(mine[row["name"]]["force_n"]) == pytest.approx(row["force_n"], rel=1e-5)
    top = found["members"][0]
    worst = max(found["cases"], key=lambda c: c["measures"]["highest_utilisation"])
    assert top["utilisation"] == worst["measures"]["highest_utilisation"]
    assert top["governs"] == worst["case"]


def test_chosen_cases_parts_and_units(quick: Run) -> None:
    ran = quick("envelope", "harbour_tourer", "--case", "twist", "--case", "road_static",
                "--without", "boxing_side", "--units", "us")  # fmt: skip
    assert ran.code == 0, ran.err
    text = words(ran.out)
    assert "the worst of 2 load cases" in text
    assert "boxing_side" not in text.split("Members")[0]
    assert "ksi" in text
    assert " MPa" not in text


@pytest.mark.picture
@pytest.mark.usefixtures("small_pictures")
def test_a_picture_by_the_highest_utilisation(quick: Run, tmp_path: Path) -> None:
    path = tmp_path / "e.png"
    ran = quick("envelope", "orchard_pickup", "--case", "road_bump", "--png", path)
    assert ran.code == 0, ran.err
    assert path.read_bytes()[:4] == b"\x89PNG"
    assert f"wrote {path}" in ran.out


def test_what_the_picture_shows_is_the_highest_of_the_cases() -> None:
    from handmade import demo

    from fea.analyse import analyse
    from fea.out.envelope_scene import envelope_scene
    from fea.result.answer import answers
    from fea.result.envelope import envelope

    frame = demo("orchard_pickup", stock=True)
    cases = [case(n) for n in ("road_bump", "road_jack")]
    both = answers(analyse(frame, cases))
    shown = envelope_scene(envelope(both), both)
    alone = [envelope_scene(envelope([a]), [a]) for a in both]
    (field,) = shown.walls.fields
    assert field.unit == "%"
    highest = [s.walls.fields[0].values for s in alone]
    assert (field.values == np.maximum(*highest)).all()
    top = max(p.utilisation for a in both for p in a.peaks)
    assert field.values.max() == pytest.approx(100.0 * top, rel=0.01)
    assert not shown.walls.movement.any()


def test_bad_words(quick: Run, plumbrail: Run) -> None:
    ran = quick("envelope", "orchard_pickup", "--case", "road_statik")
    assert ran.code == 2
    assert 'did you mean "road_static"?' in ran.err
    ran = plumbrail("envelope", "orchard_pickup", "--joints", "glue")
    assert ran.code == 2
    assert "unknown joints" in ran.err
    ran = quick("envelope", "ladder_tubes", "--case", "road_jack")
    assert ran.code == 2
    assert "springs of both axles" in ran.err
    assert ran.out == ""


# ------------------------------------------------------------------- road cases and sums


def test_a_road_case_in_tables(quick: Run) -> None:
    ran = quick("run", "orchard_pickup", "--stock", "--case", "road_braking")
    assert ran.code == 0, ran.err
    text = words(ran.out)
    assert "Vehicle 2150 kg (4740 lb), centre at station 1683, offset 0, height 737 mm." in text
    assert "front right 4869 N" in text
    assert "In equilibrium to" in text
    assert "statically determinate" in text
    assert "Source of braking: 1.1 g" in text
    assert "Reactions" not in text


def test_a_road_case_in_json(quick: Run) -> None:
    ran = quick("run", "harbour_tourer", "--case", "road_one_wheel", "--json")
    (found,) = json.loads(ran.out)["cases"]
    road = found["road"]
    assert [w["wheel"] for w in road["wheels"]] == [
        "front right", "front left", "rear right", "rear left"
    ]  # fmt: skip
    assert sum(w["up_n"] for w in road["wheels"]) == pytest.approx(
        1.3 * road["mass_kg"] * 9.80665, rel=1e-9
    )
    assert 500.0 < road["bump_couple_nm"] < 1500.0
    assert road["left_over"] < 1e-9
    assert road["sources"].keys() == {"vertical", "bump"}


def test_a_sum_of_a_shipped_case_and_one_beside_it(
    quick: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "mine.toml").write_text(MINE, encoding="utf-8")
    path = tmp_path / "sum.toml"
    path.write_text(SUM, encoding="utf-8")
    ran = quick("run", "orchard_pickup", "--case", path, "--case", "road_cornering",
                "--case", tmp_path / "mine.toml", "--json")  # fmt: skip
    assert ran.code == 0, ran.err
    both, corner, bump = json.loads(ran.out)["cases"]
    assert both["road"]["combined"] == [
        {"case": "road_cornering", "factor": 1.0}, {"case": "mine", "factor": 0.5}
    ]  # fmt: skip
    assert both["road"]["weight_counts"] == pytest.approx(2.25)
    for k in range(4):
        up = [c["road"]["wheels"][k]["up_n"] for c in (both, corner, bump)]
        assert up[0] == pytest.approx(up[1] + 0.5 * up[2], rel=1e-12)
    assert "the weight counts 2.25 times" in both["road"]["notes"][0]


def test_a_sum_of_sums_and_of_nothing_known(quick: Run, tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(MINE, encoding="utf-8")
    (tmp_path / "sum.toml").write_text(SUM, encoding="utf-8")
    again = tmp_path / "again.toml"
    again.write_text('title = "x"\n[[combine]]\ncase = "sum"\n', encoding="utf-8")
    ran = quick("run", "orchard_pickup", "--case", again)
    assert ran.code == 2
    assert "a sum is of cases that are no sums themselves" in ran.err
    again.write_text('title = "x"\n[[combine]]\ncase = "nowhere"\n', encoding="utf-8")
    ran = quick("run", "orchard_pickup", "--case", again)
    assert ran.code == 2
    assert "there is no such load case" in ran.err


def test_a_road_case_is_no_frame_and_is_not_meshed_whole(plumbrail: Run, tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(MINE, encoding="utf-8")
    ran = plumbrail("check", path)
    assert ran.code == 2
    assert "this is a load case, not a frame" in ran.err
    ran = plumbrail("verify", "--sheet-metal", "ladder_tubes", "--case", path)
    assert ran.code == 1
    assert "(a vehicle on the road)" in ran.out
