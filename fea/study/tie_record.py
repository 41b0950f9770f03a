"""A tie study as plain data for JSON."""

from typing import Any

import numpy as np

from fea.frame.body import Tie
from fea.frame.model import Mount
from fea.result.answer import NM_PER_DEG
from fea.study.bracket_load import TieLoad, tie_load
from fea.study.seat import SeatLoad, seat_load
from fea.study.tie_check import TieCheck
from fea.study.tie_sets import BestSet
from fea.study.ties import FACTORS, Candidate, Grade, Outcome, TieStudy
from fea.study.verdict import Thresholds, against_practice, over_neighbours, ranking, verdict, word


def as_record(
    vehicle: TieStudy,
    sets: dict[str, tuple[BestSet, ...]],
    limits: Thresholds,
    checked: TieCheck | None = None,
) -> dict[str, Any]:
    """Return the study, the candidates ranked by their largest gain."""
    order = ranking(vehicle)
    record: dict[str, Any] = {
        "frame": vehicle.frame.name,
        "bodies": [b.name for b in vehicle.frame.bodies],
        "without": {g.name: _bare(g) for g in vehicle.grades},
        "mount_seats": {
            g.name: [_seat(m, found) for m, found in seats(vehicle, g)] for g in vehicle.grades
        },
        "candidates": [_candidate(vehicle, n, limits) for n in order],
        "best_sets": {
            name: [
                {"ties": list(s.names), "twist_gain": s.gain, "exact": s.exact, "tried": s.tried}
                for s in found
            ]
            for name, found in sets.items()
        },
        "verdicts": [verdict(vehicle, n, limits) for n in order],
        "against_practice": against_practice(vehicle, limits),
        "thresholds": {"worth": limits.worth, "heavy": limits.heavy},
    }
    if checked is not None:
        record["check"] = {
            "worst_relative_difference": checked.worst,
            "worst_motion": checked.motions,
            "worst_stiffness": checked.stiffness,
            "worst_difference_over_effect": checked.effect,
            "solved_in_full": checked.solved,
            "time_over_two_solves": checked.time_ratio,
            "study_seconds": checked.study_seconds,
            "two_solves_seconds": checked.two_solves_seconds,
        }
    return record


def seats(vehicle: TieStudy, grade: Grade) -> list[tuple[Mount, SeatLoad]]:
    """Return what sheet and washers bear under one degree of twist, where they are told."""
    return [
        (mount, seat_load(mount, float(force[2])))
        for mount, force in zip(vehicle.mounts, grade.bare.mounts, strict=True)
        if mount.fastening.wall is not None and mount.fastening.bolt is not None
    ]


def _seat(mount: Mount, found: SeatLoad) -> dict[str, Any]:
    under = {"washer": found.washer, "bare": found.bare}
    return {
        "mount": f"{mount.name} {mount.side}",
        "load_n_per_deg": found.load,
        "preload_n": found.preload,
        **{
            name: {
                "pressure_mpa": bearing.pressure,
                "over_high_pressure": bearing.low,
                "over_highest_pressure": bearing.high,
                "over_punching": bearing.punched,
            }
            for name, bearing in under.items()
            if bearing is not None
        },
    }


def _bare(grade: Grade) -> dict[str, float]:
    return {
        "twist_stiffness_nm_per_deg": grade.bare.twist * NM_PER_DEG,
        "bending_stiffness_n_per_mm": grade.bare.bending,
    }


def _candidate(vehicle: TieStudy, number: int, limits: Thresholds) -> dict[str, Any]:
    candidate = vehicle.candidates[number]
    return {
        "name": candidate.name,
        "station_mm": candidate.station,
        "ties": [_tie(t) for t in candidate.ties],
        "with_mounts": {g.name: _outcome(vehicle, g, number, limits) for g in vehicle.grades},
    }


def _tie(tie: Tie) -> dict[str, Any]:
    return {
        "side": tie.side,
        "frame_member": tie.onto,
        "body": tie.body,
        "brace": tie.beam,
        "frame_point_mm": list(tie.frame_point),
        "body_point_mm": list(tie.body_point),
    }


def brackets(candidate: Candidate, outcome: Outcome) -> list[tuple[Tie, TieLoad]]:
    """Return what each bracket of a candidate carries under one degree of twist."""
    return [
        (tie, tie_load(tie, load))
        for tie, load in zip(candidate.ties, outcome.load, strict=True)
        if tie.bracket is not None
    ]


def _bracket(tie: Tie, found: TieLoad) -> dict[str, Any]:
    worst = max((found.frame, found.body), key=lambda end: end.use)
    return {
        "side": tie.side,
        "bolt_shear_n": max(found.frame.shear, found.body.shear),
        "bolt_tension_n": max(found.frame.tension, found.body.tension),
        "bearing_mpa": worst.bearing,
        "plate_stress_mpa": max(worst.plate, worst.net),
        "use_of_strength": found.use,
        "slip": max(found.frame.slip, found.body.slip),
    }


def _outcome(vehicle: TieStudy, grade: Grade, number: int, limits: Thresholds) -> dict[str, Any]:
    outcome = grade.outcomes[number]
    return {
        "twist_stiffness_nm_per_deg": outcome.vehicle.twist * NM_PER_DEG,
        "bending_stiffness_n_per_mm": outcome.vehicle.bending,
        "twist_gain": outcome.twist_gain,
        "bending_gain": outcome.bending_gain,
        "load_kn_per_deg": outcome.force / 1000.0,
        "loads_n_per_deg": outcome.load[:, :3].tolist(),
        "load_over_neighbours": over_neighbours(outcome),
        "neighbours": [
            {
                "mount": f"{vehicle.mounts[n].name} {vehicle.mounts[n].side}",
                "load_before_n_per_deg": float(np.linalg.norm(grade.bare.mounts[n])),
                "load_after_n_per_deg": float(np.linalg.norm(outcome.vehicle.mounts[n])),
            }
            for beside in outcome.neighbours
            for n in beside
        ],
        "twist_gain_by_tie_stiffness": {
            f"{f:g}": float(g) for f, g in zip(FACTORS, outcome.by_stiffness, strict=True)
        },
        "brackets": [_bracket(t, f) for t, f in brackets(vehicle.candidates[number], outcome)],
        "rigidly_linked": outcome.linked,
        "verdict": word(outcome, limits),
    }
