"""Before and after: traces against a slow twin, places that rose, twins, words, figures."""

from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from fea.document.edit import edited
from fea.document.find import find_case, find_frame
from fea.document.read import read_case, read_frame
from fea.errors import ModelError
from fea.frame import path
from fea.frame.build import build_frame
from fea.frame.build_case import build_case
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.result.stress import stresses
from fea.study.compare import Comparison, State, compare, solve_state
from fea.study.compare_places import FLOOR, Trace, traces, where
from fea.study.compare_record import as_csv, as_record, named, sentence

THINNER = 0.75


@cache
def cases() -> tuple[Case, ...]:
    return tuple(build_case(read_case(find_case(name))) for name in ("twist", "bending"))


@cache
def frame(name: str, *, stock: bool = False, thin: str = "") -> Frame:
    document = read_frame(find_frame(name))
    if thin:
        wall = getattr(document.section[thin], "wall")  # noqa: B009 - shapes differ in kind
        document = edited(document, {f"section.{thin}.wall": f"{THINNER * wall} mm"})
    return build_frame(document, source=name, stock=stock)


@cache
def state(name: str, *, stock: bool = False, modes: int = 0, thin: str = "") -> State:
    label = "stock" if stock else "fitted"
    return solve_state(label, frame(name, stock=stock, thin=thin), cases(), modes=modes)


@cache
def tourer(limit: float = 0.1) -> Comparison:
    return compare(state("harbour_tourer", stock=True), state("harbour_tourer"), limit)


def test_a_trace_at_places_against_a_slow_loop() -> None:
    rng = np.random.default_rng(41)
    start = np.sort(rng.uniform(0.0, 900.0, 12))
    end = start + rng.uniform(20.0, 200.0, 12)
    stress, use = rng.uniform(1.0, 9.0, (2, 12, 9))
    trace = Trace(start, end, stress, use)
    at = rng.uniform(-100.0, 1300.0, 60)
    found, of_yield = trace.at(at)
    for x, a, b in zip(at.tolist(), found.tolist(), of_yield.tolist(), strict=True):
        there = [k for k in range(12) if start[k] - 1.0 <= x <= end[k] + 1.0]
        for value, values in ((a, stress), (b, use)):
            slow = [float(np.interp(x, np.linspace(start[k], end[k], 9), values[k])) for k in there]
            assert np.isnan(value) if not slow else value == pytest.approx(max(slow), rel=1e-12)


def test_traces_hold_the_peaks_of_all_members() -> None:
    for answer in state("harbour_tourer").answers:
        along = traces(answer)
        for peak in answer.peaks:
            assert float(along[peak.member].use.max()) == pytest.approx(peak.utilisation, rel=1e-12)


def test_a_frame_against_itself_has_no_change() -> None:
    one = state("harbour_tourer")
    found = compare(one, one, 0.0)
    assert found.places == ()
    assert {f.ratio for f in found.figures} == {1.0}
    for group in (*found.groups, found.overall):
        assert {p.change for p in group.pairs} <= {0.0}
    assert not found.heavier("joint")


def test_thinner_rails_are_worse_where_they_are_stressed_most() -> None:
    one, other = state("ladder_tubes"), state("ladder_tubes", thin=_rail_section())
    found = compare(one, other, 0.1)
    for before, after in zip(one.answers, other.answers, strict=True):
        was = {p.member: p for p in before.peaks}["rail right"]
        now = {p.member: p for p in after.peaks}["rail right"]
        assert now.von_mises > 1.1 * was.von_mises
        places = [p for p in found.places if p.case == after.case.name]
        rails = [p for p in places if "rail right" in p.members]
        assert max(p.after for p in rails) == pytest.approx(now.von_mises, rel=1e-9)
        top = max(rails, key=lambda p: p.after)
        assert top.before == pytest.approx(was.von_mises, rel=1e-9)
    names = {f.name: f for f in found.figures}
    assert names["Twist stiffness"].ratio is not None
    assert names["Twist stiffness"].ratio < 1.0
    assert names["Frame steel"].ratio == pytest.approx(
        float(other.answers[0].mass.steel / one.answers[0].mass.steel), rel=1e-12
    )


def _rail_section() -> str:
    return frame("ladder_tubes").member("rail right").runs[0].section.name


def test_every_place_is_worse_by_its_own_stresses() -> None:
    """The stress at a place, found again from its elements by hand, is what is told."""
    found = tourer()
    assert found.places
    for place in found.places:
        number = [a.case.name for a in found.after.answers].index(place.case)
        for told, one in ((place.after, found.after), (place.before, found.before)):
            answer = one.answers[number]
            member = answer.frame.member(place.member)
            point = np.array([place.station, place.offset, place.height])
            distance, gap = path.nearest(member.path, point)
            assert gap < 1e-6
            assert told == pytest.approx(
                _by_hand(answer.solution, place.member, distance), rel=1e-6
            )
        assert place.after > 1.1 * place.before or place.use_after > 1.1 * place.use_before
        top = max(p.utilisation for p in found.after.answers[number].peaks)
        assert place.use_after >= FLOOR * top


def _by_hand(solution, member: str, distance: float) -> float:
    mesh, best = solution.mesh, 0.0
    for group in stresses(solution):
        for row, element in enumerate(group.elements.tolist()):
            low, high = mesh.elements.place[element]
            if mesh.members[mesh.elements.member[element]] != member:
                continue
            if low - 1.0 <= distance <= high + 1.0:
                values = group.von_mises[row].max(axis=1)
                best = max(best, float(np.interp(distance, np.linspace(low, high, 9), values)))
    return best


def test_a_higher_limit_keeps_fewer_places() -> None:
    few, many = tourer(0.2), tourer(0.0)
    assert 0 < len(few.places) < len(many.places)
    for place in few.places:
        assert place.after > 1.2 * place.before or place.use_after > 1.2 * place.use_before
    assert compare(few.before, few.after, 50.0).places == ()


def test_right_and_left_are_one_place() -> None:
    places = [p for p in tourer().places if p.member.startswith("rail")]
    assert places
    assert all(set(p.members) == {"rail right", "rail left"} for p in places)
    spots = [(p.case, round(p.station)) for p in places]
    assert len(spots) == len(set(spots))


def test_words_of_a_place() -> None:
    top = tourer().places[0]
    text = sentence(top, case=True)
    assert text.startswith("rail right and left at station 2320: ")
    assert f"{top.before:.3g} to {top.after:.3g} MPa" in text
    assert "of yield" in text
    assert text.endswith(", in twist")
    assert "ksi" in sentence(top, "us")
    assert "MPa" not in sentence(top, "us")
    one = replace(top, member="X3", members=("X3",), offset=-120.0)
    assert named(one) == "X3 at station 2320, 120 mm left"
    assert named(replace(one, either_side=True)) == "X3 at station 2320, 120 mm either side"
    assert named(replace(one, offset=0.0)) == "X3 at station 2320, middle"
    assert named(replace(one, about="X3 on rail left")) == "X3 on rail left"
    unknown = sentence(replace(one, before=float("nan"), use_before=None))
    assert "not known to" in unknown


def test_what_is_at_a_place() -> None:
    document = read_frame(find_frame("orchard_pickup"))
    whole = build_frame(document, source="orchard_pickup", leave=["boxing_kick_up"])
    rail = whole.member("rail right")
    ends = [
        (one.end, one.part or other.part)
        for one, other in pairwise(rail.runs)
        if (one.part is None) != (other.part is None)
    ]
    for distance, part in ends:
        assert where(whole, rail, distance) == f"at the end of plate {part}"
    assert [part for _, part in ends] == ["boxing_cab", "boxing_rear"]
    meeting = next(r.end for r in rail.runs if r.part == "boxing_front" and r is not rail.runs[0])
    assert where(whole, rail, meeting) == "at the meeting of plates boxing_front and boxing_cab"
    joint = next(j for j in whole.joints if j.onto == "rail right" and j.member == "X4")
    assert where(whole, rail, joint.distance) == "at X4"
    third = next(j for j in whole.joints if j.onto == "rail right" and j.member == "X3")
    middle = where(whole, rail, 0.5 * (third.distance + joint.distance))
    assert "X" in middle
    x3 = whole.member("X3")
    end = next(j for j in whole.joints if j.member == "X3")
    near = 0.0 if end.end == "start" else path.lengths(x3.path)[-1]
    assert where(whole, x3, float(near)) == f"at its end on {end.onto}"


def test_modes_stand_beside_those_of_their_kind() -> None:
    one, other = (state("orchard_pickup", stock=s, modes=2) for s in (True, False))
    found = {f.name: f for f in compare(one, other).figures if f.kind == "frequency"}
    assert {"Mode: first torsion", "Mode: first vertical bending"} <= found.keys()
    assert one.modes is not None
    assert other.modes is not None
    first = found["Mode: first torsion"]
    for modes, value in ((one.modes, first.before), (other.modes, first.after)):
        mine = [m for m in modes.modes if m.name.endswith("first torsion")]
        assert value == mine[0].frequency
    lowest = {m.name.removeprefix("mixed, mostly ") for m in (*one.modes.modes[:2],
                                                             *other.modes.modes[:2])}  # fmt: skip
    assert {f"Mode: {name}" for name in lowest} == found.keys()


def test_two_frames_of_other_shape_and_names() -> None:
    found = compare(state("orchard_pickup"), state("harbour_tourer"))
    pairs = {p.name: p for p in found.groups[0].of("member")}
    assert pairs["Y3"].before is None
    assert pairs["X3"].after is None
    assert pairs["X3"].change is None
    assert pairs["rail right"].change is not None
    assert all(p.member.startswith("rail") for p in found.places)
    assert all(np.isfinite(p.before) for p in found.places)


def test_other_cases_are_refused() -> None:
    one = state("ladder_tubes")
    with pytest.raises(ModelError, match="under the same load cases"):
        compare(one, State("other", one.frame, one.answers[:1]))


def test_pairs_come_by_rise_and_record_and_csv_tell_the_same() -> None:
    found = tourer()
    for group in found.groups:
        changes = [p.change for p in group.of("member") if p.change is not None]
        assert changes == sorted(changes, reverse=True)
    record, text = as_record(found), as_csv(found)
    assert len(record["worse"]) == len(found.places)
    assert [c["case"] for c in record["cases"]] == ["twist", "bending"]
    twist = record["figures"][0]
    assert twist["ratio"] == pytest.approx(
        twist["after_nm_per_deg"] / twist["before_nm_per_deg"], rel=1e-12
    )
    rows = text.splitlines()
    assert sum(row.startswith("worse,") for row in rows) == 2 * len(found.places)
    assert sum(row.startswith("frame,") for row in rows) == len(found.figures)
