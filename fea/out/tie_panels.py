"""The panels of the charts of ties; how a candidate and a grade of mounts are coloured.

Candidates take colours from the map by rank, the best darkest, every second one dashed;
grades from soft to stiff, pale to dark.  Neither needs colour vision to be told apart.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.out import palette
from fea.out.palette import THEME
from fea.out.panels import Place, heading, shrink
from fea.out.spread import spread
from fea.study.tie_sweep import TieSweep
from fea.study.ties import Grade, TieStudy

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]

MOST_LINES, BEST_LINES = 8, 6
"""Up to how many candidates all get a colour, and how many of more than that do."""

MOST_GRADES, MOST_BARS = 4, 14
"""Most grades and most candidates shown as bars."""

_HEADING, _KEY = 0.3, 0.26  # inches
_LINE, _LEAD, _WIDEST, _SCALE = 0.165, 0.2, 2.2, 0.5
"""Inches: a line of names, the lead to a name, the widest name, room for the upright scale."""
_BAR, _SPACE = 0.15, 0.07  # inches: a bar, and what is free between two candidates


@dataclass(frozen=True)
class _Name:
    """A name to write at the end of a curve, at the height `value`."""

    text: str
    value: float
    colour: str
    bold: bool = False


# ---- What is shown ---------------------------------------------------------------------


def ranked(study: TieStudy) -> list[int]:
    """Return the candidates' numbers, the largest gain with any grade first."""
    best = [max(g.outcomes[n].twist_gain for g in study.grades)
            for n in range(len(study.candidates))]  # fmt: skip
    return sorted(range(len(best)), key=lambda n: -best[n])


def shown_grades(study: TieStudy) -> list[Grade]:
    """Return at most `MOST_GRADES` grades from soft to stiff, first and last among them."""
    order = sorted(study.grades, key=lambda g: g.bare.twist)
    if len(order) <= MOST_GRADES:
        return order
    return [order[k] for k in np.rint(np.linspace(0, len(order) - 1, MOST_GRADES)).astype(int)]


def _shade(part: float) -> str:
    """Return the map's colour, of its darker three quarters, at a part from 0 to 1."""
    return palette.hexes()[round(255 * (0.25 + 0.75 * part))]


def grade_colours(grades: Sequence[Grade]) -> list[str]:
    """Return a colour for each grade, pale to dark."""
    return [_shade(k / max(len(grades) - 1, 1)) for k in range(len(grades))]


# ---- Gain by mount stiffness -----------------------------------------------------------


def gains(figure: "Figure", place: Place, study: TieStudy, sweep: TieSweep) -> None:
    """Plot each candidate's gain over the vertical stiffness of the mounts."""
    heading(figure, place, "What a tie adds, by stiffness of the mounts")
    order = ranked(study)
    coloured = order if len(order) <= MOST_LINES else order[:BEST_LINES]
    beside = _beside(figure, [study.candidates[n].name for n in coloured])
    wide = place[2] * figure.get_window_extent().width - (_SCALE + beside) * figure.dpi
    grades = _rows(figure, sweep, wide)
    above = _HEADING + _LINE * (1 + max((row for *_, row in grades), default=0)) + 0.08
    end = _clear_end(100.0 * sweep.gains[coloured])
    axes = _axes(figure, place, beside=beside, above=above, names_left=end == 0)
    names = []
    for n in reversed(order):
        rank = order.index(n)
        part = 1.0 - rank / max(len(coloured) - 1, 1)
        colour = _shade(part) if n in coloured else THEME.ghost_edge
        style = (0, (4.5, 1.6)) if rank % 2 and n in coloured else "-"
        curve = 100.0 * sweep.gains[n]
        axes.plot(
            sweep.vertical, curve, color=colour, linestyle=style,
            linewidth=2.2 if n in coloured else 1.1, zorder=4 if n in coloured else 2,
        )  # fmt: skip
        if n in coloured:
            names.append(_Name(study.candidates[n].name, curve[end], colour, bold=rank == 0))
            dots = [100.0 * g.outcomes[n].twist_gain for g in study.grades]
            axes.plot(
                [k for _, k in sweep.grades], dots, "o", color=colour, markersize=4.2,
                markeredgecolor=THEME.paper, markeredgewidth=0.6, zorder=5,
            )  # fmt: skip
    axes.set_xscale("log")
    axes.set_xlim(float(sweep.vertical[0]), float(sweep.vertical[-1]))
    axes.set_ylim(bottom=min(0.0, axes.get_ylim()[0]))
    axes.xaxis.set_major_formatter(lambda v, _: f"{v:,.0f}".replace(",", "\u2009"))
    _labels(axes, "vertical stiffness of a mount, N/mm", "gain in twist stiffness, %")
    _name_ends(axes, names, beside, left=end == 0)
    _hairlines(axes, grades)
    if len(coloured) < len(order):
        axes.text(
            0.99, 0.985, f"grey: the other {len(order) - len(coloured)}", fontsize=8.5,
            transform=axes.transAxes, ha="right", va="top", color=THEME.quiet,
        )  # fmt: skip


def _clear_end(curves: Array) -> int:
    """Return the end, 0 or -1, at which curves (m, n) stand clearer of each other."""
    low, high = float(curves.min()), float(curves.max())
    apart = 0.05 * max(high - low, 1e-9)  # of names, roughly

    def shift(values: Array) -> float:
        return float(np.abs(spread(values, apart, low, high) - values).sum())

    return 0 if shift(curves[:, 0]) < shift(curves[:, -1]) else -1


def _rows(figure: "Figure", sweep: TieSweep, wide: float) -> list[tuple[str, float, int]]:
    """Return the grades inside the axes, soft to stiff, and the row in which each is named.

    Parameters
    ----------
    wide : of the axes, pixels
    """
    low, high = np.log(sweep.vertical[[0, -1]])
    probe = figure.text(0.0, 0.0, "", fontsize=8.5)
    ends: list[float] = []  # of each row's last name
    found = []
    for name, k in sorted(sweep.grades, key=lambda grade: grade[1]):
        if not sweep.vertical[0] <= k <= sweep.vertical[-1]:
            continue
        probe.set_text(name)
        half = 0.5 * probe.get_window_extent().width
        x, gap = float((np.log(k) - low) / (high - low)) * wide, 0.08 * figure.dpi
        row = next((r for r, end in enumerate(ends) if x - half > end + gap), len(ends))
        ends[row : row + 1] = [x + half]
        found.append((name, k, row))
    probe.remove()
    return found


def _hairlines(axes: "Axes", grades: Sequence[tuple[str, float, int]]) -> None:
    """Mark the grades upright and name them above, each in its row."""
    tall = axes.get_window_extent().height / axes.figure.dpi
    for name, k, row in grades:
        axes.axvline(k, color=THEME.quiet, linewidth=0.7, zorder=1.5)
        axes.text(
            k, 1.0 + (0.04 + _LINE * row) / tall, name, fontsize=8.5, color=THEME.ink,
            ha="center", va="bottom", transform=axes.get_xaxis_transform(),
        )  # fmt: skip


# ---- Twist profiles --------------------------------------------------------------------


def profiles(figure: "Figure", place: Place, study: TieStudy) -> None:
    """Plot the twist along the stations without a tie and with the best one."""
    grades = shown_grades(study)
    colours = grade_colours(grades)
    which = ", softest and stiffest mounts" if len(grades) > 1 else ""
    heading(figure, place, f"Twist along the frame{which}")
    states = []
    for k in dict.fromkeys((0, len(grades) - 1)):
        grade, colour = grades[k], colours[k]
        best = max(range(len(grade.outcomes)), key=lambda n: grade.outcomes[n].twist_gain)
        outcome = grade.outcomes[best]
        states += [
            (grade.bare, True, f"{grade.name}, no tie", colour),
            (outcome.vehicle, False, f"{grade.name}, {study.candidates[best].name}", colour),
        ]
    beside = _beside(figure, [text for _, _, text, _ in states])
    axes = _axes(figure, place, beside=beside, above=_HEADING + _LINE + 0.08)
    names = []
    for state, dashed, text, colour in states:
        angle = np.degrees(state.profile.angle)
        axes.plot(
            state.profile.stations, angle, color=colour, linewidth=1.5 if dashed else 2.4,
            linestyle=(0, (5, 3)) if dashed else "-", zorder=2 if dashed else 3,
        )  # fmt: skip
        names.append(_Name(text, float(angle[-1]), colour, bold=not dashed))
    stations = study.line.stations
    axes.set_xlim(float(stations.min()), float(stations.max()))
    axes.axhline(0.0, color=THEME.quiet, linewidth=0.9, zorder=1.5)
    _labels(axes, "station, mm", "twist angle under the case's load, deg")
    _name_ends(axes, names, beside)
    for axle in study.frame.axles:
        axes.axvline(axle.station, color=THEME.quiet, linewidth=0.7, zorder=1)
        axes.text(
            axle.station, 1.01, f"{axle.name} axle", fontsize=8.5, color=THEME.quiet,
            transform=axes.get_xaxis_transform(), ha="center", va="bottom",
        )  # fmt: skip


# ---- Bars by candidate -----------------------------------------------------------------


def bars_high(study: TieStudy) -> float:
    """Return the height that the bars need, inches."""
    row = _BAR * len(shown_grades(study)) + _SPACE
    return _HEADING + _KEY + row * max(min(len(study.candidates), MOST_BARS), 3)


def bars(figure: "Figure", place: Place, study: TieStudy) -> None:
    """Draw gain and load of each candidate as bars, one for each grade, best candidate first."""
    left, bottom, wide, high = place
    page_wide, page_high = figure.get_figwidth(), figure.get_figheight()
    order, grades = ranked(study)[:MOST_BARS], shown_grades(study)
    names = 1.5 / page_wide
    each = (wide - names - 0.4 / page_wide) / 2.0
    low, tall = bottom, high - (_HEADING + _KEY) / page_high
    start = left + names
    gain = [[100.0 * g.outcomes[n].twist_gain for g in grades] for n in order]
    load = [[g.outcomes[n].force for g in grades] for n in order]
    for values, title, unit, digits in (
        (gain, "Gain in twist stiffness", "%", 1),
        (load, "Force in one tie per degree of twist", "N per degree", 0),
    ):
        heading(figure, (start, bottom, each, high), title)
        axes = figure.add_axes((start, low, each, tall))
        _bars(axes, np.array(values), grade_colours(grades), digits)
        axes.set_xlabel(f"{title.lower()}, {unit}" if unit == "%" else f"force, {unit}",
                        fontsize=8.5, color=THEME.quiet, labelpad=2.0)  # fmt: skip
        if start == left + names:
            for row, n in enumerate(order):
                text = axes.text(
                    -0.012, row + 0.5, study.candidates[n].name, fontsize=9.5, color=THEME.ink,
                    transform=axes.get_yaxis_transform(), ha="right", va="center",
                )  # fmt: skip
                shrink(text, 0.97 * names * figure.get_window_extent().width)
        start += each + 0.4 / page_wide
    _key(figure, (left + names, bottom + high - (_HEADING + 0.03) / page_high), grades)
    if len(study.candidates) > len(order):
        figure.text(
            left, bottom - 0.3 / page_high, f"the best {len(order)} of {len(study.candidates)}",
            fontsize=8.5, color=THEME.quiet, va="top",
        )  # fmt: skip


def _bars(axes: "Axes", values: Array, colours: Sequence[str], digits: int) -> None:
    """Draw the bars of one figure, (n_candidates, n_grades), each with its value."""
    axes.set_facecolor("none")
    for side in ("top", "right", "bottom"):
        axes.spines[side].set_visible(False)
    axes.spines["left"].set_color(THEME.quiet)
    axes.tick_params(colors=THEME.quiet, labelsize=8.5, length=0.0)
    axes.set_yticks([])
    axes.set_axisbelow(True)
    axes.grid(axis="x", color=THEME.rule, linewidth=0.7)
    n, m = values.shape
    axes.set_ylim(max(n, 3), 0.0)
    low, high = min(float(values.min()), 0.0), max(float(values.max()), 0.0)
    reach = max(high - low, 1e-9)
    axes.set_xlim(low - 0.09 * reach * (low < 0.0), high + 0.09 * reach)
    step = _BAR / (_BAR * m + _SPACE)
    for column, colour in enumerate(colours):
        at = np.arange(n) + 0.5 + step * (column - 0.5 * (m - 1))
        axes.barh(at, values[:, column], height=0.86 * step, color=colour)
        for y, value in zip(at, values[:, column].tolist(), strict=True):
            text = f"{value:,.{digits}f}".replace(",", "\u2009").replace("-", "\u2212")
            axes.text(
                value + (0.008 if value >= 0.0 else -0.008) * reach, y, text, color=THEME.ink,
                fontsize=7.5, va="center_baseline",
                ha="left" if value >= 0.0 else "right",
            )  # fmt: skip


def _key(figure: "Figure", at: tuple[float, float], grades: Sequence[Grade]) -> None:
    """Write the grades in a row, each after a patch of its colour."""
    from matplotlib.patches import Rectangle

    wide, tall = figure.get_figwidth(), figure.get_figheight()
    x, y = at
    for grade, colour in zip(grades, grade_colours(grades), strict=True):
        patch = Rectangle(
            (x, y - 0.15 / tall), 0.16 / wide, 0.12 / tall, color=colour,
            transform=figure.transFigure,
        )  # fmt: skip
        figure.add_artist(patch)
        text = figure.text(
            x + 0.22 / wide, y - 0.09 / tall, grade.name, fontsize=9.0, color=THEME.ink,
            va="center",
        )  # fmt: skip
        x += 0.22 / wide + text.get_window_extent().width / figure.get_window_extent().width
        x += 0.25 / wide


# ---- Axes ------------------------------------------------------------------------------


def _axes(
    figure: "Figure", place: Place, *, beside: float, above: float, names_left: bool = False
) -> "Axes":
    """Return axes in a place, with inches kept `beside` for names and `above` for the heading.

    The upright scale stands on the side where the names do not.
    """
    left, bottom, wide, high = place
    page_wide, page_high = figure.get_figwidth(), figure.get_figheight()
    axes = figure.add_axes(
        (
            left + (beside if names_left else _SCALE) / page_wide,
            bottom + 0.45 / page_high,
            wide - (_SCALE + beside) / page_wide,
            high - (0.45 + above) / page_high,
        )
    )
    axes.set_facecolor("none")
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(THEME.quiet)
    axes.tick_params(colors=THEME.quiet, labelsize=8.5, length=3.0, width=0.7)
    axes.tick_params(which="minor", colors=THEME.quiet, length=2.0, width=0.5)
    axes.tick_params(axis="y", length=0.0)
    axes.grid(axis="y", color=THEME.rule, linewidth=0.7)
    if names_left:
        axes.yaxis.tick_right()
        axes.yaxis.set_label_position("right")
    return axes


def _labels(axes: "Axes", x: str, y: str) -> None:
    axes.set_xlabel(x, fontsize=9.0, color=THEME.quiet, labelpad=2.0)
    axes.set_ylabel(y, fontsize=9.0, color=THEME.quiet, labelpad=3.0)


def _beside(figure: "Figure", names: Sequence[str]) -> float:
    """Return the inches that names and what leads to them need beside the axes."""
    probe = figure.text(0.0, 0.0, "", fontsize=9.0, fontweight="bold")
    widest = 0.0
    for name in names:
        probe.set_text(name)
        widest = max(widest, probe.get_window_extent().width / figure.dpi)
    probe.remove()
    return min(widest + 0.05, _WIDEST) + _LEAD


def _name_ends(axes: "Axes", names: Sequence[_Name], beside: float, *, left: bool = False) -> None:
    """Write names beside the axes at their curves' ends, moved apart, each led to its end."""
    low, high = axes.get_ylim()
    axes.set_ylim(low, high)
    frame = axes.get_window_extent()
    least = 13.5 / 72.0 * axes.figure.dpi / frame.height * (high - low)
    values = np.array([n.value for n in names])
    heights = spread(values, least, low + 0.6 * least, high)
    edge, away = (0.0, -1.0) if left else (1.0, 1.0)
    for name, height in zip(names, heights.tolist(), strict=True):
        across, wide = axes.get_yaxis_transform(), frame.width / axes.figure.dpi
        axes.plot(
            [edge, edge + away * 0.8 * _LEAD / wide], [name.value, height], color=name.colour,
            linewidth=1.1, transform=across, clip_on=False, zorder=3,
        )  # fmt: skip
        text = axes.text(
            edge + away * _LEAD / wide, height, name.text, fontsize=9.0, color=THEME.ink,
            va="center", fontweight="bold" if name.bold else "normal", transform=across,
            ha="right" if left else "left",
        )  # fmt: skip
        shrink(text, (beside - _LEAD) * axes.figure.dpi)
