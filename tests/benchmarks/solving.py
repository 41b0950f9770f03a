"""Factorising and solving, against the best sparse Cholesky here and against scipy's splu."""

from collections.abc import Callable, Iterator

import numpy as np
import scipy.sparse as sp
import solvers
from figures import Figure, series, versus
from problems import ladder_matrix, tube_matrix

from fea.solve.factorise import factorise

AGREE = 1e-5
"""Answers that differ by more, relatively, are not the same answer."""


def figures(full: bool) -> Iterator[Figure]:
    """Yield ladders of beams, then tubes of sheet metal, each with a growth exponent."""
    small, large = (1_000, 10_000, 100_000), (300_000,)
    yield from _grown("ladder", ladder_matrix, small + (large if full else ()))
    small, large = (1_000, 10_000, 30_000), (100_000, 300_000)
    yield from _grown("sheet metal", tube_matrix, small + (large if full else ()))


def _grown(
    matrix: str, make: Callable[[int], sp.csr_array], sizes: tuple[int, ...]
) -> Iterator[Figure]:
    best, plain = [], []
    freedoms = []
    for size in sizes:
        K = make(size)
        b = np.cos(np.arange(K.shape[0]))
        right = factorise(K).solve(b)
        others = {name: make_ready(K, b) for name, make_ready in solvers.here().items()}
        for name, run in list(others.items()):
            if not np.linalg.norm(run() - right) < AGREE * np.linalg.norm(right):
                del others[name]  # no answer: it counts for nothing
        times = versus(lambda K=K, b=b: factorise(K).solve(b), solvers.splu(K, b), *others.values())
        told = f"{K.shape[0]:,} dof"
        what = f"factorise, solve: {matrix}"
        if others:
            quickest = min(zip(times[2:], others, strict=True))
            best.append(Figure(what, told, times[0], quickest[1], quickest[0]))
        plain.append(Figure(what, told, times[0], "splu", times[1]))
        freedoms.append(K.shape[0])
    yield from series(best, freedoms)
    yield from plain if best else series(plain, freedoms)
