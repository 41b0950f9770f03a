"""Flat patterns: unrolled faces keep their lengths and areas; cut lists weigh what they hold."""

from pathlib import Path

import numpy as np
import pytest

from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.frame.build import build_frame
from fea.shop.cut_list import CutList, cut_list
from fea.shop.cut_plates import Blank
from fea.shop.cut_record import as_csv, as_record, file_stem
from fea.shop.cut_stock import Stock
from fea.shop.flat import Face, Opening, chains, lay_out, pattern

MORE = """
[[hole]]
rail = "rail"
wall = "plate"
diameter = "40 mm"
at = "1500 mm"

[[hole]]
rail = "rail"
side = "right"
wall = "plate"
length = "60 mm"
height = "30 mm"
from = "1600 mm"
to = "1900 mm"
pitch = "100 mm"

[[part]]
name = "=extra"

[[part.bulkhead]]
rail = "rail"
at = ["1400 mm"]
plate = "4 mm"

[[part.crossmember]]
name = "X9"
station = "2700 mm"
section = "B120x50"
joint = "web"
gusset = { legs = "80 mm", wall = "5 mm", at = "both" }
"""


def cuts_of(name: str, more: str = "", folder: Path | None = None) -> CutList:
    """Return the cut list of a shipped frame, with tables added to its document."""
    path = find_frame(name)
    if folder is not None:
        text = path.read_text(encoding="utf-8") + more
        path = folder / f"{name}.toml"
        path.write_text(text, encoding="utf-8")
    document = read_frame(path)
    return cut_list(document, build_frame(document, source=str(path)))


def _bent(*turns: float, lift: float = 0.0) -> list[Face]:
    """Return faces 100 mm long and 50 high that turn in plan, with mitres upright."""
    at, heading, faces = np.zeros(3), 0.0, []
    up = np.array([0.0, 0.0, 50.0])
    for k, turn in enumerate((0.0, *turns)):
        heading += turn
        step = 100.0 * np.array([np.cos(heading), np.sin(heading), lift])
        faces.append(Face(np.array([at, at + up]), np.array([at + step, at + step + up]),
                          100.0 * k, 100.0 * (k + 1)))  # fmt: skip
        at = at + step
    return faces


def test_a_folded_strip_unrolls_to_a_rectangle() -> None:
    laid = lay_out(_bent(0.2, -0.35))
    blank = pattern(laid)
    assert blank.size == pytest.approx((300.0, 50.0), abs=1e-9)
    assert blank.area == pytest.approx(300.0 * 50.0, rel=1e-12)
    assert [b.angle for b in blank.bends] == pytest.approx([0.2, 0.35], abs=1e-9)
    assert [b.to for b in blank.bends] == ["outboard", "inboard"]
    assert [b.line[0, 0] for b in blank.bends] == pytest.approx([100.0, 200.0], abs=1e-9)


def test_a_strip_that_climbs_keeps_lengths_and_area() -> None:
    faces = _bent(0.2, -0.35, lift=0.25)
    laid = lay_out(faces)
    sizes = 100.0 * np.hypot(1.0, 0.25)
    assert laid.edges == pytest.approx((3 * sizes, 3 * sizes), rel=1e-12)
    for face, near, far in zip(faces, laid.rows[:-1], laid.rows[1:], strict=True):
        for a, b, c, d in ((0, 0, 0, 1), (0, 1, 1, 1), (0, 0, 1, 1), (0, 1, 1, 0)):
            ends = (near, far), (face.front, face.rear)
            flat, space = (np.linalg.norm(e[a][b] - e[c][d]) for e in ends)
            assert flat == pytest.approx(space, rel=1e-12)
    assert pattern(laid).area == pytest.approx(3 * 100.0 * 50.0, rel=1e-12)


def test_a_step_begins_a_new_piece() -> None:
    first, second = _bent(0.1)
    aside = Face(second.front + np.array([0.0, 5.0, 0.0]), second.rear, second.start, second.end)
    assert [len(group) for group in chains([first, aside])] == [1, 1]
    assert [len(group) for group in chains([first, second])] == [2]


@pytest.mark.parametrize("name", ["orchard_pickup", "harbour_tourer"])
def test_plates_weigh_their_area_by_wall_by_density(name: str) -> None:
    found = cuts_of(name)
    record = as_record(found)
    for cut, row in zip(found.cuts, record["pieces"], strict=True):
        if not isinstance(cut.piece, Blank):
            continue
        x, y = np.array(row["outline_mm"]).T
        area = 0.5 * abs(x @ np.roll(y, -1) - y @ np.roll(x, -1))
        mass = row["count"] * area * row["wall_mm"] * 7850e-9
        assert row["mass_kg"] == pytest.approx(mass, rel=1e-9)
        assert cut.piece.pattern.gap < 0.2
    assert record["mass_kg"] == pytest.approx(sum(r["mass_kg"] for r in record["pieces"]))


def test_plates_of_the_pickup_by_hand() -> None:
    """In the straight bay: 150 less two walls of 4 high, cut square in front, mitred behind."""
    found = cuts_of("orchard_pickup")
    cab = next(c for c in found.cuts if c.piece.part == "boxing_cab")
    assert isinstance(cab.piece, Blank)
    assert cab.count == 2
    assert cab.piece.pattern.size[1] == pytest.approx(142.0, abs=0.1)
    # Mitred half the kick of 30 over 300 behind: the mean length of the plate is the bay's.
    mean = cab.piece.pattern.area / 142.0
    kick = np.arctan2(30.0, 300.0)
    assert mean == pytest.approx(1100.0, abs=142.0 * np.tan(kick / 2) + 4.0)
    kinks = [c for c in found.cuts if c.piece.part == "boxing_front"]
    assert len(kinks) == 2  # the section steps at A4
    (bend,) = kinks[0].piece.pattern.bends
    assert bend.to == "outboard"
    assert bend.angle == pytest.approx(np.arctan2(15.0, 270.0), abs=2e-3)


def test_holes_bulkheads_and_gussets(tmp_path: Path) -> None:
    plain_one = cuts_of("orchard_pickup")
    found = cuts_of("orchard_pickup", MORE, tmp_path)
    cabs = [c for c in found.cuts if c.piece.part == "boxing_cab"]
    assert [c.count for c in cabs] == [1, 1]  # right and left differ by the slots
    assert [c.sides for c in cabs] == [("right",), ("left",)]
    whole = next(c for c in plain_one.cuts if c.piece.part == "boxing_cab").piece
    slot = 30.0 * 30.0 + np.pi * 15.0**2
    taken = [np.pi * 20.0**2 + 4 * slot, np.pi * 20.0**2]
    for cut, holes in zip(cabs, taken, strict=True):
        assert isinstance(cut.piece, Blank)
        assert isinstance(whole, Blank)
        assert whole.pattern.area - cut.piece.pattern.area == pytest.approx(holes, rel=1e-9)
        assert cut.piece.pattern.openings[0].centre[0] == pytest.approx(550.0, abs=8.0)
    assert [len(c.piece.pattern.openings) for c in cabs] == [5, 1]
    extra = {c.piece.name.split(",")[0]: c for c in found.cuts if c.piece.part == "=extra"}
    bulkhead = extra["bulkhead"].piece
    assert extra["bulkhead"].count == 2
    # Between web, flanges and the plate on the tips' line: 150 - 8 high, 60 - 4 - 1.5 wide.
    assert bulkhead.pattern.size == pytest.approx((54.5, 142.0), abs=1e-9)
    assert bulkhead.weld == pytest.approx(2 * 54.5 + 142.0, abs=1e-9)
    gusset = extra["gusset"]
    assert gusset.count == 8
    assert gusset.piece.pattern.area == pytest.approx(0.5 * 80.0 * 80.0, rel=1e-3)


def test_lengths_of_stock_and_their_ends() -> None:
    x7 = next(c.piece for c in cuts_of("orchard_pickup").cuts if c.piece.name == "X7 closed")
    assert isinstance(x7, Stock)
    assert x7.length == pytest.approx(860.0 - 3.5, abs=1e-6)  # between the webs' faces
    assert x7.mass == pytest.approx(x7.area * x7.length * 7.85e-9, rel=1e-12)
    assert [end.words for end in x7.ends] == ["square", "square"]
    y5 = next(c.piece for c in cuts_of("harbour_tourer").cuts if c.piece.name == "Y5 closed")
    assert isinstance(y5, Stock)
    flare = np.degrees(np.arctan2(20.0, 250.0))
    assert [abs(end.plan) for end in y5.ends] == pytest.approx([flare, flare], abs=0.01)
    assert y5.ends[0].plan == pytest.approx(y5.ends[1].plan, abs=1e-9)


@pytest.mark.parametrize("size", [(40.0, 40.0), (60.0, 30.0), (30.0, 60.0)])
def test_openings(size: tuple[float, float]) -> None:
    one = Opening(np.array([5.0, 7.0]), *size, turn=0.3)
    long, short = max(size), min(size)
    assert one.area == pytest.approx(short * (long - short) + np.pi * short**2 / 4)
    assert np.linalg.norm(np.diff(one.axis, axis=0)) == pytest.approx(long - short)
    assert one.axis.mean(axis=0) == pytest.approx(one.centre)


def test_names_cannot_do_harm(tmp_path: Path) -> None:
    found = cuts_of("orchard_pickup", MORE.replace("X9", "../../x\\\\9 <b>"), tmp_path)
    for line in as_csv(found).splitlines()[1:]:
        assert not any(cell.strip('"').startswith(("=", "+", "@")) for cell in line.split(","))
    for cut in found.cuts:
        assert set(file_stem(cut)) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    stems = [file_stem(cut) for cut in found.cuts]
    assert len(set(stems)) == len(stems)
