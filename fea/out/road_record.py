"""How a vehicle stands on the road as plain data; units in every key."""

from typing import Any

from fea.frame.case import Case
from fea.frame.road import OnTheRoad


def road_record(road: OnTheRoad, case: Case) -> dict[str, Any]:
    """Return the wheels' loads of a road case and how they came about."""
    return {
        "mass_kg": 1000.0 * road.mass,
        "centre_mm": road.centre.tolist(),
        "weight_counts": road.weights,
        "wheels": [
            {"wheel": w, "rearward_n": f[0], "right_n": f[1], "up_n": f[2]}
            for w, f in ((w, f.tolist()) for w, f in road.wheels.items())
        ],
        "jack_n": road.jack,
        "bump_couple_nm": None if road.couple is None else road.couple / 1000.0,
        "left_over": road.imbalance,
        "notes": list(road.notes),
        "sources": dict(case.road.sources) if case.road is not None else {},
        "combined": [{"case": t.case.name, "factor": t.factor} for t in case.combine],
    }
