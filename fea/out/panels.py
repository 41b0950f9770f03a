"""The small panels under the frame: profile along the stations, soft places, facts, notes."""

from typing import TYPE_CHECKING

import numpy as np

from fea.out.palette import THEME
from fea.out.scene import Curve, Scene

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.text import Text

Place = tuple[float, float, float, float]
"""Left, bottom, width, height, as shares of the page."""

_ROWS = 7  # bars in the list of soft places; the rest is summed up
_LEAST = 0.5  # per cent; smaller shares tell nothing one by one


def heading(figure: "Figure", place: Place, text: str) -> None:
    """Write a panel's heading at the top left of its place."""
    left, bottom, wide, high = place
    drawn = figure.text(
        left, bottom + high, text, fontsize=11.0, fontweight="bold", color=THEME.ink, va="top"
    )
    shrink(drawn, wide * figure.get_window_extent().width)


def profile(figure: "Figure", place: Place, scene: Scene) -> None:
    """Plot the profile curves over the stations."""
    left, bottom, wide, high = place
    heading(figure, place, scene.profile_title)
    names = 0.048 if scene.stations else 0.03
    beside = _room_for_names(figure, scene.profile)
    axes = figure.add_axes((left + 0.03, bottom + 0.03, wide - 0.03 - beside, high - 0.042 - names))
    axes.set_facecolor("none")
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(THEME.quiet)
    axes.tick_params(colors=THEME.quiet, labelsize=8.5, length=3.0, width=0.7)
    axes.tick_params(axis="y", length=0.0)
    axes.grid(axis="y", color=THEME.rule, linewidth=0.7)
    axes.axhline(0.0, color=THEME.quiet, linewidth=0.9, zorder=1.5)
    for curve in scene.profile:
        axes.plot(
            curve.stations,
            curve.values,
            color=THEME.quiet if curve.dashed else THEME.curve,
            linewidth=1.5 if curve.dashed else 2.6,
            linestyle=(0, (5, 3)) if curve.dashed else "-",
            zorder=2 if curve.dashed else 3,
        )
    stations = np.concatenate([curve.stations for curve in scene.profile])
    axes.set_xlim(float(stations.min()), float(stations.max()))
    axes.margins(y=0.08)
    axes.set_xlabel("station, mm", fontsize=8.5, color=THEME.quiet, labelpad=1.0)
    axes.set_ylabel(scene.profile[0].unit, fontsize=8.5, color=THEME.quiet, labelpad=2.0)
    _station_names(axes, scene)
    _curve_names(axes, scene.profile)


def _station_names(axes: "Axes", scene: Scene) -> None:
    """Mark the stations with light lines, named above in two rows as far as the names fit."""
    low, high = axes.get_xlim()
    edges = [-np.inf, -np.inf]
    for station, text in sorted(scene.stations):
        if not low <= station <= high:
            continue
        axes.axvline(station, color=THEME.rule, linewidth=0.9, zorder=1)
        name = axes.text(
            station,
            0.0,
            text,
            fontsize=7.0,
            color=THEME.quiet,
            ha="center",
            va="bottom",
            transform=axes.get_xaxis_transform(),
        )
        frame, box = axes.get_window_extent(), name.get_window_extent()
        shift = max(0.0, frame.x0 - box.x0) - max(0.0, box.x1 - frame.x1 - 0.02 * frame.width)
        gap = 0.4 * box.height
        row = next((k for k, edge in enumerate(edges) if box.x0 + shift > edge + gap), None)
        if row is None:
            name.remove()
            continue
        edges[row] = box.x1 + shift
        per_pixel = (high - low) / frame.width
        name.set_x(station + shift * per_pixel)
        name.set_y(1.0 + (0.35 + 1.15 * row) * box.height / frame.height)


def _room_for_names(figure: "Figure", curves: tuple[Curve, ...]) -> float:
    """Return the width that the curves' names need beside the plot, as a share of the page."""
    if len(curves) < 2:
        return 0.0
    probe = figure.text(0.0, 0.0, "", fontsize=9.0, fontweight="bold")
    widest = 0.0
    for curve in curves:
        probe.set_text(curve.name)
        widest = max(widest, probe.get_window_extent().width)
    probe.remove()
    return min(widest / figure.get_window_extent().width + 0.008, 0.12)


def _curve_names(axes: "Axes", curves: tuple[Curve, ...]) -> None:
    """Name each curve at its rear end, moved apart where the ends are close."""
    if len(curves) < 2:
        return
    low, high = axes.get_ylim()
    least = 0.12 * (high - low)
    order = sorted(curves, key=lambda curve: float(curve.values[-1]))
    heights = [float(curve.values[-1]) for curve in order]
    for k in range(1, len(heights)):
        heights[k] = max(heights[k], heights[k - 1] + least)
    for curve, height in zip(order, heights, strict=True):
        axes.annotate(
            curve.name,
            xy=(1.0, height),
            xycoords=axes.get_yaxis_transform(),
            xytext=(6.0, 0.0),
            textcoords="offset points",
            fontsize=9.0,
            va="center",
            color=THEME.quiet if curve.dashed else THEME.curve,
            fontweight="normal" if curve.dashed else "bold",
            annotation_clip=False,
        )


def soft(figure: "Figure", place: Place, scene: Scene) -> None:
    """List the shares of strain energy as bars, the softest first."""
    left, bottom, wide, high = place
    heading(figure, place, "Where it gives: share of strain energy")
    rows = softest(scene.soft)
    axes = figure.add_axes((left, bottom, wide, high - 0.03))
    axes.set_axis_off()
    largest = max(value for _, value in rows)
    axes.set_xlim(0.0, 1.14 * max(largest, 1e-9))
    axes.set_ylim(max(len(rows), 5), 0.0)
    for k, (name, value) in enumerate(rows):
        text = axes.text(0.0, k + 0.42, name, fontsize=9.0, color=THEME.ink, va="bottom")
        shrink(text, axes.get_window_extent().width)
        axes.barh(k + 0.6, value, height=0.24, color=THEME.bar if k else THEME.curve)
        share = f"{value:.0f}" if value >= 9.95 else f"{value:.1f}"
        axes.text(
            value + 0.012 * largest,
            k + 0.6,
            f" {share} %",
            fontsize=9.0,
            color=THEME.ink,
            va="center",
        )


def softest(soft: tuple[tuple[str, float], ...]) -> list[tuple[str, float]]:
    """Return the rows to show, the rest summed up in the last one."""
    if not soft:
        return []
    telling = [row for row in soft if row[1] >= _LEAST]
    rows = list(soft[: min(len(telling) or 1, _ROWS)])
    if len(rows) < len(soft):
        if len(rows) == _ROWS:
            rows.pop()
        rest = soft[len(rows) :]
        name = f"{len(rest)} others" if len(rest) > 1 else rest[0][0]
        rows.append((name, sum(value for _, value in rest)))
    return rows


def facts(figure: "Figure", place: Place, scene: Scene) -> None:
    """Write the facts: the first one large, the others below it."""
    left, bottom, wide, high = place
    page = figure.get_window_extent()
    room = wide * page.width
    (label, value), *others = scene.facts
    value, rest = headline(value)
    top = bottom + high
    first = figure.text(
        left, top, value, fontsize=30.0, fontweight="bold", color=THEME.ink, va="top"
    )
    shrink(first, room)
    name = figure.text(left, top - 0.046, label, fontsize=11.0, color=THEME.quiet, va="top")
    shrink(name, room)
    taken = 0.083
    if rest:
        more = figure.text(left, top - 0.066, rest, fontsize=12.5, color=THEME.ink, va="top")
        shrink(more, room)
        taken += 0.017
    if not others:
        return
    step = min(0.047, (high - taken + 0.005) / len(others))
    for k, (label, value) in enumerate(others):
        y = top - taken - k * step
        figure.text(left, y, label, fontsize=8.5, color=THEME.quiet, va="top")
        large = figure.text(
            left,
            y - (0.0155 if step > 0.034 else 0.0125),
            value,
            fontsize=12.5 if step > 0.04 else 10.0,
            color=THEME.ink,
            va="top",
        )
        shrink(large, room)


def headline(value: str) -> tuple[str, str]:
    """Return the part of the first fact to write large, and the rest of it.

    >>> headline("1.46 x stock: 2310 N m/deg (1704 ft lbf/deg)")
    ('1.46 x stock', '2310 N m/deg (1704 ft lbf/deg)')
    >>> headline("2310 N m/deg (1704 ft lbf/deg)")
    ('2310 N m/deg', '(1704 ft lbf/deg)')
    """
    for between, kept in ((": ", ""), (" (", "(")):
        large, found, rest = value.partition(between)
        if found:
            return large, kept + rest
    return value, ""


def notes(figure: "Figure", place: Place, said: tuple[str, ...]) -> float:
    """Write sentences small at the foot; return the height they take, as a share of the page."""
    left, bottom, wide, _ = place
    lines = wrapped(figure, said, wide * figure.get_window_extent().width, 8.0)
    text = figure.text(
        left,
        bottom,
        "\n".join(lines),
        fontsize=8.0,
        color=THEME.quiet,
        va="bottom",
        linespacing=1.35,
    )
    return float(text.get_window_extent().height / figure.get_window_extent().height)


def wrapped(figure: "Figure", sentences: tuple[str, ...], room: float, size: float) -> list[str]:
    """Return sentences broken into lines no wider than `room` pixels."""
    lines = []
    probe = figure.text(0.0, 0.0, "", fontsize=size)
    for sentence in sentences:
        line = ""
        for word in sentence.split():
            longer = f"{line} {word}".strip()
            probe.set_text(longer)
            if line and probe.get_window_extent().width > room:
                lines.append(line)
                line = word
            else:
                line = longer
        lines.append(line)
    probe.remove()
    return lines


def shrink(text: "Text", room: float) -> None:
    """Make a text smaller until it fits a width in pixels; below 60 % it is cut short instead."""
    wide = text.get_window_extent().width
    if wide <= room:
        return
    text.set_fontsize(float(text.get_fontsize()) * max(0.6, 0.98 * room / wide))
    while text.get_window_extent().width > room and len(text.get_text()) > 4:
        text.set_text(text.get_text().rstrip("\u2026")[:-2] + "\u2026")
