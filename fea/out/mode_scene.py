"""The walls of a frame with the movement of every mode, ready for the page and the film."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import N_FREEDOMS
from fea.out.camera import auto_scale
from fea.result.modes import FrameModes, solutions
from fea.result.shape import surface

Array = NDArray[np.float64]
Index = NDArray[np.intp]

PIECES = 4
"""Strips per element along its length."""

LARGEST = 0.05
"""Of the frame's length, how large a mode's largest movement is drawn."""


@dataclass(frozen=True, eq=False)
class ModeScene:
    """The shapes of the modes, each scaled so that its largest movement is one.

    Attributes
    ----------
    points : (n, 3), mm; quads : (m, 4)
    movement : (k, n, 3); lines : (b, 2) pairs of points, the bodies' beams
    size : mm, how far the largest movement is drawn
    """

    title: str
    subtitle: str
    labels: tuple[str, ...]
    points: Array
    quads: Index
    lines: Index
    movement: Array
    size: float


def mode_scene(found: FrameModes) -> ModeScene:
    """Return the scene of some modes."""
    solved = solutions(found)
    skins = [surface(one, PIECES) for one in solved]
    moves = [skin.movement for skin in skins]
    points, lines = [skins[0].points], np.zeros((0, 2), dtype=np.intp)
    if found.mesh.bodies:
        where, lines, bodies = _bodies(found, len(skins[0].points))
        points += where
        moves = [np.concatenate([m, *b]) for m, b in zip(moves, bodies, strict=True)]
    movement = np.array([m / np.linalg.norm(m, axis=1).max() for m in moves])
    every = np.concatenate(points)
    length = float(np.ptp(every[:, 0]))
    return ModeScene(
        title=found.frame.title,
        subtitle="natural modes",
        labels=tuple(f"{k}: {m.frequency:.1f} Hz, {m.name}" for k, m in enumerate(found.modes, 1)),
        points=every,
        quads=skins[0].quads,
        lines=lines,
        movement=movement,
        size=auto_scale(np.eye(3)[:1], length, LARGEST),
    )


def _bodies(found: FrameModes, first: int) -> tuple[list[Array], Index, list[list[Array]]]:
    """Return the bodies' points, their beams as pairs of points, and per mode their movements."""
    from fea.solve.body_motion import body_motion

    points: list[Array] = []
    pairs: list[Index] = []
    moves: list[list[Array]] = [[] for _ in found.modes]
    for at in found.mesh.bodies:
        for k, u in enumerate(found.raw.shape.T):
            held = u.reshape(-1, N_FREEDOMS)[at.nodes, :6]
            whole = body_motion(at.body, at.ties, at.labels, held)
            moves[k].append(whole.motions[:, :3])
        points.append(whole.mesh.points)
        pairs.append(whole.mesh.beam_nodes + first)
        first += len(whole.mesh.points)
    return points, np.concatenate(pairs), moves
