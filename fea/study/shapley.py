"""Who brought what: the Shapley share of every player of a game, and what pairs add.

The value of a set of players is a row of figures; a set is a whole number whose bit k tells
whether player k is in it.  A player's share is the mean, over all orders in which the players
can come in, of what the value rises by when it does.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import factorial

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp]

SEED = 20251
"""For the random orders: equal questions have equal answers."""


@dataclass(frozen=True, eq=False)
class Shares:
    """Every player's share of every figure.

    Attributes
    ----------
    mean : (n_players, m); error : likewise, the standard error, zero where exact
    n_orders : random orders taken, None where all were
    """

    mean: Array
    error: Array
    n_orders: int | None


def exact(values: Array) -> Shares:
    """Return the shares from the values of all sets.

    Parameters
    ----------
    values : array, shape (2**n_players, m)

    References
    ----------
    .. [1] L. S. Shapley, A value for n-person games, 1953: a set of s players that player k
       joins counts ``s! (n - s - 1)! / n!``.
    """
    n = int(values.shape[0]).bit_length() - 1
    every = np.arange(1 << n)
    size = np.array([int(s).bit_count() for s in every])
    weight = np.array([factorial(s) * factorial(n - s - 1) / factorial(n) for s in range(n)])
    mean = np.empty((n, values.shape[1]))
    for k in range(n):
        without = every[(every >> k) & 1 == 0]
        rises = values[without | (1 << k)] - values[without]
        mean[k] = weight[size[without]] @ rises
    return Shares(mean, np.zeros_like(mean), None)


def draw_orders(n_players: int, count: int, seed: int = SEED) -> Index:
    """Return random orders, shape (count, n_players)."""
    random = np.random.default_rng(seed)
    return np.array([random.permutation(n_players) for _ in range(count)], dtype=np.intp)


def along(order: Sequence[int]) -> list[int]:
    """Return the sets that an order passes through, the empty one first.

    >>> along([2, 0])
    [0, 4, 5]
    """
    sets = [0]
    for k in order:
        sets.append(sets[-1] | 1 << int(k))
    return sets


def sampled(orders: Index, values: Mapping[int, Array]) -> Shares:
    """Return the shares estimated from some orders, at least two.

    Parameters
    ----------
    orders : (count, n_players)
    values : of every set that an order passes through, shape (m,) each
    """
    rises = []
    for order in orders.tolist():
        steps = np.diff([values[s] for s in along(order)], axis=0)
        rises.append(steps[np.argsort(order)])
    found = np.array(rises)
    error = found.std(axis=0, ddof=1) / np.sqrt(len(orders))
    return Shares(found.mean(axis=0), error, len(orders))


def second_difference(values: Mapping[int, Array], first: int, second: int, around: int) -> Array:
    """Return what two players bring together beyond what each brings alone, shape (m,).

    The other players are those of the set `around`, whether or not the two are in it.
    """
    one, other = 1 << first, 1 << second
    rest = around & ~(one | other)
    return values[rest | one | other] - values[rest | one] - values[rest | other] + values[rest]
