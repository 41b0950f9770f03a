"""Places a hair apart on a rail, as happens where millimetres and inches meet."""

import numpy as np
import pytest
from handmade import Cross, Ladder, Plate, Sheet, case
from ladders import build, measured

from fea.analyse import analyse

RAIL = Sheet("channel", (("depth", 150.0), ("flange", 60.0), ("wall", 4.0)))
CROSS = Sheet("channel", (("depth", 110.0), ("flange", 50.0), ("wall", 3.0)))
TUBE = Sheet("tube", (("diameter", 60.3), ("wall", 2.6)))


def ladder(gap: float) -> Ladder:
    """Return a ladder whose middle crossmember sits `gap` behind the end of a plate.

    It is joined rigidly: what the other joints do depends on whether they meet the open
    or the closed rail, and that jumps at the end of the plate.
    """
    return Ladder(
        points=((0.0, 430.0, 500.0, RAIL), (2400.0, 430.0, 500.0, RAIL)),
        crosses=(
            Cross(0.0, TUBE, "web"),
            Cross(1200.0 + gap, CROSS, "rigid"),
            Cross(2400.0, TUBE, "web", opens="front"),
        ),
        axles=(200.0, 2200.0),
        seats=((200.0,), (2200.0,)),
        plates=(Plate(600.0, 1200.0, 3.0),),
    )


GAPS = [10.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 1e-3, 1e-4, 1e-5, 1e-6, 1e-7]


@pytest.mark.parametrize("gap", GAPS)
def test_the_answer_does_not_notice_a_hair(gap: float) -> None:
    """The stiffness moves in proportion to the gap: a thousandth for 10 mm."""
    cases = [case("twist"), case("bending")]
    apart = analyse(build(ladder(gap)), cases)
    together = measured(analyse(build(ladder(0.0)), cases))
    for solution in apart.solutions:
        c = solution.checks
        assert max(c.residual, c.force_balance, c.moment_balance, c.energy_balance) < 1e-8
    np.testing.assert_allclose(measured(apart), together, rtol=1e-3 * max(gap, 1e-4))
