"""Each backend solves, and says so when it cannot."""

import numpy as np
import pytest
import scipy.sparse as sp

from fea.errors import ModelError, SolveError
from fea.solve.factorise import BACKENDS, BAND_LIMIT, NotDefiniteError, factorise, supernodal_here

EVERY = ["auto", *(b for b in BACKENDS if b != "supernodal" or supernodal_here())]
chance = np.random.default_rng(1861)


def definite(n: int, spread: float = 0.0) -> sp.csr_array:
    """Return a sparse definite matrix; `spread` is the powers of ten between its entries."""
    B = sp.random_array((n, n), density=4.0 / n, rng=chance)
    scale = 10.0 ** chance.uniform(-spread, spread, n)
    K = B @ B.T + sp.eye_array(n)
    return sp.csr_array(sp.diags_array(scale) @ K @ sp.diags_array(scale))


@pytest.mark.parametrize("backend", EVERY)
@pytest.mark.parametrize("spread", [0.0, 6.0])
def test_solves(backend: str, spread: float) -> None:
    K = definite(60, spread)
    x = chance.normal(size=(60, 3)) / np.sqrt(K.diagonal())[:, None]
    factor = factorise(K, backend)
    scale = np.sqrt(K.diagonal())
    np.testing.assert_allclose(scale[:, None] * factor.solve(K @ x), scale[:, None] * x, atol=1e-11)
    np.testing.assert_allclose(scale * factor.solve(K @ x[:, 0]), scale * x[:, 0], atol=1e-11)
    assert 0.0 < factor.pivot <= 1.0


@pytest.mark.parametrize("backend", EVERY)
def test_a_matrix_of_one_freedom(backend: str) -> None:
    factor = factorise(sp.csr_array(np.array([[4.0]])), backend)
    assert factor.solve(np.array([2.0])).tolist() == [0.5]


@pytest.mark.parametrize("backend", EVERY)
@pytest.mark.parametrize(
    "matrix",
    [
        [[1.0, 2.0], [2.0, 1.0]],  # indefinite
        [[1.0, 1.0], [1.0, 1.0]],  # singular, exactly
        [[0.1, 0.3], [0.3, 0.9]],  # singular but for round-off
        [[1.0, 0.0], [0.0, 0.0]],  # nothing on the diagonal
        [[1.0, 0.0], [0.0, -3.0]],  # negative
        [[1.0, 1.0 - 1e-14], [1.0 - 1e-14, 1.0]],  # too near to singular to trust
    ],
)
def test_not_definite(backend: str, matrix: list[list[float]]) -> None:
    with pytest.raises(NotDefiniteError):
        factorise(sp.csr_array(np.array(matrix)), backend)


@pytest.mark.parametrize("backend", EVERY)
@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("place", [(0, 0), (0, 1)])
def test_what_is_not_a_number_is_refused(backend: str, bad: float, place: tuple[int, int]) -> None:
    matrix = np.eye(3)
    matrix[place] = matrix[place[::-1]] = bad
    with pytest.raises(SolveError, match="finite numbers only"):
        factorise(sp.csr_array(matrix), backend)


def test_an_unknown_backend_is_refused_with_the_choices() -> None:
    with pytest.raises(ModelError) as error:
        factorise(sp.csr_array(np.eye(2)), "magic")
    (complaint,) = error.value.complaints
    assert complaint.found == "magic"
    for name in EVERY:
        assert name in complaint.do


def test_the_matrix_given_is_left_as_it_was() -> None:
    K = definite(20, 3.0)
    before = K.toarray()
    for backend in EVERY:
        factorise(K, backend)
    np.testing.assert_array_equal(K.toarray(), before)


def test_the_automatic_choice_goes_by_the_band() -> None:
    narrow = sp.csr_array(sp.diags_array([-1.0, 4.0, -1.0], offsets=[-1, 0, 1], shape=(400, 400)))
    assert factorise(narrow).backend == "banded"
    n = 2 * BAND_LIMIT + 10
    wide = np.eye(n) * n + 1.0
    assert factorise(sp.csr_array(wide)).backend == "superlu"


def test_the_pivot_tells_how_near_to_singular() -> None:
    for gap in (1e-2, 1e-5, 1e-9):
        K = sp.csr_array(np.array([[1.0, 1.0 - gap], [1.0 - gap, 1.0]]))
        for backend in ("banded", "superlu"):
            assert factorise(K, backend).pivot == pytest.approx(2.0 * gap, rel=0.02)
        if supernodal_here():  # it gives the smallest eigenvalue instead
            assert factorise(K, "supernodal").pivot == pytest.approx(gap, rel=0.02)
