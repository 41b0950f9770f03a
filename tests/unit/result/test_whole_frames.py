"""What is read off the shipped frames adds up, and agrees with slow twins."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from handmade import DEMOS, FRAMES, case, demo

from fea.analyse import Solution, analyse
from fea.element.beam import N_FREEDOMS, deformation, end_loads, geometry
from fea.frame.model import Frame
from fea.result.answer import NM_PER_DEG, Answer, answers
from fea.result.energy import shares
from fea.result.forces import end_forces, section_forces
from fea.result.mass import masses
from fea.result.shape import axis_motion, surface
from fea.result.stress import stresses

LOADS = ("twist", "bending", "own_weight", "payload")


def solution(name: str, stock: bool, load: str) -> Solution:
    return analyse(demo(name, stock), [case(load)]).solutions[0]


@pytest.mark.parametrize(("name", "stock"), DEMOS)
def test_energy_shares_and_bays_sum_to_one(name: str, stock: bool) -> None:
    frame = demo(name, stock)
    twist, bending = answers(analyse(frame, [case("twist"), case("bending")]))
    for answer in (twist, bending):
        assert sum(s.share for s in answer.shares) == pytest.approx(1.0, rel=1e-12)
        assert all(s.share > -1e-9 for s in answer.shares)
        members = {m.name for m in frame.members}
        assert members <= {s.name for s in answer.shares}
    assert sum(b.share for b in twist.bays) == pytest.approx(1.0, rel=1e-12)
    assert bending.bays == ()
    front, rear = frame.axle("front"), frame.axle("rear")
    assert front is not None
    assert rear is not None
    assert twist.bays[0].start == front.station
    assert twist.bays[-1].end == rear.station
    for one, next_one in zip(twist.bays[:-1], twist.bays[1:], strict=True):
        assert one.end == next_one.start


@pytest.mark.parametrize(("name", "stock"), DEMOS)
@pytest.mark.parametrize("load", ["twist", "bending"])
def test_strain_energy_is_the_work_of_the_loads(name: str, stock: bool, load: str) -> None:
    s = solution(name, stock, load)
    stored = sum(x.energy for x in shares(s))
    assert stored == pytest.approx(0.5 * float(s.loads.force @ s.u), rel=1e-8)


@pytest.mark.parametrize("name", FRAMES)
def test_peaks_are_the_highest_of_all_corners(name: str) -> None:
    frame = demo(name)
    answer = answers(analyse(frame, [case("twist")]))[0]
    mesh = answer.solution.mesh
    highest: dict[str, float] = {}
    use: dict[str, float] = {}
    for group in stresses(answer.solution):
        for row, element in enumerate(group.elements):
            member = mesh.members[mesh.elements.member[element]]
            top = float(np.max(group.von_mises[row]))
            highest[member] = max(highest.get(member, 0.0), top)
            share = top / float(mesh.elements.yield_stress[element])
            use[member] = max(use.get(member, 0.0), share)
    assert {p.member for p in answer.peaks} == set(mesh.members)
    for peak in answer.peaks:
        assert peak.utilisation == pytest.approx(use[peak.member], rel=1e-14)
        assert abs(peak.normal) <= peak.von_mises * (1.0 + 1e-12)
    values = [p.von_mises for p in answer.peaks]
    assert values == sorted(values, reverse=True)
    assert answer.measures["highest_utilisation"] == max(p.utilisation for p in answer.peaks)


@pytest.mark.parametrize("name", ["orchard_pickup", "harbour_tourer", "ladder_web_butt"])
def test_a_peak_lies_on_its_member(name: str) -> None:
    """Its corner is nearer to the member's line than the member is deep or wide."""
    frame = demo(name)
    for peak in answers(analyse(frame, [case("twist")]))[0].peaks:
        member = frame.member(peak.member)
        corner = np.array([peak.station, peak.offset, peak.height])
        steps = np.linspace(0.0, 1.0, 400)[:, None]
        line = np.concatenate(
            [a + steps * (b - a) for a, b in zip(member.path[:-1], member.path[1:], strict=True)]
        )
        size = max(np.hypot(r.section.depth, r.section.width) for r in member.runs)
        assert np.min(np.linalg.norm(line - corner, axis=1)) < size


@pytest.mark.parametrize("load", LOADS)
def test_forces_are_in_balance_across_every_free_node(load: str) -> None:
    """At a corner of a rail where nothing else sits, the elements carry the node's load."""
    s = solution("orchard_pickup", True, load)
    beams, nodes = s.mesh.beams, s.mesh.elements.nodes
    at = np.einsum("nij,ni->nj", geometry(beams), end_forces(s))
    sums = np.zeros((len(s.mesh.points), N_FREEDOMS))
    for k, pair in enumerate(nodes):
        for end, node in enumerate(pair):
            sums[node] += at[k, 7 * end : 7 * end + 7]
    mesh = s.mesh
    joined = (*mesh.ties.freedom, *mesh.springs.rows.freedom, *s.loads.rows.freedom)
    taken = {int(f) // N_FREEDOMS for f in joined}
    free = [int(n) for n in mesh.nodes_of["rail right"][1] if int(n) not in taken]
    assert free
    pushed = s.loads.force.reshape(-1, N_FREEDOMS).copy()
    spread = np.einsum("nij,ni->nj", geometry(beams), end_loads(beams, s.loads.element_load))
    for k, pair in enumerate(nodes):
        for end, node in enumerate(pair):
            pushed[node] -= spread[k, 7 * end : 7 * end + 7]
    left = np.abs(sums[free] - pushed[free])
    for part in (slice(0, 3), slice(3, 6), slice(6, 7)):
        size = np.max(np.abs(at.reshape(-1, 2, 7)[:, :, part]))
        assert np.max(left[:, part]) < 1e-8 * size


@pytest.mark.parametrize("load", LOADS)
def test_section_forces_meet_the_end_forces(load: str) -> None:
    s = solution("orchard_pickup", True, load)
    inside, end = section_forces(s, np.array([0.0, 1.0])), end_forces(s)
    for k, letter in enumerate(("N", "Vy", "Vz", "T", "M1", "M2")):
        values = getattr(inside, letter)
        size = np.max(np.abs(values))
        np.testing.assert_allclose(values[:, 0], -end[:, k], atol=1e-12 * size)
        np.testing.assert_allclose(values[:, 1], end[:, 7 + k], atol=1e-7 * size)
    warps = s.mesh.beams.ECw > 0.0
    size = np.max(np.abs(inside.B))
    np.testing.assert_allclose(inside.B[warps, 0], -end[warps, 6], atol=1e-12 * size)
    np.testing.assert_allclose(inside.B[warps, 1], end[warps, 13], atol=1e-7 * size)
    size = np.max(np.abs(inside.T_uniform)) + np.max(np.abs(inside.T_warping))
    both = inside.T_uniform + inside.T_warping
    np.testing.assert_allclose(both, inside.T, rtol=0.0, atol=1e-12 * size)


def test_deformations_are_those_of_the_ends() -> None:
    s = solution("harbour_tourer", True, "twist")
    for k, (i, j) in enumerate(s.mesh.elements.nodes):
        ends = s.u.reshape(-1, N_FREEDOMS)[[i, j]].ravel()
        slow = deformation(s.mesh.beams)[k] @ (geometry(s.mesh.beams)[k] @ ends)
        np.testing.assert_allclose(s.deformations[k], slow, rtol=1e-9, atol=1e-15)
        if k > 20:
            break


def slow_steel(frame: Frame) -> tuple[float, np.ndarray]:
    """Member by member, run by run along the corners, in short slices."""
    total, moment = 0.0, np.zeros(3)
    for m in frame.members:
        at = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(m.path, axis=0), axis=1))))
        for run in m.runs:
            line = run.section.midline
            a, b = (line.points[line.walls[:, k]] for k in (0, 1))
            area = line.thickness * np.linalg.norm(b - a, axis=1)
            centre = area @ (a + b) / 2.0 / area.sum()
            cuts = sorted({run.start, run.end, *(x for x in at if run.start < x < run.end)})
            for low, high in pairwise(cuts):
                k = min(int(np.searchsorted(at, (low + high) / 2.0)) - 1, len(at) - 2)
                along = (m.path[k + 1] - m.path[k]) / (at[k + 1] - at[k])
                up = m.up - (m.up @ along) * along
                up /= np.linalg.norm(up)
                side = np.cross(up, along)
                middle = m.path[k] + ((low + high) / 2.0 - at[k]) * along
                mass = float(area.sum()) * run.material.density * (high - low)
                total += mass
                moment += mass * (middle + centre[0] * side + centre[1] * up)
    return total, moment / total


@pytest.mark.parametrize(("name", "stock"), DEMOS)
def test_steel_and_its_centre(name: str, stock: bool) -> None:
    frame = demo(name, stock)
    summary = masses(frame)
    total, centre = slow_steel(frame)
    assert summary.steel == pytest.approx(total, rel=1e-9)
    np.testing.assert_allclose(summary.centre, centre, rtol=1e-9, atol=1e-6)
    assert summary.centre[1] == pytest.approx(0.0, abs=1e-6)


def test_a_member_with_a_rigid_end_on_one_side_weighs_in_its_middle() -> None:
    frame = demo("ladder_flange_welded")
    joints = tuple(
        replace(j, kind="web") if (j.member, j.end) == ("X1", "end") else j for j in frame.joints
    )
    frame = replace(frame, joints=joints)
    summary = masses(frame)
    total, centre = slow_steel(frame)
    assert summary.steel == pytest.approx(total, rel=1e-9)
    np.testing.assert_allclose(summary.centre, centre, rtol=1e-9, atol=1e-6)


@pytest.mark.parametrize(
    ("name", "kerb", "laden"), [("orchard_pickup", 1.5, 2.15), ("harbour_tourer", 1.688, 2.038)]
)
def test_the_mass_table_of_a_demo_adds_up(name: str, kerb: float, laden: float) -> None:
    """The tables were written for these sums, tonnes; steel by its sections, not by the table."""
    frame = demo(name, stock=True)
    summary = masses(frame)
    assert summary.kerb == pytest.approx(kerb, rel=2e-4)
    people = sum(m.mass for m in frame.masses if m.laden)
    assert summary.kerb + people == pytest.approx(laden, rel=2e-4)
    assert summary.kerb == pytest.approx(summary.steel + summary.carried, rel=1e-14)


@pytest.mark.parametrize("name", ["orchard_pickup", "ladder_web_butt"])
def test_the_skin_lies_on_the_sections_and_moves_with_the_nodes(name: str) -> None:
    s = solution(name, False, "twist")
    skin = surface(s, pieces=4)
    assert skin.points.shape == skin.movement.shape == (len(skin.von_mises), 3)
    assert skin.quads.shape == (len(skin.member), 4)
    assert np.max(skin.quads) == len(skin.points) - 1
    assert np.all(np.isfinite(skin.movement))
    # The most a point of the skin moves is a little more than the most a node moves.
    nodes = np.linalg.norm(s.u.reshape(-1, N_FREEDOMS)[:, :3], axis=1)
    moved = np.linalg.norm(skin.movement, axis=1)
    assert 0.99 * np.max(nodes) < np.max(moved) < 2.0 * np.max(nodes)
    assert np.max(skin.von_mises) == pytest.approx(
        max(float(np.max(g.von_mises)) for g in stresses(s, np.linspace(0.0, 1.0, 5)))
    )
    # Every wall of every element is there once: strips times walls.
    walls = [len(mesh_walls) // 2 for mesh_walls in (p.point_y for p in s.mesh.sections)]
    expected = sum(walls[k] for k in s.mesh.elements.section) * 4
    assert len(skin.quads) == expected


def test_an_open_section_warps_as_its_sectorial_coordinate_says() -> None:
    """Along the member a section's points move as a plane, plus omega times the rate of twist."""
    s = solution("ladder_flange_welded", True, "twist")
    mesh, places = s.mesh, np.array([0.0, 0.5, 1.0])
    skin = surface(s, pieces=2)
    chi = axis_motion(s, places)[:, :, 6]
    elements = np.flatnonzero(mesh.elements.member == mesh.members.index("rail right"))
    plain = 0.0
    for element in elements:
        p = mesh.sections[mesh.elements.section[element]]
        start = mesh.origin_lines()[0, element]
        axes = mesh.beams.axes[element]
        for k, place in enumerate(places):
            origin = start + place * mesh.beams.length[element] * axes[0]
            y = p.point_y + mesh.beams.centroid[element, 0]
            z = p.point_z + mesh.beams.centroid[element, 1]
            corners = origin + y[:, None] * axes[1] + z[:, None] * axes[2]
            gap = np.linalg.norm(skin.points[None] - corners[:, None], axis=2)
            assert np.max(gap.min(axis=1)) < 1e-6
            along = skin.movement[gap.argmin(axis=1)] @ axes[0]
            plane = np.column_stack([np.ones_like(y), y, z])

            def bent(values: np.ndarray, plane: np.ndarray = plane) -> np.ndarray:
                return values - plane @ np.linalg.lstsq(plane, values, rcond=None)[0]

            expected = bent(chi[element, k] * p.omega)
            plain = max(plain, float(np.max(np.abs(expected))))
            np.testing.assert_allclose(bent(along), expected, atol=1e-6)
    assert plain > 0.1  # mm: there is warping to be seen


def test_measures_and_their_units() -> None:
    twist, bending = answers(analyse(demo("ladder_tubes"), [case("twist"), case("bending")]))
    assert twist.twist_stiffness is not None
    assert twist.measures["twist_stiffness_nm_per_deg"] == twist.twist_stiffness * NM_PER_DEG
    assert NM_PER_DEG * 1000.0 * 180.0 / np.pi == pytest.approx(1.0, rel=1e-15)
    assert "bending_stiffness_n_per_mm" not in twist.measures
    assert bending.measures["bending_stiffness_n_per_mm"] == bending.bending_stiffness
    assert twist.measures["mass_kg"] == pytest.approx(1000.0 * twist.mass.steel)
    largest = max(abs(_angles(twist)))
    assert twist.measures["largest_twist_deg"] == pytest.approx(np.degrees(largest))


def _angles(answer: Answer) -> np.ndarray:
    assert answer.profile is not None
    return answer.profile.angle
