"""Where a frame is taken as sheet metal, and which pieces of it are equal."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from handmade import case
from plain_ladder import BOLTS, ladder

from fea.analyse import analyse
from fea.element.beam import N_FREEDOMS
from fea.frame.model import Frame
from fea.mesh import patches
from fea.mesh.discretise import discretise
from fea.mesh.distortion import fade_length
from fea.mesh.patches import Patch
from fea.solve.condense import Memory, metals

TURN, MOVE = np.array([0.2, -0.4, 0.3]), np.array([1.0, 2.0, -3.0])
GUSSET = 'joint = "web"\ngusset = { legs = "80 mm", wall = "4 mm" }'
LONG = ((0.0, 500.0), (3000.0, 500.0))


def patch_at(frame: Frame, member: str, end: str) -> Patch:
    """Return the patch that a crossmember's end lies in."""
    at = 0 if end == "start" else -1
    found = [
        p
        for p in discretise(frame, sheet_joints=True).patches
        for le in p.lengths
        if le.member == member and (le.start == 0.0 if at == 0 else not le.cut_end)
    ]
    assert len(found) == 1
    return found[0]


@pytest.mark.parametrize(
    "keys",
    ['joint = "web"', 'joint = "web_and_flanges"', 'joint = "through"', GUSSET,
     'joint = "bolted"\n' + BOLTS],
)  # fmt: skip
def test_a_rigid_motion_of_a_patch_costs_nothing(tmp_path: Path, keys: str) -> None:
    frame = ladder(tmp_path, keys=keys, points=LONG, stations=(1500.0,))
    mesh = discretise(frame, sheet_joints=True)
    u = np.zeros((len(mesh.points), N_FREEDOMS))
    u[:, :3], u[:, 3:6] = MOVE + np.cross(TURN, mesh.points), TURN
    assert len(mesh.patches) == 2
    for metal in metals(mesh.patches, Memory()):
        q = u.ravel()[metal.freedoms]
        K = metal.stiffness
        assert np.linalg.norm(K @ q) < 1e-10 * np.linalg.norm(K) * np.linalg.norm(q)
        value = np.linalg.eigvalsh(K)
        assert value[0] > -1e-10 * value[-1]


@pytest.mark.parametrize("keys", ['joint = "web"', GUSSET, 'joint = "bolted"\n' + BOLTS])
def test_equal_joints_have_one_key(tmp_path: Path, keys: str) -> None:
    """Right and left are mirror images, front and rear one another moved along."""
    frame = ladder(tmp_path, keys=keys, points=LONG, stations=(700.0, 2300.0))
    found = discretise(frame, sheet_joints=True).patches
    assert len(found) == 4
    assert len({p.canon.key for p in found}) == 1
    assert {p.canon.mirrored for p in found} == {True, False}


def test_mirrored_and_moved_patches_have_the_stiffness_they_would_have_alone(
    tmp_path: Path,
) -> None:
    frame = ladder(tmp_path, points=LONG, stations=(700.0, 2300.0))
    found = discretise(frame, sheet_joints=True).patches
    together = metals(found, Memory())
    for patch, metal in zip(found, together, strict=True):
        (alone,) = metals((patch,), Memory())
        scale = np.max(np.abs(alone.stiffness))
        np.testing.assert_allclose(metal.stiffness, alone.stiffness, rtol=0, atol=1e-8 * scale)


def test_what_changes_the_metal_changes_the_key(tmp_path: Path) -> None:
    kinds = [
        'joint = "web"',
        'joint = "web_and_flanges"',
        GUSSET,
        GUSSET.replace("4 mm", "5 mm"),
        'joint = "bolted"\n' + BOLTS,
        'joint = "bolted"\n' + BOLTS.replace("M10", "M12"),
        'joint = "web"\ndrop = "5 mm"',
        'joint = "web"\nopens = "front"',
    ]
    keys = set()
    for words in kinds:
        frame = ladder(tmp_path, keys=words, points=LONG, stations=(1500.0,))
        keys.add(patch_at(frame, "X0", "end").canon.key)
    assert len(keys) == len(kinds)


def test_holes_and_seams_change_the_key(tmp_path: Path) -> None:
    frame = ladder(tmp_path, rail="box 120", cross="box 60", points=LONG, stations=(1500.0,))
    rail = frame.member("rail right")
    line = rail.runs[0].section.midline
    soft = np.ones(len(line.walls))
    soft[0] = 0.5
    keys = set()
    for factors in ((None, None), (soft, None), (None, soft), (None, 0.9 * soft), (soft, soft)):
        midline = replace(line, normal_factor=factors[0], shear_factor=factors[1])
        run = replace(rail.runs[0], section=replace(rail.runs[0].section, midline=midline))
        members = tuple(
            replace(m, runs=(run,)) if m.name == rail.name else m for m in frame.members
        )
        keys.add(patch_at(replace(frame, members=members), "X0", "end").canon.key)
    assert len(keys) == 5
    plain = replace(line, normal_factor=np.ones_like(soft), shear_factor=np.ones_like(soft))
    run = replace(rail.runs[0], section=replace(rail.runs[0].section, midline=plain))
    members = tuple(replace(m, runs=(run,)) if m.name == rail.name else m for m in frame.members)
    assert patch_at(replace(frame, members=members), "X0", "end").canon.key in keys


# ------------------------------------------------------------------------------ how far


def test_a_patch_reaches_as_far_as_what_happens_in_it(tmp_path: Path) -> None:
    for rail, reach in (
        ("channel 120", patches.DEPTHS * 123.0),
        ("box 120", None),
    ):
        frame = ladder(tmp_path, rail=rail, cross="box 60", points=LONG, stations=(1500.0,))
        section = frame.member("rail right").runs[0].section
        if reach is None:
            reach = patches.FADES * fade_length(section.midline)
            assert reach > patches.DEPTHS * 123.0
        (length,) = (le for le in patch_at(frame, "X0", "end").lengths if le.member == "rail right")
        assert length.start == pytest.approx(1500.0 - 30.0 - reach)
        assert length.end == pytest.approx(1500.0 + 30.0 + reach)


def test_only_joints_with_metal_of_their_own_are_taken(tmp_path: Path) -> None:
    free = 'joint = "bolted"\njoint_stiffness = { move = "200 kN/mm", turn = "3e8 N mm/rad" }'
    for keys, count in ((free, 0), ('joint = "rigid"', 0), (free + "\n" + BOLTS, 0),
                        ('joint = "bolted"\n' + BOLTS, 2)):  # fmt: skip
        frame = ladder(tmp_path, keys=keys, points=LONG, stations=(1500.0,))
        assert len(discretise(frame, sheet_joints=True).patches) == count


def test_a_frame_that_is_all_sheet_metal_needs_no_beam(tmp_path: Path) -> None:
    points = ((0.0, 150.0), (500.0, 150.0))
    frame = ladder(tmp_path, points=points, stations=(100.0, 400.0))
    mesh = discretise(frame, sheet_joints=True)
    assert len(mesh.beams.length) == 0
    analysis = analyse(frame, [case("twist")], sheet_joints=True)
    assert analysis.solutions[0].checks.energy_balance < 1e-6
