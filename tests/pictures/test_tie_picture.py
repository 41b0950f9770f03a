"""The picture of frame, body and candidate ties: what is in it, and how it looks."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from matplotlib.image import imread
from texts import text_boxes, touching
from vehicles import VEHICLES, prepared

from fea.out import display, palette, picture
from fea.out.display import Display
from fea.out.palette import THEME
from fea.out.scene import Scene
from fea.out.tie_scene import tie_scene, write_tie_picture
from fea.study.ties import TieStudy, solved

pytestmark = pytest.mark.picture


@cache
def study(name: str, body: str) -> TieStudy:
    return solved(prepared(name, body), ["rubber", "solid"])


@cache
def shown(name: str, body: str) -> Scene:
    return tie_scene(study(name, body), 0, body)


def pixels(scene: Scene, wanted: Display) -> np.ndarray:
    figure, _ = picture._page(scene, 20.0, 800, wanted)
    figure.canvas.draw()
    return np.asarray(figure.canvas.buffer_rgba())[..., :3].astype(float)


@pytest.mark.usefixtures("rough")
@pytest.mark.parametrize(("name", "body"), VEHICLES)
def test_no_two_texts_touch_and_every_candidate_is_named(name: str, body: str) -> None:
    scene = shown(name, body)
    figure, left = picture._page(scene, 20.0, 1600, Display("software"))
    assert left == 0
    assert touching(figure) == []
    texts = {text for text, _ in text_boxes(figure)}
    assert scene.rated is not None
    assert {text for text in scene.rated.texts if text} <= texts
    assert "Gain in twist stiffness, %" in texts


@pytest.mark.usefixtures("rough")
def test_marks_stand_where_the_ties_are_coloured_and_sized_by_gain() -> None:
    scene = shown("harbour_tourer", "open")
    figure, _ = picture._page(scene, 20.0, 800, Display("software"))
    links = scene.rated
    assert links is not None
    marks = [
        line for axes in figure.axes for line in axes.lines
        if line.get_marker() == "o" and len(line.get_xdata()) == 1
    ]  # fmt: skip
    assert len(marks) == len(links.values)
    order = np.argsort(links.values, kind="stable")
    wanted = palette.colours(links.values[order], 0.0, float(links.values.max()))
    for mark, colour in zip(marks, wanted, strict=True):
        assert np.asarray(mark.get_color()) == pytest.approx(colour)
    sizes = [mark.get_markersize() for mark in marks]
    assert sizes == sorted(sizes)
    assert sizes[-1] > 1.5 * sizes[0]


@pytest.mark.usefixtures("rough")
def test_the_body_is_seen_and_moves_with_the_scale() -> None:
    scene = shown("orchard_pickup", "closed")
    software = Display("software")
    drawn = pixels(scene, software)
    still = tuple(replace(b, movement=0.5 * b.movement) for b in scene.bodies)
    without = tuple(replace(b, beams=b.beams[:0], panels=b.panels[:0]) for b in scene.bodies)
    for other in (still, without):
        changed = np.abs(drawn - pixels(replace(scene, bodies=other), software)).max(axis=2) > 8.0
        assert changed.mean() > 0.005
    blue = np.abs(drawn - 255.0 * palette.rgb(THEME.hold)).max(axis=2) < 60.0
    bare = pixels(replace(scene, bodies=without), software)
    plain = np.abs(bare - 255.0 * palette.rgb(THEME.hold)).max(axis=2) < 60.0
    assert (blue & ~plain).sum() > 800


def test_opengl_and_software_agree() -> None:
    found = display.find()
    if found.renderer == display.SOFTWARE:
        pytest.skip(found.note or "the software renderer is forced")
    scene = shown("harbour_tourer", "open")
    a, b = pixels(scene, found), pixels(scene, Display("software"))
    drawn = (a < 250).any(axis=2) | (b < 250).any(axis=2)
    assert np.abs(a - b)[drawn].mean() < 2.0


@pytest.mark.usefixtures("rough")
def test_it_is_written_whole_and_as_wide_as_asked(tmp_path: Path) -> None:
    path = tmp_path / "ties.png"
    report = write_tie_picture(
        study("orchard_pickup", "open"), 1, path, kind="open", width=400, software=True
    )
    assert report.renderer == "software"
    assert imread(path).shape[1] == 400
    assert [p.name for p in tmp_path.iterdir()] == ["ties.png"]
