"""What a frame carries as lumps: total, centre and inertia, wherever it hangs."""

import numpy as np
import pytest
from handmade import demo

from fea.frame.case import Case, Weight
from fea.frame.spots import places
from fea.mesh.discretise import discretise
from fea.result.mass import masses
from fea.solve.assemble import sparse_rows
from fea.solve.carried import lumps, shares, total
from fea.solve.inertia import inertia
from fea.solve.rigid import motions
from fea.solve.system import system

CARRY = Case("carry", "", "", "none", (), weight=Weight(1.0, True, True))


@pytest.mark.parametrize("name", ["orchard_pickup", "harbour_tourer"])
@pytest.mark.parametrize("laden", [False, True])
def test_mass_and_centre_are_the_documents(name: str, laden: bool) -> None:
    frame = demo(name)
    mesh = discretise(frame, places(frame, CARRY))
    found = lumps(frame, mesh, laden=laden)
    listed = [m for m in frame.masses if m.carrier != "unsprung" and (laden or not m.laden)]
    assert total(found) == pytest.approx(sum(m.mass for m in listed), rel=1e-12)
    rigid = motions(mesh.points, 7, np.zeros(3), 1.0)
    for mass in listed:
        mine = [lump for lump in found if lump.name == mass.name]
        # A turn about each axis moves the lumps' mean as it moves the document's point.
        move = sum(m.mass * (sparse_rows(m.rows, mesh.n_freedoms) @ rigid) for m in mine)
        expected = np.stack([np.cross(turn, mass.position) for turn in np.eye(3)], axis=1)
        np.testing.assert_allclose(move[:, :3] / mass.mass, np.eye(3), atol=1e-9)
        np.testing.assert_allclose(move[:, 3:] / mass.mass, expected, atol=1e-6)


def test_the_whole_mass_matrix_weighs_metal_and_lumps() -> None:
    frame = demo("orchard_pickup")
    mesh = discretise(frame, places(frame, CARRY))
    found = lumps(frame, mesh)
    M = inertia(system(mesh), frame, found).M
    rigid = motions(mesh.points, 7, np.zeros(3), 1.0)
    moved = rigid.T @ (M @ rigid)
    book = masses(frame)
    assert moved[0, 0] == pytest.approx(book.steel + total(found), rel=1e-9)


def test_shares_are_none_below_zero_and_centre_where_they_can() -> None:
    square = np.array([[0.0, -1.0], [0.0, 1.0], [2.0, -1.0], [2.0, 1.0]]) * 400.0
    inside = shares(square, np.array([500.0, 100.0]))
    assert inside @ square == pytest.approx([500.0, 100.0], abs=1e-3)
    assert inside.sum() == pytest.approx(1.0)
    beyond = shares(square, np.array([-300.0, 0.0]))
    assert np.min(beyond) >= 0.0
    assert beyond == pytest.approx([0.5, 0.5, 0.0, 0.0], abs=1e-6)
