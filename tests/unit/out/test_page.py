"""The stand-alone page as text: data whole, names harmless, no way to the network."""

import base64
import dataclasses
import hashlib
import json
import re
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from fea.out import page
from fea.out.scene import Curve, Scene

EVIL = "</script><script>alert(1)</script><img src=x onerror=alert(2)>\u2028&amp;@@SCRIPT@@"


@pytest.fixture(scope="module")
def plain(sample: ModuleType) -> Scene:
    return sample.build(10, 4)  # type: ignore[no-any-return]


@pytest.fixture(scope="module")
def evil(plain: Scene) -> Scene:
    """Return the scene with every text replaced by one that would like to be code."""
    walls = plain.walls
    fields = tuple(dataclasses.replace(f, name=EVIL, unit=EVIL) for f in walls.fields)
    return dataclasses.replace(
        plain,
        title=EVIL, subtitle=EVIL, facts=((EVIL, EVIL),), notes=(EVIL,), soft=((EVIL, 50.0),),
        profile_title=EVIL, stations=((0.0, EVIL),),
        walls=dataclasses.replace(walls, members=(EVIL,) * len(walls.members),
                                  sections=(EVIL,) * len(walls.sections), fields=fields),
        lines=tuple(dataclasses.replace(line, name=EVIL, part=EVIL) for line in plain.lines),
        marks=tuple(dataclasses.replace(mark, text=EVIL) for mark in plain.marks),
        profile=tuple(dataclasses.replace(c, name=EVIL, unit=EVIL) for c in plain.profile),
    )  # fmt: skip


def data_of(text: str) -> dict[str, object]:
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', text, re.S)
    assert found is not None
    return json.loads(found[1])  # type: ignore[no-any-return]


def unpacked(text: str, kind: str) -> np.ndarray:  # type: ignore[type-arg]
    return np.frombuffer(base64.b64decode(text), dtype=kind)


def test_names_cannot_become_code(plain: Scene, evil: Scene) -> None:
    harmless, text = page.page(plain, 50.0), page.page(evil, 50.0)
    for start in ("<script", "</script", "<img"):
        assert text.lower().count(start) == harmless.lower().count(start)
    assert "alert(1)</" not in text
    assert "\u2028" not in text.split('id="data"')[1]
    assert data_of(text)["title"] == EVIL  # and yet it comes through whole


def test_page_runs_its_own_script_only(plain: Scene) -> None:
    text = page.page(plain, 50.0)
    assert "default-src 'none'" in text
    for kind, tag in (("script", "<script>"), ("style", "<style>")):
        body = text.split(tag, 1)[1].split(f"</{kind}>", 1)[0]
        stated = re.search(rf"{kind}-src 'sha256-([^']+)'", text)
        assert stated is not None
        digest = hashlib.sha256(body.encode()).digest()
        assert base64.b64decode(stated[1]) == digest


def test_page_names_no_address(plain: Scene) -> None:
    text = page.page(plain, 50.0).replace("http://www.w3.org/2000/svg", "")  # a name, not a place
    assert not re.search(r"https?:|//[a-z]+\.[a-z]|\bsrc=|\bhref=|@import|url\(", text)
    assert "innerHTML" not in text
    assert "@@" not in text


def test_arrays_come_through(plain: Scene) -> None:
    walls = data_of(page.page(plain, 50.0))["walls"]
    assert isinstance(walls, dict)
    here = plain.walls
    np.testing.assert_allclose(
        unpacked(walls["points"], "<f4").reshape(-1, 3), here.points, rtol=1e-6, atol=1e-4
    )
    np.testing.assert_array_equal(unpacked(walls["quads"], "<u4").reshape(-1, 4), here.quads)
    np.testing.assert_allclose(
        unpacked(walls["fields"][0]["values"], "<f4"), here.fields[0].values, rtol=1e-6
    )
    named = np.array(walls["sections"])[unpacked(walls["section"], "<u4")]
    assert tuple(named.tolist()) == here.sections


def test_what_is_not_a_number_is_left_out(plain: Scene) -> None:
    curve = Curve("c", "deg", np.array([0.0, 1.0]), np.array([np.nan, 2.0]))
    data = data_of(page.page(dataclasses.replace(plain, profile=(curve,)), 1.0))
    assert data["profile"]["curves"][0]["values"] == [None, 2.0]  # type: ignore[index]


def test_file_is_written_whole(plain: Scene, tmp_path: Path) -> None:
    target = tmp_path / "frame.html"
    assert page.write_html(plain, target) > 0.0
    assert target.read_text(encoding="utf-8") == page.page(plain, page.write_html(plain, target))
    assert [p.name for p in tmp_path.iterdir()] == ["frame.html"]
