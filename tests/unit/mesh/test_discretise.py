"""Nodes stand where something happens, elements reach from one to the next."""

from dataclasses import replace

import numpy as np
import pytest
from handmade import (
    DEMOS,
    FRAMES,
    STEEL,
    case,
    demo,
    member,
    section,
    square_tube,
    two_rails,
)

from fea.element.beam import beam_axes
from fea.errors import ModelError
from fea.frame.model import Joint, Meeting, Run
from fea.frame.spots import places
from fea.mesh.discretise import discretise
from fea.mesh.mesh import SAME_PLACE, arm_rows, empty_rows, stack_rows
from fea.section import shapes

TUBE = square_tube(60.0, 3.0)
CHANNEL = section(shapes.channel(depth=123.0, flange=51.5, wall=3.0), "C", is_open=True)


@pytest.mark.parametrize(("name", "stock"), DEMOS)
def test_members_are_covered_from_end_to_end(name: str, stock: bool) -> None:
    frame = demo(name, stock)
    mesh = discretise(frame)
    for number, m in enumerate(frame.members):
        distances, nodes = mesh.nodes_of[m.name]
        assert distances[0] == 0.0
        assert distances[-1] == pytest.approx(m.runs[-1].end, abs=1e-9)
        assert np.all(np.diff(distances) > SAME_PLACE)
        mine = np.flatnonzero(mesh.elements.member == number)
        assert mesh.elements.nodes[mine].tolist() == np.stack([nodes[:-1], nodes[1:]], 1).tolist()
        np.testing.assert_array_equal(mesh.elements.place[mine], np.stack(
            [distances[:-1], distances[1:]], 1))  # fmt: skip


@pytest.mark.parametrize(("name", "stock"), DEMOS)
def test_elements_end_where_their_nodes_and_arms_say(name: str, stock: bool) -> None:
    mesh = discretise(demo(name, stock))
    start, end = mesh.origin_lines()
    np.testing.assert_allclose(np.linalg.norm(end - start, axis=1), mesh.beams.length, rtol=1e-12)
    np.testing.assert_allclose(
        end - start, mesh.beams.length[:, None] * mesh.beams.axes[:, 0], atol=1e-9
    )
    np.testing.assert_allclose(
        mesh.beams.axes @ np.swapaxes(mesh.beams.axes, 1, 2),
        np.tile(np.eye(3), (len(start), 1, 1)),
        atol=1e-12,
    )
    assert np.all(np.linalg.det(mesh.beams.axes) > 0.99)


@pytest.mark.parametrize("name", FRAMES)
def test_there_is_a_node_wherever_something_sits(name: str) -> None:
    """Joints and sections always; seats and mounts where a case asks for them."""
    frame = demo(name)
    mesh = discretise(frame, places(frame, case("payload")))
    carrying = {name for mass in frame.masses for name in mass.mounts}
    for joint in frame.joints:
        mesh.node_at(joint.onto, joint.distance)
    for mount in frame.mounts:
        if mount.name.rsplit(" ", 1)[0] in carrying:
            mesh.node_at(mount.onto, mount.distance)
    for seat in (s for axle in frame.axles for s in axle.seats):
        mesh.node_at(seat.onto, seat.distance)
    for m in frame.members:
        for distance in (x for run in m.runs for x in (run.start, run.end)):
            mesh.node_at(m.name, distance)


def test_a_place_without_a_node_is_refused() -> None:
    mesh = discretise(two_rails(1000.0, 600.0, TUBE, TUBE, [0.0, 1000.0]))
    with pytest.raises(KeyError, match=r"rail right has no node at 321\.000 mm"):
        mesh.node_at("rail right", 321.0)


def test_places_asked_for_get_nodes() -> None:
    frame = two_rails(1000.0, 600.0, TUBE, TUBE, [0.0, 1000.0])
    mesh = discretise(frame, {"rail right": [321.0, 654.0]})
    np.testing.assert_allclose(mesh.nodes_of["rail right"][0], [0.0, 321.0, 654.0, 1000.0])
    np.testing.assert_allclose(mesh.nodes_of["rail left"][0], [0.0, 1000.0])
    assert mesh.node_names[mesh.node_at("rail right", 321.0)] == "rail right, station 321 mm"


@pytest.mark.parametrize("refine", [1, 2, 3, 7])
def test_a_finer_mesh_splits_every_stretch_evenly(refine: int) -> None:
    frame = demo("orchard_pickup")
    coarse, fine = discretise(frame), discretise(frame, refine=refine)
    assert len(fine.beams.length) == refine * len(coarse.beams.length)
    np.testing.assert_allclose(
        fine.beams.length, np.repeat(coarse.beams.length / refine, refine), rtol=1e-9
    )
    np.testing.assert_array_equal(fine.elements.section, np.repeat(coarse.elements.section, refine))
    assert fine.members == coarse.members


def test_each_run_gives_its_own_section_and_metal() -> None:
    soft = replace(STEEL, name="soft", E=70e3, density=2.7e-9, yield_stress=120.0)
    rail = member("rail right", [(0, 300, 0), (1000, 300, 0)], TUBE, side="right")
    runs = (
        Run(0.0, 400.0, TUBE, STEEL, None, 250.0),
        Run(400.0, 1000.0, CHANNEL, soft, "plates", 110.0),
    )
    frame = two_rails(1000.0, 600.0, TUBE, TUBE, [0.0, 1000.0])
    frame = replace(frame, members=(replace(rail, runs=runs), *frame.members[1:]))
    mesh = discretise(frame, {"rail right": [200.0, 700.0]})
    mine = np.flatnonzero(mesh.elements.member == 0)
    assert mesh.elements.place[mine].tolist() == [[0, 200], [200, 400], [400, 700], [700, 1000]]
    names = [mesh.section_names[k] for k in mesh.elements.section[mine]]
    assert names == ["tube", "tube", "C", "C"]
    assert mesh.elements.yield_stress[mine].tolist() == [250.0, 250.0, 110.0, 110.0]
    area = mesh.sections[mesh.elements.section[mine[2]]].A
    assert mesh.elements.weight[mine[2]] == pytest.approx(2.7e-9 * area)
    assert mesh.beams.EA[mine[2]] == pytest.approx(70e3 * area)


def test_equal_sections_are_one() -> None:
    mesh = discretise(demo("ladder_flange_welded"))
    # Right rail, left rail (mirrored), crossmembers opening to the rear and to the front.
    assert sorted(mesh.section_names) == ["cross_channel"] * 2 + ["rail_channel"] * 2


def test_flange_welded_ends_are_rigid_to_the_lip() -> None:
    """Web middle to flange tip: 51.5 - 1.5 mm; the butted ends start at the web."""
    welded, butted = (discretise(demo(f"ladder_{n}")) for n in ("flange_welded", "web_butt"))
    for mesh, reach in ((welded, 50.0), (butted, 0.0)):
        mine = np.flatnonzero(mesh.elements.member == mesh.members.index("X3"))
        arms = np.linalg.norm(mesh.beams.arms[mine], axis=2)
        assert arms.ravel().tolist() == pytest.approx([reach, reach])
        assert mesh.beams.length[mine].tolist() == pytest.approx([800.0 - 2.0 * reach])
        # The rigid ends count as length of the member.
        assert mesh.elements.place[mine].tolist() == [[0.0, 800.0]]


def test_a_boxed_rail_has_no_lip() -> None:
    mesh = discretise(demo("ladder_flange_welded_boxed"))
    mine = np.flatnonzero(mesh.elements.member == mesh.members.index("X3"))
    assert np.max(np.abs(mesh.beams.arms[mine])) == 0.0


def test_a_crossmember_too_short_for_rigid_ends_stays_flexible() -> None:
    """Rails 130 mm apart whose flanges reach 50 mm each: 30 mm would be left."""
    web = Joint("", "start", "", 0.0, "web_and_flanges")
    for width, left in ((400.0, 300.0), (130.0, 130.0)):
        frame = two_rails(1000.0, width, CHANNEL, TUBE, [0.0, 1000.0], web)
        # The right rail's flanges point outboard as made; mirror both to open inboard.
        line = CHANNEL.midline
        turned = replace(CHANNEL, midline=replace(line, points=line.points * [-1.0, 1.0]))
        right, rest = frame.members[0], frame.members[1:]
        runs = tuple(replace(r, section=turned) for r in right.runs)
        mesh = discretise(replace(frame, members=(replace(right, runs=runs), *rest)))
        mine = np.flatnonzero(mesh.elements.member == mesh.members.index("X0"))
        assert mesh.beams.length[mine].tolist() == pytest.approx([left])


def test_something_fixed_to_the_rigid_end_makes_it_flexible() -> None:
    frame = demo("ladder_flange_welded")
    mesh = discretise(frame, {"X3": [30.0]})
    mine = np.flatnonzero(mesh.elements.member == mesh.members.index("X3"))
    assert np.max(np.abs(mesh.beams.arms[mine])) == 0.0
    assert mesh.beams.length[mine].tolist() == pytest.approx([30.0, 770.0])


def test_the_held_wall_counts_at_rails_and_welded_ends_alone() -> None:
    for name, ends in (("flange_welded", True), ("web_butt", False)):
        mesh = discretise(demo(f"ladder_{name}"), refine=3)
        rail = mesh.elements.member == mesh.members.index("rail right")
        assert np.all(np.any(mesh.beams.held[rail] != 0.0, axis=2))
        cross = np.flatnonzero(mesh.elements.member == mesh.members.index("X3"))
        held = np.any(mesh.beams.held[cross] != 0.0, axis=2)
        assert held.tolist() == [[ends, False], [False, False], [False, ends]]


# ------------------------------------------------------------------------------ refusals


def test_a_frame_of_nothing_is_refused() -> None:
    frame = two_rails(1000.0, 600.0, TUBE, TUBE, [0.0])
    with pytest.raises(ModelError, match="needs at least one member"):
        discretise(replace(frame, members=(), joints=()))


def test_a_joint_to_nowhere_is_refused() -> None:
    frame = two_rails(1000.0, 600.0, TUBE, TUBE, [0.0])
    lost = replace(frame.joints[0], onto="rail middle")
    with pytest.raises(ModelError) as error:
        discretise(replace(frame, joints=(lost,)))
    (complaint,) = error.value.complaints
    assert "two members of the frame" in complaint.rule
    assert complaint.found == "rail middle"
    assert complaint.where == "X0, start"


def test_a_member_along_its_own_up_is_refused() -> None:
    post = member("post", [(0.0, 0.0, 0.0), (0.0, 0.0, 500.0)], TUBE, "brace")
    frame = two_rails(1000.0, 600.0, TUBE, TUBE, [0.0])
    with pytest.raises(ModelError, match="own up direction"):
        discretise(replace(frame, members=(*frame.members, post)))


# ---------------------------------------------------------------------------------- axes


def test_axes_of_a_rail_and_of_a_crossmember() -> None:
    """A rail's y is the vehicle's y; a crossmember running right has y forward."""
    direction = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    up = np.tile([0.0, 0.0, 1.0], (2, 1))
    rail, cross = beam_axes(direction, up, np.zeros(2))
    np.testing.assert_allclose(rail, np.eye(3))
    np.testing.assert_allclose(cross, [[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])


def test_principal_axes_are_turned_from_y_to_z() -> None:
    (turned,) = beam_axes(np.array([[1.0, 0, 0]]), np.array([[0, 0, 1.0]]), np.array([np.pi / 2]))
    np.testing.assert_allclose(turned, [[1, 0, 0], [0, 0, 1], [0, -1, 0]], atol=1e-15)


def test_up_need_not_be_square_to_the_member() -> None:
    climb = np.array([[0.8, 0.0, 0.6]])
    (found,) = beam_axes(climb, np.array([[0.0, 0.0, 1.0]]), np.zeros(1))
    np.testing.assert_allclose(found, [[0.8, 0, 0.6], [0, 1, 0], [-0.6, 0, 0.8]], atol=1e-15)


# ---------------------------------------------------------------------------------- rows


def test_arm_rows_against_a_loop() -> None:
    chance = np.random.default_rng(4711)
    nodes, arms = np.array([2, 0]), chance.normal(size=(2, 3))
    rows = arm_rows(nodes, arms)
    u = chance.normal(size=21)
    out = np.zeros(rows.n_rows)
    np.add.at(out, rows.row, rows.coefficient * u[rows.freedom])
    for k, (node, arm) in enumerate(zip(nodes, arms, strict=True)):
        motion, turn = u[7 * node : 7 * node + 3], u[7 * node + 3 : 7 * node + 6]
        np.testing.assert_allclose(out[6 * k : 6 * k + 3], motion + np.cross(turn, arm))
        np.testing.assert_allclose(out[6 * k + 3 : 6 * k + 6], turn)


def test_rows_are_stacked_in_order() -> None:
    one, two = arm_rows(np.array([0]), np.ones((1, 3))), arm_rows(np.array([1]), np.zeros((1, 3)))
    both = stack_rows([one, two])
    assert both.n_rows == 12
    np.testing.assert_array_equal(both.row[: len(one.row)], one.row)
    np.testing.assert_array_equal(both.row[len(one.row) :], two.row + 6)
    assert stack_rows([]).n_rows == empty_rows().n_rows == 0


def test_members_that_meet_share_a_place_but_not_their_warping() -> None:
    frame = two_rails(1000.0, 600.0, TUBE, TUBE, [0.0, 1000.0])
    leg = member("leg", [(200.0, -300.0, 0.0), (800.0, 300.0, 0.0)], TUBE, "brace")
    other = member("other", [(800.0, -300.0, 0.0), (200.0, 300.0, 0.0)], TUBE, "brace")
    half = np.hypot(600.0, 600.0) / 2.0
    meeting = Meeting("XC", (500.0, 0.0, 0.0), (("leg", half), ("other", half)))
    mesh = discretise(replace(frame, members=(*frame.members, leg, other), meetings=(meeting,)))
    a, b = mesh.node_at("leg", half), mesh.node_at("other", half)
    np.testing.assert_allclose(mesh.points[[a, b]], [[500.0, 0.0, 0.0]] * 2, atol=1e-9)
    assert set(range(7 * b, 7 * b + 6)) <= set(mesh.slaves.tolist())
    assert 7 * b + 6 not in mesh.slaves
