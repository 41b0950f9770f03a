"""The command `joints`: what welds, bolts and seams carry, and the size they need."""

from typing import Annotated

import typer

from fea.cli import options
from fea.cli.options import (
    At,
    Body,
    CaseNames,
    FrameName,
    Joints,
    Json,
    Mounts,
    Stock,
    Units,
    With,
    Without,
)


def joints(
    frame: FrameName,
    case: CaseNames = None,
    electrode: Annotated[
        str | None,
        typer.Option(
            "--electrode", metavar="STRENGTH", help="Its tensile strength; 70 ksi when left out."
        ),
    ] = None,
    leg: Annotated[
        str | None,
        typer.Option(
            "--leg", metavar="LENGTH", help="Leg of every fillet; the thinner wall when left out."
        ),
    ] = None,
    bolt_class: Annotated[
        str, typer.Option("--bolt-class", metavar="CLASS", help="Property class of all bolts.")
    ] = "8.8",
    torque: Annotated[
        str | None,
        typer.Option(
            "--torque", metavar="TORQUE", help="Of the bolts; 0.7 of proof load when left out."
        ),
    ] = None,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    joints: Joints = "sheet",
    as_json: Json = False,
    units: Units = "si",
) -> None:
    """Size what holds the frame together: the load and leg of each weld, bolts, plates' seams.

    The worst over all shipped road cases where the document has masses, else over twist and
    bending. Beside it, where a frame twisted to and fro is likely to crack.
    """
    from fea.cli.joint_strength import asked, weld_study

    system = options.system(units)
    wanted = asked(electrode, leg, bolt_class, torque, joints)
    choice = options.choose(frame, fit, leave, at, stock=stock, body=body, mounts=mounts)
    weld_study(choice, case, wanted, system, sheet_joints=joints == "sheet", as_json=as_json)
