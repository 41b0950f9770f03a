"""The command `ties`: where one more tie between body and frame matters."""

from pathlib import Path
from typing import Annotated

import typer

from fea.cli import options
from fea.cli.options import At, Body, FrameName, Joints, Json, Stock, Units, With, Without


def ties(
    frame: FrameName,
    body: Body = None,
    mounts: Annotated[
        list[str] | None,
        typer.Option(
            "--mounts",
            metavar="GRADE",
            help='Grade of the mounts; repeat for more. "as fitted" takes the document\'s own.'
            " Rubber, urethane and solid when left out.",
        ),
    ] = None,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    reach: Annotated[
        str | None,
        typer.Option(
            "--reach",
            metavar="LENGTH",
            help="Longest tie from a rail to a floor brace; 300 mm when left out.",
        ),
    ] = None,
    most: Annotated[
        int, typer.Option("--most", min=1, max=4, help="Ties in the largest best set.")
    ] = 4,
    worth: Annotated[
        float, typer.Option("--worth", min=0.0, help="Per cent of twist stiffness worth a hole.")
    ] = 2.0,
    heavy: Annotated[
        float, typer.Option("--heavy", min=0.0, help="Times its neighbours' load that is too much.")
    ] = 2.0,
    check: Annotated[
        bool, typer.Option("--check", help="Solve every tie in full as well, and compare.")
    ] = False,
    modes: Annotated[
        bool,
        typer.Option(
            "--modes", help="First torsion and bending frequency as well, by beam joints."
        ),
    ] = False,
    joints: Joints = "sheet",
    as_json: Json = False,
    chart: Annotated[
        Path | None,
        typer.Option("--chart", metavar="FILE", help="Draw gains and profiles."),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option("--png", metavar="FILE", help="Draw frame and body with the candidates."),
    ] = None,
    units: Units = "si",
) -> None:
    """Tell where one more tie between body and frame matters, and what load it takes.

    The candidates are the document's own ties and every floor brace within reach of a rail.
    """
    from fea.cli.tying import asked, choose_kind, tie_study

    system = options.system(units)
    wanted = asked(mounts, reach, most, worth, heavy, joints, check=check, modes=modes)
    choice = choose_kind(options.choose(frame, fit, leave, at, stock=stock, body=body))
    good = tie_study(choice, wanted, system, as_json=as_json, chart=chart, picture=picture)
    if not good:
        raise typer.Exit(1)
