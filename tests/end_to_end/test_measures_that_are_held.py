"""Cases of the user's own whose supports forbid, or just allow, what is asked."""

import json
from pathlib import Path

import pytest
from running import ROOT, Run


def changed(tmp_path: Path, name: str, old: str, new: str) -> Path:
    text = (ROOT / "cases" / f"{name}.toml").read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "mine.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


@pytest.mark.parametrize("more", [(), ("--json",)])
@pytest.mark.parametrize("frame", ["ladder_tubes", "orchard_pickup"])
@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("twist", 'side = "mean"\nmotion = "height"', 'side = "each"\nmotion = "height"'),
        ("bending", "wheelbase = 0.5", 'axle = "front"'),
    ],
)
def test_nothing_moves_where_it_is_measured(
    name: str, old: str, new: str, frame: str, more: tuple[str, ...], quick: Run, tmp_path: Path
) -> None:
    ran = quick("run", frame, "--case", changed(tmp_path, name, old, new), *more)
    assert ran.code in (1, 2)
    assert ran.out == ""
    assert "case mine" in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.parametrize(
    ("name", "old", "new", "text"),
    [
        ("bending", '"-1000 N"', '"0 N"', "vertical load"),
        ("bending", "height = ", "offset = ", "vertical load"),
        ("twist", '"1000 N m"', '"0 N m"', "couple"),
    ],
)
def test_nothing_to_measure_with(
    name: str, old: str, new: str, text: str, quick: Run, tmp_path: Path
) -> None:
    ran = quick("run", "ladder_tubes", "--case", changed(tmp_path, name, old, new), "--json")
    assert ran.code == 2
    assert ran.out == ""
    assert text in ran.err


@pytest.mark.parametrize("frame", ["ladder_tubes", "orchard_pickup"])
def test_supports_that_only_carry_the_frame_along(frame: str, quick: Run, tmp_path: Path) -> None:
    """Both rear seats lifted by 10 mm and no load: the frame pitches, nothing bends."""
    text = (ROOT / "cases" / "bending.toml").read_text(encoding="utf-8")
    text = text.split("[[push]]")[0].replace('measure = "bending"', 'measure = "none"')
    rear = 'axle = "rear"\nside = "each"\nmotion = "height"'
    assert rear in text
    path = tmp_path / "lift.toml"
    path.write_text(text.replace(rear, rear + '\nvalue = "10 mm"'), encoding="utf-8")
    ran = quick("run", frame, "--case", path, "--json", "--stock")
    assert ran.code == 0, ran.err
    (found,) = json.loads(ran.out)["cases"]
    assert found["measures"]["highest_stress_mpa"] < 1e-4
    # On seats fore and aft of an axle the rails' ends rise a little more or less.
    assert 9.0 < found["measures"]["largest_deflection_mm"] < 20.0


def test_a_lift_of_one_corner_twists_the_frame(quick: Run, tmp_path: Path) -> None:
    """One front seat up by 10 mm: half of it, as a twist, times the stiffness in twist."""
    text = (ROOT / "cases" / "twist.toml").read_text(encoding="utf-8").split("[[push]]")[0]
    front = 'axle = "front"\nside = "mean"\nmotion = "height"'
    right = front.replace("mean", "right") + '\nvalue = "10 mm"'
    both = right + "\n\n[[hold]]\n" + front.replace("mean", "left")
    path = tmp_path / "corner.toml"
    path.write_text(
        text.replace(front, both).replace('measure = "twist"', 'measure = "none"'), encoding="utf-8"
    )
    ran = quick("run", "ladder_tubes", "--case", path, "--case", "twist", "--json")
    assert ran.code == 0, ran.err
    lift, twist = json.loads(ran.out)["cases"]
    forces = {r["place"]: r["force_n"] for r in lift["reactions"]}
    stiffness = twist["measures"]["twist_stiffness_nm_per_deg"]
    angle = 57.29577951308232 * 10.0 / 800.0  # the rails stand 800 mm apart
    couple = forces["front axle right, height"] * 0.8  # N m
    assert couple == pytest.approx(stiffness * angle, rel=1e-8)
