"""Stress at one point: as the whole frame's stresses have it, and its derivative."""

from dataclasses import replace

import numpy as np
import pytest
from handmade import SMALL_TUBE, section, simply_held, two_rails

from fea.analyse import Solution, analyse
from fea.frame.case import Place, Push, Spread
from fea.result.point_stress import (
    StressPoint,
    Surface,
    governing,
    von_mises,
    von_mises_gradient,
)
from fea.result.stress import stresses
from fea.section import shapes
from fea.solve.operator import Operator, operator

Solved = tuple[Solution, Operator]
POINTS = [
    StressPoint(element, fraction, point)
    for element, fraction, point in (
        (0, 0.0, 1), (1, 0.375, 3), (2, 1.0, 4), (4, 0.5, 1), (6, 1.0, 2)
    )
]  # fmt: skip


@pytest.fixture(scope="module")
def solved() -> Solved:
    """Return two open rails and tubes between them, twisted, with a load spread along them."""
    rail = section(shapes.channel(depth=120.0, flange=50.0, wall=3.0), is_open=True)
    frame = two_rails(2000.0, 800.0, rail, SMALL_TUBE, (0.0, 900.0, 2000.0))
    case = simply_held([Push(Place(station=900.0, side="right"), (300.0, 200.0, 5e3))])
    case = replace(case, spreads=(Spread(0.0, 900.0, (0.0, 1.0, -2.0)),))
    (solution,) = analyse(frame, [case]).solutions
    return solution, operator(solution.mesh)


@pytest.mark.parametrize("at", POINTS)
def test_it_is_the_stress_of_the_whole(at: StressPoint, solved: Solved) -> None:
    solution, structure = solved
    mesh, load = solution.mesh, solution.loads.element_load
    on = governing(mesh, structure, solution.u, load, at)
    found = von_mises(mesh, structure, solution.u, load, at, on)
    number = mesh.elements.section[at.element]
    group = next(g for g in stresses(solution) if g.section == number)
    row = int(np.flatnonzero(group.elements == at.element)[0])
    assert found == pytest.approx(group.von_mises[row, int(8 * at.fraction), at.point], rel=1e-12)
    assert found > 0.1
    other = Surface(-on.flow, on.torsion)
    assert von_mises(mesh, structure, solution.u, load, at, other) <= found * (1 + 1e-14)


@pytest.mark.parametrize("at", POINTS)
def test_its_derivative_is_that_of_differences(at: StressPoint, solved: Solved) -> None:
    """Along a random motion, from far enough that no digit is lost: the step's error is h^2."""
    solution, structure = solved
    mesh, load, u = solution.mesh, solution.loads.element_load, solution.u
    on = governing(mesh, structure, u, load, at)
    gradient = von_mises_gradient(mesh, structure, u, load, at, on)
    way = u * np.random.default_rng(41).uniform(0.5, 1.5, len(u))

    def stress(h: float) -> float:
        return von_mises(mesh, structure, u + h * way, load, at, on)

    told = float(gradient @ way)
    errors = [abs((stress(h) - stress(-h)) / (2.0 * h) - told) for h in (1e-3, 1e-4, 1e-5)]
    assert min(errors) < 1e-7 * abs(told)
