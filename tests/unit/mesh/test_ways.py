"""The ways a tie resists make up its stiffness, at one scale."""

import numpy as np
import pytest

from fea.element.bracket import axes, stiffness
from fea.frame.body import Bracket, Tie
from fea.mesh.vehicle import LEVER, tie_stiffness, ways

ENDS = ((1400.0, 690.0, 335.0), (1400.0, 560.0, 360.0))
BRACKET = Bracket(132.0, 40.0, 6.0, 1, 10.0)


def tie(bracket: Bracket | None, given: tuple[float, float, float] | None = None) -> Tie:
    return Tie("link", "right", "rail", 0.0, ENDS[0], "body", "brace", ENDS[1], bracket, given)


@pytest.mark.parametrize(
    ("one", "count"),
    [
        (tie(BRACKET), 6),
        (tie(Bracket(132.0, 40.0, 6.0, 1, 10.0, "pinned")), 1),
        (tie(None, (1e3, 2e3, 3e12)), 3),
        (tie(None, (1e-9, 0.0, 2e-9)), 2),
        (tie(None, (0.0, 0.0, 0.0)), 0),
        (tie(None), 0),
    ],
)
def test_they_make_up_the_stiffness(one: Tie, count: int) -> None:
    K = tie_stiffness(one)
    motions, k = ways(K)
    assert motions.shape == (count, 6)
    assert np.all(k > 0.0)
    size = np.sqrt(np.diagonal(K))
    size[size == 0.0] = 1.0
    # Each entry to the stiffness of its own two freedoms.
    found = (motions.T * k) @ motions
    assert np.allclose(found / np.outer(size, size), K / np.outer(size, size), atol=1e-9)
    scaled = motions / ([1.0] * 3 + [LEVER] * 3)
    assert np.linalg.norm(scaled, axis=1) == pytest.approx(np.ones(count), rel=1e-12)


def test_a_pinned_bracket_pushes_along_itself() -> None:
    motions, k = ways(tie_stiffness(tie(Bracket(132.0, 40.0, 6.0, 1, 10.0, "pinned"))))
    along = np.subtract(ENDS[1], ENDS[0])
    along /= np.linalg.norm(along)
    assert np.abs(motions[0, :3] @ along) == pytest.approx(1.0, rel=1e-12)
    assert np.all(motions[0, 3:] == 0.0)
    assert 1.0 / k[0] == pytest.approx(132.0 / (205e3 * 240.0) + 1.0 / 5000.0, rel=1e-9)


def test_a_bracket_between_points_that_coincide_is_upright() -> None:
    assert axes(np.zeros(3))[0].tolist() == [0.0, 0.0, 1.0]
    size = (40.0, 40.0, 6.0)
    upright = stiffness(np.array([0.0, 0.0, 7.0]), size, 5000.0)
    assert np.array_equal(stiffness(np.zeros(3), size, 5000.0), upright)
