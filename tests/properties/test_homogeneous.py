"""Twice as stiff a metal, and twice as stiff joints, are a frame twice as stiff."""

from dataclasses import replace

import pytest
from study_frames import setting

from fea.document.edit import edited
from fea.study.keys import NumericKey, leaves, numeric_keys
from fea.study.sensitivity import base, slopes
from fea.study.variant import Variant


@pytest.mark.parametrize("name", ["orchard_pickup", "harbour_tourer"])
def test_shares_of_the_metal_and_the_joints_add_up_to_one(name: str) -> None:
    """By Euler's theorem: a stiffness is of first degree in its modulus and its joints together."""
    frame = setting(name)
    metal = next(iter(frame.document.material))
    one = {
        ".".join(words): metal
        for words, _ in leaves(frame.document.origin.data)
        if words[-1] == "material"
    }
    frame = replace(frame, document=edited(frame.document, one))
    solved = base(frame, Variant())
    keys = [k for k in numeric_keys(frame.document) if k.sort == "joint"]
    assert keys
    E = frame.document.material[metal].E
    keys.append(NumericKey(f"material.{metal}.E", "gauge", "stress", E))
    found = slopes(solved, keys)
    for m in ("twist", "bending"):
        whole = solved.value(m)
        assert whole is not None
        total = sum(getattr(s, m) * s.key.value for s in found)
        assert total == pytest.approx(whole, rel=1e-8)
