"""The command `locked`: its options; what it does is in :mod:`fea.cli.locking`."""

from pathlib import Path
from typing import Annotated

import typer

from fea.cli.options import FrameName, Joints, Json, With, Without


def locked(
    frame: FrameName,
    shape: Annotated[
        Path,
        typer.Option(
            "--shape",
            metavar="FILE.csv",
            help="What its points are off by, as plumbrail survey --fitted writes it.",
        ),
    ],
    parts: Annotated[
        list[str] | None,
        typer.Option(
            "--parts",
            metavar="NAME,NAME",
            help="The parts to weld in; those the document fits when left out.",
        ),
    ] = None,
    clamp: Annotated[
        list[str] | None,
        typer.Option(
            "--clamp",
            metavar="PAIR",
            help="Clamp this pair of points to its heights, as in A5; may be repeated."
            " The first, the middle and the last pair when left out.",
        ),
    ] = None,
    square: Annotated[
        bool,
        typer.Option("--square", help="Also pull the longer diagonal, end to end, with a chain."),
    ] = False,
    fit: With = None,
    leave: Without = None,
    joints: Joints = "sheet",
    as_json: Json = False,
) -> None:
    """Tell what welding parts into a crooked frame locks in.

    Welded as it stands; forced straight, welded and let go; a gap at a part forced shut.
    """
    from fea.cli.locking import choose_parts, lock_in

    choice = choose_parts(frame, parts, fit, leave)
    lock_in(choice, shape, clamp or (), joints, square=square, as_json=as_json)
