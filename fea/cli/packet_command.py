"""The command `packet`: all that is known of a frame on paper, for the customer and the welder."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

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
from fea.errors import Complaint, DocumentError

if TYPE_CHECKING:
    from fea.frame.case import Case
    from fea.frame.model import Frame
    from fea.out.packet_contents import Asked, Contents
    from fea.out.packet_pdf import Paper
    from fea.units import System

PAPERS: "dict[str, Paper]" = {"a4": "A4", "letter": "Letter"}


def packet(
    frame: FrameName,
    case: CaseNames = None,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    body: Body = None,
    mounts: Mounts = None,
    joints: Joints = "sheet",
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            metavar="FILE.html",
            help="The page to write; FRAME_packet.html when neither --out nor --pdf is given.",
        ),
    ] = None,
    pdf: Annotated[
        Path | None, typer.Option("--pdf", metavar="FILE.pdf", help="Write it as PDF.")
    ] = None,
    paper: Annotated[
        str, typer.Option("--paper", metavar="a4|letter", help="Paper of the PDF.")
    ] = "a4",
    as_json: Json = False,
    units: Units = "si",
) -> None:
    """Put all that is known of a frame on paper, for the customer and the welder.

    What the parts buy, where it is soft, weld sizes, a form for measuring, assumptions. The load
    cases are for strength: all shipped road cases where the document gives masses and axles.
    """
    from fea.document.read import read_text

    system = options.system(units)
    size = _checked(joints, paper, out, pdf)
    choice = options.choose(frame, fit, leave, at, stock=stock, body=body, mounts=mounts)
    if pdf is not None:
        from fea.out.packet_pdf import require_pdf

        require_pdf()  # before minutes of work
    wanted = _asked(choice, read_text(choice.path), case, joints, system)
    if out is None and pdf is None:
        out = Path(f"{wanted.frame.name}_packet.html")
    found, sizes = _write(wanted, out, pdf, size)
    if as_json:
        typer.echo(json.dumps(_record(found, sizes), indent=2, ensure_ascii=False, allow_nan=False))
        return
    for path, bytes_ in sizes.items():
        typer.echo(f"Wrote {path} ({bytes_ / 1000.0:.0f} kB).")
    typer.echo(f"Fingerprint {wanted.fingerprint[:12]}; the same input gives the same file.")
    typer.echo("A planning aid, not a certification: local codes and a licensed engineer decide.")


def _checked(joints: str, paper: str, out: Path | None, pdf: Path | None) -> "Paper":
    """Return the paper; refuse options that make no sense, all at once."""
    complaints = []
    if joints not in ("sheet", "beam"):
        complaints.append(Complaint("unknown joints", "--joints", joints, "sheet or beam"))
    if paper.lower() not in PAPERS:
        complaints.append(Complaint("unknown paper", "--paper", paper, "a4 or letter"))
    for option, path in (("--out", out), ("--pdf", pdf)):
        if path is not None and path.is_dir():
            rule = "the output must be a file, not a folder"
            complaints.append(Complaint(rule, option, str(path), "name a file in it"))
    if out is not None and out == pdf:
        rule = "the page and the PDF must be two files"
        complaints.append(Complaint(rule, "--out and --pdf", str(out)))
    if complaints:
        raise DocumentError(*complaints)
    return PAPERS[paper.lower()]


def _asked(
    choice: options.Choice, text: str, names: Sequence[str] | None, joints: str, system: "System"
) -> "Asked":
    from fea.cli.joint_strength import stitches
    from fea.out.packet_contents import Asked

    frame = choice.frame()
    cases, texts = _cases(frame, names)
    twist, bending = options.load_cases(("twist", "bending"))
    told = {
        "parts fitted": ", ".join(frame.fitted) or "none",
        "positions": ", ".join(f"{n} at {s:g} mm" for n, s in sorted(choice.positions.items())),
        "body": choice.body or "none",
        "mounts": choice.mounts or "as the document has them",
        "joints": joints,
        "units first": system,
        "load cases": ", ".join(c.name for c in cases),
        "load cases (SHA-256)": texts,
    }
    return Asked(
        document=choice.document,
        text=text,
        frame=frame,
        stock=choice.stock_frame() if frame.fitted else None,
        twist=twist,
        bending=bending,
        cases=tuple(cases),
        options=told,
        positions=choice.positions,
        body=choice.body,
        mounts=choice.mounts,
        sheet_joints=joints == "sheet",
        system=system,
        stitches=stitches(choice.document),
    )


def _cases(frame: "Frame", names: Sequence[str] | None) -> "tuple[list[Case], str]":
    """Return the load cases for strength, and the fingerprint of their files."""
    import hashlib

    from fea.cli.envelope_command import road_cases
    from fea.document.find import find_case
    from fea.document.read import read_text

    if not names:
        names = road_cases() if frame.masses and frame.axles else None
    cases = options.load_cases(names)
    every = [*(names or ()), "twist", "bending"]
    text = "\0".join(read_text(find_case(name)) for name in every)
    return cases, hashlib.sha256(text.encode("utf-8")).hexdigest()


def page_of(text: str, path: Path, body: str | None, joints: str) -> str:
    """Return the packet of a document that is in no file yet, as HTML.

    Parameters
    ----------
    path : what the document would be called
    """
    from fea.document.read import frame_of_text
    from fea.out.packet import packet as made

    choice = options.Choice(path, frame_of_text(text, path), (), (), stock=False, positions={},
                            body=body)  # fmt: skip
    return made(_gathered(_asked(choice, text, None, joints, "si")))


def _gathered(wanted: "Asked") -> "Contents":
    """Solve and study what the packet tells."""
    from fea.cli.busy import busy
    from fea.cli.solving import answer_all
    from fea.out.packet_contents import gather
    from fea.store import store

    now, stock = answer_all(
        wanted.frame,
        wanted.stock,
        (wanted.twist, wanted.bending),
        sheet_joints=wanted.sheet_joints,
        backend="auto",
    )
    with busy("studying"):
        return gather(wanted, now, stock, store() if wanted.sheet_joints else None)


def _write(
    wanted: "Asked", out: Path | None, pdf: Path | None, paper: "Paper"
) -> "tuple[Contents, dict[str, int]]":
    """Solve, set and write; nothing is written before everything is made."""
    from functools import partial

    from fea.cli.busy import busy
    from fea.out.files import write_whole
    from fea.out.packet import packet as made

    found = _gathered(wanted)
    files: dict[Path, bytes] = {}
    with busy("setting the pages"):
        text = made(found)
        if out is not None:
            files[out] = text.encode("utf-8")
        if pdf is not None:
            from fea.out.packet_pdf import as_pdf

            files[pdf] = as_pdf(text, paper)
    for path, content in files.items():
        write_whole(path, partial(_fill, content))
    return found, {str(path): len(content) for path, content in files.items()}


def _fill(content: bytes, path: Path) -> None:
    path.write_bytes(content)


def _record(found: "Contents", sizes: dict[str, int]) -> dict[str, Any]:
    from fea.out.packet_contents import release
    from fea.out.record import as_record

    asked = found.asked
    return {
        "version": release(),
        "fingerprint": asked.fingerprint,
        "options": dict(asked.options),
        "written": [{"file": path, "bytes": size} for path, size in sizes.items()],
        "results": as_record(list(found.now), list(found.stock) if found.stock else None),
    }
