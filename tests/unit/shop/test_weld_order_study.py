"""Orders of welding: what they hold, what they leave, and their pauses."""

from pathlib import Path

import numpy as np
import pytest
from weldable import ladder

from fea.errors import ModelError
from fea.shop.weld_model import READ, WeldModel, _supports
from fea.shop.weld_order import (
    follow,
    greedy,
    off_rows,
    shape_of,
    study,
)
from fea.shop.weld_runs import WeldPlan, plan
from fea.shop.weld_schedule import CSV_HEADS, cool_for, csv_rows, schedule
from fea.shop.weld_sequences import (
    back_step,
    end_to_end,
    equal_and_opposite,
    one_side_first,
    spread,
)
from fea.shop.weld_shrinkage import PROCESSES
from fea.shop.weld_words import verdict
from fea.solve.system import hold, system


@pytest.fixture
def todo(tmp_path: Path) -> WeldPlan:
    return plan(ladder(tmp_path), ["plates", "middle"], run=200.0)


@pytest.fixture
def model(todo: WeldPlan) -> WeldModel:
    return WeldModel(todo)


def test_every_order_welds_every_run_once(todo: WeldPlan) -> None:
    n = len(todo.runs)
    assert n == 2 * 2 * 8 + 2 * 2  # a box of four short walls is two runs of two
    for order in (one_side_first, end_to_end, equal_and_opposite, back_step):
        assert sorted(order(todo.runs)) == list(range(n)), order.__name__
    assert sorted(spread(13)) == list(range(13))
    length = sum(r.length for r in todo.runs if r.kind == "seam")
    assert length == pytest.approx(4 * 1600.0)


def test_orders_go_as_they_are_called(todo: WeldPlan) -> None:
    runs = todo.runs
    sides = [runs[k].side for k in one_side_first(runs)]
    assert sides == sorted(sides, reverse=True)  # right, then left
    middles = [runs[k].middle[0] for k in end_to_end(runs)]
    assert np.all(np.diff(middles) >= -0.1)
    turns = [runs[k] for k in equal_and_opposite(runs) if runs[k].kind == "seam"]
    for first, second in zip(turns[::2], turns[1::2], strict=True):
        assert {first.side, second.side} == {"right", "left"}
        assert {first.edge, second.edge} == {"top", "bottom"}
    steps = [runs[k] for k in back_step(runs) if runs[k].kind == "seam"][:3]
    assert [r.middle[0] for r in steps] == sorted((r.middle[0] for r in steps), reverse=True)
    assert {(r.side, r.edge) for r in steps} == {("right", "top")}


def test_with_tacks_as_stiff_as_welds_no_order_matters(todo: WeldPlan) -> None:
    """Superposition: the structure never changes, so the sum cannot either."""
    model = WeldModel(todo, tack=1.0)
    one, other = (follow(model, o(todo.runs)) for o in (one_side_first, equal_and_opposite))
    assert np.abs(one - other).max() < 1e-9 * np.abs(one).max()


def test_the_last_run_pulls_on_the_frame_as_built(model: WeldModel) -> None:
    """After every stage but one: the same answer as the whole frame assembled and solved anew."""
    order = one_side_first(model.plan.runs)
    staged = model.start()
    done: dict[int, frozenset[int]] = {}
    for number in order:
        stretch = model.plan.runs[number].stretch
        before = done.get(stretch, frozenset())
        at, force = model.weld(staged, number, before)
        done[stretch] = before | {number}
    rhs = np.zeros(staged.n_free)
    rhs[at] = force
    held = hold(system(model.mesh), _supports(model.look), np.zeros((6, 1)))
    # The same load on all freedoms: any that the free ones see alike.
    dense = staged._motion.T.toarray()
    on_all = np.linalg.lstsq(dense, rhs, rcond=None)[0]
    u, _, _ = held.solve(on_all[:, None])
    want = u[7 * model.look.nodes.ravel()[:, None] + np.arange(3)].ravel()
    found = model.readings @ staged.answers(rhs)
    assert np.abs(found - want).max() < 1e-8 * np.abs(want).max()


def test_right_first_mirrors_left_first(model: WeldModel) -> None:
    runs = model.plan.runs
    right = one_side_first(runs)
    twin = {(r.member.replace("left", "right"), r.kind, r.edge, round(r.middle[0], 1), r.side): k
            for k, r in enumerate(runs)}  # fmt: skip
    other = {"right": "left", "left": "right"}
    left = []
    for k in right:
        r = runs[k]
        name = r.member.replace("left", "right")
        edge = r.edge
        left.append(twin[name, r.kind, edge, round(r.middle[0], 1), other[r.side]])
    one = shape_of(model.look, follow(model, right).sum(axis=0))
    two = shape_of(model.look, follow(model, left).sum(axis=0))
    assert one.off == pytest.approx(two.off, rel=1e-6)
    assert one.twist == pytest.approx(-two.twist, rel=1e-6, abs=1e-9)
    assert one.diagonals == pytest.approx(-two.diagonals, rel=1e-6, abs=1e-9)


def test_moving_the_frame_as_a_whole_is_no_distortion(model: WeldModel) -> None:
    rng = np.random.default_rng(3)
    shift, turn = rng.standard_normal(3), 1e-3 * rng.standard_normal(3)
    moved = shift + np.cross(turn, model.look.points)
    found = shape_of(model.look, moved.ravel())
    assert found.off < 1e-12
    for value in (found.vertical, found.lateral, found.twist, found.diagonals):
        assert abs(value) < 1e-10
    moved[0, READ // 2, 2] += 3.0
    assert shape_of(model.look, moved.ravel()).vertical == pytest.approx(3.0)
    assert off_rows(model.look).shape[1] == moved.size


def test_the_study(model: WeldModel) -> None:
    found = study(model, exchanges=4)
    plain = found.outcomes[:-1]
    searched = found.outcomes[-1]
    assert searched.shape.off <= min(o.shape.off for o in plain) + 1e-12
    again = study(model, exchanges=4)
    assert [o.order for o in again.outcomes] == [o.order for o in found.outcomes]
    assert np.array_equal(again.best.draws, found.best.draws)
    for o in found.outcomes:
        assert o.low < o.high
        assert o.worst >= o.shape.off - 1e-12
    assert verdict(found)[0].startswith(f"Straightest: {found.best.name}")
    soft = WeldModel(model.plan, 0.5 * model.tack)
    want = shape_of(soft.look, follow(soft, found.best.order).sum(axis=0)).off
    assert found.softer[found.best.name] == pytest.approx(want, rel=1e-12)
    assert sorted(greedy(model)) == list(range(len(model.plan.runs)))


def test_no_run_starts_beside_a_hot_one(todo: WeldPlan) -> None:
    runs, mig = todo.runs, PROCESSES["mig"]
    slow = schedule(runs, end_to_end(runs), mig, near=250.0)
    ended: list[tuple[int, float]] = []
    for step in slow.steps:
        for number, end in ended:
            if np.linalg.norm(runs[number].middle - runs[step.run].middle) < 250.0:
                assert step.start >= end + cool_for(runs[number], mig) - 1e-6
        ended.append((step.run, step.start + step.weld))
    assert slow.waited > 0.0
    quick = schedule(runs, end_to_end(runs), mig, near=0.0)
    assert quick.waited == 0.0
    assert slow.total == pytest.approx(quick.total + slow.waited)
    rows = csv_rows(runs, slow)
    assert rows[0] == CSV_HEADS
    assert {len(row) for row in rows} == {len(CSV_HEADS)}
    assert len(rows) == len(runs) + 1


def test_what_makes_no_sense_is_refused(tmp_path: Path, todo: WeldPlan) -> None:
    with pytest.raises(ModelError, match="something to weld"):
        plan(ladder(tmp_path), ["nothing"])
    with pytest.raises(ModelError, match=r"0\.01 to 1"):
        WeldModel(todo, tack=0.0)
