"""Ties that chain, ties that clash, and supports that agree or do not."""

from dataclasses import replace

import numpy as np
import pytest
import scipy.sparse as sp
from handmade import demo, simply_held, square_tube, two_rails

from fea.analyse import solve
from fea.element.beam import N_FREEDOMS
from fea.errors import ModelError, SolveError
from fea.frame.case import Hold, Place, Push
from fea.frame.model import Frame
from fea.frame.spots import places
from fea.load import loads
from fea.mesh.discretise import discretise
from fea.mesh.mesh import Mesh, Rows
from fea.solve.assemble import sparse_rows, stiffness
from fea.solve.constrain import links, supports


def tied(mesh: Mesh, ties: list[dict[int, float]], slaves: list[int]) -> Mesh:
    """Return the mesh with nothing tied but what is listed: slave k is the sum of row k."""
    row = [k for k, tie in enumerate(ties) for _ in tie]
    freedom = [f for tie in ties for f in tie]
    value = [float(v) for tie in ties for v in tie.values()]
    rows = Rows(np.array(row, int), np.array(freedom, int), np.array(value), len(ties))
    return replace(mesh, ties=rows, slaves=np.array(slaves, dtype=np.intp))


@pytest.fixture
def mesh() -> Mesh:
    tube = square_tube(50.0, 3.0)
    return discretise(two_rails(1000.0, 600.0, tube, tube, [0.0, 1000.0]))


def dense(mesh: Mesh) -> tuple[np.ndarray, np.ndarray]:
    found = links(mesh, stiffness(mesh))
    return found.matrix.toarray(), found.independent


def test_a_chain_of_ties_ends_at_the_last_master(mesh: Mesh) -> None:
    """1 = 2 x freedom 2, 2 = 3 x freedom 3 + freedom 8, 3 = -freedom 9."""
    chain = tied(mesh, [{2: 2.0}, {3: 3.0, 8: 1.0}, {9: -1.0}], [1, 2, 3])
    T, independent = dense(chain)
    u = np.zeros(len(independent))
    at = {int(f): k for k, f in enumerate(independent)}
    u[at[8]], u[at[9]] = 5.0, 7.0
    whole = T @ u
    assert whole[[3, 2, 1, 8, 9]].tolist() == [-7.0, -16.0, -32.0, 5.0, 7.0]
    assert not {1, 2, 3} & set(independent.tolist())


def test_the_order_of_the_ties_does_not_matter(mesh: Mesh) -> None:
    ties, slaves = [{2: 2.0}, {3: 3.0, 8: 1.0}, {9: -1.0}], [1, 2, 3]
    first, _ = dense(tied(mesh, ties, slaves))
    second, _ = dense(tied(mesh, ties[::-1], slaves[::-1]))
    np.testing.assert_array_equal(first, second)


@pytest.mark.parametrize("length", [2, 3, 5, 7])
def test_a_long_chain(mesh: Mesh, length: int) -> None:
    ties = [{k + 1: 0.5} for k in range(length)]
    T, independent = dense(tied(mesh, ties, list(range(length))))
    column = int(np.flatnonzero(independent == length)[0])
    assert T[0, column] == 0.5**length


def test_ties_in_a_ring_are_refused(mesh: Mesh) -> None:
    ring = tied(mesh, [{1: 1.0}, {2: 1.0}, {0: 1.0}], [0, 1, 2])
    with pytest.raises(ModelError, match="must not hold each other in a ring"):
        links(ring, stiffness(ring))


def test_a_freedom_tied_twice_is_refused_by_the_name_of_its_member(mesh: Mesh) -> None:
    node = mesh.nodes_of["X1"][1][0]
    slave = N_FREEDOMS * int(node) + 2
    twice = tied(mesh, [{0: 1.0}, {1: 1.0}], [slave, slave])
    with pytest.raises(ModelError) as error:
        links(twice, stiffness(twice))
    assert error.value.complaints[0].where == "crossmember X1, left end"
    assert "joined to one other member only" in error.value.complaints[0].rule


def test_a_member_joined_twice_at_one_end_is_refused() -> None:
    tube = square_tube(50.0, 3.0)
    frame = two_rails(1000.0, 600.0, tube, tube, [0.0, 1000.0])
    again = replace(frame.joints[0], onto="X1", distance=100.0)
    frame = replace(frame, joints=(*frame.joints, again))
    mesh = discretise(frame)
    with pytest.raises(ModelError, match="crossmember X0, left end"):
        links(mesh, stiffness(mesh))


@pytest.mark.parametrize("name", ["orchard_pickup", "harbour_tourer", "ladder_web_butt"])
def test_links_let_the_frame_move_as_one(name: str) -> None:
    """Any rigid motion of all nodes keeps all ties, exactly."""
    mesh = discretise(demo(name, fit=("x_member",) if "ladder" not in name else ()))
    T = links(mesh, stiffness(mesh))
    for k in range(6):
        shift, turn = np.zeros(3), np.zeros(3)
        (shift if k < 3 else turn)[k % 3] = 1.0
        u = np.zeros((len(mesh.points), N_FREEDOMS))
        u[:, :3] = shift + np.cross(turn, mesh.points)
        u[:, 3:6] = turn
        rebuilt = T.matrix @ u.ravel()[T.independent]
        np.testing.assert_allclose(rebuilt, u.ravel(), rtol=0.0, atol=1e-9)


def test_warping_that_nothing_resists_takes_no_part() -> None:
    frame = demo("ladder_tubes")
    mesh = discretise(frame)
    T = links(mesh, stiffness(mesh))
    closed = [N_FREEDOMS * int(n) + 6 for n in mesh.nodes_of["X2"][1]]
    rail = [N_FREEDOMS * int(n) + 6 for n in mesh.nodes_of["rail right"][1]]
    assert not set(closed) & set(T.independent.tolist())
    assert set(rail) <= set(T.independent.tolist())


# ---------------------------------------------------------------------------- supports

EASE = np.array([1.0, 4.0, 1.0, 9.0, 1.0])


def held(rows: list[list[float]], values: list[float]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    found = supports(sp.csr_array(np.array(rows)), np.array(values)[:, None], EASE)
    return found.matrix.toarray(), found.imposed[:, 0], found.free


def test_every_held_motion_is_kept() -> None:
    rows = [[1.0, 2.0, 0.0, 0.0, 0.0], [0.0, 1.0, -1.0, 0.5, 0.0]]
    T, imposed, free = held(rows, [3.0, -2.0])
    assert T.shape == (5, 3)
    np.testing.assert_allclose(np.array(rows) @ T, 0.0, atol=1e-15)
    np.testing.assert_allclose(np.array(rows) @ imposed, [3.0, -2.0])
    np.testing.assert_array_equal(T[free], np.eye(3))


def test_the_freedom_that_moves_most_for_its_stiffness_is_given_up() -> None:
    _, _, free = held([[0.0, 2.0, 1.5, 0.0, 0.0]], [0.0])
    assert free.tolist() == [0, 1, 3, 4]  # 1.5 at stiffness 1 beats 2 at stiffness 4


def test_a_row_said_twice_is_one_row() -> None:
    row = [1.0, 1.0, 0.0, 0.0, 0.0]
    once, twice = held([row], [2.0]), held([row, [2.0 * v for v in row]], [2.0, 4.0])
    for one, two in zip(once, twice, strict=True):
        np.testing.assert_allclose(one, two)


def test_rows_that_follow_from_others_are_left_out() -> None:
    rows = [[1.0, 0.0, 1.0, 0.0, 0.0], [0.0, 1.0, 1.0, 0.0, 0.0], [1.0, -1.0, 0.0, 0.0, 0.0]]
    T, imposed, free = held(rows, [1.0, 3.0, -2.0])
    assert len(free) == 3
    np.testing.assert_allclose(np.array(rows) @ imposed, [1.0, 3.0, -2.0])
    np.testing.assert_allclose(np.array(rows) @ T, 0.0, atol=1e-15)


@pytest.mark.parametrize("gap", [1e-2, 1e-4, 1e-6])
def test_rows_nearly_alike_are_still_two(gap: float) -> None:
    """Two seats a hair apart hold a movement and, at a long lever, a rotation."""
    rows = [[1.0, 0.0, 0.0, 0.0, 0.0], [1.0, 0.0, gap, 0.0, 0.0]]
    _, imposed, free = held(rows, [2.0, 2.0 + 3.0 * gap])
    assert len(free) == 3
    np.testing.assert_allclose(imposed[[0, 2]], [2.0, 3.0], rtol=1e-8)


def test_rows_that_contradict_each_other_are_refused() -> None:
    rows = [[1.0, 0.0, 1.0, 0.0, 0.0], [0.0, 1.0, 1.0, 0.0, 0.0], [1.0, -1.0, 0.0, 0.0, 0.0]]
    with pytest.raises(SolveError, match="motions that cannot both be"):
        held(rows, [1.0, 3.0, -1.0])


def test_several_sets_of_imposed_motions_at_once() -> None:
    rows = sp.csr_array(np.array([[1.0, 0.0, 1.0, 0.0, 0.0], [0.0, 0.0, 1.0, 0.0, 2.0]]))
    values = np.array([[1.0, 0.0, -2.0], [0.0, 4.0, 5.0]])
    found = supports(rows, values, EASE)
    np.testing.assert_allclose(rows @ found.imposed, values)


def ladder() -> Frame:
    tube = square_tube(50.0, 3.0)
    return two_rails(1000.0, 600.0, tube, tube, [0.0, 500.0, 1000.0])


def test_a_frame_held_twice_alike_is_held_once() -> None:
    """Mean and each at the same place: one of three rows follows from the others."""
    held_once = simply_held([Push(Place(wheelbase=0.5), (0.0, 0.0, -1000.0))])
    lift = replace(held_once.holds[0], value=2.0)
    once = replace(held_once, holds=(lift, *held_once.holds[1:]))
    mean = Hold(Place(axle="front", side="mean"), "height", 2.0)
    twice = replace(once, holds=(*once.holds, mean))
    frame = ladder()
    mesh = discretise(frame, places(frame, once))
    one, two = solve(mesh, [loads(frame, mesh, c) for c in (once, twice)])
    np.testing.assert_allclose(two.u, one.u, atol=1e-9)
    assert sparse_rows(two.loads.rows, mesh.n_freedoms).shape[0] == len(one.loads.values) + 1


def test_a_frame_held_in_two_ways_that_cannot_both_be_is_refused() -> None:
    usual = simply_held()
    mean = Hold(Place(axle="front", side="mean"), "height", 3.0)
    both = replace(usual, holds=(*usual.holds, mean))
    frame = ladder()
    mesh = discretise(frame, places(frame, both))
    with pytest.raises(SolveError, match="motions that cannot both be"):
        solve(mesh, [loads(frame, mesh, both)])
