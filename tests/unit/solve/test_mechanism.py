"""What can move freely is named, with the motion in words."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from handmade import case, demo, simply_held, square_tube, two_rails

from fea.analyse import analyse
from fea.errors import SolveError
from fea.frame.case import Case, Place, Push
from fea.frame.model import Frame

SMALL = two_rails(
    2000.0, 800.0, square_tube(100.0, 3.0), square_tube(60.0, 3.0), [0.0, 1000.0, 2000.0]
)
DOWN = simply_held([Push(Place(wheelbase=0.5), (0.0, 0.0, -1000.0))])
STIFF = np.inf


def bolted(*stiffness: float) -> Frame:
    joints = tuple(
        replace(j, kind="bolted", stiffness=stiffness) if j.member == "X1" else j
        for j in SMALL.joints
    )
    return replace(SMALL, joints=joints)


def told(frame: Frame, load: Case) -> list[str]:
    """Return the complaints of the mechanism, each as one line."""
    with pytest.raises(SolveError) as error:
        analyse(frame, [load])
    for complaint in error.value.complaints:
        assert complaint.do == "join it, or hold it in the load case"
    return [f"{c.rule} | {c.found}" for c in error.value.complaints]


def test_the_frame_itself_is_no_mechanism() -> None:
    assert analyse(SMALL, [DOWN]).solutions[0].checks.pivot > 1e-6


@pytest.mark.parametrize(
    ("number", "motion"),
    [
        (0, "its movement along the vehicle's long axis"),
        (1, "its movement sideways"),
        (2, "its movement up and down"),
        (4, "its rotation about the axis across the vehicle"),
    ],
)
def test_a_bolted_crossmember_that_is_free_one_way(number: int, motion: str) -> None:
    stiffness = [2e5, 2e5, 2e5, 3e8, 3e8, 3e8]
    stiffness[number] = 0.0
    (line,) = told(bolted(*stiffness), DOWN)
    assert line.startswith("crossmember X1, ")
    assert f"nothing holds {motion}" in line
    assert line.endswith("| moving as one: X1")


@pytest.mark.parametrize("number", [3, 5])
def test_hinges_that_leave_nothing_loose(number: int) -> None:
    """About the long and the upright axis one end holds the other."""
    stiffness = [STIFF] * 6
    stiffness[number] = 0.0
    assert analyse(bolted(*stiffness), [DOWN]).solutions


def test_a_crossmember_joined_to_nothing_has_six_motions() -> None:
    joints = tuple(j for j in SMALL.joints if j.member != "X1")
    lines = told(replace(SMALL, joints=joints), DOWN)
    assert len(lines) == 6
    assert all(line.startswith("crossmember X1, ") for line in lines)
    motions = {line.split("nothing holds ")[1].split(" |")[0] for line in lines}
    assert len(motions) == 6
    assert not any("warping" in motion for motion in motions)


def without(wanted: Callable[[str, str | None], bool]) -> Case:
    holds = tuple(h for h in DOWN.holds if not wanted(h.motion, h.place.axle))
    return replace(DOWN, holds=holds)


@pytest.mark.parametrize(
    ("load", "motions"),
    [
        (
            without(lambda motion, _: motion == "offset"),
            {"its movement sideways", "its rotation about the vertical axis"},
        ),
        (
            without(lambda motion, axle: motion == "offset" and axle == "front"),
            {"its rotation about the vertical axis"},
        ),
        (
            without(lambda motion, _: motion == "station"),
            {"its movement along the vehicle's long axis"},
        ),
        (
            without(lambda motion, axle: motion == "height" and axle == "front"),
            {"its rotation about the axis across the vehicle"},
        ),
    ],
)
def test_a_case_that_holds_too_little(load: Case, motions: set[str]) -> None:
    lines = told(SMALL, load)
    assert {line.split("nothing holds ")[1].split(" |")[0] for line in lines} == motions
    for line in lines:
        assert line.startswith("rail ")
        assert line.endswith("| the whole frame moves with it")


def test_two_rails_without_a_crossmember_fall_apart() -> None:
    lines = told(replace(SMALL, members=SMALL.members[:2], joints=()), DOWN)
    assert any("| moving as one: rail left" in line for line in lines)
    assert any("| moving as one: rail right" in line for line in lines)


@pytest.mark.parametrize("backend", ["banded", "superlu"])
def test_both_backends_see_it(backend: str) -> None:
    with pytest.raises(SolveError, match="crossmember X1"):
        analyse(bolted(2e5, 2e5, 2e5, 3e8, 0.0, 3e8), [DOWN], backend=backend)


def test_a_loose_crossmember_in_a_shipped_frame() -> None:
    frame = demo("orchard_pickup", stock=True)
    joints = tuple(
        replace(j, stiffness=(2e5, 2e5, 2e5, 3e8, 0.0, 3e8)) if j.member == "X3" else j
        for j in frame.joints
    )
    (line,) = told(replace(frame, joints=joints), case("twist"))
    assert line.startswith("crossmember X3, ")
    assert "its rotation about the axis across the vehicle" in line


def test_a_very_soft_joint_is_no_mechanism() -> None:
    """A brace that hardly holds still holds: 1 N mm/rad against 3e8."""
    solution = analyse(bolted(2e5, 2e5, 2e5, 3e8, 1.0, 3e8), [DOWN]).solutions[0]
    assert solution.checks.energy_balance < 1e-8
