"""The PNG: what is in it first, then how it looks."""

import dataclasses
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from matplotlib.image import imread
from numpy.typing import NDArray

from fea.out import display, frame_panel, picture
from fea.out.labels import Box
from fea.out.scene import Scene, Walls

pytestmark = pytest.mark.picture

MEAN_ERROR = 1.0
"""Mean colour error, of 255, that other processors and numpy versions may bring to an edge."""


def error(a: NDArray[np.uint8], b: NDArray[np.uint8]) -> float:
    """Return the mean difference of two pictures over the pixels where either is not white."""
    drawn = (a < 250).any(axis=2) | (b < 250).any(axis=2)
    return float(np.abs(a.astype(float) - b.astype(float))[drawn].mean())


def golden(sample: ModuleType) -> NDArray[np.uint8]:
    return np.rint(imread(sample.GOLDEN)[..., :3] * 255.0).astype(np.uint8)


def test_software_picture_is_the_golden_one(sample: ModuleType) -> None:
    assert error(sample.golden_layers(), golden(sample)) < MEAN_ERROR


@pytest.mark.parametrize("change", ["scale", "field", "member"])
def test_the_tolerance_tells_a_changed_picture(sample: ModuleType, change: str) -> None:
    scene, scale = sample.build(45, 12), 50.0
    walls = scene.walls
    if change == "scale":
        scale = 40.0
    elif change == "field":
        field = dataclasses.replace(walls.fields[0], values=walls.fields[0].values[::-1])
        walls = dataclasses.replace(walls, fields=(field,))
    else:  # one crossmember of six goes missing
        kept = walls.member != 4
        walls = dataclasses.replace(walls, quads=walls.quads[kept], member=walls.member[kept])
    changed = dataclasses.replace(scene, walls=walls)
    drawn = sample.flattened(changed, scale, sample.SOFTWARE_ONLY)
    assert error(drawn, golden(sample)) > 2.0 * MEAN_ERROR


def test_opengl_and_software_agree(sample: ModuleType) -> None:
    found = display.find()
    if found.renderer == display.SOFTWARE:
        pytest.skip(found.note or "the software renderer is forced")
    scene = sample.build(45, 12)
    drawn = sample.flattened(scene, 50.0, found)
    # both fill the same triangles; they differ in single pixels along the edges
    assert error(drawn, golden(sample)) < 2.0 * MEAN_ERROR
    assert error(drawn, golden(sample)) > 0.0  # it was not the software again


@pytest.mark.usefixtures("rough")
def test_page_is_written_whole_and_as_wide_as_asked(sample: ModuleType, tmp_path: Path) -> None:
    target = tmp_path / "frame.png"
    target.write_bytes(b"old")
    report = picture.write_png(sample.build(20, 4), target, width=400, software=True)
    assert report == picture.PictureReport(100.0, "software", "")
    assert imread(target).shape[1] == 400
    assert [p.name for p in tmp_path.iterdir()] == ["frame.png"]


@pytest.mark.usefixtures("rough")
def test_odd_names_are_drawn_as_they_are(sample: ModuleType, tmp_path: Path) -> None:
    odd = "$\\frac{1 & <b> \u6846\u67b6 _x"  # half a formula, mark-up, letters the font lacks
    scene = sample.build(10, 2)
    scene = dataclasses.replace(
        scene,
        title=odd, facts=((odd, odd),), notes=(odd,), soft=((odd, 3.0),), stations=((0.0, odd),),
        profile=tuple(dataclasses.replace(c, name=odd, unit=odd) for c in scene.profile),
        marks=tuple(dataclasses.replace(m, text=odd) for m in scene.marks),
    )  # fmt: skip
    assert picture.write_png(scene, tmp_path / "odd.png", width=600, software=True).scale > 0.0


@pytest.mark.usefixtures("rough")
def test_a_failed_drawing_leaves_the_old_file(
    sample: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("matplotlib.figure.Figure.savefig", fail)
    target = tmp_path / "frame.png"
    target.write_bytes(b"old")
    with pytest.raises(Exception, match="No space left"):
        picture.write_png(sample.build(10, 2), target, width=200, software=True)
    assert target.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["frame.png"]


def crowded(sample: ModuleType) -> Scene:
    """Return the sample with twice the stations and long names."""
    scene = sample.build(20, 4)
    more = tuple((s + 170.0, f"{name}, second position") for s, name in scene.stations[:5])
    return dataclasses.replace(scene, stations=tuple(sorted((*scene.stations, *more))))


def bare(sample: ModuleType) -> Scene:
    """Return the sample with its reference lines only."""
    scene = sample.build(10, 2)
    none = np.empty((0, 3))
    walls = Walls(none, none, np.empty((0, 4), dtype=np.intp), np.empty(0, dtype=np.intp),
                  (), (), ())  # fmt: skip
    return Scene(scene.title, scene.subtitle, (), walls, scene.lines)


@pytest.mark.usefixtures("rough")
@pytest.mark.parametrize("kind", ["plain", "crowded", "bare"])
def test_no_two_texts_of_a_page_touch(
    sample: ModuleType, kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    make = {"plain": lambda s: s.build(20, 4), "crowded": crowded, "bare": bare}[kind]
    pages = []
    whole = frame_panel.draw

    def kept(axes: object, *args: object, **how: object) -> int:
        pages.append(axes)
        return whole(axes, *args, **how)  # type: ignore[arg-type]

    monkeypatch.setattr(frame_panel, "draw", kept)
    figure, left = picture._page(make(sample), 100.0, 1600, display.Display("software"))
    assert left == 0
    (panel,) = pages
    figure.draw_without_rendering()
    texts = [*figure.texts]
    for axes in figure.axes:
        texts += axes.texts
        if axes.axison:
            texts += [axes.xaxis.label, axes.yaxis.label]
            for axis in (axes.xaxis, axes.yaxis):
                low, high = sorted(axis.get_view_interval())
                ticks = axis.get_major_ticks()
                texts += [tick.label1 for tick in ticks if low <= tick.get_loc() <= high]
    boxes = []
    for text in filter(lambda t: t.get_text(), texts):
        extent = text.get_window_extent()
        boxes.append((text.get_text(), Box(extent.x0, extent.y0, extent.x1, extent.y1)))
    page = figure.get_window_extent()
    whole_page = Box(0.0, 0.0, page.width, page.height)
    assert {"front", "rear", "right"} <= {text for text, _ in boxes}
    assert len(panel.texts) >= (16 if kind != "bare" else 6)
    for k, (text, box) in enumerate(boxes):
        assert whole_page.holds(box), text
        for other, second in boxes[k + 1 :]:
            assert not box.touches(second), (text, other)
