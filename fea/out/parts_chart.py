"""What each part buys on one page: bars of its Shapley share in twist and bending, and per kg."""

import warnings
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fea.errors import Complaint, MissingExtraError
from fea.out import panels
from fea.out.display import INSTALL_DRAWING
from fea.out.files import write_whole
from fea.out.palette import THEME
from fea.study.parts import Measure, PartStudy, per_kilogram

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDE = 16.0  # inches
_HEAD, _FOOT, _ROW = 1.35, 0.75, 0.42  # inches: heading, axis and note, one part
_NAMES, _GAP, _SIDE = 1.9, 0.55, 0.35  # inches: part names, between panels, at the edges


def write_parts_chart(found: PartStudy, path: Path, *, width: int = 2000) -> None:
    """Write the bars of a study of parts, as PNG or, by the file's ending, as SVG.

    Parameters
    ----------
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
        figure = page(found, width)
        stamp = (
            {"Date": None, "Creator": "Plumbrail"} if ending == "svg" else {"Software": "Plumbrail"}
        )
        write_whole(path, lambda part: figure.savefig(part, format=ending, metadata=stamp))


def page(found: PartStudy, width: int) -> "Figure":
    """Return the drawn page; `width` in pixels."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure as Canvas

    order = sorted(range(len(found.names)), key=lambda k: -found.share(k, "twist")[0])
    bars = _ROW * len(order)
    tall = _HEAD + bars + _FOOT
    figure = Canvas(figsize=(_WIDE, tall), dpi=width / _WIDE, facecolor=THEME.paper)
    FigureCanvasAgg(figure)
    _head(figure, found)
    room = (_WIDE - 2.0 * _SIDE - _NAMES - 2.0 * _GAP) / 3.0
    left = _SIDE + _NAMES
    titles = (
        "Share of twist gain, % of stock",
        "Share of bending gain, % of stock",
        "Share per kg, % of stock: twist over bending",
    )
    for number, title in enumerate(titles):
        place = (left / _WIDE, _FOOT / tall, room / _WIDE, bars / tall)
        axes = figure.add_axes(place)
        if number < 2:
            _bars(axes, found, order, ("twist", "bending")[number])
        else:
            _per_kilogram(axes, found, order)
        _dress(axes, [found.names[k] for k in order], named=number == 0)
        figure.text(
            place[0], (_FOOT + bars + 0.12) / tall, title, fontsize=11.0, fontweight="bold",
            color=THEME.ink,
        )  # fmt: skip
        left += room + _GAP
    return figure


def _head(figure: "Figure", found: PartStudy) -> None:
    """Write the heading, and at the foot what the figures rest on."""
    tall = figure.get_figheight()
    shares = found.division
    orders = "all orders" if shares.shares.n_orders is None else f"{shares.shares.n_orders} orders"
    joints = "as sheet metal" if shares.setting.sheet_joints else "by beam rules"
    room = (_WIDE - 2.0 * _SIDE) / _WIDE * figure.get_window_extent().width
    title = figure.text(
        _SIDE / _WIDE, 1.0 - 0.2 / tall, f"{found.setting.document.title}: what each part buys",
        fontsize=19.0, fontweight="bold", color=THEME.ink, va="top",
    )  # fmt: skip
    panels.shrink(title, room)
    under = figure.text(
        _SIDE / _WIDE, 1.0 - 0.62 / tall,
        f"All parts: {1.0 + found.shared('twist'):.2f} x stock in twist,"
        f" {1.0 + found.shared('bending'):.2f} x in bending. Shapley shares: a part's mean"
        f" step over {orders} of fitting; joints {joints}.",
        fontsize=11.5, color=THEME.quiet, va="top",
    )  # fmt: skip
    panels.shrink(under, room)
    figure.text(
        _SIDE / _WIDE, 0.12 / tall,
        "Thin lines: the part alone on the stock frame. A part without steel of its own has no"
        " figure per kilogram. A planning aid, not a certification.",
        fontsize=8.5, color=THEME.quiet,
    )  # fmt: skip


def _bars(axes: "Axes", found: PartStudy, order: list[int], measure: Measure) -> None:
    rows = np.arange(len(order))
    shares = np.array([found.share(k, measure) for k in order]) * 100.0
    colour = THEME.curve if measure == "twist" else THEME.bar
    axes.barh(rows, shares[:, 0], height=0.62, color=colour, zorder=2)
    if shares[:, 1].any():
        axes.errorbar(
            shares[:, 0], rows, xerr=shares[:, 1], fmt="none", ecolor=THEME.ink, elinewidth=1.0,
            capsize=3.0, zorder=3,
        )  # fmt: skip
    for row, k in enumerate(order):
        alone = 100.0 * found.alone(k, measure)
        axes.plot([alone, alone], [row - 0.38, row + 0.38], color=THEME.ink, linewidth=1.2,
                  zorder=4)  # fmt: skip
        _tell(axes, row, 0.0, shares[row, 0], beyond=alone)


def _per_kilogram(axes: "Axes", found: PartStudy, order: list[int]) -> None:
    """Draw the twist share per kilogram, and under it that of bending."""
    pairs: tuple[tuple[Measure, float, str], ...] = (
        ("twist", -0.18, THEME.curve), ("bending", 0.18, THEME.bar),
    )  # fmt: skip
    for measure, shift, colour in pairs:
        for row, k in enumerate(order):
            per = per_kilogram(found.share(k, measure)[0], found.mass(k))
            if per is not None:
                axes.barh(row + shift, 100.0 * per, height=0.34, color=colour, zorder=2)
                _tell(axes, row, shift, 100.0 * per)


def _tell(axes: "Axes", row: int, shift: float, value: float, *, beyond: float = 0.0) -> None:
    """Write a bar's value beside its end, or beside a mark further out."""
    value = round(value, 1) + 0.0  # minus nothing stands where nothing does
    text = f"{value:+.1f}".replace("-", "\u2212") if value else "0.0"
    end = max(value, beyond) if value >= 0.0 else min(value, beyond)
    axes.annotate(
        text, (end, row + shift), xytext=(4.0 if value >= 0.0 else -4.0, 0.0),
        textcoords="offset points", ha="left" if value >= 0.0 else "right", va="center",
        fontsize=8.5 if shift == 0.0 else 7.0, color=THEME.ink, zorder=5,
        bbox={"facecolor": THEME.paper, "edgecolor": "none", "pad": 0.6, "alpha": 0.8},
    )  # fmt: skip


def _dress(axes: "Axes", names: list[str], *, named: bool) -> None:
    axes.set_ylim(len(names) - 0.5, -0.5)
    axes.set_yticks(range(len(names)), names if named else [""] * len(names))
    axes.set_facecolor("none")
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(THEME.quiet)
    axes.tick_params(colors=THEME.quiet, labelsize=8.5, length=3.0, width=0.7)
    axes.tick_params(axis="y", length=0.0, labelsize=10.5, labelcolor=THEME.ink)
    axes.grid(axis="x", color=THEME.rule, linewidth=0.7, zorder=0)
    axes.axvline(0.0, color=THEME.quiet, linewidth=0.9, zorder=1.5)
    axes.margins(x=0.16)
