"""Stress in sheet metal: by hand, beside the beams, and told by member and by joint."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from handmade import SMALL_TUBE, cantilever, case, demo, member, two_rails

from fea.analyse import analyse
from fea.frame import path
from fea.frame.model import Bulkhead, Joint
from fea.result import stress
from fea.result.answer import Answer, answers
from fea.result.disturbed import nearest, spots
from fea.result.metal import Sheeting, joint_peaks, member_peaks, merged
from fea.section.properties import properties
from fea.store import store


@cache
def solved(name: str, load: str) -> Answer:
    return answers(analyse(demo(name), [case(load)], sheet_joints=True, store=store()))[0]


def in_metal(answer: Answer) -> dict[str, stress.Peak]:
    return {p.member: p for p in member_peaks(answer.frame, answer.sheeting)}


# ------------------------------------------------------------------------- by hand


def test_a_boxed_rail_bends_as_by_hand():
    """1000 N at mid-span of each rail, held 200 mm from its ends: M = 500 (x - 200)."""
    answer = solved("ladder_flange_welded_boxed", "ladder_bending")
    run = answer.frame.member("rail right").runs[0]
    I = properties(run.section.midline).Iy  # noqa: E741  # the symbol of every source
    for side in ("right", "left"):
        peak = in_metal(answer)[f"rail {side}"]
        assert peak == next(p for p in answer.peaks if p.member == peak.member)
        by_hand = 500.0 * (min(peak.station, 2400.0 - peak.station) - 200.0) * 60.0 / I
        # A flange, pressed above and pulled below; its walls stand at 60 mm from the axis.
        assert abs(peak.height - 500.0) == pytest.approx(60.0)
        assert peak.normal == pytest.approx(-np.sign(peak.height - 500.0) * by_hand, rel=0.01)
        assert peak.von_mises == pytest.approx(by_hand, rel=0.01)
        assert peak.utilisation == pytest.approx(peak.von_mises / run.weakest_yield)
        assert peak.section == run.section.name
        # The highest that lies off the joints: a depth (120 mm and the wall) from that under
        # the load, within the length of a quadrilateral.
        assert 1200.0 - 123.0 - 48.0 < peak.station < 1240.0 + 123.0 + 48.0


@pytest.mark.parametrize("name", ["ladder_web_butt", "ladder_tubes"])
def test_metal_says_what_the_beams_beside_it_say_in_twist(name):
    """Open walls twist, closed ones carry Bredt's flow: what is told is what beams tell."""
    answer = solved(name, "twist")
    beams = {p.member: p for p in stress.peaks(answer.solution)}
    metal = in_metal(answer)
    crossmembers = [m.name for m in answer.frame.members if m.kind == "crossmember"]
    assert len(crossmembers) == 5
    for one in crossmembers:  # even torque: alike from end to end
        assert metal[one].von_mises == pytest.approx(beams[one].von_mises, rel=0.06)
    if name == "ladder_web_butt":
        rail = metal["rail right"].von_mises
        assert rail == pytest.approx(beams["rail right"].von_mises, rel=0.06)


# ------------------------------------------------------------------- where the stress is raised


def test_spots_of_a_ladder():
    """Crossmembers of 40 mm, from their webs' middle on, welded to web and flanges."""
    found = spots(demo("ladder_flange_welded"))
    rail = {s.name: (s.low, s.high) for s in found["rail right"]}
    assert list(rail) == [f"X{k} on rail right" for k in range(1, 6)]
    assert rail["X2 on rail right"] == pytest.approx((600.0, 640.0))
    ends = {s.name: (s.low, s.high) for s in found["X2"]}
    width = demo("ladder_flange_welded").member("rail right").runs[0].section.width
    assert ends["X2 on rail left"] == pytest.approx((0.0, width))
    assert ends["X2 on rail right"] == pytest.approx((800.0 - width, 800.0))


def test_a_tube_through_a_box_is_fixed_up_to_the_last_wall():
    """Box rails of 60 mm at mid-wall; the tube ends on their outer walls."""
    frame = two_rails(1000.0, 600.0, SMALL_TUBE, SMALL_TUBE, [500.0])
    short, long = (
        member("X0", [(500.0, -y, 0.0), (500.0, y, 0.0)], SMALL_TUBE, "crossmember")
        for y in (270.0, 330.0)
    )
    for tube, reach in ((short, 0.0), (long, 60.0)):
        joints = tuple(replace(j, kind="web") for j in frame.joints)
        other = replace(frame, members=(*frame.members[:2], tube), joints=joints)
        one, two = spots(other)["X0"]
        whole = 2.0 * tube.path[1, 1]
        assert (one.low, one.high) == pytest.approx((0.0, reach))
        assert (two.low, two.high) == pytest.approx((whole - reach, whole))


def test_spots_of_kinks_plate_ends_and_bulkheads():
    frame = cantilever(1000.0, SMALL_TUBE)
    rail = member("rail", [(0.0, 0.0, 0.0), (300.0, 0.0, 0.0), (300.0 + 400.0, 0.0, 300.0),
                           (1100.0, 0.0, 600.1)], SMALL_TUBE)  # fmt: skip
    opened = replace(SMALL_TUBE, is_open=True)
    run = rail.runs[0]
    rail = replace(rail, runs=(replace(run, end=100.0), replace(run, start=100.0, section=opened)))
    plate = Bulkhead("rail", 550.0, np.zeros((4, 2)), 3.0, run.material)
    found = spots(replace(frame, members=(rail,), bulkheads=(plate,)))["rail"]
    assert {s.name: s.low for s in found} == {
        "plate end at station 100 on rail": 100.0,
        "bulkhead at station 500 on rail": 550.0,
        "kink at station 300 on rail": 300.0,  # the other corner turns by nothing to speak of
    }
    assert all(s.low == s.high for s in found)


def test_two_ends_on_one_member_are_told_apart():
    frame = two_rails(1000.0, 600.0, SMALL_TUBE, SMALL_TUBE, [200.0])
    brace = member("B", [(300.0, 300.0, 0.0), (700.0, 300.0, 0.0)], SMALL_TUBE, "brace")
    joints = [Joint("B", e, "rail right", d, "web") for e, d in (("start", 300.0), ("end", 700.0))]
    frame = replace(frame, members=(*frame.members, brace), joints=(*frame.joints, *joints))
    names = [s.name for s in spots(frame)["rail right"]]
    assert names == [
        "X0 on rail right",
        "B on rail right, station 300",
        "B on rail right, station 700",
    ]


def test_nearest_of_spots():
    of = spots(demo("ladder_flange_welded"))["rail right"]
    which, gap = nearest(of, np.array([620.0, 700.0, 1000.0, 2400.0, 641.0]))
    assert which.tolist() == [1, 1, 2, 4, 1]
    assert gap.tolist() == pytest.approx([0.0, 60.0, 200.0, 0.0, 1.0])
    nothing, far = nearest([], np.array([5.0]))
    assert nothing.tolist() == [-1]
    assert far.tolist() == [np.inf]


# --------------------------------------------------------------------- choosing among the metal


def strip(distance: list[float], nominal: list[float], across: list[bool] | None = None):
    """Return metal of a rail along x: one quadrilateral of 2 mm at each distance."""
    n = len(distance)
    corners = np.array([[-1.0, -1, 0], [1, -1, 0], [1, 1, 0], [-1, 1, 0]])
    points = (np.array(distance)[:, None, None] * [1.0, 0.0, 0.0] + corners).reshape(-1, 3)
    value = np.array(nominal)
    return Sheeting(
        name="strip",
        points=points,
        movement=0.0 * points,
        quads=np.arange(4 * n).reshape(n, 4),
        member=np.zeros(n, dtype=np.intp),
        members=("rail right",),
        width=2.0,
        von_mises=2.0 * value,
        nominal=value,
        normal=-value,
        distance=np.array(distance),
        across=np.array(across or [False] * n),
    )


SMALL = two_rails(1000.0, 600.0, SMALL_TUBE, SMALL_TUBE, [500.0])
"""X0 takes up 470 to 530 mm of either rail; a depth is 60 mm."""


def test_the_peak_lies_a_depth_from_the_weld():
    metal = strip([400.0, 409.0, 411.0, 500.0, 700.0], [5.0, 20.0, 30.0, 90.0, 10.0])
    (peak,) = member_peaks(SMALL, [metal])
    assert (peak.von_mises, peak.normal, peak.station) == (20.0, -20.0, 409.0)
    assert peak.utilisation == pytest.approx(20.0 / 250.0)
    assert peak.section == "tube"


def test_a_short_length_makes_do_with_half_a_depth_or_has_none():
    near = strip([439.0, 441.0, 500.0], [7.0, 8.0, 9.0])
    (peak,) = member_peaks(SMALL, [near])
    assert peak.von_mises == 7.0
    assert member_peaks(SMALL, [near], {"rail right"}) == []  # its beams lie further off
    assert member_peaks(SMALL, [strip([441.0, 500.0], [8.0, 9.0])]) == []
    # Metal further off in another patch goes before, be it stressed less.
    (peak,) = member_peaks(SMALL, [near, strip([100.0], [1.0])])
    assert peak.von_mises == 1.0


def test_of_places_stressed_alike_the_foremost_is_told():
    """Round-off of single precision, in which the metal is kept, does not choose."""
    for more in (1e-6, -1e-6):
        metal = strip([100.0, 300.0, 600.0], [20.0, 20.0 * (1.0 + more), 5.0])
        (peak,) = member_peaks(SMALL, [metal])
        assert peak.station == 100.0


def test_plates_across_a_member_are_not_the_member():
    (peak,) = member_peaks(SMALL, [strip([100.0, 200.0], [9.0, 2.0], [True, False])])
    assert peak.von_mises == 2.0


def test_one_peak_a_member_by_utilisation():
    def peak(name: str, value: float, use: float) -> stress.Peak:
        return stress.Peak(name, value, value, 0.0, 0.0, 0.0, use, "S")

    a, b = peak("A", 10.0, 0.5), peak("B", 30.0, 0.1)
    harder, softer = peak("A", 20.0, 0.4), peak("B", 20.0, 0.2)
    assert merged([a, b], [harder, softer]) == [softer, a]
    assert merged([a], []) == [a]


def test_joint_peaks_by_the_spot_they_are_near():
    metal = strip([409.0, 411.0, 500.0, 589.0, 591.0], [99.0, 5.0, 4.0, 6.0, 98.0])
    (peak,) = joint_peaks(SMALL, [metal])
    assert peak.joint == "X0 on rail right"
    assert peak.member == "rail right"
    assert (peak.von_mises, peak.station) == (12.0, 589.0)


# ---------------------------------------------------------------------------- whole frames


def test_every_member_of_a_ladder_has_its_peak():
    answer = solved("ladder_flange_welded_boxed", "twist")
    frame = answer.frame
    beams = {p.member for p in stress.peaks(answer.solution)}
    assert not beams & {"rail right", "rail left"}  # metal from end to end
    assert {p.member for p in answer.peaks} == {m.name for m in frame.members}
    assert len(answer.peaks) == len(frame.members)
    values = [p.von_mises for p in answer.peaks]
    assert values == sorted(values, reverse=True)
    assert answer.measures["highest_stress_mpa"] == values[0]
    right, left = (next(p for p in answer.peaks if p.member == f"rail {s}") for s in
                   ("right", "left"))  # fmt: skip
    assert left.von_mises == pytest.approx(right.von_mises, rel=1e-4)
    assert left.normal == pytest.approx(-right.normal, abs=1e-3 * right.von_mises)
    near = spots(frame)
    found = member_peaks(frame, answer.sheeting, beams)
    assert {"rail right", "rail left"} <= {p.member for p in found}
    for peak in found:
        one = frame.member(peak.member)
        at, _ = path.nearest(one.path, np.array([peak.station, peak.offset, peak.height]))
        _, gap = nearest(near[peak.member], np.array([at]))
        depth = max(one.runs[0].section.depth, one.runs[0].section.width)
        assert gap[0] > depth


def test_joints_of_a_ladder_by_name():
    answer = solved("ladder_flange_welded_boxed", "twist")
    names = [p.joint for p in answer.joint_peaks]
    assert sorted(names) == sorted(f"X{k} on rail {s}" for k in range(1, 6)
                                   for s in ("right", "left"))  # fmt: skip
    values = [p.von_mises for p in answer.joint_peaks]
    assert values == sorted(values, reverse=True)
    highest = max(float(s.von_mises.max()) for s in answer.sheeting)
    assert values[0] == pytest.approx(highest, rel=1e-3)
    at = {j.member: answer.frame.member(j.member).path[0, 0] for j in answer.frame.joints}
    for peak in answer.joint_peaks:
        assert peak.member in (peak.joint.split()[0], f"rail {peak.joint.split()[-1]}")
        assert abs(peak.station - at[peak.joint.split()[0]]) < 40.0 + 123.0
        assert (peak.offset > 0.0) == peak.joint.endswith("right")


def test_stress_is_worked_out_when_it_is_read():
    answer = answers(analyse(demo("ladder_tubes"), [case("twist")]))[0]
    assert not {"peaks", "sheeting"} & set(vars(answer))
    assert answer.peaks
    assert answer.sheeting == []
    assert answer.joint_peaks == []
