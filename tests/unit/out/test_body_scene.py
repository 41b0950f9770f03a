"""Bodies of a scene: they hang together with the frame, and their mounts' loads balance."""

from dataclasses import replace

import numpy as np
import pytest
from study_frames import setting

from fea.out.body_scene import grillages, link_force, load_words
from fea.result.answer import Answer
from fea.study.variant import Variant, solve_variant

TIE = {"tie.sill link.fitted": True}


@pytest.fixture(scope="module")
def answer() -> Answer:
    return solve_variant(setting("harbour_tourer", body="open"), Variant.of([], edits=TIE))[0]


def test_what_bears_a_body_that_nothing_loads_is_in_balance(answer: Answer) -> None:
    (body,) = grillages(answer)
    (at,) = answer.solution.mesh.bodies
    force, size = np.zeros(3), 0.0
    for link in body.links:
        kind, rest = link.name.split(" ", 1)
        label = (kind, *rest.rsplit(" ", 1))
        found = link_force(answer, link.name, at.node_of[label])
        assert link.text.endswith(load_words(found))
        force += found
        size += float(np.linalg.norm(found))
    assert size > 100.0
    np.testing.assert_allclose(force, 0.0, atol=1e-9 * size)
    assert {link.kind for link in body.links} == {"mount", "tie"}


def test_links_end_on_the_moving_body(answer: Answer) -> None:
    (body,) = grillages(answer)
    for link in body.links:
        gap = np.linalg.norm(body.points - link.ends[1], axis=1)
        nearest = int(np.argmin(gap))
        if gap[nearest] < 1e-6:
            np.testing.assert_allclose(link.movement[1], body.movement[nearest], atol=1e-9)
    assert len(body.beam_names) == len(body.beams)
    assert len(body.panel_names) == len(body.panels)


def test_a_tie_left_off_bears_nothing_and_is_not_drawn(answer: Answer) -> None:
    off = solve_variant(setting("harbour_tourer", body="open"), Variant.of([]))[0]
    assert {link.kind for link in grillages(off)[0].links} == {"mount"}
    assert grillages(replace(answer, frame=off.frame))[0].name == "body"


def test_words_for_a_load() -> None:
    assert load_words(np.array([0.0, 0.1, 0.2])) == "bears nothing"
    assert load_words(np.array([0.0, -900.0, 40.0])).endswith("left")
    assert load_words(np.array([-9.0, 0.0, 4.0])).endswith("forward")
