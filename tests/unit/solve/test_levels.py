"""Elimination from the ends inwards gives what the inverse gives."""

import numpy as np
import pytest
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.solve.factorise import NotDefiniteError
from fea.solve.levels import compliance, level_sets


def chain(n: int, ring: int, seed: int = 7) -> sp.csr_array:
    """Return the stiffness of a tube of springs to the ground and to neighbours, shuffled."""
    random = np.random.default_rng(seed)
    index = np.arange(n * ring).reshape(n, ring)
    pairs = [(index[:-1].ravel(), index[1:].ravel()), (index.ravel(), np.roll(index, 1, 1).ravel())]
    i, j = (np.concatenate(x) for x in zip(*pairs, strict=True))
    k = random.uniform(0.5, 2.0, len(i))
    N = n * ring
    K = sp.coo_array(
        (np.concatenate([k, k, -k, -k]), (np.r_[i, j, i, j], np.r_[i, j, j, i])), (N, N)
    )
    order = random.permutation(N)
    ground = sp.diags_array(random.uniform(1e-3, 1e-2, N))
    return sp.csr_array(sp.csr_array(K + ground)[order][:, order])


def right(n: int, m: int, seed: int = 9) -> sp.csc_array:
    return sp.csc_array(sp.random_array((n, m), density=0.02, rng=np.random.default_rng(seed)))


def dense(K: sp.csr_array, B: sp.csc_array) -> NDArray[np.float64]:
    full = B.toarray()
    return np.asarray(full.T @ np.linalg.solve(K.toarray(), full))


@pytest.mark.parametrize(("n", "ring"), [(1, 3), (2, 3), (30, 5), (3, 40)])
def test_it_is_what_the_inverse_gives(n: int, ring: int) -> None:
    K = chain(n, ring)
    B = right(K.shape[0], 11)
    wanted = dense(K, B)
    np.testing.assert_allclose(compliance(K, B), wanted, rtol=0, atol=1e-12 * np.abs(wanted).max())


def test_pieces_apart_and_branches() -> None:
    long, short, stub = chain(20, 4), chain(3, 4, seed=11), chain(6, 3, seed=13)
    K = sp.lil_array(sp.block_diag([long, short, stub]))
    at, other = 37, long.shape[0] + short.shape[0] + 2  # the stub hangs on the long one
    K[at, other] = K[other, at] = -1e-3
    whole = sp.csr_array(K)
    B = right(whole.shape[0], 17)
    wanted = dense(whole, B)
    np.testing.assert_allclose(
        compliance(whole, B), wanted, rtol=0, atol=1e-12 * np.abs(wanted).max()
    )


def test_levels_touch_their_neighbours_only() -> None:
    K = chain(25, 4)
    sets = level_sets(K)
    assert sorted(np.concatenate(sets).tolist()) == list(range(K.shape[0]))
    level = np.empty(K.shape[0], dtype=int)
    for k, unknowns in enumerate(sets):
        level[unknowns] = k
    i, j = K.nonzero()
    assert np.max(np.abs(level[i] - level[j])) == 1
    assert max(len(s) for s in sets) <= 2 * 4  # a tube of four does not widen


def test_what_hangs_on_nothing_is_refused() -> None:
    K = chain(8, 3)
    floating = sp.csr_array(K - sp.diags_array(np.asarray(K.sum(axis=1)).ravel()))
    with pytest.raises(NotDefiniteError):
        compliance(floating, right(K.shape[0], 3))
    holed = K.tolil()
    holed[4, :] = 0.0
    holed[:, 4] = 0.0
    with pytest.raises(NotDefiniteError):
        compliance(sp.csr_array(holed), right(K.shape[0], 3))
