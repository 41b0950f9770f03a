"""The study of ties: sides, linked ends, best sets, what is refused."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from vehicles import CASES, MIRRORED, VEHICLES, full, glued, mesh_of, prepared, vehicle

from fea.errors import ModelError
from fea.frame.body import Tie
from fea.frame.model import Frame
from fea.frame.mounts import with_grade
from fea.frame.ties import candidates
from fea.study.bracket_load import tie_load
from fea.study.tie_sets import best_sets
from fea.study.ties import FACTORS, measured, meshed, prepare, solved, study

EACH = pytest.mark.parametrize(("name", "body"), VEHICLES)


@EACH
def test_right_and_left_bear_the_same_in_twist_and_opposite(name: str, body: str) -> None:
    for grade in solved(prepared(name, body), ["as fitted", "solid"]).grades:
        for candidate, outcome in zip(prepared(name, body).candidates, grade.outcomes, strict=True):
            right, left = outcome.load
            size = np.abs(outcome.load[:, :3]).max()
            assert size > 1.0
            assert left[:3] == pytest.approx((MIRRORED * right)[:3], abs=1e-8 * size)
            assert left[3:] == pytest.approx((MIRRORED * right)[3:], abs=1e-6 * size)
            uses = [
                tie_load(t, load).use
                for t, load in zip(candidate.ties, outcome.load, strict=True)
                if t.bracket is not None
            ]
            assert uses[0] == pytest.approx(uses[1], rel=1e-6)


@EACH
def test_a_tie_of_the_bracket_s_own_stiffness_is_in_the_middle_of_the_table(
    name: str, body: str
) -> None:
    for grade in solved(prepared(name, body), ["urethane"]).grades:
        for outcome in grade.outcomes:
            assert outcome.by_stiffness[FACTORS.index(1.0)] == pytest.approx(
                outcome.twist_gain, rel=1e-9
            )
            assert np.all(np.diff(outcome.by_stiffness) > -1e-12)
            assert not outcome.linked


# ------------------------------------------------------------------------- linked ends


def at_a_mount(frame: Frame, stiffness: float) -> tuple[Tie, tuple[str, str]]:
    """Return a tie from the point of a mount on the frame to the body's point above it."""
    mount = frame.mounts[2]
    key = (mount.name, mount.side)
    body = next(b for b in frame.bodies if key in b.points)
    tie = Tie("idle", mount.side, mount.onto, mount.distance, mount.position, body.name,
              body.beams[0].name, body.points[key], None, (stiffness,) * 3)  # fmt: skip
    return tie, key


@pytest.mark.parametrize("stiffness", [1e-6, 1e3, 1e12])
@pytest.mark.parametrize("name", ["harbour_tourer", "orchard_pickup"])
def test_a_tie_between_points_that_are_welded_does_nothing(name: str, stiffness: float) -> None:
    frame = vehicle(name, "open")
    tie, key = at_a_mount(frame, stiffness)
    whole, mesh = meshed(frame, [*candidates(frame), tie], CASES, sheet_joints=False)
    mount = next(m for m in frame.mounts if (m.name, m.side) == key)
    node = next(at.node_of["mount", *key] for at in mesh.bodies if ("mount", *key) in at.node_of)
    joined = glued(mesh, [(node, mesh.node_at(mount.onto, mount.distance))])
    for one, linked in ((mesh, False), (joined, True)):
        found = solved(prepare(whole, one, CASES), ["as fitted", "urethane"])
        for grade in found.grades:
            *others, idle = grade.outcomes
            assert idle.linked == linked
            # However stiff or soft a tie is, that is no matter of the others.
            assert not any(o.linked for o in others)
            assert np.all(np.isfinite(idle.load))
            assert np.all(np.isfinite(idle.by_stiffness))
            if linked:
                assert abs(idle.twist_gain) < 1e-12
                assert idle.force == 0.0
            elif stiffness == 1e3:
                assert idle.twist_gain > 1e-6
                assert idle.force > 1.0


def test_an_infinite_tie_between_welded_points_is_no_division_by_nothing() -> None:
    frame = vehicle("orchard_pickup", "open")
    tie, key = at_a_mount(frame, 1.0)
    whole, mesh = meshed(frame, [tie], CASES, sheet_joints=False)
    mount = next(m for m in frame.mounts if (m.name, m.side) == key)
    node = next(at.node_of["mount", *key] for at in mesh.bodies if ("mount", *key) in at.node_of)
    joined = glued(mesh, [(node, mesh.node_at(mount.onto, mount.distance))])
    seen = prepare(whole, joined, CASES).flexible[0]
    rows = prepare(whole, joined, CASES).candidates[0].rows
    read, force = seen.read_with(rows, np.full(len(rows), np.inf))
    assert np.array_equal(read, seen.c)
    assert np.all(force == 0.0)
    assert not seen.linked(rows[:0])


@pytest.mark.parametrize(("name", "body"), VEHICLES)
def test_rigid_mounts_link_a_tie_at_their_own_point(name: str, body: str) -> None:
    """The same by update: the mount there made rigid, once endless and once 1e12 N/mm."""
    frame = vehicle(name, body)
    tie, key = at_a_mount(frame, 1e3)
    whole, mesh = meshed(frame, [*candidates(frame), tie], CASES, sheet_joints=False)
    found = prepare(whole, mesh, CASES)
    number = [(m.name, m.side) for m in found.mounts].index(key)
    rows, idle = found.mount_rows[number], found.candidates[-1]
    for k in (np.full(6, np.inf), np.array([1e12] * 3 + [1e12 * 300.0**2] * 3)):
        rigid = found.flexible[0].with_springs(rows, k)
        assert rigid.linked(idle.rows)
        assert not any(rigid.linked(c.rows) for c in found.candidates[:-1])
        read, force = rigid.read_with(idle.rows, idle.stiffness)
        assert read == pytest.approx(rigid.c, rel=1e-9, abs=1e-12 * np.abs(rigid.c).max())
        assert np.all(np.isfinite(force))


@pytest.mark.parametrize("stiffness", [None, (0.0, 0.0, 0.0)])
def test_a_tie_without_length_or_stiffness(stiffness: tuple[float, float, float] | None) -> None:
    """Across a rail's line a tie stands upright; one that holds nothing is not linked."""
    frame = vehicle("orchard_pickup", "open")
    one = candidates(frame)[0]
    short = replace(one, frame_point=one.body_point)
    if stiffness is not None:
        short = replace(short, bracket=None, stiffness=stiffness)
    (grade,) = study(frame, [short], ["as fitted"], CASES).grades
    (outcome,) = grade.outcomes
    assert not outcome.linked
    assert outcome.load.shape == (1, 6)
    assert (outcome.twist_gain > 1e-6) == (stiffness is None)
    assert (outcome.force > 1.0) == (stiffness is None)


# --------------------------------------------------------------------------- best sets


def test_the_best_sets_are_those_of_trying_all_in_full() -> None:
    """Four candidates, one grade: fourteen sets, each solved afresh."""
    vehicle = prepared("orchard_pickup", "closed")
    found = solved(replace(vehicle, candidates=vehicle.candidates[:4]), ["urethane"])
    grade = found.grades[0]
    frame = with_grade(found.frame, "urethane")
    gains: dict[int, dict[tuple[str, ...], float]] = {}
    for size in (1, 2, 3):
        for chosen in combinations(found.candidates, size):
            names = tuple(c.name for c in chosen)
            ties = tuple(replace(t, fitted=t.fitted or t.pair in names) for t in frame.ties)
            fresh = replace(frame, ties=ties)
            twist = measured(found, 0, full(fresh, mesh_of(fresh))[0])
            gains.setdefault(size, {})[names] = twist / grade.bare.twist - 1.0
    sets = best_sets(found, grade, 3)
    assert [len(s.names) for s in sets] == [1, 2, 3]
    for best in sets:
        every = gains[len(best.names)]
        assert best.exact
        assert best.tried == len(every)
        assert set(best.names) == set(max(every, key=every.__getitem__))
        assert best.gain == pytest.approx(max(every.values()), rel=1e-7)


def test_too_many_sets_are_built_up_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    found = solved(prepared("harbour_tourer", "open"), ["as fitted"])
    every = best_sets(found, found.grades[0], 3)
    monkeypatch.setattr("fea.study.tie_sets.MOST_SETS", 10)
    some = best_sets(found, found.grades[0], 3)
    assert [s.exact for s in every] == [True] * 3
    assert [s.exact for s in some] == [True, False, False]
    for greedy, best in zip(some, every, strict=True):
        assert greedy.gain <= best.gain
    assert set(some[0].names) < set(some[1].names) < set(some[2].names)


# ----------------------------------------------------------------------------- refused


def test_refused() -> None:
    frame = vehicle("orchard_pickup", "open")
    with pytest.raises(ModelError, match="needs a body"):
        study(replace(frame, bodies=()), candidates(frame), ["as fitted"], CASES)
    with pytest.raises(ModelError, match="no place for a tie"):
        study(frame, [], ["as fitted"], CASES)
    with pytest.raises(ModelError, match='no grade of mount "jelly"'):
        study(frame, candidates(frame), ["jelly"], CASES)
