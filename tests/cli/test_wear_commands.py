"""Wear told as a range in `sensitivity` and `confidence`; `size` and `confidence` under a body."""

import json
from pathlib import Path
from typing import Any

import pytest
from running import Ran, Run
from study_frames import setting

from fea.document.find import find_frame
from fea.result.answer import NM_PER_DEG
from fea.study.variant import Variant, measure

WIDTH = 110


def record(ran: Ran) -> dict[str, Any]:
    assert ran.code == 0, ran.err
    found = json.loads(ran.out)
    assert isinstance(found, dict)
    return found


@pytest.fixture(scope="module")
def ladder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a teaching ladder with its middle tube worn: somewhere between 5 and 40 %."""
    path = tmp_path_factory.mktemp("wear") / "worn.toml"
    text = find_frame("ladder_tubes").read_text(encoding="utf-8")
    wear = '\n[[wear]]\nmember = "X3"\nloss = "5 % to 40 %"\n'
    path.write_text(text + wear, encoding="utf-8")
    return path


def test_sensitivity_tells_what_a_range_makes(plumbrail: Run, ladder: Path) -> None:
    words = ("sensitivity", ladder, "--key", "wear.1.loss", "--key", "section.rail_channel.wall")
    ran = plumbrail(*words)
    assert ran.code == 0, ran.err
    assert "22.5 +- 17.5 %" in ran.out
    assert "1 % of a wall that wears" in ran.out
    assert all(len(line) <= WIDTH for line in ran.out.splitlines())
    found = record(plumbrail(*words, "--json"))
    rows = {row["path"]: row for row in found["keys"]}
    wear = rows["wear.1.loss"]
    assert (wear["value"], wear["unit"], wear["step"]) == (
        pytest.approx(22.5), "%", "+1 % of the wall",
    )  # fmt: skip
    assert wear["half_width"] == pytest.approx(17.5)
    assert wear["step_twist_gain"] < 0.0
    assert wear["half_width_twist"] == pytest.approx(17.5 * wear["step_twist_gain"], rel=1e-9)
    assert wear["step_kg"] < 0.0
    assert "half_width" not in rows["section.rail_channel.wall"]


def test_confidence_in_sheet_metal_says_what_it_did(plumbrail: Run, ladder: Path) -> None:
    words = ("confidence", ladder, "--joints", "sheet", "--coarse", "3", "--draws", "20",
             "--seed", "3", "--workers", "1")  # fmt: skip
    ran = plumbrail(*words)
    assert ran.code == 0, ran.err
    told = " ".join(ran.out.split())
    assert "Joints as sheet metal 3 times as coarse as usual: 4 frames were solved" in told
    assert "The draw nearest half way to an end was solved in full" in told
    assert all(len(line.rstrip()) <= WIDTH for line in ran.out.splitlines())
    found = record(plumbrail(*words, "--json"))
    assert (found["joints"], found["solves"]) == ("sheet", 4)
    low, high = found["stock"]["twist_stiffness_nm_per_deg"]["draws_5_to_95"]
    assert low < found["stock"]["twist_stiffness_nm_per_deg"]["nominal"] < high
    refused = plumbrail("confidence", ladder, "--joints", "glue")
    assert refused.code == 2
    assert "sheet or beam" in refused.err


def test_size_and_confidence_count_the_body(plumbrail: Run) -> None:
    """The stock frame that targets and gains refer to carries its body, by the same solve."""
    frame = setting("harbour_tourer", body="open")
    stock = (measure(frame, Variant.of(())).twist or 0.0) * NM_PER_DEG
    bare = (measure(setting("harbour_tourer"), Variant.of(())).twist or 0.0) * NM_PER_DEG
    assert stock > 1.2 * bare
    sized = record(
        plumbrail("size", "harbour_tourer", "--body", "open", "--target", "twist=+5%",
                  "--vary", "cross_box", "--gauges", "3 mm", "--without", "boxing_side",
                  "--without", "rear_box", "--joints", "beam", "--json")
    )  # fmt: skip
    assert sized["reached"]
    assert sized["targets"][0]["nm_per_deg"] == pytest.approx(1.05 * stock, rel=1e-9)
    chosen = Variant.of(("cross_box",), edits={"section.B60x60.wall": "3 mm"})
    assert sized["best"]["beam"]["twist_stiffness_nm_per_deg"] == pytest.approx(
        (measure(frame, chosen).twist or 0.0) * NM_PER_DEG, rel=1e-9
    )
    sure = record(
        plumbrail("confidence", "harbour_tourer", "--body", "open", "--without", "cross_box",
                  "--without", "rear_box", "--draws", "20", "--workers", "1", "--tolerance",
                  "part.boxing_side.boxing.1.plate=0.3 mm", "--json")
    )  # fmt: skip
    figures = sure["stock"]["twist_stiffness_nm_per_deg"]
    # The plate is no part of the stock frame.
    assert figures["draws_5_to_95"] == pytest.approx([stock, stock], rel=1e-9)
    gain = sure["gains"]["twist"]["boxing_side"]
    boxed = measure(frame, Variant.of(("boxing_side",))).twist or 0.0
    assert gain["nominal"] == pytest.approx(boxed * NM_PER_DEG / stock - 1.0, rel=1e-9)
    assert gain["draws_5_to_95"][0] < gain["nominal"] < gain["draws_5_to_95"][1]
