"""Adjoint derivatives against differences of full solves."""

import pytest
from study_frames import setting

from fea.document.edit import value_at
from fea.errors import ModelError
from fea.study.keys import NumericKey, key_at, numeric_keys
from fea.study.sensitivity import base, differences, slope, slopes
from fea.study.stress_slope import highest, peak_slope
from fea.study.variant import Setting, Variant, measure

AGREE = 1e-6
"""Of the derivative: the error of both stencils, fourth order, is below 1e-9."""

NOISE = 5e-12
"""Of the stiffness over the figure: full solves carry 1e-14, over a step of 2e-3."""


@pytest.mark.slow
@pytest.mark.parametrize("name", ["orchard_pickup", "harbour_tourer"])
def test_adjoint_agrees_with_full_solves_for_every_key(name: str) -> None:
    frame = setting(name)
    solved = base(frame, Variant())
    keys = numeric_keys(frame.document)
    assert len(keys) > 60
    found = slopes(solved, keys)
    # A step that changes which nodes there are falls back to differences: rare.
    assert sum(not s.adjoint for s in found) <= 2
    still = [s for s in found if s.adjoint and s.twist == s.bending == s.steel == 0.0]
    assert len(still) < len(keys) // 2 + 5
    moved = 0
    for s in [*(s for s in found if s not in still), *still[::10]]:
        other = differences(frame, Variant(), s.key)
        for m in ("twist", "bending"):
            a, b = getattr(s, m), getattr(other, m)
            floor = NOISE * solved.value(m) / s.key.value
            assert a == pytest.approx(b, rel=AGREE, abs=floor), (s.key.path, m)
            moved += abs(b) > 1e3 * floor
        assert s.steel == pytest.approx(other.steel, rel=AGREE, abs=1e-12 * solved.steel)
    assert moved > 55  # most of them are compared well above the noise


def test_mounts_and_joints_count_under_a_body() -> None:
    frame = setting("harbour_tourer", body="open")
    solved = base(frame, Variant())
    for path in ("mount.M4.vertical", "mount.M6.lateral", "crossmember.Y3.joint_stiffness.turn"):
        key = key_at(frame.document, path)
        a, b = slope(solved, key), differences(frame, Variant(), key)
        assert a.adjoint
        assert a.twist == pytest.approx(b.twist, rel=AGREE)
        assert a.bending == pytest.approx(b.bending, rel=AGREE)
        assert a.twist is not None
        assert a.twist > 0.0


def test_a_path_along_a_member_counts_all_its_sections() -> None:
    frame = setting("orchard_pickup")
    solved = base(frame, Variant())
    whole = slope(solved, key_at(frame.document, "X4.depth"))
    one = slope(solved, key_at(frame.document, "section.C120x60.depth"))
    assert whole.twist == pytest.approx(one.twist, rel=1e-12)


def test_values_are_those_of_a_full_analysis() -> None:
    frame = setting("orchard_pickup")
    solved, full = base(frame, Variant()), measure(frame, Variant())
    assert solved.value("twist") == pytest.approx(full.twist, rel=1e-10)
    assert solved.value("bending") == pytest.approx(full.bending, rel=1e-10)
    assert solved.steel == full.steel


def test_highest_stress_moves_as_told() -> None:
    frame = setting("orchard_pickup")
    at = highest(frame, Variant())
    key = key_at(frame.document, "section.T60.wall")
    told = peak_slope(frame, Variant(), key, at.place)
    assert told is not None
    h = 0.02

    def stress(wall: float) -> float:
        return highest(frame, Variant.of(edits={key.path: f"{wall} mm"})).von_mises

    wide = (stress(2.6 + h) - stress(2.6 - h)) / (2.0 * h)
    assert told == pytest.approx(wide, rel=1e-3)  # the step's own error, h^2
    elsewhere = (at.place[0], at.place[1], at.place[2], (at.place[3] + 1) % 2)
    assert peak_slope(frame, Variant(), key, elsewhere) is None  # not where it is highest


def test_keys_lead_to_what_they_hold() -> None:
    document = setting("orchard_pickup").document
    keys = {k.path: k for k in numeric_keys(document)}
    plate = keys["part.boxing_cab.boxing.1.plate"]
    assert (plate.sort, plate.value) == ("plate", 3.0)
    assert value_at(document, plate.path) == "3 mm"
    assert plate.text(3.5) == "3.5 mm"
    turn = keys["crossmember.X3.joint_stiffness.turn"]
    assert (turn.sort, turn.kind, turn.value) == ("joint", "rotational_stiffness", 3e8)
    assert {k.sort for k in keys.values()} == {"gauge", "size", "plate", "mount", "joint"}
    assert not any(p.startswith("body") for p in keys)


def test_sheet_metal_is_refused() -> None:
    frame = setting("orchard_pickup")
    with pytest.raises(ModelError, match="beam joints"):
        base(Setting(frame.document, "x", frame.cases, sheet_joints=True), Variant())


def test_a_text_read_back_is_the_same_figure() -> None:
    key = NumericKey("mount.M1.vertical", "mount", "stiffness", 400.0)
    assert key.text(1.0 / 3.0).startswith("0.3333333333333333")
