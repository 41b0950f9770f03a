"""A boxing sweep as plain data for JSON and CSV."""

from typing import Any

from fea.result.answer import NM_PER_DEG
from fea.study.boxing_sweep import BoxingSweep, Tried
from fea.study.sweep_record import complaint_record, complaint_words, table_text


def as_record(found: BoxingSweep) -> dict[str, Any]:
    """Return where the plate may lie, the frame without it, and every plate tried."""
    place = found.place
    good = found.good()
    return {
        "part": place.part,
        "plate": place.number,
        "rail": place.rail,
        "free_from_mm": place.low,
        "free_to_mm": place.high,
        "as_drawn_mm": [place.start, place.stop],
        "stations_mm": list(found.stations),
        "shortest_ranked_mm": found.least,
        "without": _figures(found.bare),
        "plates": [plate_record(found, t) for t in found.tried],
        "of_length": [plate_record(found, t) for t in found.of_length],
        "best": {
            "stiffest": _best(found, found.stiffest()[-1:]),
            "of_length": _best(
                found, sorted(filter(found.ranked, found.of_length), key=found.gain)[-1:]
            ),
            "per_kilogram": _best(found, sorted(good, key=found.per_tonne)[-1:]),
        },
        "stiffest_by_length": [plate_record(found, t) for t in found.stiffest()],
    }


def plate_record(found: BoxingSweep, plate: Tried) -> dict[str, Any]:
    """Return one plate with what it adds."""
    known = plate.twist is not None
    steel, bare = plate.steel, found.bare.steel
    return (
        {"from_mm": plate.start, "to_mm": plate.stop}
        | _figures(plate)
        | {
            "plate_kg": None if steel is None or bare is None else 1000.0 * (steel - bare),
            "twist_gained_nm_per_deg": found.gain(plate) * NM_PER_DEG if known else None,
            "twist_gained_per_kg": found.per_tonne(plate) * NM_PER_DEG / 1e3 if known else None,
            "end_stress_mpa": dict(plate.ends),
            "ranked": found.ranked(plate),
        }
        | complaint_record(plate.complaints)
    )


def as_csv(found: BoxingSweep) -> str:
    """Return every plate as a row of comma-separated values."""
    cases = dict.fromkeys(case for t in (*found.tried, *found.of_length) for case, _ in t.ends)
    rows = []
    for plate in (*found.tried, *found.of_length):
        row = plate_record(found, plate)
        ends = row.pop("end_stress_mpa")
        row.pop("complaints", None)
        row |= {f"end_stress_{case}_mpa": ends.get(case) for case in cases}
        rows.append(row | {"complaint": complaint_words(plate.complaints)})
    return table_text(rows)


def _best(found: BoxingSweep, plates: list[Tried]) -> dict[str, Any] | None:
    return plate_record(found, plates[0]) if plates else None


def _figures(plate: Tried) -> dict[str, Any]:
    return {
        "twist_stiffness_nm_per_deg": None if plate.twist is None else plate.twist * NM_PER_DEG,
        "bending_stiffness_n_per_mm": plate.bending,
        "steel_kg": None if plate.steel is None else 1000.0 * plate.steel,
    }
