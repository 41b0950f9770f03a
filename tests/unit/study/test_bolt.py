"""Bolts: stress areas as the standards print them, preload, classes."""

import pytest

from fea.errors import ModelError
from fea.study.bolt import CLASSES, preload, property_class, stress_area

PRINTED = [(6, 20.1), (8, 36.6), (10, 58.0), (12, 84.3), (14, 115.0), (16, 157.0), (20, 245.0)]
"""ISO 898-1, table of loads of coarse threads, mm2."""

INCHES = [(6.35, 0.0318), (7.9375, 0.0524), (9.525, 0.0775), (11.1125, 0.1063), (12.7, 0.1419)]
"""Unified coarse, 1/4 to 1/2 inch, in2."""


@pytest.mark.parametrize(("diameter", "area"), PRINTED)
def test_metric_stress_areas(diameter: float, area: float) -> None:
    assert stress_area(diameter) == pytest.approx(area, rel=4e-3)  # the digits printed


@pytest.mark.parametrize(("diameter", "area"), INCHES)
def test_inch_stress_areas(diameter: float, area: float) -> None:
    # That standard takes 0.9743 of the pitch off instead of 0.9382.
    assert stress_area(diameter) == pytest.approx(area * 25.4**2, rel=2e-2)


def test_an_odd_size_is_taken_low() -> None:
    assert stress_area(8.0) < stress_area(9.0) < stress_area(10.0)
    assert stress_area(9.0) == pytest.approx(0.7854 * (9.0 - 0.9382 * 1.5) ** 2, rel=1e-4)


def test_preload_of_40_newton_metres_on_m10() -> None:
    assert preload(40e3, 10.0) == pytest.approx(20e3)


def test_classes() -> None:
    """The name says tensile strength and yield; proof lies below yield, shear below tensile."""
    for name, c in CLASSES.items():
        first, second = name.split(".")
        assert c.tensile == 100.0 * int(first)
        assert 0.88 * c.tensile * int(second) / 10 < c.proof <= c.tensile * int(second) / 10
        assert c.shear == pytest.approx(c.tensile * (0.6 if name in ("4.6", "8.8") else 0.5))
    with pytest.raises(ModelError, match="there is no property class"):
        property_class("8.9")
