"""The key of the frame panel: colour bar, movement scale and a measure along the frame."""

from typing import TYPE_CHECKING

import numpy as np

from fea.out import palette, surface
from fea.out.camera import round_125
from fea.out.labels import Box, Cover
from fea.out.palette import THEME
from fea.out.scene import Field, Scene

if TYPE_CHECKING:
    from fea.out.frame_panel import Panel

_WIDE, _BAR_HIGH = 330.0, 13.0  # 1/100 inch


def draw(panel: "Panel", cover: Cover) -> None:
    """Draw colour bar and measure, each in the corner of the panel that is least drawn upon."""
    unit = panel.unit
    corner = _corner(panel, (_WIDE * unit, 84.0 * unit), cover)
    _colour_bar(panel, corner)
    panel.taken.append(corner)
    measure = _corner(panel, (200.0 * unit, 74.0 * unit), cover)
    _measure(panel, measure)
    panel.taken.append(measure)


def _corner(panel: "Panel", size: tuple[float, float], cover: Cover) -> Box:
    """Return the free corner box with the least drawing in it: top left, then bottom right."""
    wide, high = panel.size
    w, h = size
    margin = 6.0 * panel.unit
    spots = [
        Box(0.0, high - margin - h, w, high - margin),
        Box(wide - w, margin, wide, margin + h),
        Box(wide - w, high - margin - h, wide, high - margin),
        Box(0.0, margin, w, margin + h),
    ]
    free = [box for box in spots if not any(box.touches(other) for other in panel.taken)]
    return min(free or spots, key=cover.share)


def _colour_bar(panel: "Panel", box: Box) -> None:
    """Draw the colour bar with its unit, or say that there is none, and the movement's scale."""
    axes, unit = panel.axes, panel.unit
    shown = _shown(panel.scene)
    rest = "grey: frame at rest" if panel.scene.walls.fields else "pale: at rest"
    moves = bool(panel.scale * np.abs(panel.scene.walls.movement).max(initial=0.0))
    axes.text(
        box.left,
        box.bottom + 1.0 * unit,
        f"movements drawn {panel.scale:g} x;  {rest}" if moves else "drawn at rest",
        fontsize=9.6,
        color=THEME.ink,
        va="bottom",
        zorder=8,
    )
    if shown is None:
        return
    low, high = surface.value_range(shown)
    top = box.top - 21.0 * unit
    axes.text(
        box.left,
        box.top,
        f"{shown.name}, {shown.unit}",
        fontsize=10.5,
        color=THEME.ink,
        va="top",
        zorder=8,
        fontweight="bold",
    )
    axes.imshow(
        palette.table()[None, :, :],
        zorder=8,
        aspect="auto",
        extent=(box.left, box.right, top - _BAR_HIGH * unit, top),
    )
    for value in ticks(low, high):
        x = box.left + (value - low) / (high - low) * (box.right - box.left)
        y = top - _BAR_HIGH * unit
        axes.plot([x, x], [y, y - 4.0 * unit], color=THEME.quiet, linewidth=0.8, zorder=8)
        side = (
            "left"
            if value - low < 0.02 * (high - low)
            else ("right" if high - value < 0.02 * (high - low) else "center")
        )
        axes.text(
            x,
            y - 6.0 * unit,
            f"{value:g}".replace("-", "\u2212"),
            fontsize=9.0,
            color=THEME.ink,
            ha=side,
            va="top",
            zorder=8,
        )


def _shown(scene: Scene) -> Field | None:
    """Return what the colours tell: the walls' first field, else the links' value."""
    if scene.walls.fields:
        return scene.walls.fields[0]
    rated = scene.rated
    return Field(rated.name, rated.unit, rated.values) if rated else None


def ticks(low: float, high: float) -> list[float]:
    """Return round values, about five, inside a range."""
    from matplotlib.ticker import MaxNLocator

    found = MaxNLocator(nbins=5, steps=[1, 2, 2.5, 5, 10]).tick_values(low, high)
    slack = 1e-9 * (high - low)
    return [float(v) + 0.0 for v in found if low - slack <= v <= high + slack]


def _measure(panel: "Panel", box: Box) -> None:
    """Draw a bar of round length lying along the frame: only that direction keeps its scale."""
    axes, unit = panel.axes, panel.unit
    length = round_125(0.11 * max(surface.frame_length(panel.scene), 1.0))
    ends = panel.pixels(np.array([[0.0, 0.0, 0.0], [length, 0.0, 0.0]]))
    step = ends[1] - ends[0]
    start = np.array([0.5 * (box.left + box.right), 0.5 * (box.bottom + box.top) + 12.0 * unit])
    start -= 0.5 * step
    across = panel.pixels(np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 1.0]]))
    up = (across[1] - across[0]) / max(float(np.hypot(*(across[1] - across[0]))), 1e-9)
    axes.plot(*zip(start, start + step, strict=True), color=THEME.ink, linewidth=1.6, zorder=8)
    for end in (start, start + step):
        axes.plot(
            *zip(end - 5.0 * unit * up, end + 5.0 * unit * up, strict=True),
            color=THEME.ink,
            linewidth=1.2,
            zorder=8,
        )
    axes.text(
        box.right,
        start[1] - 8.0 * unit,
        f"{length:g} mm along the frame",
        fontsize=9.0,
        color=THEME.ink,
        ha="right",
        va="top",
        zorder=8,
    )
