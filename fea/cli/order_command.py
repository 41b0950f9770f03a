"""The command `welds`: its options; what it does is in :mod:`fea.cli.ordering`."""

from pathlib import Path
from typing import Annotated

import typer

from fea.cli import options
from fea.cli.options import At, FrameName, Json, With, Without


def welds(
    frame: FrameName,
    part: Annotated[
        list[str] | None,
        typer.Option(
            "--parts",
            metavar="PART",
            help="A part that is being welded in; may be repeated. Every fitted one when left out.",
        ),
    ] = None,
    run: Annotated[
        str, typer.Option("--run", metavar="LENGTH", help="Longest run of weld.")
    ] = "75 mm",
    leg: Annotated[
        str | None,
        typer.Option(
            "--leg", metavar="LENGTH", help="Leg of every fillet; the thinner wall when left out."
        ),
    ] = None,
    process: Annotated[
        str, typer.Option("--process", metavar="mig|stick|tig", help="For heat and time.")
    ] = "mig",
    tack: Annotated[
        float, typer.Option("--tack", help="Share of a finished weld's stiffness that tacks give.")
    ] = 0.3,
    near: Annotated[
        str,
        typer.Option(
            "--near", metavar="LENGTH", help="Distance within which earlier runs must have cooled."
        ),
    ] = "150 mm",
    order: Annotated[
        str | None,
        typer.Option(
            "--order", metavar="NAME", help="Whose schedule to give; the straightest's if left out."
        ),
    ] = None,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Of the search and the bands.")] = 7,
    every: Annotated[
        bool, typer.Option("--all", help="Print every run of the schedule, not the first only.")
    ] = False,
    fit: With = None,
    leave: Without = None,
    at: At = None,
    as_json: Json = False,
    table: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write the schedule, a row a run.")
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option("--png", metavar="FILE", help="Draw the frame with the runs numbered."),
    ] = None,
) -> None:
    """Tell in which order to weld so that the frame stays straight: five orders, one schedule.

    Seams of boxing plates and ends of added crossmembers, run by run, with pauses for cooling.
    The rest of the frame is welded already.
    """
    from fea.cli.ordering import Files, asked, order_study

    wanted = asked(run, leg, process, near, order, tack=tack, seed=seed, every=every)
    choice = options.choose(frame, [*(fit or ()), *(part or ())], leave, at)
    order_study(choice, tuple(part or ()), wanted, Files(table, picture), as_json=as_json)
