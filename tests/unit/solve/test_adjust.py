"""Adjustment of networks: closed forms, free datum, slips, slips that cannot be told apart."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import least_squares

from fea.errors import SolveError
from fea.solve.adjust import adjust, snoop

Array = NDArray[np.float64]


def lengths_between(links):
    """Return the model of lengths between points in the plane."""

    def model(x):
        values, rows = np.zeros(len(links)), np.zeros((len(links), len(x)))
        for k, (i, j) in enumerate(links):
            step = x[2 * j : 2 * j + 2] - x[2 * i : 2 * i + 2]
            values[k] = np.linalg.norm(step)
            rows[k, 2 * j : 2 * j + 2] = step / values[k]
            rows[k, 2 * i : 2 * i + 2] = -step / values[k]
        return values, rows

    return model


def test_a_point_from_three_known_ones_as_a_minimiser_has_it() -> None:
    """Figures of a textbook's size (feet; Ghilani and Wolf, chapter on trilateration)."""
    known = np.array([[865.40, 4527.15], [2432.55, 2047.25], [2865.22, 27.15]])
    read = np.array([6049.00, 4736.83, 5446.49])

    def model(x):
        step = x - known
        far = np.linalg.norm(step, axis=1)
        return far, step / far[:, None]

    found = adjust(model, read, np.ones(3), np.array([6800.0, 3700.0]))
    other = least_squares(lambda x: read - model(x)[0], [6800.0, 3700.0], xtol=1e-14, ftol=1e-14)
    np.testing.assert_allclose(found.x, other.x, atol=1e-6)
    assert found.freedom == 1
    # Of one redundant reading the shares of all sum to one.
    assert found.redundancy.sum() == pytest.approx(1.0)
    np.testing.assert_allclose(found.root @ found.root.T, np.linalg.inv(other.jac.T @ other.jac),
                               rtol=1e-6)  # fmt: skip


@pytest.mark.parametrize(("long", "wide"), [(1000.0, 1000.0), (2400.0, 800.0), (500.0, 900.0)])
def test_a_rectangle_whose_one_diagonal_is_off(long: float, wide: float) -> None:
    """Four sides, two diagonals, one redundant: the residuals are the self-stress by hand.

    Force densities of a rectangle's self-stress are one in the sides, minus one in the
    diagonals: c = (L, L, W, W, -D, -D), c.c = 4 D^2, residuals c (c.e) / (c.c).
    """
    links = [(0, 1), (2, 3), (0, 3), (1, 2), (0, 2), (1, 3)]
    corners = np.array([0.0, 0.0, long, 0.0, long, wide, 0.0, wide])
    model = lengths_between(links)
    diagonal, off = float(np.hypot(long, wide)), 0.1
    read = model(corners)[0] + np.array([0, 0, 0, 0, off, 0])
    found = adjust(model, read, np.ones(6), corners)
    assert found.freedom == 1
    assert found.free.shape == (8, 3)  # moving along, across and turning
    c = np.array([long, long, wide, wide, -diagonal, -diagonal])
    by_hand = c * (-diagonal * off) / (4.0 * diagonal**2)
    # First order in the deviation: what is left out is off / D of it.
    np.testing.assert_allclose(found.left, by_hand, atol=2e-4 * off)
    np.testing.assert_allclose(found.redundancy, c**2 / (4.0 * diagonal**2), rtol=1e-3)


def test_one_redundant_length_cannot_name_the_slip() -> None:
    links = [(0, 1), (2, 3), (0, 3), (1, 2), (0, 2), (1, 3)]
    corners = np.array([0.0, 0.0, 1000.0, 0.0, 1000.0, 800.0, 0.0, 800.0])
    model = lengths_between(links)
    read = model(corners)[0]
    read[4] += 25.0
    found = snoop(model, read, np.ones(6), corners)
    assert len(found.slips) == 1
    assert set(found.slips[0].readings) == set(range(6))
    sizes = dict(zip(found.slips[0].readings, found.slips[0].sizes, strict=True))
    assert sizes[4] == pytest.approx(25.0, abs=1e-3)


def braced(rng=None, slips=()):
    """Return a plane ladder of 5 bays with all diagonals, also over two bays: model and truth."""
    places = np.array([(700.0 * k, y) for k in range(6) for y in (0.0, 800.0)]).ravel()
    n = 12
    links = [(i, j) for i in range(n) for j in range(i + 1, n) if j // 2 - i // 2 <= 2]
    model = lengths_between(links)
    read = model(places)[0] + (0.0 if rng is None else rng.normal(0.0, 1.0, len(links)))
    for k, size in slips:
        read[k] += size
    return model, places, read


def test_slips_are_found_one_by_one_and_nothing_else() -> None:
    rng = np.random.default_rng(7)
    for trial in range(8):
        numbers = rng.choice(40, 2, replace=False)
        planted = [(int(numbers[0]), 25.0), (int(numbers[1]), -18.0)]
        model, places, read = braced(rng, planted)
        found = snoop(model, read, np.ones(len(read)), places)
        sizes = {s.readings[0]: s.sizes[0] for s in found.slips if len(s.readings) == 1}
        for k, size in planted:
            assert sizes.get(k) == pytest.approx(size, abs=5.0), trial
        assert not found.lost
        assert len(found.slips) <= 3


def test_no_slip_no_finding_and_no_residual() -> None:
    model, places, read = braced()
    found = snoop(model, read, np.ones(len(read)), places)
    assert found.slips == ()
    assert np.abs(found.adjusted.left).max() < 1e-9


def test_false_alarms_are_as_rare_as_they_should_be() -> None:
    rng = np.random.default_rng(9)
    alarms = 0
    for _ in range(40):
        model, places, read = braced(rng)
        alarms += bool(snoop(model, read, np.ones(len(read)), places).slips)
    assert alarms <= 6  # 0.1 % of 50 readings each: about two in forty


def test_the_start_does_not_matter_to_what_is_told() -> None:
    model, places, read = braced(np.random.default_rng(3))
    one = adjust(model, read, np.ones(len(read)), places)
    moved = adjust(model, read, np.ones(len(read)), places + np.tile([40.0, -25.0], 12))
    np.testing.assert_allclose(one.left, moved.left, atol=1e-6)


def test_a_search_that_never_settles_is_told() -> None:
    def model(x):
        return -x, np.array([[1.0]])  # a derivative of the wrong sign

    with pytest.raises(SolveError, match="do not settle"):
        adjust(model, np.array([1e3]), np.ones(1), np.zeros(1))
