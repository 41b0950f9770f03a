"""A study of welding orders as plain data for JSON."""

from typing import Any

from fea.shop.weld_order import OrderStudy, Outcome
from fea.shop.weld_schedule import Schedule, cool_for
from fea.shop.weld_shrinkage import tendon_force
from fea.shop.weld_words import SAFETY, assumed, verdict


def as_record(study: OrderStudy, schedules: dict[str, Schedule], chosen: Outcome) -> dict[str, Any]:
    """Return the study, with the schedule of the chosen order.

    Parameters
    ----------
    schedules : order's name -> its schedule
    """
    plan = study.model.plan
    process = schedules[chosen.name].process
    return {
        "frame": plan.frame.name,
        "parts": list(plan.parts),
        "runs": len(plan.runs),
        "weld_mm": sum(r.length for r in plan.runs),
        "tack_share": study.model.tack,
        "shrinkage_band": study.band,
        "seed": study.seed,
        "process": process.name,
        "orders": [_order(study, o, schedules[o.name]) for o in study.outcomes],
        "best": study.best.name,
        "verdict": verdict(study),
        "assumed": assumed(study, process),
        "cautions": list(SAFETY),
        "schedule": {"order": chosen.name, "near_mm": schedules[chosen.name].near,
                     "steps": _steps(study, schedules[chosen.name])},
    }  # fmt: skip


def _order(study: OrderStudy, outcome: Outcome, when: Schedule) -> dict[str, Any]:
    shape = outcome.shape
    return {
        "name": outcome.name,
        "off_mm": shape.off,
        "off_band_mm": [outcome.low, outcome.high],
        "off_tacks_half_as_stiff_mm": study.softer[outcome.name],
        "vertical_bow_mm": shape.vertical,
        "lateral_bow_mm": shape.lateral,
        "twist_deg": shape.twist,
        "diagonals_mm": shape.diagonals,
        "worst_on_the_way_mm": outcome.worst,
        "best_is_straighter_in": study.odds(outcome),
        "clearly_worse": study.clearly_worse(outcome),
        "time_s": when.total,
        "pauses_s": when.waited,
        "heat_j": when.heat,
    }


def _steps(study: OrderStudy, when: Schedule) -> list[dict[str, Any]]:
    plan = study.model.plan
    out = []
    for step in when.steps:
        run = plan.runs[step.run]
        out.append(
            {
                "number": step.number,
                "run": run.name(),
                "part": run.part,
                "member": run.member,
                "kind": run.kind,
                "side": run.side,
                "edge": run.edge,
                "ends_mm": run.ends.tolist(),
                "weld_mm": run.length,
                "leg_mm": run.leg,
                "tendon_n": tendon_force(run.area, plan.stretches[run.stretch].E),
                "heat_j": step.heat,
                "cools_for_s": cool_for(run, when.process),
                "pause_s": step.pause,
                "waits_for": step.after,
                "start_s": step.start,
                "weld_s": step.weld,
            }
        )
    return out
