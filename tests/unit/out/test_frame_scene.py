"""Gussets and bolts in a scene: where they are, and that they move with what they stand on."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from handmade import case, section, square_tube, two_rails

from fea.analyse import analyse
from fea.frame.model import Bolts, Frame, Gusset, Joint
from fea.mesh.bolts import pattern
from fea.mesh.gusset import triangles
from fea.out import surface
from fea.out.frame_scene import scene
from fea.out.scene import Scene, Walls
from fea.result.answer import answers
from fea.section import shapes

CHANNEL = section(shapes.channel(depth=123.0, flange=51.5, wall=3.0), "C", is_open=True)
MODELS = {
    "gussets": Joint("", "start", "", 0.0, "web", gusset=Gusset(80.0, 4.0, "both")),
    "bolts": Joint("", "start", "", 0.0, "bolted", bolts=Bolts(4, 10.0, 50.0, 5.0)),
    "plain": Joint("", "start", "", 0.0, "web"),
}


def frame(kind: str) -> Frame:
    cross = square_tube(60.0, 3.0)
    found = two_rails(1600.0, 700.0, CHANNEL, cross, [400.0, 1200.0], MODELS[kind])
    return replace(found, title=kind)


@cache
def drawn(kind: str, sheet_joints: bool = False, colour: str = "stress") -> Scene:
    analysis = analyse(frame(kind), [case("twist")], sheet_joints=sheet_joints)
    return scene(answers(analysis)[0], colour=colour)


def pieces(walls: Walls, word: str) -> np.ndarray:
    """Return the numbers of the quads whose section's name starts with a word."""
    return np.array([k for k, name in enumerate(walls.sections) if name.startswith(word)], int)


def test_a_plain_frame_has_neither() -> None:
    walls = drawn("plain").walls
    assert len(pieces(walls, "gusset")) == len(pieces(walls, "4 bolts")) == 0
    assert all(np.isfinite(f.values).all() for f in walls.fields)


def test_gussets_are_drawn_where_they_are() -> None:
    walls, model = drawn("gussets").walls, frame("gussets")
    quads = walls.quads[pieces(walls, "gusset, 80 mm legs, 4 mm")]
    corners = walls.points[quads]
    area = 0.5 * np.linalg.norm(
        np.cross(corners[:, 2] - corners[:, 0], corners[:, 3] - corners[:, 1]), axis=1
    )
    assert area.sum() == pytest.approx(16 * 0.5 * 80.0**2, rel=1e-12)
    have = walls.points[np.unique(quads)]
    for joint in model.joints:
        for plate in triangles(model, joint, 80.0):
            gap = np.linalg.norm(have[None] - plate.corners[:, None], axis=2)
            assert gap.min(axis=1).max() < 1e-9


def test_sheet_metal_draws_its_gussets_itself() -> None:
    walls = drawn("gussets", sheet_joints=True).walls
    assert len(pieces(walls, "gusset")) == 0
    (plate, *_) = triangles(frame("gussets"), frame("gussets").joints[0], 80.0)
    middle = plate.corners.mean(axis=0)
    faces = walls.points[walls.quads].mean(axis=1)
    assert np.min(np.linalg.norm(faces - middle, axis=1)) < 12.0


@pytest.mark.parametrize("sheet_joints", [False, True])
def test_bolts_stand_at_their_places_and_move_with_the_wall(sheet_joints: bool) -> None:
    walls, model = drawn("bolts", sheet_joints).walls, frame("bolts")
    quads = walls.quads[pieces(walls, "4 bolts M10")]
    places = np.concatenate([pattern(model, j).points for j in model.joints])
    assert len(quads) == len(places) * 2 * 8
    heads = quads.reshape(len(places), -1)
    nodes = np.array([np.unique(head) for head in heads])
    # Head and nut stick out as far on either side.
    assert walls.points[nodes].mean(axis=1) == pytest.approx(places, abs=1e-9)
    assert np.ptp(walls.points[nodes], axis=1)[:, 1] == pytest.approx(2.0 * (4.0 + 6.5))
    own = np.setdiff1d(np.arange(len(walls.points)), nodes)
    moved = walls.movement[nodes].mean(axis=1)
    for at, move in zip(places, moved, strict=True):
        near = own[np.linalg.norm(walls.points[own] - at, axis=1) < 60.0]
        web = near[np.abs(walls.points[near, 1] - at[1]) < 0.1]
        low, high = walls.movement[web].min(axis=0), walls.movement[web].max(axis=0)
        slack = 0.02 * np.linalg.norm(move)
        assert np.all(move > low - slack)
        assert np.all(move < high + slack)


@pytest.mark.parametrize(("kind", "word"), [("gussets", "gusset"), ("bolts", "4 bolts")])
def test_they_have_movement_but_no_stress(kind: str, word: str) -> None:
    for colour in ("stress", "movement"):
        shown = drawn(kind, colour=colour)
        walls = shown.walls
        nodes = np.unique(walls.quads[pieces(walls, word)])
        values = {f.unit: f.values for f in walls.fields}
        assert np.isnan(values["MPa"][nodes]).all()
        assert values["mm"] == pytest.approx(np.linalg.norm(walls.movement, axis=1))
        assert np.isfinite(surface.coloured(shown, 1.0).colours).all()
        assert {len(f.values) for f in walls.fields} == {len(walls.points)}


def test_a_gusset_hangs_on_rail_and_member() -> None:
    """Its corners move as the nearest walls, 20 to 43 mm away, but for their turning."""
    walls, model = drawn("gussets").walls, frame("gussets")
    quads = pieces(walls, "gusset")
    nodes = np.unique(walls.quads[quads])
    own = np.setdiff1d(np.arange(len(walls.points)), nodes)
    for joint in model.joints:
        for plate in triangles(model, joint, 80.0):
            for at in plate.corners:
                k = nodes[np.argmin(np.linalg.norm(walls.points[nodes] - at, axis=1))]
                near = own[np.argmin(np.linalg.norm(walls.points[own] - at, axis=1))]
                arm = float(np.linalg.norm(walls.points[near] - at))
                gap = float(np.linalg.norm(walls.movement[k] - walls.movement[near]))
                assert 19.0 < arm < 43.0
                assert gap < 0.2 * np.linalg.norm(walls.movement[near])
