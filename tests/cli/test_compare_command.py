"""`compare`: its tables, JSON, CSV and picture, which states it takes, and what it refuses."""

import csv
import io
import json
from pathlib import Path

import numpy as np
import pytest
from running import Run

from fea.cli.options import choose, load_cases
from fea.out.compare_scene import compare_scene
from fea.out.frame_scene import scene
from fea.out.surface import value_range
from fea.study.compare import Comparison, compare, solve_state

CAUTION = "A planning aid, not a certification: local codes and a licensed engineer decide."
PNG = b"\x89PNG\r\n\x1a\n"


def words(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("frame", ["orchard_pickup", "harbour_tourer"])
def test_stock_against_as_fitted(frame: str, quick: Run) -> None:
    ran = quick("compare", frame)
    assert ran.code == 0, ran.err
    text = words(ran.out)
    assert "stock against as fitted" in text
    assert "Before, stock: no added part fitted." in text
    assert text.index("Stressed more by over 10 %") < text.index("The whole frame")
    assert "rail right and left at station" in text
    for told in ("Twist stiffness", "Bending stiffness", "Frame steel", "Mode: first torsion"):
        assert told in text
    assert "Traceback" not in ran.err
    assert text.endswith(CAUTION)
    assert max(map(len, ran.out.splitlines())) <= 110


def test_states_that_can_be_asked_for(quick: Run) -> None:
    full = json.loads(quick("compare", "harbour_tourer", "--full", "--json", "--modes", "0").out)
    assert full["before"]["parts_fitted"] == []
    assert "x_member" in full["after"]["parts_fitted"]
    mine = json.loads(
        quick("compare", "harbour_tourer", "--stock", "--with", "x_member", "--without",
              "boxing_side", "--json", "--modes", "0").out
    )  # fmt: skip
    assert mine["after"]["label"] == "as chosen"
    assert "x_member" in mine["after"]["parts_fitted"]
    assert "boxing_side" not in mine["after"]["parts_fitted"]
    assert not any(f["name"].startswith("Mode") for f in mine["figures"])


def test_figures_are_those_of_run(quick: Run) -> None:
    found = json.loads(quick("compare", "harbour_tourer", "--json", "--modes", "2").out)
    ran = json.loads(quick("run", "harbour_tourer", "--case", "twist", "--json").out)
    stock = json.loads(quick("run", "harbour_tourer", "--case", "twist", "--stock", "--json").out)
    twist = found["figures"][0]
    for state, record in (("before", stock), ("after", ran)):
        mine = record["cases"][0]["measures"]["twist_stiffness_nm_per_deg"]
        assert twist[f"{state}_nm_per_deg"] == pytest.approx(mine, rel=1e-9)
    modes = json.loads(quick("modes", "harbour_tourer", "--count", "2", "--json").out)["modes"]
    told = {f["name"]: f for f in found["figures"]}
    first = modes[0]
    name = first["name"].removeprefix("mixed, mostly ")
    assert told[f"Mode: {name}"]["after_hz"] == pytest.approx(first["frequency_hz"], rel=1e-3)


def test_two_documents(quick: Run) -> None:
    ran = quick("compare", "orchard_pickup", "harbour_tourer", "--case", "twist", "--modes", "0",
                "--stock", "--units", "us")  # fmt: skip
    assert ran.code == 0, ran.err
    text = words(ran.out)
    assert "orchard_pickup against harbour_tourer" in text
    assert text.count("no added part fitted") == 2
    assert "new" in text
    assert "gone" in text
    assert "ft lbf/deg" in text
    assert "ksi" in text


def test_mounts_under_a_body_and_many_cases(quick: Run, tmp_path: Path) -> None:
    path = tmp_path / "c.csv"
    named = ("road_static", "road_bump", "road_cornering")
    asked = [word for name in named for word in ("--case", name)]
    ran = quick("compare", "harbour_tourer", *asked, "--body", "open", "--modes", "0",
                "--worse", "25 %", "--csv", path)  # fmt: skip
    assert ran.code == 0, ran.err
    text = words(ran.out)
    assert "Body mounts: the worst of 3 cases" in text
    assert "over 25 %" in text
    assert "in road_cornering" in text
    assert f"wrote {path}" in text
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    assert {r["kind"] for r in rows} >= {"worse", "frame", "member", "joint", "mount"}
    assert {r["case"] for r in rows if r["kind"] == "mount"} == set(named)
    for row in rows:
        if row["ratio"]:
            assert float(row["ratio"]) == pytest.approx(
                float(row["after"]) / float(row["before"]), rel=1e-4
            )


def test_what_is_refused(quick: Run, plumbrail: Run) -> None:
    ran = quick("compare", "ladder_tubes")
    assert ran.code == 2
    assert "before and after must differ" in ran.err
    ran = plumbrail("compare", "harbour_tourer", "--joints", "metal", "--worse", "-3 %")
    assert ran.code == 2
    assert "unknown joints" in ran.err
    assert "must be a share of 0 % or more" in ran.err
    ran = quick("compare", "harbour_tourer", "orchard_pickup", "--stock", "--full")
    assert ran.code == 2
    assert "either both stock or both with all parts" in ran.err
    ran = quick("compare", "harbour_tourer", "--with", "nothing")
    assert ran.code == 2
    assert "nothing" in ran.err


@pytest.fixture(scope="module")
def tourer() -> Comparison:
    choice, cases = choose("harbour_tourer"), load_cases(None)
    frames = {"stock": choice.stock_frame(), "as fitted": choice.frame()}
    return compare(*(solve_state(name, f, cases, modes=0) for name, f in frames.items()))


def test_one_scene_holds_both_to_one_scale(tourer: Comparison) -> None:
    both = compare_scene(tourer)
    near, far = (scene(s.answers[0]) for s in (tourer.before, tourer.after))
    n = len(near.walls.points)
    assert np.array_equal(both.walls.points[:n], near.walls.points)
    away = both.walls.points[n:] - far.walls.points
    assert np.ptp(away, axis=0).max() < 1e-9
    assert away[0, 0] == 0.0  # they share their stations
    assert away[0, 2] == 0.0
    assert both.walls.points[n:, 1].min() > both.walls.points[:n, 1].max()
    assert np.array_equal(both.walls.movement[n:], far.walls.movement)
    top = max(value_range(s.walls.fields[0])[1] for s in (near, far))
    assert value_range(both.walls.fields[0])[1] == top
    assert len(both.walls.sections) == len(both.walls.quads)
    assert both.walls.member.max() == len(both.walls.members) - 1
    assert [c.name for c in both.profile] == ["as fitted", "stock"]
    assert sum("stock:" in m.text for m in both.marks) == 1
    assert sum("as fitted:" in m.text for m in both.marks) == 1
    facts = dict(both.facts)
    assert facts["Twist stiffness"].startswith("2.39 x stock")
    assert "Places stressed more" not in facts
    assert both.listed[0][1].startswith("rail right and left at station 2320")


def test_places_that_got_worse_are_numbered_in_the_picture_as_printed(
    tourer: Comparison, quick: Run
) -> None:
    both = compare_scene(tourer)
    twist = [(k, p) for k, p in enumerate(tourer.places, start=1) if p.case == "twist"]
    assert [k for k, _ in both.listed] == [k for k, _ in twist]
    printed = quick("compare", "harbour_tourer", "--modes", "0").out
    after = scene(tourer.after.answers[0]).walls.points
    moved = both.walls.points[-len(after) :] - after
    for (k, place), (_, text) in zip(twist, both.listed, strict=True):
        assert f"{k:>2} {text}" in printed
        spots = np.array([b.position for b in both.badges if b.number == k]) - moved[0]
        sides = [place.offset, -place.offset] if len(place.members) > 1 else [place.offset]
        wanted = [[place.station, side, place.height] for side in sides]
        np.testing.assert_allclose(spots, wanted, rtol=1e-12, atol=1e-9)
        # It is in the state after, at its metal.
        nearest = np.linalg.norm(after - spots[0], axis=1).min()
        assert nearest < 80.0


@pytest.mark.picture
@pytest.mark.usefixtures("small_pictures")
def test_the_picture(quick: Run, tmp_path: Path) -> None:
    path = tmp_path / "c.png"
    ran = quick("compare", "harbour_tourer", "--modes", "0", "--case", "twist", "--png", path)
    assert ran.code == 0, ran.err
    assert path.read_bytes().startswith(PNG)
    assert f"wrote {path} (" in ran.out
