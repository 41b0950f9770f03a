"""Where a boxing plate starts and stops."""

import numpy as np
import pytest

from fea.analyse import analyse
from fea.cli.options import load_cases
from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.document.schema import FrameDocument
from fea.errors import ModelError
from fea.frame.build import build_frame
from fea.frame.model import Frame
from fea.result.answer import answers
from fea.result.stress import stresses
from fea.study.boxing_sweep import BoxingSweep, boxing_sweep, end_stresses, find_place, grid, pairs
from fea.study.engine import Runner
from fea.study.variant import Setting, Variant, measure

PART = "boxing_cab"


@pytest.fixture(scope="module")
def document() -> FrameDocument:
    return read_frame(find_frame("orchard_pickup"))


def built(document: FrameDocument, *leave: str) -> Frame:
    return build_frame(document, source="pickup", leave=leave)


@pytest.fixture(scope="module")
def found(document: FrameDocument) -> BoxingSweep:
    frame = built(document)
    place = find_place(document, frame, PART)
    setting = Setting(document, "pickup", tuple(load_cases(None)))
    stations = grid(place, 275.0)
    return boxing_sweep(setting, Variant.of(frame.fitted), place, stations, 650.0, Runner(1))


def test_other_plates_bound_it(document: FrameDocument) -> None:
    place = find_place(document, built(document), PART)
    assert (place.low, place.high) == (950.0, 2050.0)
    free = find_place(document, built(document, "boxing_front", "boxing_kick_up"), PART)
    assert (free.low, free.high) == (-620.0, 3150.0)
    assert place.depth == pytest.approx(150.0)


def test_only_a_channel_can_be_boxed() -> None:
    tourer = read_frame(find_frame("harbour_tourer"))
    place = find_place(tourer, build_frame(tourer, source="tourer"), "boxing_side")
    assert (place.start, place.stop) == (900.0, 1950.0)
    assert (place.low, place.high) == (900.0, 1950.0)


def test_stations_and_pairs(document: FrameDocument) -> None:
    place = find_place(document, built(document), PART)
    assert grid(place, 400.0) == pytest.approx((950.0, 1316.667, 1683.333, 2050.0))
    stations = grid(place, 275.0)
    assert len(pairs(place, stations, None)) == 10
    assert pairs(place, stations, 650.0) == [[950.0, 1600.0], [1225.0, 1875.0], [1400.0, 2050.0]]
    with pytest.raises(ModelError, match="must fit the free stretch"):
        pairs(place, stations, 1200.0)
    for step in (0.0, -5.0, 0.1):
        with pytest.raises(ModelError, match="the step must leave"):
            grid(place, step)


def test_each_plate_is_that_variant(document: FrameDocument, found: BoxingSweep) -> None:
    setting = Setting(document, "pickup", tuple(load_cases(None)))
    whole = found.tried[3]
    assert (whole.start, whole.stop) == (950.0, 2050.0)
    as_drawn = measure(setting, Variant.of())
    assert whole.twist == pytest.approx(as_drawn.twist, rel=1e-12)
    without = measure(setting, Variant.of(built(document, PART).fitted))
    assert found.bare.twist == pytest.approx(without.twist, rel=1e-12)
    assert without.twist is not None
    assert as_drawn.twist is not None
    added = as_drawn.steel - without.steel
    assert found.per_tonne(whole) == pytest.approx((as_drawn.twist - without.twist) / added)


def test_between_other_plates_it_has_no_end(found: BoxingSweep) -> None:
    assert found.tried[3].ends == ()
    assert all(t.end_stress("twist") for t in found.tried if t.length < 1100.0)


def test_stress_beside_an_end_is_that_of_its_two_sections(document: FrameDocument) -> None:
    frame = built(document, "boxing_kick_up", "boxing_rear")
    answer = answers(analyse(frame, load_cases(["twist"])))[0]
    found = end_stresses(answer)
    assert [round(x) for x, _ in found] == [2050, 2050]
    solution = answer.solution
    mesh = solution.mesh
    right = mesh.members.index("rail right")
    want = 0.0
    for group in stresses(solution):
        for row, element in enumerate(group.elements):
            if mesh.elements.member[element] != right:
                continue
            x = mesh.points[mesh.elements.nodes[element], 0]
            for end, place in ((0, 0), (1, -1)):
                if abs(x[end] - 2050.0) < 1e-6:
                    want = max(want, float(group.von_mises[row, place].max()))
    assert found[0][1] == pytest.approx(want)
    assert want > 10.0
    assert found[1][1] == pytest.approx(want, rel=1e-6)  # twist loads both sides alike


def test_short_plates_are_not_ranked_by_beam_rules(found: BoxingSweep) -> None:
    assert found.least == 600.0
    assert [t.length for t in found.stiffest()] == [825.0, 1100.0]
    assert all(found.ranked(t) for t in found.of_length)
    gains = np.array([found.gain(t) for t in found.of_length])
    assert int(np.argmax(gains)) == 0  # joined to the plate in front, it has one end less


def test_no_such_plate(document: FrameDocument) -> None:
    frame = built(document)
    with pytest.raises(ModelError, match='no part "boxing_cap"'):
        find_place(document, frame, "boxing_cap")
    with pytest.raises(ModelError, match='"mid_tube" has no such plate'):
        find_place(document, frame, "mid_tube")
    with pytest.raises(ModelError, match="plate 2 of 1"):
        find_place(document, frame, PART, 2)
