"""The built wheel alone, in an empty folder: its demos and cases come with it."""

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from handmade import CASES, FRAMES
from running import ROOT

pytestmark = pytest.mark.slow

NOT_TO_BE_HAD = ("No matching distribution", "Could not find a version", "ConnectionError",
                 "Failed to establish", "Temporary failure in name resolution")  # fmt: skip


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the wheel, built from the sources; skip where its build backend cannot be had."""
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "pip", "wheel", str(ROOT), "--no-deps", "--wheel-dir"]
    done = subprocess.run(
        [*build, str(folder), "--quiet", "--disable-pip-version-check"],
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    if done.returncode and any(words in done.stderr for words in NOT_TO_BE_HAD):
        pytest.skip("the build backend hatchling cannot be had here")
    assert done.returncode == 0, done.stderr
    (path,) = folder.glob("plumbrail-*.whl")
    return path


@pytest.fixture(scope="module")
def site(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the wheel unpacked."""
    folder = tmp_path_factory.mktemp("site")
    with zipfile.ZipFile(wheel) as packed:
        packed.extractall(folder)
    return folder


def run(site: Path, cwd: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run the command of the unpacked wheel; the sources must not be seen."""
    code = (
        "import sys, fea; from pathlib import Path\n"
        f"assert Path(fea.__file__).is_relative_to({str(site)!r}), fea.__file__\n"
        f"sys.argv = ['plumbrail', *{list(words)!r}]\n"
        "from fea.cli.app import main; main()"
    )
    return subprocess.run(
        [sys.executable, "-c", code],
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(site)},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )


def test_what_is_in_it(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    for name in FRAMES:
        assert f"fea/models/{name}.toml" in names
    for name in CASES:
        assert f"fea/cases/{name}.toml" in names
    validation = {p.name for p in (ROOT / "cases" / "validation").glob("*.toml")}
    assert validation
    assert {f"fea/cases/validation/{name}" for name in validation} <= names
    for path in (ROOT / "fea").rglob("*"):
        if path.is_file() and "__pycache__" not in path.parts:
            assert str(path.relative_to(ROOT)) in names
    top = {name.split("/")[0] for name in names}
    assert {name.split("-")[0] for name in top} == {"fea", "plumbrail"}
    assert not any("test" in name.split("/")[-1] for name in names)


def test_it_says_what_it_is(site: Path) -> None:
    (info,) = site.glob("plumbrail-*.dist-info")
    entry = (info / "entry_points.txt").read_text(encoding="utf-8")
    assert "plumbrail = fea.cli.app:main" in entry
    meta = (info / "METADATA").read_text(encoding="utf-8")
    assert "License-Expression: MIT" in meta
    assert any(info.rglob("LICENSE"))


def test_a_shipped_demo_runs_from_an_empty_folder(site: Path, tmp_path: Path) -> None:
    done = run(
        site, tmp_path, "run", "orchard_pickup", "--case", "twist", "--joints", "beam", "--json"
    )
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["frame"] == "orchard_pickup"
    assert found["cases"][0]["measures"]["twist_stiffness_nm_per_deg"] > 0.0
    assert list(tmp_path.iterdir()) == []


def test_the_demos_are_listed(site: Path, tmp_path: Path) -> None:
    done = run(site, tmp_path, "demos")
    assert done.returncode == 0, done.stderr
    for name in (*FRAMES, *CASES):
        assert name in done.stdout


def test_the_validation_cases_come_along(site: Path, tmp_path: Path) -> None:
    done = run(site, tmp_path, "verify")
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_page_is_drawn(site: Path, tmp_path: Path) -> None:
    """Its template, style and scripts are data files of the package."""
    done = run(site, tmp_path, "view", "ladder_tubes", "--html", "page.html")
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "page.html").stat().st_size > 10_000
