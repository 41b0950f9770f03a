"""A packet's pages: what they tell, hostile names, equal bytes, and how they print."""

import base64
import html
import re
import shutil
import struct
import subprocess
import zlib
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from handmade import case

from fea import units
from fea.analyse import analyse
from fea.document.find import find_frame, shipped_cases
from fea.document.read import read_frame, read_text
from fea.frame.build import build_frame
from fea.out import packet_drawing, packet_html
from fea.out.packet import packet
from fea.out.packet_contents import Asked, Contents, gather
from fea.out.packet_pairs import paired
from fea.out.scene import Curve
from fea.result.answer import answers
from fea.study.parts import figure

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")
DEMOS = {"orchard_pickup": "open", "harbour_tourer": None}
EVIL = '"><script>alert(1)</script><img src=x onerror=alert(2)>&'
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
VOID = {"meta", "img", "br", "rect", "line", "polyline", "circle", "path"}


def asked(name: str, body: str | None) -> Asked:
    path = find_frame(name)
    document = read_frame(path)
    frame = build_frame(document, source=str(path), body=body)
    stock = build_frame(document, source=str(path), body=body, stock=True)
    roads = [case(n) for n in sorted(shipped_cases()) if n.startswith("road_")]
    return Asked(
        document, read_text(path), frame, stock, case("twist"), case("bending"), tuple(roads[:4]),
        {"joints": "beam"}, {}, body, None, sheet_joints=False, system="si", stitches={},
    )  # fmt: skip


@cache
def contents(name: str) -> Contents:
    wanted = asked(name, DEMOS[name])
    assert wanted.stock is not None
    tests = (wanted.twist, wanted.bending)
    now, stock = (answers(analyse(f, tests)) for f in (wanted.frame, wanted.stock))
    return gather(wanted, now, stock)


@cache
def text_of(name: str) -> str:
    return packet(contents(name))


class Reader(HTMLParser):
    """Keeps the plain text, the tags, and whether they close in order."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.open: list[str] = []
        self.said: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open[-1:] not in (["style"], ["title"]):
            self.said.append(data)

    @property
    def words(self) -> str:
        return " ".join(" ".join(self.said).split())


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("name", DEMOS)
def test_every_chapter_tells_what_the_results_say(name: str) -> None:
    found = contents(name)
    reader = Reader(text_of(name))
    assert reader.open == []
    words = reader.words
    frame, base = found.asked.frame, found.stock
    assert base is not None
    now, was = found.now[0].twist_stiffness, base[0].twist_stiffness
    assert now is not None
    assert was is not None
    assert f"{now / was:.2f} x stock" in words
    for value in (now, was):
        assert flat(units.show(value, "rotational_stiffness")) in words
    for part in frame.parts:
        assert part.name in words
        assert part.about in words
    for member in frame.members:
        if member.kind == "crossmember":
            assert member.name in words
    for answer in (*found.now, *base):
        assert f"{answer.checks.residual:.0e}" in words
    for title in (
        "What was asked", "Stiffness, before and after", "Where it is soft",
        "What each part buys", "One more tie", "Highest stress", "Welds and bolts", "Cut list",
        "Measuring the frame: form", "Stands for welding", "Order of welding",
        "Assumptions, cautions, checks",
    ):  # fmt: skip
        assert title in words
    assert found.asked.fingerprint in words
    assert f"{found.validation} validation cases" in words
    assert "local codes and a licensed engineer decide" in words
    assert "nan" not in words.split()


@pytest.mark.parametrize("name", DEMOS)
def test_studies_stand_in_the_tables(name: str) -> None:
    found = contents(name)
    words = Reader(text_of(name)).words
    study, strong, cuts = found.parts, found.strength, found.cuts
    assert not isinstance(study, str)
    assert not isinstance(strong, str)
    assert not isinstance(cuts, str)
    for k in range(len(study.names)):
        assert f"{study.ratio(1 << k, 'twist'):.3f}" in words
    shares = sum(study.share(k, "twist")[0] for k in range(len(study.names)))
    stock = figure(study.figures[0], "twist")
    gained = figure(study.figures[study.full], "twist") / stock - 1.0
    assert shares == pytest.approx(gained, rel=1e-9)
    for item in strong.joints:
        if item.weld is not None:
            leg = units.show(item.weld.leg, "thickness", digits=2)
            assert leg in words
            assert item.weld.weld.about in words
    assert len(strong.seams) > 0
    for cut in cuts.cuts:
        assert cut.piece.name in words
        assert units.show(cut.mass, "mass") in words
    assert not isinstance(found.loaded, str)
    for answer in found.loaded.answers:
        assert answer.case.title in words
    assert not isinstance(found.stands, str)
    assert not isinstance(found.welding, str)
    for force in found.stands.sets[0].forces.tolist():
        assert units.show(force, "force") in words
    text = text_of(name)
    steps = len(found.welding.schedule.steps)
    section = text[text.index('<section id="order"') : text.index('<section id="checks"')]
    numbered = re.findall(r'<td class="n">(\d+)</td><td>', section)
    assert sorted(map(int, numbered)) == list(range(1, steps + 1))


def test_ties_with_a_body_and_a_reason_without() -> None:
    words = Reader(text_of("orchard_pickup")).words
    ties = contents("orchard_pickup").ties
    assert not isinstance(ties, str)
    assert all(c.name in words for c in ties.candidates)
    assert "on rubber mounts" in words
    assert "Not told: no body was chosen" in Reader(text_of("harbour_tourer")).words


def test_hostile_names_stay_text() -> None:
    found = contents("harbour_tourer")
    frame = found.asked.frame
    members = tuple(replace(m, name=f"{EVIL} {m.name}") for m in frame.members)
    joints = tuple(
        replace(j, member=f"{EVIL} {j.member}", onto=f"{EVIL} {j.onto}") for j in frame.joints
    )
    parts = tuple(replace(p, about=EVIL) for p in frame.parts)
    evil = replace(
        frame, title=EVIL, members=members, joints=joints, parts=parts, notes=(EVIL,), mounts=()
    )
    now = tuple(replace(a, case=replace(a.case, title=EVIL), assumed=(EVIL,)) for a in found.now)
    options = {EVIL: EVIL}
    hostile = replace(
        found, asked=replace(found.asked, frame=evil, options=options), now=now,
        parts=EVIL, loaded=EVIL, strength=EVIL, ties=EVIL,
    )  # fmt: skip
    reader = Reader(packet(hostile))
    assert "script" not in reader.tags
    assert reader.tags.count("img") == 1  # the picture
    assert not [name for name, _ in reader.attributes if name.startswith("on")]
    assert reader.words.count("<script>alert(1)</script>") > 10


def test_nothing_leads_outside() -> None:
    text = text_of("orchard_pickup")
    reader = Reader(text)
    for name, value in reader.attributes:
        if name in ("src", "href", "xlink:href", "data", "action"):
            assert str(value).startswith("data:image/png;base64,")
    assert "url(" not in text
    assert "@import" not in text
    assert "default-src 'none'" in text


def test_the_picture_is_a_whole_png_with_a_frame_in_it() -> None:
    code = re.search(r'src="data:image/png;base64,([^"]+)"', text_of("orchard_pickup"))
    assert code is not None
    data = base64.b64decode(code[1], validate=True)
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    wide, high = struct.unpack(">II", data[16:24])
    assert wide > high > 300
    packed, at = b"", 8
    while at < len(data):
        size, kind = struct.unpack(">I4s", data[at : at + 8])
        packed += data[at + 8 : at + 8 + size] if kind == b"IDAT" else b""
        at += 12 + size
    pixels = np.frombuffer(zlib.decompress(packed), np.uint8)
    assert len(np.unique(pixels)) > 100


def test_fingerprint_follows_text_and_options() -> None:
    one = contents("harbour_tourer").asked
    assert one.fingerprint == replace(one).fingerprint
    assert replace(one, text=one.text + "\n").fingerprint != one.fingerprint
    assert replace(one, options={"joints": "sheet"}).fingerprint != one.fingerprint


def test_gathered_anew_it_is_the_same_text() -> None:
    first = text_of("harbour_tourer")
    contents.cache_clear()
    assert packet(contents("harbour_tourer")) == first


def test_without_parts_the_chapters_say_why() -> None:
    wanted = asked("harbour_tourer", None)
    bare = replace(
        wanted, frame=wanted.stock, stock=None, document=wanted.document.model_copy(
            update={"part": []}
        ),
    )  # fmt: skip
    now = answers(analyse(bare.frame, (bare.twist, bare.bending)))
    words = Reader(packet(gather(bare, now, None))).words
    assert "the document offers no part to fit" in words
    assert "No part is fitted that needs cutting" in words
    assert "no part is fitted, so nothing is welded" in words
    assert "x stock" not in words


def test_pairs_keep_the_worse_of_two_sides() -> None:
    items = [("X1 on rail left", 1.0), ("X2 on rail left", 5.0), ("X1 on rail right", 2.0)]
    found = list(paired(items, lambda i: i[0], lambda i: i[1]))
    assert found == [("X1 on both rails", items[2]), ("X2 on rail left", items[1])]


def test_table_escapes_and_glues_figures_to_units() -> None:
    text = packet_html.table("<t>", ("<h>",), [("3 mm (0.1 in)",)], (0,)).text
    assert "<t>" not in text
    assert "<h>" not in text
    assert "3\u00a0mm\u00a0(0.1\u00a0in)" in text
    assert packet_html.table("t", ("h",), []).text == ""


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (-3e-7, 2e-7), (-1234.0, 5.0), (2.0, 2.0)])
def test_curves_stay_inside_their_drawing(low: float, high: float) -> None:
    stations = np.linspace(-600.0, 3900.0, 30)
    line = Curve("frame", "mm", stations, np.linspace(low, high, 30), False)
    text = packet_drawing.curves("Movement", [line], [0.0, 2900.0]).text
    size = re.search(r'viewBox="0 0 (\d+) (\d+)"', text)
    points = re.search(r'<polyline points="([^"]+)"', text)
    assert size is not None
    assert points is not None
    at = np.array([p.split(",") for p in points[1].split()], dtype=float)
    assert (at > 0.0).all()
    assert (at < [float(size[1]), float(size[2])]).all()


def printed(text: str, paper: str, folder: Path) -> list[str]:
    """Print through a browser on a paper; return the text of each page."""
    if BROWSER is None or shutil.which("pdftotext") is None:
        pytest.skip("no chromium or no pdftotext on this machine")
    wide, high = PAPERS[paper]
    sized = text.replace("</style>", f"@page {{ size: {wide}mm {high}mm; }}</style>")
    page, pdf = folder / "packet.html", folder / "packet.pdf"
    page.write_text(sized, encoding="utf-8")
    subprocess.run(
        [BROWSER, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync",
         f"--user-data-dir={folder / 'profile'}", "--no-pdf-header-footer",
         f"--print-to-pdf={pdf}", page.as_uri()],
        capture_output=True, timeout=120, check=True,
    )  # fmt: skip
    done = subprocess.run(
        ["pdftotext", "-raw", str(pdf), "-"], capture_output=True, text=True, check=True
    )
    return done.stdout.split("\f")[:-1]


@pytest.mark.slow
@pytest.mark.picture
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", DEMOS)
def test_prints_on_both_papers(name: str, paper: str, tmp_path: Path) -> None:
    text = text_of(name)
    pages = printed(text, paper, tmp_path)
    assert 8 <= len(pages) <= 24
    # No page is left nearly empty but the last.
    assert min(len(p.split()) for p in pages[:-1]) > 25
    whole = "".join("".join(pages).split())
    for title in re.findall(r"<caption>([^<]+)</caption>", text):
        told = "".join(re.sub("&[^;]+;", "", title).split())
        assert told in whole
    # The head of a table and its last row stand on one page.
    joined = ["".join(p.split()) for p in pages]
    tables = re.findall(r'<table class="[^"]*whole[^"]*">(.*?)</table>', text, re.S)
    assert len(tables) > 12
    for body in tables:
        rows = re.findall(r"<caption>.*?</caption>|<tr>.*?</tr>", body, re.S)
        first, last = (start_of(row) for row in (rows[0], rows[-1]))
        assert any(first in p and last in p for p in joined), (first, last)


def start_of(row: str) -> str:
    """Return the first letters of a row's first cell that says something."""
    cells = [html.unescape(c) for c in re.findall(r">([^<]+)<", row)]
    return next(("".join(c.split())[:16] for c in cells if c.strip()), "")


@pytest.mark.slow
@pytest.mark.picture
@pytest.mark.parametrize("name", DEMOS)
def test_nothing_is_wider_than_the_paper(name: str, tmp_path: Path) -> None:
    if BROWSER is None:
        pytest.skip("no chromium on this machine")
    # 186 mm, what A4 leaves between the margins, at 96 pixels an inch; scripts are let in here.
    text = re.sub(r"<meta http-equiv=[^>]+>", "", text_of(name))
    script = (
        "const wide = 186 / 25.4 * 96 + 1; document.body.style.cssText = 'margin:0;padding:0;"
        "max-width:none;width:186mm'; const off = [...document.querySelectorAll('table,td,th,p,"
        "li,svg,img,h1,h2,h3,pre,figure')].filter(e => e.getBoundingClientRect().right > wide);"
        "document.title = 'seen ' + document.querySelectorAll('table').length + ' off ' +"
        "off.map(e => e.tagName + ':' + e.textContent.slice(0, 60)).join('|');"
    )
    page = tmp_path / "packet.html"
    page.write_text(text.replace("</body>", f"<script>{script}</script></body>"), encoding="utf-8")
    done = subprocess.run(
        [BROWSER, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync",
         f"--user-data-dir={tmp_path / 'profile'}", "--dump-dom", page.as_uri()],
        capture_output=True, text=True, timeout=120, check=True,
    )  # fmt: skip
    title = re.search(r"<title>seen (\d+) off (.*?)</title>", done.stdout, re.S)
    assert title is not None
    assert int(title[1]) > 15
    assert title[2] == ""
