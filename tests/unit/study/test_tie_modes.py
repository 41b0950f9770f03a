"""What ties do to the first modes."""

from dataclasses import replace

import numpy as np
import pytest
from vehicles import prepared

from fea.frame.mounts import with_grade
from fea.result.first_modes import first_modes
from fea.result.first_modes import solved as swung
from fea.study.tie_modes import as_record, tie_modes
from fea.study.ties import solved


def test_ties_are_solved_with_the_grade_asked_for() -> None:
    vehicle = prepared("harbour_tourer", "open")
    few = replace(solved(vehicle, ["as fitted", "solid"]), candidates=vehicle.candidates[1:2])
    found = tie_modes(few)
    assert [g.name for g in found] == ["as fitted", "solid"]
    assert found[0].bare.torsion is not None
    assert found[1].bare.torsion is not None
    assert found[1].bare.torsion.frequency > found[0].bare.torsion.frequency
    ties = few.candidates[0].ties
    own = replace(few.frame, ties=tuple(replace(t, fitted=t in ties) for t in few.frame.ties))
    again = first_modes(with_grade(own, "solid"))
    assert found[1].tied[0] == again
    for grade in found:
        for alike in grade.alike:
            for likeness in alike:
                assert likeness is not None
                assert 0.5 < likeness <= 1.0 + 1e-9
    # A tie weighs nothing here: it can only stiffen.
    for grade in found:
        for gain in grade.gains(0):
            assert gain is not None
            assert gain > -1e-9
        assert grade.unlike(0) == (False, False)
    record = as_record(few, found)["with_mounts"]["solid"]
    assert record["candidates"][0]["torsion_gain"] == pytest.approx(found[1].gains(0)[0])


def test_a_mode_whose_place_another_takes_is_told() -> None:
    vehicle = prepared("orchard_pickup", "open")
    some = tuple(c for c in vehicle.candidates if c.name in ("brace 1650", "bed brace 3400"))
    (rubber,) = tie_modes(replace(solved(vehicle, ["rubber"]), candidates=some))
    unlike = {c.name: rubber.unlike(n) for n, c in enumerate(some)}
    assert unlike == {"brace 1650": (True, True), "bed brace 3400": (False, False)}
    # The first torsion falls, though in their order all frequencies rise.
    at = [c.name for c in some].index("brace 1650")
    gain, _ = rubber.gains(at)
    assert gain is not None
    assert gain < 0.0
    frame = with_grade(vehicle.frame, "rubber")
    ties = tuple(replace(t, fitted=t.fitted or t in some[at].ties) for t in frame.ties)
    bare, tied = swung(frame), swung(replace(frame, ties=ties))
    assert np.all(tied.raw.frequency > bare.raw.frequency)
