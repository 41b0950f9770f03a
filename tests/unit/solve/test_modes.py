"""Modes of small structures: against closed forms, and what must hold of any."""

import numpy as np
import pytest

from fea.document.validation import StructureDocument
from fea.errors import SolveError
from fea.mesh.mesh import Rows, arm_rows
from fea.solve.inertia import Inertia, Lump, inertia
from fea.solve.modes import Ground, Modes, modes
from fea.solve.rigid import motions
from fea.solve.system import System, system
from fea.verify.structure import Structure, build

E, G, RHO = 2e5, 8e4, 7.85e-9
BASE = {
    "id": "T",
    "title": "t",
    "source": "s",
    "certainty": "derived",
    "kind": "structure",
    "units": "mm N",
    "material": {"E": E, "G": G, "density": RHO},
    "section": {
        "s": {
            "A": 800.0, "I1": 4e5, "I2": 1e5, "J": 2e4, "Cw": 3e7,
            "centroid": [-9.0, 2.0], "shear_centre": [14.0, 2.0],
        }
    },
    "expect": [{"name": "f", "read": "frequency", "number": 1, "value": 1.0, "unit": "Hz"}],
}  # fmt: skip


def skew(**tables: object) -> Structure:
    """A free bent bar of an eccentric section, nothing along an axis."""
    plan = {
        "node": {"a": [10.0, -20.0, 30.0], "b": [900.0, 300.0, 150.0], "c": [1200.0, 900.0, -50.0]},
        "bar": [
            {"name": "ab", "from": "a", "to": "b", "section": "s", "segments": 8},
            {"name": "bc", "from": "b", "to": "c", "section": "s", "segments": 8},
        ],
    }
    return build(StructureDocument.model_validate(BASE | plan | tables))


def weighed(s: Structure, lumps: tuple[Lump, ...] = ()) -> tuple[System, Inertia]:
    whole = system(s.mesh)
    return whole, inertia(whole, lumps=lumps)


def products(found: Modes, matrix: object) -> np.ndarray:
    return np.asarray(found.shape.T @ (matrix @ found.shape))


def test_a_floating_structure_has_six_rigid_motions_and_bends_after_them() -> None:
    whole, mass = weighed(skew())
    found = modes(whole, mass, 6)
    assert found.n_rigid == 6
    assert np.all(found.frequency > 1.0)
    assert np.all(np.diff(found.frequency) > 0.0)
    assert np.max(found.residual) < 1e-8


def test_shapes_are_orthogonal_by_mass_and_by_stiffness() -> None:
    whole, mass = weighed(skew())
    found = modes(whole, mass, 8)
    square = (2.0 * np.pi * found.frequency) ** 2
    np.testing.assert_allclose(products(found, mass.M), np.eye(8), atol=1e-9)
    np.testing.assert_allclose(
        products(found, whole.K) / np.sqrt(np.outer(square, square)), np.eye(8), atol=1e-7
    )
    rigid = motions(whole.mesh.points, 7, np.zeros(3), 1000.0)
    scale = np.sqrt(np.diagonal(rigid.T @ (mass.M @ rigid)))
    assert np.max(np.abs(rigid.T @ (mass.M @ found.shape)) / scale[:, None]) < 1e-7


def test_rigid_inertia_of_two_bars_is_that_of_their_metal() -> None:
    s = skew()
    _, mass = weighed(s)
    rigid = motions(s.mesh.points, 7, np.zeros(3), 1.0)
    M = rigid.T @ (mass.M @ rigid)
    beams = s.mesh.beams
    ends = s.mesh.origin_lines()
    across = np.einsum("nk,nkj->nj", beams.centroid, beams.axes[:, 1:])
    x, w = np.polynomial.legendre.leggauss(3)
    expected = np.zeros((6, 6))
    for at, weight in zip(0.5 * (x + 1.0), 0.5 * w, strict=True):
        for k, length in enumerate(beams.length):
            r = ends[0, k] + at * (ends[1, k] - ends[0, k]) + across[k]
            m = weight * length * RHO * 800.0
            own = weight * length * RHO * np.diag([5e5, 4e5, 1e5])
            X = np.array([[0.0, -r[2], r[1]], [r[2], 0.0, -r[0]], [-r[1], r[0], 0.0]])
            expected[:3, :3] += m * np.eye(3)
            expected[:3, 3:] -= m * X
            expected[3:, :3] += m * X
            expected[3:, 3:] += beams.axes[k].T @ own @ beams.axes[k] - m * X @ X
    np.testing.assert_allclose(M, expected, rtol=0.0, atol=1e-11 * expected.max())


def test_a_lump_on_an_arm_turns_with_its_node() -> None:
    s = skew()
    node, arm = np.array([s.node["c"]]), np.array([[30.0, -40.0, 250.0]])
    lump = Lump("engine", 0.2, arm_rows(node, arm), (7.0, 8.0, 9.0))
    _, with_it = weighed(s, (lump,))
    _, without = weighed(s)
    rigid = motions(s.mesh.points, 7, np.zeros(3), 1.0)
    more = rigid.T @ ((with_it.M - without.M) @ rigid)
    place = s.mesh.points[s.node["c"]] + arm[0]
    assert more[0, 0] == pytest.approx(0.2, rel=1e-12)
    about = 0.2 * (place @ place * np.eye(3) - np.outer(place, place)) + np.diag([7.0, 8.0, 9.0])
    np.testing.assert_allclose(more[3:, 3:], about, rtol=1e-10)


def test_shares_add_up_to_the_whole() -> None:
    s = skew()
    lump = Lump("engine", 0.2, arm_rows(np.array([s.node["b"]]), np.zeros((1, 3))))
    whole, mass = weighed(s, (lump,))
    for u in modes(whole, mass, 3).shape.T:
        metal, carried = mass.shares(s.mesh, u)
        assert sum(metal.values()) + sum(carried.values()) == pytest.approx(1.0, rel=1e-9)
        assert set(metal) == {"ab", "bc"}
        assert set(carried) == {"engine"}


def test_both_solvers_agree() -> None:
    whole, mass = weighed(skew())
    one, other = (modes(whole, mass, 6, backend=b) for b in ("banded", "superlu"))
    np.testing.assert_allclose(one.frequency, other.frequency, rtol=1e-9)


def test_mass_on_ground_springs_swings_as_by_hand() -> None:
    # A stiff bar of 6.28 kg on one spring at its middle and turns held: f = sqrt(k/m)/2 pi.
    s = build(
        StructureDocument.model_validate(
            BASE
            | {
                "node": {"a": [0.0, 0.0, 0.0], "b": [1000.0, 0.0, 0.0]},
                "section": {"s": {"A": 800.0, "I1": 1e9, "I2": 1e9, "J": 1e9}},
                "bar": [{"name": "ab", "from": "a", "to": "b", "section": "s", "segments": 2}],
                "hold": [
                    {"nodes": ["a", "b"], "freedoms": ["ux", "uy", "rx"]},
                    {"nodes": ["ab 1"], "freedoms": ["ry"]},
                ],
            }
        )
    )
    rows = arm_rows(np.array([s.node["ab 1"]]), np.zeros((1, 3)))
    up = rows.row == 2
    one = Rows(np.zeros(int(up.sum()), np.intp), rows.freedom[up], rows.coefficient[up], 1)
    whole, mass = weighed(s)
    found = modes(whole, mass, 1, held=s.loads.rows, ground=Ground(one, np.array([5.0])))
    assert found.n_rigid == 0
    by_hand = np.sqrt(5.0 / (800.0 * RHO * 1000.0)) / (2.0 * np.pi)
    assert found.frequency[0] == pytest.approx(by_hand, rel=1e-5)  # the bar bends a little


def test_a_loose_part_is_named() -> None:
    plan = {
        "node": {"a": [0.0, 0.0, 0.0], "b": [800.0, 0.0, 0.0], "c": [0.0, 200.0, 0.0],
                 "d": [800.0, 200.0, 0.0]},
        "bar": [
            {"name": "ab", "from": "a", "to": "b", "section": "s", "segments": 4},
            {"name": "cd", "from": "c", "to": "d", "section": "s", "segments": 4},
        ],
    }  # fmt: skip
    whole, mass = weighed(skew(**plan))
    with pytest.raises(SolveError, match="moves freely against the rest"):
        modes(whole, mass, 10)


def test_more_modes_than_motions_are_refused() -> None:
    whole, mass = weighed(skew())
    with pytest.raises(SolveError, match="fewer modes than asked for"):
        modes(whole, mass, 5000)
