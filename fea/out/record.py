"""A solved case as plain data: JSON, CSV and mesh files; units in every key."""

import json
import re
from pathlib import Path
from typing import Any

import numpy as np

from fea.out.files import write_text, write_whole
from fea.out.road_record import road_record
from fea.result.answer import NM_PER_DEG, Answer, Reaction
from fea.result.shape import surface
from fea.result.tabular import csv_text

FORMAT = 1
"""Version of the JSON layout; keys are only ever added within a version."""


def as_record(answers: list[Answer], stock: list[Answer] | None = None) -> dict[str, Any]:
    """Return the results as a dictionary ready for JSON.

    Parameters
    ----------
    answers : one per case, all of one frame
    stock : the same cases of the stock frame, where parts are fitted
    """
    frame = answers[0].frame
    others: list[Answer | None] = [*stock] if stock else [None] * len(answers)
    return {
        "format": FORMAT,
        "frame": frame.name,
        "title": frame.title,
        "parts_fitted": list(frame.fitted),
        "parts_left_off": [p.name for p in frame.parts if not p.fitted],
        "assumptions": list(answers[0].assumed),
        "mass": _mass(answers[0]),
        "cases": [_case(a, s) for a, s in zip(answers, others, strict=True)],
    }


def _mass(answer: Answer) -> dict[str, Any]:
    m = answer.mass
    return {
        "steel_kg": 1000.0 * m.steel,
        "steel_centre_mm": m.centre.tolist(),
        "carried_kg": 1000.0 * m.carried,
        "kerb_kg": 1000.0 * m.kerb,
        "kerb_centre_mm": m.kerb_centre.tolist(),
    }


def _case(answer: Answer, stock: Answer | None) -> dict[str, Any]:
    record: dict[str, Any] = {
        "case": answer.case.name,
        "title": answer.case.title,
        "measures": answer.measures,
        "checks": {
            "residual": answer.checks.residual,
            "force_balance": answer.checks.force_balance,
            "moment_balance": answer.checks.moment_balance,
            "energy_balance": answer.checks.energy_balance,
        },
        "solver": {
            "backend": answer.checks.backend,
            "free_motions": answer.checks.freedoms,
            "smallest_pivot": answer.checks.pivot,
        },
        "accuracy": {
            "condition": answer.condition,
            "stiffness_round_off": answer.round_off,
        },
    }
    if stock is not None:
        ours, theirs = answer.measures, stock.measures
        record["ratio_to_stock"] = {k: v / theirs[k] for k, v in ours.items() if theirs.get(k)}
        record["stock_measures"] = theirs
    if answer.beside is not None and answer.stiffness is not None:
        scale = NM_PER_DEG if answer.twist_stiffness is not None else 1.0
        record["by_beam_rules"] = {
            name: None if value is None else value * scale
            for name, value in (
                ("stiffness", answer.beside.rule),
                ("soft_bound", answer.beside.soft),
                ("stiff_bound", answer.beside.stiff),
            )
        }
    if answer.profile is not None:
        record["profile"] = {
            "station_mm": answer.profile.stations.tolist(),
            "twist_deg": np.degrees(answer.profile.angle).tolist(),
            "height_mm": answer.profile.height.tolist(),
            "offset_mm": answer.profile.offset.tolist(),
        }
    record["bays"] = [
        {"from_mm": b.start, "to_mm": b.end, "between": b.words, "twist_share": b.share}
        for b in answer.bays
    ]
    record["strain_energy"] = [
        {"name": s.name, "share": s.share, "energy_j": s.energy / 1000.0} for s in answer.shares
    ]
    record["peak_stress"] = [
        {
            "member": p.member,
            "von_mises_mpa": p.von_mises,
            "normal_mpa": p.normal,
            "utilisation": p.utilisation,
            "station_mm": p.station,
            "offset_mm": p.offset,
            "height_mm": p.height,
            "section": p.section,
        }
        for p in answer.peaks
    ]
    record["joint_stress"] = [
        {
            "joint": p.joint,
            "member": p.member,
            "von_mises_mpa": p.von_mises,
            "station_mm": p.station,
            "offset_mm": p.offset,
            "height_mm": p.height,
        }
        for p in answer.joint_peaks
    ]
    record["reactions"] = [_reaction(r) for r in answer.reactions]
    if answer.solution.loads.road is not None:
        record["road"] = road_record(answer.solution.loads.road, answer.case)
    record["readings"] = [
        {"name": r.name, "motion": r.motion, "side": r.side, "value": r.value, "unit": r.unit}
        for r in answer.readings
    ]
    return record


def _reaction(reaction: Reaction) -> dict[str, str | float]:
    key, scale = {
        "force": ("force_n", 1.0),
        "moment": ("moment_nm", 1e-3),
        "bimoment": ("bimoment_nm2", 1e-6),
    }[reaction.kind]
    return {"place": reaction.place, key: scale * reaction.force}


def to_json(record: dict[str, Any]) -> str:
    """Return a record as JSON text; not-a-number is refused."""
    return json.dumps(record, indent=2, allow_nan=False, ensure_ascii=False) + "\n"


def profile_csv(answer: Answer) -> str:
    """Return the profile along the stations as CSV text."""
    rows = [["station_mm", "twist_deg", "height_mm", "offset_mm"]]
    if answer.profile is not None:
        line = answer.profile
        columns = (line.stations, np.degrees(line.angle), line.height, line.offset)
        rows += [[f"{v:.9g}" for v in row] for row in zip(*columns, strict=True)]
    return csv_text(rows)


def members_csv(answer: Answer) -> str:
    """Return strain energy and peak stress by member as CSV text."""
    rows = [["member", "energy_share", "von_mises_mpa", "utilisation", "station_mm"]]
    peaks = {p.member: p for p in answer.peaks}
    for share in answer.shares:
        p = peaks.get(share.name)
        tail = [f"{v:.6g}" for v in (p.von_mises, p.utilisation, p.station)] if p else [""] * 3
        rows.append([share.name, f"{share.share:.6g}", *tail])
    return csv_text(rows)


def write_vtu(answer: Answer, path: Path) -> None:
    """Write the members' walls with movement and stress as a VTU file."""
    import meshio

    solution = answer.solution
    skin = surface(solution)
    mesh = meshio.Mesh(
        skin.points,
        [("quad", skin.quads)],
        point_data={"movement_mm": skin.movement, "von_mises_mpa": skin.von_mises},
        cell_data={"member": [skin.member.astype(np.int32)]},
    )
    write_whole(path, lambda name: mesh.write(name, file_format="vtu"))


def write_folder(
    folder: Path, answers: list[Answer], stock: list[Answer] | None = None
) -> list[Path]:
    """Write JSON, CSV and VTU files of all cases into a folder; return what was written."""
    frame = _file_name(answers[0].frame.name)
    written = [folder / f"{frame}.json"]
    write_text(written[0], to_json(as_record(answers, stock)))
    for answer in answers:
        stem = _file_name(f"{frame}_{answer.case.name}")
        for ending, text in (("profile", profile_csv(answer)), ("members", members_csv(answer))):
            written.append(folder / f"{stem}_{ending}.csv")
            write_text(written[-1], text)
        written.append(folder / f"{stem}.vtu")
        write_vtu(answer, written[-1])
    return written


def _file_name(name: str) -> str:
    """Return a name that stays in the folder: one made in Python may be any text."""
    return re.sub(r"[/\\\x00-\x1f]", "_", name)
