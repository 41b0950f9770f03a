"""A body on a frame between its limits, and the laws that hold in between."""

from dataclasses import replace

import numpy as np
import pytest
from handmade import demo
from hypothesis import given, seed
from hypothesis import strategies as st
from ladders import PROPERTY, SEED, measured
from vehicles import (
    CASES,
    VEHICLES,
    called,
    figures,
    full,
    gap,
    glued,
    mesh_of,
    prepared,
    updated,
    vehicle,
    welded,
)

from fea.analyse import analyse
from fea.element.beam import N_FREEDOMS
from fea.frame.body import Body
from fea.frame.model import Frame, Mount
from fea.frame.mounts import GRADES, graded
from fea.mesh.body import Label
from fea.mesh.vehicle import mount_stiffness
from fea.result.energy import shares
from fea.solve.body import between, body_stiffness
from fea.solve.system import system

SAME = 1e-9
EACH = pytest.mark.parametrize(("name", "body"), VEHICLES)


def on_mounts(frame: Frame, give: dict[tuple[str, str], tuple[float, ...]]) -> Frame:
    """Return a frame whose mounts have the stiffness given, nothing else."""
    none = (0.0, 0.0, 0.0)
    mounts = [
        replace(m, stiffness=give.get((m.name, m.side), none), turn=none, bracket=np.inf)
        for m in frame.mounts
    ]
    return replace(frame, mounts=tuple(mounts))


def scaled(frame: Frame, factor: float) -> Frame:
    """Return a frame with all mounts so many times as stiff."""
    give = {(m.name, m.side): tuple(factor * k for k in m.stiffness) for m in frame.mounts}
    return on_mounts(frame, give)


# ------------------------------------------------------------------------- soft mounts


@EACH
def test_bodies_that_are_just_held_leave_the_frame_as_it_is(name: str, body: str) -> None:
    """Six springs keep a body from moving and cannot strain it: that is the frame alone."""
    frame = vehicle(name, body)
    give = {}
    for one in frame.bodies:
        names = list(dict.fromkeys(mount for mount, _ in one.points))
        give[names[0], "right"] = (200.0, 200.0, 500.0)
        give[names[0], "left"] = (200.0, 0.0, 500.0)
        give[names[-1], "right"] = (0.0, 0.0, 500.0)
    found = measured(analyse(on_mounts(frame, give), CASES))
    alone = measured(analyse(demo(name), CASES))
    assert found == pytest.approx(alone, rel=SAME)


@EACH
def test_mounts_softer_and_softer_end_at_the_frame_alone(name: str, body: str) -> None:
    """What is left of the body goes with the stiffness of its mounts, in the first power."""
    alone = measured(analyse(demo(name), CASES))
    left = [
        measured(analyse(scaled(vehicle(name, body), k), CASES)) / alone - 1.0 for k in (1e-5, 1e-7)
    ]
    assert np.all(left[0] > 0.0)
    # The second power is still there at 1e-5; round-off at 1e-7, where 1e-10 is left.
    assert left[1] == pytest.approx(0.01 * left[0], rel=1e-3, abs=1e-12)
    assert np.all(left[1] < 1e-6)


# ----------------------------------------------------------------------- rigid mounts


@EACH
def test_rigid_mounts_weld_body_and_frame_together(name: str, body: str) -> None:
    """Against rigid links, which the mesh eliminates without any stiffness."""
    study = prepared(name, body)
    want = full(study.frame, welded(study.frame, study.mesh))
    rows = study.mount_rows.ravel()
    found = updated(study, rows, np.full(len(rows), np.inf))
    for mine, theirs in zip(found, want, strict=True):
        assert gap(mine, theirs) < SAME
    assert figures(study, found) == pytest.approx(figures(study, want), rel=SAME)
    stiff = np.tile([1e12] * 3 + [1e12 * 300.0**2] * 3, len(study.mounts))
    at_1e12 = figures(study, updated(study, rows, stiff)) / figures(study, want) - 1.0
    assert np.all(np.abs(at_1e12) < 1e-6)


@EACH
def test_stiffer_and_stiffer_mounts_end_at_the_weld(name: str, body: str) -> None:
    """What is missing goes with one over the stiffness; each vehicle solved in full."""
    study = prepared(name, body)
    weld = figures(study, full(study.frame, welded(study.frame, study.mesh)))
    missing = []
    for k in (1e8, 1e9):
        turn = (k * 300.0**2,) * 3
        mounts = [
            replace(m, stiffness=(k,) * 3, turn=turn, bracket=np.inf) for m in study.frame.mounts
        ]
        stiff = replace(study.frame, mounts=tuple(mounts))
        missing.append(1.0 - figures(study, full(stiff, mesh_of(stiff))) / weld)
    assert np.all(missing[0] > 0.0)
    assert missing[1] == pytest.approx(0.1 * missing[0], rel=0.02)
    assert np.all(missing[1] < 1e-3)


@EACH
def test_mounts_between_the_limits_are_between_them(name: str, body: str) -> None:
    """More stiffness anywhere never makes the whole softer."""
    study = prepared(name, body)
    rows = study.mount_rows.ravel()
    steps = [
        figures(study, updated(study, rows, np.full(len(rows), k)))
        for k in (0.0, 1e2, 1e4, 1e6, np.inf)
    ]
    assert np.all(np.diff(steps, axis=0) > 0.0)


# ------------------------------------------------------------------------------- ties


@EACH
def test_ties_of_no_stiffness_change_nothing(name: str, body: str) -> None:
    study = prepared(name, body)
    base = [seen.base[:, 0] for seen in study.seen]
    for candidate in study.candidates:
        for factor in (0.0, 1e-18):
            found = updated(study, candidate.rows, factor * candidate.stiffness)
            for mine, theirs in zip(found, base, strict=True):
                assert gap(mine, theirs) < 1e-12


@EACH
def test_an_infinite_tie_is_a_weld(name: str, body: str) -> None:
    study = prepared(name, body)
    node_of = {k: n for at in study.mesh.bodies for k, n in at.node_of.items()}
    clamped = [c for c in study.candidates if all(t.bracket is not None for t in c.ties)]
    assert clamped
    for candidate in clamped[:2]:
        pairs = [
            (node_of["tie", t.pair, t.side], study.mesh.node_at(t.onto, t.distance))
            for t in candidate.ties
        ]
        want = full(study.frame, glued(study.mesh, pairs))
        endless = updated(study, candidate.rows, np.full(len(candidate.rows), np.inf))
        for mine, theirs in zip(endless, want, strict=True):
            assert gap(mine, theirs) < SAME
        gains = [
            figures(study, updated(study, candidate.rows, f * candidate.stiffness))
            for f in (0.0, 0.1, 1.0, 10.0, 1e6)
        ]
        assert np.all(np.diff(gains, axis=0) > -1e-12 * gains[0])
        assert np.all(figures(study, want) >= gains[-1] * (1.0 - SAME))


@st.composite
def changes(draw: st.DrawFn) -> tuple[list[int], list[str | None], int]:
    """Draw which candidates are fitted, and a grade for every mount, None for as it is."""
    chosen = draw(st.lists(st.integers(0, 4), max_size=4, unique=True))
    grades = draw(st.lists(st.sampled_from([None, *GRADES]), min_size=12, max_size=12))  # at most
    return chosen, grades, draw(st.integers(0, len(VEHICLES) - 1))


@PROPERTY
@seed(SEED)
@given(changes())
def test_a_low_rank_update_is_a_full_solve(
    change: tuple[list[int], list[str | None], int],
) -> None:
    chosen, grades, number = change
    study = prepared(*VEHICLES[number])
    some = [study.candidates[n] for n in chosen]
    new = {
        (m.name, m.side): m if grade is None else graded(m, grade)
        for m, grade in zip(study.mounts, grades, strict=False)
    }
    mounts: tuple[Mount, ...] = tuple(new.get((m.name, m.side), m) for m in study.frame.mounts)
    extra = np.array(
        [mount_stiffness(new[m.name, m.side]) - mount_stiffness(m) for m in study.mounts]
    )
    found = updated(study, *study.springs(extra, some))
    fitted = {(t.pair, t.side) for c in some for t in c.ties}
    ties = tuple(
        replace(t, fitted=t.fitted or (t.pair, t.side) in fitted) for t in study.frame.ties
    )
    fresh = replace(study.frame, mounts=mounts, ties=ties)
    want = full(fresh, mesh_of(fresh))
    for mine, theirs in zip(found, want, strict=True):
        assert gap(mine, theirs) < SAME
    assert figures(study, found) == pytest.approx(figures(study, want), rel=SAME)


# ------------------------------------------------------------------------------- laws


@EACH
@pytest.mark.parametrize("k", range(3))
def test_maxwell_and_betti_between_body_and_frame(name: str, body: str, k: int) -> None:
    """What one force does where another acts, that does where the first acts."""
    study = prepared(name, body)
    rng = np.random.default_rng(SEED + 2 * k)
    nodes = np.concatenate([at.nodes for at in study.mesh.bodies])
    rail = study.mesh.nodes_of["rail right"][1]
    force = np.zeros((study.mesh.n_freedoms, 2))
    size = np.array([1e3] * 3 + [1e5] * 3)
    for column, node in enumerate((rng.choice(nodes), rng.choice(rail))):
        force[N_FREEDOMS * node + np.arange(6), column] = size * rng.normal(size=6)
    u, _, _ = study.seen[0].held.solve(force)
    work = force.T @ u
    assert abs(work[0, 1]) > 1e-6 * np.sqrt(work[0, 0] * work[1, 1])
    assert abs(work[0, 1] - work[1, 0]) < SAME * np.sqrt(work[0, 0] * work[1, 1])


@EACH
def test_work_and_energy(name: str, body: str) -> None:
    """Members, joints, mounts, ties and bodies hold all the work of the loads."""
    frame = vehicle(name, body)
    study = prepared(name, body)
    first = study.candidates[0].ties
    tied = replace(frame, ties=tuple(replace(t, fitted=True) for t in first))
    for solution in analyse(tied, CASES).solutions:
        found = {s.name: s for s in shares(solution)}
        work = 0.5 * float(solution.loads.force @ solution.u)
        assert sum(s.energy for s in found.values()) == pytest.approx(work, rel=SAME)
        assert sum(s.share for s in found.values()) == pytest.approx(1.0, rel=1e-12)
        for one in frame.bodies:
            assert found[called(one.name)].energy > 0.0
            for mount, side in one.points:
                if any((m.name, m.side) == (mount, side) for m in frame.mounts):
                    assert found[f"mount {mount} {side}"].energy >= 0.0
        for t in first:
            assert found[f"tie {t.pair} {t.side}"].energy > 0.0


# --------------------------------------------------------------------- the body alone


def alone(K: np.ndarray, held: list[np.ndarray], load: np.ndarray) -> np.ndarray:
    """Return the motion of a free body with rows held, by one system with multipliers."""
    C = np.array(held)
    size = np.sqrt(np.abs(np.diagonal(K)))
    K, C, load = K / np.outer(size, size), C / size, load / size
    C = C / np.linalg.norm(C, axis=1)[:, None]
    none = np.zeros((len(C), len(C)))
    both = np.linalg.solve(
        np.block([[K, C.T], [C, none]]), np.concatenate([load, np.zeros(len(C))])
    )
    return both[: len(K)] / size


def stands(
    one: Body, K: np.ndarray, labels: list[Label], same: dict[Label, Label] | None = None
) -> tuple[float, float | None]:
    """Return twist and bending stiffness of a body between its labels, as its figures say.

    `same`: labels that stand at the place of another one.
    """
    row = np.eye(len(K)).reshape(len(labels), 6, -1)
    at = {label: row[n] for n, label in enumerate(labels)}
    at |= {label: at[other] for label, other in (same or {}).items()}
    where = {("mount", *k): np.array(p) for k, p in one.points.items()}
    plan = [row[0, 0], row[0, 1], row[len(one.points) - 1, 1]]  # x, y and the turn about z
    assert one.twist is not None
    (right, left), (back_right, back_left) = (
        [at["mount", m, side][2] for side in ("right", "left")] for m in one.twist.between
    )
    front = one.twist.between[0]
    wide = where["mount", front, "right"][1] - where["mount", front, "left"][1]
    turn = (right - left) / wide
    twist = 1.0 / float(turn @ alone(K, [*plan, back_right, back_left, right + left], turn))
    if one.bending is None or ("bending", "1") not in at:
        return twist, None
    held = [at["mount", m, side][2] for m in one.bending.between for side in ("right", "left")]
    load = np.mean([at["bending", str(k + 1)][2] for k in range(len(one.bending.at))], axis=0)
    return twist, 1.0 / float(load @ alone(K, plan + held, load))


@EACH
def test_a_body_alone_has_its_figures(name: str, body: str) -> None:
    study = prepared(name, body)
    for one in study.frame.bodies:
        whole = body_stiffness(one, study.frame.ties)
        first: dict[tuple[float, ...], Label] = {}
        same: dict[Label, Label] = {}
        for label in whole.places:
            if label[0] in ("mount", "bending"):
                same[label] = first.setdefault(tuple(whole.point(label).round(6)), label)
        labels = list(first.values())
        assert one.twist is not None
        assert one.bending is not None
        twist, bending = stands(one, between(whole, labels), labels, same)
        assert twist == pytest.approx(one.twist.stiffness, rel=SAME)
        assert bending == pytest.approx(one.bending.stiffness, rel=SAME)


@EACH
def test_so_has_what_stands_on_the_frame(name: str, body: str) -> None:
    study = prepared(name, body)
    blocks = system(study.mesh).bodies
    for at, block in zip(study.mesh.bodies, blocks, strict=True):
        twist, _ = stands(at.body, block.stiffness, list(at.labels))
        assert at.body.twist is not None
        assert twist == pytest.approx(at.body.twist.stiffness, rel=SAME)
