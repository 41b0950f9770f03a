"""Derivatives of the first modes against differences of full solves."""

from dataclasses import replace

import numpy as np
import pytest
from sensed import small
from study_frames import setting

from fea.study.keys import key_at
from fea.study.mode_slope import (
    ModeBase,
    as_record,
    heavy,
    mode_base,
    mode_differences,
    mode_slope,
    step_hz,
)
from fea.study.variant import Variant

AGREE = 1e-6
"""Of the derivative."""

KEYS = {
    None: ("section.S0.wall", "section.S0.depth", "boxing.1.plate"),
    "open": ("section.C120x65.wall", "mount.M4.vertical",
             "crossmember.Y3.joint_stiffness.turn"),
}  # fmt: skip
"""By the body: the small frame without one, and a vehicle with its own."""


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> ModeBase:
    frame = small(tmp_path_factory.mktemp("small"))
    return mode_base(replace(frame, body=None), Variant())


@pytest.fixture(scope="module")
def carrying() -> ModeBase:
    return mode_base(setting("harbour_tourer", body="open"), Variant())


@pytest.fixture(params=["bare", "carrying"])
def base(request: pytest.FixtureRequest) -> ModeBase:
    found: ModeBase = request.getfixturevalue(request.param)
    return found


def test_assembled_as_the_modes_are(base: ModeBase) -> None:
    again = heavy(base.found.frame, base.found.refine)
    assert np.array_equal(again.whole.K.data, base.found.whole.K.data)
    assert np.array_equal(again.mass.M.data, base.found.mass.M.data)


def test_slopes_agree_with_full_solves(base: ModeBase) -> None:
    document = base.setting.document
    for path in KEYS[base.setting.body]:
        key = key_at(document, path)
        a, b = mode_slope(base, key), mode_differences(base, key)
        assert a.assembled
        assert not b.assembled
        for mine, full in ((a.torsion, b.torsion), (a.bending, b.bending)):
            assert mine is not None
            assert full is not None
            assert abs(full) * key.value > 1e-4  # Hz: well above the noise of a full solve
            assert mine == pytest.approx(full, rel=AGREE), path


def test_a_mount_without_a_body_changes_nothing(bare: ModeBase) -> None:
    key = key_at(bare.setting.document, "mount.M1.vertical")
    slope = mode_slope(bare, key)
    assert slope.torsion == slope.bending == 0.0


def test_the_record_counts_in_the_document_s_units(base: ModeBase) -> None:
    key = key_at(base.setting.document, KEYS[base.setting.body][0])
    slope = mode_slope(base, key)
    told = as_record(base, [slope])
    (row,) = told["keys"]
    assert row["unit"] == "mm"
    assert row["torsion_hz_per_unit"] == pytest.approx(slope.torsion)
    assert row["step_torsion_hz"] == pytest.approx(0.1 * row["torsion_hz_per_unit"])
    assert step_hz(None, key) is None
