"""Where joints are welded, and what a weld carries."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from handmade import SMALL_TUBE, Cross, Ladder, Sheet, demo, section, two_rails

from fea.errors import ModelError
from fea.frame.model import Frame, Gusset, Joint
from fea.section import shapes
from fea.strength.joint_forces import JointForce
from fea.strength.weld import KSI, Electrode, carried, joint_weld

RAIL = Sheet("channel", (("depth", 123.0), ("flange", 51.5), ("wall", 3.0)))
FITS = Sheet("channel", (("depth", 117.0), ("flange", 51.5), ("wall", 3.0)))
TUBE = Sheet("tube", (("diameter", 63.0), ("wall", 2.0)))


def ladder(folder: Path, cross: Sheet, joint: str) -> Frame:
    points = ((0.0, 300.0, 0.0, RAIL), (1200.0, 300.0, 0.0, RAIL))
    crosses = (Cross(200.0, cross, joint), Cross(1000.0, cross, joint))
    seats = ((0.0,), (1200.0,))
    return Ladder(points, crosses, (0.0, 1200.0), seats).frame(folder)


def test_a_tube_on_a_web_is_welded_all_round_its_middle(tmp_path: Path) -> None:
    found = joint_weld(frame := ladder(tmp_path, TUBE, "web"), frame.joints[0])
    assert found is not None
    assert found.line.length == pytest.approx(np.pi * 61.0, rel=2e-3)
    assert found.thinner == pytest.approx(2.0, rel=2e-3)
    onto = frame.member(frame.joints[0].onto)
    # All of it lies in the plane of the rail's web.
    assert np.ptp(found.line.ends[..., 1]) < 1e-9
    assert abs(found.line.centroid[1] - onto.path[0, 1]) < 1e-9


def test_a_tube_through_two_walls_is_welded_at_both() -> None:
    frame = two_rails(
        1000.0, 700.0, SMALL_TUBE, section(shapes.tube(diameter=42.0, wall=2.0)), (400.0,),
        Joint("", "start", "", 0.0, "through"),
    )  # fmt: skip
    found = joint_weld(frame, frame.joints[0])
    assert found is not None
    assert found.line.length == pytest.approx(2.0 * np.pi * 40.0, rel=2e-3)
    assert sorted({round(y, 6) for y in found.line.ends[..., 1].ravel()}) == [-380.0, -320.0]


def test_flanges_are_welded_as_far_as_the_rail_reaches(tmp_path: Path) -> None:
    frame = ladder(tmp_path, FITS, "web_and_flanges")
    found = joint_weld(frame, frame.joints[0])
    web = joint_weld(frame, replace(frame.joints[0], kind="web"))
    assert found is not None
    assert web is not None
    outline = 114.0 + 2.0 * 50.0
    assert web.line.length == pytest.approx(outline)
    # At top and bottom: both edges of the flange over 50 mm, and 50 mm across at the lip.
    assert found.line.length == pytest.approx(outline + 2.0 * (2.0 * 50.0 + 50.0))


def test_flanges_are_welded_to_a_rail_that_climbs_as_well() -> None:
    frame = demo("orchard_pickup", True)
    joint = next(j for j in frame.joints if j.member == "X6")
    found, web = (joint_weld(frame, replace(joint, kind=k)) for k in ("web_and_flanges", "web"))
    assert found is not None
    assert web is not None
    # Four edges over the rail's 55 mm, and 48.5 mm at either lip, less half a wall here and there.
    assert found.line.length - web.line.length == pytest.approx(4 * 53.0 + 2 * 48.5, rel=0.02)


def test_what_stands_beyond_the_wall_is_not_welded() -> None:
    deep = section(shapes.box(depth=123.0, width=43.0, wall=3.0))
    frame = two_rails(1000.0, 700.0, SMALL_TUBE, deep, (400.0,), Joint("", "start", "", 0.0, "web"))
    found = joint_weld(frame, frame.joints[0])
    assert found is not None
    # Two upright walls over the rail's 60 mm and twice its 3 mm at either edge.
    assert found.line.length == pytest.approx(2.0 * 72.0)


def test_a_bolted_end_has_no_weld_and_a_gusset_is_told(tmp_path: Path) -> None:
    frame = ladder(tmp_path, TUBE, "web")
    joint = frame.joints[0]
    assert joint_weld(frame, replace(joint, kind="bolted")) is None
    found = joint_weld(frame, replace(joint, gusset=Gusset(80.0, 3.0, "both")))
    assert found is not None
    assert "gusset left out" in found.about


def test_a_weld_off_the_wall_is_refused() -> None:
    frame = two_rails(
        1000.0, 700.0, SMALL_TUBE, SMALL_TUBE, (400.0,), Joint("", "start", "", 0.0, "web")
    )
    line = frame.member("X0").runs[0].section.midline
    # A section that stands wholly above the rail's wall, one level wall on its axis apart.
    high = replace(line, points=np.array([[-5.0, 90.0], [5.0, 90.0]]), walls=np.array([[0, 1]]))
    high = replace(high, thickness=np.array([3.0]), names=())
    run = replace(frame.member("X0").runs[0], section=section(high))
    members = [replace(m, runs=(run,)) if m.name == "X0" else m for m in frame.members]
    with pytest.raises(ModelError, match="must lie on the wall"):
        joint_weld(replace(frame, members=tuple(members)), frame.joints[0])


def test_a_tube_carries_bending_torque_and_shear_as_a_ring(tmp_path: Path) -> None:
    frame = ladder(tmp_path, TUBE, "web")
    weld = joint_weld(frame, frame.joints[0])
    assert weld is not None
    r, L = 30.5, np.pi * 61.0
    push = np.array([0.0, 0.0, 400.0, 90e3, 50e3, 0.0])
    force = JointForce(
        frame.joints[0], weld.line.centroid, push, np.array([0.0, 1.0, 0.0]), "beam", False
    )
    load = carried(weld, force, Electrode(480.0), 3.0)
    bending, torsion, shear = 90e3 / (np.pi * r**2), 50e3 / (2.0 * np.pi * r**2), 400.0 / L
    # Bending is worst at top and bottom, where torsion goes along the rail and shear up.
    assert load.per_length == pytest.approx(np.sqrt(bending**2 + torsion**2 + shear**2), rel=5e-3)
    allowed = 0.707 * 0.3 * 480.0
    assert load.required == pytest.approx(load.per_length / allowed)
    assert load.use == pytest.approx(load.per_length / (3.0 * allowed))
    assert load.throat_stress == pytest.approx(load.per_length / (0.707 * 3.0))


def test_the_usual_electrode_is_of_70_ksi() -> None:
    # 0.928 kip per inch on every sixteenth of an inch.
    assert Electrode().per_length(25.4 / 16.0) == pytest.approx(0.928 * 4448.22 / 25.4, rel=1e-3)
    assert Electrode(60.0 * KSI).leg(100.0) > Electrode().leg(100.0)
