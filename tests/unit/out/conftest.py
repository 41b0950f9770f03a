"""The sample scene, loaded by its path: it works under every way pytest imports tests."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def sample() -> ModuleType:
    """Return the module `sample.py`."""
    path = Path(__file__).parents[2] / "pictures" / "sample.py"
    spec = importlib.util.spec_from_file_location("picture_sample", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
