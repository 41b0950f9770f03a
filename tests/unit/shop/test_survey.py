"""Surveys of frames: what is planted is found, bands hold, what is not told is said."""

import numpy as np
import pytest
from handmade import demo
from running import ROOT
from surveying import planned, readings, twisted

from fea.document.read import read_text
from fea.errors import ModelError
from fea.shop import survey_words as words
from fea.shop.survey import survey
from fea.shop.survey_csv import read_survey
from fea.shop.survey_datum import _rotation, rigid_modes
from fea.shop.survey_limits import Limits
from fea.shop.survey_measures import measures
from fea.shop.survey_points import Point, sheet

FRAMES = ("orchard_pickup", "harbour_tourer")


@pytest.mark.parametrize("name", FRAMES)
def test_perfect_readings_give_nothing_wherever_the_frame_stands(name: str) -> None:
    frame = demo(name)
    plan, links = planned(frame)
    turn = _rotation(np.radians([0.5, -1.0, 2.0]))
    places = (sheet(plan.points) - [1500, 0, 450]) @ turn.T + [2100.0, -300.0, 620.0]
    found = survey(frame, readings(plan.points, links, places), Limits({"level_end": None}))
    assert np.abs(found.off).max() < 1e-5
    assert max(abs(j.value) for j in found.judged if not j.measure.plumb) < 1e-5
    assert found.snooped.slips == ()
    assert found.told.all()
    assert words.verdict(found).startswith("weld, but shim the stands first: level side to side")
    level = found.of("level_side")[0]
    # Plumb rise over a width across the frame: an entry of the rotation, exactly.
    assert level.value / level.measure.nominal == pytest.approx(turn[2, 1], rel=1e-6)


@pytest.mark.parametrize("name", FRAMES)
def test_no_measure_of_shape_sees_a_rigid_motion(name: str) -> None:
    plan, _ = planned(demo(name))
    modes = rigid_modes(sheet(plan.points))
    for m in measures(demo(name), plan.points):
        seen = np.abs(m.row @ modes) / [1, 1, 1, 1e3, 1e3, 1e3]
        assert m.plumb == (seen.max() > 1e-9), m.key


@pytest.mark.parametrize(
    ("name", "slip"),
    [
        ("orchard_pickup", "the length A2 left to A9 right"),
        ("harbour_tourer", "the length B7 left to B8 right"),
    ],
)
def test_the_shipped_twisted_surveys(name: str, slip: str) -> None:
    frame = demo(name)
    path = ROOT / "models" / f"survey_{name}_twisted.csv"
    found = survey(frame, read_survey(read_text(path), str(path), frame), Limits())
    twist = found.of("twist")[0]
    assert abs(twist.value - np.radians(0.35)) < twist.half
    assert twist.status == "fail"
    assert twist.sense == "front right high"
    assert words.verdict(found).startswith("straighten first: twist 0.")
    (one,) = found.snooped.slips
    (number,) = one.readings
    assert found.readings.readings[number].words(found.readings.points) == slip
    assert one.sizes[0] == pytest.approx(25.0, abs=3.0)
    (text,) = words.slips(found)
    assert slip[4:] in text
    assert "read it again" in text


@pytest.mark.parametrize("name", FRAMES)
def test_the_shipped_good_surveys(name: str) -> None:
    frame = demo(name)
    path = ROOT / "models" / f"survey_{name}_good.csv"
    found = survey(frame, read_survey(read_text(path), str(path), frame), Limits())
    assert words.verdict(found) == "weld"
    assert words.slips(found) == []
    assert words.unjudged(found) == []


def test_the_planted_twist_is_found_to_second_order() -> None:
    frame = demo("orchard_pickup")
    plan, links = planned(frame)
    places = twisted(plan.points, 0.35, 2900.0)
    found = survey(frame, readings(plan.points, links, places), Limits())
    assert found.of("twist")[0].value == pytest.approx(np.radians(0.35), rel=1e-3)
    others = [j for j in found.judged if j.measure.key in ("diamond", "width", "mash")]
    assert max(abs(j.value) for j in others) < 0.05


def test_bands_hold_the_truth_as_often_as_they_say() -> None:
    frame = demo("orchard_pickup")
    plan, links = planned(frame)
    rng = np.random.default_rng(21)
    inside, count = 0, 0
    truth = {}
    for _ in range(50):
        places = sheet(plan.points) + rng.normal(0.0, 1.5, (12, 3))
        exact = survey(frame, readings(plan.points, links, places), Limits())
        truth = [j.value for j in exact.judged]
        found = survey(frame, readings(plan.points, links, places, rng), Limits())
        inside += sum(abs(j.value - t) <= j.half for j, t in zip(found.judged, truth, strict=True))
        count += len(truth)
    assert 0.93 < inside / count < 0.975, inside / count


def rectangle(long: float, wide: float) -> tuple[Point, ...]:
    half = wide / 2.0
    return (
        Point("F", "right", 0.0, half, 500.0),
        Point("F", "left", 0.0, -half, 500.0),
        Point("R", "right", long, half, 500.0),
        Point("R", "left", long, -half, 500.0),
    )


SIDES = [("length", 0, 1), ("length", 2, 3), ("length", 0, 2), ("length", 1, 3)]
DIAGONALS = [("length", 0, 3), ("length", 1, 2)]
HEIGHTS = [("floor", k, k) for k in range(4)]


def test_a_rectangle_with_one_diagonal_long_is_a_diamond_by_hand() -> None:
    """Adjusted diagonals keep their difference d (3/4 d and -1/4 d): shift d D / 2 L."""
    long, wide, d = 2900.0, 860.0, 2.0
    points = rectangle(long, wide)
    links = [*SIDES, *DIAGONALS, *HEIGHTS]
    for number, sense in ((4, "left rail rearward"), (5, "right rail rearward")):
        taken = readings(points, links, sheet(points), slips={number: d})
        found = survey(demo("orchard_pickup"), taken, Limits())
        diamond = found.of("diamond")[0]
        by_hand = d * np.hypot(long, wide) / (2.0 * long)
        assert abs(diamond.value) == pytest.approx(by_hand, rel=1e-3)
        assert diamond.sense == sense
        # One standard deviation of the difference of two lengths of 1 mm each.
        sigma = np.sqrt(2.0) * np.hypot(long, wide) / (2.0 * long)
        assert diamond.half == pytest.approx(1.959964 * sigma, rel=1e-3)


def test_lengths_alone_do_not_tell_heights() -> None:
    points = rectangle(2900.0, 860.0)
    taken = readings(points, [*SIDES, *DIAGONALS], sheet(points))
    found = survey(demo("orchard_pickup"), taken, Limits())
    by_key = {j.measure.key: j.status for j in found.judged}
    assert by_key["twist"] == "not measured"
    assert by_key["diamond"] == "pass"
    assert by_key["level_side"] == "not measured"
    text = " ".join(words.unjudged(found))
    assert "do not tell height of" in text
    assert "What would help" in text
    assert words.verdict(found).startswith("measure again: ")
    assert "twist" in words.verdict(found)
    assert "the level F left to F right and the level R left to R right" in words.verdict(found)


def test_heights_alone_tell_twist_but_not_squareness() -> None:
    points = rectangle(2900.0, 860.0)
    found = survey(demo("orchard_pickup"), readings(points, HEIGHTS, sheet(points)), Limits())
    by_key = {j.measure.key: j.status for j in found.judged}
    assert by_key["twist"] == "pass"
    assert by_key["diamond"] == "not measured"
    assert by_key["width"] == "not measured"
    assert found.told[:, 2].all()
    assert not found.told[:, :2].any()
    assert "do not tell station and offset of any point" in " ".join(words.unjudged(found))


def test_a_point_on_one_length_is_named_and_the_help_helps() -> None:
    frame = demo("orchard_pickup")
    plan, links = planned(frame)
    last = len(plan.points) - 1
    kept = [ln for ln in links if last not in ln[1:]] + [("length", last - 1, last)]
    places = sheet(plan.points)
    found = survey(frame, readings(plan.points, kept, places), Limits())
    lack = [k for k in range(last + 1) if not found.told[k].all()]
    assert lack == [last]
    text = " ".join(words.unjudged(found))
    assert plan.points[last].key in text
    from fea.shop.survey_advice import for_points

    helps = [(r.kind, r.first, r.second) for r in for_points(found)]
    assert helps
    better = survey(frame, readings(plan.points, [*kept, *helps], places), Limits())
    assert better.told.sum() > found.told.sum()


def test_slips_that_cannot_be_told_apart_are_both_named() -> None:
    points = rectangle(2900.0, 860.0)
    taken = readings(points, [*SIDES, *DIAGONALS, *HEIGHTS], sheet(points), slips={4: 25.0})
    found = survey(demo("orchard_pickup"), taken, Limits())
    (text,) = words.slips(found)
    assert text.startswith("One of these is off, and the readings cannot tell which")
    assert "F right to R left" in text
    assert "F left to R right" in text
    assert not words.verdict(found).startswith("weld")


def test_worse_readings_than_told_widen_the_bands() -> None:
    frame = demo("orchard_pickup")
    plan, links = planned(frame)
    rng = np.random.default_rng(5)
    taken = readings(plan.points, links, sheet(plan.points), rng)
    twice = type(taken)(
        taken.source, taken.points,
        tuple(type(r)(r.kind, r.first, r.second, r.value, r.sigma / 2.2, r.line)
              for r in taken.readings),
    )  # fmt: skip
    calm, tight = (survey(frame, t, Limits()) for t in (taken, twice))
    assert calm.spread == 1.0
    assert tight.spread > 1.5
    assert any("worse than their uncertainties" in line for line in words.basis(tight))


def test_two_points_are_no_frame() -> None:
    points = rectangle(2900.0, 860.0)[:2]
    with pytest.raises(ModelError, match="tell no shape"):
        survey(
            demo("orchard_pickup"), readings(points, [("length", 0, 1)], sheet(points)), Limits()
        )
