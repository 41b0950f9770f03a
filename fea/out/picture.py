"""A scene as one PNG page: the frame large, and below it profile, soft places and facts."""

import warnings
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fea.errors import Complaint, MissingExtraError
from fea.out import badges, frame_panel, panels
from fea.out import display as displays
from fea.out.camera import auto_scale
from fea.out.display import Display
from fea.out.files import write_whole
from fea.out.palette import THEME
from fea.out.scene import Scene
from fea.out.surface import frame_length

if TYPE_CHECKING:
    from matplotlib.figure import Figure

CAUTION = "A planning aid, not a certification: local codes and a licensed engineer decide."

_WIDE, _HIGH = 16.0, 10.7  # inches; the pixel width asked for sets the dots per inch
_LEFT, _RIGHT, _FOOT, _TOP = 0.022, 0.978, 0.014, 0.972
_STAMP = {"Software": "Plumbrail"}
_LOWER = 0.272  # share of the page below the frame


@dataclass(frozen=True)
class PictureReport:
    """What was done: `scale` of the movements, `renderer`, and a `note` worth one line, or ""."""

    scale: float
    renderer: str
    note: str = ""


def write_png(
    scene: Scene,
    path: Path,
    *,
    scale: float | None = None,
    width: int = 2000,
    software: bool = False,
) -> PictureReport:
    """Write a scene as a PNG; a file of that name is replaced only when the new one is whole.

    Parameters
    ----------
    scale : float, optional
        How many times the movements are drawn; by itself the largest is 6 % of the frame.
    width : int, pixels
    software : bool
        Draw without OpenGL even where there is one.

    Raises
    ------
    MissingExtraError
        If matplotlib is not installed.
    """
    if find_spec("matplotlib") is None:
        raise MissingExtraError(
            Complaint(
                "a picture needs matplotlib", found="not installed", do=displays.INSTALL_DRAWING
            )
        )
    import matplotlib as mpl

    if scale is None:
        scale = auto_scale(scene.walls.movement, frame_length(scene))
    display = displays.find(software=software)
    with mpl.rc_context(), warnings.catch_warnings():
        mpl.rcdefaults()  # the user's own matplotlib settings must not reach the page
        mpl.rcParams["text.parse_math"] = False  # a dollar sign in a name is a dollar sign
        warnings.filterwarnings("ignore", "Glyph .* missing from font")  # an empty box tells it
        figure, left = _page(scene, scale, width, display)
        write_whole(path, lambda part: figure.savefig(part, format="png", metadata=_STAMP))
    crowded = f"{left} labels found no room in the picture" if left else ""
    note = "; ".join(text for text in (display.note, crowded) if text)
    return PictureReport(scale, display.renderer, note)


def show(scene: Scene, *, scale: float | None = None) -> None:
    """Open a window in which the frame can be turned; returns when it is closed.

    Raises
    ------
    MissingExtraError
        If there is no screen or no pyvista.
    """
    from fea.out import window

    window.open_window(scene, scale=scale)


def _page(scene: Scene, scale: float, width: int, display: Display) -> tuple["Figure", int]:
    """Return the drawn page, and how many labels found no room."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(_WIDE, _HIGH), dpi=width / _WIDE, facecolor=THEME.paper)
    FigureCanvasAgg(figure)
    room = (_RIGHT - _LEFT) * figure.get_window_extent().width
    title = figure.text(
        _LEFT, _TOP, scene.title, fontsize=21.0, fontweight="bold", color=THEME.ink, va="top"
    )
    panels.shrink(title, room)
    under = figure.text(
        _LEFT, _TOP - 0.04, scene.subtitle, fontsize=13.0, color=THEME.quiet, va="top"
    )
    panels.shrink(under, room)
    said = (*scene.notes, CAUTION)
    foot = _FOOT + panels.notes(figure, (_LEFT, _FOOT, _RIGHT - _LEFT, 0.0), said)
    low = _lower_row(figure, scene, foot + 0.022)
    size, place = _whole_pixels(figure, (_LEFT, low, _RIGHT - _LEFT, _TOP - 0.062 - low))
    axes = figure.add_axes(place)
    left = frame_panel.draw(
        axes, scene, scale, size=size, unit=width / _WIDE / 100.0, display=display
    )
    return figure, left


def _whole_pixels(figure: "Figure", place: panels.Place) -> tuple[tuple[int, int], panels.Place]:
    """Return a place's size in whole pixels and the place moved to pixel borders."""
    page = figure.get_window_extent()
    full = np.array([page.width, page.height])
    low = np.rint(np.array(place[:2]) * full)
    size = np.maximum(np.rint(np.array(place[2:]) * full), 1.0)
    at = (*(low / full), *(size / full))
    return (int(size[0]), int(size[1])), (at[0], at[1], at[2], at[3])


def _lower_row(figure: "Figure", scene: Scene, bottom: float) -> float:
    """Draw the small panels that have something to show; return the height where they end."""
    row = [
        (0.47, panels.profile, bool(scene.profile)),
        (0.225, panels.soft, bool(scene.soft)),
        (0.27, badges.listed, bool(scene.listed)),
        (0.225, panels.facts, bool(scene.facts)),
    ]
    there = [(share, make) for share, make, wanted in row if wanted]
    if not there:
        return bottom
    gap = 0.042
    total = sum(share for share, _ in there)
    spread = (_RIGHT - _LEFT - gap * (len(there) - 1)) / total
    left = _LEFT
    for share, make in there:
        wide = share * spread
        make(figure, (left, bottom, wide, _LOWER), scene)
        left += wide + gap
    return bottom + _LOWER + 0.02
