"""What `compare` does: two states chosen, solved, printed, written and drawn."""

import json
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea.cli.busy import busy
from fea.cli.options import Choice, load_cases
from fea.errors import Complaint, DocumentError, ModelError

if TYPE_CHECKING:
    from fea.frame.model import Frame
    from fea.study.compare import Comparison
    from fea.units import System


@dataclass(frozen=True)
class Asked:
    """What the user asks of the comparison; `worse` as a share, 0.1 for a tenth."""

    sheet_joints: bool
    worse: float
    modes: int
    cases: tuple[str, ...]

    @staticmethod
    def of(joints: str, worse: str, modes: int, cases: Sequence[str] | None) -> "Asked":
        """Return the options; refuse what makes no sense, all at once."""
        wrong = []
        if joints not in ("sheet", "beam"):
            wrong.append(Complaint("unknown joints", "--joints", joints, "sheet or beam"))
        share = _share(worse)
        if share is None:
            rule = "what counts as worse must be a share of 0 % or more"
            wrong.append(Complaint(rule, "--worse", worse, 'such as "10 %" or 0.1'))
        if wrong:
            raise DocumentError(*wrong)
        return Asked(joints == "sheet", share or 0.0, modes, tuple(cases or ()))


@dataclass(frozen=True)
class Files:
    """What is to be written, None where nothing is."""

    table: Path | None
    picture: Path | None


@dataclass(frozen=True, eq=False)
class States:
    """The two frames with their names in the tables, and what is said of the choice."""

    labels: tuple[str, str]
    frames: "tuple[Frame, Frame]"
    said: tuple[str, ...]


def _share(text: str) -> float | None:
    """Return a share written as "10 %" or 0.1; None if it is neither.

    >>> _share("12.5 %"), _share("0.2"), _share("much")
    (0.125, 0.2, None)
    """
    match = re.fullmatch(r"\s*(\d+(?:\.\d*)?|\.\d+)\s*(%|per cent)?\s*", text)
    if match is None:
        return None
    value = float(match[1]) * (0.01 if match[2] else 1.0)
    return value if math.isfinite(value) else None


def chosen(first: Choice, second: Choice, *, two: bool, stock: bool, full: bool) -> States:
    """Return the two frames to compare.

    Raises
    ------
    ModelError
        If they are one and the same frame, or the options contradict each other.
    """
    if two and stock and full:
        rule = "two frames are compared either both stock or both with all parts"
        raise ModelError(Complaint(rule, found="--stock and --full", do="leave one of them out"))
    said: list[str] = []
    if not two:
        labels, before = ("stock", "all parts" if full else "as fitted"), first.stock_frame()
        after = _full(second, said) if full else second.frame()
        if not full and (second.fit or second.leave):
            labels = ("stock", "as chosen")
        _differ(first, before, after)
        return States(labels, (before, after), tuple(said))
    if full:
        frames = _full(first, said), _full(second, said)
    else:
        frames = replace(first, stock=stock).frame(), replace(second, stock=stock).frame()
    labels = (frames[0].name, frames[1].name)
    if labels[0] == labels[1]:
        labels = ("before", "after")
    return States(labels, frames, tuple(said))


def _differ(choice: Choice, before: "Frame", after: "Frame") -> None:
    if before.fitted == after.fitted:
        rule = "before and after must differ, but no added part is fitted"
        do = "fit parts by --with PART or --full, or name a second frame"
        raise ModelError(Complaint(rule, str(choice.path), do=do))


def _full(choice: Choice, said: list[str]) -> "Frame":
    """Return the frame with all parts that can be fitted together; say what is left off."""
    from fea.study.parts import choose_parts
    from fea.study.variant import Setting, Variant, frame_of

    setting = Setting(choice.document, str(choice.path), (), body=choice.body, mounts=choice.mounts)
    base = Variant.of(positions=choice.positions)
    names, dropped = choose_parts(setting, base, choice.fit, choice.leave)
    said += [f"Not fitted: {one.name}; {one.because}." for one in dropped]
    return frame_of(setting, replace(base, parts=frozenset(names)))


def compare_study(
    states: States, asked: Asked, files: Files, system: "System", *, as_json: bool
) -> None:
    """Solve both states, print what changed, write it and draw it."""
    from fea.study.compare import compare, solve_state

    cases = load_cases(asked.cases or None)
    kept = None
    if asked.sheet_joints:
        from fea.store import store

        kept = store()
    with busy("solving"):
        before, after = (
            solve_state(
                label,
                frame,
                cases,
                modes=asked.modes,
                sheet_joints=asked.sheet_joints,
                store=kept,
            )
            for label, frame in zip(states.labels, states.frames, strict=True)
        )
        found = compare(before, after, asked.worse)
    told = _write(found, files, system)
    if as_json:
        from fea.study.compare_record import as_record

        record = {**as_record(found), "joints": "sheet" if asked.sheet_joints else "beam"}
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
        return
    from fea.cli.compare_tables import print_comparison

    print_comparison(found, states.said, system)
    for line in told:
        typer.echo(line)


def _write(found: "Comparison", files: Files, system: "System") -> list[str]:
    """Write what was asked for; return a line for each file."""
    told = []
    if files.table is not None:
        from fea.out.files import write_text
        from fea.study.compare_record import as_csv

        write_text(files.table, as_csv(found))
        told.append(f"wrote {files.table}")
    if files.picture is not None:
        from fea.out.compare_scene import write_compare_picture

        with busy("drawing"):
            report = write_compare_picture(found, files.picture, system=system)
        if report.note:
            typer.echo(report.note, err=True)
        told.append(f"wrote {files.picture} ({report.renderer})")
    return told
