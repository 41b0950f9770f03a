"""Moving names in a column apart, no farther than they must."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def spread(values: Array, least: float, low: float, high: float) -> Array:
    """Return heights near the values, at least `least` apart, within low and high.

    The order stays, and the sum of the squared shifts is as small as it can be before the
    column is pushed inside; where there is no room for all, they stand evenly.

    Parameters
    ----------
    values : (n,)

    Returns
    -------
    array, (n,)
    """
    n = len(values)
    if n == 0:
        return np.zeros(0)
    least = min(least, (high - low) / max(n - 1, 1))
    order = np.argsort(values, kind="stable")
    # Less their place in the column, heights only have to rise: pool neighbours that fall.
    wanted = values[order] - least * np.arange(n)
    pools: list[tuple[float, int]] = []
    for value in wanted.tolist():
        mean, count = value, 1
        while pools and pools[-1][0] > mean:
            before, many = pools.pop()
            mean, count = (before * many + mean * count) / (many + count), many + count
        pools.append((mean, count))
    even = np.concatenate([np.full(count, mean) for mean, count in pools])
    even = np.clip(even, low, high - least * (n - 1))
    out = np.empty(n)
    out[order] = even + least * np.arange(n)
    return out
