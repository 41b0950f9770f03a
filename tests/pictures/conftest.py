"""What pictures share: the sample scene and a browser, both loaded by their paths.

So they work under every way pytest imports tests.
"""

import importlib.util
import shutil
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser")


def beside(name: str) -> ModuleType:
    """Return a module of this folder."""
    path = Path(__file__).parent / f"{name}.py"
    spec = importlib.util.spec_from_file_location(f"picture_{name}", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def sample() -> ModuleType:
    """Return the module `sample.py`."""
    return beside("sample")


@pytest.fixture
def rough(monkeypatch: pytest.MonkeyPatch) -> None:
    """Draw one point a pixel, in a quarter of the time, where no edge is looked at."""
    monkeypatch.setattr("fea.out.frame_image.FINE", 1)


@pytest.fixture(scope="session")
def tab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Yield a tab of a browser: starting one takes longer than most tests that read in it."""
    if BROWSER is None:
        pytest.skip("no chromium on this machine")
    with beside("devtools").browser(BROWSER, tmp_path_factory.mktemp("profile")) as page:
        yield page
