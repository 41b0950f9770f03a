"""`section`: worn beside new, walls by name, and the drawing."""

import json
from pathlib import Path

import pytest
from running import Run

from fea.document.find import find_frame


@pytest.fixture
def rusty(tmp_path: Path) -> Path:
    path = tmp_path / "rusty.toml"
    text = find_frame("orchard_pickup").read_text(encoding="utf-8")
    path.write_text(text.replace("applied = false", "applied = true"), encoding="utf-8")
    return path


def test_worn_beside_new(rusty: Path, plumbrail: Run) -> None:
    ran = plumbrail("section", rusty, "C150x60")
    assert ran.code == 0
    assert "C150x60 worn 0.8 (open" in ran.out
    assert "walls: bottom flange 3.2, web 3.2, top flange 3.2 mm" in ran.out
    # thin walls: A and Iy by the thickness, J by its cube
    assert (
        "new: A 1048 mm2, now 80.0%; Iy 3.511e+06 mm4, now 80.0%; J 5589 mm4, now 51.2%" in ran.out
    )
    assert "C150x60 boxed worn 0.8 (closed" in ran.out
    rows = json.loads(plumbrail("section", rusty, "C150x60", "--json").out)["sections"]
    row = next(r for r in rows if r["name"] == "C150x60 boxed worn 0.8")
    assert row["walls"][-1] == {"name": "plate", "thickness_mm": 3.0}
    assert row["new"]["name"] == "C150x60 boxed"
    assert row["area_mm2"] < row["new"]["area_mm2"]
    assert next(r for r in rows if r["name"] == "C150x60")["new"] is None


@pytest.mark.picture
def test_a_drawing(plumbrail: Run, tmp_path: Path) -> None:
    png, svg = tmp_path / "c.png", tmp_path / "c.svg"
    ran = plumbrail("section", "orchard_pickup", "C150x60", "--png", png, "--svg", svg)
    assert ran.code == 0
    assert f"wrote {png}" in ran.out
    assert png.read_bytes().startswith(b"\x89PNG")
    assert "C150x60 boxed, closed" in svg.read_text(encoding="utf-8")
    ran = plumbrail("section", "orchard_pickup", "T60", "--json", "--png", png)
    assert json.loads(ran.out)["sections"][0]["name"] == "T60"


def test_a_drawing_needs_a_name_and_the_right_ending(plumbrail: Run, tmp_path: Path) -> None:
    ran = plumbrail("section", "ladder_tubes", "--png", tmp_path / "c.png")
    assert ran.code == 2
    assert "a drawing shows one section" in ran.err
    ran = plumbrail("section", "orchard_pickup", "T60", "--svg", tmp_path / "c.png")
    assert ran.code == 2
    assert "the file of --svg must end in .svg" in ran.err
    assert not list(tmp_path.iterdir())


def test_a_folder_that_cannot_be_written(plumbrail: Run, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    ran = plumbrail("section", "orchard_pickup", "T60", "--png", tmp_path / "file" / "c.png")
    assert ran.code == 2
    assert "could not be written" in ran.err
    assert "Traceback" not in ran.err
