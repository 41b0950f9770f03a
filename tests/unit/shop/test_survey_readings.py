"""Every kind of reading: its derivatives, and what moving the whole frame does to it."""

import numpy as np
import pytest

from fea.shop.survey_datum import _rotation
from fea.shop.survey_readings import Reading, one

KINDS = ("length", "plan", "level", "tilt", "floor", "station", "offset", "height")
RNG = np.random.default_rng(31)
X = np.append(RNG.uniform(-900.0, 900.0, 12), 40.0)


@pytest.mark.parametrize("kind", KINDS)
def test_derivatives_are_those_of_the_value(kind: str) -> None:
    reading = Reading(kind, 1, 3, 0.0, 1.0)
    row = one(reading, X)[1]
    step = 1e-3
    by_steps = [
        (one(reading, X + step * e)[0] - one(reading, X - step * e)[0]) / (2.0 * step)
        for e in np.eye(len(X))
    ]
    np.testing.assert_allclose(row, by_steps, atol=1e-7)


@pytest.mark.parametrize(
    ("kind", "turn", "same"),
    [
        ("length", [0.2, -0.1, 0.7], True),
        ("plan", [0.0, 0.0, 0.7], True),
        ("plan", [0.2, 0.0, 0.0], False),
        ("level", [0.0, 0.0, 0.7], True),
        ("level", [0.0, 0.2, 0.0], False),
        ("tilt", [0.0, 0.0, 0.7], True),
        ("tilt", [0.2, 0.0, 0.0], False),
    ],
)
def test_what_a_turn_of_the_frame_changes(kind: str, turn: list[float], same: bool) -> None:
    reading = Reading(kind, 0, 2, 0.0, 1.0)
    turned = X[:-1].reshape(-1, 3) @ _rotation(np.array(turn)).T + [10.0, -20.0, 30.0]
    before, after = one(reading, X)[0], one(reading, np.append(turned.ravel(), 40.0))[0]
    assert (abs(after - before) < 1e-9) == same
