"""What `envelope` does and prints: the worst of every member, joint and mount over cases."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fea import units
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
    from fea.cli.tables import Page
    from fea.result.answer import Answer
    from fea.result.envelope import Envelope, Worst
    from fea.units import System

PREFIX = "road_"
"""What the names of shipped road cases begin with."""

MOST_JOINTS = 14
"""Lines of the table of joints."""

CAUTION = "A planning aid, not a certification: local codes and a licensed engineer decide."


def envelope(
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
    table: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write every line as CSV.")
    ] = None,
    png: Annotated[
        Path | None,
        typer.Option("--png", metavar="FILE", help="Draw the frame by its highest utilisation."),
    ] = None,
    units: Units = "si",
) -> None:
    """Give the worst of every member, joint and mount over load cases, and which governs.

    Over all shipped road cases unless told otherwise: the whole vehicle, from its masses.
    """
    system = options.system(units)
    if joints not in ("sheet", "beam"):
        raise DocumentError(Complaint("unknown joints", "--joints", joints, "sheet or beam"))
    choice = options.choose(frame, fit, leave, at, stock=stock, body=body, mounts=mounts)
    found, answers = solve_envelope(choice, case, sheet_joints=joints == "sheet")
    if table is not None:
        from fea.out.envelope_record import envelope_csv
        from fea.out.files import write_text

        write_text(table, envelope_csv(found))
    report = _draw(found, answers, png, system) if png is not None else ""
    if as_json:
        from fea.out.envelope_record import envelope_record
        from fea.out.record import to_json

        typer.echo(to_json(envelope_record(found, answers)), nl=False)
        return
    from fea.cli.tables import Page

    page = Page()
    envelope_tables(page, found, answers, system)
    for path, how in ((table, ""), (png, report)):
        if path is not None:
            page.say(f"wrote {path}{how}")
    page.say(CAUTION)


def road_cases() -> list[str]:
    """Return the names of all shipped road cases."""
    from fea.document.find import shipped_cases

    return [name for name in shipped_cases() if name.startswith(PREFIX)]


def solve_envelope(
    choice: options.Choice, names: list[str] | None, *, sheet_joints: bool
) -> "tuple[Envelope, list[Answer]]":
    """Return the envelope of cases, all road cases if none is named, and their answers."""
    from fea.analyse import analyse
    from fea.cli.busy import busy
    from fea.result.answer import answers
    from fea.result.envelope import envelope as gathered
    from fea.store import store

    cases = options.load_cases(names or road_cases())
    kept = store() if sheet_joints else None
    with busy("solving"):
        solved = answers(analyse(choice.frame(), cases, sheet_joints=sheet_joints, store=kept))
        return gathered(solved), solved


def _draw(found: "Envelope", answers: "list[Answer]", path: Path, system: "System") -> str:
    from fea.cli.busy import busy
    from fea.out.envelope_scene import envelope_scene
    from fea.out.picture import write_png

    with busy("drawing"):
        report = write_png(envelope_scene(found, answers, system), path, scale=0.0)
    if report.note:
        typer.echo(report.note, err=True)
    return f" ({report.renderer})"


def envelope_tables(
    page: "Page", found: "Envelope", answers: "list[Answer]", system: "System"
) -> None:
    """Print the tables of an envelope."""
    frame = answers[0].frame
    page.say(f"{frame.title}: the worst of {len(answers)} load cases", "bold")
    parts = ", ".join(frame.fitted)
    page.say(f"Parts fitted: {parts}." if parts else "Stock frame: no added part fitted.")
    rows = [
        (
            r.name,
            f"{100.0 * r.utilisation.value:.0f} %" if r.utilisation else "",
            _show(r.stress, "stress", system),
            f"{r.station:.0f}" if r.station is not None else "",
            _short(r.governs),
            _show(r.force, "force", system),
            _short(r.force.case if r.force else ""),
        )
        for r in found.of("member")
    ]
    heads = ("member", "of yield", "stress", "at, mm", "governed by", "force", "in")
    page.table("Members", heads, rows, (1, 2, 3, 5))
    joints = found.of("joint")
    lines = [
        (
            r.name,
            _show(r.stress, "stress", system),
            _short(r.stress.case if r.stress else ""),
            _show(r.force, "force", system),
            _show(r.moment, "moment", system),
            _short(r.force.case if r.force else ""),
        )
        for r in joints[:MOST_JOINTS]
    ]
    title = "Joints"
    if any(r.stress for r in joints):
        title += " (stress in their sheet metal: for ranking)"
    if len(joints) > MOST_JOINTS:
        title += f"; the first {MOST_JOINTS} of {len(joints)}, all in --csv and --json"
    page.table(title, ("joint", "stress", "in", "force", "moment", "in"), lines, (1, 3, 4))
    mounts = found.of("mount")
    if mounts:
        loads = [(r.name, _show(r.force, "force", system), _short(r.governs)) for r in mounts]
        page.table("Body mounts", ("mount", "force", "in"), loads, (1,))
    _cases(page, answers)


def _cases(page: "Page", answers: "list[Answer]") -> None:
    from fea.cli.road_rows import sources

    rows = []
    for a in answers:
        top = max(a.peaks, key=lambda p: p.utilisation, default=None)
        use = f"{100.0 * top.utilisation:.0f} %" if top else ""
        rows.append((_short(a.case.name), a.case.title, use, top.member if top else ""))
    page.table("Cases", ("case", "", "of yield", "in"), rows, (2,))
    told: dict[str, list[str]] = {}
    for a in answers:
        lines = [f"Source of {name}: {text}" for name, text in sources(a)]
        for line in (*lines, *_limits(a)):
            told.setdefault(line, []).append(_short(a.case.name))
    for line, cases in told.items():
        where = "all cases" if len(cases) == len(answers) else ", ".join(cases)
        page.say(f"{line} ({where}).")
    for line in dict.fromkeys(answers[0].assumed):
        page.say(f"Assumed: {line}.")


def _limits(answer: "Answer") -> list[str]:
    """Return the notes that say what a case's loads hang on."""
    road = answer.solution.loads.road
    said = ("bump of", "one seat", "turn over", "leaves the ground", "would have to pull")
    notes = road.notes if road is not None else ()
    return [n[:1].upper() + n[1:] for n in notes if any(word in n for word in said)]


def _short(case: str) -> str:
    return case.removeprefix(PREFIX)


def _show(worst: "Worst | None", kind: str, system: "System") -> str:
    """Return a figure in the one unit that comes first."""
    return units.show(worst.value, kind, system).split(" (")[0] if worst else ""
