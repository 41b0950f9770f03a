"""How far a cross-section that was pushed out of shape takes to find it again.

Beams keep their cross-sections in shape; sheet metal does not.  The sides of a hat spread,
a box becomes a lozenge, a tube an oval, and such a distortion fades along the member the
more slowly, the more its walls resist bending in their own planes and the less they resist
bending out of them.  A mode q of distortion obeys

    E C q'''' + B q = 0,

with C the warping constant of the mode and B the stiffness of the cross-section as a frame
of plates, both in the manner of generalised beam theory [1]_: axial displacements linear
between corners, walls without shear strain at mid-thickness and stiff along their own lines
across.  Motions that beams describe (axial, bending, torsion) have no B; the others carry
no resultant, so that C is taken with those free to follow.  Solutions fade as
``exp(-x / f)`` with ``f = (4 E C / B)^(1/4)``.

References
----------
.. [1] R. Schardt, Verallgemeinerte Technische Biegetheorie, 1989.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from fea.mesh.sweep import coarse
from fea.section.midline import Midline

Array = NDArray[np.float64]

NU = 0.3
"""Poisson's ratio in the plates' stiffness; it enters with a quarter power."""

SMALL = 1e-9
"""Over the largest: what counts as no stiffness, and as no constraint."""


def fade_length(midline: Midline) -> float:
    """Return f of the mode that fades most slowly, mm; near 0 if walls only bend as plates."""
    line = coarse(midline)
    rows = tuple(map(tuple, np.hstack([line.walls, line.thickness[:, None]]).tolist()))
    return _fade_length(tuple(map(tuple, line.points.tolist())), rows)


@lru_cache(maxsize=256)
def _fade_length(
    points: tuple[tuple[float, ...], ...], walls: tuple[tuple[float, ...], ...]
) -> float:
    table = np.array(walls)
    stiff, warping = _reduced(np.array(points), table[:, :2].astype(np.intp), table[:, 2])
    value, vector = np.linalg.eigh(stiff)
    bends = value > SMALL * value[-1]
    if not np.any(bends):
        return 0.0
    beam, own = vector[:, ~bends], vector[:, bends] / np.sqrt(value[bends])
    mixed = warping @ beam
    follow = np.linalg.pinv(beam.T @ mixed, rcond=SMALL, hermitian=True)
    alone = own.T @ (warping - mixed @ follow @ mixed.T) @ own
    largest = max(0.0, float(np.linalg.eigvalsh(alone)[-1]))
    return float((4.0 * largest) ** 0.25)


def _reduced(points: Array, walls: NDArray[np.intp], thickness: Array) -> tuple[Array, Array]:
    """Return B/E and C over the motions that the walls' lines allow.

    Unknowns before that: axial displacement of each of n corners, its place across (2) and
    its rotation; scaled so that they are of one size.
    """
    n = len(points)
    size = float(np.ptp(points, axis=0).max())
    scale = np.concatenate([np.full(n, size**2), np.full(2 * n, size), np.ones(n)])
    rule = np.zeros((2 * len(walls), 4 * n))
    stiff, warping = np.zeros((4 * n, 4 * n)), np.zeros((4 * n, 4 * n))
    for w, (a, b) in enumerate(walls.tolist()):
        step = points[b] - points[a]
        length = float(np.linalg.norm(step))
        along = step / length
        across = np.array([-along[1], along[0]])
        place = [[n + 2 * k, n + 2 * k + 1] for k in (a, b)]
        # No shear strain: d(axial)/ds = -(rate of the wall's slide along itself).
        for row, k in ((2 * w, 0), (2 * w + 1, 1)):
            rule[row, place[k]] = along
            rule[row, b] += 1.0 / length
            rule[row, a] -= 1.0 / length
        ends = np.zeros((4, 4 * n))
        ends[0, place[0]], ends[2, place[1]] = across, across
        ends[1, 3 * n + a] = ends[3, 3 * n + b] = 1.0
        plate = thickness[w] ** 3 / (12.0 * (1.0 - NU**2))
        stiff += plate * (ends.T @ _bending(length) @ ends)
        warping[np.ix_([a, b], [a, b])] += (
            thickness[w] * length / 6.0 * np.array([[2.0, 1.0], [1.0, 2.0]])
        )
    _, value, vector = np.linalg.svd(rule * scale)
    rank = int(np.sum(value > SMALL * value[0]))
    free = scale[:, None] * vector[rank:].T
    return free.T @ stiff @ free, free.T @ warping @ free


def _bending(length: float) -> Array:
    """Return the stiffness of a strip of unit EI: across and turn at a, then at b."""
    one, two = 6.0 * length, 2.0 * length**2
    rows = [[12.0, one, -12.0, one], [one, 2 * two, -one, two],
            [-12.0, -one, 12.0, -one], [one, two, -one, 2 * two]]  # fmt: skip
    return np.array(rows) / length**3
