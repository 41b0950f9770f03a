"""Natural frequencies and shapes: ``K x = w^2 M x`` by Lanczos about a shift below zero.

A shift below zero leaves ``K - s M`` positive definite even where the frame floats, so the
factorisation that serves statics serves here [1]_.  Frequencies are then taken from energies
summed element by element, and every mode's residual is worked out the same way.

References
----------
.. [1] T. Ericsson and A. Ruhe, The spectral transformation Lanczos method, Mathematics of
   Computation 35, 1980.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.errors import Complaint, SolveError
from fea.mesh.mesh import Rows, empty_rows
from fea.solve import constrain, factorise, rigid
from fea.solve.assemble import sparse_rows
from fea.solve.inertia import Inertia
from fea.solve.system import System

Array = NDArray[np.float64]

RIGID, SWING = 1e-8, 1e-12
"""A mode costs nothing, it is rigid, whose w^2 is less than this of the highest mode found, or
of what single freedoms of the mesh would swing at."""

RESIDUAL_LIMIT = 1e-5
"""A mode that leaves more of its forces unbalanced is refused."""

NEAR = 0.2
"""Where the shift goes: this part of the lowest w^2 that is not rigid, below zero."""

FIRST = 1e-9
"""The first shift, over the w^2 of single freedoms: below the lowest modes even of fine meshes, so
that a few turns find them; where it is lost in round-off `_shifted` raises it."""

FEW = 60
"""Freedoms up to which all modes are found at once."""

SPARE = 4
"""Modes sought beyond those wanted, so that the last of these have settled."""


@dataclass(frozen=True, eq=False)
class Ground:
    """Springs to the ground: motions (m rows) and stiffness (m,), N/mm."""

    rows: Rows
    stiffness: Array


@dataclass(frozen=True, eq=False)
class Modes:
    """Modes of a mesh, lowest first, those that cost nothing left out.

    Attributes
    ----------
    frequency : (k,), Hz
    shape : (n_freedoms, k), mass-normalised: x' M x = 1
    residual : (k,), forces out of balance over the inertia forces
    n_rigid : how many motions cost nothing
    """

    frequency: Array
    shape: Array
    residual: Array
    n_rigid: int


def modes(
    whole: System,
    mass: Inertia,
    count: int,
    *,
    held: Rows | None = None,
    ground: Ground | None = None,
    backend: str = "auto",
) -> Modes:
    """Return the lowest modes of a mesh.

    Parameters
    ----------
    count : how many, the rigid ones not counted
    held : support rows whose motion is zero
    ground : springs to the ground

    Raises
    ------
    SolveError
        If something can move freely beside the rigid motions that the supports leave, if
        there are fewer modes, or if a mode does not pass its check.
    """
    ground = ground or Ground(empty_rows(), np.zeros(0))
    T = whole.links.matrix
    rows = held or empty_rows()
    if rows.n_rows:
        found = constrain.supports(
            whole.over_links(rows), np.zeros((rows.n_rows, 1)), whole.K_links.diagonal()
        )
        T = sp.csr_array(T @ found.matrix)
    B = sparse_rows(ground.rows, whole.mesh.n_freedoms)
    springs = sp.csr_array(B.T @ (B * ground.stiffness[:, None]))
    K = sp.csr_array(T.T @ (whole.K + springs) @ T)
    M = sp.csr_array(T.T @ mass.M @ T)
    loose = _loose(whole, (rows, ground.rows))
    x = _lanczos(K, M, loose, count, backend)
    shape = np.asarray(T @ x)
    force = whole.structure.internal(shape) + springs @ shape
    stiff, heavy = _products(shape, force), _products(shape, mass.M @ shape)
    square = stiff / heavy
    order = np.argsort(square)
    square, shape, force = square[order], shape[:, order], force[:, order]
    shape = shape / np.sqrt(heavy[order])
    force = force / np.sqrt(heavy[order])
    _check_rigid(whole, square, shape, loose, SWING * _single(K, M))
    kept = slice(loose, loose + count)
    out = _residual(T, K, force[:, kept], (mass.M @ shape[:, kept]) * square[kept])
    if not np.all(out < RESIDUAL_LIMIT):
        worst = int(np.argmax(out))
        raise SolveError(
            Complaint(
                "a mode does not pass its own check and is withheld",
                where=f"mode {worst + 1}",
                found=f"relative residual {out[worst]:.1e}, limit {RESIDUAL_LIMIT:.0e}",
                do="look for members far stiffer, longer or thinner than the rest",
            )
        )
    frequency = np.sqrt(np.maximum(square[kept], 0.0)) / (2.0 * np.pi)
    return Modes(frequency, _upright(shape[:, kept]), out, loose)


def _products(one: Array, other: Array) -> Array:
    return np.asarray(np.einsum("ij,ij->j", one, other))


def _upright(shape: Array) -> Array:
    """Return shapes with the sign that makes their largest freedom positive."""
    largest = np.argmax(np.abs(shape), axis=0)
    return np.asarray(shape * np.where(shape[largest, np.arange(shape.shape[1])] < 0, -1.0, 1.0))


def _loose(whole: System, rows: tuple[Rows, ...]) -> int:
    """Return how many rigid motions some rows leave free."""
    points = whole.mesh.points
    span = max(1e-9, float(np.max(np.ptp(points, axis=0))))
    motions = rigid.motions(points, 7, points.mean(axis=0), span)
    moved = [sparse_rows(r, whole.mesh.n_freedoms) @ motions for r in rows]
    seen = np.concatenate([m / max(1e-300, float(np.abs(m).max(initial=0.0))) for m in moved])
    return 6 - int(np.linalg.matrix_rank(seen, tol=1e-8)) if len(seen) else 6


def _lanczos(K: sp.csr_array, M: sp.csr_array, loose: int, count: int, backend: str) -> Array:
    """Return the lowest eigenvectors, (n, loose + count); the shift is set by a first look."""
    from scipy.sparse.linalg import LinearOperator, eigsh

    n, wanted = K.shape[0], loose + count
    if wanted > n:
        raise SolveError(
            Complaint(
                "there are fewer modes than asked for",
                found=f"{count} asked, {n} free motions",
                do="ask for fewer",
            )
        )
    if n <= FEW or wanted + SPARE > n - 2:
        return _dense(K, M, wanted)
    single = _single(K, M)
    shift = FIRST * single
    start = np.cos(np.arange(n) + 0.5)
    scale = np.sqrt(np.maximum(K.diagonal(), 1e-300))
    for last in (False, True):
        factor = _shifted(K, M, shift, backend)
        inverse = LinearOperator((n, n), matvec=factor.solve, dtype=np.float64)
        k = min(wanted + (SPARE if last else 1 - count), n - 1)
        value, x = eigsh(
            K,
            max(k, 1),
            M,
            sigma=-shift,
            OPinv=inverse,
            which="LM",
            v0=start / scale,
            ncv=min(n, max(2 * k + 10, 20)),
            tol=0.0 if last else 1e-3,
        )
        order = np.argsort(value)
        if not last:
            shift = max(NEAR * abs(float(value[order[min(loose, k - 1)]])), SWING * single)
    return np.asarray(x[:, order])


def _dense(K: sp.csr_array, M: sp.csr_array, wanted: int) -> Array:
    """Return the lowest eigenvectors of a few freedoms, (n, wanted) at most."""
    from scipy.linalg import LinAlgError, eigh

    stiff, heavy = K.toarray(), M.toarray()
    shift = 1e-6 * _single(K, M)
    try:
        part, x = eigh(heavy, stiff + shift * heavy)
    except LinAlgError:
        raise _massless() from None
    most = int(np.sum(part > 1e-14 * part[-1]))  # beyond that are motions without mass
    return np.asarray(x[:, ::-1][:, : min(wanted, most)])


def _massless() -> SolveError:
    return SolveError(
        Complaint(
            "something moves freely without any mass",
            do="look for a member that is joined to nothing, or a spring of no stiffness",
        )
    )


def _shifted(K: sp.csr_array, M: sp.csr_array, shift: float, backend: str) -> factorise.Factor:
    for _ in range(4):
        try:
            return factorise.factorise(sp.csr_array(K + shift * M), backend)
        except factorise.NotDefiniteError:
            shift *= 100.0  # a shift too near to zero is lost in the stiffness
    raise _massless()


def _single(K: sp.csr_array, M: sp.csr_array) -> float:
    """Return the w^2 at which a single freedom would swing, the middle one of all."""
    heavy = M.diagonal() > 0.0
    if not np.any(heavy):
        raise _massless()
    return float(np.median(K.diagonal()[heavy] / M.diagonal()[heavy]))


def _check_rigid(whole: System, square: Array, shape: Array, loose: int, least: float) -> None:
    """Refuse modes among which more or fewer cost nothing than the supports leave free."""
    least = max(least, RIGID * float(square[-1]))
    nothing = int(np.sum(np.abs(square) < least))
    if nothing < loose:
        found = f"{nothing} of {loose} rigid motions found"
        raise SolveError(Complaint("rigid motions must cost nothing", found=found))
    if nothing > loose:
        moved = shape[:, loose].reshape(-1, 7)[:, :3]
        node = int(np.argmax(np.linalg.norm(moved, axis=1)))
        raise SolveError(
            Complaint(
                "part of the frame moves freely against the rest",
                where=whole.mesh.node_names[node],
                do="join it, or hold it",
            )
        )


def _residual(T: sp.csr_array, K: sp.csr_array, force: Array, inertial: Array) -> Array:
    """Return per mode what is out of balance over the inertia forces, scaled by stiffness."""
    scale = 1.0 / np.sqrt(np.maximum(K.diagonal(), 1e-300))[:, None]
    left = scale * (T.T @ (force - inertial))
    return np.asarray(
        np.linalg.norm(left, axis=0) / np.linalg.norm(scale * (T.T @ inertial), axis=0)
    )
