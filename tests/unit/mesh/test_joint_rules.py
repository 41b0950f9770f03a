"""What the kinds of joint tie, spring and leave free."""

from dataclasses import replace

import numpy as np
import pytest
from handmade import STEEL, demo, section, square_tube, two_rails

from fea.element.beam import N_FREEDOMS
from fea.frame.model import Frame, Joint
from fea.mesh.discretise import discretise
from fea.mesh.joints import STRIP, web_strip_stiffness
from fea.mesh.mesh import Mesh
from fea.section import shapes
from fea.solve.assemble import sparse_rows

TUBE = square_tube(60.0, 3.0)
CHANNEL = section(shapes.channel(depth=123.0, flange=51.5, wall=3.0), "C", is_open=True)
CROSS = section(shapes.channel(depth=102.5, flange=41.25, wall=2.5), "X", is_open=True)


def frame(kind: str, stiffness: tuple[float, ...] | None = None, cross: object = CROSS) -> Frame:
    joint = Joint("", "start", "", 0.0, kind, stiffness)
    return two_rails(1000.0, 600.0, CHANNEL, cross, [500.0], joint)


def end(mesh: Mesh, k: int = 0) -> int:
    return int(mesh.nodes_of["X0"][1][k])


def tied(mesh: Mesh, k: int = 0) -> list[int]:
    """Return which of the end's seven freedoms are tied."""
    slaves = set(mesh.slaves.tolist())
    return [c for c in range(7) if N_FREEDOMS * end(mesh, k) + c in slaves]


@pytest.mark.parametrize("side", [0, -1])
@pytest.mark.parametrize(
    ("kind", "freedoms", "springs"),
    [
        ("rigid", [0, 1, 2, 3, 4, 5], 0),
        ("web", [0, 1, 2, 3, 4, 5], 2),  # and a web strip at either end
        ("web_and_flanges", [0, 1, 2, 3, 4, 5, 6], 0),
    ],
)
def test_welded_ends(kind: str, freedoms: list[int], springs: int, side: int) -> None:
    mesh = discretise(frame(kind))
    assert tied(mesh, side) == freedoms
    assert len(mesh.springs.stiffness) == springs


def test_a_bolted_end_has_springs_where_given_and_ties_where_rigid() -> None:
    mesh = discretise(frame("bolted", (1e5, np.inf, 2e5, 0.0, 3e8, np.inf)))
    assert tied(mesh) == [1, 5]
    assert mesh.springs.stiffness.tolist() == [1e5, 2e5, 3e8] * 2
    assert set(mesh.springs.label) == {"X0 on rail left, joint", "X0 on rail right, joint"}


@pytest.mark.parametrize("kind", ["rigid", "web", "web_and_flanges", "bolted"])
def test_a_rigid_motion_strains_no_spring_and_keeps_every_tie(kind: str) -> None:
    stiffness = (1e5, 1e5, 2e5, 1e8, 3e8, 1e7) if kind == "bolted" else None
    joint = Joint("", "start", "", 0.0, kind, stiffness)
    base = two_rails(1000.0, 600.0, CHANNEL, CROSS, [500.0], joint)
    dropped = replace(base.members[2], path=base.members[2].path - [0.0, 0.0, 110.0])
    mesh = discretise(replace(base, members=(*base.members[:2], dropped)))
    turn = np.array([0.3, -0.5, 0.7])
    u = np.zeros((len(mesh.points), N_FREEDOMS))
    u[:, :3] = np.array([1.0, 2.0, 3.0]) + np.cross(turn, mesh.points)
    u[:, 3:6] = turn
    flat = u.ravel()
    ties = sparse_rows(mesh.ties, mesh.n_freedoms)
    np.testing.assert_allclose(ties @ flat, flat[mesh.slaves], atol=1e-10)
    springs = sparse_rows(mesh.springs.rows, mesh.n_freedoms)
    np.testing.assert_allclose(springs @ flat, 0.0, atol=1e-10)


def test_a_bolted_spring_measures_the_end_against_the_rail() -> None:
    """The end hangs 110 mm under the rail: its own motion less the rail's, swing included."""
    joint = Joint("", "start", "", 0.0, "bolted", (1e5,) * 3 + (1e8,) * 3)
    base = two_rails(1000.0, 600.0, CHANNEL, CROSS, [500.0], joint)
    dropped = replace(base.members[2], path=base.members[2].path - [0.0, 0.0, 110.0])
    mesh = discretise(replace(base, members=(*base.members[:2], dropped)))
    own, rail = end(mesh), mesh.node_at("rail left", 500.0)
    u = np.zeros(mesh.n_freedoms)
    u[7 * own + 1] = 5.0  # the end moves right
    u[7 * rail + 3] = 0.01  # the rail rolls: its underside moves by -rx * z = +1.1
    motion = sparse_rows(mesh.springs.rows, mesh.n_freedoms) @ u
    left = [k for k, name in enumerate(mesh.springs.label) if "rail left" in name]
    np.testing.assert_allclose(motion[left][:6], [0.0, 5.0 - 1.1, 0.0, -0.01, 0.0, 0.0])


def test_the_web_strip_by_hand() -> None:
    """Per flange 0.075 E t^2 b^2/g (h/2)^2, midline sizes, t the rail's web."""
    base = frame("web")
    t, b, h, gap = 3.0, 41.25 - 1.25, 100.0, (120.0 - 100.0) / 2.0
    by_hand = 2.0 * STRIP * STEEL.E * t**2 * b**2 / gap * (h / 2.0) ** 2
    for joint in base.joints:
        assert web_strip_stiffness(base, joint) == pytest.approx(by_hand, rel=1e-12)
    assert STRIP == 0.075
    mesh = discretise(base)
    assert mesh.springs.stiffness.tolist() == pytest.approx([by_hand] * 2)
    assert mesh.springs.label == ("X0 on rail left, web strip", "X0 on rail right, web strip")


def test_the_web_strip_of_a_dropped_crossmember() -> None:
    base = frame("web")
    drop = 6.0
    low = replace(base.members[2], path=base.members[2].path - [0.0, 0.0, drop])
    base = replace(base, members=(*base.members[:2], low))
    t, b, h = 3.0, 40.0, 100.0
    each = [STRIP * STEEL.E * t**2 * b**2 / g * (h / 2.0) ** 2 for g in (10.0 + drop, 10.0 - drop)]
    assert web_strip_stiffness(base, base.joints[0]) == pytest.approx(sum(each), rel=1e-12)


def test_a_gap_of_nothing_counts_as_the_web_is_thick() -> None:
    base = frame("web", cross=section(CHANNEL.midline, "same", is_open=True))
    t, b, h = 3.0, 50.0, 120.0
    by_hand = 2.0 * STRIP * STEEL.E * t**2 * b**2 / t * (h / 2.0) ** 2
    assert web_strip_stiffness(base, base.joints[0]) == pytest.approx(by_hand, rel=1e-12)


@pytest.mark.parametrize("closed", ["rail", "crossmember"])
def test_closed_members_have_no_web_strip(closed: str) -> None:
    joint = Joint("", "start", "", 0.0, "web")
    rail, cross = (TUBE, CROSS) if closed == "rail" else (CHANNEL, TUBE)
    base = two_rails(1000.0, 600.0, rail, cross, [500.0], joint)
    assert web_strip_stiffness(base, base.joints[0]) == 0.0
    assert len(discretise(base).springs.stiffness) == 0


def test_the_bounds_of_the_web_joint() -> None:
    base = frame("web")
    soft, stiff = (discretise(base, joint_bound=b) for b in ("soft", "stiff"))
    assert len(soft.springs.stiffness) == len(stiff.springs.stiffness) == 0
    assert tied(soft) == [0, 1, 2, 3, 4, 5]
    assert tied(stiff) == [0, 1, 2, 3, 4, 5, 6]
    assert any("soft bound" in line for line in soft.assumed)
    assert any("stiff bound" in line for line in stiff.assumed)


def test_what_was_assumed_is_said_with_its_count() -> None:
    said = " / ".join(discretise(demo("orchard_pickup", stock=True)).assumed)
    assert "6 ends welded to web and flanges" in said
    assert "6 ends welded to the web only" in said
    assert "2 ends bolted" in said
    assert "(an estimate)" in said
