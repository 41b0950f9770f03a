"""Finding out whether OpenGL can draw here without a screen, or the software renderer must.

With no GL library VTK does not raise: it crashes the process. So the libraries are looked for
first, then a child process draws a few pixels, and only when that has worked does this process
draw. The answer is kept for the life of the process.
"""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from ctypes.util import find_library
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec

from fea.errors import Complaint, MissingExtraError

SOFTWARE = "software"
EGL = "OpenGL (EGL)"
NATIVE = "OpenGL (native window)"
INSTALL_GL = "apt-get install libegl1 libgl1-mesa-dri"
INSTALL_DRAWING = "pip install matplotlib pyvista"
CHOICE = "PLUMBRAIL_RENDERER"
"""Environment variable: `software` forces the software renderer."""

_VTK_WINDOW = "VTK_DEFAULT_OPENGL_WINDOW"
_TRIAL = """
import vtkmodules.vtkRenderingOpenGL2
from vtkmodules.vtkRenderingCore import vtkRenderer, vtkRenderWindow
from vtkmodules.vtkCommonCore import vtkUnsignedCharArray
window = vtkRenderWindow()
window.SetOffScreenRendering(1)
window.SetMultiSamples(0)
window.SetSize(8, 8)
renderer = vtkRenderer()
renderer.SetBackground(1.0, 0.0, 1.0)
window.AddRenderer(renderer)
window.Render()
pixel = vtkUnsignedCharArray()
window.GetPixelData(0, 0, 7, 7, 1, pixel, 0)
seen = [pixel.GetValue(k) for k in range(3)]
raise SystemExit(0 if pixel.GetNumberOfTuples() == 64 and seen == [255, 0, 255] else 3)
"""


@dataclass(frozen=True)
class Display:
    """What draws here: `renderer`, and in `note` why it is not OpenGL, when it is not."""

    renderer: str
    note: str = ""


def find(*, software: bool = False) -> Display:
    """Return the renderer to draw with.

    Parameters
    ----------
    software : bool
        Use the software renderer whatever there is.
    """
    if software or os.environ.get(CHOICE, "").strip().lower() == SOFTWARE:
        return Display(SOFTWARE)
    return _probe()


@cache
def _probe() -> Display:
    """Look for GL, then try it in a child process."""
    if find_spec("pyvista") is None:
        return Display(SOFTWARE, f"Drawn in software: pyvista is not installed; {INSTALL_DRAWING}")
    linux = sys.platform.startswith("linux")
    if linux and find_library("EGL") is None:
        return Display(SOFTWARE, f"Drawn in software: no OpenGL here; on Debian: {INSTALL_GL}")
    if not _trial(linux):
        hint = f"; on Debian: {INSTALL_GL}" if linux else ""
        return Display(SOFTWARE, f"Drawn in software: OpenGL does not draw here{hint}")
    return Display(EGL if linux else NATIVE)


def _trial(egl: bool) -> bool:
    """Return whether a child process can draw 8 x 8 pixels; its crash is its own."""
    if not sys.executable:
        return False
    surroundings = dict(os.environ)
    if egl:
        surroundings[_VTK_WINDOW] = "vtkEGLRenderWindow"
    try:
        done = subprocess.run(
            [sys.executable, "-c", _TRIAL],
            env=surroundings,
            capture_output=True,
            timeout=60.0,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired):
        return False
    return done.returncode == 0


@contextmanager
def offscreen(display: Display) -> Iterator[None]:
    """Make VTK open the window that was tried, and put the setting back afterwards."""
    before = os.environ.get(_VTK_WINDOW)
    if display.renderer == EGL:
        os.environ[_VTK_WINDOW] = "vtkEGLRenderWindow"
    try:
        yield
    finally:
        if before is None:
            os.environ.pop(_VTK_WINDOW, None)
        else:
            os.environ[_VTK_WINDOW] = before


def require_screen() -> None:
    """Raise when no window can be opened here.

    Raises
    ------
    MissingExtraError
        If pyvista is not installed, or a Linux session has no screen or no GL for it.
    """
    instead = "write a picture instead with --png FILE, or a page with --html FILE"
    if find_spec("pyvista") is None:
        raise MissingExtraError(
            Complaint("a window needs pyvista", found="not installed", do=INSTALL_DRAWING)
        )
    if not sys.platform.startswith("linux"):
        return
    if not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        raise MissingExtraError(
            Complaint(
                "a window needs a screen",
                found="neither DISPLAY nor WAYLAND_DISPLAY is set",
                do=instead,
            )
        )
    missing = [name for name in ("GL", "X11") if find_library(name) is None]
    if missing:
        raise MissingExtraError(
            Complaint(
                "a window needs OpenGL and X11",
                found=f"no lib{missing[0]} on this machine",
                do=f"on Debian: apt-get install libgl1 libx11-6; or {instead}",
            )
        )
    if not _trial(egl=False):
        raise MissingExtraError(
            Complaint(
                "a window needs a screen that OpenGL can draw on",
                found="a trial window did not open",
                do=instead,
            )
        )
