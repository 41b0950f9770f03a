"""A whole frame as thin shells, and what is read from it beside the beams."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from handmade import Cross, Ladder, Sheet, case, demo

from fea.analyse import analyse
from fea.errors import SolveError
from fea.frame.case import Hold, Place, Push
from fea.frame.model import Frame
from fea.metal import MetalSolution, analyse_metal, meshable
from fea.result.compare_metal import (
    beam_stress,
    measure,
    metal_profile,
    metal_stress,
    mid_bays,
)
from fea.verify.metal import compare, default_cases, teaching_ladders

SIZE = 32.0
"""Coarse: half a second a frame."""

RAIL = Sheet("box", (("depth", 83.0), ("width", 63.0), ("wall", 3.0)))
CHANNEL = Sheet("channel", (("depth", 123.0), ("flange", 51.5), ("wall", 3.0)))
CROSS = Sheet("box", (("depth", 53.0), ("width", 53.0), ("wall", 3.0)))
END, MIDDLE = 2400.0, 1200.0
STATIONS = (200.0, 1400.0, 2200.0)


def small(
    folder: Path, *joints: str, stations: tuple[float, ...] = STATIONS, rail: Sheet = RAIL
) -> Frame:
    """Return a ladder with tubes across, on seats at its ends; nothing across its middle."""
    each = joints or ("web",) * len(stations)
    ladder = Ladder(
        points=((0.0, 450.0, 500.0, rail), (END, 450.0, 500.0, rail)),
        crosses=tuple(Cross(x, CROSS, j) for x, j in zip(stations, each, strict=True)),
        axles=(0.0, END),
        seats=((0.0,), (END,)),
    )
    return ladder.frame(folder)


def metal(frame: Frame, *names: str) -> list[MetalSolution]:
    return analyse_metal(frame, [case(name) for name in names], SIZE)


# --------------------------------------------------------------------- the profile


def test_the_profile_holds_the_place_that_is_pushed(tmp_path: Path) -> None:
    """Half-way between the axles stands no crossmember, and there the sag is read."""
    frame = small(tmp_path)
    (solution,) = metal(frame, "bending")
    assert MIDDLE in solution.stations
    assert {0.0, *STATIONS, END} <= set(solution.stations.tolist())
    sag = float(solution.height[solution.stations == MIDDLE][0])
    line = metal_profile(solution)
    assert measure(frame, case("bending"), line) == pytest.approx(2000.0 / -sag, rel=1e-12)


def test_a_push_at_a_station_is_in_the_profile_too(tmp_path: Path) -> None:
    bending = case("bending")
    moved = replace(bending, pushes=(replace(bending.pushes[0], place=Place(station=555.0)),))
    (solution,) = analyse_metal(small(tmp_path), [moved], SIZE)
    assert 555.0 in solution.stations
    assert MIDDLE not in solution.stations


def test_every_seat_of_a_pushed_axle_is_in_the_profile() -> None:
    frame = meshable(demo("orchard_pickup", stock=True))[0]
    (solution,) = analyse_metal(frame, [case("twist")], 50.0)
    seats = [s.position[0] for s in frame.axles[0].seats]
    assert set(seats) <= set(solution.stations.tolist())


# ------------------------------------------------------------------ cases together


def test_cases_together_are_as_each_alone(tmp_path: Path) -> None:
    """One factor carries the supports of all; the ground of the others is taken out again."""
    frame = small(tmp_path)
    together = metal(frame, "twist", "bending")
    for name, solution in zip(("twist", "bending"), together, strict=True):
        (alone,) = metal(frame, name)
        assert solution.residual < 1e-7
        # Some places need rows of nodes in one case only, so that the meshes differ a little.
        line, other = metal_profile(solution), metal_profile(alone)
        assert measure(frame, case(name), line) == pytest.approx(
            measure(frame, case(name), other), rel=2e-3
        )


def test_supports_hold_exactly(tmp_path: Path) -> None:
    frame = small(tmp_path)
    twist, bending = metal(frame, "twist", "bending")
    size = np.max(np.abs(bending.height))
    assert np.abs(bending.height[[0, -1]]) == pytest.approx([0.0, 0.0], abs=1e-8 * size)
    assert np.abs(bending.angle).max() * 900.0 < 1e-3 * size
    lift = np.abs(twist.angle).max() * 450.0
    assert abs(twist.angle[-1]) * 450.0 < 1e-8 * lift
    assert abs(twist.height[0]) < 1e-8 * lift


def test_an_imposed_motion_is_had(tmp_path: Path) -> None:
    twist = case("twist")
    holds = (*twist.holds, Hold(Place(axle="front", side="right"), "height", 2.0))
    pushed = replace(twist, holds=holds, pushes=())
    (solution,) = analyse_metal(small(tmp_path), [pushed], SIZE)
    assert solution.angle[0] == pytest.approx(4.0 / 900.0, rel=1e-8)


def test_the_couple_reversed_twists_the_other_way(tmp_path: Path) -> None:
    ahead, back = metal(small(tmp_path), "twist", "twist_mirror")
    assert ahead.angle == pytest.approx(-back.angle, rel=1e-9, abs=1e-12)


# ------------------------------------------------------------- agreement with beams


def test_shells_agree_with_beams_on_a_small_frame(tmp_path: Path) -> None:
    """Channels with tubes between: what the beam rules for joints describe well too."""
    one = compare(small(tmp_path, rail=CHANNEL), [case("twist"), case("bending")], SIZE)
    assert one.left_out == ()
    for each in one.cases:
        assert each.stiffness is not None
        sheet_joints, beam_rules = each.stiffness.off()
        assert sheet_joints == pytest.approx(0.0, abs=0.03)
        assert beam_rules == pytest.approx(0.0, abs=0.10)
    twist = one.cases[0]
    assert [x for x, _ in twist.twist] == [0.0, 200.0, MIDDLE, 1400.0, 2200.0, END]
    for _, angle in twist.twist:
        off, _ = angle.off(twist.whole_twist)
        assert off is None or abs(off) < 0.03
    assert one.cases[1].twist == ()
    assert one.freedoms.shells > 10.0 * one.freedoms.beam_rules
    assert one.seconds.shells > 0.0


def test_stress_at_mid_bay_is_that_of_statics(tmp_path: Path) -> None:
    """By hand: M = 500 N x, I of the thin-walled box 80 x 60 x 3 at mid-wall, z = 40 mm."""
    frame = small(tmp_path, stations=(0.0, MIDDLE, END))
    places = mid_bays(frame)
    assert [p.station for p in places] == [600.0, 1800.0]
    by_hand = 500.0 * 600.0 * 40.0 / (2.0 * 3.0 * 80.0**3 / 12.0 + 2.0 * 60.0 * 3.0 * 40.0**2)
    rows = {name: [p.station for p in places] for name, _ in places[0].rails}
    (shells,) = analyse_metal(frame, [case("bending")], SIZE, rows)
    (beams,) = analyse(frame, [case("bending")]).solutions
    assert beam_stress(frame, beams, places) == pytest.approx([by_hand] * 2, rel=1e-3)
    assert metal_stress(frame, shells, places) == pytest.approx([by_hand] * 2, rel=0.03)


def test_stress_within_a_patch_is_read_from_its_metal() -> None:
    """The boxed ladder's rails are sheet metal all along: no beam is left in them."""
    frame = demo("ladder_flange_welded_boxed")
    places = mid_bays(frame)
    (patched,) = analyse(frame, [case("ladder_bending")], sheet_joints=True).solutions
    rails = [k for k, m in enumerate(patched.mesh.members) if m.startswith("rail")]
    assert not np.isin(patched.mesh.elements.member, rails).any()
    (beams,) = analyse(frame, [case("ladder_bending")]).solutions
    inner = slice(1, 3)  # beyond the supports; in the outer bays the joints bend the rails
    found, expected = (beam_stress(frame, s, places)[inner] for s in (patched, beams))
    assert found == pytest.approx(expected, rel=0.02)


def test_stress_in_a_patch_is_alike_on_both_sides(tmp_path: Path) -> None:
    """Two joints close together are one patch; the left one is the right one's mirror image."""
    frame = small(tmp_path, stations=(300.0, 500.0, 2200.0), rail=CHANNEL)
    place = next(p for p in mid_bays(frame) if p.bay.words == "X0 to X1")
    (beams,) = analyse(frame, [case("bending")], sheet_joints=True).solutions
    mirrored = {p.patch.canon.mirrored for p in beams.metal if "X0" in p.patch.name}
    assert mirrored == {True, False}
    sides = [replace(place, rails=(rail,)) for rail in place.rails]
    right, left = beam_stress(frame, beams, sides)
    assert right == pytest.approx(left, rel=1e-5)
    rows = {name: [d] for name, d in place.rails}
    (shells,) = analyse_metal(frame, [case("bending")], 16.0, rows)
    assert metal_stress(frame, shells, [place]) == pytest.approx([right], rel=0.05)


def test_a_stretch_within_a_joint_has_no_middle() -> None:
    """From the axle to the tube beside it are 30 mm, the rails are 123 mm deep."""
    frame = demo("ladder_tubes")
    assert [p.bay.words for p in mid_bays(frame)] == [
        "X1 to X2",
        "X2 to X3",
        "X3 to X4",
        "X4 to X5",
    ]


def test_profiles_end_where_the_beams_end(tmp_path: Path) -> None:
    """A rail's end within a patch has no node: no figure stands there, not a made-up one."""
    ladder = Ladder(
        points=((0.0, 450.0, 500.0, CHANNEL), (END, 450.0, 500.0, CHANNEL)),
        crosses=tuple(Cross(x, CROSS, "web") for x in (60.0, MIDDLE, END - 60.0)),
        axles=(400.0, 2000.0),
        seats=((400.0,), (2000.0,)),
    )
    (twist,) = compare(ladder.frame(tmp_path), [case("twist")], SIZE).cases
    assert [x for x, angle in twist.twist if angle.sheet_joints is None] == [0.0, END]
    assert all(angle.beam_rules is not None for _, angle in twist.twist)


# --------------------------------------------------------------------- what is refused


def test_a_frame_of_welds_is_meshed_whole(tmp_path: Path) -> None:
    frame = small(tmp_path)
    assert meshable(frame) == (frame, ())


def test_bolts_without_a_pattern_are_left_out_and_named(tmp_path: Path) -> None:
    whole = small(tmp_path, "web", "bolted", "web")
    frame, lines = meshable(whole)
    assert [m.name for m in whole.members if m not in frame.members] == ["X1"]
    assert all(j.member != "X1" for j in frame.joints)
    (line,) = lines
    assert line.startswith("X1 on rail")
    assert "bolted without a pattern" in line
    with pytest.raises(SolveError, match="X1 on rail"):
        analyse_metal(whole, [case("twist")], SIZE)


def test_members_that_meet_as_one_are_named() -> None:
    """The arms of the pickup's X are welded to each other in the middle."""
    fitted = demo("orchard_pickup", fit=("x_member",))
    assert fitted.meetings
    frame, lines = meshable(fitted)
    assert frame.meetings == ()
    for meeting in fitted.meetings:
        assert any(f"the weld at {meeting.name}" in line for line in lines)


def test_what_stands_on_a_member_left_out_goes_with_it(tmp_path: Path) -> None:
    whole = small(tmp_path, "web", "bolted", "web")
    joints = tuple(
        replace(j, onto="X1") if j.member == "X2" and j.end == "start" else j for j in whole.joints
    )
    frame, lines = meshable(replace(whole, joints=joints))
    assert {m.name for m in frame.members} == {"rail right", "rail left", "X0"}
    assert any(line.startswith("X2: it stands on") for line in lines)


def test_a_rail_that_hangs_on_nothing_is_named(tmp_path: Path) -> None:
    frame = small(tmp_path, "bolted", "bolted", "bolted")
    with pytest.raises(SolveError, match="hangs on nothing") as refusal:
        compare(frame, [case("twist")], SIZE)
    assert "rail" in refusal.value.complaints[0].where


@pytest.mark.parametrize(
    ("change", "found"),
    [
        ({"weight": case("own_weight").weight}, "a weight"),
        ({"pushes": (Push(Place(station=MIDDLE), moment=(0.0, 1e6, 0.0)),)}, "a moment at a place"),
        ({"pushes": (Push(Place(station=MIDDLE), (0.0, 0.0, 1.0), arm=(0.0, 9.0, 0.0)),)},
         "a force on an arm"),
        ({"holds": (Hold(Place(axle="rear"), "clamped"),)}, "clamped held"),
    ],
)  # fmt: skip
def test_what_would_be_missing_from_the_metal_is_refused(
    tmp_path: Path, change: dict[str, object], found: str
) -> None:
    with pytest.raises(SolveError) as refusal:
        analyse_metal(small(tmp_path), [replace(case("bending"), **change)], SIZE)
    assert [c.found for c in refusal.value.complaints] == [found]


def test_supports_that_leave_the_frame_loose_are_refused(tmp_path: Path) -> None:
    bending = case("bending")
    loose = replace(bending, holds=bending.holds[:1])
    for cases in ([loose], [bending, loose]):
        with pytest.raises(SolveError):
            analyse_metal(small(tmp_path), cases, SIZE)


# --------------------------------------------------------------------- what is compared


def test_the_teaching_ladders_are_bent_within_their_ends() -> None:
    from fea.document.find import find_frame

    assert len(teaching_ladders()) == 4
    for path in teaching_ladders().values():
        assert default_cases(path) == ("twist", "ladder_bending")
    assert default_cases(find_frame("orchard_pickup")) == ("twist", "bending")
