"""Sections drawn to scale: walls, centres, axes, sizes, shear flows, and figures beside.

One row per section, so that the open one stands over the boxed one and the worn one over
the new; all at one scale, and flows of one kind at one scale too.
"""

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fea.errors import Complaint, MissingExtraError
from fea.frame.model import Section
from fea.out import panels
from fea.out.display import INSTALL_DRAWING
from fea.out.files import write_whole
from fea.out.palette import THEME
from fea.out.section_flow import torsion_flow, upright_flow
from fea.out.section_panels import Frame, draw_figures, draw_flow, draw_walls
from fea.section.properties import SectionProperties, properties

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDE = 16.0  # inches
_HEAD, _FOOT = 0.8, 0.35  # inches above and below the rows
_LEFT = 0.35  # inches
_COLUMNS = (4.4, 3.35, 3.35, 4.4)  # inches: walls, upright shear, torsion, figures
_HIGH = 7.5  # inches that the sections of a page share
_ROWS = 4
"""More sections than this do not go on one page."""

FORCE = 1e3
"""N: the upright force whose flow is drawn."""
TORQUE = 1e5
"""N mm: the torque whose flow is drawn."""
_PLACES = np.linspace(0.0, 1.0, 33)


@dataclass(frozen=True, eq=False)
class _Row:
    """A section with its properties and flows, N/mm, shape (m, k)."""

    label: str
    section: Section
    p: SectionProperties
    upright: np.ndarray
    torsion: np.ndarray | None


def write_sections(
    sections: Sequence[Section], path: Path, *, title: str, subtitle: str = "", width: int = 2000
) -> int:
    """Write a drawing of up to four sections, as PNG or, by the file's ending, as SVG.

    Parameters
    ----------
    width : int, pixels, of a PNG

    Returns
    -------
    int
        How many sections were left out for want of room.

    Raises
    ------
    MissingExtraError
        If matplotlib is not installed.
    """
    if find_spec("matplotlib") is None:
        rule = "a drawing needs matplotlib"
        raise MissingExtraError(Complaint(rule, found="not installed", do=INSTALL_DRAWING))
    import matplotlib as mpl

    kind = "svg" if path.suffix.lower() == ".svg" else "png"
    rows = [_row(section) for section in sections[:_ROWS]]
    with mpl.rc_context(), warnings.catch_warnings():
        mpl.rcdefaults()  # the user's own matplotlib settings must not reach the page
        mpl.rcParams["text.parse_math"] = False
        mpl.rcParams["svg.hashsalt"] = "plumbrail"  # the same drawing is the same file
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        figure = _page(rows, title, subtitle, width)
        stamp = (
            {"Date": None, "Creator": "Plumbrail"} if kind == "svg" else {"Software": "Plumbrail"}
        )
        write_whole(path, lambda part: figure.savefig(part, format=kind, metadata=stamp))
    return len(sections) - len(rows)


def _row(section: Section) -> _Row:
    p = properties(section.midline)
    flow = torsion_flow(p, _PLACES) * TORQUE if p.is_closed else None
    upright = upright_flow(section.midline, p, _PLACES) * FORCE
    return _Row(section.name, section, p, upright, flow)


def _page(rows: Sequence[_Row], title: str, subtitle: str, width: int) -> "Figure":
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure as Canvas

    frame = _frame(rows)
    room = frame.size + 2 * frame.margin
    tallest = _HIGH / min(max(len(rows), 1), 3) + 1.2
    scale = min(_COLUMNS[0] / room[0], tallest / room[1])
    scale = min(scale, _COLUMNS[1] / (frame.size[0] + 1.2 * frame.margin))
    high = max(scale * room[1], 2.6) + 0.55
    tall = _HEAD + high * len(rows) + _FOOT
    figure = Canvas(figsize=(_WIDE, tall), dpi=width / _WIDE, facecolor=THEME.paper)
    FigureCanvasAgg(figure)
    whole = (1.0 - 2 * _LEFT / _WIDE) * figure.get_window_extent().width
    head = figure.text(
        _LEFT / _WIDE, 1.0 - 0.28 / tall, title, fontsize=19.0, fontweight="bold",
        color=THEME.ink, va="top",
    )  # fmt: skip
    panels.shrink(head, whole)
    under = figure.text(
        _LEFT / _WIDE, 1.0 - 0.66 / tall, subtitle, fontsize=11.5, color=THEME.quiet, va="top"
    )
    panels.shrink(under, whole)
    for number, row in enumerate(rows):
        bottom = tall - _HEAD - high * (number + 1)
        _draw_row(figure, row, rows, frame, (bottom, high - 0.5, tall, scale))
    note = (
        "Drawn looking forward (of a pair of rails, the right one), crossmembers from the right.  "
        "C centroid, S shear centre, + the member's reference line, 1 and 2 principal axes.  "
        "Width and colour of the bands: shear flow.  Sizes in mm."
    )
    figure.text(_LEFT / _WIDE, 0.14 / tall, note, fontsize=8.5, color=THEME.quiet)
    return figure


def _draw_row(
    figure: "Figure",
    row: _Row,
    rows: Sequence[_Row],
    frame: Frame,
    place: tuple[float, float, float, float],
) -> None:
    """Draw one section: its walls, its flows, its figures."""
    bottom, high, tall, scale = place
    left = _LEFT
    axes = []
    for wide in _COLUMNS[:3]:
        axes.append(_axes(figure, (left, bottom, wide, high), tall, frame, scale))
        left += wide
    heading = f"{row.label}, {'closed' if row.p.is_closed else 'open'}"
    _heading(figure, heading, (_LEFT, bottom + high, tall), bold=True)
    draw_walls(axes[0], row.section, row.p)
    at = _LEFT + _COLUMNS[0]
    _heading(figure, "upright force of 1 kN", (at, bottom + high, tall))
    top = max(float(np.abs(r.upright).max()) for r in rows)
    draw_flow(axes[1], row.section, row.p, row.upright, top)
    at += _COLUMNS[1]
    _heading(figure, "torque of 100 N m", (at, bottom + high, tall))
    if row.torsion is None:
        draw_flow(axes[2], row.section, row.p, np.zeros((len(row.upright), 2)), 1.0)
        axes[2].text(
            0.5, 0.02, "open: no flow goes round;\neach wall twists by itself",
            transform=axes[2].transAxes, ha="center", va="bottom", fontsize=9.0, color=THEME.quiet,
        )  # fmt: skip
    else:
        top = max(float(np.abs(r.torsion).max()) for r in rows if r.torsion is not None)
        draw_flow(axes[2], row.section, row.p, row.torsion, top)
    draw_figures(figure, row.section, row.p, (left / _WIDE, (bottom + high) / tall, tall))


def _heading(
    figure: "Figure", text: str, at: tuple[float, float, float], *, bold: bool = False
) -> None:
    left, top, tall = at
    figure.text(
        left / _WIDE, (top + 0.04) / tall, text, fontsize=12.0 if bold else 10.0,
        fontweight="bold" if bold else "normal", color=THEME.ink if bold else THEME.quiet,
        va="top",
    )  # fmt: skip


def _axes(
    figure: "Figure", place: tuple[float, ...], tall: float, frame: Frame, scale: float
) -> "Axes":
    """Return axes without a frame, `scale` inches to the millimetre, the section in the middle."""
    left, bottom, wide, high = place
    axes = figure.add_axes((left / _WIDE, bottom / tall, wide / _WIDE, (high - 0.2) / tall))
    axes.set_axis_off()
    middle = frame.middle
    axes.set_xlim(middle[0] - wide / scale / 2, middle[0] + wide / scale / 2)
    axes.set_ylim(middle[1] - (high - 0.2) / scale / 2, middle[1] + (high - 0.2) / scale / 2)
    return axes


def _frame(rows: Sequence[_Row]) -> Frame:
    """Return the box that holds every section with its centres."""
    marks = [
        np.vstack([row.section.midline.points, row.p.centroid, row.p.shear_centre, np.zeros(2)])
        for row in rows
    ]
    every = np.vstack(marks)
    low, high = every.min(axis=0), every.max(axis=0)
    size = high - low
    return Frame((low + high) / 2, size, 0.26 * float(max(size)))
