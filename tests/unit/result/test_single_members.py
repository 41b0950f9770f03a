"""The single members beside thin-shell models of the same sheet metal.

Source: own thin-shell study (four-node shells, mesh-converged).  A channel 120 x 50 x 3 at the
middle of its sheet, 1000 mm long, clamped at its root; its tip keeps its shape.  Twist under
100 N m in rad, movement under 1000 N in mm.
"""

from dataclasses import replace
from functools import cache

import pytest
from running import ROOT

from fea.analyse import analyse
from fea.document.read import read_case, read_frame
from fea.errors import ModelError
from fea.frame.build import build_frame
from fea.frame.build_case import build_case
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.result.readings import readings

FOLDER = ROOT / "cases" / "sheet_metal"

SHELLS = [
    # member, case, reading, shells, within: of the beams
    ("open", "tip_twist", "tip twist", 0.2288, 0.015),
    ("open", "tip_twist_end_plate", "tip twist", 0.0836, 0.02),
    ("open", "tip_force_web", "tip lift", 1.838, 0.005),
    ("open", "tip_force_web", "tip twist", 0.0407, 0.01),
    ("open", "tip_force_side", "tip movement", 9.90, 0.005),
    ("boxed", "tip_twist", "tip twist", 9.934e-4, 0.015),
    ("boxed", "tip_force_web", "tip lift", 0.8535, 0.01),
    ("boxed", "tip_force_side", "tip movement", 3.221, 0.01),
]


def member(name: str) -> Frame:
    path = FOLDER / f"member_{name}.toml"
    return build_frame(read_frame(path), source=str(path))


def load(name: str) -> Case:
    return build_case(read_case(FOLDER / f"{name}.toml"))


@cache
def read(name: str, case: str, *, sheet: bool) -> dict[str, float]:
    (solution,) = analyse(member(name), [load(case)], sheet_joints=sheet).solutions
    return {r.name: r.value for r in readings(solution)}


@pytest.mark.parametrize(("name", "case", "reading", "shells", "within"), SHELLS)
def test_the_beams_beside_the_shells(
    name: str, case: str, reading: str, shells: float, within: float
) -> None:
    assert abs(read(name, case, sheet=False)[reading]) == pytest.approx(shells, rel=within)


def test_the_channel_hardly_twists_about_the_shells_shear_centre() -> None:
    """The shells' lies 0.4 % nearer to the web than thin-wall theory's: -0.00015 rad."""
    twist = read("open", "tip_force_shear_centre", sheet=False)["tip twist"]
    assert twist == pytest.approx(-0.00015, abs=1e-5)


@pytest.mark.parametrize(("name", "case", "reading", "shells", "within"), SHELLS)
def test_a_member_without_a_joint_stays_beams(
    name: str, case: str, reading: str, shells: float, within: float
) -> None:
    assert read(name, case, sheet=True) == read(name, case, sheet=False)


def test_a_plate_over_the_root_half_as_sheet_metal() -> None:
    """Beams keep the plated length in shape; the shells, 0.0745 rad, let it lozenge."""
    as_beams = read("part_boxed_root", "tip_twist", sheet=False)["tip twist"]
    as_metal = read("part_boxed_root", "tip_twist", sheet=True)["tip twist"]
    assert as_beams < 0.75 * 0.0745
    assert as_metal == pytest.approx(0.0745, rel=0.05)


def test_a_plate_over_the_middle_half_as_sheet_metal_gives_more_than_beams() -> None:
    """The shells, 0.0306 rad, give twice as much as beams that keep their shape."""
    as_beams = read("part_boxed_middle", "tip_twist", sheet=False)["tip twist"]
    as_metal = read("part_boxed_middle", "tip_twist", sheet=True)["tip twist"]
    assert as_beams < 0.5 * 0.0306
    assert as_metal == pytest.approx(0.0306, rel=0.05)


def test_ends_inside_sheet_metal_are_held_as_whole_sections() -> None:
    """Both ends of the member lie in its patches, and are cuts; statics holds to round-off."""
    (solution,) = analyse(
        member("part_boxed_middle"), [load("tip_twist_end_plate")], sheet_joints=True
    ).solutions
    cuts = [d for p in solution.mesh.patches for le in p.lengths for d in le.cuts]
    assert {0.0, 1000.0} <= set(cuts)
    bears = dict(zip(solution.loads.labels, solution.reactions.tolist(), strict=True))
    assert bears["point root centre, roll"] == pytest.approx(-1e5, rel=1e-9)
    assert abs(bears["point root centre, warping"]) > 1e6
    assert abs(bears["point tip centre, warping"]) > 1e6
    free = read("part_boxed_middle", "tip_twist", sheet=True)["tip twist"]
    plate = read("part_boxed_middle", "tip_twist_end_plate", sheet=True)["tip twist"]
    assert plate < 0.6 * free


def test_warping_is_not_read_off_a_wall_inside_sheet_metal() -> None:
    """Without anything that takes hold of the tip it is no cut: the metal there may lozenge."""
    case = replace(load("tip_force_web"), reads=load("tip_twist").reads)
    with pytest.raises(ModelError, match="no cross-section warps as a whole"):
        analyse(member("part_boxed_middle"), [case], sheet_joints=True)
    (solution,) = analyse(member("part_boxed_middle"), [case]).solutions
    assert len(readings(solution)) == 2


def test_a_case_answers_alike_alone_and_in_company() -> None:
    """The tip keeps its shape in the twist case and not beside it, where nothing holds it."""
    names = ("tip_force_side", "tip_twist")
    both = analyse(member("part_boxed_middle"), [load(n) for n in names], sheet_joints=True)
    for name, solution in zip(names, both.solutions, strict=True):
        alone = read("part_boxed_middle", name, sheet=True)
        together = {r.name: r.value for r in readings(solution)}
        assert together == pytest.approx(alone, rel=1e-9, abs=1e-12)
    as_beams = read("part_boxed_middle", "tip_force_side", sheet=False)
    as_metal = read("part_boxed_middle", "tip_force_side", sheet=True)
    assert as_metal["tip movement"] > 1.05 * as_beams["tip movement"]
