"""Flat patterns: a plate that follows a kinked rail, laid out in one plane.

Between two kinks a plate is flat.  A chain of flat faces that meet along lines across it can
always be unrolled without stretch: each face is turned about the line it shares with the one
before.  Where the two do not share a line (the rail's section steps) a new piece begins.
Sizes are those of the middle of the sheet; bends are taken as sharp, no allowance.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SAME = 0.5
"""Edges of two faces further apart than this, mm, do not meet: a new piece begins."""
LEAST_BEND = np.radians(0.3)
"""Faces that turn by less than this lie in one plane."""


@dataclass(frozen=True, eq=False)
class Face:
    """A flat stretch of a plate between two places of its rail.

    `front` and `rear`, (2, 3), mm, are its ends, lower corner first; `start` and `end` the places
    along the rail's path.
    """

    front: Array
    rear: Array
    start: float
    end: float


@dataclass(frozen=True, eq=False)
class Bend:
    """A line, (2, 2), mm, to bend along by an angle, rad, and to which side."""

    line: Array
    angle: float
    to: str


@dataclass(frozen=True, eq=False)
class Opening:
    """A round hole, or a slot with round ends: centre (2,), length, height and its turn, rad."""

    centre: Array
    length: float
    height: float
    turn: float = 0.0

    @property
    def is_round(self) -> bool:
        """Whether it is a circle."""
        return self.length == self.height

    @property
    def area(self) -> float:
        """Its area, mm2; a slot ends in half circles across its shorter side."""
        long, short = max(self.length, self.height), min(self.length, self.height)
        return short * (long - short) + 0.25 * np.pi * short * short

    @property
    def axis(self) -> Array:
        """The middles of the two round ends, (2, 2), mm."""
        turn = self.turn + (0.0 if self.length >= self.height else 0.5 * np.pi)
        reach = 0.5 * abs(self.length - self.height)
        along = reach * np.array([np.cos(turn), np.sin(turn)])
        return np.array([self.centre - along, self.centre + along])


@dataclass(frozen=True, eq=False)
class Pattern:
    """A blank to cut: its outline, (n, 2), mm, counter-clockwise, bend lines and openings.

    `gap` is by how much faces that share an edge did not meet, mm, shared out between them.
    """

    outline: Array
    bends: tuple[Bend, ...] = ()
    openings: tuple[Opening, ...] = ()
    gap: float = 0.0

    @property
    def area(self) -> float:
        """The metal's area, mm2, openings taken off."""
        x, y = self.outline.T
        whole = 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
        return whole - sum(one.area for one in self.openings)

    @property
    def size(self) -> tuple[float, float]:
        """Length and height of the rectangle it is cut from, mm."""
        wide, high = np.ptp(self.outline, axis=0).tolist()
        return wide, high


@dataclass(frozen=True, eq=False)
class Laid:
    """Faces that hang together, with their corners in the plane: (n + 1, 2, 2), lower first."""

    faces: tuple[Face, ...]
    rows: Array
    gap: float

    @property
    def edges(self) -> tuple[float, float]:
        """Lengths of the lower and the upper edge, mm."""
        steps = np.linalg.norm(np.diff(self.rows, axis=0), axis=2).sum(axis=0)
        return float(steps[0]), float(steps[1])


def chains(faces: Sequence[Face]) -> list[list[Face]]:
    """Return the faces in groups that hang together, in order."""
    groups: list[list[Face]] = []
    for face in faces:
        if groups and float(np.abs(groups[-1][-1].rear - face.front).max()) <= SAME:
            groups[-1].append(face)
        else:
            groups.append([face])
    return groups


def lay_out(faces: Sequence[Face]) -> Laid:
    """Return the faces unrolled; shared edges lie halfway between the two that ought to meet."""
    rows3 = [faces[0].front]
    gap = 0.0
    for before, after in pairwise(faces):
        gap = max(gap, float(np.linalg.norm(before.rear - after.front, axis=1).max()))
        rows3.append(0.5 * (before.rear + after.front))
    rows3.append(faces[-1].rear)
    high = float(np.linalg.norm(rows3[0][1] - rows3[0][0]))
    rows = [np.array([[0.0, 0.0], [0.0, high]])]
    for near, far in pairwise(rows3):
        low, top = rows[-1]
        # Two triangles to a face, each as long in its sides as the metal.
        low2 = _third(low, top, near[0], near[1], far[0], side=-1.0)
        top2 = _third(low2, top, far[0], near[1], far[1], side=-1.0)
        rows.append(np.array([low2, top2]))
    flat = np.array(rows)
    along = flat[-1].mean(axis=0) - flat[0].mean(axis=0)
    c, s = along / np.linalg.norm(along)
    flat = flat @ np.array([[c, -s], [s, c]])
    return Laid(tuple(faces), flat - flat.reshape(-1, 2).min(axis=0), gap)


def pattern(laid: Laid, holes: Sequence[tuple[float, Array, float, float]] = ()) -> Pattern:
    """Return the blank of unrolled faces.

    Parameters
    ----------
    holes : place along the rail's path, its point (3,) on the plate, length and height, mm
    """
    outline = np.concatenate((laid.rows[:, 0], laid.rows[::-1, 1]))
    openings = []
    for place, point, length, height in holes:
        for k, face in enumerate(laid.faces):
            if face.start <= place < face.end:
                openings.append(_placed(laid, k, point, length, height))
                break
    return Pattern(outline, tuple(_bends(laid)), tuple(openings), laid.gap)


def _third(a: Array, b: Array, a3: Array, b3: Array, c3: Array, *, side: float) -> Array:
    """Return where the third corner of a triangle in space lies in the plane, (2,).

    Right of the line from `a` to `b` for side -1.
    """
    base, to_a, to_b = (float(np.linalg.norm(v)) for v in (b3 - a3, c3 - a3, c3 - b3))
    along = (to_a**2 - to_b**2 + base**2) / (2.0 * base)
    across = np.sqrt(max(0.0, to_a**2 - along**2))
    x = (b - a) / np.linalg.norm(b - a)
    return np.asarray(a + along * x + side * across * np.array([-x[1], x[0]]))


def _bends(laid: Laid) -> list[Bend]:
    out = []
    for k in range(1, len(laid.faces)):
        one, other = laid.faces[k - 1], laid.faces[k]
        normals = []
        for face in (one, other):
            normal = np.cross(face.rear[0] - face.front[0], face.front[1] - face.front[0])
            normals.append(normal / np.linalg.norm(normal))
        angle = float(np.arccos(np.clip(normals[0] @ normals[1], -1.0, 1.0)))
        if angle < LEAST_BEND:
            continue
        onward = other.rear.mean(axis=0) - other.front.mean(axis=0)
        outboard = normals[0] * np.sign(normals[0][1] or 1.0)
        side = "outboard" if float(onward @ outboard) > 0.0 else "inboard"
        out.append(Bend(laid.rows[k], angle, side))
    return out


def _placed(laid: Laid, k: int, point: Array, length: float, height: float) -> Opening:
    """Return a hole on the k-th face in the plane."""
    face = laid.faces[k]
    steps = np.array([face.rear[0] - face.front[0], face.front[1] - face.front[0]])
    flat = np.array([laid.rows[k + 1, 0] - laid.rows[k, 0], laid.rows[k, 1] - laid.rows[k, 0]])
    shares = np.linalg.lstsq(steps.T, point - face.front[0], rcond=None)[0]
    turn = float(np.arctan2(flat[0, 1], flat[0, 0]))
    return Opening(laid.rows[k, 0] + shares @ flat, length, height, turn)
