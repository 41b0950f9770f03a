"""Bodies in the turning window: there, moving with the frame, told under the pointer, hidden."""

from dataclasses import replace
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from fea.out import display, window
from fea.out.window_body import WindowBodies

pytestmark = pytest.mark.picture


@pytest.fixture
def plotter() -> Any:
    if display.find().renderer == display.SOFTWARE:
        pytest.skip("no OpenGL here")
    import pyvista as pv

    made = pv.Plotter(off_screen=True, window_size=[500, 400])
    yield made
    made.close()


def test_a_body_moves_is_told_and_hides(sample: ModuleType, plotter: Any) -> None:
    body = sample.body()
    shown = WindowBodies(plotter, (body,))
    shown.move(50.0)
    links = shown._parts[0]
    expected = np.concatenate([k.ends + 50.0 * k.movement for k in body.links])
    np.testing.assert_allclose(links.mesh.points, expected, rtol=1e-6)
    plotter.enable_parallel_projection()
    plotter.view_xy()
    plotter.show(auto_close=False, interactive=False)

    def pixel(point: Any) -> tuple[int, int]:
        renderer = plotter.renderer
        renderer.SetWorldPoint(*point, 1.0)
        renderer.WorldToDisplay()
        x, y, _ = renderer.GetDisplayPoint()
        return round(x), round(y)

    at = pixel(expected[:2].mean(axis=0))
    assert shown.words_at(*at) == "mount M1 right: bears 120 N, 118 N up"
    middle = (body.points + 50.0 * body.movement)[body.beams[1]].mean(axis=0)
    assert shown.words_at(*pixel(middle)) == "sill right, of the body cab"
    floor = (body.points + 50.0 * body.movement).mean(axis=0)
    assert shown.words_at(*pixel(floor)) == "floor, sheet of the body cab"
    assert shown.words_at(2, 2) == ""
    shown.toggle()
    assert shown.words_at(*at) == ""
    assert not any(part.actor.GetVisibility() for part in shown._parts)


def test_the_window_has_the_body_and_fits_it(sample: ModuleType) -> None:
    if display.find().renderer == display.SOFTWARE:
        pytest.skip("no OpenGL here")
    scene = sample.build(10, 4)
    high = replace(sample.body(), points=sample.body().points + np.array([0.0, 0.0, 6000.0]))
    spans = []
    for bodies in ((), (high,)):
        made = window.build(replace(scene, bodies=bodies), scale=50.0, off_screen=True)
        spans.append(made.camera.parallel_scale)
        made.close()
    assert spans[1] > 1.2 * spans[0]
