"""Assembly against a loop over elements, freedoms and springs."""

from dataclasses import replace

import numpy as np
from random_beams import random_beams

from fea.element import beam
from fea.mesh.mesh import Elements, Mesh, Rows, Springs, empty_rows
from fea.solve import assemble


def mesh_of(seed):
    """A random tangle of elements between ten nodes, with three springs."""
    rng = np.random.default_rng(seed)
    n, n_nodes = 24, 10
    nodes = np.array([rng.choice(n_nodes, 2, replace=False) for _ in range(n)], dtype=np.intp)
    none = np.zeros(n, dtype=np.intp)
    elements = Elements(nodes, none, np.zeros((n, 2)), none, np.zeros(n), np.zeros(n), none)
    row = np.array([0, 0, 1, 1, 1, 2], dtype=np.intp)
    freedom = rng.choice(7 * n_nodes, 6, replace=False).astype(np.intp)
    springs = Springs(
        Rows(row, freedom, rng.normal(size=6), 3), np.array([3e3, 2e5, 7e8]), ("a", "b", "c")
    )
    return Mesh(
        points=rng.normal(size=(n_nodes, 3)) * 1000.0,
        elements=elements,
        beams=random_beams(n, seed),
        ties=empty_rows(),
        slaves=np.zeros(0, dtype=np.intp),
        springs=springs,
        members=("all",),
        sections=(),
        section_names=(),
        parts=(),
        nodes_of={},
        node_names=tuple(f"n{k}" for k in range(n_nodes)),
    )


def loop_twin(mesh):
    K = np.zeros((mesh.n_freedoms, mesh.n_freedoms))
    blocks = beam.stiffness(mesh.beams)
    for block, (i, j) in zip(blocks, mesh.elements.nodes, strict=True):
        at = [7 * int(i) + c for c in range(7)] + [7 * int(j) + c for c in range(7)]
        for a in range(14):
            for b in range(14):
                K[at[a], at[b]] += block[a, b]
    rows = mesh.springs.rows
    for number, k in enumerate(mesh.springs.stiffness):
        motion = np.zeros(mesh.n_freedoms)
        for r, f, c in zip(rows.row, rows.freedom, rows.coefficient, strict=True):
            if r == number:
                motion[f] += c
        K += k * np.outer(motion, motion)
    return K


def test_assembly_is_the_loops():
    mesh = mesh_of(4099)
    K, twin = assemble.stiffness(mesh).toarray(), loop_twin(mesh)
    assert np.max(np.abs(K - twin)) < 1e-13 * np.max(np.abs(twin))


def test_assembly_without_springs():
    mesh = mesh_of(4101)
    none = Springs(empty_rows(), np.zeros(0), ())
    K = assemble.stiffness(replace(mesh, springs=none)).toarray()
    twin = loop_twin(replace(mesh, springs=none))
    assert np.max(np.abs(K - twin)) < 1e-13 * np.max(np.abs(twin))
