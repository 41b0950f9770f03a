"""The sparse stiffness against the same sum written as plain loops."""

from dataclasses import fields

import numpy as np
import pytest
from handmade import demo

from fea.element import beam
from fea.element.beam import Beams
from fea.mesh.discretise import discretise
from fea.mesh.mesh import Mesh, Rows
from fea.solve.assemble import element_freedoms, sparse_rows, stiffness


def one(beams: Beams, k: int) -> Beams:
    return Beams(**{f.name: getattr(beams, f.name)[k : k + 1] for f in fields(beams)})


def slow_stiffness(mesh: Mesh) -> np.ndarray:
    """Element by element, freedom by freedom, then spring by spring."""
    K = np.zeros((mesh.n_freedoms, mesh.n_freedoms))
    for k, pair in enumerate(mesh.elements.nodes):
        block = beam.stiffness(one(mesh.beams, k))[0]
        freedoms = [7 * int(node) + c for node in pair for c in range(7)]
        for i, row in enumerate(freedoms):
            for j, column in enumerate(freedoms):
                K[row, column] += block[i, j]
    rows = mesh.springs.rows
    for k, value in enumerate(mesh.springs.stiffness):
        mine = [t for t in range(len(rows.row)) if rows.row[t] == k]
        for s in mine:
            for t in mine:
                both = rows.coefficient[s] * rows.coefficient[t]
                K[rows.freedom[s], rows.freedom[t]] += value * both
    return K


@pytest.mark.parametrize("name", ["ladder_web_butt", "harbour_tourer"])
def test_the_fast_sum_is_the_slow_sum(name: str) -> None:
    mesh = discretise(demo(name))
    slow, fast = slow_stiffness(mesh), stiffness(mesh).toarray()
    assert len(mesh.springs.stiffness) > 0
    size = np.sqrt(np.outer(slow.diagonal(), slow.diagonal()))
    assert np.all(np.abs(fast - slow) <= 1e-12 * size + 1e-300)


def test_the_stiffness_is_symmetric_and_costs_energy() -> None:
    K = stiffness(discretise(demo("ladder_flange_welded"))).toarray()
    scale = 1.0 / np.sqrt(np.where(K.diagonal() > 0.0, K.diagonal(), 1.0))
    scaled = scale[:, None] * K * scale
    np.testing.assert_allclose(scaled, scaled.T, rtol=0.0, atol=1e-12)
    assert np.linalg.eigvalsh(scaled)[0] > -1e-12


def test_freedoms_of_elements() -> None:
    nodes = np.array([[0, 2], [2, 1]])
    expected = [[*range(7), *range(14, 21)], [*range(14, 21), *range(7, 14)]]
    assert element_freedoms(nodes).tolist() == expected


def test_rows_as_a_matrix_add_up_what_meets() -> None:
    index = np.array([0, 0, 1]), np.array([3, 3, 0])
    rows = Rows(*index, np.array([2.0, 0.5, -1.0]), 3)
    expected = [[0.0, 0.0, 0.0, 2.5], [-1.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 0.0]]
    assert sparse_rows(rows, 4).toarray().tolist() == expected
    np.testing.assert_array_equal(
        rows.transposed(np.array([1.0, 2.0, 3.0]), 4), np.transpose(expected) @ [1.0, 2.0, 3.0]
    )
