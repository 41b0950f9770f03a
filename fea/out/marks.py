"""Supports and loads as flat symbols on the screen: arrows that push, wedges that hold."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fea.out import surface
from fea.out.palette import THEME
from fea.out.scene import Badge, Mark, Scene, Walls

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Symbol:
    """What is drawn at one place for one kind of mark.

    Attributes
    ----------
    outlines : polygons, arrays (k, 2), pixels, y upwards
    point, towards : where its text belongs, and on which side of that point
    """

    kind: Literal["hold", "load"]
    outlines: tuple[Array, ...]
    text: str
    point: tuple[float, float]
    towards: tuple[float, float]

    @property
    def colour(self) -> str:
        """Colour, #rrggbb."""
        return THEME.load if self.kind == "load" else THEME.hold


def drawn_position(mark: Mark | Badge, walls: Walls, scale: float) -> Array:
    """Return where a mark is drawn, shape (3,), mm: it moves with the nearest wall point."""
    position = np.array(mark.position)
    if len(walls.points) == 0:
        return position
    away = walls.points - position
    nearest = int(np.argmin(np.einsum("ij,ij->i", away, away)))
    return np.asarray(position + scale * walls.movement[nearest])


def joined(texts: list[str]) -> str:
    """Return the texts of one place as one, a shared last word said once, at most 2 to a line.

    >>> joined(["height held", "sideways held"])
    'height, sideways held'
    """
    texts = [text for text in dict.fromkeys(texts) if text]
    last = {text.rsplit(" ", 1)[-1] for text in texts}
    if len(texts) > 1 and len(last) == 1 and all(" " in text for text in texts):
        texts = [*(text.rsplit(" ", 1)[0] for text in texts[:-1]), texts[-1]]
    lines = [", ".join(texts[k : k + 2]) for k in range(0, len(texts), 2)]
    return ",\n".join(lines)


def at_one_place(marks: Sequence[Mark]) -> dict[tuple[str, tuple[float, ...]], list[Mark]]:
    """Return the marks by kind and place (to 0.1 mm), loads first."""
    groups: dict[tuple[str, tuple[float, ...]], list[Mark]] = {}
    for mark in sorted(marks, key=lambda m: m.kind != "load"):
        place = tuple(np.round(mark.position, 1).tolist())
        groups.setdefault((mark.kind, place), []).append(mark)
    return groups


def symbols(
    scene: Scene, scale: float, pixels: Callable[[Array], Array], unit: float
) -> list[Symbol]:
    """Return the symbols of a scene, loads first, one for all marks of a kind at one place.

    Parameters
    ----------
    pixels : vehicle points (..., 3), mm, to screen points (..., 2), y upwards
    unit : pixels in 1/100 inch
    """
    length = max(surface.frame_length(scene), 1.0)
    found = []
    for (kind, _), marks in at_one_place(scene.marks).items():
        tip = drawn_position(marks[0], scene.walls, scale)
        at = pixels(tip)
        arms = []
        for mark in marks:
            way = np.array(mark.vector) / max(float(np.linalg.norm(mark.vector)), 1e-12)
            back = pixels(tip - 0.06 * length * way) - at
            arms.append(back)
        outlines = tuple(
            _arrow(at, arm, unit) if kind == "load" else _wedge(at, arm, unit) for arm in arms
        )
        far = max(
            (o[np.argmax(np.linalg.norm(o - at, axis=1))] for o in outlines),
            key=lambda p: float(np.linalg.norm(p - at)),
        )
        away = far - at
        point = far if kind == "load" else at + 0.8 * away
        found.append(
            Symbol(
                "load" if kind == "load" else "hold",
                outlines,
                joined([mark.text for mark in marks]),
                (float(point[0]), float(point[1])),
                (float(away[0]), float(away[1])),
            )
        )
    return found


def _frame_of(arm: Array) -> tuple[Array, Array, float]:
    """Return the unit direction of an arm, the one across it, and its length."""
    length = float(np.hypot(*arm))
    along = arm / length if length > 1e-9 else np.array([0.0, -1.0])
    return along, np.array([-along[1], along[0]]), length


def _arrow(tip: Array, arm: Array, unit: float) -> Array:
    """Return an arrow whose tip is at the point and whose tail is at the arm's end."""
    along, across, length = _frame_of(arm)
    length = max(length, 42.0 * unit)
    head, half, shaft = 17.0 * unit, 7.5 * unit, 2.6 * unit
    steps = [(0, 0), (head, half), (head, shaft), (length, shaft)]
    side = [tip + a * along + b * across for a, b in steps]
    other = [tip + a * along - b * across for a, b in reversed(steps[1:])]
    return np.array(side + other)


def _wedge(tip: Array, arm: Array, unit: float) -> Array:
    """Return a triangle standing against the point; a diamond when held towards the viewer."""
    along, across, length = _frame_of(arm)
    if length < 12.0 * unit:
        r = 7.0 * unit
        return np.array([tip + r * np.array(way) for way in ((1, 0), (0, 1), (-1, 0), (0, -1))])
    high, half = 16.0 * unit, 9.0 * unit
    return np.array([tip, tip + high * along + half * across, tip + high * along - half * across])
