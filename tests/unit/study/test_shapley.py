"""Shapley shares: published games, the axioms, and orders drawn at random."""

from itertools import permutations

import numpy as np
import pytest
from numpy.typing import NDArray

from fea.study.shapley import along, draw_orders, exact, sampled, second_difference

Array = NDArray[np.float64]


def game(n: int, value) -> Array:
    """Return the values of all sets of n players, (2**n, 1)."""
    sets = [{k for k in range(n) if mask >> k & 1} for mask in range(1 << n)]
    return np.array([[float(value(s))] for s in sets])


def random_game(n: int, seed: int, m: int = 2) -> Array:
    values = np.random.default_rng(seed).normal(size=(1 << n, m))
    values[0] = 3.0
    return values


def test_the_glove_game() -> None:
    """One left glove, two right ones, a pair is worth 1: 4/6, 1/6, 1/6 of the six orders."""
    found = exact(game(3, lambda s: 0 in s and len(s) > 1))
    assert found.mean[:, 0] == pytest.approx([2 / 3, 1 / 6, 1 / 6], rel=1e-12)
    assert found.n_orders is None
    assert not found.error.any()


def test_a_majority_of_unequal_votes() -> None:
    """Votes 3, 2, 2, 1, of which 5 are needed: pivots in 10, 6, 6, 2 of the 24 orders."""
    votes = (3, 2, 2, 1)
    found = exact(game(4, lambda s: sum(votes[k] for k in s) >= 5))
    assert found.mean[:, 0] == pytest.approx(np.array([10, 6, 6, 2]) / 24, rel=1e-12)


@pytest.mark.parametrize("costs", [(1.0,), (1.0, 3.0), (2.0, 2.0, 5.0, 9.0), (1, 2, 4, 8, 16)])
def test_the_airport_game(costs: tuple[float, ...]) -> None:
    """Littlechild and Owen 1973: every step of the runway is shared by those who need it."""
    n = len(costs)
    found = exact(game(n, lambda s: max((costs[k] for k in s), default=0.0)))
    steps = np.diff([0.0, *costs])
    by_rule = np.cumsum(steps / (n - np.arange(n)))
    assert found.mean[:, 0] == pytest.approx(by_rule, rel=1e-12)


@pytest.mark.parametrize("n", [1, 2, 5, 7])
def test_the_shares_sum_to_the_total(n: int) -> None:
    values = random_game(n, 11 * n + 1)
    found = exact(values)
    assert found.mean.sum(axis=0) == pytest.approx(values[-1] - values[0], rel=1e-9)


def test_a_player_that_adds_nothing_gets_nothing() -> None:
    values = random_game(5, 77)
    without = np.arange(32) & ~(1 << 3)
    assert np.abs(exact(values[without]).mean[3]).max() < 1e-12


def test_players_that_can_stand_for_each_other_get_the_same() -> None:
    values = random_game(5, 79)
    sets = np.arange(32)
    swapped = sets & ~0b10010 | (sets >> 1 & 1) << 4 | (sets >> 4 & 1) << 1
    found = exact(values + values[swapped]).mean
    assert found[1] == pytest.approx(found[4], rel=1e-12)
    assert found[0] != pytest.approx(found[1], rel=1e-3)


def test_shares_of_a_sum_are_the_sum_of_shares() -> None:
    a, b = random_game(4, 81), random_game(4, 83)
    assert exact(a + 2.0 * b).mean == pytest.approx(exact(a).mean + 2.0 * exact(b).mean)


def test_all_orders_drawn_are_the_exact_shares() -> None:
    values = random_game(4, 85)
    orders = np.array(list(permutations(range(4))), dtype=np.intp)
    found = sampled(orders, dict(enumerate(values)))
    assert found.mean == pytest.approx(exact(values).mean, rel=1e-10, abs=1e-12)
    assert found.n_orders == 24


def test_the_standard_error_by_hand() -> None:
    """Player 0 brings 1, 1, 0 in three orders: mean 2/3, deviation 1/sqrt(3), over sqrt(3)."""
    values = {0: np.zeros(1), 1: np.ones(1), 2: np.ones(1), 3: np.ones(1)}
    found = sampled(np.array([[0, 1], [0, 1], [1, 0]], dtype=np.intp), values)
    assert found.mean[:, 0] == pytest.approx([2 / 3, 1 / 3])
    assert found.error[:, 0] == pytest.approx([1 / 3, 1 / 3])


def test_random_orders_come_near_and_know_how_near() -> None:
    values = random_game(6, 87, m=1)
    found = sampled(draw_orders(6, 400), dict(enumerate(values)))
    off = np.abs(found.mean - exact(values).mean)
    assert (off < 4.0 * found.error).all()
    assert found.error.max() < 0.2
    # What is shared is always the whole, whatever the orders.
    assert found.mean.sum() == pytest.approx(float(values[-1, 0] - values[0, 0]), rel=1e-9)


def test_orders_are_orders_and_the_same_every_time() -> None:
    orders = draw_orders(9, 20)
    assert (np.sort(orders, axis=1) == np.arange(9)).all()
    assert (orders == draw_orders(9, 20)).all()
    assert (orders != draw_orders(9, 20, seed=3)).any()
    assert along([1, 2, 0]) == [0, 2, 6, 7]


def test_second_differences() -> None:
    """A product of two players' powers has one; a sum has none."""
    powers = (2.0, 3.0, 5.0)
    product = dict(enumerate(game(3, lambda s: np.prod([powers[k] for k in s]))))
    added = dict(enumerate(game(3, lambda s: sum(powers[k] for k in s))))
    assert second_difference(product, 0, 1, 0) == pytest.approx([(2 - 1) * (3 - 1)])
    assert second_difference(product, 0, 1, 0b111) == pytest.approx([5 * (2 - 1) * (3 - 1)])
    assert second_difference(added, 0, 2, 0b111) == pytest.approx([0.0])
