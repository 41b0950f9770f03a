"""Adjoint derivatives against differences of full solves."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pytest
from sensed import small
from study_frames import setting

from fea.document.edit import value_at
from fea.errors import ModelError
from fea.study.keys import NumericKey, key_at, numeric_keys
from fea.study.sensitivity import Base, Slope, base, differences, slope
from fea.study.sensitivity_peak import Peaks, peaks
from fea.study.variant import Setting, Variant, frame_of, measure, solve_variant

AGREE = 1e-6
"""Of the derivative: the error of both stencils, fourth order, is below 1e-9."""

NOISE = 5e-12
"""Of the reading over the figure: full solves carry 1e-14, over a step of 2e-3."""


@dataclass(frozen=True)
class Compared:
    """A frame with derivatives by its keys, by the adjoint and from full solves."""

    setting: Setting
    base: Base
    high: Peaks
    pairs: tuple[tuple[Slope, Slope], ...]


def compared(frame: Setting, keys: list[NumericKey]) -> Compared:
    """Return both derivatives by every key; each frame is built once for the two."""
    built = lru_cache(frame_of)
    with pytest.MonkeyPatch.context() as patch:
        for module in ("sensitivity_adjoint", "variant"):
            patch.setattr(f"fea.study.{module}.frame_of", built)
        solved = base(frame, Variant())
        high = peaks(solved.state, frame)
        pairs = tuple(
            (
                slope(solved, key, stress=high),
                differences(frame, Variant(), key, places=high.places),
            )
            for key in keys
        )
    return Compared(frame, solved, high, pairs)


@pytest.fixture(scope="module")
def ladder(tmp_path_factory: pytest.TempPathFactory) -> Compared:
    """Return the small frame, by every key of it."""
    frame = small(tmp_path_factory.mktemp("small"))
    return compared(frame, numeric_keys(frame.document))


def check(found: Compared) -> int:
    """Compare all derivatives; return how many stand well above the noise."""
    moved = 0
    for told, other in found.pairs:
        key = told.key
        names = ("twist", "bending")
        sizes = [found.base.value(m) or 0.0 for m in names]
        each = [(getattr(told, m), getattr(other, m)) for m in names]
        sizes += [p.von_mises for p in found.high.places]
        each += [(told.peak, other.peak), *zip(told.rivals, other.rivals, strict=True)]
        for size, (a, b) in zip(sizes, each, strict=True):
            floor = NOISE * size / key.value
            assert a == pytest.approx(b, rel=AGREE, abs=floor), key.path
            moved += abs(b) > 1e3 * floor
        assert told.steel == pytest.approx(other.steel, rel=AGREE, abs=1e-12 * found.base.steel)
    return moved


def test_adjoint_agrees_with_full_solves_for_every_key(ladder: Compared) -> None:
    assert {s.key.sort for s, _ in ladder.pairs} == {"gauge", "size", "plate", "mount", "joint"}
    assert all(s.adjoint and not other.adjoint for s, other in ladder.pairs)
    for sort in ("mount", "joint"):  # a stiffer spring never makes a frame softer
        gains = [s.twist * s.key.value for s, _ in ladder.pairs if s.key.sort == sort]
        assert min(gains) >= -NOISE * ladder.base.value("twist")
        assert max(gains) > 1e-4 * ladder.base.value("twist")
    # Most of them are compared well above the noise.
    assert check(ladder) > 0.75 * len(ladder.pairs) * (2 + len(ladder.high.places))


@pytest.mark.parametrize(
    ("name", "path"),
    [
        ("harbour_tourer", "part.boxing_side.boxing.1.plate"),
        ("harbour_tourer", "section.H80x60.lip"),
        ("orchard_pickup", "section.T60.wall"),
        ("orchard_pickup", "crossmember.X3.joint_stiffness.turn"),
    ],
)
def test_it_does_so_on_the_shipped_frames(name: str, path: str) -> None:
    frame = setting(name)
    found = compared(frame, [key_at(frame.document, path)])
    assert found.pairs[0][0].adjoint
    assert check(found) >= 2


def test_differences_stand_in_where_the_mesh_changes() -> None:
    frame = setting("harbour_tourer")
    solved = base(frame, Variant())
    high = peaks(solved.state, frame)
    found = slope(solved, key_at(frame.document, "section.B60x60.depth"), stress=high)
    assert not found.adjoint
    assert found.peak is not None
    assert found.peak != 0.0


def test_a_path_along_a_member_counts_all_its_sections(ladder: Compared) -> None:
    document = ladder.setting.document
    whole = slope(ladder.base, key_at(document, "X1.depth"), stress=ladder.high)
    one = next(s for s, _ in ladder.pairs if s.key.path == "section.S3.depth")
    assert whole.twist == pytest.approx(one.twist, rel=1e-12)
    assert whole.peak == pytest.approx(one.peak, rel=1e-12)


def test_values_are_those_of_a_full_analysis(ladder: Compared) -> None:
    full = measure(ladder.setting, Variant(), stress=True)
    assert ladder.base.value("twist") == pytest.approx(full.twist, rel=1e-10)
    assert ladder.base.value("bending") == pytest.approx(full.bending, rel=1e-10)
    assert ladder.base.steel == full.steel
    first = ladder.high.places[0]
    assert first.von_mises == pytest.approx(full.peak, rel=1e-12)
    assert first.utilisation == pytest.approx(full.utilisation, rel=1e-12)
    assert first.member in (full.peak_member, full.peak_member.replace("left", "right"))
    assert [a.value for a in ladder.high.adjoints] == pytest.approx(
        [p.von_mises for p in ladder.high.places], rel=1e-12
    )


def test_highest_stress_as_told_moves_so(ladder: Compared) -> None:
    """The stress that an analysis tells, by plain central differences on a ladder of steps."""
    told = next(s for s, _ in ladder.pairs if s.key.path == "section.S0.wall")
    first = ladder.high.places[0]

    def stress(wall: float) -> float:
        edits = {told.key.path: f"{wall!r} mm"}
        answer = solve_variant(ladder.setting, Variant.of(edits=edits))[first.case]
        return next(p.von_mises for p in answer.peaks if p.member == first.member)

    errors = []
    for h in (8e-3, 4e-3, 2e-3, 1e-3):
        t = told.key.value
        wide = (stress(t * (1.0 + h)) - stress(t * (1.0 - h))) / (2.0 * h * t)
        errors.append(abs(wide / told.peak - 1.0))
    assert np.divide(errors[:-1], errors[1:]) == pytest.approx(4.0, rel=0.02)  # of second order
    assert min(errors) < AGREE


def test_a_figure_of_what_is_not_fitted_moves_nothing() -> None:
    frame = setting("orchard_pickup")
    solved = base(frame, Variant())
    high = peaks(solved.state, frame)
    found = slope(solved, key_at(frame.document, "mount.M1.vertical"), stress=high)
    assert (found.twist, found.bending, found.steel, found.peak) == (0.0, 0.0, 0.0, 0.0)
    assert found.rivals == (0.0,) * (len(high.places) - 1)


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
