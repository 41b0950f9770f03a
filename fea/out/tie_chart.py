"""Candidate ties on one page: gain by mount stiffness, twist profiles, and bars by candidate."""

import warnings
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from fea.errors import Complaint, MissingExtraError
from fea.out import panels, tie_panels
from fea.out.display import INSTALL_DRAWING
from fea.out.files import write_whole
from fea.out.palette import THEME
from fea.study.tie_sweep import TieSweep
from fea.study.ties import TieStudy

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_WIDE = 16.0  # inches
_LEFT, _RIGHT = 0.35, 0.35  # inches beside the panels
_HEAD, _FOOT, _GAP = 0.95, 0.45, 0.35  # inches above, below and between them
_CURVES = 4.6  # inches: height of the upper row
_TICKS = 0.35  # inches below the bars, for their axis


def write_tie_charts(
    study: TieStudy, sweep: TieSweep, path: Path, *, kind: str = "", width: int = 2000
) -> None:
    """Write the charts of a study of ties, as PNG or, by the file's ending, as SVG.

    Parameters
    ----------
    kind : str
        The kind of body, for the heading; by itself the bodies' names stand there.
    width : int, pixels, of a PNG

    Raises
    ------
    MissingExtraError
        If matplotlib is not installed.
    """
    if find_spec("matplotlib") is None:
        rule = "a chart needs matplotlib"
        raise MissingExtraError(Complaint(rule, found="not installed", do=INSTALL_DRAWING))
    import matplotlib as mpl

    ending = "svg" if path.suffix.lower() == ".svg" else "png"
    with mpl.rc_context(), warnings.catch_warnings():
        mpl.rcdefaults()  # the user's own matplotlib settings must not reach the page
        mpl.rcParams["text.parse_math"] = False
        mpl.rcParams["svg.hashsalt"] = "plumbrail"  # the same chart is the same file
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        figure = page(study, sweep, kind, width)
        stamp = (
            {"Date": None, "Creator": "Plumbrail"} if ending == "svg" else {"Software": "Plumbrail"}
        )
        write_whole(path, lambda part: figure.savefig(part, format=ending, metadata=stamp))


def page(study: TieStudy, sweep: TieSweep, kind: str, width: int) -> "Figure":
    """Return the drawn page; `width` in pixels."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure as Canvas

    bars = tie_panels.bars_high(study)
    tall = _HEAD + _CURVES + _GAP + bars + _TICKS + _FOOT
    figure = Canvas(figsize=(_WIDE, tall), dpi=width / _WIDE, facecolor=THEME.paper)
    FigureCanvasAgg(figure)
    _head(figure, study, kind)

    def share(left: float, bottom: float, wide: float, high: float) -> panels.Place:
        return left / _WIDE, bottom / tall, wide / _WIDE, high / tall

    room = _WIDE - _LEFT - _RIGHT
    upper = _FOOT + _TICKS + bars + _GAP
    half = 0.53 * (room - _GAP)
    tie_panels.gains(figure, share(_LEFT, upper, half, _CURVES), study, sweep)
    rest = room - _GAP - half
    tie_panels.profiles(figure, share(_LEFT + half + _GAP, upper, rest, _CURVES), study)
    tie_panels.bars(figure, share(_LEFT, _FOOT + _TICKS, room, bars), study)
    return figure


def _head(figure: "Figure", study: TieStudy, kind: str) -> None:
    """Write the heading, what was studied, and at the foot what the figures rest on."""
    tall = figure.get_figheight()
    room = (_WIDE - _LEFT - _RIGHT) / _WIDE * figure.get_window_extent().width
    bodies = ", ".join(b.name for b in study.frame.bodies)
    on_top = f"{kind} body" if kind else bodies
    title = figure.text(
        _LEFT / _WIDE, 1.0 - 0.22 / tall, f"{study.frame.title}, {on_top}: one more tie",
        fontsize=19.0, fontweight="bold", color=THEME.ink, va="top",
    )  # fmt: skip
    panels.shrink(title, room)
    under = figure.text(
        _LEFT / _WIDE, 1.0 - 0.6 / tall,
        f"{len(study.candidates)} candidates between frame and {bodies}, right and left together; "
        f"{study.cases[0].title}",
        fontsize=11.5, color=THEME.quiet, va="top",
    )  # fmt: skip
    panels.shrink(under, room)
    note = figure.text(
        _LEFT / _WIDE, 0.14 / tall,
        "Curves: all mounts alike, sideways and lengthwise at the mean share of the frame's own "
        "mounts.  Dots: the grades, with shares of their own.  Gains are over the vehicle "
        "without the tie, on the same mounts.  A planning aid, not a certification.",
        fontsize=8.5, color=THEME.quiet,
    )  # fmt: skip
    panels.shrink(note, room)
