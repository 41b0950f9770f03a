"""The frame as it moves, as a picture inside a packet."""

import base64
import io
import warnings
from importlib.util import find_spec

from fea.errors import Complaint, MissingExtraError
from fea.out import display as displays
from fea.out import frame_panel
from fea.out.camera import auto_scale
from fea.out.frame_scene import scene
from fea.out.packet_html import Markup
from fea.out.palette import THEME
from fea.out.surface import frame_length
from fea.result.answer import Answer
from fea.units import System

_WIDE, _HIGH, _DOTS = 9.4, 4.6, 170.0  # inches, and pixels in one


def moving(answer: Answer, system: System) -> tuple[Markup, float]:
    """Return the frame coloured by stress as an image, and how many times it moves.

    Drawn without OpenGL, so that equal frames give equal bytes on any machine with the same
    libraries.

    Raises
    ------
    MissingExtraError
        If matplotlib is not installed.
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

    shown = scene(answer, None, "stress", system)
    scale = auto_scale(shown.walls.movement, frame_length(shown))
    file = io.BytesIO()
    with mpl.rc_context(), warnings.catch_warnings():
        mpl.rcdefaults()
        mpl.rcParams["text.parse_math"] = False
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        figure = Figure(figsize=(_WIDE, _HIGH), dpi=_DOTS, facecolor=THEME.paper)
        FigureCanvasAgg(figure)
        size = (round(_WIDE * _DOTS), round(_HIGH * _DOTS))
        frame_panel.draw(
            figure.add_axes((0.0, 0.0, 1.0, 1.0)),
            shown,
            scale,
            size=size,
            unit=_DOTS / 100.0,
            display=displays.find(software=True),
        )
        figure.savefig(file, format="png", metadata={"Software": "Plumbrail"})
    text = base64.b64encode(file.getvalue()).decode("ascii")
    return Markup(f'<img alt="The frame as it moves" src="data:image/png;base64,{text}">'), scale
