"""Gains over the stiffness of the mounts: against full solves, and where the grades lie."""

from dataclasses import replace

import numpy as np
import pytest
from vehicles import VEHICLES, figures, full, mesh_of, prepared, vehicle

from fea.frame.mounts import GRADES, with_grade
from fea.study.tie_sweep import SHARE, own_share, place, sweep, with_mounts
from fea.study.ties import TieStudy, meshed, prepare, solved


def fresh(study: TieStudy, mounts, fitted=()) -> float:
    """Return the twist stiffness of the vehicle with other mounts and some ties, in full."""
    new = {(m.name, m.side): m for m in mounts}
    frame = replace(
        study.frame,
        mounts=tuple(new.get((m.name, m.side), m) for m in study.frame.mounts),
        ties=tuple(replace(t, fitted=t.fitted or t in fitted) for t in study.frame.ties),
    )
    return float(figures(study, full(frame, mesh_of(frame)))[0])


@pytest.mark.parametrize(("name", "body"), VEHICLES)
def test_the_sweep_is_that_of_full_solves(name: str, body: str) -> None:
    study = prepared(name, body)
    found = sweep(study, 4)
    assert found.gains.shape == (len(study.candidates), 4)
    for n, k in enumerate(found.vertical.tolist()):
        pads = (found.share[0] * k, found.share[1] * k, k)
        mounts = [replace(m, stiffness=pads) for m in study.mounts]
        bare = fresh(study, mounts)
        assert found.bare[n] == pytest.approx(bare, rel=1e-8)
        for m in (0, len(study.candidates) - 1):
            gain = fresh(study, mounts, study.candidates[m].ties) / bare - 1.0
            assert found.gains[m, n] == pytest.approx(gain, abs=1e-8)


def test_a_grade_s_own_pads_give_the_grade_s_gains() -> None:
    study = solved(prepared("orchard_pickup", "closed"), ["as fitted", "solid"])
    for grade in study.grades:
        frame = replace(study.frame, mounts=study.mounts)
        mounts = frame.mounts if grade.name == "as fitted" else with_grade(frame, "solid").mounts
        bare, gains = with_mounts(study, mounts)
        assert bare == pytest.approx(grade.bare.twist, rel=1e-9)
        assert gains == pytest.approx([o.twist_gain for o in grade.outcomes], abs=1e-9)


def test_from_100_to_100_000_and_the_grades_between() -> None:
    study = solved(prepared("harbour_tourer", "open"), ["solid", "as fitted", "rubber"])
    found = sweep(study)
    assert found.vertical[[0, -1]] == pytest.approx([100.0, 100_000.0])
    assert np.ptp(np.diff(np.log(found.vertical))) < 1e-9
    assert len(found.vertical) == 15
    own = study.mounts[0].stiffness[2]
    assert {m.stiffness[2] for m in study.mounts} == {own}
    wanted = (("solid", GRADES["solid"].vertical), ("as fitted", pytest.approx(own)),
              ("rubber", GRADES["rubber"].vertical))  # fmt: skip
    assert found.grades == wanted
    # Stiffer mounts: the body takes a larger part in the twist.
    assert np.all(np.diff(found.bare) > 0.0)


def test_a_missing_mount_stays_missing() -> None:
    whole = vehicle("harbour_tourer", "open")
    mounts = (replace(whole.mounts[0], state="missing"), *whole.mounts[1:])
    frame, mesh = meshed(
        replace(whole, mounts=mounts),
        [t for t in prepared("harbour_tourer", "open").frame.ties if not t.fitted],
        prepared("harbour_tourer", "open").cases,
        sheet_joints=False,
    )
    study = prepare(frame, mesh, prepared("harbour_tourer", "open").cases)
    stiff = [replace(m, stiffness=(400.0, 400.0, 1000.0)) for m in study.mounts]
    assert sum(m.state == "missing" for m in stiff) == 1
    bare, _ = with_mounts(study, stiff)
    assert bare == pytest.approx(fresh(study, stiff), rel=1e-8)
    assert bare < 0.9999 * fresh(study, [replace(m, state="good") for m in stiff])


def test_the_share_is_the_mean_of_what_the_mounts_tell() -> None:
    one, other = vehicle("harbour_tourer", "open").mounts[:2]
    pair = [
        replace(one, stiffness=(100.0, 50.0, 500.0)),
        replace(other, stiffness=(4.0, 3.0, 10.0)),
    ]
    assert own_share(pair) == pytest.approx((0.3, 0.2))
    rigid = replace(one, stiffness=(np.inf, np.inf, np.inf))
    assert own_share([*pair, rigid]) == pytest.approx((0.3, 0.2))
    assert own_share([rigid]) == (SHARE, SHARE)
    assert place(pair, "as fitted") == pytest.approx(np.sqrt(5000.0))
    assert np.isnan(place([replace(one, state="torn")], "as fitted"))
