"""A fit as plain data for JSON."""

from typing import Any

import numpy as np

from fea.result.answer import NM_PER_DEG
from fea.study.fit import LEVEL, Fitted
from fea.study.fit_gauges import Hint
from fea.study.fit_unknowns import Unknown
from fea.study.fit_words import gauge_words, sentences, untold
from fea.study.variant import Figures

UNITS = {"loss": "mm", "factor": "", "give": "mm/N", "zero": "mm"}


def as_record(found: Fitted, better: Hint | None, written: str | None = None) -> dict[str, Any]:
    """Return a fit; `written` is where the fitted document went."""
    rig, spread = found.rig, found.spread
    record: dict[str, Any] = {
        "frame": rig.setting.source,
        "readings": rig.readings.source,
        "unknowns": [_unknown(found, k, u) for k, u in enumerate(rig.unknowns)],
        "gauges": [
            {
                "gauge": rig.gauges[t.gauge].name,
                "line": t.line,
                "couple_nm": rig.readings.loads[t.load].couple / 1000.0,
                "read_mm": t.value,
                "fitted_mm": float(found.predicted[k]),
                "left_mm": float(found.left[k]),
                "uncertainty_mm": float(found.usual[k]),
            }
            for k, t in enumerate(rig.readings.taken)
        ],
        "level": LEVEL,
        "bands": {
            "times_standard_deviation": spread.times,
            "degrees_of_freedom": None if np.isinf(spread.freedom) else spread.freedom,
            "variance_of_readings_over_usual": found.variance,
            "uncertainty_told": found.told,
            "chance_of_larger_residuals": found.chance,
        },
        "strengths": spread.strength.tolist(),
        "combinations": spread.combinations.tolist(),
        "untold": [
            {"unknowns": [rig.unknowns[k].name for k in item.parts], "signs": list(item.signs),
             "half_band_in_usual_changes": item.reach}
            for item in untold(found)
        ],
        "words": sentences(found, better),
        "notes": list(rig.asked.notes),
        "solves": found.trials,
        "written": written,
    }  # fmt: skip
    if better is not None:
        record["next_gauge"] = {
            "where": gauge_words(better.gauge),
            "station_mm": better.gauge.place.station,
            "side": better.gauge.place.side,
            "motion": better.gauge.motion,
        }
    if found.stiffness is not None:
        before = found.stiffness
        record["stiffness"] = {
            "as_written": _figures(before.written, None, None),
            "fitted": _figures(before.fitted, before.twist_half, before.bending_half),
        }
    return record


def _unknown(found: Fitted, k: int, unknown: Unknown) -> dict[str, Any]:
    return {
        "name": unknown.name,
        "words": unknown.words,
        "kind": unknown.kind,
        "unit": UNITS[unknown.kind],
        "value": unknown.value(float(found.x[k])),
        "low": unknown.value(float(found.low[k])),
        "high": unknown.value(float(found.high[k])),
        "told": found.free[k],
    }


def _figures(
    figures: Figures, twist_half: float | None, bending_half: float | None
) -> dict[str, float | None]:
    out: dict[str, float | None] = {
        "twist_stiffness_nm_per_deg": _times(figures.twist, NM_PER_DEG),
        "bending_stiffness_n_per_mm": figures.bending,
    }
    if twist_half is not None or bending_half is not None:
        out["twist_half_band_nm_per_deg"] = _times(twist_half, NM_PER_DEG)
        out["bending_half_band_n_per_mm"] = bending_half
    return out


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor
