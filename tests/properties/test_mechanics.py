"""Laws of mechanics that every frame obeys, whatever it is made of."""

from dataclasses import replace

import numpy as np
import pytest
from handmade import DEMOS, Ladder, case, demo, simply_held
from hypothesis import given, seed
from hypothesis import strategies as st
from ladders import PROPERTY, SEED, build, ladders, stiffnesses
from numpy.typing import NDArray

from fea.analyse import Solution, analyse, solve
from fea.element.beam import N_FREEDOMS
from fea.frame.case import Case, Place, Push, Spread, Weight
from fea.frame.model import Frame
from fea.frame.spots import places
from fea.load import loads
from fea.mesh.discretise import discretise
from fea.mesh.mesh import Mesh, Rows
from fea.result.energy import shares
from fea.result.stress import peaks
from fea.solve.assemble import stiffness

Array = NDArray[np.float64]
SAME = 1e-9
BALANCE = 1e-8

forces = st.integers(-2000, 2000).map(float)


@st.composite
def loaded_cases(draw: st.DrawFn) -> Case:
    """Draw pushes, couples, loads along the rails and weight on the usual supports."""
    pushes = [
        Push(
            Place(wheelbase=draw(st.sampled_from([0.0, 0.25, 0.5, 1.0])), side=side),
            (draw(forces), draw(forces), draw(forces)),
            draw(st.sampled_from([0.0, 1e6, -3e5])) if side == "each" else 0.0,
        )
        for side in draw(st.lists(st.sampled_from(["each", "right", "left", "mean"]), min_size=1))
    ]
    spread = Spread(0.0, 800.0, (draw(forces) / 100.0, draw(forces) / 100.0, -1.5))
    weight = draw(st.sampled_from([None, Weight(), Weight(-2.5)]))
    return replace(
        simply_held(pushes),
        spreads=(spread,) if draw(st.booleans()) else (),
        weight=weight,
    )


def assert_balanced(solution: Solution) -> None:
    c = solution.checks
    assert max(c.residual, c.force_balance, c.moment_balance, c.energy_balance) < BALANCE


@pytest.mark.parametrize(("name", "stock"), DEMOS)
@pytest.mark.parametrize("load", ["twist", "twist_mirror", "bending", "own_weight", "payload"])
def test_a_shipped_frame_is_in_balance(name: str, stock: bool, load: str) -> None:
    assert_balanced(analyse(demo(name, stock), [case(load)]).solutions[0])


@PROPERTY
@seed(SEED)
@given(ladders(), loaded_cases())
def test_any_frame_is_in_balance(ladder: Ladder, load: Case) -> None:
    """Loads, reactions and strain energy, from the solution alone, not from its own checks."""
    solution = analyse(build(ladder), [load]).solutions[0]
    assert_balanced(solution)
    points = solution.mesh.points
    held = transposed(solution.loads.rows, solution.reactions, solution.mesh.n_freedoms)
    each = (solution.loads.force + held).reshape(-1, N_FREEDOMS)
    size = np.abs(solution.loads.force.reshape(-1, N_FREEDOMS)[:, :3]).sum() + 1.0
    assert np.max(np.abs(each[:, :3].sum(axis=0))) < BALANCE * size
    moment = (each[:, 3:6] + np.cross(points, each[:, :3])).sum(axis=0)
    assert np.max(np.abs(moment)) < BALANCE * size * np.ptp(points[:, 0])
    work = 0.5 * float(solution.loads.force @ solution.u)
    stored = sum(s.energy for s in shares(solution))
    assert stored == pytest.approx(work, rel=BALANCE, abs=1e-12)


def transposed(rows: Rows, values: Array, n: int) -> Array:
    out = np.zeros(n)
    np.add.at(out, rows.freedom, rows.coefficient * values[rows.row])
    return out


@PROPERTY
@seed(SEED)
@given(ladders(), loaded_cases(), loaded_cases())
def test_work_of_one_load_in_the_motion_of_another(ladder: Ladder, one: Case, two: Case) -> None:
    """Maxwell and Betti: it is the same the other way round."""
    first, second = analyse(build(ladder), [one, two]).solutions
    f1, f2 = first.loads.force, second.loads.force
    size = np.sqrt((f1 @ first.u) * (f2 @ second.u))
    assert abs(f1 @ second.u - f2 @ first.u) <= SAME * size


@PROPERTY
@seed(SEED)
@given(ladders(), loaded_cases(), loaded_cases(), st.floats(-3.0, 3.0))
def test_loads_add_up(ladder: Ladder, one: Case, two: Case, factor: float) -> None:
    frame = build(ladder)
    first, second = analyse(frame, [one, two]).solutions
    sum_of_both = replace(
        first.loads,
        force=first.loads.force + factor * second.loads.force,
        element_load=first.loads.element_load + factor * second.loads.element_load,
        total=first.loads.total + factor * second.loads.total,
    )
    whole = solve(first.mesh, [sum_of_both])[0]
    for value in ("u", "reactions", "forces", "spring_force"):
        parts = getattr(first, value), factor * getattr(second, value)
        size = sum(np.max(np.abs(p), initial=0.0) for p in parts)
        assert np.max(np.abs(getattr(whole, value) - sum(parts)), initial=0.0) <= SAME * size


def rigid_motion(points: Array, shift: Array, turn: Array) -> Array:
    """Return the freedoms of all nodes when the whole moves without bending."""
    u = np.zeros((len(points), N_FREEDOMS))
    u[:, :3] = shift + np.cross(turn, points)
    u[:, 3:6] = turn
    return u.ravel()


vectors = st.tuples(*[st.integers(-9, 9).map(float)] * 3).map(np.array)


@PROPERTY
@seed(SEED)
@given(ladders(), vectors, vectors)
def test_rigid_motion_costs_nothing(ladder: Ladder, shift: Array, turn: Array) -> None:
    mesh = discretise(build(ladder))
    K = stiffness(mesh)
    u = rigid_motion(mesh.points, shift, turn / 1000.0)
    gross = abs(K) @ np.abs(u)
    assert np.all(np.abs(K @ u) <= 1e-12 * np.max(gross))
    assert abs(u @ (K @ u)) <= 1e-12 * (np.abs(u) @ gross)


@PROPERTY
@seed(SEED)
@given(ladders(), vectors, vectors)
def test_supports_that_move_as_one_carry_the_frame_along(
    ladder: Ladder, shift: Array, turn: Array
) -> None:
    frame = build(ladder)
    held = simply_held()
    mesh = discretise(frame, places(frame, held))
    moved = loads(frame, mesh, held)
    u = rigid_motion(mesh.points, shift, turn / 1000.0)
    values = np.zeros(moved.rows.n_rows)
    np.add.at(values, moved.rows.row, moved.rows.coefficient * u[moved.rows.freedom])
    solution = solve(mesh, [replace(moved, values=values)])[0]
    for part in (slice(0, 3), slice(3, 6)):
        ours, right = (w.reshape(-1, N_FREEDOMS)[:, part] for w in (solution.u, u))
        assert np.max(np.abs(ours - right)) <= SAME * max(1e-3, np.max(np.abs(right)))
    # Nothing bends: the stress is less than a millionth of a megapascal.
    assert peaks(solution)[0].von_mises < 1e-4


def turned(mesh: Mesh, rows: Rows, Q: Array) -> Rows:
    """Return rows over the freedoms of the turned mesh: ``c u = c T' u'``."""
    dense = np.zeros((rows.n_rows, mesh.n_freedoms))
    np.add.at(dense, (rows.row, rows.freedom), rows.coefficient)
    blocks = dense.reshape(rows.n_rows, len(mesh.points), N_FREEDOMS)
    out = blocks.copy()
    for start in (0, 3):
        out[:, :, start : start + 3] = blocks[:, :, start : start + 3] @ Q.T
    flat = out.reshape(rows.n_rows, mesh.n_freedoms)
    row, freedom = np.nonzero(flat)
    return Rows(row, freedom, flat[row, freedom], rows.n_rows)


def turned_vector(u: Array, Q: Array) -> Array:
    each = u.reshape(-1, N_FREEDOMS).copy()
    each[:, :3], each[:, 3:6] = each[:, :3] @ Q.T, each[:, 3:6] @ Q.T
    return each.ravel()


def turned_ties(mesh: Mesh, Q: Array) -> Rows:
    """Return the ties of the turned mesh: the three of a vector turn together."""
    rows = turned(mesh, mesh.ties, Q)
    dense = np.zeros((rows.n_rows, mesh.n_freedoms))
    dense[rows.row, rows.freedom] = rows.coefficient
    number = {int(s): k for k, s in enumerate(mesh.slaves)}
    for slave, k in number.items():
        node, c = divmod(slave, N_FREEDOMS)
        if c in (0, 3):
            three = [number[N_FREEDOMS * node + c + i] for i in range(3)]
            assert three[0] == k
            dense[three] = Q @ dense[three]
    row, freedom = np.nonzero(dense)
    return Rows(row, freedom, dense[row, freedom], rows.n_rows)


quaternions = st.tuples(*[st.integers(-9, 9)] * 4).filter(any).map(np.array)


def rotation(q: Array) -> Array:
    w, x, y, z = q / np.linalg.norm(q)
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
            [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
            [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
        ]
    )


@PROPERTY
@seed(SEED)
@given(ladders(), loaded_cases(), quaternions)
def test_turned_in_space(ladder: Ladder, load: Case, q: Array) -> None:
    Q = rotation(q)
    np.testing.assert_allclose(Q @ Q.T, np.eye(3), atol=1e-15)
    assert np.linalg.det(Q) == pytest.approx(1.0)
    one = analyse(build(ladder), [load]).solutions[0]
    mesh = one.mesh
    away = replace(
        mesh,
        points=mesh.points @ Q.T,
        beams=replace(mesh.beams, axes=mesh.beams.axes @ Q.T, arms=mesh.beams.arms @ Q.T),
        ties=turned_ties(mesh, Q),
        springs=replace(mesh.springs, rows=turned(mesh, mesh.springs.rows, Q)),
    )
    total = np.concatenate([Q @ one.loads.total[:3], Q @ one.loads.total[3:]])
    there = replace(
        one.loads,
        rows=turned(mesh, one.loads.rows, Q),
        force=turned_vector(one.loads.force, Q),
        total=total,
    )
    other = solve(away, [there])[0]
    if one.loads.force @ one.u < 1e-12 * np.abs(one.loads.force).sum():
        return  # pushed at its supports alone nothing bends: round-off, another in each turn
    right = turned_vector(one.u, Q)
    for part in (slice(0, 3), slice(3, 6), slice(6, 7)):
        ours, wanted = (w.reshape(-1, N_FREEDOMS)[:, part] for w in (other.u, right))
        assert np.max(np.abs(ours - wanted)) <= SAME * np.max(np.abs(wanted))
    stored = [sum(s.energy for s in shares(s)) for s in (one, other)]
    assert stored[1] == pytest.approx(stored[0], rel=SAME)
    np.testing.assert_allclose(
        other.reactions, one.reactions, rtol=0.0, atol=SAME * np.max(np.abs(one.reactions))
    )


def thickened(frame: Frame, factor: float) -> Frame:
    """Return a frame with all walls thicker about the same middle lines."""

    def thick(section: object) -> object:
        line = section.midline  # type: ignore[attr-defined]
        return replace(section, midline=replace(line, thickness=line.thickness * factor))

    members = tuple(
        replace(m, runs=tuple(replace(r, section=thick(r.section)) for r in m.runs))
        for m in frame.members
    )
    return replace(frame, members=members)


@pytest.mark.parametrize(("name", "stock"), DEMOS)
def test_thicker_sheet_never_makes_a_shipped_frame_softer(name: str, stock: bool) -> None:
    frame = demo(name, stock)
    values = [stiffnesses(thickened(frame, factor)) for factor in (1.0, 1.02, 1.3, 2.0)]
    assert np.all(np.diff(values, axis=0) > 0.0)


@PROPERTY
@seed(SEED)
@given(ladders(), st.floats(1.01, 2.0))
def test_thicker_sheet_never_makes_a_frame_softer(ladder: Ladder, factor: float) -> None:
    frame = build(ladder)
    assert np.all(stiffnesses(thickened(frame, factor)) > stiffnesses(frame))


@PROPERTY
@seed(SEED)
@given(ladders(), st.floats(1.01, 1.5))
def test_thicker_walls_in_the_document_never_make_a_frame_softer(
    ladder: Ladder, factor: float
) -> None:
    """The outsides stay as they are, the walls grow inward."""
    thick = replace(
        ladder,
        points=tuple((x, y, z, s.grown(factor)) for x, y, z, s in ladder.points),
        crosses=tuple(replace(c, section=c.section.grown(factor)) for c in ladder.crosses),
        plates=tuple(replace(p, thickness=p.thickness * factor) for p in ladder.plates),
    )
    assert np.all(stiffnesses(build(thick)) > stiffnesses(build(ladder)))


@PROPERTY
@seed(SEED)
@given(ladders())
def test_a_web_strip_never_makes_a_frame_softer(ladder: Ladder) -> None:
    """The soft bound of the joint rule is the rule without its springs."""
    frame = build(ladder)
    soft, rule = (stiffnesses(frame, joint_bound=bound) for bound in ("soft", "rule"))
    assert np.all(soft <= rule * (1.0 + SAME))


def test_the_joint_rule_lies_between_its_bounds() -> None:
    """In twist, where warping counts; the ladder whose crossmembers are butted to the webs."""
    bounds = ("soft", "rule", "stiff")
    frame = demo("ladder_web_butt")
    soft, rule, stiff = (stiffnesses(frame, joint_bound=bound)[0] for bound in bounds)
    assert soft < 0.9 * rule
    assert rule < 0.9 * stiff
