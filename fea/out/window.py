"""A scene in a window that can be turned: the same colours and lines as the picture."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from fea.out import display, palette, surface
from fea.out.camera import STANDARD, auto_scale, fit
from fea.out.marks import at_one_place, drawn_position, joined
from fea.out.palette import THEME
from fea.out.scene import Grillage, Scene
from fea.out.window_body import show_bodies

if TYPE_CHECKING:
    import pyvista as pv

    Plotter: TypeAlias = Any  # pyvista wraps the plotter's methods so that mypy misreads them

Array = NDArray[np.float64]


def open_window(scene: Scene, *, scale: float | None = None) -> None:
    """Open the window; returns when it is closed.

    Raises
    ------
    MissingExtraError
        If there is no screen or no pyvista.
    """
    display.require_screen()
    plotter = build(scene, scale=scale, off_screen=False)
    plotter.show(title=f"{scene.title}: {scene.subtitle}")


def build(scene: Scene, *, scale: float | None = None, off_screen: bool) -> "Plotter":
    """Return the window's content, not yet shown."""
    import pyvista as pv

    if scale is None:
        scale = auto_scale(scene.walls.movement, surface.frame_length(scene))
    plotter: Plotter = pv.Plotter(off_screen=off_screen, window_size=[1400, 850])
    plotter.set_background(THEME.paper)
    plotter.add_mesh(_edges(scene), color=THEME.ghost_edge, line_width=1.0, lighting=False)
    walls, edges = _walls(scene), _edges(scene)
    _show_walls(plotter, scene, walls)
    lines = plotter.add_mesh(edges, color=THEME.edge, line_width=1.0, lighting=False)
    lines.mapper.resolve = "polygon_offset"  # else the walls cut into their own edges
    follow = _marks(plotter, scene)
    bodies = show_bodies(plotter, scene.bodies)
    if bodies is not None:
        follow.append(bodies)
    plotter.add_text(f"{scene.title}\n{scene.subtitle}", font_size=11, color=THEME.ink)

    def redraw(value: float) -> None:
        for mesh in (walls, edges):
            mesh.points = surface.moved(scene.walls, value)
        for move in follow:
            move(value)

    redraw(scale)
    plotter.add_slider_widget(
        redraw,
        (0.0, 2.0 * scale),
        value=scale,
        title="movements drawn, times",
        color=THEME.ink,
        title_height=0.018,
        fmt="%.0f",
        pointa=(0.70, 0.09),
        pointb=(0.97, 0.09),
        slider_width=0.015,
        tube_width=0.004,
    )
    _look(plotter, walls, scene.bodies)
    return plotter


def _look(plotter: "Plotter", walls: "pv.PolyData", bodies: tuple[Grillage, ...]) -> None:
    """Set the standing view, parallel, frame and bodies filling the window."""
    if walls.n_points == 0:
        plotter.enable_parallel_projection()
        return
    wide, high = plotter.window_size
    shown = [np.asarray(walls.points), *(body.points for body in bodies)]
    window = fit(STANDARD.project(np.concatenate(shown)), wide / high, pad=(0.06,) * 4)
    middle = np.asarray(walls.center)
    # keep the middle's nearness, so that the view turns about the frame and not before it
    at = STANDARD.project(middle)
    at[:2] = 0.5 * (window.left + window.right), 0.5 * (window.bottom + window.top)
    target = at @ STANDARD.axes
    plotter.enable_parallel_projection()
    plotter.camera.position = target + 2.0 * window.width * STANDARD.axes[2]
    plotter.camera.focal_point = target
    plotter.camera.up = (0.0, 0.0, 1.0)
    plotter.camera.parallel_scale = 0.5 * window.height
    plotter.reset_camera_clipping_range()


def _walls(scene: Scene) -> "pv.PolyData":
    """Return the wall quadrilaterals with their fields, undeflected."""
    import pyvista as pv

    walls = scene.walls
    faces = np.column_stack([np.full(len(walls.quads), 4), walls.quads])
    mesh = pv.PolyData(walls.points.copy(), faces.ravel())
    for shown in walls.fields:
        mesh[shown.name] = shown.values
    return mesh


def _show_walls(plotter: "Plotter", scene: Scene, walls: "pv.PolyData") -> None:
    """Put in the walls, coloured by the first field, and its colour bar."""
    from matplotlib.colors import ListedColormap

    if not scene.walls.fields:
        plotter.add_mesh(walls, color=THEME.no_value)
        return
    shown = scene.walls.fields[0]
    plotter.add_mesh(
        walls,
        scalars=shown.name,
        cmap=ListedColormap(palette.table()),
        clim=surface.value_range(shown),
        nan_color=THEME.no_value,
        ambient=0.45,
        diffuse=0.65,
        specular=0.0,
        show_scalar_bar=False,
    )
    plotter.add_scalar_bar(
        f"{shown.name}, {shown.unit}",
        color=THEME.ink,
        n_labels=5,
        fmt="%.4g",
        title_font_size=16,
        label_font_size=14,
        position_x=0.03,
        position_y=0.03,
        width=0.3,
    )


def _edges(scene: Scene) -> "pv.PolyData":
    """Return folds and free edges as lines on all wall points, undeflected."""
    import pyvista as pv

    ends, _ = surface.fold_edges(scene.walls)
    lines = np.column_stack([np.full(len(ends), 2), ends])
    return pv.PolyData(scene.walls.points.copy(), lines=lines.ravel())


def _marks(plotter: "Plotter", scene: Scene) -> list[Callable[[float], None]]:
    """Draw supports and loads as arrows and cones; return what moves them with the frame."""
    import pyvista as pv

    length = max(surface.frame_length(scene), 1.0)
    follow: list[Callable[[float], None]] = []
    for (kind, _), marks in at_one_place(scene.marks).items():
        at = np.array(marks[0].position)
        move = drawn_position(marks[0], scene.walls, 1.0) - at
        for mark in marks:
            way = np.array(mark.vector)
            arm = (0.07 if kind == "load" else 0.014) * length
            if kind == "load":
                solid = pv.Arrow(start=at - arm * way, direction=way, scale=arm)
            else:
                solid = pv.Cone(
                    center=at - 0.5 * arm * way, direction=way, height=arm, radius=0.5 * arm
                )
            actor = plotter.add_mesh(
                solid, color=THEME.load if kind == "load" else THEME.hold, ambient=0.5
            )
            follow.append(_shifts(actor, "position", np.zeros(3), move))
        # the text stands at the arrow's tail
        foot = at - (0.08 if kind == "load" else 0.02) * length * np.array(marks[0].vector)
        place = pv.PolyData(foot[None, :])
        plotter.add_point_labels(
            place,
            [joined([mark.text for mark in marks])],
            text_color=THEME.ink,
            font_size=13,
            shape=None,
            show_points=False,
            always_visible=True,
        )
        follow.append(_shifts(place, "points", foot[None, :], move))
    return follow


def _shifts(what: object, name: str, rest: Array, move: Array) -> Callable[[float], None]:
    """Return what sets a thing's place to that at rest plus so many times its movement."""

    def shift(value: float) -> None:
        setattr(what, name, rest + value * move)

    return shift
