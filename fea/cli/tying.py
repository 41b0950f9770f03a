"""What `ties` does and prints: where one more tie between body and frame matters."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea import units
from fea.cli.busy import busy
from fea.cli.first_tables import print_tie_modes
from fea.cli.options import Choice, load_cases
from fea.cli.tables import Page
from fea.errors import Complaint, DocumentError, ModelError

if TYPE_CHECKING:
    from fea.frame.case import Case
    from fea.solve.condense import Store
    from fea.study.tie_check import TieCheck
    from fea.study.tie_modes import GradeModes
    from fea.study.tie_sets import BestSet
    from fea.study.ties import Grade, Outcome, TieStudy
    from fea.study.verdict import Thresholds
    from fea.units import System

GRADES = ("rubber", "urethane", "solid")
"""Of the mounts, where none is asked for."""

MOST_VERDICTS = 3

CHECK_LIMIT = 1e-9
"""Agreement with full solves below which a check passes."""

CAUTION = (
    "Bolts, floor and bracket must carry the load: reinforce the sheet, and let a licensed engineer"
    " and local codes decide. A planning aid, not a certification."
)


@dataclass(frozen=True)
class Asked:
    """What the user asks of the study."""

    grades: tuple[str, ...]
    reach: float
    most: int
    limits: "Thresholds"
    sheet_joints: bool
    check: bool
    modes: bool = False


def asked(
    grades: Sequence[str] | None,
    reach: str | None,
    most: int,
    worth: float,
    heavy: float,
    joints: str,
    *,
    check: bool,
    modes: bool = False,
) -> Asked:
    """Return the options of the study; refuse what makes no sense."""
    from fea.frame.ties import REACH
    from fea.study.verdict import Thresholds

    if joints not in ("sheet", "beam"):
        raise DocumentError(Complaint("unknown joints", "--joints", joints, "sheet or beam"))
    far = REACH
    if reach is not None:
        try:
            far = units.parse(reach, "length")
        except DocumentError as error:
            rule = error.complaints[0].rule
            raise DocumentError(Complaint(rule, "--reach", reach, 'such as "250 mm"')) from None
    names = tuple(dict.fromkeys(grades or GRADES))
    limits = Thresholds(worth / 100.0, heavy)
    return Asked(names, far, most, limits, joints == "sheet", check, modes)


def choose_kind(choice: Choice) -> Choice:
    """Return a choice with a kind of body: the document's first one where none is asked for."""
    from dataclasses import replace

    from fea.frame.build_body import body_kinds

    kinds = body_kinds(choice.document)
    if not kinds:
        raise ModelError(
            Complaint(
                "there is no body that could be tied",
                str(choice.path),
                do="describe one in [[body]], with its sills, floor braces and mounts",
            )
        )
    return choice if choice.body else replace(choice, body=kinds[0])


def tie_study(
    choice: Choice,
    wanted: Asked,
    system: "System",
    *,
    as_json: bool,
    chart: Path | None,
    picture: Path | None,
) -> bool:
    """Run the study, print it, draw it; say whether its check passes."""
    from fea.frame.ties import candidates
    from fea.store import store
    from fea.study.tie_check import check
    from fea.study.tie_modes import as_record as modes_record
    from fea.study.tie_modes import tie_modes
    from fea.study.tie_record import as_record
    from fea.study.tie_sets import best_sets
    from fea.study.ties import study

    frame = choice.frame()
    kept = store() if wanted.sheet_joints else None
    cases = _cases()
    with busy("trying ties"):
        found = study(
            frame,
            [t for t in candidates(frame, wanted.reach) if not t.fitted],
            wanted.grades,
            cases,
            sheet_joints=wanted.sheet_joints,
            store=kept,
        )
        sets = {g.name: best_sets(found, g, wanted.most) for g in found.grades}
    checked = None
    if wanted.check:
        with busy("solving every tie in full"):
            checked = check(found, sheet_joints=wanted.sheet_joints, store=kept)
    swings = None
    if wanted.modes:
        with busy("finding modes"):
            swings = tie_modes(found)
    if as_json:
        record = as_record(found, sets, wanted.limits, checked)
        if swings is not None:
            record["modes"] = modes_record(found, swings)
        record["body"] = choice.body
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        _print(found, choice, sets, wanted, (checked, swings), system)
    _draw(found, choice.body or "", kept, (chart, picture), quiet=as_json)
    return checked is None or checked.worst < CHECK_LIMIT


def _cases() -> "tuple[Case, Case]":
    twist, bending = load_cases(("twist", "bending"))
    return twist, bending


def _draw(
    found: "TieStudy",
    kind: str,
    store: "Store | None",
    files: tuple[Path | None, Path | None],
    *,
    quiet: bool,
) -> None:
    chart, picture = files
    if chart is not None:
        from fea.out.tie_chart import write_tie_charts
        from fea.study.tie_sweep import sweep

        with busy("drawing"):
            write_tie_charts(found, sweep(found), chart, kind=kind)
    if picture is not None:
        from fea.out.tie_scene import write_tie_picture

        with busy("drawing"):
            write_tie_picture(found, len(found.grades) - 1, picture, kind=kind, store=store)
    if not quiet:
        for path in (chart, picture):
            if path is not None:
                typer.echo(f"Wrote {path}.")


def _print(
    found: "TieStudy",
    choice: Choice,
    sets: "dict[str, tuple[BestSet, ...]]",
    wanted: Asked,
    more: "tuple[TieCheck | None, Sequence[GradeModes] | None]",
    system: "System",
) -> None:
    from fea.study.verdict import against_practice, ranking, verdict

    page, (checked, swings) = Page(), more
    page.say(
        f"{found.frame.title}, body {choice.body}: one more tie between body and frame", "bold"
    )
    parts = ", ".join(found.frame.fitted)
    page.say(f"Parts fitted: {parts}." if parts else "Stock frame: no added part fitted.")
    _print_bare(page, found, system)
    order = ranking(found)
    _print_seats(page, found, system)
    _print_candidates(page, found, order)
    _print_stiffness(page, found, order[0])
    _print_brackets(page, found, order[0], system)
    _print_sets(page, sets)
    if swings is not None:
        print_tie_modes(page, found, swings, order)
    page.say("Verdict", "bold")
    for number in order[:MOST_VERDICTS]:
        page.say(verdict(found, number, wanted.limits))
    page.say()
    page.say(against_practice(found, wanted.limits))
    limits = wanted.limits
    page.say(
        f"Worth it from {100.0 * limits.worth:g} % on; heavy beyond {limits.heavy:g} times the load"
        " of the more loaded mount beside it (--worth, --heavy)."
    )
    if checked is not None:
        page.say(
            f"Check: {checked.solved} vehicles solved in full; worst relative difference"
            f" {checked.worst:.1e} (of the tie's own effect {checked.effect:.1e}); the study took"
            f" {checked.time_ratio:.2f} times two full solves."
        )
    page.say(
        "Bolts 8.8 and plate of 240 MPa yield unless told; grip: whether friction under the bolts"
        " holds (if not, the tie is softer than drawn). The play of a loose tie is not modelled."
    )
    page.say(CAUTION)


def _print_bare(page: Page, found: "TieStudy", system: "System") -> None:
    rows = [
        (
            g.name,
            units.show(g.bare.twist, "rotational_stiffness", system),
            units.show(g.bare.bending, "stiffness", system),
        )
        for g in found.grades
    ]
    page.table("Vehicle without the tie", ("mounts", "twist", "bending"), rows, (1, 2))


def _print_seats(page: Page, found: "TieStudy", system: "System") -> None:
    """Print how sheet and washers bear under the mounts whose fastening is told."""
    from fea.study.tie_record import seats

    rows = []
    for g in found.grades:
        for mount, seat in seats(found, g):
            on = seat.washer or seat.bare
            rows.append(
                (
                    g.name,
                    f"{mount.name} {mount.side}",
                    "washer" if seat.washer else "bolt head",
                    units.show(on.pressure, "stress", system),
                    f"{100.0 * on.low:.0f} to {100.0 * on.high:.0f} %",
                    f"{100.0 * on.punched:.0f} %",
                )
            )
    if rows:
        heads = ("mounts", "at", "bears on", "pressure", "of what sheet bears", "of punching")
        title = "Seats of mounts, preload and one degree of twist together"
        page.table(title, heads, rows, range(3, 6))


def _print_candidates(page: Page, found: "TieStudy", order: list[int]) -> None:
    page.say(
        "Candidates by mounts: twist stiffness gained, load per degree of twist, and that over the"
    )
    page.say("load of the more loaded mount beside it; a pair, right and left, is fitted together.")
    heads = ("tie at", "mm", *(g.name for g in found.grades), "bending")
    rows = [
        (
            found.candidates[n].name,
            f"{found.candidates[n].station:.0f}",
            *(_cell(g.outcomes[n]) for g in found.grades),
            _span(found.grades, n),
        )
        for n in order
    ]
    page.table("", heads, rows, range(1, len(heads)))


def _cell(outcome: "Outcome") -> str:
    from fea.study.verdict import over_neighbours

    ratio = over_neighbours(outcome)
    beside = "" if ratio is None else f" {ratio:4.1f}x"
    return f"{100.0 * outcome.twist_gain:+.1f} % {outcome.force / 1000.0:.2f} kN{beside}"


def _span(grades: "Sequence[Grade]", number: int) -> str:
    gains = [100.0 * g.outcomes[number].bending_gain for g in grades]
    low, high = f"{min(gains):+.1f}", f"{max(gains):+.1f}"
    return f"{low} %" if low == high else f"{low} to {high} %"


def _print_stiffness(page: Page, found: "TieStudy", number: int) -> None:
    from fea.study.ties import FACTORS

    heads = ("mounts", *(f"{f:g} x" for f in FACTORS))
    rows = [
        (g.name, *(f"{100.0 * x:+.1f} %" for x in g.outcomes[number].by_stiffness))
        for g in found.grades
    ]
    name = found.candidates[number].name
    page.table(
        f"Twist gained at {name} by a softer or stiffer bracket", heads, rows, range(1, len(heads))
    )


def _print_brackets(page: Page, found: "TieStudy", number: int, system: "System") -> None:
    """Print what bolts and plate of the best tie carry under one degree of twist."""
    from fea.study.tie_record import brackets

    candidate = found.candidates[number]
    rows = []
    for g in found.grades:
        loads = [load for _, load in brackets(candidate, g.outcomes[number])]
        if loads:
            worst = max(loads, key=lambda load: load.use)
            ends = (worst.frame, worst.body)
            rows.append(
                (
                    g.name,
                    units.show(max(e.shear for e in ends), "force", system),
                    units.show(max(e.tension for e in ends), "force", system),
                    units.show(max(max(e.plate, e.net) for e in ends), "stress", system),
                    f"{100.0 * worst.use:.0f} %",
                    "slips" if max(e.slip for e in ends) > 1.0 else "holds",
                )
            )
    if rows:
        heads = ("mounts", "bolt shear", "bolt tension", "plate", "of strength", "grip")
        title = f"Bolts and bracket of {candidate.name} under one degree of twist"
        page.table(title, heads, rows, range(1, 6))


def _print_sets(page: Page, sets: "dict[str, tuple[BestSet, ...]]") -> None:
    rows = [
        (
            name,
            str(len(best.names)),
            ", ".join(best.names),
            f"{100.0 * best.gain:+.1f} %",
            f"all {best.tried} tried" if best.exact else "added one by one",
        )
        for name, found in sets.items()
        for best in found
        if len(best.names) > 1
    ]
    if rows:
        heads = ("mounts", "ties", "at", "twist gained", "search")
        page.table("Best together", heads, rows, (1, 3))
