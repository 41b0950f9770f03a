"""A study of tolerances as plain data for JSON."""

from typing import Any

from fea import units
from fea.result.answer import NM_PER_DEG
from fea.study.confidence import Band, Confidence, Spread


def as_record(found: Confidence) -> dict[str, Any]:
    """Return the bands, which figure makes them, and the odds of the ranking."""
    scale = {"twist": ("twist_stiffness_nm_per_deg", NM_PER_DEG),
             "bending": ("bending_stiffness_n_per_mm", 1.0)}  # fmt: skip
    return {
        "tolerances": [
            {
                "path": t.path,
                "mean": units.convert(t.mean, t.kind, units.KINDS[t.kind].si),
                "half_width": units.convert(t.half, t.kind, units.KINDS[t.kind].si),
                "unit": units.KINDS[t.kind].si,
            }
            for t in found.tolerances
        ],
        "draws": found.draws,
        "seed": found.seed,
        "solves": found.solves,
        "reused": found.reused,
        "joints": "beam" if found.miss is None else "sheet",
        "draw_solved_in_full_misses": found.miss,
        "stock": {scale[m][0]: _spread(found, s, scale[m][1]) for m, s in found.stock.items()},
        "gains": {
            m: {name or "all fitted parts": _spread(found, s, 1.0) for name, s in each.items()}
            for m, each in found.gains.items()
        },
        "ranking_by_twist_alone": list(found.ranking),
        "ranking_right": found.right,
        "first_is_first": found.first,
        "ahead_of_next": found.ahead.tolist(),
    }


def _spread(found: Confidence, spread: Spread, scale: float) -> dict[str, Any]:
    return {
        "nominal": spread.band.nominal * scale,
        "draws_5_to_95": _band(spread.band, scale),
        "first_order_5_to_95": _band(spread.linear, scale),
        "variance_shares": {
            t.path: float(s) for t, s in zip(found.tolerances, spread.shares, strict=True)
        },
    }


def _band(band: Band, scale: float) -> list[float]:
    return [band.low * scale, band.high * scale]
