"""Factorisation of a symmetric positive definite matrix, by one of several backends.

A backend takes the sparse matrix and returns something that solves for many right-hand
sides.  All of them get the matrix scaled to a unit diagonal, so that millimetres,
radians and rates of twist weigh alike, and none is trusted: pivots are looked at here,
and the residual by the caller.

Which is used goes by the matrix and by what is installed; the answer names it.  A caller may
ask for one, and so may the environment, for all that no caller asked for (:data:`CHOICE`).
"""

import importlib.util
import os
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError, SolveError

Array = NDArray[np.float64]

BAND_LIMIT = 150
"""Half-bandwidth up to which a banded Cholesky beats a general sparse one (measured)."""

LARGE = 20_000
"""Unknowns beyond which a supernodal factorisation is looked for: it is five times faster than
SuperLU on condensed sheet metal (100 000 unknowns: 1.1 against 5.7 s on two cores)."""

CHOICE = "PLUMBRAIL_SOLVER"
"""Environment variable that names the backend where the caller leaves it open: for tests."""

TOGETHER = 32
"""Right-hand sides that SuperLU takes at a time: with more it leaves the cache, and is slower by
half (1272 of them, 1782 unknowns: 118 against 66 ms)."""

PIVOT_LIMIT = 1e-12
"""A scaled pivot below this means a mechanism, or a frame too ill-conditioned to trust."""


class NotDefiniteError(Exception):
    """The factorisation met a pivot that is not positive: a mechanism."""


class _Solver(Protocol):
    pivot: float

    def solve(self, rhs: Array) -> Array: ...


@dataclass(frozen=True, eq=False)
class Factor:
    """A factorised matrix.

    `pivot` is the smallest pivot of the matrix scaled to a unit diagonal.
    """

    backend: str
    pivot: float
    scale: Array
    _solver: _Solver

    def solve(self, rhs: Array) -> Array:
        """Return the solution for right-hand sides of shape (n,) or (n, k)."""
        scale = self.scale if rhs.ndim == 1 else self.scale[:, None]
        return np.asarray(scale * self._solver.solve(scale * rhs))


@dataclass(frozen=True, eq=False)
class _Order:
    """An order of unknowns: `turn` (n,); row and column of every entry in it; half-bandwidth."""

    turn: NDArray[np.intp]
    row: NDArray[np.intp]
    column: NDArray[np.intp]
    width: int


class _Banded:
    """LAPACK's banded Cholesky after a reverse Cuthill-McKee order."""

    def __init__(self, K: sp.csr_array, order: _Order) -> None:
        from scipy.linalg.lapack import dpbtrf

        n, tall = K.shape[0], order.width + 1
        lower = np.flatnonzero(order.row >= order.column)
        i, j = order.row[lower], order.column[lower]
        band = np.zeros(tall * n)
        band[(i - j) + tall * j] = K.data[lower]
        self._band, info = dpbtrf(band.reshape((tall, n), order="F"), lower=1, overwrite_ab=1)
        if info > 0:
            raise NotDefiniteError
        self._order = order.turn
        self.pivot = float(np.min(self._band[0]) ** 2)

    def solve(self, rhs: Array) -> Array:
        from scipy.linalg.lapack import dpbtrs

        x, _ = dpbtrs(self._band, rhs[self._order], lower=1)
        out = np.empty_like(rhs)
        out[self._order] = np.asarray(x).reshape(rhs.shape)
        return out


class _SuperLU:
    """SuperLU with a symmetric minimum-degree order and diagonal pivots."""

    def __init__(self, K: sp.csr_array) -> None:
        from scipy.sparse.linalg import splu

        try:
            self._lu = splu(
                sp.csc_array(K),
                permc_spec="MMD_AT_PLUS_A",
                diag_pivot_thresh=0.0,
                options={"SymmetricMode": True},
            )
        except RuntimeError as error:  # an exactly zero pivot
            raise NotDefiniteError from error
        self.pivot = float(np.min(self._lu.U.diagonal()))

    def solve(self, rhs: Array) -> Array:
        if rhs.ndim == 1 or rhs.shape[1] <= TOGETHER:
            return np.asarray(self._lu.solve(rhs))
        out = np.empty_like(rhs, order="F")
        for first in range(0, rhs.shape[1], TOGETHER):
            some = slice(first, first + TOGETHER)
            out[:, some] = self._lu.solve(np.asfortranarray(rhs[:, some]))
        return out


class _Supernodal:
    """The supernodal L D L' of the optional package `rslab`."""

    def __init__(self, K: sp.csr_array) -> None:
        import rslab

        try:
            self._factor = rslab.ldlt(sp.csc_array(K), ordering="metis")
        except RuntimeError as error:  # rank-deficient
            raise NotDefiniteError from error
        positive, _, _ = self._factor.inertia
        if positive < K.shape[0]:
            raise NotDefiniteError
        # It does not tell its pivots; the smallest eigenvalue lies below them all.
        x = np.cos(np.arange(K.shape[0]))
        for _ in range(3):
            x = self._factor.solve(x / np.linalg.norm(x))
        self.pivot = 1.0 / float(np.linalg.norm(x))

    def solve(self, rhs: Array) -> Array:
        if rhs.ndim == 1:
            return np.asarray(self._factor.solve(rhs))
        return np.asarray(self._factor.solve_many(np.ascontiguousarray(rhs)))


def installed() -> tuple[str, ...]:
    """Return the names of the backends that can be had here."""
    return tuple(name for name in BACKENDS if name != "supernodal" or supernodal_here())


def chosen(backend: str = "auto") -> str:
    """Return the backend asked for: by the caller, else by the environment, else "auto"."""
    return backend if backend != "auto" else os.environ.get(CHOICE) or "auto"


def supernodal_here() -> bool:
    """Whether the optional supernodal solver is installed."""
    return importlib.util.find_spec("rslab") is not None


def _banded(K: sp.csr_array) -> _Solver:
    return _Banded(K, _narrow(K))


def _narrow(K: sp.csr_array) -> _Order:
    """Return the reverse Cuthill-McKee order of a matrix, and where it takes its entries."""
    from scipy.sparse.csgraph import reverse_cuthill_mckee

    turn = reverse_cuthill_mckee(K, symmetric_mode=True).astype(np.intp)
    position = np.empty(len(turn), dtype=np.intp)
    position[turn] = np.arange(len(turn))
    row, column = np.repeat(position, np.diff(K.indptr)), position[K.indices]
    return _Order(turn, row, column, int(np.max(np.abs(row - column), initial=0)))


def _automatic(K: sp.csr_array) -> tuple[str, _Solver]:
    order = _narrow(K)
    if order.width <= BAND_LIMIT:
        return "banded", _Banded(K, order)
    if K.shape[0] > LARGE and supernodal_here():
        return "supernodal", _Supernodal(K)
    return "superlu", _SuperLU(K)


BACKENDS: dict[str, Callable[[sp.csr_array], _Solver]] = {
    "banded": _banded,
    "superlu": _SuperLU,
    "supernodal": _Supernodal,
}


def factorise(K: sp.csr_array, backend: str = "auto") -> Factor:
    """Return the factor of a symmetric positive definite matrix, shape (n, n).

    Parameters
    ----------
    backend : "auto", "banded", "superlu" or "supernodal" (needs the package rslab)

    Raises
    ------
    NotDefiniteError
        If a pivot is not positive, or too small to trust (:data:`PIVOT_LIMIT`).
    ModelError
        If the backend is unknown.
    SolveError
        If the matrix holds something that is not a number.
    """
    asked, backend = backend, chosen(backend)
    if backend not in ("auto", *installed()):
        raise ModelError(
            Complaint(
                "unknown solver backend",
                "" if asked == backend else f"environment variable {CHOICE}",
                backend,
                do="one of auto, banded, superlu; supernodal once plumbrail[fast] is installed",
            )
        )
    diagonal = K.diagonal()
    if not (np.all(np.isfinite(K.data)) and np.all(np.isfinite(diagonal))):
        raise SolveError(Complaint("the stiffness matrix must hold finite numbers only"))
    if np.any(diagonal <= 0.0):
        raise NotDefiniteError
    scale = 1.0 / np.sqrt(diagonal)
    scaled = sp.csr_array(K)
    scaled.data = scaled.data * np.repeat(scale, np.diff(scaled.indptr)) * scale[scaled.indices]
    name, solver = _automatic(scaled) if backend == "auto" else (backend, BACKENDS[backend](scaled))
    if not solver.pivot > PIVOT_LIMIT:
        raise NotDefiniteError
    return Factor(name, solver.pivot, scale, solver)
