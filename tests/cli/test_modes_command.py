"""The commands `modes` and `buckle`: tables, JSON, page, film, and what they refuse."""

import json
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from running import Run

CAUTION = "A planning aid, not a certification"


def test_the_table(quick: Run) -> None:
    ran = quick("modes", "ladder_tubes", "--bare", "--count", "4")
    assert ran.code == 0, ran.err
    assert "first torsion" in ran.out
    assert "the six rigid motions" in ran.out
    assert re.search(r"residual \d\.\de-\d+ at most; \d+ elements per stretch", ran.out)
    assert CAUTION in ran.out
    assert max(map(len, ran.out.splitlines())) <= 110


def test_every_way_to_stand_fits_the_page(quick: Run) -> None:
    for how in ((), ("--on-springs",), ("--case", "bending"), ("--body", "closed"), ("--laden",)):
        ran = quick("modes", "orchard_pickup", "--count", "3", *how)
        assert ran.code == 0, ran.err
        assert max(map(len, ran.out.splitlines())) <= 110, how


def test_json_counts_up_and_names(quick: Run) -> None:
    ran = quick("modes", "orchard_pickup", "--count", "5", "--json")
    found = json.loads(ran.out)
    assert found["standing"] == "free"
    assert found["rigid_modes_left_out"] == 6
    assert [m["number"] for m in found["modes"]] == [1, 2, 3, 4, 5]
    frequencies = [m["frequency_hz"] for m in found["modes"]]
    assert frequencies == sorted(frequencies)
    assert all(m["residual"] < 1e-6 for m in found["modes"])
    assert found["change_by_last_refinement"] < 1e-3


def test_page_and_film(quick: Run, tmp_path: Path) -> None:
    page, film = tmp_path / "m.html", tmp_path / "m.gif"
    ran = quick(
        "modes",
        "ladder_tubes",
        "--bare",
        "--count",
        "2",
        "--html",
        page,
        "--gif",
        film,
        "--mode",
        2,
    )
    assert ran.code == 0, ran.err
    text = page.read_text(encoding="utf-8")
    assert "default-src 'none'" in text
    assert not re.search(r"""(src|href)=["']?https?:""", text)
    assert "@@" not in text
    from PIL import Image

    with Image.open(film) as picture:
        assert picture.n_frames > 8
        picture.seek(picture.n_frames // 4)
        colours = np.asarray(picture.convert("RGB")).reshape(-1, 3)
        assert len(np.unique(colours, axis=0)) > 20  # not blank


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--free", "--on-springs"), "a frame stands in one way"),
        (("--on-springs", "--case", "twist"), "a frame stands in one way"),
        (("--bare", "--laden"), "a bare frame carries nothing"),
        (("--gif", "x.gif", "--mode", "9", "--count", "3"), "one of the modes asked for"),
        (("--case", "no_such_case"), "no_such_case"),
        (("--body", "nothing"), "nothing"),
        (("--on-springs",), "axles with spring rates"),
    ],
)
def test_bad_options(quick: Run, words: tuple[str, ...], said: str) -> None:
    ran = quick("modes", "ladder_tubes", *words)
    assert ran.code == 2
    assert said in ran.err
    assert "Traceback" not in ran.err
    assert not ran.out


def test_bad_joints(plumbrail: Run) -> None:
    ran = plumbrail("modes", "ladder_tubes", "--joints", "glue")
    assert ran.code == 2
    assert "unknown joints" in ran.err


def test_buckling_table_and_json(plumbrail: Run, once: Callable[..., None]) -> None:
    once("fea.result.buckling.frame_buckling")
    ran = plumbrail("buckle", "orchard_pickup", "--case", "payload", "--count", "2")
    assert ran.code == 0, ran.err
    assert "gives way" in ran.out
    assert "no stiffness from axial forces" in ran.out
    assert CAUTION in ran.out
    assert max(map(len, ran.out.splitlines())) <= 110
    record = json.loads(
        plumbrail("buckle", "orchard_pickup", "--case", "payload", "--count", "2", "--json").out
    )
    factors = [f["factor"] for f in record["factors"]]
    assert factors == sorted(factors)
    assert factors[0] > 1.0
    assert all(f["compression_n"] > 0.0 for f in record["factors"])


def test_buckling_needs_a_case(plumbrail: Run) -> None:
    assert plumbrail("buckle", "orchard_pickup").code == 2
    ran = plumbrail("buckle", "orchard_pickup", "--case", "no_such_case")
    assert ran.code == 2
    assert "Traceback" not in ran.err
