"""Bulkheads: a plate across a rail, in the mesh, in the mass and in what it does."""

from pathlib import Path

import numpy as np
import pytest

from fea.analyse import analyse
from fea.document.read import read_case, read_frame
from fea.element.beam import N_FREEDOMS
from fea.frame.build import build_frame
from fea.frame.build_case import build_case
from fea.frame.model import Frame
from fea.mesh import bulkhead
from fea.result.mass import masses

MEMBERS = Path(__file__).parents[3] / "cases" / "sheet_metal"


def member(name: str) -> Frame:
    path = MEMBERS / f"{name}.toml"
    return build_frame(read_frame(path), source=str(path))


def twist(frame: Frame) -> float:
    """Return the tip's twist, rad."""
    case = build_case(read_case(MEMBERS / "tip_twist.toml"))
    solution = analyse(frame, [case], sheet_joints=True).solutions[0]
    return float(solution.u[N_FREEDOMS * solution.mesh.node_at("member", 1000.0) + 3])


def test_the_plate_fills_the_rail() -> None:
    frame = member("member_part_boxed_middle_bulkheads")
    rail, one = frame.member("member"), frame.bulkheads[0]
    plate = bulkhead.mesh(rail, one, 12.0)
    assert bulkhead.area(rail, one) == pytest.approx(120.0 * 50.0)
    a, b, c, d = (plate.points[plate.quads[:, k]] for k in range(4))
    areas = 0.5 * np.linalg.norm(np.cross(c - a, d - b), axis=1)
    assert areas.sum() == pytest.approx(120.0 * 50.0)
    np.testing.assert_allclose(plate.points[:, 0], 250.0)
    rim = plate.points[plate.rim]
    low, high = plate.points.min(axis=0), plate.points.max(axis=0)
    on_edge = np.isclose(rim, low) | np.isclose(rim, high)
    assert on_edge[:, 1:].any(axis=1).all()


def test_it_weighs_what_it_should() -> None:
    bare, fitted = (masses(member(f"member_part_boxed_middle{end}")) for end in ("", "_bulkheads"))
    assert fitted.steel - bare.steel == pytest.approx(2 * 120.0 * 50.0 * 3.0 * 7.85e-9)
    assert fitted.centre[0] == pytest.approx(500.0)


def test_it_keeps_a_box_from_lozenging() -> None:
    bare, fitted = (twist(member(f"member_part_boxed_middle{end}")) for end in ("", "_bulkheads"))
    assert fitted < 0.5 * bare


def test_equal_metal_with_and_without_is_not_taken_for_equal() -> None:
    bare, fitted = (
        analyse(
            member(f"member_part_boxed_middle{end}"),
            [build_case(read_case(MEMBERS / "tip_twist.toml"))],
            sheet_joints=True,
        ).mesh.patches[0]
        for end in ("", "_bulkheads")
    )
    assert bare.canon.key != fitted.canon.key
