"""Numbered places: round badges in the frame panel, and the list beside it that tells them."""

from typing import TYPE_CHECKING

import numpy as np

from fea.out import panels
from fea.out.labels import Box
from fea.out.marks import drawn_position
from fea.out.palette import THEME
from fea.out.scene import Scene

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from fea.out.frame_panel import Panel

_SIZE = 8.5  # points
_TEXT = 8.8  # points
_LINE = 0.0152  # share of the page's height


def together(scene: Scene, panel: "Panel") -> list[tuple[str, float, float]]:
    """Return texts and pixels: numbers whose badges would touch share one, as in "1, 3"."""
    near = 2.2 * _SIZE / 0.72 * panel.unit
    groups: list[tuple[list[int], float, float]] = []
    for badge in scene.badges:
        at = drawn_position(badge, scene.walls, panel.scale)
        x, y = (float(v) for v in panel.pixels(at))
        beside = next((g for g in groups if np.hypot(g[1] - x, g[2] - y) < near), None)
        if beside is None:
            groups.append(([badge.number], x, y))
        elif badge.number not in beside[0]:
            beside[0].append(badge.number)
    return [(", ".join(map(str, sorted(numbers))), x, y) for numbers, x, y in groups]


def draw(panel: "Panel") -> None:
    """Draw the badges of the panel's scene at the moved walls."""
    for text, x, y in together(panel.scene, panel):
        drawn = panel.axes.text(
            x, y, text, fontsize=_SIZE, fontweight="bold", color=THEME.paper, ha="center",
            va="center", zorder=10,
            bbox={"boxstyle": "circle,pad=0.25" if len(text) < 3 else "round,pad=0.25",
                  "facecolor": THEME.load, "edgecolor": THEME.paper, "linewidth": 0.9},
        )  # fmt: skip
        box, spare = drawn.get_window_extent(), 0.5 * _SIZE / 0.72 * panel.unit
        half, tall = 0.5 * box.width + spare, 0.5 * box.height + spare
        panel.taken.append(Box(x - half, y - tall, x + half, y + tall))


def listed(figure: "Figure", place: panels.Place, scene: Scene) -> None:
    """Write the list, long lines broken; say how many found no room."""
    left, bottom, wide, high = place
    panels.heading(figure, place, scene.listed_title)
    indent = 0.018
    room = (wide - indent) * figure.get_window_extent().width
    y = bottom + high - 0.032
    for k, (number, text) in enumerate(scene.listed):
        lines = panels.wrapped(figure, (text,), room, _TEXT)
        more = len(scene.listed) - k
        if y - _LINE * (len(lines) + (more > 1)) < bottom:
            figure.text(left, y, f"and {more} more", fontsize=9.0, color=THEME.quiet, va="top")
            return
        figure.text(
            left, y, str(number), fontsize=_TEXT, fontweight="bold", color=THEME.load, va="top"
        )
        for line in lines:
            figure.text(left + indent, y, line, fontsize=_TEXT, color=THEME.ink, va="top")
            y -= _LINE
        y -= 0.3 * _LINE
