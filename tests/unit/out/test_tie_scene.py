"""Bodies and candidate ties in a scene: where they are, and that they move with the solution."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from vehicles import VEHICLES, prepared, vehicle

from fea.analyse import analyse
from fea.frame.mounts import with_grade
from fea.out import surface
from fea.out.frame_scene import scene
from fea.out.scene import Scene
from fea.out.tie_scene import tie_scene
from fea.result.answer import answers
from fea.study.ties import TieStudy, solved

EACH = pytest.mark.parametrize(("name", "body"), VEHICLES)
GRADES = ("as fitted", "solid")


@cache
def study(name: str, body: str) -> TieStudy:
    return solved(prepared(name, body), GRADES)


@cache
def shown(name: str, body: str, grade: int = 1) -> Scene:
    return tie_scene(study(name, body), grade)


@EACH
def test_bodies_move_as_their_points_in_the_mesh(name: str, body: str) -> None:
    found = study(name, body)
    frame = with_grade(found.frame, "solid")
    solution = analyse(frame, found.cases[:1]).solutions[0]
    u = solution.u.reshape(len(solution.mesh.points), -1)
    bodies = shown(name, body).bodies
    assert [b.name for b in bodies] == [b.name for b in frame.bodies]
    for at, drawn in zip(solution.mesh.bodies, bodies, strict=True):
        assert len(drawn.panels) == len(at.body.panels)
        assert drawn.beams.max() < len(drawn.points)
        length = np.linalg.norm(np.diff(drawn.points[drawn.beams], axis=1), axis=2).sum()
        wanted = sum(np.linalg.norm(np.diff(b.path, axis=0), axis=1).sum() for b in at.body.beams)
        assert length == pytest.approx(wanted, rel=1e-6)
        for node in at.nodes:
            gap = np.linalg.norm(drawn.points - solution.mesh.points[node], axis=1)
            assert gap.min() < 1e-6
            assert drawn.movement[np.argmin(gap)] == pytest.approx(u[node, :3], abs=1e-6)


@EACH
def test_every_candidate_is_marked_once_a_side_by_its_gain(name: str, body: str) -> None:
    found, links = study(name, body), shown(name, body).rated
    assert links is not None
    ties = [t for c in found.candidates for t in c.ties]
    assert links.ends == pytest.approx(np.array([[t.frame_point, t.body_point] for t in ties]))
    gains = [100.0 * o.twist_gain for c, o in zip(found.candidates, found.grades[1].outcomes,
                                                  strict=True) for _ in c.ties]  # fmt: skip
    assert links.values == pytest.approx(gains)
    told = [(t, text) for t, text in zip(ties, links.texts, strict=True) if text]
    assert len(told) == len(found.candidates)
    assert {t.side for t, _ in told} == {"left"}
    assert all(text.startswith(t.pair) for t, text in told)


@EACH
def test_a_tie_s_ends_move_with_body_and_frame(name: str, body: str) -> None:
    drawn = shown(name, body)
    links, walls = drawn.rated, drawn.walls
    assert links is not None
    points = np.concatenate([b.points for b in drawn.bodies])
    movement = np.concatenate([b.movement for b in drawn.bodies])
    size = np.linalg.norm(walls.movement, axis=1).max()
    for ends, moves in zip(links.ends, links.movement, strict=True):
        gap = np.linalg.norm(points - ends[1], axis=1)
        assert gap.min() < 5.0  # a tie may stand that far beside its beam
        assert moves[1] == pytest.approx(movement[np.argmin(gap)], abs=0.02 * size)
        near = np.argmin(np.linalg.norm(walls.points - ends[0], axis=1))
        assert moves[0] == pytest.approx(walls.movement[near], abs=0.15 * size)


def test_only_the_gains_have_colours() -> None:
    drawn = shown("orchard_pickup", "closed")
    assert drawn.walls.fields == ()
    assert np.isfinite(surface.coloured(drawn, 1.0).colours).all()
    assert drawn.title == "Orchard pickup, cab, load bed"
    assert tie_scene(study("orchard_pickup", "closed"), 0, "closed").title.endswith("closed body")
    assert "mounts: solid" in drawn.subtitle
    label, value = drawn.facts[0]
    best = max(study("orchard_pickup", "closed").grades[1].outcomes, key=lambda o: o.twist_gain)
    assert value.startswith(f"+{100.0 * best.twist_gain:.1f} %: ")
    assert label.startswith("Twist stiffness with ")
    assert {c.dashed for c in drawn.profile} == {True, False}


def test_the_picture_reaches_round_the_body() -> None:
    drawn = shown("harbour_tourer", "open")
    high = max(b.points[:, 2].max() for b in drawn.bodies)
    assert surface.every_point(drawn)[:, 2].max() == high
    alone = replace(drawn, bodies=())
    assert surface.every_point(alone)[:, 2].max() < high


def test_a_frame_without_a_body_has_none() -> None:
    frame = replace(vehicle("harbour_tourer", "open"), bodies=(), ties=())
    drawn = scene(answers(analyse(frame, study("harbour_tourer", "open").cases[:1]))[0])
    assert drawn.bodies == ()
    assert drawn.rated is None
