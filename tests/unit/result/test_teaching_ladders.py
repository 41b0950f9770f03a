"""The teaching ladders beside thin-shell models of the same sheet metal.

Source: own thin-shell study (four-node shells, mesh-converged).  Twist stiffness between
the rails' ends, N m/deg; bending stiffness held at 200 and 2200 mm and pushed at 1200 mm,
N/mm.
"""

import pytest
from handmade import case, demo

from fea.analyse import analyse
from fea.result.answer import NM_PER_DEG, answers

SHELLS = {
    "ladder_flange_welded": (31.2, 3572.0),
    "ladder_web_butt": (11.43, 3549.0),
    "ladder_flange_welded_boxed": (1402.0, None),
    "ladder_tubes": (574.0, 3490.0),
}


@pytest.mark.parametrize("name", SHELLS)
def test_twist_within_a_tenth_of_the_shells(name: str) -> None:
    answer = answers(analyse(demo(name), [case("twist")]))[0]
    assert answer.twist_stiffness is not None
    assert answer.twist_stiffness * NM_PER_DEG == pytest.approx(SHELLS[name][0], rel=0.10)


@pytest.mark.parametrize("name", [name for name, (_, bending) in SHELLS.items() if bending])
def test_bending_within_3_percent_of_the_shells(name: str) -> None:
    answer = answers(analyse(demo(name), [case("ladder_bending")]))[0]
    assert answer.bending_stiffness == pytest.approx(SHELLS[name][1], rel=0.03)


def test_the_order_of_the_ladders() -> None:
    """Welding the flanges is worth 2 to 4 times; closing either pair of members far more."""
    K = {name: answers(analyse(demo(name), [case("twist")]))[0].twist_stiffness for name in SHELLS}
    assert 2.0 < K["ladder_flange_welded"] / K["ladder_web_butt"] < 4.0
    assert K["ladder_tubes"] > 10.0 * K["ladder_flange_welded"]
    assert K["ladder_flange_welded_boxed"] > 2.0 * K["ladder_tubes"]
    open_rails = demo("ladder_flange_welded_boxed", stock=True)
    stock = answers(analyse(open_rails, [case("twist")]))[0].twist_stiffness
    assert stock == pytest.approx(K["ladder_flange_welded"], rel=1e-9)
