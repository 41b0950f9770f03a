"""The modes of a frame as motions of its walls; a mode has a shape but no size."""

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import N_FREEDOMS
from fea.out.camera import auto_scale
from fea.out.moving import Motion, Moving
from fea.result.modes import FrameModes, solutions
from fea.result.shape import surface

Array = NDArray[np.float64]
Index = NDArray[np.intp]

PIECES = 4
"""Strips per element along its length."""

LARGEST = 0.05
"""Of the frame's length, how large a mode's largest movement is drawn."""


def mode_scene(found: FrameModes) -> Moving:
    """Return some modes as motions, each scaled so that its largest movement is one."""
    solved = solutions(found)
    skins = [surface(one, PIECES) for one in solved]
    moves = [skin.movement for skin in skins]
    points, lines = [skins[0].points], np.zeros((0, 2), dtype=np.intp)
    if found.mesh.bodies:
        where, lines, bodies = _bodies(found, len(skins[0].points))
        points += where
        moves = [np.concatenate([m, *b]) for m, b in zip(moves, bodies, strict=True)]
    every = np.concatenate(points)
    size = auto_scale(np.eye(3)[:1], float(np.ptp(every[:, 0])), LARGEST)
    labels = [f"{k}: {m.frequency:.1f} Hz, {m.name}" for k, m in enumerate(found.modes, 1)]
    return Moving(
        title=found.frame.title,
        subtitle="natural modes",
        points=every,
        quads=skins[0].quads,
        lines=lines,
        motions=tuple(_motion(label, m, size) for label, m in zip(labels, moves, strict=True)),
        loaded=False,
    )


def _motion(label: str, movement: Array, size: float) -> Motion:
    far = np.linalg.norm(movement, axis=1)
    return Motion(label, movement / far.max(), size, far / far.max())


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
