"""Names and titles that mean harm to a spreadsheet, a folder, a terminal or a reader of XML."""

import csv
import json
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
from handmade import case, demo
from running import Run

from fea.analyse import analyse
from fea.errors import Complaint
from fea.out.record import write_folder
from fea.result.answer import answers
from fea.result.tabular import csv_text, plain

FORMULAS = ("=1+1", "+cmd|' /C calc'!A1", "-2+3+A1", "@SUM(1+1)")
ESCAPE = "../../x"
ENTITY = '<!DOCTYPE t [<!ENTITY e SYSTEM "file:///etc/passwd">]>&e;'


def written(folder: Path, name: str, replaced: dict[str, str]) -> Path:
    """Write a shipped frame with other names."""
    text = Path(demo(name).source).read_text(encoding="utf-8")
    for old, new in replaced.items():
        assert f'"{old}"' in text
        text = text.replace(f'"{old}"', json.dumps(new, ensure_ascii=False))
    path = folder / "frame.toml"
    path.write_text(text, encoding="utf-8")
    return path


def cells(path: Path) -> list[str]:
    with path.open(encoding="utf-8", newline="") as stream:
        return [cell for row in csv.reader(stream) for cell in row]


@pytest.mark.parametrize("name", FORMULAS)
def test_no_formula_in_a_table(name: str, quick: Run, tmp_path: Path) -> None:
    """A name that a spreadsheet would count out has an apostrophe in front, in every table."""
    path = written(tmp_path, "ladder_tubes", {"X2": name})
    assert quick("run", path, "--out", tmp_path / "out").code == 0
    table = tmp_path / "out" / "frame_twist_members.csv"
    assert f"'{name}" in cells(table)
    assert name not in cells(table)


def test_what_stands_in_a_cell() -> None:
    assert csv_text([["a", None, 1.5, -2], ["=b", "-3.5", "-2 mm", "+1e-3 N/mm"]]) == (
        "a,,1.5,-2\n'=b,-3.5,-2 mm,+1e-3 N/mm\n"
    )
    assert [plain(text) for text in ("-", "", "\t=x", "-5\n=x", "\r@y", "'=z")] == [
        "-", "", "'=x", "'-5 =x", "'@y", "'=z",
    ]  # fmt: skip
    assert csv_text([['say "hi", now']]) == '"say ""hi"", now"\n'


def test_a_formula_in_tables_of_studies(quick: Run, tmp_path: Path) -> None:
    path = written(tmp_path, "ladder_flange_welded_boxed", {"X2": "=1+1"})
    for words in (("envelope", path, "--case", "twist"), ("compare", path)):
        table = tmp_path / f"{words[0]}.csv"
        ran = quick(*words, "--csv", table)
        assert ran.code == 0, ran.err
        assert not [c for c in cells(table) if c.startswith("=")]
        assert [c for c in cells(table) if "=1+1" in c]


def test_names_do_not_lead_out_of_the_folder(quick: Run, plumbrail: Run, tmp_path: Path) -> None:
    """Files are called by the document's file, never by what stands in it."""
    home = tmp_path / "a" / "b" / "c"
    home.mkdir(parents=True)
    names = {"X2": ESCAPE, "boxing_front": f"{ESCAPE}front", "Orchard pickup": ESCAPE}
    path = written(home, "orchard_pickup", names)
    assert quick("run", path, "--case", "twist", "--out", home / "out").code == 0
    for kind in ("dxf", "svg"):
        ran = plumbrail("cutlist", path, f"--{kind}", home / kind)
        assert ran.code == 0, ran.err
    places = {p.relative_to(tmp_path).parts[:3] for p in tmp_path.rglob("*") if p.is_file()}
    assert places == {("a", "b", "c")}
    assert {p.name for p in home.iterdir()} == {"frame.toml", "out", "dxf", "svg"}


def test_markup_in_drawings_is_text(plumbrail: Run, tmp_path: Path) -> None:
    path = written(tmp_path, "orchard_pickup", {"boxing_front": ENTITY})
    assert plumbrail("cutlist", path, "--svg", tmp_path / "svg").code == 0
    drawings = sorted((tmp_path / "svg").iterdir())
    assert drawings
    for drawing in drawings:
        text = drawing.read_text(encoding="utf-8")
        assert "<!" not in text.removeprefix("<?xml")
        ElementTree.fromstring(text)
    assert any("file:///etc/passwd" in d.read_text(encoding="utf-8") for d in drawings)


@pytest.mark.parametrize("code", [0x00, 0x07, 0x0A, 0x1B, 0x7F, 0x9B, 0x2028, 0x202E, 0x2066])
def test_control_characters_are_refused_and_never_printed(
    code: int, plumbrail: Run, tmp_path: Path
) -> None:
    for old in ("X2", "Teaching ladder, square tube crossmembers"):
        path = written(tmp_path, "ladder_tubes", {old: f"a{chr(code)}b"})
        if code == 0x7F:
            path.write_text(path.read_text("utf-8").replace("\x7f", "\\u007F"), "utf-8")
        ran = plumbrail("check", path)
        assert ran.code == 2
        assert f"U+{code:04X}" in ran.err
        assert chr(code) not in ran.err.replace("\n", "")
        assert ran.err.count("where:") == ran.err.count("control characters")


def test_prose_may_have_several_lines(plumbrail: Run, tmp_path: Path) -> None:
    about = "Rails 2400 mm long with their webs 800 mm apart; five equal crossmembers."
    path = written(tmp_path, "ladder_tubes", {about: "One line.\n\tAnother: é, µ, \u00a0, \u200d."})
    assert plumbrail("check", path).code == 0


def test_a_complaint_is_one_short_line_for_each_field() -> None:
    told = str(Complaint("rule\x1b[2J", "a\nb", "x" * 100_000, "é µ"))
    lines = told.split("\n")
    assert lines[0] == r"rule\x1b[2J"
    assert lines[1] == r"  where: a\nb"
    assert lines[2].endswith("...")
    assert len(lines[2]) < 1100
    assert lines[3] == "  do:    é µ"


def test_a_case_made_in_python_stays_in_the_folder(tmp_path: Path) -> None:
    """Without a file its title is its name."""
    twist = replace(case("twist"), name=ESCAPE)
    found = answers(analyse(demo("ladder_tubes"), [twist]))
    paths = write_folder(tmp_path / "a" / "b" / "out", found)
    assert {p.relative_to(tmp_path).parts[:3] for p in paths} == {("a", "b", "out")}
    assert all(path.is_file() for path in paths)
