"""Figures at the limits of what can be meant or counted: refused by name, or solved."""

import json
from pathlib import Path

import pytest
from handmade import demo
from running import Ran, Run

LADDER = Path(demo("ladder_tubes").source)
PICKUP = Path(demo("orchard_pickup").source)


def changed(source: Path, folder: Path, old: str, new: str) -> Path:
    text = source.read_text(encoding="utf-8")
    assert old in text
    path = folder / "limit.toml"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("old", "new", "rule"),
    [
        ('wall = "3 mm"', 'wall = "1e-12 mm"', "wall must not be smaller than 0.001 mm"),
        ('wall = "3 mm"', 'wall = "-0 mm"', "wall must be greater than 0 mm"),
        ('wall = "3 mm"', 'wall = "1e999 mm"', "wall must be a finite number"),
        ('wall = "3 mm"', 'wall = "1e999 ga"', "wall must be a gauge"),
        ('wall = "3 mm"', f'wall = "{"1" * 99}/3 mm"', "wall must be a number with a unit"),
        ('wall = "3 mm"', 'wall = "٣ mm"', "wall must be a number with a unit"),
        ('wall = "3 mm"', f'wall = "3{" " * 99_999}x"', "wall must be a number with a unit"),
        ('depth = "123 mm"', 'depth = "1e12 mm"', "depth must not be larger than"),
        ('density = "7850 kg/m3"', 'density = "7850 kg/m٣"', "density must have a unit"),
        ('density = "7850 kg/m3"', 'density = "1e-300 kg/m3"', "density must not be smaller"),
        ('E = "205 GPa"', 'E = "1e-300 MPa"', "E must not be smaller"),
        ("nu = 0.3", "nu = 1e308", "nu must"),
        ("nu = 0.3", f"nu = {10**400}", "a whole number has 18 digits at most"),
        ("nu = 0.3", f"nu = 0x{'f' * 5000}", "a whole number has 18 digits at most"),
        ("nu = 0.3", f"nu = {'9' * 5000}", "this file is not valid TOML"),
    ],
)
def test_a_figure_that_nobody_means_is_refused(
    old: str, new: str, rule: str, plumbrail: Run, tmp_path: Path
) -> None:
    ran = plumbrail("run", changed(LADDER, tmp_path, old, new))
    assert ran.code == 2, ran
    assert ran.err.startswith(rule)
    assert "limit.toml" in ran.err
    assert ran.err.count("where:") == 1


@pytest.mark.parametrize("force", ["-1e12 N", "-1e308 N", "nan N", "-1e309 N"])
def test_a_load_that_nobody_means_is_refused(force: str, plumbrail: Run, tmp_path: Path) -> None:
    case = changed(LADDER.parents[1] / "cases/bending.toml", tmp_path, "-1000 N", force)
    ran = plumbrail("run", "ladder_tubes", "--case", case)
    assert ran.code == 2
    assert "height must" in ran.err


def test_a_factor_that_nobody_means_is_refused(plumbrail: Run, tmp_path: Path) -> None:
    source = LADDER.parents[1] / "cases/road_bump.toml"
    case = changed(source, tmp_path, "vertical = 3.0", "vertical = 1e308")
    ran = plumbrail("run", "orchard_pickup", "--case", case)
    assert ran.code == 2
    assert ran.err.startswith("vertical must not be larger than 1e+06")


@pytest.mark.parametrize("stiffness", ["1e-6 N/mm", "1e12 N/mm"])
def test_a_mount_at_its_limits_is_solved_or_told_of(
    stiffness: str, quick: Run, tmp_path: Path
) -> None:
    """Eighteen powers of ten between mounts, and the condition is named beside the answer."""
    text = PICKUP.read_text(encoding="utf-8")
    start = text.index("[[mount]]")
    one = text.index("vertical = ", start)
    end = text.index("\n", one)
    path = tmp_path / "limit.toml"
    path.write_text(f'{text[:one]}vertical = "{stiffness}"{text[end:]}', encoding="utf-8")
    assert_solved_or_told(quick("run", path, "--body", "closed", "--json"))


@pytest.mark.parametrize("ratio", [1e-6, 1e6, 1e12])
def test_joints_at_their_limits_are_solved_or_told_of(
    ratio: float, quick: Run, tmp_path: Path
) -> None:
    stiffness = f'{{ move = "{1.0 * ratio:g} N/mm", turn = "{1e5 * ratio:g} N mm/rad" }}'
    joint = f'joint = "bolted"\njoint_stiffness = {stiffness}'
    assert_solved_or_told(quick("run", changed(LADDER, tmp_path, 'joint = "web"', joint), "--json"))


def assert_solved_or_told(ran: Ran) -> None:
    if ran.code:
        assert ran.code in (1, 2)
        assert "where:" in ran.err
        assert "Traceback" not in ran.err
        return
    for case in json.loads(ran.out)["cases"]:
        checks = case["checks"]
        assert max(v for k, v in checks.items() if k.endswith("balance")) < 1e-6
        assert case["solver"]["smallest_pivot"] > 0.0
