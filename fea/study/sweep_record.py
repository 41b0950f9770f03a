"""A sweep as plain data for JSON and CSV."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from fea.errors import Complaint
from fea.result.answer import NM_PER_DEG
from fea.result.tabular import csv_text
from fea.study.sweep import Point, Sweep
from fea.study.variant import Figures


def as_record(found: Sweep) -> dict[str, Any]:
    """Return what was varied, and one row per combination."""
    return {
        "varied": [{"key": v.key, "values": list(v.texts)} for v in found.varied],
        "rows": [
            {"at": dict(zip((v.key for v in found.varied), p.texts, strict=True))}
            | figure_record(p.figures, stress=found.stress)
            | complaint_record(p.complaints)
            for p in found.points
        ],
    }


def as_csv(found: Sweep) -> str:
    """Return the rows as a table of comma-separated values, one column per key and figure."""
    rows = [_flat(found, p) for p in found.points]
    return table_text(rows)


def figure_record(figures: Figures | None, *, stress: bool = False) -> dict[str, Any]:
    """Return figures with their units in the names; all None for a variant that was refused."""
    f = figures
    twist = None if f is None else f.twist
    record: dict[str, Any] = {
        "twist_stiffness_nm_per_deg": None if twist is None else twist * NM_PER_DEG,
        "bending_stiffness_n_per_mm": None if f is None else f.bending,
        "steel_kg": None if f is None else 1000.0 * f.steel,
    }
    if stress:
        record |= {
            "highest_stress_mpa": None if f is None else f.peak,
            "highest_utilisation": None if f is None else f.utilisation,
            "highest_in": None if f is None else f.peak_member,
        }
    return record


def complaint_record(complaints: Sequence[Complaint]) -> dict[str, Any]:
    """Return complaints, where there are any."""
    return {"complaints": [asdict(c) for c in complaints]} if complaints else {}


def complaint_words(complaints: Sequence[Complaint]) -> str:
    """Return complaints in one line."""
    words = (f"{c.rule} ({c.found})" if c.found else c.rule for c in complaints)
    return "; ".join(dict.fromkeys(words))


def table_text(rows: Sequence[Mapping[str, Any]]) -> str:
    """Return rows of the same columns as comma-separated values; None is left empty."""
    return csv_text([list(rows[0]), *(row.values() for row in rows)])


def _flat(found: Sweep, point: Point) -> dict[str, Any]:
    return (
        dict(zip((v.key for v in found.varied), point.texts, strict=True))
        | figure_record(point.figures, stress=found.stress)
        | {"complaint": complaint_words(point.complaints)}
    )
