"""The frame as it moves, and before beside after, as pictures inside a packet."""

import base64
import io
import warnings
from dataclasses import replace
from importlib.util import find_spec

from fea.errors import Complaint, MissingExtraError
from fea.out import display as displays
from fea.out import frame_panel
from fea.out.camera import auto_scale
from fea.out.compare_scene import compare_scene
from fea.out.frame_scene import scene
from fea.out.packet_html import Markup
from fea.out.palette import THEME
from fea.out.scene import Scene
from fea.out.surface import frame_length
from fea.result.answer import Answer
from fea.study.compare import Comparison
from fea.units import System

_WIDE, _HIGH, _HIGHER = 9.4, 4.6, 5.6  # inches

DOTS = 140.0
"""Pixels in an inch of the drawing, which paper shows a little smaller."""


def moving(answer: Answer, system: System) -> tuple[Markup, float]:
    """Return the frame coloured by stress as an image, and how many times it moves.

    Raises
    ------
    MissingExtraError
        If matplotlib is not installed.
    """
    return _image(scene(answer, None, "stress", system), "The frame as it moves", _HIGH)


def before_and_after(found: Comparison, system: System) -> tuple[Markup, float]:
    """Return both states under the first case as one image, and how many times they move.

    Raises
    ------
    MissingExtraError
        If matplotlib is not installed.
    """
    shown = replace(compare_scene(found, 0, system), badges=())
    return _image(shown, "The frame before and after, as it moves", _HIGHER)


def _image(shown: Scene, words: str, high: float) -> tuple[Markup, float]:
    """Return a scene's panel as an image.

    Drawn without OpenGL, so that equal frames give equal bytes on any machine with the same
    libraries.
    """
    if find_spec("matplotlib") is None:
        raise MissingExtraError(
            Complaint(
                "a packet needs matplotlib", found="not installed", do=displays.INSTALL_DRAWING
            )
        )
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    scale = auto_scale(shown.walls.movement, frame_length(shown))
    file = io.BytesIO()
    with mpl.rc_context(), warnings.catch_warnings():
        mpl.rcdefaults()
        mpl.rcParams["text.parse_math"] = False
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        figure = Figure(figsize=(_WIDE, high), dpi=DOTS, facecolor=THEME.paper)
        FigureCanvasAgg(figure)
        size = (round(_WIDE * DOTS), round(high * DOTS))
        frame_panel.draw(
            figure.add_axes((0.0, 0.0, 1.0, 1.0)),
            shown,
            scale,
            size=size,
            unit=DOTS / 100.0,
            display=displays.find(software=True),
        )
        figure.savefig(file, format="png", metadata={"Software": "Plumbrail"})
    text = base64.b64encode(file.getvalue()).decode("ascii")
    return Markup(f'<img alt="{words}" src="data:image/png;base64,{text}">'), scale
