"""The command `stands`: its options; what it does is in :mod:`fea.cli.standing`."""

from pathlib import Path
from typing import Annotated

import typer

from fea.cli import options
from fea.cli.options import At, FrameName, Joints, Json, Stock, With, Without


def stands(
    frame: FrameName,
    count: Annotated[int, typer.Option("--count", metavar="4|6|8", help="Stands in all.")] = 4,
    own: Annotated[
        list[str] | None,
        typer.Option(
            "--stand",
            metavar="STATION",
            help="A pair of stands of your own, right and left; repeat for more. No search then.",
        ),
    ] = None,
    allowed: Annotated[
        list[str] | None,
        typer.Option(
            "--allowed",
            metavar="STATION",
            help='Where stands may be, as in "400 mm to 900 mm" or "1250 mm"; may be repeated.'
            " All straight and level lengths of the rails when left out.",
        ),
    ] = None,
    step: Annotated[
        str, typer.Option("--step", metavar="LENGTH", help="Between the places tried.")
    ] = "100 mm",
    clear_joints: Annotated[
        bool, typer.Option("--clear-joints", help="Keep off the crossmembers' joints as well.")
    ] = False,
    least: Annotated[
        str,
        typer.Option(
            "--least", metavar="max|rms", help="What to make small: the most or the mean sag."
        ),
    ] = "max",
    tolerance: Annotated[
        str, typer.Option("--tolerance", metavar="ANGLE", help="Twist that uneven stands may make.")
    ] = "0.1 deg",
    carried: Annotated[
        bool, typer.Option("--carried", help="With all that the frame carries, unladen.")
    ] = False,
    laden: Annotated[
        bool, typer.Option("--laden", help="And with people and payload as well.")
    ] = False,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    joints: Joints = "beam",
    as_json: Json = False,
    png: Annotated[
        Path | None,
        typer.Option("--png", metavar="FILE", help="Draw the stands from above, and the sag."),
    ] = None,
) -> None:
    """Tell where to put stands under a frame, what each bears, and how level they must be."""
    from fea.cli.standing import asked, stand_frame

    wanted = asked(
        count,
        (own or (), allowed or (), step),
        least,
        tolerance,
        joints,
        clear_joints=clear_joints,
        carried=carried,
        laden=laden,
    )
    choice = options.choose(frame, fit, leave, at, stock=stock)
    stand_frame(choice, wanted, as_json=as_json, png=png)
