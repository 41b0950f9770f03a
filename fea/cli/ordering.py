"""What `welds` does: five welding orders compared, printed, written and drawn."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea import units
from fea.cli.busy import busy
from fea.cli.joint_strength import stitches
from fea.cli.options import Choice
from fea.cli.tables import Page
from fea.cli.wrapped import say
from fea.errors import Complaint, DocumentError, FeaError, ModelError

if TYPE_CHECKING:
    from fea.shop.weld_order import OrderStudy, Outcome
    from fea.shop.weld_schedule import Schedule
    from fea.shop.weld_shrinkage import Process

ORDERS = ("one side first", "end to end", "equal and opposite", "back-step", "searched")

FIRST = 24
"""Runs of the schedule that are printed unless all are asked for."""


@dataclass(frozen=True)
class Asked:
    """What the user asks: lengths in mm; `order` None for the straightest."""

    run: float
    leg: float | None
    process: Process
    near: float
    order: str | None
    tack: float
    seed: int
    every: bool


@dataclass(frozen=True)
class Files:
    """What is to be written, None where nothing is."""

    table: Path | None
    picture: Path | None


def asked(
    run: str,
    leg: str | None,
    process: str,
    near: str,
    order: str | None,
    *,
    tack: float,
    seed: int,
    every: bool,
) -> Asked:
    """Return the options; all that is wrong with them at once."""
    from fea.shop.weld_shrinkage import PROCESSES

    complaints: list[Complaint] = []
    length = _length(run, "--run", 10.0, 1000.0, complaints)
    size = None if leg is None else _length(leg, "--leg", 0.5, 20.0, complaints)
    away = _length(near, "--near", 0.0, 5000.0, complaints)
    if process not in PROCESSES:
        known = ", ".join(PROCESSES)
        complaints.append(Complaint("unknown process", "--process", process, f"one of {known}"))
    if order is not None and order not in ORDERS:
        known = ", ".join(ORDERS)
        complaints.append(Complaint("unknown order", "--order", order, f"one of {known}"))
    if not 0.01 <= tack <= 1.0:
        rule = "the share of stiffness that tacks give must be 0.01 to 1"
        complaints.append(Complaint(rule, "--tack", f"{tack:g}", "0.3 if you do not know"))
    if complaints:
        raise DocumentError(*complaints)
    return Asked(length, size, PROCESSES[process], away, order, tack, seed, every)


def _length(text: str, where: str, low: float, high: float, complaints: list[Complaint]) -> float:
    try:
        value = units.parse(text, "length")
    except FeaError as error:
        complaints += [Complaint(c.rule, where, c.found or text, c.do) for c in error.complaints]
        return low
    if not low <= value <= high:
        rule = f"this length must be {low:g} mm to {high:g} mm"
        complaints.append(Complaint(rule, where, text))
    return value


def order_study(
    choice: Choice, parts: tuple[str, ...], wanted: Asked, files: Files, *, as_json: bool
) -> None:
    """Run the study, print it, write it and draw it."""
    from fea.shop.weld_model import WeldModel
    from fea.shop.weld_order import study
    from fea.shop.weld_runs import plan
    from fea.shop.weld_schedule import schedule

    frame = choice.frame()
    chosen_parts = parts or frame.fitted
    todo = plan(
        frame,
        chosen_parts,
        run=wanted.run,
        leg=wanted.leg,
        stitches=stitches(choice.document),
    )
    idle = sorted(set(parts) - {r.part for r in todo.runs})
    if idle:
        rule = "a part that is welded in must have a boxing plate or a welded crossmember"
        raise ModelError(*(Complaint(rule, "--parts", name) for name in idle))
    with busy("welding"):
        found = study(WeldModel(todo, wanted.tack), seed=wanted.seed)
    when = {
        o.name: schedule(todo.runs, o.order, wanted.process, near=wanted.near)
        for o in found.outcomes
    }
    chosen = next((o for o in found.outcomes if o.name == wanted.order), found.best)
    if as_json:
        from fea.shop.weld_record import as_record

        record = as_record(found, when, chosen)
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        _print(found, when, chosen, every=wanted.every)
    for path in _write(found, when[chosen.name], chosen, files):
        if not as_json:
            typer.echo(f"Wrote {path}.")


def _write(found: OrderStudy, when: Schedule, chosen: Outcome, files: Files) -> list[Path]:
    """Write what was asked for; return the files."""
    if files.table is not None:
        from fea.out.files import write_text
        from fea.result.tabular import csv_text
        from fea.shop.weld_schedule import csv_rows

        write_text(files.table, csv_text(csv_rows(found.model.plan.runs, when)))
    if files.picture is not None:
        from fea.out.weld_chart import write_weld_chart

        with busy("drawing"):
            write_weld_chart(found, chosen, files.picture)
    return [p for p in (files.table, files.picture) if p is not None]


def _print(found: OrderStudy, when: dict[str, Schedule], chosen: Outcome, *, every: bool) -> None:
    from fea.shop.weld_words import SAFETY, assumed, verdict

    page, plan = Page(), found.model.plan
    total = sum(r.length for r in plan.runs) / 1e3
    seams = sum(r.kind == "seam" for r in plan.runs)
    page.say(f"{plan.frame.title}: {', '.join(plan.parts)}", "bold")
    page.say(
        f"{len(plan.runs)} runs, {total:.1f} m of weld: {seams} along seams,"
        f" {len(plan.runs) - seams} at crossmember ends."
    )
    page.table(
        "Off straight when all is welded and cold, mm",
        ("Order", "off", "band", "up/down", "across", "twist", "diag.", "on the way", "time",
         "worse in"),
        [_row(found, o, when[o.name]) for o in found.outcomes],
        right=range(1, 10),
    )  # fmt: skip
    say(
        page,
        "off: root mean square over places along the rails, the frame laid where it fits best;"
        " up/down, across: largest bow of a rail off the line through its ends; twist in degrees,"
        " front against rear; diag.: difference of the diagonals; on the way: the largest off;"
        " worse in: share of draws of the shrinkage in which the best order is the straighter.",
    )
    page.say()
    for line in verdict(found):
        say(page, line)
    page.say()
    _schedule(page, found, when[chosen.name], chosen, every=every)
    page.say()
    for line in (*assumed(found, when[chosen.name].process), *SAFETY):
        say(page, line)


def _row(found: OrderStudy, o: Outcome, when: Schedule) -> tuple[str, ...]:
    s = o.shape
    return (
        o.name,
        f"{s.off:.2f}",
        f"{o.low:.2f}-{o.high:.2f}",
        f"{s.vertical:+.2f}",
        f"{s.lateral:+.2f}",
        "" if s.twist is None else f"{s.twist:+.3f}",
        "" if s.diagonals is None else f"{s.diagonals:+.2f}",
        f"{o.worst:.2f}",
        f"{when.total / 3600.0:.1f} h",
        "best" if o is found.best else f"{100.0 * found.odds(o):.0f} %",
    )


def _schedule(
    page: Page, found: OrderStudy, when: Schedule, chosen: Outcome, *, every: bool
) -> None:
    runs = found.model.plan.runs
    steps = when.steps if every else when.steps[:FIRST]
    page.table(
        f"Schedule, {chosen.name}, {when.process.about}",
        ("No.", "run", "mm", "leg", "kJ", "wait", "starts"),
        [
            (
                str(s.number),
                runs[s.run].name(),
                f"{runs[s.run].length:.0f}",
                f"{runs[s.run].leg:.1f}",
                f"{s.heat / 1e3:.0f}",
                "" if s.pause < 1.0 else f"{s.pause / 60.0:.1f} min",
                f"{s.start / 60.0:.0f} min",
            )
            for s in steps
        ],
        right=(0, 2, 3, 4, 5, 6),
    )
    if len(steps) < len(when.steps):
        page.say(f"{len(when.steps) - len(steps)} more: --all prints them, --csv FILE writes them.")
    say(
        page,
        f"{when.heat / 1e6:.1f} MJ of heat; {when.waited / 3600.0:.1f} h of"
        f" {when.total / 3600.0:.1f} h are waiting: nothing is welded within {when.near:g} mm of a"
        " run that is still over 40 K above the air (conduction along and away from the seam, no"
        " loss to air: an estimate).",
    )
