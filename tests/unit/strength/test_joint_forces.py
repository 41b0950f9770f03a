"""What joints pass on: balance of every joint, hand statics, beams beside sheet metal."""

from dataclasses import replace

import numpy as np
import pytest
from handmade import SMALL_TUBE, case, demo, two_rails

from fea.analyse import Solution, analyse
from fea.element import beam
from fea.frame.case import Case, Hold, Place, Push
from fea.frame.model import Frame, Joint
from fea.result.forces import end_forces
from fea.strength.joint_forces import JointForce, joint_forces, moved

WEIGHTS = np.array([1.0, 1.0, 1.0, 1e-3, 1e-3, 1e-3])
"""N and N m weigh alike."""


def left_over(frame: Frame, solution: Solution) -> tuple[float, float]:
    """Return the worst imbalance of the joints' places on the rails, and the size of forces.

    At the node of a rail where joints land: what the rail's elements do to it, loads and
    supports there, and what the joints pass on.
    """
    mesh, beams = solution.mesh, solution.mesh.beams
    ends = np.einsum("nij,ni->nj", beam.geometry(beams), end_forces(solution)).reshape(-1, 2, 7)
    spread = beam.end_loads(beams, solution.loads.element_load)
    spread = np.einsum("nij,ni->nj", beam.geometry(beams), spread).reshape(-1, 2, 7)
    n = mesh.n_freedoms
    on = solution.loads.force + solution.loads.rows.transposed(solution.reactions, n)
    landing: dict[int, list[JointForce]] = {}
    for found in joint_forces(frame, solution):
        node = mesh.node_at(found.joint.onto, found.joint.distance)
        landing.setdefault(node, []).append(found)
    worst, size = 0.0, 0.0
    for node, here in landing.items():
        total = on.reshape(-1, 7)[node, :6].copy()
        for e, end in zip(*np.nonzero(mesh.elements.nodes == node), strict=True):
            total -= ends[e, end, :6] + spread[e, end, :6]
            size = max(size, float(np.abs(ends[e, end, :6] * WEIGHTS).max()))
        for found in here:
            total += moved(found.force, found.point, mesh.points[node])
        worst = max(worst, float(np.abs(total * WEIGHTS).max()))
    return worst, size


@pytest.mark.parametrize("name", ["orchard_pickup", "harbour_tourer"])
@pytest.mark.parametrize("stock", [False, True])
def test_every_joint_of_the_demos_is_in_balance(name: str, stock: bool) -> None:
    frame = demo(name, stock)
    cases = [case(c) for c in ("twist", "bending", "own_weight", "payload")]
    for solution in analyse(frame, cases).solutions:
        worst, size = left_over(frame, solution)
        assert size > 10.0
        assert worst < 1e-9 * size, solution.loads.name


def determinate(kind: str = "web") -> tuple[Frame, Case]:
    """Return a rail held at both ends, a crossmember from it, a rail that hangs on that."""
    frame = two_rails(1000.0, 700.0, SMALL_TUBE, SMALL_TUBE, (400.0,))
    joints = tuple(replace(j, kind=kind) for j in frame.joints)
    holds = tuple(Hold(Place(station=x, side="right"), "clamped") for x in (0.0, 1000.0))
    push = Push(Place(station=650.0, side="left"), (30.0, 40.0, -500.0))
    return replace(frame, joints=joints), Case("hung", "Hung", "", "none", holds, (push,))


@pytest.mark.parametrize("sheet", [False, True])
def test_a_hanging_rail_passes_on_its_load_by_statics(sheet: bool) -> None:
    frame, hung = determinate()
    (solution,) = analyse(frame, [hung], sheet_joints=sheet).solutions
    near, far = joint_forces(frame, solution)
    place, load = np.array([650.0, -350.0, 0.0]), np.array([30.0, 40.0, -500.0])
    want = moved(np.concatenate([load, np.zeros(3)]), place, far.point)
    # Of metal cut through, single precision is kept.
    close = 1e-3 if "section" in far.taken else 1e-6
    assert far.force * WEIGHTS == pytest.approx(want * WEIGHTS, rel=close, abs=close * 500.0)
    want = -moved(np.concatenate([load, np.zeros(3)]), place, near.point)
    assert near.force * WEIGHTS == pytest.approx(want * WEIGHTS, rel=close, abs=close * 500.0)
    assert far.pull == pytest.approx(-40.0, abs=close * 500.0)
    assert ("sheet metal" in far.taken) is sheet
    assert not far.between


def test_a_member_of_metal_all_along_is_cut_half_way() -> None:
    frame = two_rails(
        1000.0, 300.0, SMALL_TUBE, SMALL_TUBE, (400.0,), Joint("", "start", "", 0, "web")
    )
    _, hung = determinate()
    (solution,) = analyse(frame, [hung], sheet_joints=True).solutions
    far = joint_forces(frame, solution)[1]
    assert far.taken == "section through the sheet metal"
    want = moved(np.array([30.0, 40.0, -500.0, 0, 0, 0]), np.array([650.0, -150.0, 0.0]), far.point)
    assert far.force * WEIGHTS == pytest.approx(want * WEIGHTS, rel=1e-3, abs=0.5)


def test_what_acts_at_the_very_end_is_passed_on() -> None:
    frame, _ = determinate("rigid")
    weighed = Case(
        "weighed", "Weighed", "", "none",
        tuple(Hold(Place(station=x, side="right"), "clamped") for x in (0.0, 1000.0)),
        weight=case("own_weight").weight,
    )  # fmt: skip
    (solution,) = analyse(frame, [weighed]).solutions
    far = joint_forces(frame, solution)[1]
    hanging = [m for m in frame.members if m.name != "rail right"]
    area = 4.0 * 60.0 * 3.0
    mass = sum(7.85e-9 * area * float(np.ptp(m.path, axis=0).sum()) for m in hanging)
    assert far.force[2] == pytest.approx(-9806.65 * mass, rel=1e-9)


def test_moving_a_force_there_and_back_changes_nothing() -> None:
    rng = np.random.default_rng(77)
    force, a, b = rng.normal(size=6), rng.normal(size=3), rng.normal(size=3)
    assert moved(moved(force, a, b), b, a) == pytest.approx(force, abs=1e-14)
