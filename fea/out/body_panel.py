"""Bodies on the frame drawn over it as lines and clear sheets, and links rated by a value."""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.out import palette, surface
from fea.out.labels import Box
from fea.out.palette import THEME
from fea.out.scene import Field, Rated
from fea.out.spread import spread

if TYPE_CHECKING:
    from fea.out.frame_panel import Panel

Array = NDArray[np.float64]

_SMALL, _LARGE = 4.0, 13.0
"""Diameter of the marks of the lowest and the highest value, points."""

_REARWARD = 40.0
"""How far rearward of its mark a text would rather stand, 1/100 inch."""


def draw(panel: "Panel") -> None:
    """Draw every body: at rest by faint lines, moved by lines and clear sheets."""
    from matplotlib.collections import LineCollection, PolyCollection

    for body in panel.scene.bodies:
        rest = panel.pixels(body.points)
        moved = panel.pixels(body.points + panel.scale * body.movement)
        panel.axes.add_collection(
            LineCollection(
                list(rest[body.beams]), colors=THEME.ghost_edge, linewidths=0.7, zorder=2
            ),
            autolim=False,
        )
        panel.axes.add_collection(
            PolyCollection(
                list(moved[body.panels]), facecolors=THEME.hold, edgecolors="none", alpha=0.07,
                zorder=3.3,
            ),
            autolim=False,
        )  # fmt: skip
        panel.axes.add_collection(
            LineCollection(
                list(moved[body.beams]), colors=THEME.hold, linewidths=1.3, alpha=0.85,
                capstyle="round", zorder=3.4,
            ),
            autolim=False,
        )  # fmt: skip


def drawn(panel: "Panel") -> NDArray[np.bool_]:
    """Return the pixels on and near the bodies' beams, (rows, columns), bottom row first."""
    wide, high = panel.size
    mask = np.zeros((high, wide), dtype=bool)
    part = np.linspace(0.0, 1.0, 200)[:, None, None]
    reach = max(1, round(2.0 * panel.unit))
    for body in panel.scene.bodies:
        ends = panel.pixels(body.points + panel.scale * body.movement)[body.beams]
        at = (ends[None, :, 0] * (1.0 - part) + ends[None, :, 1] * part).reshape(-1, 2)
        for right in range(-reach, reach + 1):
            for up in range(-reach, reach + 1):
                column = np.clip(np.rint(at[:, 0] + right), 0, wide - 1).astype(np.intp)
                row = np.clip(np.rint(at[:, 1] + up), 0, high - 1).astype(np.intp)
                mask[row, column] = True
    return mask


def rated(panel: "Panel", links: Rated, line: Array) -> None:
    """Draw the rated links, the lowest first, and write their texts.

    Parameters
    ----------
    line : (2, 3), mm, along which the texts stand in the order of their marks
    """
    low, high = surface.value_range(Field(links.name, links.unit, links.values))
    colours = palette.colours(links.values, low, high)
    part = np.clip((links.values - low) / (high - low), 0.0, 1.0)
    ends = panel.pixels(links.ends + panel.scale * links.movement)
    for n in np.argsort(links.values, kind="stable").tolist():
        size = _SMALL + (_LARGE - _SMALL) * float(np.sqrt(part[n]))
        panel.axes.plot(
            ends[n, :, 0], ends[n, :, 1], color=THEME.ink, linewidth=1.6, zorder=5,
            solid_capstyle="round",
        )  # fmt: skip
        x, y = (float(v) for v in ends[n, 1])
        panel.axes.plot(
            [x], [y], "o", markersize=size, color=colours[n], markeredgecolor=THEME.ink,
            markeredgewidth=1.0, zorder=6,
        )  # fmt: skip
        half = 0.5 * size / 0.72 * panel.unit
        panel.taken.append(Box(x - half, y - half, x + half, y + half))
    told = [n for n, text in enumerate(links.texts) if text]
    if told:
        _texts(panel, [links.texts[n] for n in told], ends[told, 1], panel.pixels(line))


def _texts(panel: "Panel", texts: list[str], marks: Array, line: Array) -> None:
    """Write texts along a line, (2, 2) pixels, near their marks (n, 2), each led to its own."""
    from matplotlib.patheffects import withStroke

    drawn = [
        panel.axes.text(
            0.0, 0.0, text, fontsize=8.8, color=THEME.ink, ha="center", va="center",
            multialignment="center", linespacing=1.15, zorder=9,
            path_effects=[withStroke(linewidth=2.2, foreground=THEME.paper, alpha=0.8)],
        )
        for text in texts
    ]  # fmt: skip
    boxes = [text.get_window_extent() for text in drawn]
    wide, high = max(b.width for b in boxes), max(b.height for b in boxes)
    # A little rearward of its mark: the leader then crosses its own brace's end only.
    wanted = marks[:, 0] + _REARWARD * panel.unit
    least, margin = wide + 5.0 * panel.unit, 0.5 * wide + 4.0
    across = spread(wanted, least, margin, panel.size[0] - margin)
    slope = (line[1, 1] - line[0, 1]) / (line[1, 0] - line[0, 0])
    for text, mark, x in zip(drawn, marks, across.tolist(), strict=True):
        y = float(line[0, 1] + slope * (x - line[0, 0]))
        text.set_position((x, y))
        panel.taken.append(Box(x - 0.5 * wide, y - 0.5 * high, x + 0.5 * wide, y + 0.5 * high))
        panel.axes.plot(
            [x, mark[0]], [y + 0.55 * high, mark[1]], color=THEME.ink, linewidth=0.7, alpha=0.75,
            zorder=4.5,
        )  # fmt: skip
