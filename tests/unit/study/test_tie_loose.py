"""Ties on a vehicle that is found with a loose body."""

from dataclasses import replace

import pytest
from handmade import case
from vehicles import vehicle

from fea.errors import SolveError
from fea.frame.ties import candidates
from fea.study.ties import study


def test_new_pads_are_studied_though_the_old_are_torn() -> None:
    sound = vehicle("harbour_tourer", "open")
    torn = replace(sound, mounts=tuple(replace(m, state="torn") for m in sound.mounts))
    cases = (case("twist"), case("bending"))
    ties = [t for t in candidates(sound) if t.pair == "brace 1400"]
    (one,) = study(sound, ties, ["rubber"], cases).grades
    (other,) = study(torn, ties, ["rubber"], cases).grades
    assert other.bare.twist == pytest.approx(one.bare.twist, rel=1e-9)
    assert other.outcomes[0].twist_gain == pytest.approx(one.outcomes[0].twist_gain, rel=1e-7)


def test_torn_pads_alone_hold_nothing() -> None:
    sound = vehicle("harbour_tourer", "open")
    torn = replace(sound, mounts=tuple(replace(m, state="torn") for m in sound.mounts))
    cases = (case("twist"), case("bending"))
    with pytest.raises(SolveError, match="hangs on nothing"):
        study(torn, candidates(torn), ["as fitted"], cases)
