"""The command `fit`: its options; what it does is in :mod:`fea.cli.fitting`."""

from pathlib import Path
from typing import Annotated

import typer

from fea.cli import options
from fea.cli.options import At, FrameName, Json, Stock, Units, With, Without
from fea.errors import Complaint, DocumentError


def fit(
    frame: FrameName,
    readings: Annotated[
        Path | None,
        typer.Argument(metavar="[READINGS.csv]", help="What the gauges said; none with --sheet."),
    ] = None,
    unknown: Annotated[
        list[str] | None,
        typer.Option(
            "--unknown",
            metavar="NAME",
            help="What to look for; repeat for more: wear (one loss for all rails), stretches (each"
            ' [[wear]] by itself), joints, stands, "stand left", pivot, zero, "zero GAUGE", or a'
            " path such as section.T60.wall. When left out: wear, joints, stands.",
        ),
    ] = None,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    joints: Annotated[
        str,
        typer.Option(
            "--joints", metavar="beam|sheet", help="Joints by quick beam rules, or as sheet metal."
        ),
    ] = "beam",
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FILE.toml",
            help="The fitted document; NAME_fitted.toml beside the original when left out.",
        ),
    ] = None,
    overwrite: Annotated[
        bool, typer.Option("--overwrite", help="Replace a fitted document that is there.")
    ] = False,
    sheet: Annotated[
        Path | None,
        typer.Option(
            "--sheet", metavar="FILE.html", help="Write a sheet for doing the test, to print."
        ),
    ] = None,
    as_json: Json = False,
    units: Units = "si",
) -> None:
    """Find wall loss, softness of joints and give of stands from dial gauges, or plan the test.

    The frame stands on stands, a known weight hangs from an arm, gauges read how it twists.
    """
    from fea.cli.fitting import fit_frame, write_sheet

    system = options.system(units)
    if (readings is None) == (sheet is None):
        rule = "fit takes either readings, or --sheet for a sheet to take them with"
        do = "such as plumbrail fit FRAME READINGS.csv"
        raise DocumentError(Complaint(rule, do=do))
    choice = options.choose(frame, fit, leave, at, stock=stock)
    if sheet is not None:
        write_sheet(choice, sheet, unknown or (), as_json=as_json)
    elif readings is not None:
        fit_frame(
            choice, readings, unknown or (), system, joints=joints, out=out, overwrite=overwrite,
            as_json=as_json,
        )  # fmt: skip
