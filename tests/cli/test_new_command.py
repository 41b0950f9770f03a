"""`plumbrail new`: documents that run, and one clear message for what will not do."""

import itertools
import json
import tomllib
from pathlib import Path

import pytest
from running import Run

from fea.document.read import read_frame
from fea.document.starter import frame_text
from fea.document.starter_answers import QUESTIONS, completed, read_answers
from fea.frame.build import build_frame

KINDS = ("kind=ladder", "kind=perimeter")
SECTIONS = ("section=channel 150 mm x 60 mm", "section=box 100 mm x 50 mm")
UNITS = ("units=mm", "units=in")


def answers(*items: str) -> list[str]:
    return [word for item in items for word in ("--answer", item)]


@pytest.mark.parametrize(("kind", "section", "unit"), [*itertools.product(KINDS, SECTIONS, UNITS)])
def test_what_it_writes_checks_and_runs(
    kind: str, section: str, unit: str, plumbrail: Run, tmp_path: Path
) -> None:
    file = tmp_path / "mine.toml"
    ran = plumbrail("new", file, "--defaults", *answers(kind, section, unit))
    assert ran.code == 0, ran.err
    assert "no complaint" in plumbrail("check", file).out
    ran = plumbrail("run", file, "--joints", "beam", "--json")
    assert ran.code == 0, ran.err
    twist, bending = json.loads(ran.out)["cases"]
    assert 100.0 < twist["measures"]["twist_stiffness_nm_per_deg"] < 20000.0
    assert bending["measures"]["bending_stiffness_n_per_mm"] > 100.0


@pytest.mark.parametrize("kind", KINDS)
def test_every_part_it_offers_can_be_fitted(kind: str, plumbrail: Run, tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    assert plumbrail("new", file, "--defaults", *answers(kind)).code == 0
    parts = [p.name for p in read_frame(file).part]
    assert parts == ["boxing", "extra_tube"]
    fitted = [word for name in parts for word in ("--with", name)]
    ran = plumbrail("run", file, "--case", "twist", "--joints", "beam", "--json", *fitted)
    assert ran.code == 0, ran.err


def test_the_answers_arrive_in_the_frame() -> None:
    text = frame_text(
        read_answers(
            {
                "title": 'The "old" one \\ 2',
                "wheelbase": "3000",
                "length": "4.5 m",
                "front": "700",
                "section": "channel 6 in x 2 1/2 in",
                "gauge": "8 ga",
                "crossmembers": "-600, 900 mm, 3500",
            }
        ),
        "mine.toml",
    )
    data = tomllib.loads(text)
    assert data["title"] == 'The "old" one \\ 2'
    assert data["section"]["rail"] == {
        "shape": "channel", "depth": "152.4 mm", "flange": "63.5 mm", "wall": "8 ga"
    }  # fmt: skip
    assert [c["station"] for c in data["crossmember"]] == ["-600 mm", "900 mm", "3500 mm"]
    points = data["rail"][0]["points"]
    assert (points[0]["station"], points[-1]["station"]) == ("-700 mm", "3800 mm")
    assert data["axle"]["rear"]["station"] == "3000 mm"


def test_defaults_follow_the_units_and_the_wheelbase() -> None:
    assert completed({"units": "in"})["wheelbase"] == "114"
    stations = completed({"wheelbase": "2000"})["crossmembers"].split(", ")
    assert float(stations[1]) == pytest.approx(0.05 * 2000.0)
    assert [q.key for q in QUESTIONS] == list(completed({}))


def test_it_never_replaces_a_file(plumbrail: Run, tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text("mine", encoding="utf-8")
    ran = plumbrail("new", file, "--defaults")
    assert ran.code == 2
    assert "never replaced" in ran.err
    assert file.read_text(encoding="utf-8") == "mine"


def test_without_a_terminal_nothing_is_asked(process: Run, tmp_path: Path) -> None:
    ran = process("new", cwd=tmp_path)
    assert ran.code == 0, ran.err
    path = tmp_path / "frame.toml"
    assert build_frame(read_frame(path), source=str(path)).members


@pytest.mark.parametrize(
    ("given", "where", "rule"),
    [
        ("units=cubits", "units", "one of a few words"),
        ("kind=tub", "kind", "one of a few words"),
        ("wheelbase=12", "wheelbase", "from 500 mm to 8000 mm"),
        ("wheelbase=long", "wheelbase", "number with a unit"),
        ("length=3000", "length", "reach from the front end to the rear axle"),
        ("width=200 mm", "width", "from 300 mm"),
        ("section=hexagon 4 x 5", "section", "a shape, a depth and a width"),
        ("section=channel 4 x 5", "section", "30 to 400 mm deep"),
        ("gauge=20 mm", "gauge", "thinner than a quarter"),
        ("gauge=99 ga", "gauge", "gauge"),
        ("crossmembers=here, there", "crossmembers", "number with a unit"),
        ("crossmembers=100", "crossmembers", "two crossmembers"),
        ("crossmembers=900, 100", "crossmembers", "must rise"),
        ("crossmembers=-645, 900", "crossmembers", "inside the rails' ends"),
    ],
)
def test_a_bad_answer_gets_one_clear_message(
    given: str, where: str, rule: str, plumbrail: Run, tmp_path: Path
) -> None:
    file = tmp_path / "mine.toml"
    ran = plumbrail("new", file, "--defaults", "--answer", given)
    assert ran.code == 2
    assert rule in ran.err
    assert ran.err.count("where:") == 1
    assert f"the answer to {where}" in ran.err
    assert not file.exists()


def test_keys_that_are_no_questions(plumbrail: Run, tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    ran = plumbrail("new", file, "--answer", "weelbase=2900")
    assert ran.code == 2
    assert 'did you mean "wheelbase"' in ran.err
    for bad in ("wheelbase", "wheelbase="):
        ran = plumbrail("new", file, "--answer", bad)
        assert ran.code == 2
        assert "KEY=VALUE" in ran.err
    ran = plumbrail("new", file, *answers("gauge=3 mm", "gauge=4 mm"))
    assert "once" in ran.err


def test_a_folder_that_is_not_there(plumbrail: Run, tmp_path: Path) -> None:
    ran = plumbrail("new", tmp_path / "none" / "mine.toml", "--defaults")
    assert ran.code == 2
    assert "cannot be written" in ran.err


def test_in_a_terminal_a_bad_answer_is_asked_again(tmp_path: Path) -> None:
    import os
    import sys

    pty = pytest.importorskip("pty")
    file = tmp_path / "mine.toml"
    typed = ["Typed", "", "tub", "perimeter", *[""] * (len(QUESTIONS) - 3)]
    pid, master = pty.fork()
    if pid == 0:  # pragma: no cover - the child
        code = "from fea.cli.app import main; main()"
        os.execv(sys.executable, [sys.executable, "-c", code, "new", str(file)])
    said = b""
    os.write(master, ("\n".join(typed) + "\n").encode())
    while True:
        try:
            more = os.read(master, 4096)
        except OSError:  # the other end is closed
            break
        if not more:
            break
        said += more
    os.close(master)
    assert os.waitpid(pid, 0)[1] == 0, said.decode()
    assert said.decode().count("Kind of frame") == 2
    assert 'title = "Typed"' in file.read_text(encoding="utf-8")
    assert "A perimeter frame" in file.read_text(encoding="utf-8")
