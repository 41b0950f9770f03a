"""Names in a column moved apart: far enough, no farther, in order."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fea.out.spread import spread


@given(
    st.lists(st.floats(-50.0, 150.0), min_size=1, max_size=12),
    st.floats(0.1, 20.0),
)
def test_apart_inside_and_in_order(values: list[float], least: float) -> None:
    given_at = np.array(values)
    found = spread(given_at, least, 0.0, 100.0)
    room = min(least, 100.0 / max(len(values) - 1, 1))
    order = np.argsort(given_at, kind="stable")
    assert np.all(np.diff(found[order]) >= room - 1e-9)
    assert found.min() >= -1e-9
    assert found.max() <= 100.0 + 1e-9


def test_what_is_apart_stays() -> None:
    values = np.array([70.0, 10.0, 40.0])
    assert np.array_equal(spread(values, 5.0, 0.0, 100.0), values)


def test_a_heap_is_spread_about_its_middle() -> None:
    found = spread(np.array([50.0, 90.0, 50.0, 50.0]), 4.0, 0.0, 100.0)
    assert found == pytest.approx([46.0, 90.0, 50.0, 54.0])
    assert spread(np.array([0.0, 0.0]), 4.0, 0.0, 100.0) == pytest.approx([0.0, 4.0])
    assert len(spread(np.zeros(0), 4.0, 0.0, 1.0)) == 0
