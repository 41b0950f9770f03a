"""Frequencies and buckling factors in validation cases: read, and refused where they cannot be."""

import math

import pytest
from pydantic import ValidationError

from fea.document.validation import StructureDocument
from fea.verify.run import run_case
from fea.verify.structure import build
from fea.verify.swinging import read_numbered

BASE = {
    "id": "T",
    "title": "t",
    "source": "s",
    "certainty": "derived",
    "kind": "structure",
    "units": "mm N",
    "material": {"E": 2e5, "G": 8e4, "density": 7.85e-9},
    "section": {"s": {"A": 100.0, "I1": 1e4, "I2": 2e4, "J": 1e4}},
    "node": {"a": [0.0, 0.0, 0.0], "b": [900.0, 0.0, 0.0]},
    "bar": [{"name": "bar", "from": "a", "to": "b", "section": "s", "segments": 6}],
}


def answer(**keys: object) -> dict[str, object]:
    return {"name": "x", "value": 1.0} | keys


def document(*expect: dict[str, object], **tables: object) -> StructureDocument:
    return StructureDocument.model_validate(BASE | {"expect": list(expect)} | tables)


FREQUENCY = answer(read="frequency", number=1, unit="Hz")
BUCKLING = answer(read="buckling", number=1)


def test_a_floating_bar_bends_as_in_the_books() -> None:
    # Without rotary inertia spinning about its own axis has no mass: that alone is held.
    case = document(FREQUENCY, rotary=False, hold=[{"nodes": ["a"], "freedoms": ["rx"]}])
    found = read_numbered(case, build(case))[0]
    # Free bar, weak plane: 4.73^2/(2 pi L^2) sqrt(E I/m).
    expected = 4.730040745**2 / (2 * math.pi * 900.0**2) * math.sqrt(2e9 / 7.85e-7)
    assert found == pytest.approx(expected, rel=3e-4)  # six elements


def test_a_floating_structure_needs_no_hold() -> None:
    case = document(FREQUENCY)
    assert read_numbered(case, build(case))[0] > 200.0


def test_statics_and_numbered_answers_stand_in_one_case() -> None:
    case = document(
        answer(name="sag", read="uz", node="b", unit="mm"),
        FREQUENCY | {"name": "f"},
        BUCKLING | {"name": "p"},
        hold=[{"nodes": ["a"]}],
        load=[{"node": "b", "force": [-1.0, 0.0, -1.0]}],
    )
    sag, f, p = (row.computed for row in run_case(case))
    assert sag == pytest.approx(-(900.0**3) / (3 * 2e9), rel=1e-9)
    assert f > 1.0
    assert p == pytest.approx(math.pi**2 * 2e9 / (4 * 900.0**2), rel=1e-3)


def test_a_lump_slows_it() -> None:
    held = {"hold": [{"nodes": ["a"]}]}
    bare, heavy = (
        read_numbered(c, build(c))[0]
        for c in (
            document(FREQUENCY, **held),
            document(FREQUENCY, mass=[{"node": "b", "mass": 0.01}], **held),
        )
    )
    assert heavy < 0.5 * bare


def test_a_factor_that_is_not_there_is_not_a_number() -> None:
    case = document(
        BUCKLING, hold=[{"nodes": ["a"]}], load=[{"node": "b", "force": [1.0, 0.0, 0.0]}]
    )
    (row,) = run_case(case)
    assert math.isnan(row.computed)
    assert not row.ok


@pytest.mark.parametrize(
    ("expect", "tables", "said"),
    [
        (BUCKLING, {}, "must be held"),
        (FREQUENCY, {"material": {"E": 2e5, "G": 8e4}}, "density"),
        (answer(read="frequency", unit="Hz"), {}, "number goes with"),
        (answer(read="ux", node="a", number=2, unit="mm"), {}, "number goes with"),
        (FREQUENCY | {"node": "a"}, {}, "read at one node"),
        (FREQUENCY | {"number": 0}, {}, "number"),
    ],
)
def test_what_cannot_be_read_is_refused(
    expect: dict[str, object], tables: dict[str, object], said: str
) -> None:
    with pytest.raises(ValidationError, match=said):
        document(expect, **tables)
