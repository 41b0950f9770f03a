"""What `verify` does and prints: checks beside published figures, beams beside shells."""

import json
from collections.abc import Callable, Sequence
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea.cli.busy import busy
from fea.cli.tables import Page
from fea.errors import Complaint, DocumentError, ModelError, SolveError

if TYPE_CHECKING:
    from fea.cli.options import Choice
    from fea.verify import CaseResult
    from fea.verify.metal import CaseBeside, FrameBeside, Trio

SHELL_SIZES = (6.0, 60.0)
"""mm; finer fills the memory, coarser tells nothing."""

SMALL = 0.02
"""A stress below this share of the case's largest is not told in per cent of itself."""

BESIDE = ("shells", "sheet joints", "off by", "beam rules", "off by")


def validate(folder: Path | None, *, as_json: bool) -> bool:
    """Run the validation cases and print them; say whether all are right."""
    from fea.verify import as_json as to_record
    from fea.verify import run_all

    with busy("running the validation cases"):
        results = run_all(folder)
    if as_json:
        typer.echo(json.dumps(to_record(results), indent=2, ensure_ascii=False))
    else:
        print_results(results)
    return all(r.ok for r in results)


def frames_to_mesh(
    names: Sequence[str] | None,
    fit: Sequence[str] | None,
    leave: Sequence[str] | None,
    at: Sequence[str] | None,
    *,
    stock: bool,
) -> "list[Choice]":
    """Return the frames named, the teaching ladders when none is, with the choice of parts."""
    from fea.cli.options import choose
    from fea.verify.metal import teaching_ladders

    each = names or list(teaching_ladders())
    return [choose(name, fit, leave, at, stock=stock) for name in each]


def beside_shells(
    chosen: "Sequence[Choice]", cases: Sequence[str] | None, size: str | None, *, as_json: bool
) -> bool:
    """Compare whole frames in shells with their beams; say whether all of them was meshed.

    A frame that cannot be meshed is named, and the rest go on.
    """
    from fea.cli.options import load_cases
    from fea.metal import SIZE, meshable
    from fea.verify import metal

    width = SIZE if size is None else _shell_size(size)
    wanted = [load_cases(cases or metal.default_cases(choice.path)) for choice in chosen]
    page = Page()
    done: list[FrameBeside] = []
    failed: list[tuple[str, str]] = []
    for frame, load in zip([choice.frame() for choice in chosen], wanted, strict=True):
        try:
            with busy(f"{frame.name} as shells"):
                one = metal.compare(frame, load, width)
        except (ModelError, SolveError) as error:
            faults = [_one_line(c) for c in error.complaints]
            why = "; ".join([*faults, *(f"left out: {line}" for line in meshable(frame)[1])])
            failed.append((frame.name, why))
            if not as_json:
                page.say(frame.title, "bold")
                page.say(f"Not meshed: {why}")
                page.say()
            continue
        done.append(one)
        if not as_json:
            _print_frame(page, one)
    if as_json:
        record = metal.as_record(done, failed)
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
    elif done:
        page.say(
            "Shells: all of the frame as sheet metal. Sheet joints: beams, their joints as sheet"
            " metal. Beam rules: beams, their joints by the quick rules."
        )
        page.say("What changes with a smaller --size is the shells' own error.")
    return not failed and not any(one.left_out for one in done)


def _shell_size(text: str) -> float:
    from fea import units

    try:
        size = units.parse(text, "length")
    except DocumentError as error:
        rule = error.complaints[0].rule
        raise DocumentError(Complaint(rule, "--size", text, 'such as --size "24 mm"')) from None
    low, high = SHELL_SIZES
    if not low <= size <= high:
        rule = f"shells of a whole frame are {low:g} to {high:g} mm wide"
        raise DocumentError(Complaint(rule, "--size", text))
    return size


def _one_line(complaint: Complaint) -> str:
    found = f" ({complaint.found})" if complaint.found else ""
    where = f"{complaint.where}: " if complaint.where else ""
    return f"{where}{complaint.rule}{found}"


def _print_frame(page: Page, one: "FrameBeside") -> None:
    page.say(f"{one.frame.title}: whole frame as shells beside the beams", "bold")
    parts = ", ".join(one.frame.fitted)
    page.say(f"Parts fitted: {parts}." if parts else "No added part fitted.")
    for line in one.left_out:
        page.say(f"Not meshed, left out of the beams too: {line}.")
    worst = max(case.residual for case in one.cases)
    free = f"{one.freedoms.shells:.0f} free motions, residual {worst:.0e}"
    page.say(f"Shells {one.size:g} mm wide: {free}.")
    rows = []
    for case in one.cases:
        if case.stiffness is not None:
            unit = "N m/deg" if case.measure == "twist" else "N/mm"
            words = f"{case.measure} stiffness, {unit}"
            rows.append((words, *_beside(case.stiffness, case.stiffness.off(), _figure)))
    rows.append(("time, s", *_beside(one.seconds, (None, None), lambda v: _round(v, 2))))
    page.table("", ("", *BESIDE), rows, (1, 2, 3, 4, 5))
    for case in one.cases:
        _print_twist(page, case)
    for case in one.cases:
        _print_stress(page, case)


def _print_twist(page: Page, case: "CaseBeside") -> None:
    if not case.twist:
        return
    whole = case.whole_twist
    rows = [
        (f"{x:.0f}", *_beside(angle, angle.off(whole), lambda v: _round(v, 3)))
        for x, angle in case.twist
    ]
    page.table(
        f"Twist along the frame, deg (off by: per cent of the {whole:.3f} deg from end to end)",
        ("station, mm", *BESIDE),
        rows,
        (0, 1, 2, 3, 4, 5),
    )


def _print_stress(page: Page, case: "CaseBeside") -> None:
    if not case.stress:
        return
    rows = []
    for middle, stress in case.stress:
        small = stress.shells < SMALL * case.whole_stress
        off = (None, None) if small else stress.off()
        figures = _beside(stress, off, lambda v: _round(v, 1))
        rows.append((middle.bay.words, f"{middle.station:.0f}", *figures))
    page.table(
        f"Stress along the rails at mid-bay, highest in the section, MPa: {case.case.name}",
        ("bay", "station, mm", *BESIDE),
        rows,
        (1, 2, 3, 4, 5, 6),
    )


def _beside(
    figure: "Trio", off: tuple[float | None, float | None], show: Callable[[float], str]
) -> tuple[str, ...]:
    """Return the cells of one row, in the order of `BESIDE`."""
    sheet, rules = ("" if v is None else show(v) for v in (figure.sheet_joints, figure.beam_rules))
    first, second = ("" if v is None else f"{round(100.0 * v, 1) + 0.0:+.1f} %" for v in off)
    return show(figure.shells), sheet, first, rules, second


def _round(value: float, decimals: int) -> str:
    """Return a number with its decimals, and no minus before nothing."""
    return f"{round(value, decimals) + 0.0:.{decimals}f}"


def _figure(value: float) -> str:
    """Return a stiffness with four figures, whole ones kept."""
    return f"{value:.0f}" if abs(value) >= 1000.0 else f"{value:#.4g}"


def print_results(results: "Sequence[CaseResult]") -> None:
    """Print the checks under their sources, one line each, and the count."""
    page = Page()
    width = max((len(r.id) for r in results), default=0)
    head = f"{'check':<{width}} {'computed':>13} {'published':>13} {'off by':>9} {'within':>9}"
    page.say("Computed beside published", "bold")
    for source, group in groupby(results, key=lambda r: r.source):
        rows = list(group)
        page.say()
        page.say(f"{source} ({', '.join(dict.fromkeys(r.certainty for r in rows))})")
        page.say(head)
        for r in rows:
            off = r.computed / r.expected - 1.0 if r.expected else r.computed
            figures = f"{r.computed:>13.6g} {r.expected:>13.6g} {off:>+9.1e} {r.tolerance:>9.1e}"
            page.say(f"{r.id:<{width}} {figures}  {'ok ' if r.ok else 'OFF'} {r.unit}".rstrip())
    good = sum(r.ok for r in results)
    page.say()
    page.say(
        "Certainty: found, the printed value was seen; memory, it was recalled; derived, a closed"
        " form or a second computation of our own."
    )
    wide = sum(r.tolerance > 0.01 for r in results)
    page.say(
        f"{good} of {len(results)} checks within tolerance; {wide} of them allow over 1 %, where"
        " the figure compared with is known to differ from our model (each case says why)."
    )
