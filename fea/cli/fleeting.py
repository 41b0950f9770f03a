"""What `sweep --parquet` does and prints: rows into a file, and a short account of them."""

import json
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from fea.cli import many, options
from fea.cli.tables import Page
from fea.errors import Complaint, DocumentError

if TYPE_CHECKING:
    from fea.study.fleet import Fleet
    from fea.study.fleet_work import Common

MOST_COMPLAINTS = 10
"""Lines of complaints that are printed; the file has them all."""

_WORDS = {
    "twist_stiffness_nm_per_deg": "twist, N m/deg",
    "bending_stiffness_n_per_mm": "bending, N/mm",
    "steel_kg": "steel, kg",
}


def no_others(**files: Path | None) -> None:
    """Refuse what only a sweep that is printed makes.

    Raises
    ------
    DocumentError
        If any of the files is asked for.
    """
    found = [
        Complaint("it does not go with --parquet", f"--{name}", str(file), "leave it out")
        for name, file in files.items()
        if file is not None
    ]
    if found:
        raise DocumentError(*found)


def common_of(
    chosen: tuple[list[str] | None, list[str] | None, list[str] | None, list[str] | None],
    vehicle: tuple[str | None, str | None],
    *,
    stock: bool,
    stress: bool,
) -> "Common":
    """Return what all rows share.

    Parameters
    ----------
    chosen : cases, parts fitted, parts left off, positions
    vehicle : body and grade of the mounts
    """
    from fea.solve.factorise import chosen as solver
    from fea.study.fleet_work import Common

    case, fit, leave, at = chosen
    return Common(
        tuple(options.load_cases(case)),
        tuple(fit or ()),
        tuple(leave or ()),
        stock,
        tuple(sorted(options.positions_of(at or ()).items())),
        *vehicle,
        stress=stress,
        backend=solver(),  # the environment of other machines may ask for another
    )


def run_all(
    frames: Sequence[str],
    vary: Sequence[str],
    table: Path | None,
    common: "Common",
    joints: str | None,
    where: tuple[int | None, str | None],
    out: Path,
    *,
    as_json: bool,
) -> bool:
    """Compute a fleet and print what came of it; say whether any row could be computed.

    Parameters
    ----------
    where : workers and scheduler
    """
    from fea.study.fleet import check_keys, run_fleet, shared
    from fea.study.fleet_parquet import need_pyarrow
    from fea.study.fleet_plan import axes, plan

    many.check_joints(joints)
    need_pyarrow()
    varied = axes(vary, table)
    rows = plan(frames, varied, "")
    common = replace(common, sheet_joints=many.is_sheet(joints, rows.n_rows))
    rows = replace(rows, shared=shared(common))
    check_keys(rows)
    begun = time.monotonic()
    with many.running("fleet", *where, None) as runner:
        found = run_fleet(rows, common, out, runner)
    words = many.joints_sentence(joints, rows.n_rows, sheet=common.sheet_joints)
    if as_json:
        record = {"joints": "sheet" if common.sheet_joints else "beam"} | as_record(found)
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        _print(found, words, time.monotonic() - begun)
    return found.solved > 0


def as_record(found: "Fleet") -> dict[str, Any]:
    """Return the account of a fleet as plain data."""
    plan = found.plan
    return {
        "format": 1,
        "file": str(found.path),
        "documents": len(plan.sources),
        "variants": plan.n_variants,
        "varied": list(plan.keys),
        "rows": plan.n_rows,
        "taken_over": found.taken_over,
        "computed": found.computed,
        "solved": found.solved,
        "not_solved": found.by_status.get(1, 0),
        "refused": found.by_status.get(2, 0),
        "complaints": [
            {"complaint": words, "rows": rows, "first": _place(found, first)}
            for words, (rows, first) in found.complaints.items()
        ],
        "figures": {
            name: {
                end: {"value": value, "at": _place(found, number)}
                for end, (value, number) in (("least", pair.least), ("most", pair.most))
            }
            for name, pair in found.extremes.items()
        },
    }


def _place(found: "Fleet", number: int) -> dict[str, Any]:
    place, variant = divmod(number, found.plan.n_variants)
    asked = dict(found.plan.asked(variant))
    return {
        "document": str(found.plan.sources[place].path),
        "variant": variant + 1,
        "values": asked,
    }


def _where(found: "Fleet", number: int) -> str:
    at = _place(found, number)
    values = ", ".join(f"{key} = {text}" for key, text in at["values"].items())
    return Path(at["document"]).stem + (f": {values}" if values else "")


def _print(found: "Fleet", words: str, seconds: float) -> None:
    page, plan = Page(), found.plan
    n, v = len(plan.sources), plan.n_variants
    page.say(f"{n} document{'s' * (n != 1)}, {v} variant{'s' * (v != 1)} each: "
             f"{plan.n_rows} rows.", "bold")  # fmt: skip
    if found.taken_over:
        page.say(f"{found.taken_over} rows were there already.")
    if found.computed:
        rate = found.computed / max(seconds, 1e-9)
        page.say(f"{found.computed} rows computed in {seconds:.0f} s, {rate:.1f} a second.")
    page.say(
        f"{found.solved} solved, {found.by_status.get(1, 0)} not solved, "
        f"{found.by_status.get(2, 0)} refused."
    )
    rows = [
        (_WORDS[name], f"{pair.least[0]:.5g}", _where(found, pair.least[1]),
         f"{pair.most[0]:.5g}", _where(found, pair.most[1]))
        for name, pair in found.extremes.items()
    ]  # fmt: skip
    if rows:
        page.table("", ("", "least", "at", "most", "at"), rows, (1, 3))
    told = sorted(found.complaints.items(), key=lambda item: -item[1][0])
    for text, (count, first) in told[:MOST_COMPLAINTS]:
        page.say(f"{count} row{'s' * (count != 1)}, first at {_where(found, first)}: {text}.")
    if len(told) > MOST_COMPLAINTS:
        page.say(f"And {len(told) - MOST_COMPLAINTS} other complaints; they stand in the file.")
    page.say(words)
    page.say(many.CAUTION)
    many.wrote(found.path)
