"""What tests of several folders share: the command run in this process, and in its own.

This file also puts its folder on the path, so that any test can import `handmade` and `running`.
"""

import subprocess
import sys
from pathlib import Path

import pytest
from running import Ran, Run


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
