"""What tests of several folders share: the command run in this process, and in its own.

This file also puts its folder on the path, so that any test can import `handmade` and `running`.
"""

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from pkgutil import resolve_name
from typing import Any

import pytest
from running import Ran, Run


@pytest.fixture(scope="session", autouse=True)
def joint_store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Keep condensed joints in a folder of this run, never in the user's own.

    The processes of one run share it: an equal joint is condensed once.
    """
    place = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        place = place.parent
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PLUMBRAIL_CACHE", str(place / "joints"))
        yield place / "joints"


@pytest.fixture
def plumbrail(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Return a function that runs the command's own `main` here, exit code and all."""

    def run(*words: object) -> Ran:
        from fea.cli.app import main

        monkeypatch.setattr(sys, "argv", ["plumbrail", *map(str, words)])
        capsys.readouterr()
        with pytest.raises(SystemExit) as stop:
            main()
        shown = capsys.readouterr()
        code = stop.value.code
        return Ran(code if isinstance(code, int) else int(code is not None), shown.out, shown.err)

    return run


@pytest.fixture
def quick(plumbrail: Run) -> Run:
    """Return the same with joints by beam rules, which takes a tenth of the time."""
    return lambda *words: plumbrail(*words, "--joints", "beam")


@pytest.fixture
def once(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Return a function that has works of the program, named by their paths, done once here.

    For a test that prints a table and the record of equal words: both tell one computation.
    """

    def first(work: Callable[..., Any]) -> Callable[..., Any]:
        found: list[Any] = []

        def done(*given: Any, **options: Any) -> Any:
            if not found:
                found.append(work(*given, **options))
            return found[0]

        return done

    def let(*paths: str) -> None:
        for path in paths:
            monkeypatch.setattr(path, first(resolve_name(path)))

    return let


@pytest.fixture
def small_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw the same pages with fewer dots: most of a picture's time goes into filling it."""
    from fea.out.compare_scene import write_compare_picture
    from fea.out.parts_chart import write_parts_chart
    from fea.out.parts_scene import write_parts_picture
    from fea.out.picture import write_png

    for write in (write_png, write_compare_picture, write_parts_picture, write_parts_chart):
        assert write.__kwdefaults__["width"] >= 2000
        monkeypatch.setitem(write.__kwdefaults__, "width", 600)


@pytest.fixture
def kept_joints(monkeypatch: pytest.MonkeyPatch) -> None:
    """Take joints beside shells from the store of this run; `verify` condenses them anew."""
    from fea.analyse import analyse
    from fea.store import store

    monkeypatch.setattr("fea.verify.metal.analyse", partial(analyse, store=store()))


@pytest.fixture
def process() -> Run:
    """Return a function that runs the command in a process of its own."""

    def run(*words: object, cwd: Path | None = None, timeout: float = 120.0) -> Ran:
        script = Path(sys.executable).with_name("plumbrail")
        start = [sys.executable, "-c", "from fea.cli.app import main; main()"]
        done = subprocess.run(
            [*([str(script)] if script.exists() else start), *map(str, words)],
            capture_output=True,
            text=True,
            encoding="utf-8",
            cwd=cwd,
            timeout=timeout,
            check=False,
        )
        return Ran(done.returncode, done.stdout, done.stderr)

    return run
