"""A sizing study as plain data for JSON."""

from typing import Any

from fea.result.answer import NM_PER_DEG
from fea.study.gauges import Space
from fea.study.relaxed import Target
from fea.study.search import Design
from fea.study.sizing import Sized
from fea.study.sizing_check import Answer, Checked


def as_record(space: Space, answer: Answer) -> dict[str, Any]:
    """Return the answer as edits, how it was found, and what bounds it."""
    best, last = answer.best, answer.rounds[-1].sized
    return {
        "reached": answer.reached,
        "joints": "beam" if answer.best_checked is None else "sheet",
        "targets": [_target(t) for t in answer.targets],
        "added_kg": 1000.0 * (best.steel - space.mass[0]),
        "edits": edits(space, best),
        "fitted": space.fitted(best.levels),
        "new_sections": [
            {"section": s.section, "part": s.part, "name": s.name}
            for s in space.splits
            if space.fitted(best.levels).get(s.part)
        ],
        "best": _design(space, best, answer.best_checked),
        "bound_by_monotony_kg": 1000.0 * (last.bound - space.mass[0]),
        "relaxed": _relaxed(last),
        "rounds": [
            {
                "beam_targets": [_target(t) for t in r.sized.targets],
                "complete": r.sized.complete,
                "solves": r.sized.solves,
                "audited": r.sized.audited,
                "audit_wrong": r.sized.wrong,
                "tangent_margin": r.sized.margin,
                "largest_loss_by_a_thicker_wall": r.sized.breach,
                "pairs_compared": r.sized.pairs,
                "strained": r.sized.strained,
                "designs": [
                    _design(space, d, next((c for c in r.checked if c.design == d), None))
                    for d in r.sized.designs
                ],
            }
            for r in answer.rounds
        ],
    }


def edits(space: Space, design: Design) -> dict[str, str]:
    """Return what to write in the document for a design: gauges by path."""
    return space.edits(design.levels)


def _target(target: Target) -> dict[str, Any]:
    if target.measure == "twist":
        return {"measure": "twist", "nm_per_deg": target.value * NM_PER_DEG}
    return {"measure": "bending", "n_per_mm": target.value}


def _design(space: Space, design: Design, checked: Checked | None) -> dict[str, Any]:
    record: dict[str, Any] = {
        "edits": edits(space, design),
        "added_kg": 1000.0 * (design.steel - space.mass[0]),
        "beam": _figures(design.twist, design.bending),
        "utilisation": design.utilisation,
    }
    if checked is not None:
        record["sheet"] = _figures(checked.figures.twist, checked.figures.bending)
        record["share_missed"] = max(checked.missed, 0.0)
    return record


def _figures(twist: float | None, bending: float | None) -> dict[str, float | None]:
    return {
        "twist_stiffness_nm_per_deg": None if twist is None else twist * NM_PER_DEG,
        "bending_stiffness_n_per_mm": bending,
    }


def _relaxed(sized: Sized) -> dict[str, Any] | None:
    if sized.relaxed is None:
        return None
    on = [w.path for w, k in zip(sized.space.walls, sized.relaxed.pattern, strict=True) if k]
    return {
        "added_kg": 1000.0 * (sized.relaxed.steel - sized.space.mass[0]),
        "thickness_mm": dict(zip(on, sized.relaxed.thickness.tolist(), strict=True)),
        "converged": sized.relaxed.converged,
    }
