"""The commands that solve many variants: `sweep`, `boxing` and `positions`."""

from pathlib import Path
from typing import Annotated

import typer

from fea.cli import options
from fea.cli.many import ChartFile, Csv, ManyJoints, Resume, Scheduler, Workers
from fea.cli.options import (
    At,
    Body,
    CaseNames,
    FrameName,
    Json,
    Mounts,
    Stock,
    Units,
    With,
    Without,
)


def sweep(
    frames: Annotated[
        list[str],
        typer.Argument(
            metavar="FRAME...",
            help="A frame document, by path or shipped name; with --parquet any number of them,"
            ' and folders, and patterns as "frames/*.toml".',
        ),
    ],
    vary: Annotated[
        list[str] | None,
        typer.Option(
            "--vary",
            metavar="KEY=FROM..TO/STEPS",
            help="A key of the document and its values: a range, a list as in KEY=2mm,3mm, or"
            " part.NAME=on,off. Once or twice; with --parquet any number of times.",
        ),
    ] = None,
    parquet: Annotated[
        Path | None,
        typer.Option(
            "--parquet",
            metavar="FILE.parquet",
            help="Put thousands of rows into this file as they come; gone on from too.",
        ),
    ] = None,
    table: Annotated[
        Path | None,
        typer.Option(
            "--table",
            metavar="FILE.csv",
            help="With --parquet, a table of variants: keys in the first line, a variant a line.",
        ),
    ] = None,
    case: CaseNames = None,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    stress: Annotated[
        bool, typer.Option("--stress", help="Look for the highest stress as well.")
    ] = False,
    joints: ManyJoints = None,
    workers: Workers = None,
    scheduler: Scheduler = None,
    resume: Resume = None,
    as_json: Json = False,
    csv: Csv = None,
    chart: ChartFile = None,
    units: Units = "si",
) -> None:
    """Vary one key of a document or two: stiffness, steel and stress for every value.

    A value that the document refuses is a row with its complaint. With --parquet, many documents
    in many variants go into one file; a run that was stopped goes on from where it was: give the
    same command again.
    """
    from fea.cli.sweeping import only_one, run_sweep

    if parquet is not None:
        from fea.cli.fleeting import common_of, no_others, run_all

        no_others(csv=csv, chart=chart, resume=resume)
        common = common_of((case, fit, leave, at), (body, mounts), stock=stock, stress=stress)
        where = (workers, scheduler)
        if not run_all(frames, vary or (), table, common, joints, where, parquet, as_json=as_json):
            raise typer.Exit(1)
        return
    choice = options.choose(
        only_one(frames, table), fit, leave, at, stock=stock, body=body, mounts=mounts
    )
    good = run_sweep(
        choice, vary or (), case, joints, (workers, scheduler, resume), options.system(units),
        stress=stress, as_json=as_json, csv=csv, chart=chart,
    )  # fmt: skip
    if not good:
        raise typer.Exit(1)


def boxing(
    frame: FrameName,
    part: Annotated[
        str | None,
        typer.Argument(
            metavar="[PART]", help="The part whose plate is moved; the only one if left out."
        ),
    ] = None,
    plate: Annotated[
        int, typer.Option("--plate", min=1, help="Which of the part's plates, in their order.")
    ] = 1,
    step: Annotated[
        str | None,
        typer.Option(
            "--step",
            metavar="LENGTH",
            help="Between stations; a 20th of the wheelbase if left out.",
        ),
    ] = None,
    length: Annotated[
        str | None,
        typer.Option("--length", metavar="LENGTH", help="Find the best place for this length."),
    ] = None,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    joints: Annotated[
        str | None,
        typer.Option(
            "--joints",
            metavar="sheet|beam",
            help="Joints as sheet metal, or by quick beam rules; when left out sheet metal up to"
            " 80 plates.",
        ),
    ] = None,
    coarse: Annotated[
        float,
        typer.Option(
            "--coarse", min=1.0, max=3.0, help="Times the usual size of sheet metal's shells."
        ),
    ] = 2.0,
    workers: Workers = None,
    scheduler: Scheduler = None,
    resume: Resume = None,
    as_json: Json = False,
    csv: Csv = None,
    chart: ChartFile = None,
    units: Units = "si",
) -> None:
    """Tell where a boxing plate should start and stop: what each length adds, and its ends' stress.

    Both ends are moved over the length of rail that other plates leave free.
    """
    from fea.cli.boxing import Asked, run_boxing

    choice = options.choose(frame, fit, leave, at, stock=stock, body=body, mounts=mounts)
    good = run_boxing(
        choice, Asked(part, plate, step, length, joints, coarse),
        (workers, scheduler, resume), options.system(units), as_json=as_json, csv=csv, chart=chart,
    )  # fmt: skip
    if not good:
        raise typer.Exit(1)


def positions(
    frame: FrameName,
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="[NAME]", help="The crossmember that is moved; the only one if left out."
        ),
    ] = None,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    joints: ManyJoints = None,
    workers: Workers = None,
    scheduler: Scheduler = None,
    resume: Resume = None,
    as_json: Json = False,
    csv: Csv = None,
    chart: ChartFile = None,
    units: Units = "si",
) -> None:
    """Bolt a crossmember in each of its positions, both ways round: stiffness, and its ends' loads.

    Beside that stands where what it carries, a gearbox, comes to sit.
    """
    from fea.cli.positioning import run_positions

    choice = options.choose(frame, fit, leave, at, stock=stock, body=body, mounts=mounts)
    good = run_positions(
        choice, name, joints, (workers, scheduler, resume), options.system(units),
        as_json=as_json, csv=csv, chart=chart,
    )  # fmt: skip
    if not good:
        raise typer.Exit(1)
