"""`parts`: its tables, JSON, CSV, pictures, and what it refuses."""

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from running import Run

from fea.document.find import find_frame

PNG = b"\x89PNG\r\n\x1a\n"

PARTS = """
[section.new_box]
shape = "box"
depth = "80 mm"
width = "50 mm"
wall = "3 mm"

[[part]]
name = "plates"
[[part.boxing]]
rail = "rail"
from = "600 mm"
to = "1800 mm"
plate = "3 mm"

[[part]]
name = "cross"
[[part.crossmember]]
name = "C"
station = "1500 mm"
section = "new_box"
joint = "web"

[[part]]
name = "tail_plates"
fitted = false
[[part.boxing]]
rail = "rail"
from = "1700 mm"
to = "2400 mm"
plate = "3 mm"
"""


@pytest.fixture
def ladder(tmp_path: Path) -> Path:
    """Return a ladder with three parts, two of which bar each other, and no spring rates."""
    text = find_frame("ladder_web_butt").read_text(encoding="utf-8")
    path = tmp_path / "ladder.toml"
    path.write_text(text + PARTS, encoding="utf-8")
    return path


def record(ran: Any) -> dict[str, Any]:
    assert ran.code == 0, ran.err
    found = json.loads(ran.out)
    assert isinstance(found, dict)
    return found


def test_the_tables(quick: Run) -> None:
    ran = quick("parts", "harbour_tourer", "--workers", "1")
    assert ran.code == 0, ran.err
    assert ran.err == ""
    for text in (
        "Harbour tourer: what each added part buys",
        "Stock frame against 5 parts; joints by beam rules.",
        "mid_mounts: mounts and ties do nothing without a body; choose one with --body.",
        "Twist: each part alone on the stock frame, and left out of all parts",
        "Built up in the document's order",
        "All orders, from 32 sets; joints by beam rules.",
        "boxing_side and x_member hinder each other most",
        "Is it worth it? The axles roll at 741 N m/deg in front and 142 behind",
        "A planning aid, not a certification",
    ):
        assert text in " ".join(ran.out.split())
    for text in ("nan", "None", "Traceback", "\x1b[", "-0.0 %", "+0.0 %"):
        assert text not in ran.out
    tables = [line for line in ran.out.splitlines() if "boxing_side  " in line]
    assert len(tables) == 4
    assert max(len(line.rstrip()) for line in tables) <= 110
    # The ratio to the stock frame comes first, then the absolute figure, that of `run`.
    line = next(x for x in ran.out.splitlines() if x.strip().startswith("as the document fits it"))
    ratio, twist = line.split()[5:7]
    run = record(quick("run", "harbour_tourer", "--case", "twist", "--json"))["cases"][0]
    measured = run["measures"]["twist_stiffness_nm_per_deg"]
    assert float(twist) == pytest.approx(measured, rel=1e-3)
    other = run["ratio_to_stock"]["twist_stiffness_nm_per_deg"]
    assert float(ratio) == pytest.approx(other, rel=1e-3)


def test_json_and_csv(quick: Run, ladder: Path, tmp_path: Path) -> None:
    table = tmp_path / "new" / "parts.csv"
    found = record(quick("parts", ladder, "--json", "--csv", table, "--workers", "1"))
    assert [p["name"] for p in found["parts"]] == ["plates", "cross"]
    assert found["dropped"][0]["part"] == "tail_plates"
    assert found["shares"]["orders"] == "all"
    assert found["shares"]["sets"] == 4
    total = sum(p["twist"]["shapley_part_of_gain"] for p in found["parts"])
    assert total == pytest.approx(1.0, rel=1e-9)
    assert found["full"]["twist_ratio"] > found["parts"][0]["alone"]["twist_ratio"] > 1.0
    assert found["as_fitted"]["parts"] == ["plates", "cross"]
    assert found["worth"]["lacking"].startswith("spring_rate")
    with table.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [r["part"] for r in rows] == ["plates", "cross"]
    assert float(rows[0]["mass_kg"]) == pytest.approx(found["parts"][0]["mass_kg"])
    assert rows[0]["shapley_joints"] == "beam rules"


def test_what_is_dropped_is_told_and_can_be_chosen(quick: Run, ladder: Path) -> None:
    ran = quick("parts", ladder, "--workers", "1")
    assert (
        "Not in the study: tail_plates; it cannot be fitted together with plates: two boxing"
        " plates must not overlap."
    ) in ran.out
    assert "The document does not give spring_rate and spring_base of the front axle" in ran.out
    ran = quick("parts", ladder, "--with", "tail_plates", "--without", "cross", "--workers", "1")
    assert "Not in the study: plates; it cannot be fitted together with tail_plates" in ran.out
    assert "Not in the study: cross; left out as asked." in ran.out
    assert "Stock frame against 1 part;" in ran.out


def test_random_orders_and_stress(quick: Run, ladder: Path) -> None:
    ran = quick("parts", ladder, "--orders", "6", "--stress", "--workers", "1", "--units", "us")
    assert ran.code == 0, ran.err
    assert "6 random orders, 4 sets, with standard error; joints by beam rules." in ran.out
    assert " ± " in ran.out
    assert "Highest stress: each part alone" in ran.out
    for unit in ("ft lbf/deg", "lbf/in", "ksi"):
        assert unit in ran.out
    for line in ran.out.splitlines():
        if line.strip().startswith(("plates  ", "cross  ")):
            assert len(line.rstrip()) <= 110


def test_shares_by_beam_rules_are_told(
    plumbrail: Run, ladder: Path, once: Callable[..., None]
) -> None:
    words = ("parts", ladder, "--shares", "beam", "--workers", "1", "--without", "plates")
    beam = record(plumbrail(*words[:2], "--joints", "beam", "--without", "plates", "--json"))
    once("fea.study.parts.study")
    ran = plumbrail(*words)
    assert ran.code == 0, ran.err
    assert "joints as sheet metal 2 times as coarse as usual, for ranking." in ran.out
    assert "Shares and pairs alone are by beam rules" in ran.out
    assert "in twist the stock frame" in ran.out
    assert ", and in bending the stock frame" in ran.out
    found = record(plumbrail(*words, "--json"))
    assert found["joints"] == {"by": "sheet metal", "coarse": 2.0}
    assert found["shares"]["joints"] == {"by": "beam rules"}
    for one, other in zip(found["parts"], beam["parts"], strict=True):
        assert one["twist"]["shapley_share"] == pytest.approx(
            other["twist"]["shapley_share"], rel=1e-9
        )
        assert one["twist"]["gain_alone"] != pytest.approx(other["twist"]["gain_alone"], rel=1e-4)


@pytest.mark.picture
@pytest.mark.usefixtures("small_pictures")
def test_chart_and_picture(quick: Run, ladder: Path, tmp_path: Path) -> None:
    chart, lines, picture = (tmp_path / name for name in ("c.png", "c.svg", "frame.png"))
    ran = quick("parts", ladder, "--chart", chart, "--png", picture, "--workers", "1")
    assert ran.code == 0, ran.err
    assert f"Wrote {chart}." in ran.out
    assert f"Wrote {picture}." in ran.out
    assert chart.read_bytes().startswith(PNG)
    assert picture.read_bytes().startswith(PNG)
    quick("parts", ladder, "--chart", lines, "--workers", "1")
    first = lines.read_bytes()
    assert b"<svg" in first
    quick("parts", ladder, "--chart", lines, "--workers", "1")
    assert lines.read_bytes() == first


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--joints", "glue"), "unknown joints"),
        (("--shares", "glue"), "unknown joints"),
        (("--joints", "beam", "--shares", "sheet"), "shares cannot take joints as sheet metal"),
        (("--with", "plotes"), 'there is no part "plotes"'),
        (("--with", "plates", "--without", "plates"), "both fitted and left off"),
    ],
)
def test_what_is_refused(
    plumbrail: Run, ladder: Path, words: tuple[str, ...], message: str
) -> None:
    ran = plumbrail("parts", ladder, *words)
    assert ran.code == 2
    assert message in ran.err
    assert ran.out == ""


def test_a_frame_without_parts(plumbrail: Run) -> None:
    ran = plumbrail("parts", "ladder_tubes")
    assert ran.code == 2
    assert "there is no part to study" in ran.err
