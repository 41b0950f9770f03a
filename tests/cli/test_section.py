"""`section`: properties beside a drawing, the open section beside the boxed one."""

import json
import re

import pytest
from handmade import FRAMES, demo
from running import Run

from fea.section.properties import properties


def test_open_beside_boxed(process: Run) -> None:
    ran = process("section", "orchard_pickup", "C150x60")
    assert ran.code == 0
    assert ran.err == ""
    opened, boxed = ran.out.split("C150x60 boxed")
    assert "C150x60 (open, 150 x 60 mm)" in opened
    assert "(closed, " in boxed
    # By hand: 150 x 60 x 4 channel, A = 2 x 58 x 4 + 146 x 4; Cw is of the order of 1e9.
    assert re.search(r"area A +1048\.0 mm2", opened)
    assert re.search(r"Cw \(warping\) +1\.308e\+09 mm6", opened)
    for half in (opened, boxed):
        assert "█" in half
        for mark in ("C", "S", "+"):
            assert mark in half
    assert "T76" not in ran.out
    assert "Traceback" not in ran.out + ran.err


def test_a_drawing_shows_the_shape(plumbrail: Run) -> None:
    """A channel: a wall on one side only, from top to bottom, and two flanges."""
    lines = plumbrail("section", "orchard_pickup", "C150x60").out.splitlines()
    top, *sides, bottom = [line[2:16].rstrip() for line in lines[1:14]]
    assert top.split()[0] == bottom.split()[0] == "█" * 11
    middle = sides.pop(5)
    assert middle.split() == ["C", "+", "S"]
    assert middle.index("+") == 10  # on the web, the reference point
    assert {row.strip() for row in sides} == {"█"}
    assert {row.index("█") for row in sides} == {10}


@pytest.mark.parametrize("name", FRAMES)
def test_the_json_of_every_section(name: str, plumbrail: Run) -> None:
    ran = plumbrail("section", name, "--json")
    assert ran.code == 0
    rows = json.loads(ran.out)["sections"]
    assert len({r["name"] for r in rows}) == len(rows)
    by_name = {
        run.section.name: run.section
        for stock in (True, False)
        for m in demo(name, stock).members
        if m.side != "left"
        for run in m.runs
    }
    assert set(by_name) <= {r["name"] for r in rows}
    for row in rows:
        if row["name"] in by_name:
            p = properties(by_name[row["name"]].midline)
            assert row["area_mm2"] == p.A
            assert row["j_mm4"] == p.J
            assert row["cw_mm6"] == p.Cw
            assert row["closed"] == p.is_closed


def test_boxing_multiplies_the_torsion_constant(plumbrail: Run) -> None:
    rows = json.loads(plumbrail("section", "orchard_pickup", "C120x55", "--json").out)["sections"]
    constant = {r["name"]: r["j_mm4"] for r in rows}
    assert set(constant) == {"C120x55", "C120x55 boxed"}
    assert constant["C120x55 boxed"] > 100.0 * constant["C120x55"]


def test_a_section_that_is_not_there(plumbrail: Run) -> None:
    ran = plumbrail("section", "orchard_pickup", "C150x6")
    assert ran.code == 2
    assert ran.out == ""
    assert 'there is no section "C150x6"' in ran.err
    assert "C150x60" in ran.err


def test_sections_of_a_part_that_is_left_off(plumbrail: Run) -> None:
    ran = plumbrail("section", "orchard_pickup", "C75x40")
    assert ran.code == 0
    assert "C75x40 (open" in ran.out
