"""The strength of joints and seams as plain data for JSON."""

import math
from typing import Any

from fea.strength.bolts import BoltLoad
from fea.strength.fatigue import Caution
from fea.strength.report import JointStrength, SeamStrength, Strength
from fea.strength.weld import ALLOWED, THROAT, WeldLoad


def as_record(found: Strength) -> dict[str, Any]:
    """Return everything, the joints in the frame's order."""
    electrode = found.wanted.electrode
    return {
        "frame": found.frame.name,
        "cases": [c.name for c in found.cases],
        "parts": list(found.frame.fitted),
        "electrode_mpa": electrode.strength,
        "allowed_share_of_electrode": ALLOWED,
        "throat_over_leg": THROAT,
        "bolt_class": found.wanted.fastener.kind,
        "joints": [_joint(j) for j in found.joints],
        "seams": [_seam(s) for s in found.seams],
        "fatigue": {
            "case": found.twist.name,
            "classes": "EN 1993-1-9:2005, from memory",
            "cautions": [_caution(c) for c in found.cautions],
        },
    }


def _joint(item: JointStrength) -> dict[str, Any]:
    joint, force = item.force.joint, item.force
    return {
        "member": joint.member,
        "end": joint.end,
        "onto": joint.onto,
        "kind": joint.kind,
        "governed_by": item.case,
        "point_mm": force.point.tolist(),
        "force_n": force.force[:3].tolist(),
        "moment_n_mm": force.force[3:].tolist(),
        "pull_n": force.pull,
        "taken_at": force.taken,
        "loads_between": force.between,
        "weld": None if item.weld is None else _weld(item.weld),
        "bolts": None if item.bolts is None else _bolts(item.bolts),
    }


def _weld(load: WeldLoad) -> dict[str, Any]:
    return {
        "about": load.weld.about,
        "length_mm": load.weld.line.length,
        "load_n_per_mm": load.per_length,
        "worst_place_mm": load.place.tolist(),
        "leg_mm": load.leg,
        "thinner_wall_mm": load.weld.thinner,
        "required_leg_mm": load.required,
        "use": load.use,
    }


def _bolts(load: BoltLoad) -> dict[str, Any]:
    return {
        "count": load.count,
        "diameter_mm": load.diameter,
        "preload_n": load.preload,
        "shear_n": load.shear,
        "tension_n": load.tension,
        "bearing_mpa": load.bearing,
        "bolt_use": load.bolt_use,
        "bearing_use": load.bearing_use,
        "slip": _finite(load.slip),
        "gape": _finite(load.gape),
        "use": load.use,
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _seam(item: SeamStrength) -> dict[str, Any]:
    load = item.load
    stitch = load.stitch
    return {
        "member": load.member,
        "part": load.part,
        "from_mm": load.start,
        "to_mm": load.end,
        "governed_by": item.case,
        "shear_flow_n_per_mm": load.flow,
        "station_mm": load.station,
        "leg_mm": load.leg,
        "stitch_mm": None if stitch is None else [stitch.weld, stitch.pitch],
        "load_n_per_mm_of_weld": load.per_length,
        "use": load.use,
        "weld_mm_per_100_mm": load.weld_per(100.0),
    }


def _caution(item: Caution) -> dict[str, Any]:
    return {
        "where": item.where,
        "detail": item.detail.name,
        "table": item.detail.table,
        "class_mpa": item.detail.category,
        "constant_amplitude_limit_mpa": item.detail.limit,
        "stress_range_mpa": item.range,
        "range_over_limit": item.ratio,
        "station_mm": item.station,
    }
