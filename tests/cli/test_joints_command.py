"""`plumbrail joints`: its tables, its JSON, what it refuses."""

import json
from pathlib import Path
from typing import Any

import pytest
from running import Run

from fea.document.find import find_frame

STITCHED = """
[[part]]
name = "plates"
[[part.boxing]]
rail = "rail"
from = "600 mm"
to = "1800 mm"
plate = "3 mm"
stitch = { weld = "25 mm", pitch = "100 mm" }

[[part]]
name = "gearbox"
[[part.crossmember]]
name = "G"
station = "1500 mm"
section = "new_box"
joint = "bolted"
bolts = 4
bolt = "M10"
bolt_spacing = "40 mm"
bracket_wall = "5 mm"

[section.new_box]
shape = "box"
depth = "60 mm"
width = "50 mm"
wall = "3 mm"
"""


@pytest.fixture
def ladder(tmp_path: Path) -> Path:
    text = find_frame("ladder_web_butt").read_text(encoding="utf-8")
    path = tmp_path / "ladder.toml"
    path.write_text(text + STITCHED, encoding="utf-8")
    return path


def record(ran: Any) -> dict[str, Any]:
    assert ran.code == 0, ran.err
    found: dict[str, Any] = json.loads(ran.out)
    return found


def test_tables_of_welds_seams_and_cautions(quick: Run) -> None:
    ran = quick("joints", "orchard_pickup", "--case", "twist", "--case", "bending")
    assert ran.code == 0, ran.err
    for text in (
        "the worst of twist, bending",
        "electrode 483 MPa",
        "X1 on both rails",
        "Weld taken as outline on the wall: X1",
        "Not sized: X3",
        "boxing_front on both rails",
        "throat of the weld",
        "(from memory)",
        "nothing of a life",
        "local codes",
    ):
        assert text in ran.out, text
    assert " years" not in ran.out
    assert max(map(len, ran.out.splitlines())) <= 112


def test_all_road_cases_unless_told_otherwise(quick: Run) -> None:
    found = record(quick("joints", "harbour_tourer", "--json"))
    assert len(found["cases"]) >= 10
    assert all(name.startswith("road_") for name in found["cases"])
    assert {j["governed_by"] for j in found["joints"]} <= set(found["cases"])


def test_a_ladder_without_masses_takes_twist_and_bending(quick: Run) -> None:
    assert record(quick("joints", "ladder_web_butt", "--json"))["cases"] == ["twist", "bending"]


def test_bolts_and_stitches_of_the_document(ladder: Path, quick: Run) -> None:
    ran = quick("joints", ladder)
    assert ran.code == 0, ran.err
    for text in ("4 x 10 mm", "25 in 100 mm", "Worst bolt", "seam, stitched"):
        assert text in ran.out, text
    found = record(quick("joints", ladder, "--json", "--torque", "45 N m", "--bolt-class", "10.9"))
    bolted = [j["bolts"] for j in found["joints"] if j["bolts"]]
    assert {b["count"] for b in bolted} == {4}
    assert {b["preload_n"] for b in bolted} == {45e3 / (0.2 * 10.0)}
    for seam in found["seams"]:
        assert seam["stitch_mm"] == [25.0, 100.0]
        assert seam["load_n_per_mm_of_weld"] == pytest.approx(4.0 * seam["shear_flow_n_per_mm"])


def test_a_stronger_rod_and_a_larger_leg_use_less(quick: Run) -> None:
    one, two = (
        record(quick("joints", "ladder_web_butt", "--json", "--electrode", e, "--leg", leg))
        for e, leg in (("480 MPa", "4 mm"), ("600 MPa", "8 mm"))
    )
    for a, b in zip(one["joints"], two["joints"], strict=True):
        assert a["weld"]["use"] == pytest.approx(2.5 * b["weld"]["use"])
        assert a["weld"]["required_leg_mm"] == pytest.approx(1.25 * b["weld"]["required_leg_mm"])
        assert a["weld"]["load_n_per_mm"] == b["weld"]["load_n_per_mm"]


def test_both_systems_of_units(quick: Run) -> None:
    ran = quick("joints", "ladder_web_butt", "--units", "us")
    assert ran.code == 0, ran.err
    assert "lbf/in" in ran.out


def test_all_that_is_wrong_with_the_options_is_told_at_once(plumbrail: Run) -> None:
    ran = plumbrail(
        "joints", "ladder_web_butt", "--electrode", "480 mm", "--leg", "0 mm", "--torque", "tight",
        "--bolt-class", "8.9", "--joints", "glue",
    )  # fmt: skip
    assert ran.code == 2
    for text in ("--electrode", "--leg", "--torque", "--bolt-class", "unknown joints", "8.8"):
        assert text in ran.err, text
    assert "Traceback" not in ran.err


def test_an_unknown_case_is_refused(quick: Run) -> None:
    ran = quick("joints", "ladder_web_butt", "--case", "no_such_case")
    assert ran.code == 2
    assert "no_such_case" in ran.err
