"""The commands that solve many variants: `sweep`, `boxing` and `positions`."""

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
    frame: FrameName,
    vary: Annotated[
        list[str] | None,
        typer.Option(
            "--vary",
            metavar="KEY=FROM..TO/STEPS",
            help="A key of the document and its values: a range, a list as in KEY=2mm,3mm, or"
            " part.NAME=on,off. Once or twice.",
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

    A value that the document refuses is a row with its complaint.
    """
    from fea.cli.sweeping import run_sweep

    choice = options.choose(frame, fit, leave, at, stock=stock, body=body, mounts=mounts)
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
    joints: ManyJoints = None,
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
        choice, Asked(part, plate, step, length, joints), (workers, scheduler, resume),
        options.system(units), as_json=as_json, csv=csv, chart=chart,
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
