"""A position sweep as plain data for JSON and CSV."""

from collections.abc import Sequence
from typing import Any

from fea.result.answer import NM_PER_DEG
from fea.study.positions import Bolted, EndLoad, PositionSweep
from fea.study.sweep_record import complaint_record, complaint_words, table_text


def as_record(found: PositionSweep) -> dict[str, Any]:
    """Return every position with stiffness and the loads of both ends."""
    return {
        "crossmember": found.name,
        "joint": found.joint,
        "station_mm": found.station,
        "positions": [
            _at(p)
            | {
                "loads_per_1000_nm_of_twist": [_load(e) for e in p.in_twist],
                "loads_per_kn_of_bending": [_load(e) for e in p.in_bending],
            }
            | complaint_record(p.complaints)
            for p in found.tried
        ],
    }


def as_csv(found: PositionSweep) -> str:
    """Return every end at every position as a row of comma-separated values."""
    rows = []
    for p in found.tried:
        for case, ends in (("twist_1000_nm", p.in_twist), ("bending_1_kn", p.in_bending)):
            for end in ends or (EndLoad("", (0.0,) * 3, (0.0,) * 3),) * bool(p.complaints):
                row = _at(p) | {"load": case, "onto": end.onto}
                row |= {f"force_{c}_n": v for c, v in zip("xyz", end.force, strict=True)}
                row |= {f"moment_{c}_nm": v / 1e3 for c, v in zip("xyz", end.moment, strict=True)}
                if p.complaints:
                    row |= {k: None for k in row if k.startswith(("force", "moment"))}
                rows.append(row | {"complaint": complaint_words(p.complaints)})
    return table_text(rows)


def _at(p: Bolted) -> dict[str, Any]:
    return {
        "station_mm": p.station,
        "turned": p.turned,
        "mount_station_mm": p.mount,
        "twist_stiffness_nm_per_deg": None if p.twist is None else p.twist * NM_PER_DEG,
        "bending_stiffness_n_per_mm": p.bending,
    }


def _load(end: EndLoad) -> dict[str, Any]:
    return {
        "onto": end.onto,
        "force_n": _rounded(end.force, 1e-9),
        "moment_nm": _rounded([m / 1e3 for m in end.moment], 1e-9),
    }


def _rounded(values: Sequence[float], least: float) -> list[float]:
    """Return values without the round-off that stands where symmetry makes a zero."""
    size = max(abs(v) for v in values)
    return [v if abs(v) > least * size else 0.0 for v in values]
