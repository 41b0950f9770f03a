"""Random elements with everything an element can have, and chains made of them."""

from dataclasses import replace

import numpy as np

from fea.element import beam
from fea.element.beam import Beams


def random_beams(n: int, seed: int, *, lam: float | None = None) -> Beams:
    """Elements of a frame's sizes (mm, N), with arms, offsets, held walls and coupled shears."""
    rng = np.random.default_rng(seed)
    axes = np.linalg.qr(rng.normal(size=(n, 3, 3)))[0]
    axes *= np.sign(np.linalg.det(axes))[:, None, None]
    length = rng.uniform(200.0, 2000.0, n)
    GJ = 8e4 * rng.uniform(1e3, 1e5, n)
    k_L = rng.uniform(0.5, 6.0, n) if lam is None else np.full(n, lam)
    lower = rng.uniform(0.2, 1.0, (n, 2, 2)) * np.array([[1.0, 0.0], [1.0, 1.0]])
    return Beams(
        length=length,
        axes=axes,
        arms=rng.uniform(-100.0, 100.0, (n, 2, 3)),
        centroid=rng.uniform(-40.0, 40.0, (n, 2)),
        shear_centre=rng.uniform(-40.0, 40.0, (n, 2)),
        held=rng.uniform(-60.0, 60.0, (n, 2, 3)),
        EA=2e5 * rng.uniform(500.0, 3000.0, n),
        EI1=2e5 * rng.uniform(1e6, 2e7, n),
        EI2=2e5 * rng.uniform(1e5, 5e6, n),
        GJ=GJ,
        ECw=GJ * length**2 / k_L**2,
        shear=lower @ np.swapaxes(lower, 1, 2) / (8e4 * 800.0),
    )


def natural_stiffness(beams: Beams):
    """Stiffness in the natural motions, shape (n, 14, 14)."""
    D = beam.deformation(beams)
    return np.swapaxes(D, 1, 2) @ beam.rigidity(beams) @ D


def piece_of(beams: Beams, pieces: int) -> Beams:
    """The same beams, each a `pieces`-th as long, without arms or held walls."""
    n = len(beams.length)
    return replace(
        beams,
        length=beams.length / pieces,
        arms=np.zeros((n, 2, 3)),
        held=np.zeros((n, 2, 3)),
    )


def condensed_chain(K, f, pieces: int):
    """Stiffness and loads at the ends of `pieces` equal elements in a row.

    K (14, 14) and f (14,) belong to one piece; inner nodes are eliminated exactly.
    """
    size = 7 * (pieces + 1)
    whole, load = np.zeros((size, size)), np.zeros(size)
    for p in range(pieces):
        at = slice(7 * p, 7 * p + 14)
        whole[at, at] += K
        load[at] += f
    ends = np.r_[0:7, size - 7 : size]
    inner = np.arange(7, size - 7)
    if not len(inner):
        return whole, load
    spread = np.linalg.solve(whole[np.ix_(inner, inner)], whole[np.ix_(inner, ends)])
    reduced = whole[np.ix_(ends, ends)] - whole[np.ix_(ends, inner)] @ spread
    return reduced, load[ends] - spread.T @ load[inner]
