"""The command `compare`: before and after, of one frame document or of two."""

from pathlib import Path
from typing import Annotated

import typer

from fea.cli import options
from fea.cli.options import At, Body, CaseNames, FrameName, Joints, Json, Mounts, Units


def compare(
    frame: FrameName,
    other: Annotated[
        str | None,
        typer.Argument(metavar="OTHER", help="The frame that it is compared with, as after."),
    ] = None,
    case: CaseNames = None,
    stock: Annotated[
        bool,
        typer.Option(
            "--stock",
            help="Before is the frame with no added part, as it is unless OTHER is given; of two"
            " frames, leave off every added part of both.",
        ),
    ] = False,
    full: Annotated[
        bool, typer.Option("--full", help="After is the frame with all parts; of two, both are.")
    ] = False,
    fit: Annotated[
        list[str] | None,
        typer.Option("--with", metavar="PART", help="After has this part; may be repeated."),
    ] = None,
    leave: Annotated[
        list[str] | None,
        typer.Option("--without", metavar="PART", help="After lacks this part; may be repeated."),
    ] = None,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    modes: Annotated[
        int, typer.Option("--modes", min=0, max=20, help="How many natural frequencies; 0: none.")
    ] = 3,
    worse: Annotated[
        str,
        typer.Option("--worse", metavar="SHARE", help='What counts as worse, such as "10 %".'),
    ] = "10 %",
    joints: Joints = "sheet",
    as_json: Json = False,
    table: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write every figure as CSV.")
    ] = None,
    png: Annotated[
        Path | None,
        typer.Option("--png", metavar="FILE", help="Draw both under the first case, to one scale."),
    ] = None,
    units: Units = "si",
) -> None:
    """Set before and after side by side: what rose and fell, the places that got worse first.

    The stock frame against the frame as its document fits it, unless told otherwise.
    """
    from fea.cli.comparing import Asked, Files, chosen, compare_study

    system = options.system(units)
    first = options.choose(frame, at=at, body=body, mounts=mounts)
    second = options.choose(other or frame, fit, leave, at, body=body, mounts=mounts)
    asked = Asked.of(joints, worse, modes, case)
    states = chosen(first, second, two=other is not None, stock=stock, full=full)
    compare_study(states, asked, Files(table, png), system, as_json=as_json)
