"""What `stands` does and prints: places for stands, their loads, and how level they must be."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import typer

from fea import units
from fea.cli.busy import busy
from fea.cli.options import Choice
from fea.cli.tables import Page
from fea.cli.wrapped import flush
from fea.errors import Complaint, DocumentError, FeaError

if TYPE_CHECKING:
    from fea.shop.stand_levels import OffLevel
    from fea.shop.stands import Standing


@dataclass(frozen=True)
class Asked:
    """What the options ask for, in base units."""

    pairs: int
    own: tuple[float, ...]
    spans: tuple[tuple[float, float], ...]
    step: float
    least: Literal["max", "rms"]
    tolerance: float
    sheet_joints: bool
    clear_joints: bool
    masses: bool
    laden: bool


def asked(
    count: int,
    where: tuple[Sequence[str], Sequence[str], str],
    least: str,
    tolerance: str,
    joints: str,
    *,
    clear_joints: bool,
    carried: bool,
    laden: bool,
) -> Asked:
    """Return the options parsed.

    Raises
    ------
    DocumentError
        With every one that makes no sense.
    """
    wrong: list[Complaint] = []

    def amount(option: str, text: str, kind: str) -> float:
        try:
            return units.parse(text, kind)
        except FeaError as error:
            wrong.extend(Complaint(c.rule, option, text, c.do) for c in error.complaints)
            return 1.0

    def span(text: str) -> tuple[float, float]:
        first, _, last = text.partition(" to ")
        a = amount("--allowed", first.strip(), "length")
        b = amount("--allowed", last.strip(), "length") if last else a
        if b < a:
            wrong.append(Complaint("a length of rail must run rearward", "--allowed", text))
        return a, b

    own, allowed, step = where
    if count not in (4, 6, 8):
        wrong.append(Complaint("stands come as 4, 6 or 8", "--count", str(count)))
    if least != "max" and least != "rms":
        wrong.append(Complaint("unknown measure of sag", "--least", least, "max or rms"))
    if joints not in ("sheet", "beam"):
        wrong.append(Complaint("unknown joints", "--joints", joints, "sheet or beam"))
    if own and allowed:
        rule = "stands are either given with --stand or looked for among --allowed"
        wrong.append(Complaint(rule))
    if own and len(set(own)) < 2:
        do = "two pairs at least"
        wrong.append(Complaint("a frame needs more than one pair of stands", "--stand", own[0], do))
    found = Asked(
        pairs=count // 2,
        own=tuple(sorted({amount("--stand", text, "length") for text in own})),
        spans=tuple(span(text) for text in allowed),
        step=amount("--step", step, "length"),
        least="rms" if least == "rms" else "max",
        tolerance=amount("--tolerance", tolerance, "angle"),
        sheet_joints=joints == "sheet",
        clear_joints=clear_joints,
        masses=carried or laden,
        laden=laden,
    )
    if not wrong and found.step < 10.0:
        wrong.append(Complaint("places for stands must be 10 mm apart or more", "--step", step))
    if not wrong and not found.tolerance > 0.0:
        wrong.append(Complaint("a tolerance must be above zero", "--tolerance", tolerance))
    if wrong:
        raise DocumentError(*wrong)
    return found


def stand_frame(choice: Choice, wanted: Asked, *, as_json: bool, png: Path | None) -> None:
    """Search or take the stands given, print, and draw."""
    from fea.shop.stand_levels import off_level
    from fea.shop.stand_places import allowed
    from fea.shop.stand_record import as_record
    from fea.shop.stands import bench, best, stand

    frame = choice.frame()
    kept = None
    if wanted.sheet_joints:
        from fea.store import store

        kept = store()
    with busy("solving"):
        stations = wanted.own or allowed(
            frame, wanted.spans, step=wanted.step, clear_joints=wanted.clear_joints
        )
        on = bench(frame, stations, masses=wanted.masses, laden=wanted.laden, store=kept)
        if wanted.own:
            found = [stand(on, range(len(on.plan)))]
        else:
            found = best(on, wanted.pairs, wanted.least)
        moves = off_level(found[0], wanted.tolerance)
    if as_json:
        record = as_record(found, moves, wanted.tolerance, sheet_joints=wanted.sheet_joints)
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        _print(found, moves, wanted)
    if png is not None:
        from fea.out.stands_chart import write_stands_chart

        with busy("drawing"):
            write_stands_chart(found[0], moves, wanted.tolerance, png)
        if not as_json:
            typer.echo(f"Wrote {png}.")


def _print(found: "list[Standing]", moves: "list[OffLevel]", wanted: Asked) -> None:
    from fea.shop.stand_record import CAUTIONS, sentences, stations, tipping

    page, first = Page(), found[0]
    on = first.bench
    parts = ", ".join(on.frame.fitted)
    load = "laden" if wanted.laden else "with all it carries" if wanted.masses else "bare"
    flush(page, f"{on.frame.title}: {len(first.stands)} stands", "bold")
    flush(page, f"Parts fitted: {parts}." if parts else "Stock frame: no added part fitted.")
    flush(
        page,
        f"It weighs {units.show(on.weight, 'force')} ({load}), centre of mass at station"
        f" {on.centre[0]:.0f}, offset {round(on.centre[1])} mm.",
    )
    rows = [
        (
            "as given" if wanted.own else f"{k}",
            ", ".join(f"{x:.0f}" for x in stations(s)),
            f"{s.sag:.3f}",
            f"{s.rms:.3f}",
            f"{abs(degrees(s.twist)):.3f}",
            f"{tipping(s):.0f}",
        )
        for k, s in enumerate(found, 1)
    ]
    heads = ("", "pairs at stations, mm", "most off level, mm", "rms, mm", "twist, deg",
             "tipping, mm")  # fmt: skip
    title = "Stands" if wanted.own else f"Best of {len(on.stations)} stations, all sets tried"
    page.table(title, heads, rows, (2, 3, 4, 5))
    _print_loads(page, first, moves, wanted)
    for line in (*sentences(first, moves, wanted.tolerance), _basis(wanted), *CAUTIONS):
        flush(page, line)


def _print_loads(page: Page, first: "Standing", moves: "list[OffLevel]", wanted: Asked) -> None:
    on = first.bench
    rows = []
    for k, force in zip(first.stands.tolist(), first.forces.tolist(), strict=True):
        cells = [on.place(k), f"{force:.0f}"]
        for sign in (1, -1):
            move = next(m for m in moves if m.place == k and m.sign == sign)
            cells.append("never" if move.twists is None else f"{move.twists:.1f}")
            lifted = "" if move.lifted is None else on.place(move.lifted)
            cells.append("-" if move.lifts is None else f"{move.lifts:.1f} {lifted}")
        rows.append(cells)
    twist = f"{degrees(wanted.tolerance):g} deg at"
    heads = ("stand", "load, N", f"raised: {twist}", "comes free at",
             f"lowered: {twist}", "comes free at")  # fmt: skip
    flush(page, "Loads on the first of them, and mm that one stand alone may be off level:")
    page.table("", heads, rows, (1, 2, 4))


def _basis(wanted: Asked) -> str:
    joints = (
        "as sheet metal"
        if wanted.sheet_joints
        else ("by beam rules (--joints sheet takes a minute and tells more sag where rails kink)")
    )
    return (
        f"Level of the stands is the sheet's: each is as high as the sheet has its place. Rails"
        f" read every 50 mm; joints {joints}; stands push up only and do not give."
    )
