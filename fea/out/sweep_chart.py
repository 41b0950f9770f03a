"""Charts of sweeps: curves over one thing varied, or maps with contours over two."""

import warnings
from collections.abc import Sequence
from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, MissingExtraError
from fea.out import panels
from fea.out.display import INSTALL_DRAWING
from fea.out.files import write_whole
from fea.out.palette import THEME, hexes

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]

_WIDE = 14.0  # inches
_MARGIN, _HEAD, _FOOT, _GAP = 0.35, 0.95, 0.45, 0.4  # inches
_HIGH = 4.2  # inches: height of a panel
_LEVELS = 8  # contours, about
_MOST_NAMES = 14  # ticks that are names


@dataclass(frozen=True)
class Scale:
    """What an axis shows: its label, where its values are, and names for those that are none.

    `values`: (n,), rising; with `names` the places 0, 1, 2 ...
    """

    label: str
    values: Array
    names: tuple[str, ...] = ()


@dataclass(frozen=True)
class Panel:
    """One quantity: of curves (name, (n,)) over x, or of a map (n, m) over x and y.

    NaN where there is no value.  `marks` are (x, y) that a map points out, with a word.
    """

    title: str
    curves: tuple[tuple[str, Array], ...] = ()
    field: Array | None = None
    marks: tuple[tuple[float, float, str], ...] = ()


@dataclass(frozen=True)
class Chart:
    """A page of panels that share their axes."""

    title: str
    under: str
    note: str
    x: Scale
    panels: tuple[Panel, ...]
    y: Scale | None = None
    lines: tuple[tuple[float, str], ...] = field(default=())
    """Places on x worth a thin line, with their names."""


def write_sweep_chart(chart: Chart, path: Path, *, width: int = 1800) -> None:
    """Write a chart as PNG or, by the file's ending, as SVG; `width` in pixels.

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
        figure = page(chart, width)
        stamp = (
            {"Date": None, "Creator": "Plumbrail"} if ending == "svg" else {"Software": "Plumbrail"}
        )
        write_whole(path, lambda part: figure.savefig(part, format=ending, metadata=stamp))


def page(chart: Chart, width: int) -> "Figure":
    """Return the drawn page; `width` in pixels."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure as Canvas

    columns = min(2, len(chart.panels))
    rows = -(-len(chart.panels) // columns)
    tall = _HEAD + rows * _HIGH + (rows - 1) * _GAP + _FOOT
    figure = Canvas(figsize=(_WIDE, tall), dpi=width / _WIDE, facecolor=THEME.paper)
    FigureCanvasAgg(figure)
    _head(figure, chart)
    wide = (_WIDE - 2.0 * _MARGIN - (columns - 1) * _GAP) / columns
    for k, panel in enumerate(chart.panels):
        row, column = divmod(k, columns)
        left = _MARGIN + column * (wide + _GAP)
        bottom = tall - _HEAD - (row + 1) * _HIGH - row * _GAP
        place = (left / _WIDE, bottom / tall, wide / _WIDE, _HIGH / tall)
        panels.heading(figure, place, panel.title)
        axes = _axes(figure, place, chart)
        if panel.field is None:
            _curves(axes, chart, panel)
        else:
            _map(figure, axes, chart, panel)
    return figure


def _head(figure: "Figure", chart: Chart) -> None:
    tall = figure.get_figheight()
    room = (_WIDE - 2.0 * _MARGIN) / _WIDE * figure.get_window_extent().width
    left = _MARGIN / _WIDE
    for text, down, size, weight, colour in (
        (chart.title, 0.22, 17.0, "bold", THEME.ink),
        (chart.under, 0.58, 11.0, "normal", THEME.quiet),
        (chart.note, tall - 0.28, 8.5, "normal", THEME.quiet),
    ):
        drawn = figure.text(
            left, 1.0 - down / tall, text, fontsize=size, fontweight=weight, color=colour, va="top"
        )
        panels.shrink(drawn, room)


def _axes(figure: "Figure", place: panels.Place, chart: Chart) -> "Axes":
    left, bottom, wide, high = place
    page_wide, page_high = figure.get_figwidth(), figure.get_figheight()
    axes = figure.add_axes(
        (
            left + 0.75 / page_wide,
            bottom + 0.6 / page_high,
            wide - 0.95 / page_wide,
            high - 1.0 / page_high,
        )
    )
    axes.set_facecolor("none")
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("left", "bottom"):
        axes.spines[side].set_color(THEME.rule)
    axes.tick_params(colors=THEME.quiet, labelsize=8.5, length=3.0, width=0.7)
    axes.set_xlabel(chart.x.label, fontsize=9.0, color=THEME.quiet)
    _ticks(axes.xaxis, chart.x)
    if chart.y is not None:
        axes.set_ylabel(chart.y.label, fontsize=9.0, color=THEME.quiet)
        _ticks(axes.yaxis, chart.y)
    for at, name in chart.lines:
        axes.axvline(at, color=THEME.rule, linewidth=0.8, zorder=0)
        axes.text(
            at, 1.005, name, fontsize=7.5, color=THEME.quiet, ha="center", va="bottom",
            transform=axes.get_xaxis_transform(),
        )  # fmt: skip
    return axes


def _ticks(axis: Any, scale: Scale) -> None:  # noqa: ANN401 - either axis of the library
    if scale.names:
        every = -(-len(scale.names) // _MOST_NAMES)
        axis.set_ticks(scale.values[::every], scale.names[::every])


def _curves(axes: "Axes", chart: Chart, panel: Panel) -> None:
    """Draw the curves, each named where there is more than one; a gap where none is known."""
    shades = hexes()
    for k, (name, values) in enumerate(panel.curves):
        shade = THEME.curve if k == 0 else shades[90 if k % 2 else 240]
        axes.plot(
            chart.x.values, values, color=shade, linewidth=1.8, marker="o", markersize=4.0,
            linestyle="none" if chart.x.names else "-", label=name,
        )  # fmt: skip
    axes.grid(axis="y", color=THEME.rule, linewidth=0.7)
    axes.ticklabel_format(axis="y", useOffset=False)
    if not any(np.isfinite(values).any() for _, values in panel.curves):
        axes.set_yticks([])
    if len(panel.curves) > 1:
        axes.legend(frameon=False, fontsize=9.0, labelcolor=THEME.ink)


def _map(figure: "Figure", axes: "Axes", chart: Chart, panel: Panel) -> None:
    """Draw a map with contours, a dot at every value known and what it points out."""
    from matplotlib.colors import ListedColormap
    from matplotlib.patheffects import withStroke

    assert chart.y is not None
    assert panel.field is not None
    x, y, z = chart.x.values, chart.y.values, np.ma.masked_invalid(panel.field.T)
    known = ~np.ma.getmaskarray(z)
    across, up = np.meshgrid(x, y)
    if known.any() and np.ptp(z.compressed()) > 0.0:
        colours = ListedColormap(hexes())
        filled: Any
        if chart.x.names or chart.y.names:
            filled = axes.pcolormesh(x, y, z, cmap=colours, shading="nearest")
        elif _cells(known):
            filled = axes.contourf(x, y, z, levels=40, cmap=colours)
            drawn = axes.contour(
                x, y, z, levels=_LEVELS, colors=THEME.edge, linewidths=0.7, alpha=0.75
            )
            for text in axes.clabel(drawn, fontsize=7.5, fmt="%g"):
                text.set_path_effects([withStroke(linewidth=2.0, foreground=THEME.paper)])
        else:
            filled = axes.scatter(
                across[known], up[known], c=z.compressed(), cmap=colours, s=60.0, zorder=2
            )
        bar = figure.colorbar(filled, ax=axes, pad=0.02, fraction=0.05)
        bar.outline.set_visible(False)
        bar.ax.tick_params(colors=THEME.quiet, labelsize=8.0, length=2.0)
    axes.scatter(across[known], up[known], s=3.0, color=THEME.edge, alpha=0.5, zorder=3)
    for at, over, word in panel.marks:
        axes.plot([at], [over], marker="D", markersize=7.0, color=THEME.load, zorder=4)
        axes.annotate(
            word, (at, over), xytext=(8.0, -10.0), textcoords="offset points", fontsize=9.0,
            fontweight="bold", color=THEME.load, zorder=4,
        )  # fmt: skip


def _cells(known: NDArray[np.bool_]) -> bool:
    """Whether some square of four neighbours is known, so that there is an area to fill."""
    return bool((known[1:, 1:] & known[:-1, 1:] & known[1:, :-1] & known[:-1, :-1]).any())


def scale_of(label: str, texts: Sequence[str], numbers: Sequence[float] | None) -> Scale:
    """Return the scale of what is varied: its figures if they rise, or its names one by one."""
    if numbers is None or not (np.diff(numbers) > 0.0).all():
        return Scale(label, np.arange(len(texts), dtype=float), tuple(texts))
    return Scale(label, np.asarray(numbers, dtype=float))
