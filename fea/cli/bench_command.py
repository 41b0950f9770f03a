"""The command `bench`: a page on this computer where the figures follow what you change."""

from pathlib import Path
from typing import Annotated

import typer

from fea.cli import options
from fea.cli.options import Body, CaseNames, FrameName, Joints, Mounts, Stock, With, Without
from fea.cli.packet_command import page_of


def bench(
    frame: FrameName,
    case: CaseNames = None,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    body: Body = None,
    mounts: Mounts = None,
    joints: Joints = "sheet",
    port: Annotated[
        int,
        typer.Option(
            "--port", min=0, max=65535, metavar="PORT", help="Which port; a free one by itself."
        ),
    ] = 0,
) -> None:
    """Serve a page, to this computer only, on which figures follow switches and sliders.

    What you change is answered at once, estimated where joints must be worked out as sheet metal
    first; the figure by sheet metal follows by itself. Ctrl+C ends it.
    """
    from fea.bench.server import require
    from fea.bench.serving import serve
    from fea.bench.session import Bench
    from fea.errors import Complaint, DocumentError
    from fea.store import store
    from fea.study.variant import Setting

    require()
    if joints not in ("sheet", "beam"):
        raise DocumentError(Complaint("unknown joints", "--joints", joints, "sheet or beam"))
    choice = options.choose(frame, fit, leave, stock=stock, body=body, mounts=mounts)
    made = choice.frame()  # complains of a part, body or grade that is not there
    setting = Setting(
        choice.document, str(choice.path), tuple(options.load_cases(case)), body=choice.body
    )
    desk = Bench(setting, store)
    start = {
        "switches": {f"part:{part.name}": part.fitted for part in made.parts},
        "mounts": choice.mounts if made.bodies else None,
    }

    def ready(address: str) -> None:
        typer.echo(f"The bench of {made.title} is at")
        typer.echo(f"  {address}")
        typer.echo("for this computer only, until Ctrl+C. Keep the address to yourself: its token")
        typer.echo(f"lets a page save documents into {Path.cwd()}.")
        typer.echo(
            "A planning aid, not a certification: local codes and a licensed engineer decide."
        )

    sheet = joints == "sheet"
    serve(desk, start, Path.cwd(), port, ready, joints="sheet" if sheet else "beam", packet=page_of)
