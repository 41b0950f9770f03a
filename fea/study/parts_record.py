"""A study of parts as plain data for JSON, and as rows for CSV."""

from typing import Any

from fea.result.answer import NM_PER_DEG
from fea.result.first_modes import as_record as first_record
from fea.study.parts import Measure, PartStudy, figure, per_kilogram
from fea.study.variant import Figures, Setting
from fea.study.worth import Roll, Thresholds, roll_stiffness, verdict

UNITS: dict[Measure, tuple[str, float]] = {
    "twist": ("twist_stiffness_nm_per_deg", NM_PER_DEG),
    "bending": ("bending_stiffness_n_per_mm", 1.0),
    "peak": ("highest_stress_mpa", 1.0),
}
"""What a figure is called where it is given in absolute terms, and its factor."""


def as_record(found: PartStudy, limits: Thresholds | None = None) -> dict[str, Any]:
    """Return the study; every figure as the ratio to the stock frame, then absolute."""
    limits = limits or Thresholds()
    full = found.full
    record: dict[str, Any] = {
        "frame": found.setting.source,
        "title": found.setting.document.title,
        "body": found.setting.body,
        "parts": [_part(found, k) for k in range(len(found.names))],
        "dropped": [{"part": d.name, "because": d.because} for d in found.dropped],
        "joints": _joints(found.setting),
        "stock": _set(found, 0),
        "as_fitted": {"parts": members(found, found.fitted), **_set(found, found.fitted)},
        "full": _set(found, full),
        "build_up": [
            {"added": None if k == 0 else found.names[k - 1], **_set(found, mask)}
            for k, mask in enumerate(found.steps())
        ],
        "shares": _shares(found),
        "pairs": {
            m: [
                {
                    "parts": [p.first, p.second],
                    "on_stock": p.on_stock,
                    "in_full": p.in_full,
                }
                for p in found.pairs(m)
            ]
            for m in found.measures
        },
        "worth": _worth(found, limits),
    }
    if found.modes:
        record["modes"] = _modes(found)
    return record


def _modes(found: PartStudy) -> dict[str, Any]:
    """Return the first modes of the sets that :func:`fea.study.parts.with_modes` takes."""
    told = {mask: first_record(first) for mask, first in found.modes.items()}
    return {
        "joints": "beam rules",
        "standing": "free",
        "stock": told[0],
        "as_fitted": told[found.fitted],
        "full": told[found.full],
        "parts": [
            {"name": name, "alone": told[1 << k], "left_out": told[found.full & ~(1 << k)]}
            for k, name in enumerate(found.names)
        ],
    }


def members(found: PartStudy, mask: int) -> list[str]:
    """Return the names of the parts in a set."""
    return [name for k, name in enumerate(found.names) if mask >> k & 1]


def _joints(setting: Setting) -> dict[str, Any]:
    if not setting.sheet_joints:
        return {"by": "beam rules"}
    return {"by": "sheet metal", "coarse": setting.coarse}


def _figures(figures: Figures, stock: Figures, measures: tuple[Measure, ...]) -> dict[str, float]:
    record: dict[str, float] = {}
    for m in measures:
        key, factor = UNITS[m]
        record[f"{m}_ratio"] = figure(figures, m) / figure(stock, m)
        record[key] = factor * figure(figures, m)
    record["mass_kg"] = 1000.0 * figures.steel
    return record


def _set(found: PartStudy, mask: int) -> dict[str, float]:
    return _figures(found.figures[mask], found.figures[0], found.measures)


def _part(found: PartStudy, k: int) -> dict[str, Any]:
    mass = found.mass(k)
    record: dict[str, Any] = {
        "name": found.names[k],
        "mass_kg": 1000.0 * mass,
        "alone": _set(found, 1 << k),
        "left_out": _set(found, found.full & ~(1 << k)),
    }
    for m in found.measures:
        record[m] = {
            "gain_alone": found.gain(k, m),
            "loss_left_out": found.loss(k, m),
            "gain_alone_per_kg": per_kilogram(found.gain(k, m), mass),
            **_share(found, k, m),
        }
    return record


def _share(found: PartStudy, k: int, measure: Measure) -> dict[str, float | None]:
    mean, error = found.share(k, measure)
    whole = found.shared(measure)
    return {
        "shapley_share": mean,
        "shapley_error": error,
        "shapley_part_of_gain": mean / whole if whole else None,
        "shapley_share_per_kg": per_kilogram(mean, found.mass(k)),
    }


def _shares(found: PartStudy) -> dict[str, Any]:
    division = found.division
    stock, full = division.figures[0], division.figures[found.full]
    return {
        "joints": _joints(division.setting),
        "orders": "all" if division.shares.n_orders is None else division.shares.n_orders,
        "sets": len(division.figures),
        "stock": _figures(stock, stock, found.measures),
        "full": _figures(full, stock, found.measures),
    }


def paragraph(found: PartStudy, limits: Thresholds | None = None) -> str:
    """Return whether the parts are worth it, in words."""
    twist = {mask: figure(found.figures[mask], "twist") for mask in (0, found.fitted, found.full)}
    other = found.fitted not in (0, found.full)
    return verdict(
        roll_stiffness(found.setting.document),
        twist[0],
        twist[found.full],
        fitted=twist[found.fitted] if other else None,
        body=found.setting.body not in (None, "none"),
        limits=limits,
    )


def _worth(found: PartStudy, limits: Thresholds) -> dict[str, Any]:
    roll = roll_stiffness(found.setting.document)
    record: dict[str, Any] = {
        "words": paragraph(found, limits),
        "thresholds": {
            "balance": limits.balance,
            "enough": limits.enough,
            "shake": limits.shake,
        },
    }
    if isinstance(roll, Roll):
        record["front_roll_nm_per_deg"] = roll.front * NM_PER_DEG
        record["rear_roll_nm_per_deg"] = roll.rear * NM_PER_DEG
        sets = {"stock": 0, "as_fitted": found.fitted, "full": found.full}
        record["share_at_the_tyres"] = {
            name: roll.share(figure(found.figures[mask], "twist")) for name, mask in sets.items()
        }
    else:
        record["lacking"] = roll
    return record


def as_rows(found: PartStudy) -> list[list[str]]:
    """Return a head and one row a part, as text for CSV."""
    head = ["part", "mass_kg"]
    for m in found.measures:
        key, _ = UNITS[m]
        head += [f"{m}_alone_ratio", f"alone_{key}", f"{m}_left_out_ratio", f"left_out_{key}"]
        head += [f"{m}_gain_alone", f"{m}_loss_left_out", f"{m}_gain_alone_per_kg"]
        head += [f"{m}_shapley_share", f"{m}_shapley_error", f"{m}_shapley_part_of_gain"]
        head += [f"{m}_shapley_share_per_kg"]
    rows = [[*head, "shapley_joints"]]
    by = _joints(found.division.setting)["by"]
    for k, name in enumerate(found.names):
        part = _part(found, k)
        row: list[float | None] = [part["mass_kg"]]
        for m in found.measures:
            key, _ = UNITS[m]
            for state in ("alone", "left_out"):
                row += [part[state][f"{m}_ratio"], part[state][key]]
            row += part[m].values()
        rows.append([name, *("" if v is None else f"{v:.9g}" for v in row), by])
    return rows
