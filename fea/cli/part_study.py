"""What `parts` does: what each added part buys, computed, printed, written and drawn."""

import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea.cli.busy import busy
from fea.cli.options import Choice, load_cases
from fea.errors import Complaint, DocumentError

if TYPE_CHECKING:
    from fea.study.parts import PartStudy
    from fea.units import System

COARSE = 2.0
"""How much larger quadrilaterals of sheet metal are than usual, if nothing else is asked for:
the ranks stay, and a set takes a fifth of the time."""


@dataclass(frozen=True)
class Asked:
    """What the user asks of the study; `shares_in_metal` None leaves it to the number of parts."""

    sheet_joints: bool
    coarse: float
    shares_in_metal: bool | None
    stress: bool
    orders: int | None
    workers: int | None
    modes: bool = False


@dataclass(frozen=True)
class Files:
    """What is to be written, None where nothing is."""

    table: Path | None
    chart: Path | None
    picture: Path | None


def asked(
    joints: str,
    shares: str | None,
    *,
    coarse: float,
    stress: bool,
    orders: int | None,
    workers: int | None,
    modes: bool = False,
) -> Asked:
    """Return the options of the study; refuse what makes no sense."""
    complaints = []
    if joints not in ("sheet", "beam"):
        complaints.append(Complaint("unknown joints", "--joints", joints, "sheet or beam"))
    if shares is not None and shares not in ("sheet", "beam"):
        complaints.append(Complaint("unknown joints", "--shares", shares, "sheet or beam"))
    elif (joints, shares) == ("beam", "sheet"):
        rule = "shares cannot take joints as sheet metal where the rest takes them by beam rules"
        complaints.append(Complaint(rule, "--shares", "sheet", "leave --joints beam out"))
    if complaints:
        raise DocumentError(*complaints)
    in_metal = None if shares is None else shares == "sheet"
    return Asked(joints == "sheet", coarse, in_metal, stress, orders, workers, modes)


def part_study(
    choice: Choice, wanted: Asked, files: Files, system: "System", *, as_json: bool
) -> None:
    """Run the study, print it, write it and draw it."""
    from fea.study.parts import study, with_modes
    from fea.study.variant import Setting, Variant

    setting = Setting(
        choice.document,
        str(choice.path),
        tuple(load_cases(("twist", "bending"))),
        sheet_joints=wanted.sheet_joints,
        coarse=wanted.coarse if wanted.sheet_joints else 1.0,
        body=choice.body,
        mounts=choice.mounts,
    )
    with progress() as told:
        found = study(
            setting,
            Variant.of(positions=choice.positions),
            keep=choice.fit,
            leave=choice.leave,
            stress=wanted.stress,
            orders=wanted.orders,
            shares_in_metal=wanted.shares_in_metal,
            workers=wanted.workers,
            told=told,
        )
    if wanted.modes:
        with busy("finding modes"):
            found = with_modes(found)
    if as_json:
        from fea.study.parts_record import as_record

        typer.echo(json.dumps(as_record(found), indent=2, ensure_ascii=False, allow_nan=False))
    else:
        from fea.cli.part_tables import print_study

        print_study(found, system)
    for path in _write(found, files):
        if not as_json:
            typer.echo(f"Wrote {path}.")


@contextmanager
def progress() -> "Iterator[Callable[[str, int, int], None] | None]":
    """Yield what shows on standard error how far the work is; None where nobody looks."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (
        TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn()
    )  # fmt: skip
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        line = bar.add_task("preparing", total=None)

        def told(words: str, done: int, total: int) -> None:
            bar.update(line, description=words, completed=done, total=total)

        yield told


def _write(found: "PartStudy", files: Files) -> list[Path]:
    """Write what was asked for; return the files."""
    if files.table is not None:
        from fea.out.files import write_text
        from fea.result.tabular import csv_text
        from fea.study.parts_record import as_rows

        write_text(files.table, csv_text(as_rows(found)))
    if files.chart is not None:
        from fea.out.parts_chart import write_parts_chart

        with busy("drawing"):
            write_parts_chart(found, files.chart)
    if files.picture is not None:
        from fea.out.parts_scene import write_parts_picture
        from fea.store import store

        with busy("drawing"):
            kept = store() if found.setting.sheet_joints else None
            write_parts_picture(found, files.picture, store=kept)
    return [p for p in (files.table, files.chart, files.picture) if p is not None]
