"""Stands as plain data for JSON, and what they mean in sentences."""

from math import degrees
from typing import Any

from fea.shop.stand_levels import OffLevel
from fea.shop.stands import Standing, margin

FORMAT = 1
"""Version of the layout; keys are only ever added within a version."""

NARROW = 100.0
"""A centre of mass nearer than this, mm, to the edge of the stands is told of.  An estimate: what
a pull at a spanner or a hoist moves it by."""

CAUTIONS = (
    "Stand them on level concrete, each rated for well over its load, pads against slipping; lower"
    " the frame onto them and shake it before going under. Never a jack alone.",
    "The more stands, the truer each must be: shim until all bear alike, and check with a level"
    " again after tacking. A planning aid, not a certification: local codes and a licensed"
    " engineer decide.",
)


def tipping(standing: Standing) -> float:
    """Return how far the centre of mass is inside the stands that bear, mm."""
    bearing = [k for k in range(len(standing.stands)) if k not in standing.lifted]
    return margin(standing.bench.plan[standing.stands[bearing]], standing.bench.centre)


def stations(standing: Standing) -> list[float]:
    """Return the stations of the stands, rising, mm."""
    return sorted({float(standing.bench.stations[k // 2]) for k in standing.stands.tolist()})


def as_record(
    found: list[Standing], moves: list[OffLevel], tolerance: float, *, sheet_joints: bool
) -> dict[str, Any]:
    """Return sets of stands, the best first, and how true those of the first must be."""
    on = found[0].bench
    return {
        "format": FORMAT,
        "frame": on.frame.name,
        "title": on.frame.title,
        "weight_n": on.weight,
        "centre_of_mass_mm": on.centre.tolist(),
        "joints": "sheet" if sheet_joints else "beam",
        "sets": [_set(s) for s in found],
        "tolerance_deg": degrees(tolerance),
        "off_level": [
            {
                "stand": on.place(m.place),
                "moved": "up" if m.sign > 0 else "down",
                "twist_deg_per_mm": degrees(m.rate),
                "twists_by_tolerance_at_mm": m.twists,
                "lifts_off_at_mm": m.lifts,
                "lifts_off": None if m.lifted is None else on.place(m.lifted),
                "largest_twist_deg": degrees(m.most),
            }
            for m in moves
        ],
    }


def _set(s: Standing) -> dict[str, Any]:
    on = s.bench
    return {
        "stations_mm": stations(s),
        "largest_height_off_mm": s.sag,
        "rms_height_off_mm": s.rms,
        "twist_deg": degrees(s.twist),
        "tipping_margin_mm": tipping(s),
        "stands": [
            {
                "stand": on.place(int(k)),
                "station_mm": float(on.plan[k, 0]),
                "offset_mm": float(on.plan[k, 1]),
                "load_n": float(f),
                "bears": number not in s.lifted,
            }
            for number, (k, f) in enumerate(zip(s.stands, s.forces, strict=True))
        ],
    }


def tightest(moves: list[OffLevel]) -> OffLevel | None:
    """Return the stand that twists the frame by the tolerance soonest, None if none does."""
    found = [m for m in moves if m.twists is not None]
    return min(found, key=lambda m: m.twists or 0.0, default=None)


def sentences(standing: Standing, moves: list[OffLevel], tolerance: float) -> list[str]:
    """Return what to know of a set of stands."""
    on = standing.bench
    out = []
    soonest = tightest(moves)
    if soonest is None:
        out.append(f"No stand twists the frame by {degrees(tolerance):g} deg: one lifts off first.")
    else:
        out.append(
            f"Keep the stands level within {soonest.twists:.1f} mm: the one at"
            f" {on.place(soonest.place)}, {'raised' if soonest.sign > 0 else 'lowered'} so far,"
            f" twists the frame by {degrees(tolerance):g} deg."
        )
    if len(standing.lifted):
        places = ", ".join(on.place(int(standing.stands[k])) for k in standing.lifted)
        out.append(f"No load at {places}: take that stand away or shim it up.")
    if tipping(standing) < NARROW:
        out.append(
            f"The centre of mass is only {tipping(standing):.0f} mm inside the stands: a pull tips"
            " it. Spread them."
        )
    return out
