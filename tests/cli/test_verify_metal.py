"""`verify --sheet-metal`: whole frames as thin shells beside the beams."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from handmade import Cross, Ladder, Sheet
from running import Ran, Run

COARSE = ("--size", "40 mm")
RAIL = Sheet("box", (("depth", 83.0), ("width", 63.0), ("wall", 3.0)))
CROSS = Sheet("box", (("depth", 53.0), ("width", 53.0), ("wall", 3.0)))


def document(folder: Path, *joints: str) -> Path:
    """Write a ladder of tubes with crossmembers joined so; return its file."""
    stations = [2400.0 * k / (len(joints) - 1) for k in range(len(joints))]
    stations = [min(max(x, 100.0), 2300.0) for x in stations]
    ladder = Ladder(
        points=((0.0, 450.0, 500.0, RAIL), (2400.0, 450.0, 500.0, RAIL)),
        crosses=tuple(Cross(x, CROSS, j) for x, j in zip(stations, joints, strict=True)),
        axles=(0.0, 2400.0),
        seats=((0.0,), (2400.0,)),
    )
    path = folder / "mine.toml"
    path.write_text(ladder.toml(), encoding="utf-8")
    return path


def record(ran: Ran, code: int = 0) -> dict[str, Any]:
    assert ran.code == code, ran.out + ran.err
    assert ran.err == ""
    found = json.loads(ran.out)
    assert isinstance(found, dict)
    return found


@pytest.mark.usefixtures("kept_joints")
def test_the_four_ladders_when_no_frame_is_named(plumbrail: Run) -> None:
    found = record(plumbrail("verify", "--sheet-metal", "--size", "24 mm", "--json"))
    assert found["not_meshed"] == []
    assert [f["frame"] for f in found["frames"]] == [
        "ladder_flange_welded", "ladder_flange_welded_boxed", "ladder_tubes", "ladder_web_butt",
    ]  # fmt: skip
    for frame in found["frames"]:
        assert frame["shell_size_mm"] == 24.0
        assert frame["left_out"] == []
        assert all(t > 0.0 for t in frame["seconds"].values())
        twist, bending = frame["cases"]
        assert (twist["case"], bending["case"]) == ("twist", "ladder_bending")
        # Coarse as the shells are: beams with joints of sheet metal come near.
        assert abs(twist["twist_stiffness_nm_per_deg"]["sheet_joints_off_percent"]) < 10.0
        assert abs(bending["bending_stiffness_n_per_mm"]["sheet_joints_off_percent"]) < 5.0
        assert 1200.0 in [row["station_mm"] for row in twist["twist_deg"]]


@pytest.mark.usefixtures("kept_joints")
def test_the_per_cent_in_the_json(plumbrail: Run, tmp_path: Path) -> None:
    path = document(tmp_path, "web", "web", "web")
    (frame,) = record(plumbrail("verify", "--sheet-metal", path, *COARSE, "--json"))["frames"]
    twist, bending = frame["cases"]
    assert (twist["case"], bending["case"]) == ("twist", "bending")
    for figure in (twist["twist_stiffness_nm_per_deg"], bending["bending_stiffness_n_per_mm"]):
        for way in ("sheet_joints", "beam_rules"):
            off = 100.0 * (figure[way] / figure["shells"] - 1.0)
            assert figure[f"{way}_off_percent"] == pytest.approx(off)
    angles = [row["shells"] for row in twist["twist_deg"]]
    assert twist["end_to_end_twist_deg"] == pytest.approx(max(angles) - min(angles))
    # The stiffness and the profile tell the same twist: 1000 N m between the axles at the ends.
    stiffness = twist["twist_stiffness_nm_per_deg"]["shells"]
    assert abs(angles[0] - angles[-1]) * stiffness == pytest.approx(1000.0, rel=1e-9)
    for row in twist["twist_deg"]:
        off = 100.0 * (row["beam_rules"] - row["shells"]) / twist["end_to_end_twist_deg"]
        assert row["beam_rules_off_percent"] == pytest.approx(off)
    for case in (twist, bending):
        assert [row["between"] for row in case["mid_bay_normal_stress_mpa"]] == [
            "front axle to X0", "X0 to X1", "X1 to X2", "X2 to rear axle",
        ]  # fmt: skip
    assert "twist_deg" not in bending


@pytest.mark.usefixtures("kept_joints")
def test_the_text(plumbrail: Run, tmp_path: Path, once: Callable[..., None]) -> None:
    once("fea.verify.metal.compare")
    words = ("verify", "--sheet-metal", document(tmp_path, "web", "web", "web"), *COARSE)
    ran = plumbrail(*words)
    assert ran.code == 0, ran.out + ran.err
    assert ran.err == ""
    (frame,) = record(plumbrail(*words, "--json"))["frames"]
    lines = ran.out.splitlines()
    row = next(line for line in lines if line.strip().startswith("twist stiffness, N m/deg"))
    figures = re.findall(r"[-+]?\d+\.?\d*", row.split("deg", 1)[1])
    told = frame["cases"][0]["twist_stiffness_nm_per_deg"]
    shown = ("shells", "sheet_joints", "sheet_joints_off_percent", "beam_rules",
             "beam_rules_off_percent")  # fmt: skip
    assert [float(f) for f in figures] == pytest.approx([told[k] for k in shown], rel=1e-3, abs=0.1)
    for text in ("bending stiffness, N/mm", "time, s", "Twist along the frame, deg",
                  "Stress along the rails at mid-bay", "Shells 40 mm wide"):  # fmt: skip
        assert text in ran.out
    for text in ("nan", "None", "Traceback", "-0.0 %", "np.float"):
        assert text not in ran.out


def test_the_columns_stand_in_line(plumbrail: Run, tmp_path: Path) -> None:
    ran = plumbrail("verify", "--sheet-metal", document(tmp_path, "web", "web"), *COARSE)
    lines = ran.out.splitlines()
    head = next(k for k, line in enumerate(lines) if "station, mm" in line)
    ends = {
        m.end() for m in re.finditer(r"station, mm|shells|sheet joints|beam rules", lines[head])
    }
    for line in lines[head + 2 : head + 5]:
        assert ends <= {m.end() for m in re.finditer(r"\S+", line)}


@pytest.mark.usefixtures("kept_joints")
def test_a_bolted_member_without_a_pattern_is_named_and_left_out(
    plumbrail: Run, tmp_path: Path, once: Callable[..., None]
) -> None:
    once("fea.verify.metal.compare")
    words = ("verify", "--sheet-metal", document(tmp_path, "web", "bolted", "web"), *COARSE)
    ran = plumbrail(*words)
    assert ran.code == 1
    (line,) = [line for line in ran.out.splitlines() if "Not meshed" in line]
    assert "X1 on rail" in line
    assert "bolted without a pattern of bolts" in line
    assert "twist stiffness" in ran.out
    (frame,) = record(plumbrail(*words, "--json"), 1)["frames"]
    assert len(frame["left_out"]) == 1


@pytest.mark.usefixtures("kept_joints")
def test_a_frame_that_falls_apart_is_named_and_the_rest_go_on(
    plumbrail: Run, tmp_path: Path
) -> None:
    words = ("verify", "--sheet-metal", document(tmp_path, "bolted", "bolted"), "ladder_tubes")
    ran = plumbrail(*words, *COARSE)
    assert ran.code == 1
    (line,) = [line for line in ran.out.splitlines() if line.startswith("Not meshed")]
    assert "hangs on nothing" in line
    assert "X0 on rail" in line
    assert "Teaching ladder, square tube crossmembers" in ran.out
    found = record(plumbrail(*words, *COARSE, "--json"), 1)
    assert [f["frame"] for f in found["not_meshed"]] == ["mine"]
    assert [f["frame"] for f in found["frames"]] == ["ladder_tubes"]


@pytest.mark.usefixtures("kept_joints")
def test_parts_are_fitted_and_left_off_as_in_run(plumbrail: Run) -> None:
    words = ("verify", "--sheet-metal", "ladder_flange_welded_boxed", "--case", "twist", *COARSE)
    stiffness = {}
    for more in ((), ("--stock",), ("--without", "boxing")):
        (frame,) = record(plumbrail(*words, *more, "--json"))["frames"]
        assert frame["parts_fitted"] == ([] if more else ["boxing"])
        (case,) = frame["cases"]
        stiffness[more] = case["twist_stiffness_nm_per_deg"]["shells"]
    assert stiffness["--stock",] == pytest.approx(stiffness["--without", "boxing"])
    assert stiffness[()] > 20.0 * stiffness["--stock",]


@pytest.mark.parametrize(
    ("words", "rule"),
    [
        (("--size", "24"), "unit"),
        (("--size", "1 mm"), "6 to 60 mm wide"),
        (("--size", "3 kg"), "--size"),
        (("--case", "nowhere"), "no such load case"),
        (("nowhere",), "no such frame"),
        (("--without", "nothing"), "nothing"),
        (("--cases", "."), "either --sheet-metal"),
    ],
)
def test_wrong_words(plumbrail: Run, words: tuple[str, ...], rule: str) -> None:
    ran = plumbrail("verify", "--sheet-metal", "ladder_tubes", *words)
    assert ran.code == 2
    assert ran.out == ""
    assert rule in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.parametrize("words", [("ladder_tubes",), ("--stock",), ("--size", "24 mm")])
def test_frames_belong_to_sheet_metal(plumbrail: Run, words: tuple[str, ...]) -> None:
    ran = plumbrail("verify", *words)
    assert ran.code == 2
    assert "--sheet-metal" in ran.err
