"""Seams of plates by Bredt, their stitches; details, ranges and what is said of fatigue."""

import numpy as np
import pytest
from handmade import SMALL_TUBE, cantilever, case, demo, section, two_rails

from fea.analyse import analyse
from fea.frame.case import Case, Hold, Place, Push
from fea.frame.model import Joint
from fea.section import shapes
from fea.section.properties import properties
from fea.section.seam import Stitch
from fea.strength.fatigue import Detail, cautions, toe, weld_stress
from fea.strength.report import Wanted, strength
from fea.strength.seams import seam_edges, seam_leg, seam_loads, section_flow
from fea.strength.weld import Electrode, joint_weld

BOXED = shapes.boxed_channel(depth=124.0, flange=52.0, wall=4.0, plate=3.0)


def test_the_flow_under_torque_is_that_of_bredt() -> None:
    zero = np.zeros(1)
    torque = {"Vy": zero, "Vz": zero, "T_uniform": np.array([1e6]), "T_warping": zero}
    flow = section_flow(properties(BOXED), torque)[0, seam_edges(BOXED)]
    cell = np.ptp(BOXED.points[:, 0]) * np.ptp(BOXED.points[:, 1])
    p = properties(BOXED)
    assert np.abs(flow) == pytest.approx(1e6 * p.J_cells / p.J / (2.0 * cell), rel=0.02)
    assert len(flow) == 2
    assert seam_leg(BOXED) == pytest.approx(3.0)


def test_a_section_without_a_plate_has_no_seam() -> None:
    assert len(seam_edges(shapes.channel(depth=124.0, flange=52.0, wall=4.0))) == 0
    assert len(seam_edges(SMALL_TUBE.midline)) == 0


def test_stitches_take_the_flow_of_their_pitch() -> None:
    frame = demo("orchard_pickup")
    (solution,) = analyse(frame, [case("twist")]).solutions
    plain = seam_loads(frame, solution, Electrode(480.0), leg=3.0)
    parts = [f"boxing_{w}" for w in ("front", "cab", "kick_up", "rear")]
    assert sorted({s.part for s in plain}) == sorted(parts)
    stitches = {"boxing_cab": Stitch(25.0, 100.0)}
    for one, other in zip(
        plain,
        seam_loads(frame, solution, Electrode(480.0), leg=3.0, stitches=stitches),
        strict=True,
    ):
        assert other.flow == one.flow
        factor = 4.0 if one.part == "boxing_cab" else 1.0
        assert other.use == pytest.approx(factor * one.flow / (0.707 * 3.0 * 0.3 * 480.0))
        assert other.weld_per(100.0) == pytest.approx(100.0 * one.use)


def test_a_twisted_cantilever_has_the_flow_of_its_cell() -> None:
    frame = cantilever(2000.0, section(BOXED))
    motions = ("station", "offset", "height", "roll", "pitch", "yaw")  # free to warp
    root = tuple(Hold(Place(station=0.0), motion) for motion in motions)
    push = Push(Place(station=2000.0), moment=(1e6, 0.0, 0.0))
    turned = Case("turned", "Turned", "", "none", root, (push,))
    (solution,) = analyse(frame, [turned]).solutions
    (load,) = seam_loads(frame, solution, Electrode())
    cell = np.ptp(BOXED.points[:, 0]) * np.ptp(BOXED.points[:, 1])
    p = properties(BOXED)
    assert load.flow == pytest.approx(1e6 * p.J_cells / p.J / (2.0 * cell), rel=1e-9)
    assert (load.start, load.end, load.part) == (0.0, 2000.0, None)


@pytest.mark.parametrize(
    ("length", "category"), [(50.0, 80.0), (51.0, 71.0), (80.1, 63.0), (101.0, 56.0)]
)
def test_the_longer_what_is_welded_on_the_lower_its_class(length: float, category: float) -> None:
    assert toe(length).category == category


def test_the_limit_where_cycles_are_alike_follows_from_slope_three() -> None:
    # 2 million over 5 million cycles, to the third root.
    detail = Detail("any", 100.0, "")
    assert detail.limit == pytest.approx(100.0 * (2.0 / 5.0) ** (1.0 / 3.0), rel=1e-3)


def test_stress_under_a_weld_goes_straight_along_the_wall() -> None:
    frame = two_rails(
        1000.0, 700.0, SMALL_TUBE, SMALL_TUBE, (400.0,), Joint("", "start", "", 0.0, "web")
    )
    weld = joint_weld(frame, frame.joints[1])
    assert weld is not None
    onto = frame.member("rail right")
    run = onto.runs[0]
    line = run.section.midline
    # A bending stress of 2 MPa per mm of height: 60 at the corners of the 60 mm outline.
    stress = 2.0 * line.points[line.walls].reshape(-1, 2)[:, 1]
    found = weld_stress(onto, 400.0, run, stress, weld)
    assert found == pytest.approx(2.0 * float(np.abs(weld.line.ends[..., 2]).max()))


def test_cautions_range_over_twice_the_stress_and_come_worst_first() -> None:
    frame = demo("harbour_tourer")
    twist = case("twist")
    found = strength(frame, [twist], twist, Wanted(leg=3.0))
    ratios = [c.ratio for c in found.cautions]
    assert ratios == sorted(ratios, reverse=True)
    throat = {c.where: c for c in found.cautions if c.detail.category == 36.0}
    for joint in found.joints:
        if joint.weld is not None:
            where = f"{joint.force.joint.member} on {joint.force.joint.onto}"
            assert throat[where].range == pytest.approx(2.0 * joint.weld.per_length / (0.707 * 3.0))
    names = {c.detail.name for c in found.cautions}
    assert {"end of a long plate", "weld toe on the rail", "seam, welded by hand"} <= names


def test_stitched_seams_are_another_detail() -> None:
    frame = demo("orchard_pickup")
    (solution,) = analyse(frame, [case("twist")]).solutions
    found = cautions(frame, solution, [], {"boxing_cab": Stitch(25.0, 100.0)})
    stitched = {c.where for c in found if c.detail.name == "seam, stitched"}
    assert stitched == {"boxing_cab on rail right", "boxing_cab on rail left"}


def test_the_worst_case_governs_each_joint() -> None:
    frame, twist = demo("orchard_pickup"), case("twist")
    cases = [twist, case("bending")]
    both = strength(frame, cases, twist, Wanted())
    alone = [strength(frame, [c], twist, Wanted()) for c in cases]
    for k, joint in enumerate(both.joints):
        each = {s.cases[0].name: s.joints[k] for s in alone}
        if joint.weld is None:
            continue
        uses = {name: j.use for name, j in each.items()}
        assert joint.use == pytest.approx(max(uses.values()), rel=1e-9)
        assert joint.case == max(uses, key=lambda name: uses[name])
