"""Which renderer draws, and what is said when OpenGL cannot."""

import os
import subprocess
import sys
from collections.abc import Iterator

import pytest

from fea.errors import MissingExtraError
from fea.out import display


@pytest.fixture(autouse=True)
def fresh(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Forget what this process has found out, before and after."""
    monkeypatch.delenv(display.CHOICE, raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    display._probe.cache_clear()
    yield
    display._probe.cache_clear()


def no_child(*_: object, **__: object) -> None:
    pytest.fail("no child process may be started")


def test_without_the_library_nothing_is_tried_and_the_install_line_is_given(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(display, "find_library", lambda _: None)
    monkeypatch.setattr(subprocess, "run", no_child)
    found = display.find()
    assert found.renderer == "software"
    assert "apt-get install libegl1 libgl1-mesa-dri" in found.note
    assert "\n" not in found.note


@pytest.mark.parametrize("code", [-11, 1, 3])
def test_a_child_that_crashes_leaves_the_software_renderer(
    monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    calls = []

    def crash(command: list[str], **how: object) -> subprocess.CompletedProcess[bytes]:
        calls.append(how)
        return subprocess.CompletedProcess(command, code)

    monkeypatch.setattr(display, "find_library", lambda _: "libEGL.so.1")
    monkeypatch.setattr(subprocess, "run", crash)
    assert display.find().renderer == "software"
    assert "apt-get install" in display.find().note
    assert len(calls) == 1  # the answer is kept
    assert calls[0]["env"]["VTK_DEFAULT_OPENGL_WINDOW"] == "vtkEGLRenderWindow"  # type: ignore[index]


def test_a_real_child_that_segfaults_does_no_harm(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(display, "find_library", lambda _: "libEGL.so.1")
    monkeypatch.setattr(
        display, "_TRIAL", "import os, signal; os.kill(os.getpid(), signal.SIGSEGV)"
    )
    assert display.find().renderer == "software"


def test_software_can_be_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(subprocess, "run", no_child)
    assert display.find(software=True) == display.Display("software")
    monkeypatch.setenv(display.CHOICE, "software")
    assert display.find() == display.Display("software")


def test_the_vtk_setting_is_put_back(monkeypatch: pytest.MonkeyPatch) -> None:
    name = "VTK_DEFAULT_OPENGL_WINDOW"
    monkeypatch.delenv(name, raising=False)
    with display.offscreen(display.Display(display.EGL)):
        assert os.environ[name] == "vtkEGLRenderWindow"
    assert name not in os.environ
    monkeypatch.setenv(name, "mine")
    with display.offscreen(display.Display(display.EGL)):
        pass
    assert os.environ[name] == "mine"


def test_a_window_without_a_screen_is_refused_with_the_way_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.delenv("DISPLAY", raising=False)
    monkeypatch.delenv("WAYLAND_DISPLAY", raising=False)
    with pytest.raises(MissingExtraError, match="--png"):
        display.require_screen()


def test_the_makers_load_no_picture_library_before_they_draw() -> None:
    code = (
        "import sys, fea.out.picture, fea.out.page, fea.out.window, fea.out.gl;"
        "heavy = {'pyvista', 'vtk', 'vtkmodules', 'matplotlib'} & set(sys.modules);"
        "raise SystemExit(', '.join(sorted(heavy)) or None)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.stderr.strip() == ""
