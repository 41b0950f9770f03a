"""Derivatives as plain data for JSON, and what one more step of a figure buys."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fea import units
from fea.result.answer import NM_PER_DEG
from fea.study.keys import NumericKey
from fea.study.sensitivity import Slope

STEPS = {"gauge": 0.1, "plate": 0.1, "size": 1.0}
"""One more step of a thickness and of a size, mm; of a stiffness it is `SHARE`."""

SHARE = 0.1
"""One more step of a stiffness, of itself."""

LOST = 0.01
"""One more step of what a wall has lost, where that is told in per cent of it."""

FELT = 1e-9
"""Shares of a stiffness or mass below this, for doubling the figure, are round-off."""


@dataclass(frozen=True)
class Now:
    """What the frame measures as it is: N mm/rad, N/mm, tonne; None where nothing does."""

    twist: float | None
    bending: float | None
    steel: float


def step_of(key: NumericKey) -> float:
    """Return one more step of a figure, in base units."""
    if key.kind == "share":
        return LOST
    return STEPS.get(key.sort, SHARE * key.value)


def step_words(key: NumericKey) -> str:
    """Return one more step of a figure in words."""
    if key.kind == "share":
        return f"+{100.0 * LOST:g} % of the wall"
    return f"+{STEPS[key.sort]:g} mm" if key.sort in STEPS else f"+{100.0 * SHARE:g} %"


def felt(slope: Slope, now: Now) -> bool:
    """Say whether a figure matters at all to what is measured, or to the mass."""
    shares = [(slope.twist, now.twist), (slope.bending, now.bending), (slope.steel, now.steel)]
    return any(abs(d) * slope.key.value > FELT * abs(v) for d, v in shares if d is not None and v)


def gain(derivative: float | None, value: float | None, key: NumericKey) -> float | None:
    """Return the share of a stiffness that one more step buys, to first order."""
    if derivative is None or not value:
        return None
    return derivative * step_of(key) / value


def per_kg(share: float | None, slope: Slope, now: Now) -> float | None:
    """Return the share bought per kilogram; None where the step adds no steel."""
    if share is None or abs(slope.steel) * slope.key.value <= FELT * now.steel:
        return None
    return share / (1000.0 * slope.steel * step_of(slope.key))


def over_half(derivative: float | None, value: float | None, half: float) -> float | None:
    """Return the share of a stiffness that half a tolerance may make, to first order."""
    if derivative is None or not value:
        return None
    return derivative * half / value


def as_record(
    slopes: Sequence[Slope], now: Now, halves: Mapping[str, float] | None = None
) -> dict[str, Any]:
    """Return the derivatives per unit as documents write it, and what one more step buys.

    Parameters
    ----------
    halves : path -> half the tolerance of what carries one, in base units
    """
    return {
        "twist_stiffness_nm_per_deg": None if now.twist is None else now.twist * NM_PER_DEG,
        "bending_stiffness_n_per_mm": now.bending,
        "steel_kg": 1000.0 * now.steel,
        "keys": [_key(s, now, (halves or {}).get(s.key.path)) for s in slopes],
    }


def _key(slope: Slope, now: Now, half: float | None) -> dict[str, Any]:
    key = slope.key
    unit = units.KINDS[key.kind].si
    one = 1.0 / units.convert(1.0, key.kind, unit)  # base units in one of `unit`
    twist, bending = (gain(getattr(slope, m), getattr(now, m), key) for m in ("twist", "bending"))
    record: dict[str, Any] = {
        "path": key.path,
        "sort": key.sort,
        "value": units.convert(key.value, key.kind, unit),
        "unit": unit,
        "method": "adjoint" if slope.adjoint else "differences",
        "twist_nm_per_deg_per_unit": (
            None if slope.twist is None else slope.twist * one * NM_PER_DEG
        ),
        "bending_n_per_mm_per_unit": None if slope.bending is None else slope.bending * one,
        "steel_kg_per_unit": 1000.0 * slope.steel * one,
        "step": step_words(key),
        "step_twist_gain": twist,
        "step_bending_gain": bending,
        "step_kg": 1000.0 * slope.steel * step_of(key),
        "step_twist_gain_per_kg": per_kg(twist, slope, now),
        "step_bending_gain_per_kg": per_kg(bending, slope, now),
    }
    if half is not None:
        record["half_width"] = units.convert(half, key.kind, unit)
        record["half_width_twist"] = over_half(slope.twist, now.twist, half)
        record["half_width_bending"] = over_half(slope.bending, now.bending, half)
    if slope.peak is not None:
        record["peak_stress_mpa_per_unit"] = slope.peak * one
    return record
