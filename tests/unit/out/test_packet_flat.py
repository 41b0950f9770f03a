"""Flat patterns of a packet: true to scale, inside their drawing, with the places of corners."""

import html
import re
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest

from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.frame.build import build_frame
from fea.out.packet_flat import HIGH, SCALES, WIDE, drawing, fitting, flats
from fea.shop.cut_list import Cut, CutList, cut_list
from fea.shop.cut_plates import Blank
from fea.shop.flat import Opening, Pattern

WIDEST = 186.0
"""What A4 leaves between the margins, mm."""


@pytest.fixture(scope="module")
def found() -> CutList:
    path = find_frame("orchard_pickup")
    document = read_frame(path)
    return cut_list(document, build_frame(document, source=str(path)))


def blanks(found: CutList) -> list[tuple[Cut, Blank]]:
    return [(cut, cut.piece) for cut in found.cuts if isinstance(cut.piece, Blank)]


def holed(cut: Cut, piece: Blank) -> tuple[Cut, Blank]:
    """Return the same blank with a row of holes closer than their figures are high, and a slot."""
    holes = [Opening(np.array([200.0 + 8.0 * k, 60.0]), 12.0, 12.0) for k in range(2)]
    holes.append(Opening(np.array([500.0, 60.0]), 60.0, 30.0))
    changed = replace(piece, pattern=replace(piece.pattern, openings=tuple(holes)))
    return replace(cut, piece=changed), changed


def triangle(cut: Cut, piece: Blank) -> tuple[Cut, Blank]:
    outline = np.array([[0.0, 0.0], [90.0, 0.0], [30.0, 70.0]])
    changed = replace(piece, pattern=Pattern(outline), name='gusset "<&>')
    return replace(cut, piece=changed), changed


def every(found: CutList) -> list[tuple[Cut, Blank]]:
    plain = blanks(found)
    return [*plain, holed(*plain[0]), triangle(*plain[0])]


def parsed(cut: Cut, piece: Blank) -> tuple[ElementTree.Element, float]:
    """Return the drawing and how many mm of the blank one of the paper stands for."""
    page = ElementTree.fromstring(drawing(cut, piece, fitting(piece)).text)
    width = re.search(r"width:([0-9.]+)mm", page.get("style") or "")
    assert width is not None
    return page, float((page.get("viewBox") or "").split()[2]) / float(width[1])


def test_true_to_a_usual_scale_and_as_large_as_fits(found: CutList) -> None:
    for cut, piece in every(found):
        page, scale = parsed(cut, piece)
        assert scale == pytest.approx(fitting(piece), rel=1e-3)
        assert fitting(piece) in SCALES
        wide, high = (float(v) for v in (page.get("viewBox") or "").split()[2:])
        assert wide / scale < WIDEST
        assert high / scale < HIGH + 5.0
        at = SCALES.index(fitting(piece))
        if at:
            larger = SCALES[at - 1]
            tight = (piece.pattern.size[0] / larger, piece.pattern.size[1] / larger)
            assert tight[0] > 0.7 * WIDE or tight[1] > 0.5 * HIGH


def test_outline_and_holes_are_the_blank(found: CutList) -> None:
    for cut, piece in every(found):
        page, _ = parsed(cut, piece)
        first = page.find("g/path")
        assert first is not None
        numbers = (first.get("d") or "").replace("M", "").replace("Z", "").split("L")
        rows = np.array([[float(v) for v in p.split()] for p in numbers])
        moved = rows * [1.0, -1.0] - (rows * [1.0, -1.0])[0]
        own = piece.pattern.outline - piece.pattern.outline[0]
        assert np.allclose(moved, own, atol=1e-5)
        group = page.find("g")
        assert group is not None
        assert len(group) == 1 + len(piece.pattern.openings)
        bent = [g for g in page.findall("g") if g.get("stroke-dasharray")]
        assert [len(g) for g in bent] == [len(piece.pattern.bends)] * bool(piece.pattern.bends)


def test_figures_stay_inside_and_apart(found: CutList) -> None:
    for cut, piece in every(found):
        page, scale = parsed(cut, piece)
        wide, high = (float(v) for v in (page.get("viewBox") or "").split()[2:])
        size = next(
            float(g.get("font-size") or 0.0)
            for g in page.findall("g")
            if g.find("text") is not None
        )
        texts = [box(t, size) for t in page.iter("text")]
        for low, top in texts:
            assert (low > -1e-6).all()
            assert (top < [wide, high]).all()
        for k, (low, top) in enumerate(texts):
            for other_low, other_top in texts[k + 1 :]:
                shared = np.minimum(top, other_top) - np.maximum(low, other_low)
                assert min(shared) < 0.25 * size, (cut.number, scale)


def box(text: ElementTree.Element, size: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the corners of a figure on its drawing, its digits 0.56 of its height wide."""
    at = np.array([float(text.get("x") or 0.0), float(text.get("y") or 0.0)])
    long = 0.56 * size * len(text.text or "")
    start = {"start": 0.0, "middle": -0.5, "end": -1.0}[text.get("text-anchor") or "start"] * long
    turned = re.search(r"rotate\((-?[0-9.]+)", text.get("transform") or "rotate(0")
    assert turned is not None
    angle = np.radians(float(turned[1]))
    c, s = np.cos(angle), np.sin(angle)
    corners = np.array([[start, 0.0], [start + long, 0.0], [start, -0.72 * size],
                        [start + long, -0.72 * size]])  # fmt: skip
    on = at + corners @ np.array([[c, s], [-s, c]])
    return on.min(axis=0), on.max(axis=0)


def test_corners_and_notes_stand_under_it(found: CutList) -> None:
    text = html.unescape(flats(found).text)
    assert text.count("<figure") == len(blanks(found)) > 3
    for cut, piece in blanks(found):
        assert f"{cut.number}  {piece.part}: {piece.name}" in text
        assert f"{cut.count} off" in text
        assert f"scale 1:{fitting(piece)}" in text
        for x, y in piece.pattern.outline.tolist():
            assert f"({x + 1e-12:.1f};\u00a0{abs(y):.1f})" in text
    cut, piece = triangle(*blanks(found)[0])
    assert "<&>" not in flats(replace(found, cuts=(cut,))).text
    cut, piece = holed(*blanks(found)[0])
    assert "(500.0;\u00a060.0)" in flats(replace(found, cuts=(cut,))).text
    assert flats(replace(found, cuts=())).text == ""
