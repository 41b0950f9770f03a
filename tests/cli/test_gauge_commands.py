"""`sensitivity`, `size` and `confidence`: tables, JSON, files written, and refusals."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from running import Ran, Run

from fea.document.find import find_frame
from fea.document.read import read_frame

WIDTH = 110


def record(ran: Ran) -> dict[str, Any]:
    assert ran.code == 0, ran.err
    found = json.loads(ran.out)
    assert isinstance(found, dict)
    return found


def fits(ran: Ran) -> bool:
    return all(len(line.rstrip()) <= WIDTH for line in ran.out.splitlines())


def test_sensitivity_in_a_table_and_as_json(plumbrail: Run) -> None:
    words = ("sensitivity", "harbour_tourer", "--key", "section.C120x65.wall", "--key", "Y6.wall",
             "--key", "part.boxing_side.boxing.1.plate", "--key", "mount.M1.vertical")  # fmt: skip
    ran = plumbrail(*words, "--stress")
    assert ran.code == 0, ran.err
    assert fits(ran)
    assert "section.C120x65.wall" in ran.out
    assert "1 more figures change neither" in ran.out
    assert "A planning aid, not a certification" in ran.out
    assert "Derivatives by the adjoint, joints by beam rules." in ran.out
    told = " ".join(ran.out.split())
    assert "MPa: of the highest stress 62.1 MPa" in told
    assert "Within 1 % of that: rail left, station 2576, offset -450, height 490 mm" in told
    found = record(plumbrail(*words, "--stress", "--json"))
    assert found["peak"]["member"] == "rail right"
    assert [p["member"] for p in found["peak"]["within_one_percent"]] == ["rail left"]
    rows = {k["path"]: k for k in found["keys"]}
    assert not any(k["peak_one_sided"] for k in rows.values())  # both sides move alike
    assert rows["section.C120x65.wall"]["peak_stress_mpa_per_unit"] < 0.0
    assert rows["mount.M1.vertical"]["peak_stress_mpa_per_unit"] == 0.0
    plate = rows["part.boxing_side.boxing.1.plate"]
    assert plate["method"] == "adjoint"
    assert plate["step"] == "+0.1 mm"
    # 1050 mm long, on both sides, about 117 mm wide: as told by its mass and nothing else.
    assert plate["step_kg"] == pytest.approx(0.1929, rel=2e-3)
    share = plate["twist_nm_per_deg_per_unit"] * 0.1 / found["twist_stiffness_nm_per_deg"]
    assert plate["step_twist_gain"] == pytest.approx(share, rel=1e-12)
    assert plate["step_twist_gain_per_kg"] == pytest.approx(share / plate["step_kg"], rel=1e-12)
    assert rows["mount.M1.vertical"]["step_twist_gain"] == 0.0


def test_size_prints_edits_and_writes_another_document(
    plumbrail: Run, tmp_path: Path, once: Callable[..., None]
) -> None:
    once("fea.study.sizing_check.size_checked")
    file = tmp_path / "sized.toml"
    words = ("size", "harbour_tourer", "--target", "twist=+60%", "--vary", "boxing_side",
             "--vary", "cross_box", "--joints", "beam", "--gauges", "2 mm",
             "--gauges", "3 mm", "--without", "rear_box")  # fmt: skip
    ran = plumbrail(*words, "--write", str(file))
    assert ran.code == 0, ran.err
    assert fits(ran)
    assert 'part.boxing_side.boxing.1.plate = "2 mm"' in ran.out
    assert "so nothing lighter will do by beam rules" in ran.out
    document = read_frame(file)
    fitted = {p.name: p.fitted for p in document.part}
    assert fitted["boxing_side"]
    assert not fitted["cross_box"]
    assert document.part[0].boxing[0].plate == 2.0
    found = record(plumbrail(*words, "--json"))
    assert found["reached"] is True
    assert found["edits"] == {"part.boxing_side.boxing.1.plate": "2 mm"}
    assert found["added_kg"] == pytest.approx(3.857, abs=1e-3)


def test_size_never_writes_over_its_document(plumbrail: Run, tmp_path: Path) -> None:
    mine = tmp_path / "mine.toml"
    text = find_frame("harbour_tourer").read_text(encoding="utf-8")
    mine.write_text(text, encoding="utf-8")
    ran = plumbrail("size", mine, "--target", "twist=+60%", "--joints", "beam", "--write", mine)
    assert ran.code == 2
    assert "the original is never written over" in ran.err
    assert mine.read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("size", "harbour_tourer", "--target", "sag=+60%"), "twist or bending"),
        (("size", "harbour_tourer", "--target", "twist=60"), "must have a unit"),
        (("size", "harbour_tourer", "--target", "twist=+60%", "--gauges", "3"), "--gauges"),
        (("size", "harbour_tourer", "--target", "twist=+60%", "--vary", "sill"), "--vary"),
        (("sensitivity", "harbour_tourer", "--key", "rail.wal"), "names nothing"),
        (("sensitivity", "harbour_tourer", "--key", "title"), "wall, a size"),
        (("confidence", "harbour_tourer"), "no figure carries a tolerance"),
        (("confidence", "harbour_tourer", "--tolerance", "rail.wall"), "PATH=AMOUNT"),
        (("confidence", "harbour_tourer", "--tolerance", "rail.wall=2 N"), "positive amount"),
    ],
)
def test_what_makes_no_sense_is_refused(
    plumbrail: Run, words: tuple[str, ...], message: str
) -> None:
    ran = plumbrail(*words)
    assert ran.code == 2
    assert message in ran.err
    assert "Traceback" not in ran.err


def test_size_out_of_reach_exits_with_one(plumbrail: Run) -> None:
    ran = plumbrail("size", "harbour_tourer", "--target", "twist=+900%", "--vary", "cross_box",
                    "--gauges", "3 mm", "--joints", "beam")  # fmt: skip
    assert ran.code == 1
    assert "no design reaches the targets" in ran.err


def test_confidence_tells_bands_and_what_matters(plumbrail: Run, once: Callable[..., None]) -> None:
    once("fea.study.confidence.confidence")
    words = ("confidence", "harbour_tourer", "--without", "rear_box", "--draws", "20",
             "--workers", "1", "--tolerance", "section.C120x65.wall=0.3 mm",
             "--tolerance", "section.B60x60.wall=1 %")  # fmt: skip
    ran = plumbrail(*words)
    assert ran.code == 0, ran.err
    assert fits(ran)
    assert "What to measure better, for twist: section.C120x65.wall." in ran.out
    assert "Ranking by twist gain alone: boxing_side, cross_box." in ran.out
    found = record(plumbrail(*words, "--json"))
    assert found["draws"] == 20
    gains = found["gains"]["twist"]
    assert set(gains) == {"boxing_side", "cross_box", "all fitted parts"}
    low, high = gains["boxing_side"]["draws_5_to_95"]
    assert low < gains["boxing_side"]["nominal"] < high
