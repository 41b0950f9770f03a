"""Units: text in, base units out, and every factor held against pint's."""

import contextlib
import math
import re
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fea import units
from fea.errors import DocumentError
from fea.units import GAUGE, KINDS, convert, parse, show


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("120 mm", "length", 120.0),
        ("120mm", "length", 120.0),
        ("-3.5 cm", "length", -35.0),
        ("4.75 in", "length", 4.75 * 25.4),
        ("3/16 in", "length", 3 / 16 * 25.4),
        ("1 3/16 in", "length", 19 / 16 * 25.4),
        ("1-3/16 in", "length", 19 / 16 * 25.4),
        ("-1 1/2 in", "length", -38.1),
        ("1e3 mm", "length", 1000.0),
        ("11 ga", "thickness", 0.1196 * 25.4),
        ("11 gauge", "thickness", 0.1196 * 25.4),
        ("206 GPa", "stress", 206e3),
        ("240 N/mm2", "stress", 240.0),
        ("7850 kg/m3", "density", 7.85e-9),
        ("7850 kg/m^3", "density", 7.85e-9),
        ("7850 kg/m**3", "density", 7.85e-9),
        ("350 N/mm", "stiffness", 350.0),
        ("2000 lbf/in", "stiffness", 2000 * 4.4482216152605 / 25.4),
        ("1000 ft lbf", "moment", 1000 * 304.8 * 4.4482216152605),
        ("1000 ft-lbf", "moment", 1000 * 304.8 * 4.4482216152605),
        ("1 kNm", "moment", 1e6),
        ("1 N*m", "moment", 1e3),
        ("250 N m/deg", "rotational_stiffness", 250e3 * 180 / math.pi),
        ("3e8 N mm/rad", "rotational_stiffness", 3e8),
        ("190 kg", "mass", 0.19),
        ("1.5 g", "acceleration", 1.5 * 9806.65),
        ("1.5 g", "mass", 1.5e-6),
        ("90 deg", "angle", math.pi / 2),
        # Left to pint:
        ("10 yard", "length", 9144.0),
        ("3 dN/cm", "stiffness", 0.03),
        ("5 kg/dm3", "density", 5e-9),
        ("7 1/min", "frequency", 7 / 60),
        ("3 N m/turn", "rotational_stiffness", 3e3 / (2 * math.pi)),
    ],
)
def test_text_becomes_base_units(text: str, kind: str, value: float) -> None:
    assert parse(text, kind) == pytest.approx(value, rel=1e-14)


def test_every_fast_factor_is_pints() -> None:
    """A unit's own table entry must say what pint says; "g" of acceleration has its name."""
    slow = units._ask_pint.__wrapped__
    checked = 0
    for name, kind in KINDS.items():
        for unit, factor in kind.units.items():
            spelled = "standard_gravity" if (name, unit) == ("acceleration", "g") else unit
            assert slow(spelled, kind.base, kind.per_angle) == pytest.approx(factor, rel=1e-13)
            checked += 1
    assert checked > 200


def test_gauge_is_weight_over_the_weight_of_an_inch() -> None:
    """Manufacturers' Standard Gauge: ounces per square foot over 41.82 lb/ft2 per inch."""
    ounces = dict(zip(range(3, 15), range(160, 40, -10), strict=True))
    ounces |= {15: 45, 16: 40, 17: 36, 18: 32, 19: 28, 20: 24, 22: 20, 24: 16}
    assert ounces.keys() == GAUGE.keys()
    for number, inches in GAUGE.items():
        # half a unit of the fourth decimal, as published
        assert inches == pytest.approx(ounces[number] / 16 / 41.82, abs=0.5e-4 + 1e-9)


@pytest.mark.parametrize(
    ("text", "kind", "rule", "do"),
    [
        ("120", "length", "must have a unit of length", "120 mm"),
        ("120", "thickness", "must have a unit of thickness", "11 ga"),
        ("", "length", "must be a number with a unit", "120 mm"),
        ("mm", "length", "must be a number with a unit", "120 mm"),
        ("1/0 in", "length", "must be a number with a unit", "120 mm"),
        ("120 foo", "length", "must have a unit of length", "120 mm"),
        ("120 kg", "length", "must be given as a length, not as a mass", "120 mm"),
        ("5 kg kg", "mass", "must have a unit of mass", "190 kg"),
        ("3 acre", "length", "must have a unit of length", "120 mm"),
        ("20 lb/in", "stiffness", "must have a unit of stiffness", 'a pound of force is "lbf"'),
        ("3 N m", "rotational_stiffness", "not as a moment", "250 N m/deg"),
        ("3 N m/deg", "moment", "not as a stiffness in rotation", "1000 N m"),
        ("3 N m/turn", "moment", "must have a unit of moment", "1000 N m"),
        ("nan mm", "length", "must be a finite number", "120 mm"),
        ("-inf mm", "length", "must be a finite number", "120 mm"),
        ("1e999 mm", "length", "must be a finite number", "120 mm"),
        ("4,75 in", "length", "must have a unit of length", "decimal point"),
        ("11 ga", "length", "not a gauge", "120 mm"),
        ("11.5 ga", "thickness", "must be a gauge", "from 3 to 20"),
        ("21 ga", "thickness", "must be a gauge", "22 or 24"),
        ("3 m9999", "length", "must have a unit of length", "120 mm"),
        ("3 m**9**9**9**9", "length", "must have a unit of length", "120 mm"),
        ("3 (m)", "length", "must have a unit of length", "120 mm"),
    ],
)
def test_wrong_text_is_told_with_the_unit_expected(
    text: str, kind: str, rule: str, do: str
) -> None:
    with pytest.raises(DocumentError) as error:
        parse(text, kind)
    (complaint,) = error.value.complaints
    assert rule in complaint.rule
    assert do in complaint.do
    assert complaint.found == text


@given(st.text(max_size=30), st.sampled_from(sorted(KINDS)))
def test_any_text_is_a_finite_number_or_a_complaint(text: str, kind: str) -> None:
    with contextlib.suppress(DocumentError):
        assert math.isfinite(parse(text, kind))


@given(st.floats(-1e6, 1e6).filter(lambda v: abs(v) > 1e-6), st.sampled_from(sorted(KINDS)))
def test_out_and_in_again_is_the_same(value: float, kind: str) -> None:
    for unit in filter(None, (KINDS[kind].si, KINDS[kind].us)):
        text = f"{convert(value, kind, unit)!r} {unit}"
        assert parse(text, kind) == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize(
    ("value", "kind", "system", "text"),
    [
        (1.787e6, "rotational_stiffness", "si", "31.2 N m/deg (23.0 ft lbf/deg)"),
        (1.787e6, "rotational_stiffness", "us", "23.0 ft lbf/deg (31.2 N m/deg)"),
        (120.65, "length", "si", "120.7 mm (4.75 in)"),
        (2900.0, "length", "si", "2900 mm (114.2 in)"),
        (12345.6, "length", "si", "12346 mm (486 in)"),
        (350.0, "stiffness", "si", "350 N/mm (1999 lbf/in)"),
        (206e3, "stress", "si", "206000 MPa (29878 ksi)"),
        (0.1954, "mass", "si", "195 kg (431 lb)"),
        (-0.01, "angle", "si", "-0.573 deg"),
        (0.0, "force", "si", "0 N (0 lbf)"),
        (1e-9, "force", "si", "1.00e-09 N (2.25e-10 lbf)"),
        (math.inf, "stiffness", "si", "rigid"),
        (math.nan, "force", "si", "not known"),
    ],
)
def test_values_are_shown_as_the_trade_writes_them(
    value: float, kind: str, system: units.System, text: str
) -> None:
    assert show(value, kind, system) == text


def test_pint_stays_out_until_an_odd_unit_comes() -> None:
    code = (
        "import sys; from fea.units import parse; parse('120 mm', 'length');"
        "parse('11 ga', 'thickness'); parse('2000 lbf/in', 'stiffness');"
        "print('pint' in sys.modules); parse('1 yard', 'length'); print('pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert re.split(r"\s+", done.stdout.strip()) == ["False", "True"]
