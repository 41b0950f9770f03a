"""Which modes count as the first torsion and the first vertical bending."""

import numpy as np
import pytest
from vehicles import vehicle

from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.element.beam import N_FREEDOMS
from fea.frame.build import build_frame
from fea.result.first_modes import change, deformation, of, pick, solved
from fea.solve import rigid


@pytest.mark.parametrize("name", ["harbour_tourer", "orchard_pickup"])
def test_without_a_body_they_are_those_that_modes_names_so(name: str) -> None:
    path = find_frame(name)
    found = solved(build_frame(read_frame(path), source=str(path)))
    first = of(found)
    named = {m.name: m.frequency for m in found.modes}
    assert first.torsion is not None
    assert first.bending is not None
    assert first.torsion.frequency == named["first torsion"]
    assert first.bending.frequency == named["first vertical bending"]
    assert change(first.torsion, first.torsion) == 0.0
    assert change(first.torsion, None) is None


def test_a_rigid_roll_is_no_torsion_and_a_body_that_sways_is_none() -> None:
    found = solved(vehicle("orchard_pickup", "open"))
    mesh, frame = found.mesh, found.frame
    roll = rigid.motions(mesh.points, N_FREEDOMS, np.zeros(3), 1.0)[:, 3]
    own, share = deformation(frame, mesh, roll)
    assert share < 1e-10
    assert np.abs(own).max() < 1e-7 * np.abs(roll).max()
    assert pick(frame, mesh, roll[:, None]) == (None, None)
    first = of(found)
    assert first.torsion is not None
    assert first.bending is not None
    for mode in (first.torsion, first.bending):
        _, share = deformation(frame, mesh, found.raw.shape[:, mode.number])
        assert share > 0.5
    # Lower ones, in which the cab moves on its mounts, are passed over.
    assert min(first.torsion.number, first.bending.number) > 0
