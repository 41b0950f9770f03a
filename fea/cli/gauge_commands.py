"""The commands `sensitivity`, `size` and `confidence`: their options."""

from pathlib import Path
from typing import Annotated

import typer

from fea.cli import options
from fea.cli.many import Workers
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

QuickJoints = Annotated[
    str,
    typer.Option(
        "--joints",
        metavar="beam|sheet",
        help="Joints by quick beam rules, or as sheet metal: that takes four full solves a key.",
    ),
]


def sensitivity(
    frame: FrameName,
    key: Annotated[
        list[str] | None,
        typer.Option(
            "--key",
            metavar="PATH",
            help='Only this figure, such as "rail.wall"; may be repeated. All when left out.',
        ),
    ] = None,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    stress: Annotated[
        bool, typer.Option("--stress", help="The highest stress as well, its place held.")
    ] = False,
    modes: Annotated[
        bool,
        typer.Option(
            "--modes", help="First torsion and bending frequency as well, by beam joints."
        ),
    ] = False,
    joints: QuickJoints = "beam",
    as_json: Json = False,
    units: Units = "si",
) -> None:
    """Tell what one more tenth of a millimetre buys: in twist, bending, and per kilogram.

    Derivatives by every wall, size, plate and stiffness of the document, at the frame as it
    is: good for a small step. Of a size one more millimetre counts, of a stiffness 10 %.
    """
    from fea.cli.sensing import sense

    system = options.system(units)
    choice = options.choose(frame, fit, leave, at, stock=stock, body=body, mounts=mounts)
    sense(choice, key, joints, system, stress=stress, modes=modes, as_json=as_json)


def size(
    frame: FrameName,
    target: Annotated[
        list[str],
        typer.Option(
            "--target",
            metavar="MEASURE=AMOUNT",
            help='A stiffness to reach: "twist=+60%" over stock, "twist=1500 N m/deg",'
            ' "bending=3 kN/mm"; may be repeated.',
        ),
    ],
    vary: Annotated[
        list[str] | None,
        typer.Option(
            "--vary",
            metavar="PATH",
            help="A part, or a plate or wall of one, to be chosen; may be repeated. All plates and"
            " walls of parts when left out.",
        ),
    ] = None,
    gauges: Annotated[
        list[str] | None,
        typer.Option(
            "--gauges",
            metavar="THICKNESS",
            help='Stock thicknesses: "metric" (2, 2.5, 3, 4, 5, 6 mm; when left out), "msg"'
            ' (sheet gauges 7 to 14), or single ones such as "3 mm"; may be repeated.',
        ),
    ] = None,
    stress: Annotated[
        float | None,
        typer.Option("--stress", min=0.01, help="Highest share of yield allowed under the cases."),
    ] = None,
    case: CaseNames = None,
    fit: With = None,
    leave: Without = None,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    joints: options.Joints = "sheet",
    want: Annotated[
        int, typer.Option("--designs", min=1, max=10, help="Designs told, runners-up included.")
    ] = 3,
    write: Annotated[
        Path | None,
        typer.Option("--write", metavar="FILE", help="Write the document with the answer in it."),
    ] = None,
    as_json: Json = False,
    units: Units = "si",
) -> None:
    """Choose parts and stock gauges for a stiffness at the least added mass.

    The search is by beam rules for joints; its best designs are then solved with joints as
    sheet metal, which decide. Exit status 1 if no design reaches the targets.
    """
    from fea.cli.sizing import Asked, size_study

    system = options.system(units)
    choice = options.choose(frame, fit, leave, at, body=body, mounts=mounts)
    asked = Asked(
        tuple(target),
        tuple(vary or ()),
        tuple(gauges or ()),
        stress,
        tuple(case or ()),
        joints,
        want,
    )
    if not size_study(choice, asked, system, write=write, as_json=as_json):
        raise typer.Exit(1)


def confidence(
    frame: FrameName,
    tolerance: Annotated[
        list[str] | None,
        typer.Option(
            "--tolerance",
            metavar="PATH=AMOUNT",
            help='A tolerance that the document does not give: "rail.wall=0.2 mm",'
            ' "mount.M2.vertical=10 %"; may be repeated.',
        ),
    ] = None,
    fit: With = None,
    leave: Without = None,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    draws: Annotated[
        int, typer.Option("--draws", min=20, max=100_000, help="Draws of the figures.")
    ] = 200,
    seed: Annotated[int, typer.Option("--seed", min=0, help="Which draws.")] = 1,
    joints: Annotated[
        str,
        typer.Option(
            "--joints",
            metavar="beam|sheet",
            help="Joints by quick beam rules, every draw solved; or as sheet metal, solved at the"
            " ends of every range, with draws by curves between: minutes the first time.",
        ),
    ] = "beam",
    coarse: Annotated[
        float,
        typer.Option(
            "--coarse",
            min=1.0,
            max=3.0,
            help="With --joints sheet: times the usual size of its shells: quicker, but bands move",
        ),
    ] = 1.0,
    workers: Workers = None,
    as_json: Json = False,
    units: Units = "si",
) -> None:
    """Tell how sure the gains of the fitted parts are, and which measured figure matters.

    Tolerances stand in the document, as "3.0 +- 0.2 mm", "400 to 600 N/mm" or, of wear,
    "5 % to 20 %".
    """
    from fea.cli.trusting import trust

    system = options.system(units)
    choice = options.choose(frame, fit, leave, at, body=body, mounts=mounts)
    trust(
        choice, tolerance or (), draws, seed, workers, system, joints=joints, coarse=coarse,
        as_json=as_json,
    )  # fmt: skip
