"""A survey drawn: the frame from above and from the side, what it is off by exaggerated.

Grey is the sheet; the line in colour joins the measured points, moved by many times what they
are off.  Numbers at the points are millimetres as measured.  Below, measures beside their
tolerances.
"""

import warnings
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, MissingExtraError
from fea.out import panels
from fea.out.camera import FROM_ABOVE
from fea.out.display import INSTALL_DRAWING
from fea.out.files import write_whole
from fea.out.palette import THEME
from fea.out.survey_bars import bars
from fea.shop import survey_words as words
from fea.shop.survey import Surveyed
from fea.shop.survey_points import pairs, sheet

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]

_WIDE = 16.0  # inches
_LEFT = 0.35
_HEAD, _FOOT, _GAP = 1.25, 0.5, 0.3
_PLAN, _SIDE, _BARS = 4.3, 2.3, 3.3
_SCALES = (150, 100, 75, 50, 30, 20, 10, 5, 2, 1)


def write_survey_picture(found: Surveyed, path: Path, *, width: int = 2000) -> None:
    """Write the picture, as PNG or, by the file's ending, as SVG.

    Raises
    ------
    MissingExtraError
        If matplotlib is not installed.
    """
    if find_spec("matplotlib") is None:
        rule = "a picture of a survey needs matplotlib"
        raise MissingExtraError(Complaint(rule, found="not installed", do=INSTALL_DRAWING))
    import matplotlib as mpl

    ending = "svg" if path.suffix.lower() == ".svg" else "png"
    with mpl.rc_context(), warnings.catch_warnings():
        mpl.rcdefaults()  # the user's own matplotlib settings must not reach the page
        mpl.rcParams["text.parse_math"] = False
        mpl.rcParams["svg.hashsalt"] = "plumbrail"  # the same survey is the same file
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        figure = page(found, width)
        stamp = (
            {"Date": None, "Creator": "Plumbrail"} if ending == "svg" else {"Software": "Plumbrail"}
        )
        write_whole(path, lambda part: figure.savefig(part, format=ending, metadata=stamp))


def exaggeration(found: Surveyed) -> int:
    """Return a round factor that makes the largest deviation a fifth of the width at most."""
    off = np.abs(found.off[found.told])
    largest = float(off.max(initial=0.0))
    at = sheet(found.readings.points)
    room = 0.2 * max(float(np.ptp(at[:, 1])), 400.0)
    return next((s for s in _SCALES if s * largest <= room), 1)


def page(found: Surveyed, width: int) -> "Figure":
    """Return the drawn page; `width` in pixels."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure as Canvas

    tall = _HEAD + _PLAN + 2 * _SIDE + _BARS + 3 * _GAP + _FOOT
    figure = Canvas(figsize=(_WIDE, tall), dpi=width / _WIDE, facecolor=THEME.paper)
    FigureCanvasAgg(figure)
    scale = exaggeration(found)
    _head(figure, found, scale)
    top = tall - _HEAD
    places = []
    for high in (_PLAN, _SIDE, _SIDE, _BARS):
        places.append((_LEFT / _WIDE, (top - high) / tall, 1.0 - 2 * _LEFT / _WIDE, high / tall))
        top -= high + _GAP
    _plan(figure, places[0], found, scale)
    for place, side in zip(places[1:3], ("right", "left"), strict=True):
        _side(figure, place, found, scale, side)
    bars(figure, places[3], found)
    return figure


def _head(figure: "Figure", found: Surveyed, scale: int) -> None:
    tall = figure.get_figheight()
    room = (_WIDE - 2 * _LEFT) / _WIDE * figure.get_window_extent().width
    slips = " ".join(words.slips(found)) or "No slip found in the readings."
    lines = (
        (0.2, f"{found.frame.title}: is it straight?", 19.0, THEME.ink, "bold"),
        (0.58, f"Verdict: {words.verdict(found)}.", 12.5, THEME.ink, "bold"),
        (0.86, slips, 10.5, THEME.quiet, "normal"),
    )
    for down, text, size, colour, weight in lines:
        drawn = figure.text(
            _LEFT / _WIDE, 1.0 - down / tall, text, fontsize=size, color=colour,
            fontweight=weight, va="top",
        )  # fmt: skip
        panels.shrink(drawn, room)
    note = figure.text(
        _LEFT / _WIDE, 0.16 / tall,
        f"Grey: the sheet.  Colour: measured, deviations {scale} times their size.  Numbers: mm"
        " off the sheet; in plan rearward / right, in side view up.  Hollow points: not told in"
        " this view.  A planning aid, not a certification.",
        fontsize=8.5, color=THEME.quiet,
    )  # fmt: skip
    panels.shrink(note, room)


def _axes(figure: "Figure", place: panels.Place, title: str, limits: Array) -> "Axes":
    """Return bare axes of one scale both ways; `limits` are x low, high, y low, high."""
    panels.heading(figure, place, title)
    left, bottom, wide, high = place
    high -= 0.022
    axes = figure.add_axes((left, bottom, wide, high))
    axes.set_axis_off()
    size = np.array([wide * _WIDE, high * figure.get_figheight()])  # inches
    middle = 0.5 * np.array([limits[0] + limits[1], limits[2] + limits[3]])
    room = np.array([limits[1] - limits[0], limits[3] - limits[2]])
    half = 0.5 * size * float((room / size).max())  # mm, at one scale both ways
    axes.set_xlim(middle[0] - half[0], middle[0] + half[0])
    axes.set_ylim(middle[1] - half[1], middle[1] + half[1])
    return axes


def _stations(found: Surveyed) -> tuple[float, float]:
    every = np.concatenate([m.path[:, 0] for m in found.frame.members])
    return float(every.min()) - 150.0, float(every.max()) + 150.0


def _plan(figure: "Figure", place: panels.Place, found: Surveyed, scale: int) -> None:
    """Draw the frame from above: front to the left, the right side at the top."""
    offsets = np.concatenate([m.path[:, 1] for m in found.frame.members])
    low, high = _stations(found)
    wide = 1.25 * float(np.abs(offsets).max())
    axes = _axes(figure, place, FROM_ABOVE, np.array([low, high, -wide, wide]))
    for m in found.frame.members:
        line = 5.0 if m.kind == "rail" else 3.0
        axes.plot(m.path[:, 0], m.path[:, 1], color=THEME.rule, linewidth=line,
                  solid_capstyle="round", zorder=1)  # fmt: skip
    points = found.readings.points
    at = sheet(points)[:, :2]
    moved = at + scale * np.where(found.told[:, :2], found.off[:, :2], 0.0)
    known = np.asarray(found.told[:, :2].all(axis=1))
    for side in ("right", "left"):
        _rail(axes, found, side, 1, scale)
    for pair in pairs(points):
        ends = [pair.left, pair.right]
        if bool(known[ends].all()):
            axes.plot(*moved[ends].T, color=THEME.curve, linewidth=1.0, zorder=3)
    for k, point in enumerate(points):
        out = 1.0 if point.offset >= 0.0 else -1.0
        cells = [
            _off(v) if t else "?"
            for v, t in zip(found.off[k, :2].tolist(), found.told[k, :2].tolist(), strict=True)
        ]
        _mark(axes, at[k], moved[k], known=bool(known[k]))
        _label(axes, at[k], out, point.key, " / ".join(cells))


def _off(value: float) -> str:
    """Return a deviation to a tenth of a mm; nothing is off by minus nothing."""
    return f"{round(value, 1) + 0.0:+.1f}"


def _side(figure: "Figure", place: panels.Place, found: Surveyed, scale: int, side: str) -> None:
    """Draw one side's rail from the right, front to the left."""
    rails = [m.path for m in found.frame.members if m.kind == "rail" and m.side == side]
    points = found.readings.points
    heights = np.concatenate([r[:, 2] for r in rails] or [sheet(points)[:, 2]])
    low, high = _stations(found)
    middle, room = float(heights.mean()), 0.5 * float(np.ptp(heights)) + 170.0
    limits = np.array([low, high, middle - room, middle + room])
    title = f"{side.capitalize()} rail, front to the left: heights"
    axes = _axes(figure, place, title, limits)
    for rail in rails:
        axes.plot(rail[:, 0], rail[:, 2], color=THEME.rule, linewidth=5.0, zorder=1)
    at = sheet(points)[:, [0, 2]]
    moved = at.copy()
    known = found.told[:, 2]
    moved[:, 1] += scale * np.where(known, found.off[:, 2], 0.0)
    _rail(axes, found, side, 2, scale)
    for k, point in enumerate(points):
        if point.side == side:
            text = _off(float(found.off[k, 2])) if known[k] else "?"
            _mark(axes, at[k], moved[k], known=bool(known[k]))
            away = 1.0 if moved[k, 1] < at[k, 1] else -1.0  # the arrow has the other side
            _label(axes, at[k], away, point.name, text)


def _rail(axes: "Axes", found: Surveyed, side: str, axis: int, scale: int) -> None:
    """Draw a side's rail as it is: the sheet's line, moved by what its points are off.

    `axis` is what stands over the stations: 1 in plan, 2 in the side view.  Between points
    the movement is taken along a straight line.
    """
    points = found.readings.points
    needed = [0, 1] if axis == 1 else [2]
    known = np.asarray(found.told[:, needed].all(axis=1))
    mine = [k for k, p in enumerate(points) if p.side == side and known[k]]
    mine.sort(key=lambda k: points[k].station)
    if len(mine) < 2:
        return
    at = sheet(points)[mine]
    corners = [m.path for m in found.frame.members if m.kind == "rail" and m.side == side]
    inner = [c for path in corners for c in path if at[0, 0] < c[0] < at[-1, 0]]
    line = np.array(sorted([*at.tolist(), *(c.tolist() for c in inner)]))
    off = found.off[mine]
    along = np.interp(line[:, 0], at[:, 0], off[:, 0]) if axis == 1 else 0.0
    across = np.interp(line[:, 0], at[:, 0], off[:, axis])
    axes.plot(line[:, 0] + scale * along, line[:, axis] + scale * across,
              color=THEME.curve, linewidth=1.8, zorder=4)  # fmt: skip


def _mark(axes: "Axes", at: Array, moved: Array, *, known: bool) -> None:
    """Draw an arrow from the sheet's place to the exaggerated one, and the point."""
    if not known:
        axes.plot(*at, "o", ms=6.0, mfc=THEME.paper, mec=THEME.quiet, zorder=5)
        return
    if np.abs(moved - at).max() > 1e-9:
        axes.annotate(
            "", xy=tuple(moved), xytext=tuple(at), zorder=6,
            arrowprops={"arrowstyle": "-|>", "color": THEME.load, "linewidth": 1.4,
                        "shrinkA": 0.0, "shrinkB": 0.0, "mutation_scale": 9.0},
        )  # fmt: skip
    axes.plot(*at, "o", ms=3.5, color=THEME.ink, zorder=5)


def _label(axes: "Axes", at: Array, out: float, name: str, text: str) -> None:
    """Write a point's name and figures beside it, outward of the frame."""
    gap = 26.0 * out
    axes.annotate(
        f"{text}\n{name}" if out > 0.0 else f"{name}\n{text}", xy=tuple(at), xytext=(0.0, gap),
        textcoords="offset points", ha="center", va="bottom" if out > 0.0 else "top",
        fontsize=8.0, color=THEME.ink, linespacing=1.15, zorder=7, annotation_clip=False,
    )  # fmt: skip
