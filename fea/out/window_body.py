"""Bodies in the turning window: clear sheets, beams, mounts and ties that move with the frame."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from fea.out.palette import THEME
from fea.out.scene import Grillage

if TYPE_CHECKING:
    import pyvista as pv

    Plotter: TypeAlias = Any  # pyvista wraps the plotter's methods so that mypy misreads them

Array = NDArray[np.float64]

HINT = "b hides or shows the body"
"""The line at the foot while the pointer is on no part of a body."""


@dataclass(frozen=True, eq=False)
class _Shown:
    """A mesh that moves, its actor, and what each of its cells is called."""

    mesh: "pv.PolyData"
    rest: Array
    movement: Array
    actor: Any
    words: tuple[str, ...]


class WindowBodies:
    """The bodies of a window: moved with the frame, hidden by a key, told under the pointer."""

    def __init__(self, plotter: "Plotter", bodies: tuple[Grillage, ...]) -> None:
        self.shown = True
        self._plotter = plotter
        self._parts = [part for body in bodies for part in _parts(plotter, body)]
        self._line = plotter.add_text(HINT, position="lower_right", font_size=8, color=THEME.quiet)

    def move(self, scale: float) -> None:
        """Draw movements so many times as large."""
        for part in self._parts:
            part.mesh.points = part.rest + scale * part.movement

    def toggle(self) -> None:
        """Hide the bodies, or show them again."""
        self.shown = not self.shown
        for part in self._parts:
            part.actor.SetVisibility(self.shown)
        self.tell("")
        self._plotter.render()

    def tell(self, words: str) -> None:
        """Write what is under the pointer at the foot, or the hint."""
        self._line.set_text("lower_right", words or HINT)

    def words_at(self, x: int, y: int) -> str:
        """Return what part of a body is drawn at a pixel from the lower left, "" for none."""
        from vtkmodules.vtkRenderingCore import vtkCellPicker

        if not self.shown:
            return ""
        for part in self._parts:  # mounts and ties before beams before sheets
            picker = vtkCellPicker()
            picker.SetTolerance(0.006)
            picker.PickFromListOn()
            picker.AddPickList(part.actor)
            if picker.Pick(x, y, 0, self._plotter.renderer) and picker.GetCellId() >= 0:
                return part.words[picker.GetCellId()]
        return ""

    def listen(self) -> None:
        """Follow key and pointer."""
        self._plotter.add_key_event("b", self.toggle)

        def hover(*_: object) -> None:
            x, y = self._plotter.iren.get_event_position()
            self.tell(self.words_at(x, y))
            self._plotter.render()

        self._plotter.iren.add_observer("MouseMoveEvent", hover)


def show_bodies(plotter: "Plotter", bodies: tuple[Grillage, ...]) -> Callable[[float], None] | None:
    """Draw bodies; return what moves them with the frame, None if there are none."""
    if not bodies:
        return None
    made = WindowBodies(plotter, bodies)
    if plotter.iren is not None:
        made.listen()
    return made.move


def _parts(plotter: "Plotter", body: Grillage) -> list[_Shown]:
    """Draw one body; return its links, its beams and its sheets, in this order."""
    import pyvista as pv

    out = []
    if body.links:
        ends = np.concatenate([link.ends for link in body.links])
        move = np.concatenate([link.movement for link in body.links])
        pairs = np.arange(len(ends), dtype=np.intp).reshape(-1, 2)
        words = tuple(f"{link.name}: {link.text}" for link in body.links)
        mesh = pv.PolyData(ends.copy(), lines=_cells(pairs))
        actor = plotter.add_mesh(mesh, color=THEME.ink, line_width=4.0, lighting=False)
        out.append(_Shown(mesh, ends, move, actor, words))
    told = tuple(f"{name}, of the body {body.name}" for name in body.beam_names)
    mesh = pv.PolyData(body.points.copy(), lines=_cells(body.beams))
    actor = plotter.add_mesh(mesh, color=THEME.hold, line_width=2.0, opacity=0.7, lighting=False)
    out.append(_Shown(mesh, body.points, body.movement, actor, told))
    if len(body.panels):
        told = tuple(f"{name}, sheet of the body {body.name}" for name in body.panel_names)
        mesh = pv.PolyData(body.points.copy(), faces=_cells(body.panels))
        actor = plotter.add_mesh(mesh, color=THEME.hold, opacity=0.10, lighting=False)
        out.append(_Shown(mesh, body.points, body.movement, actor, told))
    return out


def _cells(numbers: NDArray[np.intp]) -> NDArray[np.intp]:
    """Return rows of point numbers as pyvista takes cells: each with its count before it."""
    return np.column_stack([np.full(len(numbers), numbers.shape[1]), numbers]).ravel()
