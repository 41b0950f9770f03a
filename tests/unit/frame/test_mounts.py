"""Body mounts: pads from hardness, ready grades, what is left of a mount."""

import math
from dataclasses import replace
from typing import get_args

import numpy as np
import pytest
from handmade import demo

from fea.document.schema_body import Grade
from fea.errors import ModelError
from fea.frame.model import Mount, MountState
from fea.frame.mounts import (
    GRADES,
    LEFT,
    PAD,
    effective,
    effective_turn,
    graded,
    modulus,
    ring_pad,
    with_grade,
)

MOUNT = Mount("M", "right", (0.0, 400.0, 500.0), "rail", 0.0, (150.0, 160.0, 500.0), math.inf)


def test_the_modulus_is_that_of_the_gauge_s_own_spring_and_tip() -> None:
    """At 50: 439 gf on a punch of 0.5157 mm mean radius, in by 1.27 mm."""
    force, depth, radius = 439.0 * 9.81e-3, 1.27, 0.5157
    assert modulus(50.0) == pytest.approx(0.75 * force / (2.0 * radius * depth), rel=2e-3)
    steps = np.diff([modulus(s) for s in range(10, 96)])
    assert np.all(steps > 0.0)


@pytest.mark.parametrize("hardness", [9.0, 96.0, math.nan])
def test_a_hardness_out_of_range(hardness: float) -> None:
    with pytest.raises(ModelError, match="from 10 to 95 degrees Shore A"):
        modulus(hardness)


def test_a_ring_pad_by_hand() -> None:
    """64/20 mm, 25 mm high: 2903 mm2 loaded, 6597 mm2 free, so S = 0.44."""
    vertical, lateral = ring_pad(50.0, *PAD)
    area, free = 2902.8, 6597.3
    assert vertical == pytest.approx(
        modulus(50.0) * (1 + 2 * (area / free) ** 2) * area / 25, rel=1e-4
    )
    assert lateral == pytest.approx(modulus(50.0) * area / 75, rel=1e-4)


def test_a_pad_scales() -> None:
    """All sizes times two: the same shape, so twice as stiff."""
    once, twice = ring_pad(60.0, *PAD), ring_pad(60.0, *(2.0 * size for size in PAD))
    assert twice == pytest.approx([2.0 * k for k in once], rel=1e-12)
    plain = ring_pad(60.0, *PAD, beta=0.0)
    assert plain[0] == pytest.approx(3.0 * plain[1], rel=1e-12)


@pytest.mark.parametrize("sizes", [(20.0, 20.0, 25.0), (64.0, -1.0, 25.0), (64.0, 20.0, 0.0)])
def test_no_pad_at_all(sizes: tuple[float, float, float]) -> None:
    with pytest.raises(ModelError, match="a ring pad needs"):
        ring_pad(60.0, *sizes)


def test_the_grades_are_those_that_a_document_may_name() -> None:
    assert set(GRADES) == set(get_args(Grade))
    assert set(LEFT) == set(get_args(MountState))
    for name, grade in GRADES.items():
        assert grade.name == name
        assert grade.source
        for value, span in (
            (grade.vertical, grade.vertical_span),
            (grade.lateral, grade.lateral_span),
        ):
            assert value > 0.0
            assert span is None or span[0] <= value <= span[1]


def test_the_grades_stand_in_order() -> None:
    for row in (
        ("rubber 50", "rubber 60", "rubber 70", "urethane 80", "urethane 90"),
        ("soft rubber", "rubber", "urethane", "hard urethane", "solid"),
    ):
        assert np.all(np.diff([GRADES[name].vertical for name in row]) > 0.0)
        assert np.all(np.diff([GRADES[name].lateral for name in row]) > 0.0)


def test_a_mount_as_it_stands() -> None:
    assert effective(MOUNT) == (150.0, 160.0, 500.0)
    on_bracket = replace(MOUNT, bracket=8000.0)
    assert effective(on_bracket) == pytest.approx((150.0, 160.0, 1 / (1 / 500 + 1 / 8000)))
    worn = replace(on_bracket, state="worn")
    assert effective(worn) == pytest.approx((75.0, 80.0, 1 / (1 / 250 + 1 / 8000)))
    assert effective(replace(on_bracket, stiffness=(1.0, 2.0, math.inf)))[2] == 8000.0
    assert effective(replace(on_bracket, stiffness=(1.0, 2.0, 0.0)))[2] == 0.0


@pytest.mark.parametrize("state", ["torn", "missing", "rusted out"])
def test_a_mount_that_holds_nothing(state: MountState) -> None:
    lost = replace(MOUNT, state=state, bracket=8000.0, turn=(math.inf, 1.0, 1.0))
    assert effective(lost) == (0.0, 0.0, 0.0)
    assert effective_turn(lost) == (0.0, 0.0, 0.0)


def test_turning() -> None:
    turned = replace(MOUNT, turn=(1e6, 2e6, 3e6))
    assert effective_turn(turned) == (1e6, 2e6, 3e6)
    assert effective_turn(replace(turned, state="worn")) == (5e5, 1e6, 1.5e6)


@pytest.mark.parametrize(
    ("state", "after"),
    [
        ("good", "good"),
        ("worn", "good"),
        ("torn", "good"),
        ("missing", "missing"),
        ("rusted out", "rusted out"),
    ],
)
def test_new_pads(state: MountState, after: MountState) -> None:
    new = graded(replace(MOUNT, state=state, bracket=8000.0), "urethane")
    assert new.stiffness == (600.0, 600.0, 1500.0)
    assert (new.grade, new.state, new.bracket) == ("urethane", after, 8000.0)


def test_a_whole_frame_on_one_grade() -> None:
    frame = demo("orchard_pickup")
    hard = with_grade(frame, "hard urethane")
    assert {m.grade for m in hard.mounts} == {"hard urethane"}
    assert [m.name for m in hard.mounts] == [m.name for m in frame.mounts]
    assert hard.members is frame.members


def test_an_unknown_grade() -> None:
    with pytest.raises(ModelError, match='there is no grade of mount "rubbr"') as error:
        with_grade(replace(demo("orchard_pickup"), mounts=()), "rubbr")
    assert 'did you mean "rubber"' in str(error.value)
