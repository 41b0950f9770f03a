"""Load cases: rotations, warping, moments, arms and what is read."""

import math
from pathlib import Path

import pytest
from running import ROOT

from fea.document.read import read_case, read_frame
from fea.errors import DocumentError
from fea.frame.build import build_frame
from fea.frame.build_case import build_case
from fea.frame.case import MOTIONS, Case, Hold, Place, Push, Read

FOLDER = ROOT / "cases" / "sheet_metal"

HEAD = """
title = "One"

[[hold]]
point = "root"
motion = "clamped"
"""


def case(tmp_path: Path, text: str) -> Case:
    path = tmp_path / "one.toml"
    path.write_text(HEAD + text, encoding="utf-8")
    return build_case(read_case(path))


def test_everything_at_once(tmp_path: Path) -> None:
    found = case(
        tmp_path,
        """
        [[hold]]
        station = "1 m"
        side = "right"
        motion = "yaw"
        value = "1 mrad"

        [[push]]
        point = "tip"
        moment = { roll = "100 N m", yaw = "-2 kN m" }
        force = { height = "1 kN" }
        arm = { offset = "17.86 mm" }

        [[read]]
        name = "tip twist"
        axle = "front"
        side = "mean"
        motion = "roll"
        """,
    )
    root, tip = Place(point="root"), Place(point="tip")
    assert found.holds == (
        Hold(root, "clamped"),
        Hold(Place(station=1000.0, side="right"), "yaw", 0.001),
    )
    assert found.holds[0].motions == MOTIONS
    assert found.holds[1].motions == ("yaw",)
    force, moment, arm = (0.0, 0.0, 1000.0), (1e5, 0.0, -2e6), (0.0, 17.86, 0.0)
    assert found.pushes == (Push(tip, force, moment=moment, arm=arm),)
    assert found.reads == (Read("tip twist", Place(axle="front", side="mean"), "roll"),)


@pytest.mark.parametrize(
    ("motion", "text", "value"),
    [
        ("roll", "0.5 deg", math.radians(0.5)),
        ("pitch", "-3 mrad", -0.003),
        ("yaw", "0.01 rad", 0.01),
        ("station", "1/8 in", 3.175),
        ("height", "-2 mm", -2.0),
    ],
)
def test_a_value_in_the_unit_of_its_motion(
    motion: str, text: str, value: float, tmp_path: Path
) -> None:
    written = f'[[hold]]\npoint = "tip"\nmotion = "{motion}"\nvalue = "{text}"\n'
    assert case(tmp_path, written).holds[1].value == pytest.approx(value, rel=1e-14)


def test_an_imposed_rotation_is_a_load(tmp_path: Path) -> None:
    assert not case(tmp_path, '[[hold]]\npoint="tip"\nmotion="roll"\nvalue="1 deg"').pushes
    with pytest.raises(DocumentError, match="a case needs a load"):
        case(tmp_path, '[[hold]]\npoint = "tip"\nmotion = "roll"')


def test_an_arm_is_for_a_force(tmp_path: Path) -> None:
    text = '[[push]]\npoint = "tip"\nmoment = { roll = "1 N m" }\narm = { offset = "2 mm" }'
    with pytest.raises(DocumentError, match="an arm carries a force"):
        case(tmp_path, text)


@pytest.mark.parametrize("path", sorted(FOLDER.glob("tip_*.toml")), ids=lambda p: p.stem)
def test_the_cases_of_the_single_members(path: Path) -> None:
    found = build_case(read_case(path))
    assert found.reads
    assert found.holds[0] == Hold(Place(point="root"), "clamped")


@pytest.mark.parametrize("path", sorted(FOLDER.glob("member_*.toml")), ids=lambda p: p.stem)
def test_the_single_members(path: Path) -> None:
    """Sheet 120 x 50 mm at its middle; the boxing plate's too lies 50 mm from the web's."""
    frame = build_frame(read_frame(path), source=str(path))
    (member,) = frame.members
    assert member.runs[-1].end == 1000.0
    for run in member.runs:
        points = run.section.midline.points
        assert sorted({round(abs(float(y)), 9) for y in points[:, 0]}) == [0.0, 50.0]
        assert sorted({round(float(z), 9) for z in points[:, 1]}) == [-60.0, 60.0]
        assert set(run.section.midline.thickness.tolist()) == {3.0}
        assert len(run.section.midline.walls) == (3 if run.section.is_open else 4)
