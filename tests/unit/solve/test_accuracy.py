"""The bound on round-off, against answers that are known exactly and errors that are planted."""

from dataclasses import replace

import numpy as np
import pytest
from handmade import SMALL_TUBE, demo, simply_held, square_tube, two_rails
from study_frames import setting

from fea.analyse import Solution, analyse
from fea.errors import SolveError
from fea.frame.case import Case, Place, Push
from fea.frame.model import Frame, Joint
from fea.result import stiffness
from fea.result.answer import answers
from fea.solve import accuracy
from fea.solve.rigid import balanced
from fea.study.variant import Variant, measure

TWIST = simply_held([Push(Place(axle="front"), couple=1e6)], "twist")
TWIST = replace(
    TWIST,
    holds=tuple(
        replace(h, place=replace(h.place, side="mean"))
        if h.place.axle == "front" and h.motion == "height"
        else h
        for h in TWIST.holds
    ),
)


def ladder(joint: Joint | None = None) -> Frame:
    rail, cross = square_tube(80.0, 4.0), SMALL_TUBE
    return two_rails(2400.0, 800.0, rail, cross, (0.0, 700.0, 1600.0, 2400.0), joint)


def solved(frame: Frame, case: Case = TWIST, refine: int = 1) -> tuple[float, float, Solution]:
    """Return the stiffness, its bound, and the solution."""
    analysis = analyse(frame, [case], refine=refine)
    (answer,) = answers(analysis)
    assert answer.stiffness is not None
    assert answer.round_off is not None
    return answer.stiffness, answer.round_off, analysis.solutions[0]


def test_elements_of_any_number_agree_within_their_bounds() -> None:
    """The elements are exact for end loads: what changes with their number is round-off."""
    exact, sure, _ = solved(ladder())
    assert sure < 1e-11
    for refine in (5, 20, 60):
        figure, bound, _ = solved(ladder(), refine=refine)
        off = abs(figure / exact - 1.0)
        assert off <= bound + sure
        assert bound < 1e-6  # and it says something: not a million times too careful


def test_condition_is_that_of_the_scaled_matrix() -> None:
    *_, solution = solved(ladder())
    held = solution.held
    assert held is not None
    dense = held.K.toarray()
    scale = 1.0 / np.sqrt(np.diagonal(dense))
    true = np.linalg.cond(scale[:, None] * dense * scale, 1)
    found = accuracy.condition(held)
    assert found <= true * (1.0 + 1e-6)  # the estimate is a lower bound
    assert found >= true / 3.0
    assert accuracy.condition(held) == found


def test_a_wrong_answer_cannot_hide() -> None:
    """Motions that are off by the answer to stray forces: the bound is at least their error."""
    figure, bound, solution = solved(ladder())
    held = solution.held
    assert held is not None
    rng = np.random.default_rng(11)
    onto = held.system.links.matrix @ held.supports.matrix
    stray = onto @ held.factor.solve(rng.normal(size=held.K.shape[0]))
    for size in (1e-9, 1e-6):
        off = solution.u + size * stray * np.abs(solution.u).max() / np.abs(stray).max()
        wrong = replace(solution, u=off)
        at = stiffness.line(ladder(), wrong.mesh)
        assert at is not None
        line = stiffness.profile_along(at, wrong)
        change = abs(stiffness.twist_stiffness(ladder(), TWIST, line) / figure - 1.0)
        found = stiffness.round_off(ladder(), TWIST, wrong, at)
        assert change > 10.0 * bound
        assert found is not None
        assert found >= 0.999 * change


def test_what_condensing_loses_is_within_the_bound() -> None:
    """Sheet-metal pieces disturbed by as much as they may be off move the figure by less."""
    frame = demo("ladder_web_butt")
    case = replace(TWIST, holds=TWIST.holds)
    analysis = analyse(frame, [case], sheet_joints=True)
    (answer,) = answers(analysis)
    solution, held = analysis.solutions[0], analysis.solutions[0].held
    assert held is not None
    assert answer.stiffness is not None
    assert answer.round_off is not None
    assert 1e-12 < answer.round_off < 1e-6
    rng = np.random.default_rng(5)
    structure = held.system.structure
    disturbed = []
    for at, K in structure.blocks_at:
        off = K * (1.0 + accuracy.LOST * rng.uniform(-1.0, 1.0, K.shape))
        disturbed.append((at, balanced(off, accuracy.rigid_motions(solution.mesh.points, at))))
    twice = replace(structure, blocks_at=tuple(disturbed))
    left = twice.internal(solution.u[:, None])[:, 0] - solution.loads.force
    onto = held.system.links.matrix @ held.supports.matrix
    moved = replace(solution, u=solution.u - onto @ held.factor.solve(onto.T @ left))
    line = stiffness.profile(frame, moved)
    assert line is not None
    change = abs(stiffness.twist_stiffness(frame, case, line) / answer.stiffness - 1.0)
    assert 0.0 < change <= answer.round_off


def stiff_joints(k: float) -> Frame:
    return ladder(Joint("", "start", "", 0.0, "bolted", (k, k, k, 1e3 * k, 1e3 * k, 1e3 * k)))


@pytest.mark.parametrize("k", [1e9, 1e10, 1e11, 1e12])
def test_stiff_joints_tell_what_they_cost(k: float) -> None:
    """Springs near to rigid: the figure differs from the rigid one by their give and the bound."""
    rigid, sure, plain = solved(ladder())
    figure, bound, solution = solved(stiff_joints(k))
    give = 30.0 * 1e6 / k  # springs in series with parts of about 1e6 N/mm and less
    assert abs(figure / rigid - 1.0) <= bound + sure + give
    assert 1.0 < bound / sure < 1e-12 * k * 1e8
    assert solution.held is not None
    assert plain.held is not None
    assert accuracy.condition(solution.held) > accuracy.condition(plain.held)


@pytest.mark.parametrize("k", [1e15, 1e18])
def test_absurd_joints_are_refused_in_true_words(k: float) -> None:
    """The matrix has lost the members beside the springs: nothing is loose for all that."""
    with pytest.raises(SolveError, match="too ill-conditioned") as caught:
        analyse(stiff_joints(k), [TWIST])
    assert "nothing holds" not in str(caught.value)


def test_a_figure_beyond_the_limit_is_withheld() -> None:
    analysis = analyse(ladder(), [TWIST])
    (good,) = analysis.solutions
    rough = replace(good, u=good.u * (1.0 + 1e-3 * np.cos(np.arange(len(good.u)))))
    with pytest.raises(SolveError, match="not sure to four figures") as caught:
        answers(replace(analysis, solutions=(rough,)))
    assert "condition number about" in str(caught.value)


def test_studies_withhold_it_as_runs_do(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sweeps, parts and fleets read stiffness alone, past what a run tells: it holds there too."""
    monkeypatch.setattr(accuracy, "LIMIT", 1e-18)
    for stress in (False, True):
        with pytest.raises(SolveError, match="not sure to four figures"):
            measure(setting("ladder_tubes"), Variant(), stress=stress)
