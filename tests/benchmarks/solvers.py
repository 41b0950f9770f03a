"""Sparse Cholesky solvers to compare with: those of a few packages that are here.

Each takes a matrix and a load, brings them to the form it likes best, and returns what is to be
timed: factorise from nothing, and solve.
"""

from collections.abc import Callable
from importlib.util import find_spec

import numpy as np
import scipy.sparse as sp

Timed = Callable[[], np.ndarray]
Solver = Callable[[sp.csr_array, np.ndarray], Timed]


def splu(K: sp.csr_array, b: np.ndarray) -> Timed:
    """Return scipy's splu as it comes."""
    from scipy.sparse.linalg import splu as factorise

    A = sp.csc_array(K)
    return lambda: factorise(A).solve(b)


def _rslab(K: sp.csr_array, b: np.ndarray) -> Timed:
    import rslab

    A = sp.csc_array(K)
    return lambda: np.asarray(rslab.ldlt(A, ordering="metis").solve(b))


def _qdldl(K: sp.csr_array, b: np.ndarray) -> Timed:
    import qdldl

    upper = sp.csc_matrix(sp.triu(K))
    return lambda: qdldl.Solver(upper, upper=True).solve(b)


def _cholmod(K: sp.csr_array, b: np.ndarray) -> Timed:
    from cvxopt import cholmod, matrix, spmatrix

    low = sp.tril(K).tocoo()
    A = spmatrix(low.data, low.coords[0].astype(np.int64), low.coords[1].astype(np.int64), K.shape)
    cholmod.options["supernodal"] = 2

    def timed() -> np.ndarray:
        factor = cholmod.symbolic(A)
        cholmod.numeric(A, factor)
        x = matrix(b)
        cholmod.solve(factor, x)
        return np.array(x).ravel()

    return timed


def _pardiso(K: sp.csr_array, b: np.ndarray) -> Timed:
    import pymklpardiso as mkl

    upper = sp.csr_matrix(sp.triu(K, format="csr"))
    metis = {1: 2}  # its order of elimination
    return lambda: np.asarray(mkl.PardisoSolver(upper, mkl.MTYPE_REAL_SYM_POSDEF, metis).solve(b))


def _cholespy(K: sp.csr_array, b: np.ndarray) -> Timed:
    import cholespy

    coo = K.tocoo()

    def timed() -> np.ndarray:
        solver = cholespy.CholeskySolverD(
            K.shape[0], coo.coords[0], coo.coords[1], coo.data, cholespy.MatrixType.COO
        )
        x = np.zeros_like(b)
        solver.solve(b, x)
        return x

    return timed


_KNOWN: dict[str, tuple[str, Solver]] = {
    "rslab": ("rslab", _rslab),
    "qdldl": ("qdldl", _qdldl),
    "cvxopt": ("cvxopt.cholmod", _cholmod),
    "pymklpardiso": ("py-mkl-pardiso", _pardiso),
    "cholespy": ("cholespy", _cholespy),
}


def here() -> dict[str, Solver]:
    """Return the solvers of the packages that are installed, by name."""
    return {name: run for module, (name, run) in _KNOWN.items() if find_spec(module)}
