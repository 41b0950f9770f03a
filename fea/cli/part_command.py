"""The command `parts`: its options; what it does is in :mod:`fea.cli.part_study`."""

from pathlib import Path
from typing import Annotated

import typer

from fea.cli import options
from fea.cli.options import At, Body, FrameName, Joints, Json, Mounts, Units


def parts(
    frame: FrameName,
    keep: Annotated[
        list[str] | None,
        typer.Option(
            "--with",
            metavar="PART",
            help="Keep this part where two cannot be fitted together; may be repeated.",
        ),
    ] = None,
    leave: Annotated[
        list[str] | None,
        typer.Option("--without", metavar="PART", help="Do not study this part; may be repeated."),
    ] = None,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    stress: Annotated[
        bool, typer.Option("--stress", help="Measure the highest stress as well.")
    ] = False,
    modes: Annotated[
        bool,
        typer.Option(
            "--modes", help="First torsion and bending frequency as well, by beam joints."
        ),
    ] = False,
    orders: Annotated[
        int | None,
        typer.Option(
            "--orders",
            min=2,
            help="Estimate Shapley shares from so many random orders. When left out, all orders"
            " up to 12 parts, 100 beyond.",
        ),
    ] = None,
    joints: Joints = "sheet",
    shares: Annotated[
        str | None,
        typer.Option(
            "--shares",
            metavar="sheet|beam",
            help="Joints for Shapley shares and pairs. When left out, as --joints says up to 7"
            " parts, 6 with --stress, by beam rules beyond.",
        ),
    ] = None,
    coarse: Annotated[
        float,
        typer.Option(
            "--coarse", min=1.0, max=3.0, help="Times the usual size of sheet metal's shells."
        ),
    ] = 2.0,
    workers: Annotated[
        int | None,
        typer.Option("--workers", min=1, help="Processes; one a processor when left out."),
    ] = None,
    as_json: Json = False,
    table: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write a row a part.")
    ] = None,
    chart: Annotated[
        Path | None,
        typer.Option("--chart", metavar="FILE", help="Draw bars of shares, PNG or SVG."),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option("--png", metavar="FILE", help="Draw the frame, each part in its colour."),
    ] = None,
    units: Units = "si",
) -> None:
    """Tell what each added part buys: alone, left out, in order, per kilogram, and in pairs.

    Every part of the document is studied, fitted or not.
    """
    from fea.cli.part_study import Files, asked, part_study

    system = options.system(units)
    wanted = asked(
        joints, shares, coarse=coarse, stress=stress, modes=modes, orders=orders, workers=workers
    )
    choice = options.choose(frame, keep, leave, at, body=body, mounts=mounts)
    part_study(choice, wanted, Files(table, chart, picture), system, as_json=as_json)
