"""The command line: parse, call one function, print.

The only place that prints, and the only one that exits: 0 when all is well, 1 when an
analysis failed, 2 when the input is wrong.
"""

import gc
import json
import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from fea.cli import options
from fea.cli.bench_command import bench
from fea.cli.clearance_command import clearance
from fea.cli.compare_command import compare
from fea.cli.cut_command import cutlist
from fea.cli.envelope_command import envelope
from fea.cli.fit_command import fit as fit_readings
from fea.cli.gauge_commands import confidence, sensitivity, size
from fea.cli.joints_command import joints
from fea.cli.locked_command import locked
from fea.cli.new_command import new
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
from fea.cli.order_command import welds
from fea.cli.packet_command import packet
from fea.cli.part_command import parts
from fea.cli.stands_command import stands
from fea.cli.survey_command import survey
from fea.cli.sweep_commands import boxing, positions, sweep
from fea.cli.swing_commands import buckle, modes
from fea.cli.ties_command import ties
from fea.errors import Complaint, DocumentError, FeaError, MissingExtraError, SolveError

if TYPE_CHECKING:
    from fea.result.answer import Answer
    from fea.units import System

app = typer.Typer(
    name="plumbrail",
    help="How stiff a ladder or perimeter frame is, where it is soft, and what added parts buy."
    " A planning aid, not a certification.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


def _solve(
    choice: options.Choice, cases: list[str] | None, joints: str, backend: str = "auto"
) -> "tuple[list[Answer], list[Answer] | None]":
    """Return the answers, and those of the stock frame when parts are fitted."""
    from fea.cli.solving import answer_all

    if joints not in ("sheet", "beam"):
        raise DocumentError(Complaint("unknown joints", "--joints", joints, "sheet or beam"))
    wanted = options.load_cases(cases)
    frame = choice.frame()
    stock = choice.stock_frame() if frame.fitted else None
    return answer_all(frame, stock, wanted, sheet_joints=joints == "sheet", backend=backend)


def _pairs(
    found: "list[Answer]", stock: "list[Answer] | None"
) -> "list[tuple[Answer, Answer | None]]":
    others: list[Answer | None] = [*stock] if stock else [None] * len(found)
    return list(zip(found, others, strict=True))


@app.command()
def check(
    frame: FrameName,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    as_json: Json = False,
    units: Units = "si",
) -> None:
    """Read a frame document, complain of what is wrong, and list what it holds."""
    from fea.cli.listing import frame_listing

    system = options.system(units)
    choice = options.choose(frame, fit, leave, at, stock=stock, body=body, mounts=mounts)
    frame_listing(choice, as_json=as_json, system=system)


@app.command()
def section(
    frame: FrameName,
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="One section; all when left out.")
    ] = None,
    fit: With = None,
    as_json: Json = False,
    png: Annotated[
        Path | None,
        typer.Option("--png", metavar="FILE", help="Write a drawing of it, with its shear flows."),
    ] = None,
    svg: Annotated[
        Path | None, typer.Option("--svg", metavar="FILE", help="The same drawing as lines.")
    ] = None,
) -> None:
    """Give the properties of a frame's sections, open beside boxed, with a small drawing.

    What is worn, pierced or stitched stands beside the same section new.
    """
    from fea.cli.sectioning import section_listing

    section_listing(options.choose(frame, fit), name, as_json=as_json, png=png, svg=svg)


@app.command()
def run(
    frame: FrameName,
    case: CaseNames = None,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    joints: Joints = "sheet",
    as_json: Json = False,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="DIR", help="Write JSON, CSV and VTU files there."),
    ] = None,
    units: Units = "si",
    backend: Annotated[
        str,
        typer.Option(
            "--backend",
            metavar="NAME",
            help="auto, banded, superlu, or supernodal where plumbrail[fast] is installed.",
        ),
    ] = "auto",
) -> None:
    """Run load cases (twist and bending unless told otherwise) and print the answer.

    Where parts are fitted, the stock frame's figures stand beside, the ratio first.
    """
    system = options.system(units)
    choice = options.choose(frame, fit, leave, at, stock=stock, body=body, mounts=mounts)
    found, base = _solve(choice, case, joints, backend)
    if out is not None:
        from fea.cli.busy import busy
        from fea.out.record import write_folder

        with busy("writing files"):
            written = write_folder(out, found, base)
        if not as_json:
            for path in written:
                typer.echo(f"wrote {path}")
    if as_json:
        from fea.out.record import as_record, to_json

        typer.echo(to_json(as_record(found, base)), nl=False)
        return
    _print(found, base, system)


def _print(found: "list[Answer]", base: "list[Answer] | None", system: "System") -> None:
    from fea.cli.tables import Page, answer_tables

    page = Page()
    for answer, other in _pairs(found, base):
        answer_tables(page, answer, other, system)
    for line in dict.fromkeys(found[0].assumed):
        page.say(f"Assumed: {line}.")
    page.say("A planning aid, not a certification: local codes and a licensed engineer decide.")


@app.command()
def view(
    frame: FrameName,
    case: CaseNames = None,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    joints: Joints = "sheet",
    png: Annotated[
        Path | None, typer.Option("--png", metavar="FILE", help="Write a picture.")
    ] = None,
    html: Annotated[
        Path | None,
        typer.Option("--html", metavar="FILE", help="Write a page that turns, for any browser."),
    ] = None,
    gif: Annotated[
        Path | None,
        typer.Option("--gif", metavar="FILE", help="Write a film: the load put on, taken off."),
    ] = None,
    moving: Annotated[
        Path | None,
        typer.Option("--moving", metavar="FILE", help="The film as a page, with every case named."),
    ] = None,
    scale: Annotated[
        float | None,
        typer.Option("--scale", min=0.0, help="Draw movements this many times their size."),
    ] = None,
    colour: Annotated[
        str, typer.Option("--colour", metavar="stress|movement", help="What the colours show.")
    ] = "stress",
    units: Units = "si",
) -> None:
    """Print the answer and show the frame as it moves: a picture, film, page, or a window.

    The picture shows the first load case named; twist when none is.
    """
    from fea.cli.showing import Shown, show

    system = options.system(units)
    if colour not in ("stress", "movement"):
        raise DocumentError(
            Complaint("unknown colouring", "--colour", colour, "stress or movement")
        )
    choice = options.choose(frame, fit, leave, at, stock=stock, body=body, mounts=mounts)
    found, base = _solve(choice, case or ["twist"], joints)
    _print(found, base, system)
    wanted = Shown(png, html, gif, moving, scale, colour)
    show(_pairs(found, base), wanted, system)


app.command()(new)
app.command()(ties)
app.command()(bench)
app.command()(envelope)
app.command()(compare)
app.command()(parts)
app.command()(sweep)
app.command()(boxing)
app.command()(positions)
app.command()(modes)
app.command()(buckle)
app.command()(joints)
app.command()(sensitivity)
app.command()(size)
app.command()(confidence)
app.command()(survey)
app.command()(packet)
app.command()(welds)
app.command()(stands)
app.command()(locked)
app.command()(clearance)
app.command()(cutlist)


app.command("fit")(fit_readings)


@app.command()
def verify(
    frames: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="FRAME",
            help="With --sheet-metal: which frames; the teaching ladders when left out.",
        ),
    ] = None,
    sheet_metal: Annotated[
        bool,
        typer.Option("--sheet-metal", help="Mesh whole frames as thin shells beside the beams."),
    ] = False,
    case: CaseNames = None,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    size: Annotated[
        str | None,
        typer.Option("--size", metavar="LENGTH", help="Width of the shells; 16 mm when left out."),
    ] = None,
    as_json: Json = False,
    folder: Annotated[
        Path | None,
        typer.Option("--cases", metavar="DIR", help="Validation cases of your own."),
    ] = None,
) -> None:
    """Run the validation cases: computed beside published. Exit status 1 if one is off.

    With --sheet-metal: whole frames as thin shells beside the beams. Exit status 1 if
    something could not be meshed. Takes seconds to minutes, and a GB or two.
    """
    from fea.cli.verifying import beside_shells, frames_to_mesh, validate

    if sheet_metal and folder is None:
        chosen = frames_to_mesh(frames, fit, leave, at, stock=stock)
        good = beside_shells(chosen, case, size, as_json=as_json)
    elif sheet_metal or frames or case or fit or leave or stock or at or size:
        raise DocumentError(
            Complaint(
                "verify takes either --sheet-metal, with frames and their options, or --cases",
                do="such as plumbrail verify --sheet-metal ladder_tubes",
            )
        )
    else:
        good = validate(folder, as_json=as_json)
    if not good:
        raise typer.Exit(1)


@app.command()
def schema(
    what: Annotated[
        str, typer.Argument(metavar="frame|case", help="Which kind of document.")
    ] = "frame",
) -> None:
    """Print the JSON schema of a document, for editors that complete and check."""
    from fea.document.schema import case_json_schema, frame_json_schema

    kinds = {"frame": frame_json_schema, "case": case_json_schema}
    if what not in kinds:
        raise DocumentError(Complaint("unknown kind of document", found=what, do="frame or case"))
    typer.echo(json.dumps(kinds[what](), indent=2, ensure_ascii=False))


@app.command()
def demos() -> None:
    """List the frames and load cases that come with Plumbrail."""
    from fea.cli.listing import demo_listing

    demo_listing()


def _refuse_output(error: OSError) -> NoReturn:
    rule, where = "the output could not be written", str(error.filename or "standard output")
    sys.stderr.write(f"{Complaint(rule, where, error.strerror or str(error))}\n")
    with suppress(OSError):  # what is still held back would be tried again at the end
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    sys.exit(2)


def main() -> None:
    """Run the command line; complaints go to standard error, never as a traceback."""
    # Matrices of a frame are small: threads gain nothing and cost half the start-up.
    for name in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ.setdefault(name, "1")
    gc.set_threshold(100_000)  # looking for rings among what is being loaded takes a tenth of it
    try:
        try:
            app()
        finally:
            sys.stdout.flush()
    except FeaError as error:
        sys.stderr.write(f"{error}\n")
        failed = isinstance(error, SolveError | MissingExtraError)
        sys.exit(1 if failed else 2)
    except BrokenPipeError:  # the reader of a pipe went away
        sys.stderr.close()
        sys.exit(0)
    except OSError as error:  # the disk that standard output or a temporary file is on is full
        _refuse_output(error)
