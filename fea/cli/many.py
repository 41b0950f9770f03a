"""What commands that solve many variants share: options, joints, where to run, progress."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fea.cli.options import Choice, load_cases
from fea.errors import Complaint, DocumentError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fea.study.engine import Runner
    from fea.study.variant import Setting, Variant

MOST_SHEET = 20
"""Variants up to which joints are sheet metal unless told otherwise.  A new one takes 10 to 20 s
with joints as sheet metal and 0.05 s by beam rules (measured on the shipped pickup)."""

CAUTION = "A planning aid, not a certification: local codes and a licensed engineer decide."

Workers = Annotated[
    int | None,
    typer.Option(
        "--workers",
        metavar="N",
        min=1,
        help="Processes to use; as many as there are cores when left out, but 1, this one, for few"
        " quick variants.",
    ),
]
Scheduler = Annotated[
    str | None,
    typer.Option(
        "--scheduler", metavar="tcp://HOST:PORT", help="Run on the cluster of this dask scheduler."
    ),
]
Resume = Annotated[
    Path | None,
    typer.Option(
        "--resume",
        metavar="FILE.jsonl",
        help="Keep finished rows in this file as they come, and go on from those in it.",
    ),
]
ManyJoints = Annotated[
    str | None,
    typer.Option(
        "--joints",
        metavar="sheet|beam",
        help="Joints as sheet metal, or by quick beam rules; when left out sheet metal up to"
        f" {MOST_SHEET} variants.",
    ),
]
Csv = Annotated[
    Path | None, typer.Option("--csv", metavar="FILE", help="Write the rows as a CSV file.")
]
ChartFile = Annotated[
    Path | None,
    typer.Option("--chart", metavar="FILE", help="Draw it, as PNG or, by the ending, SVG."),
]


def check_joints(asked: str | None) -> None:
    """Refuse joints that are not known, before anything is worked out."""
    if asked not in (None, "sheet", "beam"):
        raise DocumentError(Complaint("unknown joints", "--joints", asked, "sheet or beam"))


def is_sheet(asked: str | None, n_variants: int, most: int = MOST_SHEET) -> bool:
    """Return whether joints are sheet metal: as asked for, or up to `most` variants."""
    return n_variants <= most if asked is None else asked == "sheet"


def joints_sentence(
    asked: str | None, n_variants: int, *, sheet: bool, most: int = MOST_SHEET
) -> str:
    """Say which joints were used, and how to have the others."""
    used = "Joints as sheet metal" if sheet else "Joints by quick beam rules"
    if asked is not None:
        return f"{used}, as asked for; {n_variants} variants."
    other = "beam, much quicker" if sheet else "sheet, 10 to 20 s for a new variant"
    than = f"of up to {most}" if sheet else f"of more than {most}"
    return (
        f"{used}, as for such a study {than} variants: there are {n_variants} (--joints {other})."
    )


def setting_of(
    choice: Choice, cases: "Sequence[str] | None", *, sheet: bool
) -> "tuple[Setting, Variant, tuple[str, ...]]":
    """Return what all variants share, the one chosen, and the names of its parts."""
    from fea.study.variant import Setting, Variant

    fitted = choice.frame().fitted
    setting = Setting(
        choice.document,
        str(choice.path),
        tuple(load_cases(cases)),
        sheet_joints=sheet,
        body=choice.body,
        mounts=choice.mounts,
    )
    return setting, Variant.of(fitted, choice.positions), fitted


@contextmanager
def running(
    words: str, workers: int | None, scheduler: str | None, resume: Path | None
) -> "Iterator[Runner]":
    """Return how to run, with a bar on standard error while it lasts, on a terminal only."""
    from fea.study.engine import Runner

    with _bar(words) as told:
        yield Runner(workers, scheduler, resume, told)


@contextmanager
def _bar(words: str) -> Iterator[Callable[[int, int], None] | None]:
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (
        TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn(),
    )  # fmt: skip
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task(words, total=None)
        yield lambda done, whole: progress.update(task, completed=done, total=whole)


def length(text: str | None, option: str, example: str) -> float | None:
    """Return a length given with an option, mm."""
    from fea import units

    if text is None:
        return None
    try:
        return units.parse(text, "length")
    except DocumentError as error:
        rule = error.complaints[0].rule
        raise DocumentError(Complaint(rule, option, text, f'such as "{example}"')) from None


def write_files(csv: Path | None, text: Callable[[], str]) -> None:
    """Write the CSV file, if it is asked for."""
    if csv is not None:
        from fea.out.files import write_text

        write_text(csv, text())


def wrote(*paths: Path | None) -> None:
    """Say which files were written."""
    for path in paths:
        if path is not None:
            typer.echo(f"Wrote {path}.")
