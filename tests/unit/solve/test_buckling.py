"""Buckling factors: what must hold of any, beside the published columns."""

import numpy as np
import pytest

from fea.analyse import solve
from fea.document.validation import StructureDocument
from fea.solve.buckling import Buckling, buckling
from fea.solve.system import hold, system
from fea.verify.structure import build

BASE = {
    "id": "T",
    "title": "t",
    "source": "s",
    "certainty": "derived",
    "kind": "structure",
    "units": "mm N",
    "material": {"E": 2e5, "G": 8e4},
    "section": {"s": {"A": 400.0, "I1": 4e4, "I2": 9e4, "J": 1e5}},
    "node": {"foot": [0.0, 0.0, 0.0], "head": [0.0, 0.0, 900.0], "side": [600.0, 0.0, 900.0]},
    "bar": [
        {"name": "column", "from": "foot", "to": "head", "section": "s", "segments": 8,
         "up": [1.0, 0.0, 0.0]},
        {"name": "arm", "from": "head", "to": "side", "section": "s", "segments": 4},
    ],
    "hold": [{"nodes": ["foot"]}],
    "expect": [{"name": "f", "read": "buckling", "number": 1, "value": 1.0}],
}  # fmt: skip


def factors(force: list[float], count: int = 3) -> Buckling:
    document = StructureDocument.model_validate(BASE | {"load": [{"node": "head", "force": force}]})
    s = build(document)
    held = hold(system(s.mesh), s.loads.rows, s.loads.values[:, None])
    return buckling(held, solve(s.mesh, [s.loads])[0].forces, count)


def test_the_factor_falls_as_the_load_grows() -> None:
    one, ten = factors([0.0, 0.0, -100.0]), factors([0.0, 0.0, -1000.0])
    np.testing.assert_allclose(one.factor, 10.0 * ten.factor, rtol=1e-8)
    assert np.all(np.diff(one.factor) > 0.0)


def test_tension_buckles_nothing() -> None:
    assert len(factors([0.0, 0.0, 100.0]).factor) == 0


def test_a_load_that_compresses_nothing_buckles_nothing() -> None:
    assert len(factors([0.0, 50.0, 0.0]).factor) == 0


def test_the_compressed_member_gives_way() -> None:
    found = factors([0.0, 0.0, -100.0], 1)
    assert found.work[0].sum() == pytest.approx(1.0, rel=1e-9)
    assert found.work[0, :8].sum() == pytest.approx(1.0, abs=1e-6)
    assert np.max(np.abs(found.shape)) == pytest.approx(1.0)
    # About the weak axis: a cantilever's quarter of Euler's load.
    euler = np.pi**2 * 2e5 * 4e4 / (4.0 * 900.0**2)
    assert found.factor[0] == pytest.approx(euler / 100.0, rel=1e-4)
