"""A frame on its stands: from above with what each bears, and how its rails sag between them."""

import warnings
from importlib.util import find_spec
from math import degrees
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fea.errors import Complaint, MissingExtraError
from fea.out import panels
from fea.out.camera import FROM_ABOVE
from fea.out.display import INSTALL_DRAWING
from fea.out.files import write_whole
from fea.out.palette import THEME
from fea.shop.stand_levels import OffLevel
from fea.shop.stand_record import sentences, tipping
from fea.shop.stands import Standing

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDE, _SIDE = 16.0, 0.75  # inches
_HEAD, _PLAN, _GAP, _SAG, _FOOT = 1.55, 4.2, 0.65, 1.9, 0.75
_MARK = 13.0  # points: a stand
_AROUND = 330.0  # mm of room round the frame seen from above


def write_stands_chart(
    standing: Standing,
    moves: list[OffLevel],
    tolerance: float,
    path: Path,
    *,
    width: int = 2000,
) -> None:
    """Write the picture of a set of stands, as PNG or, by the file's ending, as SVG.

    Parameters
    ----------
    moves, tolerance : how true the stands must be, for the words; see
        :func:`fea.shop.stand_levels.off_level`
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
        mpl.rcParams["svg.hashsalt"] = "plumbrail"  # the same stands are the same file
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        figure = page(standing, sentences(standing, moves, tolerance), width)
        stamp = (
            {"Date": None, "Creator": "Plumbrail"} if ending == "svg" else {"Software": "Plumbrail"}
        )
        write_whole(path, lambda part: figure.savefig(part, format=ending, metadata=stamp))


def page(standing: Standing, words: list[str], width: int) -> "Figure":
    """Return the drawn page; `width` in pixels."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure as Canvas

    tall = _HEAD + _PLAN + _GAP + _SAG + _FOOT
    figure = Canvas(figsize=(_WIDE, tall), dpi=width / _WIDE, facecolor=THEME.paper)
    FigureCanvasAgg(figure)
    _head(figure, standing, words)
    room = (_WIDE - 2.0 * _SIDE) / _WIDE
    foot = _FOOT / tall
    plan = figure.add_axes((_SIDE / _WIDE, foot + (_SAG + _GAP) / tall, room, _PLAN / tall))
    sag = figure.add_axes((_SIDE / _WIDE, foot, room, _SAG / tall))
    _plan(plan, standing)
    _sag(sag, standing)
    sag.set_xlim(plan.get_xlim())
    return figure


def _head(figure: "Figure", standing: Standing, words: list[str]) -> None:
    tall, on = figure.get_figheight(), standing.bench
    room = (_WIDE - 2.0 * _SIDE) / _WIDE * figure.get_window_extent().width
    title = figure.text(
        _SIDE / _WIDE, 1.0 - 0.22 / tall, f"{on.frame.title}: on {len(standing.stands)} stands",
        fontsize=19.0, fontweight="bold", color=THEME.ink, va="top",
    )  # fmt: skip
    panels.shrink(title, room)
    lines = (
        f"Weight {on.weight:.0f} N. Rails {standing.sag:.2f} mm off level at most, twist"
        f" {abs(degrees(standing.twist)):.2f} deg; centre of mass {tipping(standing):.0f} mm inside"
        " the stands.",
        words[0],
    )
    for k, line in enumerate(lines):
        under = figure.text(
            _SIDE / _WIDE, 1.0 - (0.66 + 0.26 * k) / tall, line, fontsize=11.5, color=THEME.quiet,
            va="top",
        )  # fmt: skip
        panels.shrink(under, room)
    figure.text(
        _SIDE / _WIDE, 0.12 / tall,
        "Level concrete, rated stands, never a jack alone. A planning aid, not a certification.",
        fontsize=8.5, color=THEME.quiet,
    )  # fmt: skip


def _plan(axes: "Axes", standing: Standing) -> None:
    """Draw the frame from above: front to the left, the right side at the top."""
    on = standing.bench
    for member in on.frame.members:
        rail = member.kind == "rail"
        axes.plot(
            member.path[:, 0], member.path[:, 1], color=THEME.quiet if rail else THEME.ghost_edge,
            linewidth=4.0 if rail else 3.0, solid_capstyle="butt", zorder=2 if rail else 1,
        )  # fmt: skip
    at = on.plan[standing.stands]
    bears = [k for k in range(len(at)) if k not in standing.lifted]
    angle = np.arctan2(*(at[bears] - at[bears].mean(axis=0)).T[::-1])
    ring = at[bears][np.argsort(angle)]
    axes.fill(ring[:, 0], ring[:, 1], color=THEME.wash, zorder=0)
    for k, ((x, y), force) in enumerate(zip(at.tolist(), standing.forces.tolist(), strict=True)):
        colour = THEME.hold if k in bears else THEME.no_value
        axes.plot(x, y, marker="^", markersize=_MARK, color=colour, markeredgecolor=THEME.paper,
                  zorder=4)  # fmt: skip
        away = 1.0 if y > 0.0 else -1.0
        axes.annotate(
            f"{force:.0f} N\n{x:.0f} mm", (x, y), xytext=(0.0, 17.0 * away),
            textcoords="offset points", ha="center", va="bottom" if away > 0.0 else "top",
            fontsize=10.0, color=THEME.ink, zorder=5,
        )  # fmt: skip
    axes.plot(*on.centre, marker="+", markersize=14.0, markeredgewidth=2.0, color=THEME.load,
              zorder=4)  # fmt: skip
    axes.annotate(
        "centre of mass", (on.centre[0], on.centre[1]), xytext=(9.0, 5.0),
        textcoords="offset points", fontsize=9.5, color=THEME.load, zorder=5,
        bbox={"facecolor": THEME.wash, "edgecolor": "none", "pad": 0.8},
    )  # fmt: skip
    points = np.vstack([m.path[:, :2] for m in on.frame.members])
    low, high = points.min(axis=0) - _AROUND, points.max(axis=0) + _AROUND
    # One scale both ways, set here: left to the plot it would fix neither limit for the sag.
    box = axes.get_window_extent()
    size = np.array([box.width, box.height])
    half = 0.5 * size * float(((high - low) / size).max())
    middle = 0.5 * (low + high)
    axes.set_xlim(middle[0] - half[0], middle[0] + half[0])
    axes.set_ylim(middle[1] - half[1], middle[1] + half[1])
    axes.set_axis_off()
    axes.set_title(FROM_ABOVE, loc="left", fontsize=11.0, fontweight="bold", color=THEME.ink)


def _sag(axes: "Axes", standing: Standing) -> None:
    on = standing.bench
    for side, colour, style in ((0, THEME.curve, "-"), (1, THEME.load, (0, (4, 3)))):
        name = "left" if side else "right"
        axes.plot(on.reads, standing.heights[side::2], color=colour, linestyle=style,
                  linewidth=1.8, label=f"{name} rail", zorder=3)  # fmt: skip
    stations = on.plan[standing.stands, 0]
    axes.plot(stations, np.zeros(len(stations)), linestyle="none", marker="^", markersize=8.0,
              color=THEME.hold, zorder=4)  # fmt: skip
    axes.axhline(0.0, color=THEME.quiet, linewidth=0.8, zorder=1)
    axes.grid(axis="y", color=THEME.rule, linewidth=0.7, zorder=0)
    for edge in ("top", "right"):
        axes.spines[edge].set_visible(False)
    for edge in ("left", "bottom"):
        axes.spines[edge].set_color(THEME.quiet)
    axes.tick_params(colors=THEME.quiet, labelsize=8.5, length=3.0, width=0.7)
    axes.set_xlabel("station, mm", fontsize=9.0, color=THEME.quiet)
    axes.set_title("Height of the rails off the stands' level, mm", loc="left", fontsize=11.0,
                   fontweight="bold", color=THEME.ink)  # fmt: skip
    axes.legend(loc="best", fontsize=9.0, frameon=False, ncols=2)
