"""What `size` does and prints: parts and gauges for a stiffness at the least mass."""

import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea import units
from fea.cli.busy import busy
from fea.cli.many import CAUTION, setting_of
from fea.cli.options import Choice
from fea.cli.tables import Page
from fea.cli.wrapped import say
from fea.errors import Complaint, DocumentError

if TYPE_CHECKING:
    from fea.study.gauges import Space
    from fea.study.relaxed import Target
    from fea.study.search import Design
    from fea.study.sizing import Sized
    from fea.study.sizing_check import Answer, Checked, Wanted
    from fea.units import System

KINDS = {"twist": "rotational_stiffness", "bending": "stiffness"}


@dataclass(frozen=True)
class Asked:
    """The options of the study, as given."""

    targets: tuple[str, ...]
    vary: tuple[str, ...]
    gauges: tuple[str, ...]
    stress: float | None
    cases: tuple[str, ...]
    joints: str
    want: int


def size_study(
    choice: Choice, asked: Asked, system: "System", *, write: Path | None, as_json: bool
) -> bool:
    """Search, print, write; say whether the targets are reached."""
    from fea.store import store
    from fea.study.gauges import space, thicknesses
    from fea.study.search import Limits
    from fea.study.sizing_check import size_checked
    from fea.study.sizing_record import as_record

    if asked.joints not in ("sheet", "beam"):
        raise DocumentError(Complaint("unknown joints", "--joints", asked.joints, "sheet or beam"))
    wanted = [read_target(text) for text in asked.targets]
    if write is not None:
        _check_file(write, choice.path)
    names = ["twist", "bending", *(c for c in asked.cases if c not in ("twist", "bending"))]
    setting, _, fitted = setting_of(choice, names, sheet=False)
    vary = asked.vary or _parts_left(choice)
    designs = space(setting, thicknesses(asked.gauges), vary, fitted, choice.positions)
    sheet = asked.joints == "sheet"
    with busy("searching"):
        answer = size_checked(
            designs,
            wanted,
            Limits(stress=asked.stress, want=asked.want),
            sheet_joints=sheet,
            store=store() if sheet else None,
        )
    if as_json:
        record = as_record(designs, answer)
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        _print(designs, answer, choice, system)
    if write is not None:
        from fea.document.split import sized_text
        from fea.out.files import write_text

        levels = answer.best.levels
        text = sized_text(
            choice.document.origin.text,
            designs.splits,
            designs.edits(levels),
            designs.fitted(levels),
        )
        write_text(write, text)
        if not as_json:
            typer.echo(f"Wrote {write}.")
    return answer.reached


def read_target(text: str) -> "Wanted":
    """Return what a target asks for, such as "twist=+60%" or "bending=3 kN/mm".

    Raises
    ------
    DocumentError
        If it is not of that form.
    """
    from fea.study.sizing_check import Wanted

    measure, _, amount = (part.strip() for part in text.partition("="))
    do = 'such as "twist=+60%", "twist=1500 N m/deg" or "bending=3 kN/mm"'
    if measure not in KINDS:
        raise DocumentError(Complaint("a target is one of twist or bending", "--target", text, do))
    gain = re.fullmatch(r"\+\s*(\d+(?:\.\d*)?)\s*%", amount)
    if gain is not None:
        return Wanted(measure, float(gain[1]) / 100.0, is_gain=True)
    try:
        value = units.parse(amount, KINDS[measure])
    except DocumentError as error:
        raise DocumentError(Complaint(error.complaints[0].rule, "--target", text, do)) from None
    if value <= 0.0:
        raise DocumentError(Complaint("a target must be greater than 0", "--target", text, do))
    return Wanted(measure, value, is_gain=False)


def _parts_left(choice: Choice) -> tuple[str, ...]:
    """Return the parts to be chosen where some are left out; nothing where none is."""
    if not choice.leave:
        return ()
    left = [p for p in choice.document.part if p.name not in choice.leave]
    return tuple(p.name for p in left if p.boxing or p.crossmember or p.brace)


def _check_file(write: Path, original: Path) -> None:
    if write.exists() and write.samefile(original):
        raise DocumentError(
            Complaint("the original is never written over", "--write", str(write), "another name")
        )


def _print(space: "Space", answer: "Answer", choice: Choice, system: "System") -> None:
    page = Page()
    frame_title = choice.document.title
    say(page, f"{frame_title}: the least added mass over stock gauges", "bold")
    say(page, f"Gauges: {', '.join(space.gauges)}; {len(space.walls)} plates and walls.")
    if space.always:
        say(page, f"Fitted in any case: {', '.join(space.always)}.")
    joints = "beam rules" if answer.best_checked is None else "joints as sheet metal"
    told = [_target_words(t, system) for t in answer.targets]
    say(page, f"Target, {joints}: {' and '.join(told)}.")
    for number, one in enumerate(answer.rounds, start=1):
        if len(answer.rounds) > 1:
            say(page, f"Search {number}", "bold")
        _designs(page, space, one.sized, one.checked, answer)
        if answer.best in one.sized.designs or one is answer.rounds[-1]:
            _bounds(page, space, one.sized)
    _verdict(page, space, answer)
    if answer.best_checked is not None:
        say(
            page,
            "Sheet metal decides over the designs listed and those one gauge thinner than the"
            " answer; a lighter one that beam rules rank far lower could be missed.",
        )
    say(page, CAUTION)


def _target_words(target: "Target", system: "System") -> str:
    return f"{target.measure} {units.show(target.value, KINDS[target.measure], system)}"


def _designs(
    page: Page,
    space: "Space",
    sized: "Sized",
    checked: "tuple[Checked, ...]",
    answer: "Answer",
) -> None:
    heads = ["design", "kg"]
    measures = [t.measure for t in answer.targets]
    heads += [f"{m}, beam" for m in measures]
    if checked:
        heads += [f"{m}, sheet" for m in measures] + ["target"]
    heads.append("of yield")
    rows = []
    for k, design in enumerate(sized.designs):
        row = [_design_words(space, design), f"{1000.0 * (design.steel - space.mass[0]):.2f}"]
        row += [_gain(design, answer.stock, m) for m in measures]
        if checked:
            row += [_gain(checked[k].figures, answer.sheet_stock, m) for m in measures]
            miss = checked[k].missed
            row.append("reached" if miss <= 0.0 else f"missed by {100.0 * miss:.1f} %")
        use = design.utilisation
        row.append("-" if use is None else f"{100.0 * use:.0f} %")
        rows.append(row)
    page.table("", heads, rows, range(1, len(heads)))


def _gain(figures: object, stock: object, measure: str) -> str:
    now, before = getattr(figures, measure), getattr(stock, measure)
    return f"{100.0 * (now / before - 1.0):+.1f} %" if now and before else "-"


def _design_words(space: "Space", design: "Design") -> str:
    words = [
        f"{wall.words} {space.gauges[k - 1]}"
        for wall, k in zip(space.walls, design.levels, strict=True)
        if k
    ]
    return "; ".join(words) or "no part at all"


def _bounds(page: Page, space: "Space", sized: "Sized") -> None:
    bare, best = space.mass[0], sized.designs[0].steel
    if sized.relaxed is not None:
        how = "" if sized.relaxed.converged else " (not converged)"
        say(
            page,
            f"The best's parts in any thickness between the gauges' ends:"
            f" {1000.0 * (sized.relaxed.steel - bare):.2f} kg{how}. No proven bound: the problem is"
            " not certain to be convex.",
        )
    gap = best - sized.bound
    say(
        page,
        f"Bound by monotony (a thicker wall never softens): {1000.0 * (sized.bound - bare):.2f} kg,"
        + (
            " so nothing lighter will do by beam rules."
            if gap <= 1e-9
            else f" a gap of {1000.0 * gap:.2f} kg."
        ),
    )
    say(
        page,
        f"Largest loss of stiffness by a thicker wall or added part, {sized.pairs} pairs:"
        f" {100.0 * sized.breach:.2g} %"
        + (f", allowed for by {100.0 * sized.slack:.2g} %." if sized.breach else "."),
    )
    end = "to its end" if sized.complete else "cut short"
    say(
        page,
        f"Search {end}: {sized.n_patterns} choices of parts, {sized.solves} solves; {sized.audited}"
        f" lighter designs ruled out by tangents alone were solved, {sized.wrong} of them wrongly.",
    )
    if sized.strained:
        say(page, f"{sized.strained} designs reached the targets but not the stress limit.")


def _verdict(page: Page, space: "Space", answer: "Answer") -> None:
    page.say()
    if answer.reached:
        added = 1000.0 * (answer.best.steel - space.mass[0])
        if not any(answer.best in r.sized.designs for r in answer.rounds):
            say(page, "The best of these, thinned wall by wall with joints as sheet metal:")
        say(page, f"Answer: {added:.2f} kg added; off: {_off(space, answer.best)}.", "bold")
    else:
        missed = answer.best_checked.missed if answer.best_checked else 0.0
        say(
            page,
            f"No design reaches the target; the nearest misses it by {100.0 * missed:.1f} %.",
            "bold",
        )
    for path, text in space.edits(answer.best.levels).items():
        page.say(f'  {path} = "{text}"')
    for split in space.splits:
        if space.fitted(answer.best.levels).get(split.part):
            say(page, f"  ({split.name} is a copy of {split.section}, for part {split.part} alone)")


def _off(space: "Space", design: "Design") -> str:
    return ", ".join(p for p, on in space.fitted(design.levels).items() if not on) or "nothing"
