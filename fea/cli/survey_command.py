"""The command `survey`: its options; what it does is in :mod:`fea.cli.surveying`."""

from pathlib import Path
from typing import Annotated

import typer

from fea.cli import options
from fea.cli.options import FrameName, Json
from fea.errors import Complaint, DocumentError


def survey(
    frame: FrameName,
    points: Annotated[
        Path | None,
        typer.Argument(metavar="[POINTS.csv]", help="What was measured; none with --sheet."),
    ] = None,
    tolerance: Annotated[
        list[str] | None,
        typer.Option(
            "--tolerance",
            metavar="NAME=VALUE",
            help="A tolerance of yours, as in twist=0.25deg or level_end=off; may be repeated."
            " Also: diamond, square, sag, sidesway, mash, width, level_side.",
        ),
    ] = None,
    tolerances: Annotated[
        Path | None,
        typer.Option(
            "--tolerances", metavar="FILE.toml", help="Tolerances in the table [survey] of a file."
        ),
    ] = None,
    iso: Annotated[
        str | None,
        typer.Option(
            "--iso",
            metavar="CLASS",
            help="ISO 13920 classes: A to D for lengths and E to H for straightness, as in BF.",
        ),
    ] = None,
    fitted: Annotated[
        Path | None,
        typer.Option("--fitted", metavar="FILE.csv", help="Write the adjusted points."),
    ] = None,
    png: Annotated[
        Path | None,
        typer.Option("--png", metavar="FILE", help="Draw the frame with what it is off by."),
    ] = None,
    sheet: Annotated[
        Path | None,
        typer.Option("--sheet", metavar="FILE.html", help="Write a form to fill in, to print."),
    ] = None,
    as_json: Json = False,
) -> None:
    """Tell whether the frame on the stands is straight and square enough to weld.

    From lengths, diagonals, levels, heights and coordinates of its points, fitted to its sheet.
    """
    from fea.cli.surveying import survey_frame, write_form

    if (points is None) == (sheet is None):
        rule = "survey takes either what was measured, or --sheet for a form to measure with"
        do = "such as plumbrail survey FRAME POINTS.csv"
        raise DocumentError(Complaint(rule, do=do))
    choice = options.choose(frame)
    if sheet is not None:
        write_form(choice, sheet, as_json=as_json)
    elif points is not None:
        survey_frame(
            choice,
            points,
            (tolerances, iso, tolerance or ()),
            fitted=fitted,
            png=png,
            as_json=as_json,
        )
