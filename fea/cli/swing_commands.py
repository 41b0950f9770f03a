"""The commands `modes` and `buckle`: how a frame swings by itself, and when it gives way."""

from pathlib import Path
from typing import Annotated

import typer

from fea.cli import options
from fea.cli.options import At, Body, FrameName, Joints, Json, Mounts, Stock, With, Without

Count = Annotated[int, typer.Option("--count", min=1, max=60, help="How many; the lowest.")]


def modes(
    frame: FrameName,
    count: Count = 8,
    free: Annotated[bool, typer.Option("--free", help="Hung in nothing; the default.")] = False,
    on_springs: Annotated[
        bool, typer.Option("--on-springs", help="On the axles' springs, wheels at rest.")
    ] = False,
    case: Annotated[
        str | None,
        typer.Option("--case", metavar="CASE", help="Held as this load case holds it."),
    ] = None,
    bare: Annotated[
        bool, typer.Option("--bare", help="Leave out all the frame carries: the metal alone.")
    ] = False,
    laden: Annotated[bool, typer.Option("--laden", help="With people and payload.")] = False,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    joints: Joints = "sheet",
    as_json: Json = False,
    html: Annotated[
        Path | None,
        typer.Option("--html", metavar="FILE", help="Write a page on which the modes swing."),
    ] = None,
    gif: Annotated[
        Path | None,
        typer.Option("--gif", metavar="FILE", help="Write one mode as a film."),
    ] = None,
    number: Annotated[
        int, typer.Option("--mode", min=1, help="Which mode the moving picture shows.")
    ] = 1,
) -> None:
    """Give the natural frequencies of a frame, what each mode is, and where it moves most."""
    from fea.cli.swings import Asked, mode_study

    asked = Asked(
        count=count,
        free=free,
        on_springs=on_springs,
        case=case,
        bare=bare,
        laden=laden,
        joints=joints,
        html=html,
        gif=gif,
        number=number,
    )
    choice = options.choose(frame, fit, leave, at, stock=stock, body=body, mounts=mounts)
    mode_study(choice, asked, as_json=as_json)


def buckle(
    frame: FrameName,
    case: Annotated[str, typer.Option("--case", metavar="CASE", help="The load case.")],
    count: Count = 4,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    as_json: Json = False,
) -> None:
    """Tell at how many times a load case members buckle, and which gives way.

    Joints go by beam rules: condensed sheet metal has no stiffness from axial forces.
    """
    from fea.cli.swings import buckling_study

    choice = options.choose(frame, fit, leave, at, stock=stock, body=body, mounts=mounts)
    buckling_study(choice, case, count, as_json=as_json)
