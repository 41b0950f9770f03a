"""A survey's outcome as plain data for JSON, and its points as CSV for what comes after."""

from math import degrees
from typing import Any

from fea.result.tabular import csv_text
from fea.shop import survey_words as words
from fea.shop.survey import Judged, Surveyed
from fea.shop.survey_measures import TITLES

FORMAT = 1
"""Version of the layout; keys are only ever added within a version."""


def as_record(found: Surveyed) -> dict[str, Any]:
    """Return the outcome as a dictionary ready for JSON."""
    adjusted = found.snooped.adjusted
    return {
        "format": FORMAT,
        "frame": found.frame.name,
        "title": found.frame.title,
        "survey": found.readings.source,
        "verdict": words.verdict(found),
        "measures": [_judged(j, found.limits.source(j.measure.key)) for j in found.judged],
        "without_points": list(found.missing),
        "slips": [
            {
                "told": text,
                "readings": [
                    {"line": found.readings.readings[k].line,
                     "reading": found.readings.readings[k].words(found.readings.points),
                     **_size(found.readings.readings[k].kind, size)}
                    for k, size in zip(slip.readings, slip.sizes, strict=True)
                ],
            }
            for slip, text in zip(found.snooped.slips, words.slips(found), strict=True)
        ],
        "slips_sorted_out": not found.snooped.lost,
        "points": _points(found),
        "readings": [
            {
                "line": r.line,
                "reading": r.words(found.readings.points),
                "used": bool(used),
                "uncertainty": degrees(sigma) if r.kind == "tilt" else sigma,
                **_size(r.kind, left),
                "standardised": tested,
                "redundancy": share,
            }
            for r, used, sigma, left, tested, share in zip(
                found.readings.readings, adjusted.used.tolist(), adjusted.sigma.tolist(),
                adjusted.left.tolist(), adjusted.tested.tolist(), adjusted.redundancy.tolist(),
                strict=True,
            )
        ],
        "freedom": adjusted.freedom,
        "sum_of_squares": adjusted.square,
        "bands_widened_by": found.spread,
        "not_told": words.unjudged(found),
        "basis": words.basis(found),
    }  # fmt: skip


def _size(kind: str, value: float) -> dict[str, float]:
    return {"off_deg": degrees(value)} if kind == "tilt" else {"off_mm": value}


def _judged(judged: Judged, source: str) -> dict[str, Any]:
    measure = judged.measure
    known = judged.status != "not measured"
    record: dict[str, Any] = {
        "measure": measure.key,
        "title": TITLES[measure.key],
        "where": measure.title,
        "status": judged.status,
        "tolerance_from": None if judged.tolerance is None else source,
        "sense": judged.sense if known else None,
    }
    if measure.is_angle:
        wide = 1.0 / measure.per
        record |= {
            "value_deg": degrees(judged.value) if known else None,
            "band_deg": degrees(judged.half) if known else None,
            "tolerance_deg": None if judged.tolerance is None else degrees(judged.tolerance),
            "value_mm": judged.value * wide if known else None,
            "over_mm": wide,
        }
    else:
        record |= {
            "value_mm": judged.value if known else None,
            "band_mm": judged.half if known else None,
            "tolerance_mm": judged.tolerance,
        }
    return record


def _points(found: Surveyed) -> list[dict[str, Any]]:
    out = []
    for k, point in enumerate(found.readings.points):
        record: dict[str, Any] = {"point": point.key}
        for axis, name in enumerate(("station", "offset", "height")):
            known = bool(found.told[k, axis])
            record[f"{name}_mm"] = float(found.placed.places[k, axis]) if known else None
            record[f"{name}_off_mm"] = float(found.off[k, axis]) if known else None
            record[f"{name}_band_mm"] = float(found.half[k, axis]) if known else None
        out.append(record)
    return out


def fitted_csv(found: Surveyed) -> str:
    """Return the adjusted points as CSV text; what is not told stays empty."""
    axes = ("station", "offset", "height")
    rows = [
        ["point", *(f"{a}_mm" for a in axes), *(f"{a}_off_mm" for a in axes),
         *(f"{a}_band_mm" for a in axes)]
    ]  # fmt: skip
    for record in _points(found):
        cells = [
            record[f"{a}{end}_mm"] for end in ("", "_off", "_band") for a in axes
        ]  # fmt: skip
        rows.append([record["point"], *("" if c is None else f"{c:.3f}" for c in cells)])
    return csv_text(rows)
