"""Energy shares: everything that gives is counted, bolts inside sheet metal too."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from handmade import case
from vehicles import VEHICLES, called, vehicle

from fea.analyse import analyse
from fea.document.read import read_frame
from fea.frame.build import build_frame
from fea.frame.model import Frame
from fea.frame.mounts import effective
from fea.frame.ties import candidates
from fea.result.energy import shares
from fea.solve.assemble import sparse_rows
from fea.solve.condense import condense

BOLTS = 'joint = "bolted"\nbolts = {}\nbolt = "{}"\nbolt_spacing = "50 mm"\nbracket_wall = "5 mm"'
STATIONS = (350.0, 550.0)


@pytest.fixture
def frame(tmp_path: Path) -> Frame:
    """Two rails and two crossmembers, so close that both joints of a side are one patch."""
    lines = ['title = "Bolted"', "[material.steel]", 'E = "205 GPa"', "nu = 0.3"]
    lines += ['density = "7850 kg/m3"', 'yield = "240 MPa"', "[section.C]", 'shape = "channel"']
    lines += ['depth = "123 mm"', 'flange = "51.5 mm"', 'wall = "3 mm"', "[[rail]]"]
    lines += ['name = "rail"', "points = ["]
    for name, x, rest in (("P0", 0, ', section = "C"'), ("P1", 1800, "")):
        place = f'name = "{name}", station = "{x} mm", offset = "400 mm", height = "0 mm"'
        lines.append(f"{{ {place}{rest} }},")
    lines.append("]")
    for name, x, bolts in zip("AB", STATIONS, ((4, "M8"), (2, "M12")), strict=True):
        lines += ["[[crossmember]]", f'name = "{name}"', f'station = "{x} mm"', 'section = "C"']
        lines.append(BOLTS.format(*bolts))
    for axle, x in (("front", 0), ("rear", 1800)):
        lines += [f"[axle.{axle}]", f'station = "{x} mm"', 'track = "900 mm"']
        lines.append(f'seats = [{{ station = "{x} mm" }}]')
    path = tmp_path / "bolted.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    return build_frame(read_frame(path), source=str(path))


@pytest.mark.parametrize("sheet_joints", [False, True])
def test_the_shares_add_up_to_the_work(frame: Frame, sheet_joints: bool) -> None:
    (solution,) = analyse(frame, [case("twist")], sheet_joints=sheet_joints).solutions
    force, values = solution.loads.force, solution.loads.values
    work = 0.5 * float(force @ solution.u + solution.reactions @ values)
    found = shares(solution)
    # Rounding in the condensed metal; the bolts are 1.7 % of it.
    assert sum(s.energy for s in found) == pytest.approx(work, rel=1e-6)
    bolts = [s.name for s in found if "bolts" in s.name]
    want = [f"{m} on rail {side}, bolts" for m in "AB" for side in ("left", "right")]
    assert sorted(bolts) == want


def test_each_joint_has_the_energy_of_its_own_springs(frame: Frame) -> None:
    (solution,) = analyse(frame, [case("twist")], sheet_joints=True).solutions
    energy = {s.name: s.energy for s in shares(solution)}
    assert len(solution.metal) == 2
    for piece in solution.metal:
        sheet = piece.patch.sheet()
        _, recover = condense(sheet)
        u = recover @ solution.u[piece.freedoms]
        each = 0.5 * sheet.spring_stiffness * (sparse_rows(sheet.springs, len(u)) @ u) ** 2
        assert len(sheet.bolted) == 2
        for k, (name, end) in enumerate(sheet.bolted):
            onto = next(j.onto for j in frame.joints if (j.member, j.end) == (name, end))
            own = float(np.sum(each[sheet.spring_joint == k]))
            assert energy[f"{name} on {onto}, bolts"] == pytest.approx(own, rel=1e-6)


@pytest.mark.parametrize(("name", "body"), VEHICLES)
def test_bodies_mounts_and_ties_have_their_shares(name: str, body: str) -> None:
    """A mount's from its own motion; a body's from the work of mounts and ties on it."""
    frame = vehicle(name, body)
    first = [t for t in candidates(frame) if t.pair == candidates(frame)[0].pair]
    tied = replace(frame, ties=tuple(replace(t, fitted=True) for t in first))
    for load in ("twist", "bending"):
        (solution,) = analyse(tied, [case(load)]).solutions
        mesh, u = solution.mesh, solution.u.reshape(-1, 7)
        found = {s.name: s.energy for s in shares(solution)}
        work = 0.5 * float(solution.loads.force @ solution.u)
        assert sum(found.values()) == pytest.approx(work, rel=1e-9)
        assert {f"tie {t.pair} {t.side}" for t in first} <= set(found)
        for at in mesh.bodies:
            for mount in frame.mounts:
                node = at.node_of.get(("mount", mount.name, mount.side))
                if node is None:
                    continue
                there = mesh.node_at(mount.onto, mount.distance)
                where = np.array(mount.position)
                body_end, frame_end = (
                    u[n, :3] + np.cross(u[n, 3:6], where - mesh.points[n]) for n in (node, there)
                )
                own = 0.5 * float(np.array(effective(mount)) @ (body_end - frame_end) ** 2)
                assert found[f"mount {mount.name} {mount.side}"] == pytest.approx(own, rel=1e-6)
            # What springs do to the body's nodes is all that acts on it.
            rows = sparse_rows(mesh.springs.rows, mesh.n_freedoms)
            on = -(rows.T @ solution.spring_force).reshape(-1, 7)[at.nodes]
            given = 0.5 * float(np.sum(on * u[at.nodes]))
            # The body's energy is a small difference in rigid motion that costs nothing.
            assert found[called(at.body.name)] == pytest.approx(given, rel=1e-6)
