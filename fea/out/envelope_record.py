"""An envelope of cases as plain data and as CSV; units in every key and column."""

from typing import Any

from fea.result.answer import Answer
from fea.result.envelope import Envelope, Row, Worst
from fea.result.tabular import csv_text

COLUMNS = {
    "stress": ("von_mises_mpa", 1.0),
    "utilisation": ("utilisation", 1.0),
    "force": ("force_n", 1.0),
    "moment": ("moment_nm", 1e-3),
}
"""What is told of a row: its key with the unit, and the factor from base units."""


def envelope_record(found: Envelope, answers: list[Answer]) -> dict[str, Any]:
    """Return an envelope as a dictionary ready for JSON."""
    frame = answers[0].frame
    return {
        "format": 1,
        "frame": frame.name,
        "title": frame.title,
        "parts_fitted": list(frame.fitted),
        "assumptions": list(answers[0].assumed),
        "cases": [
            {"case": a.case.name, "title": a.case.title, **_sources(a), "measures": a.measures}
            for a in answers
        ],
        **{f"{kind}s": [_row(r) for r in found.of(kind)] for kind in ("member", "joint", "mount")},
    }


def _sources(answer: Answer) -> dict[str, Any]:
    road = answer.case.road
    return {"sources": dict(road.sources)} if road is not None else {}


def _row(row: Row) -> dict[str, Any]:
    told: dict[str, Any] = {"name": row.name, "governs": row.governs, "station_mm": row.station}
    for name, (key, factor) in COLUMNS.items():
        worst: Worst | None = getattr(row, name)
        if worst is not None:
            told[key] = worst.value * factor
            told[f"{name}_case"] = worst.case
    return told


def envelope_csv(found: Envelope) -> str:
    """Return an envelope as CSV text, a line for each member, joint and mount."""
    heads = [h for name, (key, _) in COLUMNS.items() for h in (key, f"{name}_case")]
    lines = [["kind", "name", "governs", "station_mm", *heads]]
    for row in found.rows:
        cells = [row.kind, row.name, row.governs, _figure(row.station)]
        for name, (_, factor) in COLUMNS.items():
            worst: Worst | None = getattr(row, name)
            cells += ["", ""] if worst is None else [_figure(worst.value * factor), worst.case]
        lines.append(cells)
    return csv_text(lines)


def _figure(value: float | None) -> str:
    return "" if value is None else f"{value:.6g}"
