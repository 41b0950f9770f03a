"""`plumbrail stands` and `plumbrail locked`: what they print, write and refuse."""

import json
import re
from pathlib import Path

import pytest
from running import ROOT, Run

TWISTED = ROOT / "models" / "survey_orchard_pickup_twisted.csv"


@pytest.fixture
def shape(plumbrail: Run, tmp_path: Path) -> Path:
    """Return the adjusted points of the pickup's twisted survey."""
    path = tmp_path / "shape.csv"
    assert plumbrail("survey", "orchard_pickup", TWISTED, "--fitted", path).code == 0
    return path


# -------------------------------------------------------------------------------- stands


def test_four_stands_under_a_bare_frame(plumbrail: Run) -> None:
    ran = plumbrail("stands", "orchard_pickup", "--stock")
    assert ran.code == 0
    said = re.sub(r"\s+", " ", ran.out)
    for text in ("Orchard pickup: 4 stands", "It weighs 935 N", "Keep the stands level within",
                 "Never a jack alone", "level concrete", "rated", "local codes"):  # fmt: skip
        assert text in said
    assert max(map(len, ran.out.splitlines())) <= 110


def test_more_stands_sag_less_and_json_tells_the_same(plumbrail: Run) -> None:
    sag = {}
    for count in (4, 6):
        ran = plumbrail("stands", "harbour_tourer", "--count", count, "--laden", "--json")
        found = json.loads(ran.out)
        first = found["sets"][0]
        assert len(first["stands"]) == count
        loads = [s["load_n"] for s in first["stands"]]
        assert min(loads) > 0.0
        assert sum(loads) == pytest.approx(found["weight_n"], rel=1e-9)
        assert found["weight_n"] > 15e3
        assert len(found["off_level"]) == 2 * count
        sag[count] = first["largest_height_off_mm"]
    assert sag[6] < 0.7 * sag[4]


def test_stands_of_ones_own_and_allowed_places(plumbrail: Run) -> None:
    own = plumbrail("stands", "orchard_pickup", "--stand", "0 mm", "--stand", "2900 mm", "--json")
    (only,) = json.loads(own.out)["sets"]
    assert only["stations_mm"] == [0.0, 2900.0]
    some = plumbrail(
        "stands", "orchard_pickup", "--allowed", "-100 mm to 100 mm", "--allowed", "2900 mm",
        "--allowed", "3050 mm", "--least", "rms", "--json",
    )  # fmt: skip
    for one in json.loads(some.out)["sets"]:
        assert set(one["stations_mm"]) <= {-100.0, 0.0, 100.0, 2900.0, 3050.0}


def test_bad_options_of_stands_are_told_all_at_once(plumbrail: Run) -> None:
    ran = plumbrail("stands", "orchard_pickup", "--count", 5, "--least", "mean", "--step", "2 kg")
    assert ran.code == 2
    for text in ("4, 6 or 8", "max or rms", "--step"):
        assert text in ran.err
    ran = plumbrail("stands", "orchard_pickup", "--stand", "0 mm", "--stand", "400 mm")
    assert ran.code == 2
    assert "must not tip off" in ran.err
    assert plumbrail("stands", "orchard_pickup", "--tolerance", "0 deg").code == 2
    assert plumbrail("stands", "orchard_pickup", "--stand", "0 mm").code == 2


@pytest.mark.picture
def test_stands_from_above(plumbrail: Run, tmp_path: Path) -> None:
    path = tmp_path / "stands.png"
    ran = plumbrail("stands", "orchard_pickup", "--png", path)
    assert f"Wrote {path}." in ran.out
    assert path.stat().st_size > 20_000


# -------------------------------------------------------------------------------- locked


def test_what_welding_locks_in(quick: Run, shape: Path) -> None:
    ran = quick("locked", "orchard_pickup", "--shape", shape)
    assert ran.code == 0
    said = re.sub(r"\s+", " ", ran.out)
    for text in ("Welded as it stands, it keeps its shape", "springs back", "Taken out before: X7",
                 "X8", "Clamps", "local codes"):  # fmt: skip
        assert text in said
    assert max(map(len, ran.out.splitlines())) <= 110


def test_locked_as_json_part_by_part(quick: Run, shape: Path) -> None:
    back = {}
    for parts in ("boxing_cab", "boxing_front,boxing_cab,boxing_kick_up,boxing_rear"):
        ran = quick("locked", "orchard_pickup", "--shape", shape, "--parts", parts, "--json")
        found = json.loads(ran.out)
        assert found["parts"] == parts.split(",")
        assert found["gaps_per_mm"] == []
        (twist,) = (m for m in found["forced"]["measures"] if m["measure"] == "twist")
        assert twist["surveyed_deg"] == pytest.approx(0.35, abs=0.06)
        back[parts] = twist["springs_back"]
        forces = [c["force_n"] for c in found["forced"]["clamps"]]
        assert sum(forces) == pytest.approx(0.0, abs=1e-3)
    few, many = back.values()
    assert many < 0.6 * few  # the stiffer the parts, the less springs back


def test_clamps_of_ones_own_and_a_chain(quick: Run, shape: Path) -> None:
    ran = quick(
        "locked", "orchard_pickup", "--shape", shape, "--clamp", "A2", "--clamp", "A9", "--square",
        "--json",
    )  # fmt: skip
    clamps = json.loads(ran.out)["forced"]["clamps"]
    assert [c["at"] for c in clamps[:4]] == ["A2 right", "A2 left", "A9 right", "A9 left"]
    assert clamps[4]["at"].startswith("chain A1 ")


def test_bad_input_of_locked(quick: Run, shape: Path, tmp_path: Path) -> None:
    assert "point" in quick("locked", "orchard_pickup", "--shape", TWISTED).err
    ran = quick("locked", "orchard_pickup", "--shape", shape, "--clamp", "A99")
    assert ran.code == 2
    assert "A99" in ran.err
    ran = quick("locked", "orchard_pickup", "--shape", tmp_path / "none.csv")
    assert ran.code == 2
    both = ("--parts", "mid_tube", "--with", "x_member")
    assert quick("locked", "orchard_pickup", "--shape", shape, *both).code == 2
