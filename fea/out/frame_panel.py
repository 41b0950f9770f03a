"""The large panel of a picture: the frame, and around it stations, supports, loads and key.

The panel's axes count pixels from the lower left corner, so that the picture layers, the
projected lines and the label boxes share one measure. `unit` is the length of 1/100 inch in
pixels: every size that is not the frame's scales with the page by it.
"""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.out import badges, body_panel, frame_image, panel_key, surface
from fea.out import camera as cameras
from fea.out.camera import Camera, Window
from fea.out.display import Display
from fea.out.labels import Box, Cover, Label, place
from fea.out.marks import Symbol, symbols
from fea.out.palette import THEME
from fea.out.scene import Scene

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.text import Text

Array = NDArray[np.float64]

RULER_AWAY, DIRECTION_AWAY = 0.085, 0.035
"""How far beside the frame the station ruler and the direction words stand, of its length."""

RATED_AWAY = 0.1
"""How much farther the ruler stands where the texts of rated links need room before it."""


@dataclass(eq=False)
class Panel:
    """A panel being drawn: the axes, the projection into it, and the texts still to be placed."""

    axes: "Axes"
    scene: Scene
    scale: float
    camera: Camera
    window: Window
    size: tuple[int, int]
    unit: float
    taken: list[Box] = field(default_factory=list)
    waiting: list[tuple["Text", Label, str]] = field(default_factory=list)

    def pixels(self, points: Array) -> Array:
        """Return vehicle points as panel pixels, shape (..., 2), from the lower left corner."""
        at = self.window.to_pixels(self.camera.project(np.asarray(points)), self.size)[..., :2]
        at[..., 1] = self.size[1] - at[..., 1]
        return at

    def line(self, points: Array, colour: str, wide: float, **how: object) -> None:
        """Draw a vehicle line; `wide` in points."""
        at = self.pixels(points)
        self.axes.plot(at[:, 0], at[:, 1], color=colour, linewidth=wide, **how)  # type: ignore[arg-type]

    def later(
        self,
        text: str,
        point: tuple[float, float],
        towards: tuple[float, float],
        *,
        size: float,
        colour: str,
        weight: str = "normal",
        led: bool = True,
    ) -> None:
        """Note a text to be placed near a pixel point once everything else is drawn."""
        from matplotlib.patheffects import withStroke

        drawn = self.axes.text(
            0,
            0,
            text,
            fontsize=size,
            color=colour,
            fontweight=weight,
            ha="center",
            va="center",
            multialignment="center",
            linespacing=1.15,
            zorder=9,
            path_effects=[withStroke(linewidth=2.2, foreground=THEME.paper, alpha=0.8)],
        )
        box = drawn.get_window_extent()
        self.waiting.append((drawn, Label(point, (box.width, box.height), towards, led), colour))


def draw(
    axes: "Axes",
    scene: Scene,
    scale: float,
    *,
    size: tuple[int, int],
    unit: float,
    display: Display,
    camera: Camera = cameras.STANDARD,
) -> int:
    """Draw the panel into axes that cover `size` pixels; return how many labels found no room."""
    axes.set_axis_off()
    axes.set_xlim(0, size[0])
    axes.set_ylim(0, size[1])
    window = _window(scene, scale, camera, size)
    panel = Panel(axes, scene, scale, camera, window, size, unit)
    layers = frame_image.draw(scene, scale, camera, window, size=size, display=display)
    extent = (0, size[0], 0, size[1])
    axes.imshow(layers.ghost, extent=extent, aspect="auto", zorder=1, interpolation="nearest")
    for line in scene.lines:
        panel.line(line.points, THEME.ghost_edge, 0.9, zorder=2, dashes=(7, 2.5, 1.5, 2.5))
    axes.imshow(layers.frame, extent=extent, aspect="auto", zorder=3, interpolation="nearest")
    body_panel.draw(panel)
    cover = Cover(layers.drawn[::-1] | body_panel.drawn(panel), 1.0)
    panel_key.draw(panel, cover)
    if scene.rated is not None:
        body_panel.rated(panel, scene.rated, _rated_line(scene))
    _ruler(panel)
    _directions(panel)
    for symbol in symbols(panel.scene, scale, panel.pixels, unit):
        _symbol(panel, symbol)
    _highest(panel)
    badges.draw(panel)
    return _place(panel, cover)


def _window(scene: Scene, scale: float, camera: Camera, size: tuple[int, int]) -> Window:
    """Return the window that holds the frame, its deflected shape and the ruler."""
    still = surface.every_point(scene)
    length = surface.frame_length(scene)
    points = [still, surface.moved(scene.walls, scale), _ruler_line(scene)]
    points += [body.points + scale * body.movement for body in scene.bodies]
    points += [np.array([mark.position]) for mark in scene.marks]
    low, high = still.min(axis=0), still.max(axis=0)
    middle = 0.5 * (low + high)
    away = DIRECTION_AWAY * length
    points.append(np.array([[low[0] - away, middle[1], middle[2]]]))
    points.append(np.array([[high[0] + away, middle[1], middle[2]]]))
    projected = camera.project(np.concatenate(points))
    return cameras.fit(projected, size[0] / size[1], pad=(0.035, 0.045, 0.095, 0.075))


def _ruler_line(scene: Scene) -> Array:
    """Return the ends of the station ruler, on the left of the frame at its lowest height."""
    points = surface.every_point(scene)
    low, high = points.min(axis=0), points.max(axis=0)
    away = RULER_AWAY + RATED_AWAY * (scene.rated is not None)
    y = low[1] - away * surface.frame_length(scene)
    return np.array([[low[0], y, low[2]], [high[0], y, low[2]]])


def _rated_line(scene: Scene) -> Array:
    """Return the ends of the line for the texts of rated links, before the ruler."""
    away = 0.42 * (RULER_AWAY + RATED_AWAY) * surface.frame_length(scene)
    return np.asarray(_ruler_line(scene) + np.array([0.0, away, 0.0]))


def _ruler(panel: Panel) -> None:
    """Draw the station ruler with a tick and a text at each crossmember and axle."""
    ends = _ruler_line(panel.scene)
    length = surface.frame_length(panel.scene)
    tick = np.array([0.0, 0.012 * length, 0.0])
    panel.line(ends, THEME.quiet, 0.9, zorder=4)
    # every 100 mm a short tick, as on a tape
    for x in np.arange(np.ceil(ends[0, 0] / 100.0) * 100.0, ends[1, 0] + 1.0, 100.0):
        at = np.array([x, *ends[0, 1:]])
        panel.line(np.array([at, at + 0.5 * tick]), THEME.quiet, 0.5, zorder=4)
    near = surface.every_point(panel.scene)[:, 1].min()
    for station, text in panel.scene.stations:
        at = np.array([station, *ends[0, 1:]])
        rail = np.array([station, near, ends[0, 2]])
        panel.line(np.array([at, rail]), THEME.rule, 0.7, zorder=0.5)
        panel.line(np.array([at - tick, at + tick]), THEME.ink, 1.1, zorder=4)
        foot = panel.pixels(at - tick)
        panel.later(
            f"{_number(station)}\n{text}",
            (foot[0], foot[1]),
            (0.35, -1.0),
            size=8.2,
            colour=THEME.ink,
        )
    steps = np.linspace(ends[0], ends[1], 60)
    half = 4.0 * panel.unit
    for x, y in panel.pixels(steps):
        panel.taken.append(Box(x - half, y - half, x + half, y + half))


def _number(value: float) -> str:
    """Return a whole number with a true minus sign and thin spaces between thousands."""
    return f"{value:,.0f}".replace(",", "\u2009").replace("-", "\u2212")


def _directions(panel: Panel) -> None:
    """Write front, rear, left and right beside the frame, each with a short arrow outwards."""
    points = surface.every_point(panel.scene)
    low, high = points.min(axis=0), points.max(axis=0)
    middle = 0.5 * (low + high)
    away = DIRECTION_AWAY * surface.frame_length(panel.scene)
    ruler = _ruler_line(panel.scene)
    places = (
        ("front", np.array([low[0], middle[1], middle[2]]), np.array([-1.0, 0.0, 0.0])),
        ("rear", np.array([high[0], middle[1], middle[2]]), np.array([1.0, 0.0, 0.0])),
        ("right", np.array([middle[0], high[1] + away, middle[2]]), np.array([0.0, 1.0, 0.0])),
        ("left side,\nstation in mm", ruler[0], np.array([-1.0, 0.0, 0.0])),
    )
    for word, start, way in places:
        side = word in ("front", "rear", "right")
        ends = panel.pixels(np.array([start + 0.25 * away * way, start + away * way]))
        if side:
            panel.axes.annotate(
                "",
                xy=tuple(ends[1]),
                xytext=tuple(ends[0]),
                zorder=4,
                arrowprops={
                    "arrowstyle": "-|>",
                    "color": THEME.quiet,
                    "linewidth": 0.9,
                    "shrinkA": 0.0,
                    "shrinkB": 0.0,
                    "mutation_scale": 9.0,
                },
            )
        step = ends[1] - ends[0]
        point = ends[1] if side else ends[0]
        panel.later(
            word,
            (point[0], point[1]),
            (step[0], step[1]),
            size=10.0 if side else 8.2,
            colour=THEME.quiet,
            led=False,
        )


def _symbol(panel: Panel, symbol: Symbol) -> None:
    """Draw one support or load, and note its text."""
    from matplotlib.patches import Polygon

    for outline in symbol.outlines:
        panel.axes.add_patch(
            Polygon(
                outline,
                closed=True,
                facecolor=symbol.colour,
                edgecolor=THEME.paper,
                linewidth=0.9,
                zorder=7,
            )
        )
        low, high = outline.min(axis=0), outline.max(axis=0)
        panel.taken.append(Box(low[0], low[1], high[0], high[1]))
    if symbol.text:
        panel.later(
            symbol.text,
            symbol.point,
            symbol.towards,
            size=9.6,
            colour=symbol.colour,
            weight="bold" if symbol.kind == "load" else "normal",
        )


def _highest(panel: Panel) -> None:
    """Ring the point where the coloured field is highest, and say how high."""
    walls = panel.scene.walls
    top = surface.highest(walls.fields[0]) if walls.fields else None
    if top is None:
        return
    x, y = panel.pixels(surface.moved(walls, panel.scale)[top])
    panel.axes.plot(
        [x],
        [y],
        "o",
        markersize=6.5,
        markerfacecolor="none",
        markeredgewidth=1.4,
        markeredgecolor=THEME.ink,
        zorder=6,
    )
    half = 5.0 * panel.unit
    panel.taken.append(Box(x - half, y - half, x + half, y + half))
    panel.later(
        f"highest drawn {surface.highest_words(walls.fields[0], top)}",
        (x, y),
        (0.2, 1.0),
        size=9.6,
        colour=THEME.ink,
        weight="bold",
    )


def _place(panel: Panel, cover: Cover) -> int:
    """Put the waiting texts into place, the short-armed ones first; return how many were left."""
    bounds = Box(2.0, 2.0, panel.size[0] - 2.0, panel.size[1] - 2.0)
    seats = place(
        [label for _, label, _ in panel.waiting],
        bounds,
        taken=panel.taken,
        cover=cover,
        gap=(9.0 * panel.unit, 3.0 * panel.unit),
        unit=panel.unit,
    )
    left = 0
    for (text, _, colour), seat in zip(panel.waiting, seats, strict=True):
        if seat is None:
            text.remove()
            left += 1
            continue
        text.set_position(
            (0.5 * (seat.box.left + seat.box.right), 0.5 * (seat.box.bottom + seat.box.top))
        )
        if seat.leader is not None:
            (x0, y0), (x1, y1) = seat.leader
            panel.axes.plot([x0, x1], [y0, y1], color=colour, linewidth=0.7, alpha=0.75, zorder=6)
    return left
