"""Joints that pass through, that are bolted and that carry gussets: document to metal."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from handmade import case
from plain_ladder import BOLTS, ladder

from fea.analyse import analyse
from fea.element.beam import N_FREEDOMS
from fea.element.shell import Shells, area, least_corner
from fea.errors import DocumentError, ModelError
from fea.frame.crossing import axes_at
from fea.frame.model import Bolts, Frame, Gusset, Joint
from fea.mesh import bolts as bolt_rules
from fea.mesh.bolts import E_BOLT, STRESS_AREA, WASHER, pattern, places
from fea.mesh.discretise import discretise
from fea.mesh.gusset import mesh as triangle
from fea.mesh.gusset import triangles
from fea.mesh.joints import GUSSET_SHARE, flanges_meet, web_strip_stiffness
from fea.mesh.mesh import Mesh
from fea.metal import analyse_metal
from fea.result.stiffness import profile, twist_stiffness
from fea.solve.assemble import sparse_rows

BOLTED = 'joint = "bolted"\n' + BOLTS
FREE = 'joint = "bolted"\njoint_stiffness = { move = "2e5 N/mm", turn = "3e8 N mm/rad"%s }'


def joint(frame: Frame, end: str = "end") -> Joint:
    return next(j for j in frame.joints if j.end == end)


def tied(m: Mesh) -> list[int]:
    node = int(m.nodes_of["X0"][1][-1])
    return [c for c in range(7) if N_FREEDOMS * node + c in set(m.slaves.tolist())]


# ------------------------------------------------------------------------------- through


@pytest.mark.parametrize(("rail", "y"), [("channel 120", 300.0), ("box 120", 325.0)])
def test_a_member_that_passes_through_reaches_the_outermost_wall(
    tmp_path: Path, rail: str, y: float
) -> None:
    frame = ladder(tmp_path, rail=rail, cross="tube", keys='joint = "through"', stations=(600.0,))
    assert frame.member("X0").path[:, 1].tolist() == pytest.approx([-y, y])
    assert frame.member("X0").runs[0].end == pytest.approx(2.0 * y)


def test_the_rule_of_a_member_that_passes_through(tmp_path: Path) -> None:
    """Two walls: rigid over the 50 mm between them, no warping; one wall: as on the web."""
    box = ladder(tmp_path, rail="box 120", keys='joint = "through"', stations=(600.0,))
    m = discretise(box)
    mine = m.elements.member == m.members.index("X0")
    assert np.linalg.norm(m.beams.arms[mine], axis=2).ravel().tolist() == pytest.approx([50.0] * 2)
    assert tied(m) == [0, 1, 2, 3, 4, 5, 6]
    open_rail = ladder(tmp_path, keys='joint = "through"', stations=(600.0,))
    m = discretise(open_rail)
    assert tied(m) == [0, 1, 2, 3, 4, 5]
    strip = web_strip_stiffness(open_rail, joint(open_rail))
    assert m.springs.stiffness.tolist() == pytest.approx([strip] * 2)
    assert strip > 0.0


def test_a_member_cannot_pass_through_a_rail_beside_it(tmp_path: Path) -> None:
    with pytest.raises(ModelError, match="must meet its walls"):
        ladder(tmp_path, keys='joint = "through"\ndrop = "100 mm"', stations=(600.0,))


# --------------------------------------------------------------------------------- bolts


def test_bolts_stand_in_a_row_or_in_two_columns() -> None:
    def at(count: int) -> list[list[float]]:
        return places(Bolts(count, 10.0, 40.0, 5.0)).tolist()

    assert at(1) == [[0.0, 0.0]]
    assert at(2) == [[-20.0, 0.0], [20.0, 0.0]]
    assert at(3) == [[-40.0, 0.0], [0.0, 0.0], [40.0, 0.0]]
    assert sorted(at(4)) == [[-20.0, -20.0], [-20.0, 20.0], [20.0, -20.0], [20.0, 20.0]]
    assert sorted(p[1] for p in at(6)) == [-40.0, -40.0, 0.0, 0.0, 40.0, 40.0]


@pytest.mark.parametrize(
    ("rail", "drop", "centre", "normal"),
    [
        ("channel 120", 0.0, (600.0, 300.0, 0.0), 1),  # on the web
        ("box 120", 0.0, (600.0, 275.0, 0.0), 1),  # on the side it meets first
        # Under the flange between 250 and 300 mm, bolts 30 mm apart, a diameter from its edge.
        ("channel 120", 95.0, (600.0, 275.0, -60.0), 2),
    ],
)
def test_bolts_go_through_the_wall_that_the_member_comes_to(
    tmp_path: Path, rail: str, drop: float, centre: tuple[float, float, float], normal: int
) -> None:
    keys = BOLTED.replace("60 mm", "30 mm") + f'\ndrop = "{drop} mm"'
    frame = ladder(tmp_path, rail=rail, cross="box 60", keys=keys, stations=(600.0,))
    found = pattern(frame, joint(frame))
    assert found.centre.tolist() == pytest.approx(list(centre))
    assert np.abs(found.axes[2]).tolist() == pytest.approx(np.eye(3)[normal].tolist())
    assert np.linalg.det(found.axes) == pytest.approx(1.0)
    assert found.thickness == 3.0
    along = axes_at(frame.member("rail right"), 600.0)[0]
    assert np.ptp(found.points @ along) == pytest.approx(30.0)
    if drop:  # 25 mm from the middle of a 50 mm flange, less 15
        assert found.to_edge.tolist() == pytest.approx([10.0] * 4)


def test_bolts_keep_to_the_rail_at_its_end_and_must_fit_on_it(tmp_path: Path) -> None:
    frame = ladder(tmp_path, keys=BOLTED, stations=(5.0,))
    assert np.min(pattern(frame, joint(frame)).points[:, 0]) == pytest.approx(10.0)
    wide = ladder(tmp_path, keys=BOLTED.replace("60 mm", "110 mm"), stations=(600.0,))
    for meshed in (False, True):
        with pytest.raises(ModelError, match="must fit on the wall"):
            discretise(wide, sheet_joints=meshed)


def test_what_one_bolt_gives_by_hand(tmp_path: Path) -> None:
    """M10, walls 3 and 5 mm: Huth's formula with equal E but for the bolt's; the shank."""
    frame = ladder(tmp_path, keys=BOLTED, stations=(600.0,))
    found = pattern(frame, joint(frame))
    E = 205e3
    give = (
        3.0 * 0.4 ** (2 / 3) * (1 / (3 * E) + 1 / (5 * E) + 0.5 / (3 * E_BOLT) + 0.5 / (5 * E_BOLT))
    )
    assert found.shear() == pytest.approx(1.0 / give, rel=1e-12)
    assert 1e5 < found.shear() < 3e5
    assert found.pull() == pytest.approx(E_BOLT * STRESS_AREA * 100.0 / 18.0, rel=1e-12)
    plate = E * 27.0 / (12.0 * 0.91)
    off = 1.0 / (1.0 / found.pull() + 30.0**2 / (16.0 * np.pi * plate))  # 30 mm to the flange
    ring = 0.5 * (WASHER * 10.0) ** 2
    by_hand = [4 / give, 4 / give, 4 * off, 4 * off * (900.0 + ring), 4 * off * (900.0 + ring),
               4 / give * (1800.0 + 2.0 * ring)]  # fmt: skip
    assert found.springs().tolist() == pytest.approx(by_hand, rel=1e-12)


def test_springs_of_bolts_act_at_their_centre_and_mind_no_rigid_motion(tmp_path: Path) -> None:
    keys = BOLTED.replace("60 mm", "30 mm") + '\ndrop = "95 mm"'
    frame = ladder(tmp_path, cross="box 60", keys=keys, stations=(600.0,))
    m = discretise(frame)
    assert tied(m) == [6]  # the rigid plate does not warp
    assert set(m.springs.label) == {"X0 on rail left, bolts", "X0 on rail right, bolts"}
    rows = sparse_rows(m.springs.rows, m.n_freedoms)
    u = np.zeros((len(m.points), N_FREEDOMS))
    turn = np.array([0.3, -0.5, 0.7])
    u[:, :3], u[:, 3:6] = np.array([1.0, 2.0, 3.0]) + np.cross(turn, m.points), turn
    np.testing.assert_allclose(rows @ u.ravel(), 0.0, atol=1e-10)
    # The end turns about the vehicle's long axis: at the bolts, 35 mm above and 25 mm inboard
    # of it, that is a slide across the flange and a lift off it.
    u[:] = 0.0
    u[int(m.nodes_of["X0"][1][-1]), 3] = 0.01
    right = [k for k, name in enumerate(m.springs.label) if "right" in name]
    motion = (rows @ u.ravel())[right]
    assert np.abs(motion).tolist() == pytest.approx([0.0, 0.35, 0.25, 0.01, 0.0, 0.0], abs=1e-12)


def test_a_free_entry_goes_before_the_bolts(tmp_path: Path) -> None:
    frame = ladder(tmp_path, keys=FREE % "" + "\n" + BOLTS, stations=(600.0,))
    springs = discretise(frame).springs
    assert springs.stiffness.tolist() == pytest.approx(([2e5] * 3 + [3e8] * 3) * 2)


@pytest.mark.parametrize(
    ("words", "count", "ties"),
    [("", 12, []), (', warping = "1.1e11 N mm3"', 14, []), (', warping = "rigid"', 12, [6]),
     (', warping = "free"', 12, [])],
)  # fmt: skip
def test_the_warping_of_a_free_entry(
    tmp_path: Path, words: str, count: int, ties: list[int]
) -> None:
    m = discretise(ladder(tmp_path, keys=FREE % words, stations=(600.0,)))
    assert len(m.springs.stiffness) == count
    assert tied(m) == ties
    if count == 14:
        assert m.springs.stiffness[[6, 13]].tolist() == pytest.approx([1.1e11] * 2)
        assert m.springs.label[6] == "X0 on rail left, warping"


@pytest.mark.parametrize(
    ("text", "value"),
    [("1.1e11 N mm3", 1.1e11), ("110 N m3", 1.1e11), ("1 lbf in3", 4.4482216 * 25.4**3),
     ("2 kN*mm^3", 2e3)],
)  # fmt: skip
def test_the_units_of_a_warping_stiffness(tmp_path: Path, text: str, value: float) -> None:
    frame = ladder(tmp_path, keys=FREE % f', warping = "{text}"', stations=(600.0,))
    assert joint(frame).warping == pytest.approx(value, rel=1e-7)


# ------------------------------------------------------------------------------- gussets


@pytest.mark.parametrize("n", [1, 2, 5])
def test_a_triangle_in_quads_has_its_area_and_no_bad_corner(n: int) -> None:
    corners = np.array([[0.0, 0.0, 5.0], [100.0, 0.0, 5.0], [0.0, 80.0, 5.0]])
    plate = triangle(corners, n)
    assert len(plate.quads) == 3 * n * n
    shells = Shells(plate.points[plate.quads], *(np.ones(3 * n * n) for _ in range(3)))
    assert area(shells).sum() == pytest.approx(4000.0, rel=1e-12)
    assert np.min(least_corner(shells)) > 0.3
    assert np.all(plate.points[plate.on_rail][:, 1] == 0.0)
    assert np.all(plate.points[plate.on_member][:, 0] == 0.0)
    assert len(plate.on_rail) + len(plate.on_member) == 4 * n + 1


def test_gussets_stand_at_the_lip_on_the_sides_that_have_room(tmp_path: Path) -> None:
    def plates(at: str, rail: str = "channel 120", station: float = 600.0) -> list[np.ndarray]:
        keys = f'joint = "web"\ngusset = {{ legs = "80 mm", wall = "4 mm", at = "{at}" }}'
        frame = ladder(tmp_path, rail=rail, keys=keys, stations=(station,))
        return [t.points for t in triangles(frame, joint(frame), 12.0)]

    assert [len(plates(at)) for at in ("both", "top", "bottom")] == [4, 2, 2]
    top = np.concatenate(plates("top"))
    assert np.ptp(top[:, 2]) == pytest.approx(0.0, abs=1e-9)
    assert top[0, 2] == pytest.approx(50.0)  # the crossmember's upper flange
    assert np.max(top[:, 1]) == pytest.approx(250.0)  # the lip of the right rail
    assert np.min(top[:, 1]) == pytest.approx(170.0)
    assert [np.min(top[:, 0]), np.max(top[:, 0])] == pytest.approx([520.0, 720.0])
    assert np.max(np.concatenate(plates("top", rail="box 120"))[:, 1]) == pytest.approx(275.0)
    assert len(plates("both", station=50.0)) == 2  # nothing to weld to ahead of the rail


def test_the_rule_of_a_gusset(tmp_path: Path) -> None:
    base = ladder(tmp_path, stations=(600.0,))
    for at, share, freedoms in (("both", 1.0, 7), ("top", 0.5, 6)):
        plates = Gusset(100.0, 4.0, at)
        joints = tuple(replace(j, gusset=plates) for j in base.joints)
        m = discretise(replace(base, joints=joints))
        mine = m.elements.member == m.members.index("X0")
        arms = np.linalg.norm(m.beams.arms[mine], axis=2).ravel()
        assert arms.tolist() == pytest.approx([50.0 + share * GUSSET_SHARE * 100.0] * 2)
        assert len(tied(m)) == freedoms
        assert any("gussets at" in line for line in m.assumed)


# ----------------------------------------------------------------- flanges that do not meet


def test_flanges_must_lie_beside_each_other_to_share_their_warping(tmp_path: Path) -> None:
    words = 'joint = "web_and_flanges"'
    upright = ladder(tmp_path, keys=words, stations=(600.0,))
    on_side = ladder(tmp_path, keys=words + '\nopens = "up"', stations=(600.0,))
    assert flanges_meet(upright, joint(upright))
    assert not flanges_meet(on_side, joint(on_side))
    assert 6 in tied(discretise(upright))
    assert 6 not in tied(discretise(on_side))
    strips = [web_strip_stiffness(f, joint(f)) for f in (on_side, upright)]
    assert strips[0] < 0.1 * strips[1]  # its one level wall has a lever of 20 mm
    assert any("do not meet" in line for line in discretise(on_side).assumed)


def test_flanges_beyond_a_narrow_rail_have_no_web_strip(tmp_path: Path) -> None:
    frame = ladder(tmp_path, rail="channel 80", stations=(600.0,))
    assert web_strip_stiffness(frame, joint(frame)) == 0.0


# ------------------------------------------------------------- patch beside the whole frame


@pytest.mark.parametrize(
    ("rail", "cross", "keys"),
    [
        ("box 120", "tube", 'joint = "through"'),
        ("channel 80", "box 60", 'joint = "web"\ndrop = "20 mm"'),
        ("channel 120", "channel 100",
         'joint = "web"\ngusset = { legs = "80 mm", wall = "4 mm" }'),
    ],
)  # fmt: skip
def test_patches_give_the_twist_stiffness_of_the_whole_frame_in_shells(
    tmp_path: Path, rail: str, cross: str, keys: str
) -> None:
    frame = ladder(tmp_path, rail=rail, cross=cross, keys=keys,
                   points=((0.0, 350.0), (1600.0, 350.0)), stations=(250.0, 1350.0))  # fmt: skip
    twist = case("twist")
    analysis = analyse(frame, [twist], sheet_joints=True, coarse=1.5)
    assert len(analysis.mesh.beams.length) >= 2
    line = profile(frame, analysis.solutions[0])
    assert line is not None
    (shells,) = analyse_metal(frame, [twist], size=24.0)
    whole = float(np.ptp(np.interp([0.0, 1600.0], shells.stations, shells.angle)))
    assert twist_stiffness(frame, twist, line) == pytest.approx(1e6 / whole, rel=0.05)


# ------------------------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("keys", "rule"),
    [
        ('joint = "bolted"', "joint_stiffness and bolts belong to a bolted joint"),
        ('joint = "web"\n' + BOLTS, "joint_stiffness and bolts belong to a bolted joint"),
        ('joint = "bolted"\nbolts = 4\nbolt = "M10"', "described in full"),
        ('joint = "bolted"\nbolt_spacing = "60 mm"', "described in full"),
        (BOLTED.replace("bolts = 4", "bolts = 5"), "even number"),
        (BOLTED.replace("bolts = 4", "bolts = 0"), "whole number from 1 to 24"),
        (BOLTED.replace("bolts = 4", "bolts = 4.0"), "whole number from 1 to 24"),
        (BOLTED.replace("60 mm", "15 mm"), "two diameters apart"),
        (BOLTED.replace("M10", "N10"), "must have a unit|must be a number"),
        ('joint = "rigid"\ngusset = { legs = "80 mm", wall = "4 mm" }', "belongs to a welded end"),
        (FREE % ', warping = "5 N mm2"', "unit such as N mm3"),
        (FREE % ", warping = 5", "unit such as N mm3"),
        (FREE % ', warping = "-5 N mm3"', "from 0 to"),
    ],
)
def test_what_does_not_go_together_is_refused(tmp_path: Path, keys: str, rule: str) -> None:
    with pytest.raises((DocumentError, ModelError), match=rule):
        ladder(tmp_path, keys=keys, stations=(600.0,))


def test_bolts_in_inches_are_bolts_too(tmp_path: Path) -> None:
    frame = ladder(tmp_path, keys=BOLTED.replace("M10", "3/8 in"), stations=(600.0,))
    assert joint(frame).bolts == Bolts(4, pytest.approx(9.525), 60.0, 5.0)
    assert bolt_rules.has_pattern(joint(frame))
