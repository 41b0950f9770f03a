"""The command `new`: a first frame document, from questions or from answers given."""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from fea.errors import Complaint, DocumentError


def new(
    file: Annotated[
        Path, typer.Argument(metavar="[FILE]", help="Where to write it; never over another file.")
    ] = Path("frame.toml"),
    answer: Annotated[
        list[str] | None,
        typer.Option(
            "--answer",
            metavar="KEY=VALUE",
            help="Answer a question beforehand; may be repeated: title, units, kind, wheelbase,"
            " length, front, width, section, gauge, crossmembers.",
        ),
    ] = None,
    defaults: Annotated[
        bool, typer.Option("--defaults", help="Ask nothing: take defaults for what is left.")
    ] = False,
) -> None:
    """Write a first frame document from a few figures: a frame that runs, to measure into shape.

    Without a terminal nothing is asked.
    """
    from fea.document.starter import frame_text
    from fea.document.starter_answers import read_answers

    _refuse_to_replace(file)
    given = _given(answer or ())
    if not defaults and sys.stdin.isatty():
        given = _asked(given)
    text = frame_text(read_answers(given), file.name)
    _must_build(text, file)
    _write(file, text)
    typer.echo(f"wrote {file}")
    typer.echo(f"next: plumbrail check {file}, then plumbrail run {file}")


def _refuse_to_replace(file: Path) -> None:
    if file.exists() or file.is_symlink():
        rule = "there is something of that name already, and it is never replaced"
        raise DocumentError(Complaint(rule, found=str(file), do="name another file"))


def _given(answers: Sequence[str]) -> dict[str, str]:
    """Return the answers of the command line by key."""
    found: dict[str, str] = {}
    for item in answers:
        key, equals, value = item.partition("=")
        if not equals or not value.strip():
            raise DocumentError(
                Complaint(
                    "an answer is written KEY=VALUE", "--answer", item, "such as wheelbase=2900"
                )
            )
        if key.strip() in found:
            rule = "each question can be answered once"
            raise DocumentError(Complaint(rule, "--answer", key.strip()))
        found[key.strip()] = value.strip()
    return found


def _asked(given: dict[str, str]) -> dict[str, str]:
    """Ask what is not given; an answer that will not do by itself is asked for again."""
    from fea.document.starter_answers import QUESTIONS, completed, read_answers

    completed(given)  # complains of keys that are no questions
    found = dict(given)
    for question in QUESTIONS:
        while question.key not in given:
            found[question.key] = typer.prompt(question.words, question.default(found)).strip()
            try:
                read_answers(found)
                break
            except DocumentError as error:
                where = f"the answer to {question.key}"
                mine = [c for c in error.complaints if c.where == where]
                if not mine:  # of another question, still to come or given beforehand
                    break
                typer.echo(str(mine[0]), err=True)
    return found


def _must_build(text: str, file: Path) -> None:
    """Build the frame before anything is written: what is wrong is told, and no file left."""
    from fea.document.read import frame_of_text
    from fea.frame.build import build_frame

    build_frame(frame_of_text(text, file), source="the new frame")


def _write(file: Path, text: str) -> None:
    from fea.out.files import write_new

    try:
        write_new(file, text)
    except FileExistsError:
        _refuse_to_replace(file)
        raise
    except OSError as error:
        reason = (error.strerror or "").lower()
        raise DocumentError(Complaint("this file cannot be written", str(file), reason)) from None
