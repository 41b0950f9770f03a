"""The layers of the package hold, a breach would be seen, and the door is light."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HEAVY = ("scipy", "pydantic", "typer", "pyvista", "vtk", "meshio", "matplotlib", "pint", "rich")


def lint_imports(folder: Path) -> subprocess.CompletedProcess[str]:
    """Check the contracts of a folder's pyproject.toml on the package that lies in it."""
    pytest.importorskip("importlinter")
    code = (
        "import sys; from importlinter.cli import lint_imports;"
        "sys.exit(lint_imports(config_filename='pyproject.toml', no_cache=True))"
    )
    return subprocess.run(
        [sys.executable, "-c", code],
        cwd=folder,
        env={"PYTHONPATH": str(folder), "PATH": ""},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )


def copy_sources(folder: Path) -> None:
    for path in (ROOT / "fea").rglob("*.py"):
        copy = folder / path.relative_to(ROOT)
        copy.parent.mkdir(parents=True, exist_ok=True)
        copy.write_bytes(path.read_bytes())
    (folder / "pyproject.toml").write_bytes((ROOT / "pyproject.toml").read_bytes())


def test_no_contract_is_broken() -> None:
    done = lint_imports(ROOT)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 broken" in done.stdout


@pytest.mark.parametrize(
    ("module", "line", "found"),
    [
        ("errors.py", "import fea.cli", "fea.errors -> fea.cli"),
        ("mesh/mesh.py", "import fea.solve.assemble", "fea.mesh.mesh -> fea.solve.assemble"),
        (
            "section/midline.py",
            "import fea.element.beam",
            "fea.section.midline -> fea.element.beam",
        ),
        ("result/energy.py", "import scipy.sparse", "fea.result.energy -> scipy"),
        ("analyse.py", "import pyvista", "fea.analyse -> pyvista"),
        ("out/record.py", "import typer", "fea.out.record -> typer"),
        ("frame/path.py", "import tomllib", "fea.frame.path -> tomllib"),
    ],
)
def test_a_wrong_import_would_be_seen(module: str, line: str, found: str, tmp_path: Path) -> None:
    copy_sources(tmp_path)
    path = tmp_path / "fea" / module
    path.write_text(path.read_text(encoding="utf-8") + f"\n{line}\n", encoding="utf-8")
    done = lint_imports(tmp_path)
    assert done.returncode == 1, done.stdout + done.stderr
    assert found in done.stdout


def test_a_module_without_a_layer_would_be_seen(tmp_path: Path) -> None:
    copy_sources(tmp_path)
    (tmp_path / "fea" / "drawer.py").write_text('"""Anything."""\n', encoding="utf-8")
    done = lint_imports(tmp_path)
    assert done.returncode == 1
    assert "drawer" in done.stdout + done.stderr


def loaded(code: str) -> set[str]:
    """Return the top-level modules that are there after some code, in a fresh process."""
    ask = "import sys; sys.stderr.write(' '.join({m.split('.')[0] for m in sys.modules}))"
    done = subprocess.run(
        [sys.executable, "-c", f"{code}\n{ask}"],
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    return set(done.stderr.split())


def run_main(*words: str) -> set[str]:
    code = (
        f"import sys; sys.argv = ['plumbrail', *{list(words)!r}]\n"
        "from fea.cli.app import main\n"
        "try: main()\n"
        "except SystemExit as stop: assert not stop.code\n"
    )
    return loaded(code)


def test_importing_the_package_loads_nothing_heavy() -> None:
    modules = loaded("import fea")
    assert "fea" in modules
    assert not modules & {*HEAVY, "numpy"}


def test_help_loads_no_numbers_no_documents_and_no_pictures() -> None:
    modules = run_main("--help")
    assert "typer" in modules
    assert not modules & {"numpy", "scipy", "pydantic", "pyvista", "vtk", "meshio", "matplotlib"}


@pytest.mark.parametrize("command", ["check", "section", "run", "view", "verify", "schema"])
def test_help_of_a_command_loads_no_numbers_and_no_pictures(command: str) -> None:
    # pydantic is left out: typer itself may load it to look at the options.
    modules = run_main(command, "--help")
    assert not modules & {"numpy", "scipy", "pyvista", "vtk", "meshio", "matplotlib"}


def test_checking_a_frame_loads_no_pictures() -> None:
    modules = run_main("check", "ladder_tubes")
    assert "pydantic" in modules
    assert not modules & {"pyvista", "vtk", "meshio", "matplotlib"}


def test_running_a_frame_loads_no_pictures() -> None:
    modules = run_main("run", "ladder_tubes", "--json")
    assert "scipy" in modules
    assert not modules & {"pyvista", "vtk", "meshio", "matplotlib"}
