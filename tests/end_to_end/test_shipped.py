"""Every shipped frame under every shipped case, from whatever folder the user stands in."""

import json
from pathlib import Path

import pytest
from handmade import CASES, DEMOS, demo
from running import Run


@pytest.mark.parametrize(("name", "stock"), DEMOS)
@pytest.mark.parametrize("load", CASES)
def test_it_runs_or_says_why_not(
    name: str,
    stock: bool,
    load: str,
    quick: Run,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.chdir(tmp_path)
    ran = quick("run", name, "--case", load, "--json", *(["--stock"] if stock else []))
    assert "Traceback" not in ran.err
    if ran.code:
        assert ran.out == ""
        assert f"case {load}" in ran.err
        assert "do:" in ran.err
        return
    assert ran.err == ""
    (found,) = json.loads(ran.out)["cases"]
    assert all(v < 1e-8 for v in found["checks"].values())
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("name", "stock"), DEMOS)
def test_the_vehicles_and_ladders_run_their_own_cases(name: str, stock: bool, quick: Run) -> None:
    """These are not to be answered with a message."""
    loads = ["twist", "twist_mirror", "bending", "own_weight", "payload"]
    loads += ["ladder_bending"] if "ladder" in name else []
    asked = [w for load in loads for w in ("--case", load)]
    ran = quick("run", name, *asked, *(["--stock"] if stock else []))
    assert ran.code == 0, ran.err


@pytest.mark.parametrize("name", ["orchard_pickup", "harbour_tourer"])
def test_parts_make_a_frame_stiffer(name: str, quick: Run) -> None:
    """What the tool is for: the ratio to the stock frame, in twist and in bending."""
    ran = quick("run", name, "--json")
    twist, bending = (c["ratio_to_stock"] for c in json.loads(ran.out)["cases"])
    assert twist["twist_stiffness_nm_per_deg"] > 2.0
    assert bending["bending_stiffness_n_per_mm"] > 1.0
    assert 1.0 < twist["mass_kg"] < 1.5


def spoilt(tmp_path: Path, name: str, old: str, new: str) -> Path:
    text = Path(demo(name).source).read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "mine.toml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    return path


def test_a_mechanism_exits_with_1(process: Run, tmp_path: Path) -> None:
    path = spoilt(
        tmp_path,
        "orchard_pickup",
        '{ move = "200 kN/mm", turn = "3e8 N mm/rad" }',
        '{ move = "200 kN/mm", turn = "free" }',
    )
    ran = process("run", path, "--case", "twist", "--joints", "beam", "--out", tmp_path / "out")
    assert ran.code == 1
    assert ran.out == ""
    assert "crossmember X3, " in ran.err
    assert "nothing holds its rotation about the axis across the vehicle" in ran.err
    assert "Traceback" not in ran.err
    assert not (tmp_path / "out").exists()


def test_a_case_that_holds_too_little_exits_with_1(quick: Run, tmp_path: Path) -> None:
    from fea.document.find import find_case

    text = find_case("bending").read_text(encoding="utf-8")
    path = tmp_path / "loose.toml"
    path.write_text(text.replace('motion = "offset"', 'motion = "height"'), encoding="utf-8")
    ran = quick("run", "orchard_pickup", "--case", path)
    assert ran.code == 1
    assert ran.out == ""
    assert "nothing holds its movement sideways" in ran.err
    assert "the whole frame moves with it" in ran.err


def test_supports_that_cannot_both_be_exit_with_1(quick: Run, tmp_path: Path) -> None:
    from fea.document.find import find_case

    text = find_case("bending").read_text(encoding="utf-8")
    path = tmp_path / "clash.toml"
    clash = '[[hold]]\naxle = "front"\nside = "mean"\nmotion = "height"\nvalue = "3 mm"\n\n[[push]]'
    path.write_text(text.replace("[[push]]", clash), encoding="utf-8")
    ran = quick("run", "orchard_pickup", "--case", path)
    assert ran.code == 1
    assert "cannot both be" in ran.err
    assert "Traceback" not in ran.err
