"""What pictures say: each stress by its own name, numbered places, and plans that lie alike."""

import logging
import re
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from handmade import case, demo
from matplotlib.figure import Figure

from fea.analyse import analyse
from fea.cli.options import choose
from fea.frame.model import Frame
from fea.out import camera, frame_panel, picture
from fea.out.display import Display
from fea.out.frame_scene import scene
from fea.out.palette import THEME
from fea.out.scene import Badge, Scene
from fea.result.answer import Answer, answers
from fea.shop.stands import bench, stand

pytestmark = pytest.mark.picture

SIZE = (600, 400)


@cache
def answer(sheet: bool = False) -> Answer:
    return answers(analyse(demo("ladder_tubes"), [case("twist")], sheet_joints=sheet))[0]


def drawn(shown: Scene, scale: float = 50.0) -> Any:
    """Return the axes of a frame panel."""
    axes = Figure(figsize=(6.0, 4.0), dpi=100.0).add_axes((0.0, 0.0, 1.0, 1.0))
    frame_panel.draw(axes, shown, scale, size=SIZE, unit=0.375, display=Display("software"))
    return axes


@pytest.mark.parametrize("colour", ["stress", "movement"])
def test_the_ring_and_the_fact_tell_the_same_number(colour: str) -> None:
    shown = scene(answer(), colour=colour)
    (mark,) = [t.get_text() for t in drawn(shown).texts if "highest" in t.get_text()]
    told = dict(shown.facts)["Highest drawn"]
    assert mark == f"highest drawn {told.split(' in ')[0]}"
    field = shown.walls.fields[0]
    number = float(told.split()[0])
    assert number == pytest.approx(float(np.nanmax(field.values)), rel=5e-3)
    found = re.fullmatch(r"\S+ (MPa|mm) in (.+) at station (-?\d+) mm", told)
    assert found is not None
    member = shown.walls.members.index(found[2])
    own = np.unique(shown.walls.quads[shown.walls.member == member])
    near = own[np.abs(shown.walls.points[own, 0] - float(found[3])) <= 0.5]
    assert field.values[near].max() == np.nanmax(field.values)


@pytest.mark.parametrize("sheet", [False, True])
def test_the_stress_that_judges_says_where_it_is(sheet: bool) -> None:
    one = answer(sheet)
    facts = dict(scene(one).facts)
    assert "Highest stress" not in facts  # where, is not told
    judged = facts[f"Highest stress {'away from joints' if sheet else 'along members'}"]
    assert float(judged.split()[0]) == pytest.approx(one.peaks[0].von_mises, rel=5e-3)
    highest = float(facts["Highest drawn"].split()[0])
    if sheet:  # the drawn one is in a joint
        assert one.joint_peaks[0].von_mises > highest * 0.8
        assert highest > 1.05 * one.peaks[0].von_mises


def test_badges_stand_at_their_places_and_share_where_they_would_touch() -> None:
    base = scene(answer())
    x, y, z = (float(v) for v in base.walls.points[0])
    far = float(base.walls.points[:, 0].max())
    shown = replace(
        base,
        badges=(Badge(1, (x, y, z)), Badge(3, (x + 5.0, y, z)), Badge(2, (far, y, z))),
        listed=((1, "here"), (2, "there " * 40), (3, "here too")),
        listed_title="Numbered",
    )
    axes = drawn(shown, scale=0.0)
    texts = {t.get_text(): t.get_position() for t in axes.texts}
    assert {"1, 3", "2"} <= set(texts)
    assert "1" not in texts
    low = np.array(texts["1, 3"])
    high = np.array(texts["2"])
    along = camera.STANDARD.direction(np.array([1.0, 0.0, 0.0]))
    step = high - low
    assert step @ along / np.linalg.norm(step) / np.linalg.norm(along) == pytest.approx(1.0)
    page, _ = picture._page(shown, 0.0, 800, Display("software"))
    said = [t.get_text() for t in page.texts]
    assert "Numbered" in said
    assert {"1", "2", "here"} <= set(said)


def test_a_frame_without_movement_is_said_to_be_at_rest() -> None:
    said = [t.get_text() for t in drawn(scene(answer()), scale=0.0).texts]
    assert "drawn at rest" in said
    assert not any("movements drawn" in text for text in said)


# ------------------------------------------------------------------------- plans


def right_is_up(axes: Any) -> bool:
    low, high = axes.get_ylim()
    first, last = axes.get_xlim()
    return bool(low < high and first < last)


def test_plans_have_the_front_at_the_left_and_the_right_side_at_the_top(
    caplog: pytest.LogCaptureFixture,
) -> None:
    from fea.out import stands_chart

    frame: Frame = demo("orchard_pickup")
    standing = stand(bench(frame, [-200.0, 2900.0]), range(4))
    with caplog.at_level(logging.WARNING):
        figure = stands_chart.page(standing, ["words"], 800)
        figure.draw_without_rendering()
    assert not caplog.records  # matplotlib has nothing to say
    plan, sag = figure.axes
    assert right_is_up(plan)
    assert plan.get_xlim() == sag.get_xlim()
    assert plan.get_title(loc="left") == camera.FROM_ABOVE
    box = plan.get_window_extent()
    (left, right), (low, high) = plan.get_xlim(), plan.get_ylim()
    assert (right - left) / box.width == pytest.approx((high - low) / box.height)
    loads = [t for t in plan.texts if " N\n" in t.get_text()]
    assert len(loads) == 4
    for text, (_, y) in zip(loads, standing.bench.plan[standing.stands].tolist(), strict=True):
        assert text.get_va() == ("bottom" if y > 0.0 else "top")  # outside the frame
    assert {line.get_color() for line in plan.lines} >= {THEME.hold, THEME.load}


def test_a_plan_of_clearances_lies_alike() -> None:
    from fea.out import clearance_chart
    from fea.shop.clearance import study_clearance

    choice = choose("orchard_pickup")
    figure = clearance_chart.page(study_clearance(choice.document, choice.frame()), 800)
    plan, side = figure.axes
    assert right_is_up(plan)
    assert right_is_up(side)
    assert any(t.get_text().startswith(camera.FROM_ABOVE) for t in plan.texts)
