"""A packet's pages: what they tell, hostile names, equal bytes."""

import base64
import html
import re
import struct
import zlib
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest
from packets import asked, bare, contents, gathered, made, text

from fea import units
from fea.out import packet_drawing, packet_html
from fea.out.packet_contents import release
from fea.out.packet_pairs import paired
from fea.out.scene import Curve
from fea.out.survey_sheet import blocks, form
from fea.shop.survey_plan import plan
from fea.study.compare import State, compare
from fea.study.compare_record import sentence
from fea.study.parts import figure

EVIL = '"><script>alert(1)</script><img src=x onerror=alert(2)>&'
VOID = {"meta", "img", "br", "rect", "line", "polyline", "circle", "path"}


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


def test_every_chapter_tells_what_the_results_say() -> None:
    found = contents()
    reader = Reader(text())
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
        assert answer.round_off is not None
        assert f"{answer.condition:.0e} {answer.round_off:.0e}" in words
    for title in (
        "What was asked", "Stiffness, before and after", "Where it is soft",
        "What each part buys", "One more tie", "Highest stress", "Welds and bolts", "Cut list",
        "Measuring the frame: form", "Stands for welding", "Order of welding",
        "Assumptions, cautions, checks",
    ):  # fmt: skip
        assert title in words
    assert found.asked.fingerprint in words
    assert f"{found.validation} validation cases" in words
    assert f"Plumbrail {release()}" in words
    assert "local codes and a licensed engineer decide" in words
    assert "nan" not in words.split()


def test_studies_stand_in_the_tables() -> None:
    found = contents()
    words = Reader(text()).words
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
    steps = len(found.welding.schedule.steps)
    section = text()[text().index('<section id="order"') : text().index('<section id="checks"')]
    numbered = re.findall(r'<td class="n">(\d+)</td><td>', section)
    assert sorted(map(int, numbered)) == list(range(1, steps + 1))


def test_ties_with_a_body_and_a_reason_without() -> None:
    words = Reader(text()).words
    ties = contents().ties
    assert not isinstance(ties, str)
    assert sum(c.name in words for c in ties.candidates) >= min(len(ties.candidates), 8) > 0
    assert "on rubber mounts" in words
    assert "Not told: no body was chosen" in Reader(bare()).words


def test_before_and_after_stand_side_by_side_at_one_scale() -> None:
    found = contents()
    assert found.stock is not None
    section = text()[text().index('<section id="stiffness"') : text().index('<section id="frame"')]
    now, was = (a[0].twist_stiffness or 0.0 for a in (found.now, found.stock))
    pair = re.search(r'<rect[^>]* width="([0-9.]+)".*?<rect[^>]* width="([0-9.]+)"', section)
    assert pair is not None
    assert float(pair[2]) == 100.0
    assert float(pair[1]) == pytest.approx(100.0 * was / now, abs=0.06)
    assert section.count("<img") == 1
    states = [State(n, t[0].frame, t) for n, t in (("stock", found.stock), ("now", found.now))]
    worse = compare(*states).places
    assert len(worse) > 0
    assert html.escape(sentence(worse[0], case=True)) in section


def test_the_form_is_that_of_survey() -> None:
    frame = contents().asked.frame
    planned = plan(frame)
    alone, found = form(frame, planned), blocks(frame, planned)
    assert sum(b.body.count("<table") for b in found) == 3
    for block in found:
        assert block.body in alone
        assert block.body in text()
        assert html.escape(block.title) in text()
    assert [len(re.findall(f"<h{k}", alone)) for k in (1, 2, 3)] == [1, len(found) - 1, 0]


def test_hostile_names_stay_text() -> None:
    found = contents()
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
    reader = Reader(made(hostile, dots=30.0))
    assert "script" not in reader.tags
    assert reader.tags.count("img") == 2  # the pictures
    assert not [name for name, _ in reader.attributes if name.startswith("on")]
    assert reader.words.count("<script>alert(1)</script>") > 10


def test_nothing_leads_outside() -> None:
    reader = Reader(text())
    for name, value in reader.attributes:
        if name in ("src", "href", "xlink:href", "data", "action"):
            assert str(value).startswith("data:image/png;base64,")
    assert "url(" not in text()
    assert "@import" not in text()
    assert "default-src 'none'" in text()


def test_the_pictures_are_whole_pngs_with_a_frame_in_them() -> None:
    codes = re.findall(r'src="data:image/png;base64,([^"]+)"', text())
    assert len(codes) == 2
    for code in codes:
        data = base64.b64decode(code, validate=True)
        assert data[:8] == b"\x89PNG\r\n\x1a\n"
        wide, high = struct.unpack(">II", data[16:24])
        assert wide > high > 250
        packed, at = b"", 8
        while at < len(data):
            size, kind = struct.unpack(">I4s", data[at : at + 8])
            packed += data[at + 8 : at + 8 + size] if kind == b"IDAT" else b""
            at += 12 + size
        pixels = np.frombuffer(zlib.decompress(packed), np.uint8)
        assert len(np.unique(pixels)) > 100


def test_fingerprint_follows_text_and_options() -> None:
    one = contents().asked
    assert one.fingerprint == replace(one).fingerprint
    assert replace(one, text=one.text + "\n").fingerprint != one.fingerprint
    assert replace(one, options={"joints": "sheet"}).fingerprint != one.fingerprint


def test_gathered_anew_it_is_the_same_text() -> None:
    assert made(gathered(asked())) == text()


def test_without_parts_the_chapters_say_why() -> None:
    words = Reader(bare()).words
    assert "the document offers no part to fit" in words
    assert "No part is fitted that needs cutting" in words
    assert "no part is fitted, so nothing is welded" in words
    assert "Parts fitted none: the stock frame" in words
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
    wide = packet_html.table("", ("h",), [("1793 N m/deg (1322 ft lbf/deg)",)], (0,)).text
    kept = '<span class="k">{}</span>'
    parts = (kept.format(t.replace(" ", "\u00a0")) for t in ("1793 N m/deg", "(1322 ft lbf/deg)"))
    assert f'<td class="n">{" ".join(parts)}</td>' in wide


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
