"""Sheet metal kept as its stiffness alone, and what is inside it made when asked for."""

from pathlib import Path

import numpy as np
import pytest
from plain_ladder import BOLTS, ladder

from fea.mesh.discretise import discretise
from fea.mesh.patches import Patch
from fea.solve import condense
from fea.solve.condense import Memory, metals
from fea.solve.stores import Lean, Passing
from fea.store import Disk

LONG = ((0.0, 500.0), (3000.0, 500.0))
NARROW = ((0.0, 150.0), (500.0, 150.0))


def patches(folder: Path, keys: str, points: tuple[tuple[float, float], ...]) -> tuple[Patch, ...]:
    frame = ladder(folder, keys=keys, points=points, stations=(0.5 * points[-1][0],))
    found = discretise(frame, {"rail left": [100.0]}, sheet_joints=True, coarse=2.0).patches
    return tuple(found)


@pytest.mark.parametrize(
    ("keys", "points"),
    [('joint = "web"', LONG), ('joint = "bolted"\n' + BOLTS, LONG), ('joint = "web"', NARROW)],
)
def test_alone_it_is_as_stiff(
    tmp_path: Path, keys: str, points: tuple[tuple[float, float], ...]
) -> None:
    """The narrow frame is all sheet metal, held by nothing but what acts on it."""
    for patch in patches(tmp_path, keys, points):
        sheet = patch.sheet()
        assert bool(sheet.cuts) == (points is LONG)
        whole, _ = condense.condense(sheet)
        alone = condense.stiffness_alone(sheet)
        scale = np.sqrt(np.diagonal(whole))
        scale[scale == 0.0] = 1.0
        gap = np.abs(alone - whole) / np.outer(scale, scale)
        assert np.max(gap) < 1e-10


@pytest.fixture(scope="module")
def patch(tmp_path_factory: pytest.TempPathFactory) -> Patch:
    return patches(tmp_path_factory.mktemp("lean"), 'joint = "web"', LONG)[0]


def test_what_is_inside_is_made_when_asked_for(patch: Patch) -> None:
    memory = Memory()
    (metal,) = metals([patch], Lean(memory))
    assert memory.get(patch.canon.key) is None
    kept = metal.kept
    assert memory.get(patch.canon.key) is kept
    (whole,) = metals([patch], Memory())
    np.testing.assert_array_equal(kept.recover, whole.kept.recover)
    # Members and bolts together store all the energy.
    np.testing.assert_allclose(
        kept.energy.sum(axis=0), kept.stiffness, rtol=0, atol=1e-8 * np.max(kept.stiffness)
    )


def test_on_disk(patch: Patch, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    key = patch.canon.key
    (metal,) = metals([patch], Lean(Disk(tmp_path)))
    assert Disk(tmp_path).has(key, whole=False)
    assert not Disk(tmp_path).has(key, whole=True)
    assert Disk(tmp_path).get(key) is None
    size = sum(path.stat().st_size for path in tmp_path.iterdir())

    def never(sheet: object) -> None:
        raise AssertionError

    with monkeypatch.context() as patched:
        patched.setattr(condense, "stiffness_alone", never)
        (again,) = metals([patch], Lean(Disk(tmp_path)))
    np.testing.assert_array_equal(again.stiffness, metal.stiffness)

    (file,) = tmp_path.iterdir()
    file.write_bytes(b"torn")
    (made,) = metals([patch], Lean(Disk(tmp_path)))
    np.testing.assert_array_equal(made.stiffness, metal.stiffness)

    file.unlink()
    (whole,) = metals([patch], Disk(tmp_path))
    assert Disk(tmp_path).has(key, whole=True)
    assert sum(path.stat().st_size for path in tmp_path.iterdir()) > 20 * size
    with monkeypatch.context() as patched:
        patched.setattr(condense, "stiffness_alone", never)
        (served,) = metals([patch], Lean(Disk(tmp_path)))
    np.testing.assert_array_equal(served.stiffness, whole.stiffness)


def test_large_pieces_pass(patch: Patch, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither size nor what is behind changes the answer; only small pieces are left behind."""
    key = patch.canon.key
    behind = Memory()
    with monkeypatch.context() as patched:
        patched.setattr(Passing, "LARGE", 0.0)
        passing = Passing(behind)
        (large,) = metals([patch], passing)
    assert behind.get(key) is None
    assert passing.get(key) is large.kept
    (small,) = metals([patch], Passing(behind))
    assert behind.get(key) is small.kept
    (again,) = metals([patch], Passing(behind))
    assert again.kept is small.kept
    np.testing.assert_array_equal(large.stiffness, small.stiffness)
