"""Every installed backend gives the same answers, and refuses the same with the same words."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import scipy.sparse as sp
from handmade import case, demo

from fea.analyse import Analysis, analyse
from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.errors import ModelError, SolveError
from fea.frame.build import build_frame
from fea.frame.model import Frame
from fea.mesh.discretise import discretise
from fea.mesh.piece import Sheet
from fea.result.answer import answers
from fea.solve.condense import condense
from fea.solve.factorise import BACKENDS, CHOICE, NotDefiniteError, chosen, factorise, installed

SAME = 1e-9
"""Relative; the backends order their sums differently, and condition numbers reach 1e7 here."""

each = pytest.mark.parametrize("backend", installed())


@pytest.fixture
def solver(backend: str, monkeypatch: pytest.MonkeyPatch) -> str:
    """Have every factorisation made by one backend, wherever none is asked for."""
    monkeypatch.setenv(CHOICE, backend)
    return backend


@cache
def with_body() -> Frame:
    path = find_frame("orchard_pickup")
    return build_frame(read_frame(path), source=str(path), body="closed")


FRAMES = {"ladder": lambda: demo("ladder_web_butt"), "pickup with its body": with_body}


def figures(analysis: Analysis) -> list[np.ndarray]:
    """Return what a frame answers: stiffnesses, reactions, and motions in their own size."""
    found = []
    for answer, solution in zip(answers(analysis), analysis.solutions, strict=True):
        found += [np.array([answer.stiffness]), solution.reactions, solution.u.reshape(-1, 7).T]
    return found


@cache
def reference(name: str) -> list[np.ndarray]:
    return figures(analyse(FRAMES[name](), [case("twist"), case("bending")], backend="superlu"))


def assert_same(found: np.ndarray, expected: np.ndarray) -> None:
    """Compare row by row, relative to the largest entry of the row: one kind of freedom each."""
    for one, other in zip(np.atleast_2d(found), np.atleast_2d(expected), strict=True):
        np.testing.assert_allclose(one, other, rtol=0.0, atol=SAME * np.max(np.abs(other)))


@each
@pytest.mark.parametrize("name", FRAMES)
def test_frames(solver: str, name: str) -> None:
    analysis = analyse(FRAMES[name](), [case("twist"), case("bending")])
    assert {s.checks.backend for s in analysis.solutions} == {solver}
    for one, other in zip(figures(analysis), reference(name), strict=True):
        assert_same(one, other)


@cache
def sheet() -> Sheet:
    """Return the metal of a joint, in large quadrilaterals."""
    mesh = discretise(demo("ladder_tubes"), (), sheet_joints=True, coarse=3.0)
    return mesh.patches[0].sheet()


@cache
def condensed() -> tuple[np.ndarray, np.ndarray]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(CHOICE, "superlu")
        return condense(sheet())


@each
def test_condensed_metal(solver: str) -> None:
    stiffness, recover = condense(sheet())
    expected, motions = condensed()
    diagonal = np.diag(expected)  # a closed tube's end cannot warp: nothing resists that
    scale = np.where(diagonal > 0.0, np.sqrt(np.abs(diagonal)), 1.0)
    assert np.count_nonzero(diagonal > 0.0) > 12
    np.testing.assert_allclose(
        stiffness / np.outer(scale, scale), expected / np.outer(scale, scale), rtol=0.0, atol=SAME
    )
    np.testing.assert_allclose(recover, motions, rtol=0.0, atol=SAME * np.max(np.abs(motions)))


@each
def test_many_right_hand_sides(backend: str) -> None:
    """A plate of springs, 900 freedoms: four hundred at once are what each is alone."""
    line = sp.diags_array([-1.0, 2.0, -1.0], offsets=[-1, 0, 1], shape=(30, 30))
    eye = sp.eye_array(30)
    K = sp.csr_array(sp.kron(line, eye) + sp.kron(eye, line))
    rhs = np.random.default_rng(1729).normal(size=(900, 400))
    factor = factorise(K, backend)
    together = factor.solve(rhs)
    assert_same(K @ together, rhs)
    for column in (0, 199, 399):
        assert_same(factor.solve(rhs[:, column]), together[:, column])


@each
@pytest.mark.parametrize("shift", [-0.5, 0.0, 1e-15])
def test_what_is_not_definite_is_refused(backend: str, shift: float) -> None:
    """A chain of springs that hangs on nothing, is pushed below that, or hangs on a hair."""
    K = sp.diags_array([-1.0, 2.0, -1.0], offsets=[-1, 0, 1], shape=(300, 300)).tolil()
    K[0, 0] = K[-1, -1] = 1.0
    with pytest.raises(NotDefiniteError):
        factorise(sp.csr_array(K + shift * sp.eye_array(300)), backend)


def mechanisms() -> dict[str, Frame]:
    ladder = demo("ladder_tubes")
    hinge = (2e5, 2e5, 2e5, 3e8, 0.0, 3e8)
    return {
        "a crossmember joined to nothing": replace(
            ladder, joints=tuple(j for j in ladder.joints if j.member != "X3")
        ),
        "a crossmember that turns": replace(
            ladder,
            joints=tuple(
                replace(j, stiffness=hinge) if j.member == "X3" else j for j in ladder.joints
            ),
        ),
    }


@pytest.mark.parametrize("name", mechanisms())
def test_a_mechanism_is_refused_in_the_same_words(name: str) -> None:
    told = {}
    for backend in ("auto", *installed()):
        with pytest.raises(SolveError, match=r"crossmember X3.* nothing holds") as refused:
            analyse(mechanisms()[name], [case("twist")], backend=backend)
        told[backend] = str(refused.value)
    assert len(set(told.values())) == 1


def test_what_the_environment_asks_for(monkeypatch: pytest.MonkeyPatch) -> None:
    K = sp.csr_array(np.eye(3))
    monkeypatch.setenv(CHOICE, "superlu")
    assert factorise(K).backend == "superlu"
    assert factorise(K, "banded").backend == "banded"  # the caller's word comes first
    monkeypatch.setenv(CHOICE, "")
    assert chosen() == "auto"
    monkeypatch.setenv(CHOICE, "magic")
    with pytest.raises(ModelError, match="unknown solver backend") as error:
        factorise(K)
    assert CHOICE in error.value.complaints[0].where


def test_without_the_optional_package(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fea.solve.factorise.supernodal_here", lambda: False)
    assert installed() == ("banded", "superlu")
    with pytest.raises(ModelError, match="unknown solver backend"):
        factorise(sp.csr_array(np.eye(3)), "supernodal")
    assert set(BACKENDS) > set(installed())
