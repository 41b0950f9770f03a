"""What `boxing` does and prints: where to start and where to stop a boxing plate."""

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea import units
from fea.cli import many
from fea.cli.options import Choice
from fea.cli.sweeping import change, shown
from fea.cli.tables import Page
from fea.errors import Complaint, ModelError

if TYPE_CHECKING:
    from fea.frame.model import Frame
    from fea.out.sweep_chart import Chart
    from fea.study.boxing_sweep import BoxingSweep, Tried
    from fea.units import System

MOST_ROWS = 24

MOST_SHEET = 80
"""Plates up to which joints are sheet metal unless told otherwise: more than for other studies,
since beam rules rank plates wrongly (:data:`fea.study.boxing_sweep.LEAST`).  Any of the shipped
pickup's plates stays below by the usual step."""

COARSE = 2.0
"""How much larger quadrilaterals of sheet metal are than usual, if nothing else is asked for.

On the shipped pickup a plate takes 4 s of one processor then, not 11; twist stiffness is 0.7 %
higher, stress at the ends 13 to 29 % lower, which still tells a bad end from a good one."""


@dataclass(frozen=True)
class Asked:
    """The options of the sweep, as typed."""

    part: str | None
    plate: int
    step: str | None
    length: str | None
    joints: str | None
    coarse: float = COARSE


def run_boxing(
    choice: Choice,
    asked: Asked,
    where: tuple[int | None, str | None, Path | None],
    system: "System",
    *,
    as_json: bool,
    csv: Path | None,
    chart: Path | None,
) -> bool:
    """Move both ends of a plate, print, draw; say whether any plate could be computed.

    Parameters
    ----------
    where : workers, scheduler, and the file to resume from
    """
    from fea.study.boxing_record import as_csv, as_record
    from fea.study.boxing_sweep import boxing_sweep, find_place, grid, pairs

    many.check_joints(asked.joints)
    frame = choice.frame()
    place = find_place(choice.document, frame, _part(choice, asked.part), asked.plate)
    stations = grid(place, many.length(asked.step, "--step", "100 mm") or _step(frame))
    length = many.length(asked.length, "--length", "600 mm")
    count = 1 + len(pairs(place, stations, None))
    count += 0 if length is None else len(pairs(place, stations, length))
    sheet = many.is_sheet(asked.joints, count, MOST_SHEET)
    setting, base, fitted = many.setting_of(choice, None, sheet=sheet)
    setting = replace(setting, coarse=asked.coarse if sheet else 1.0)
    with many.running("moving the plate's ends", *where) as runner:
        found = boxing_sweep(setting, base, place, stations, length, runner)
    title = f"{choice.document.title}: where to start and stop {place.part}"
    if as_json:
        record = {
            "format": 1,
            "frame": choice.path.stem,
            "title": choice.document.title,
            "parts_fitted": [p for p in fitted if p != place.part],
            "joints": "sheet" if sheet else "beam",
            "coarse": setting.coarse if sheet else None,
        } | as_record(found)
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        _print(found, title, [p for p in fitted if p != place.part], system, sheet=sheet)
    many.write_files(csv, lambda: as_csv(found))
    words = _joints_words(asked, count, sheet=sheet)
    if chart is not None:
        from fea.out.sweep_chart import write_sweep_chart

        write_sweep_chart(_chart(found, frame, title, words), chart)
    if not as_json:
        Page().say(words)
        Page().say(many.CAUTION)
        many.wrote(csv, chart)
    return bool(found.good())


def _joints_words(asked: Asked, count: int, *, sheet: bool) -> str:
    """Say which joints were used, how coarse, and how to have others."""
    coarse = f", {asked.coarse:g} times as coarse as usual," if asked.coarse != 1.0 else ""
    used = f"Joints as sheet metal{coarse}" if sheet else "Joints by quick beam rules"
    if asked.joints is not None:
        words = f"{used} as asked for; {count} variants."
    else:
        other = "beam, much quicker" if sheet else "sheet, some 4 s for a new variant"
        than = f"up to {MOST_SHEET}" if sheet else f"more than {MOST_SHEET}"
        words = f"{used} as for any {than} variants: there are {count} (--joints {other})."
    if sheet and coarse:
        words += (
            " Coarse metal ranks plates and ends; its stress is 10 to 30 % low (--coarse 1 takes"
            " three times as long)."
        )
    return words


def _part(choice: Choice, name: str | None) -> str:
    """Return the part asked for, or the only one with a boxing plate."""
    boxed = [part.name for part in choice.document.part if part.boxing]
    if name is not None:
        return name
    if len(boxed) == 1:
        return boxed[0]
    rule = "more than one part boxes a rail: say which" if boxed else "no part boxes a rail"
    do = ", ".join(boxed) or "add a part with a [[part.boxing]] table"
    raise ModelError(Complaint(rule, str(choice.path), do=do))


def _step(frame: "Frame") -> float:
    from fea.study.boxing_sweep import STEPS

    stations = [a.station for a in frame.axles]
    if len(stations) < 2:
        rule = "a step is needed: without two axles there is no wheelbase to take it from"
        raise ModelError(Complaint(rule, frame.source, do="give --step"))
    return (max(stations) - min(stations)) / STEPS


def _print(
    found: "BoxingSweep", title: str, fitted: list[str], system: "System", *, sheet: bool
) -> None:
    page, place = Page(), found.place
    page.say(title, "bold")
    page.say(f"Other parts fitted: {', '.join(fitted) or 'none'}.")
    page.say(
        f'Rail "{place.rail}" is free for it from station {place.low:g} to {place.high:g} mm; ends '
        f"tried every {found.stations[1] - found.stations[0]:.4g} mm, {len(found.tried)} plates. "
        f"Drawn from {place.start:g} to {place.stop:g} mm."
    )
    bare = found.bare
    if bare.twist is not None:
        page.say(f"Without it: twist {units.show(bare.twist, 'rotational_stiffness', system)}.")
    rows = found.stiffest()
    every = max(1, -(-len(rows) // MOST_ROWS))
    shown_rows = rows[::-1][::every][::-1]
    name = "Stiffest plate of each length" + (f", every {every}th" if every > 1 else "")
    if rows:
        _table(page, name, found, shown_rows, system)
    of_length = [t for t in found.of_length if found.ranked(t)]
    if of_length:
        _table(page, f"Plates of {of_length[0].length:g} mm", found, of_length, system)
    for line in _verdicts(found, system):
        page.say(line)
    if found.least > 0.0:
        page.say(
            "Beam rules make too much of an end in the open rail: on the shipped pickup a plate of"
            " 550 mm gains 46 % by them where sheet metal gives 18 %, one of 137 mm 22 % for 1 %."
            f" Plates shorter than {found.least:g} mm are left out; take --joints sheet before you"
            " cut."
        )
    where = "in the sheet metal about" if sheet else "of the section beside"
    page.say(
        f"Stress is the highest {where} the plate's ends under the case {found.case}; where a plate"
        " ends at another plate or the rail's end there is no such end."
    )
    refused = [t for t in found.tried if t.twist is None]
    if refused:
        c = refused[0].complaints[0]
        page.say(f"Refused: {len(refused)} plates; the first, {_span(refused[0])}: {c.rule}.")


def _table(
    page: Page, name: str, found: "BoxingSweep", plates: "list[Tried] | tuple[Tried, ...]",
    system: "System",
) -> None:  # fmt: skip
    twist, mass, stress = (
        units.KINDS[kind].us if system == "us" else units.KINDS[kind].si
        for kind in ("rotational_stiffness", "mass", "stress")
    )
    heads = ("length", "from", "to, mm", f"twist, {twist}", "", f"plates, {mass}",
             f"gained per {mass}", f"stress at ends, {stress}")  # fmt: skip
    page.table(name, heads, [_row(found, t, system) for t in plates], range(8))


def _row(found: "BoxingSweep", plate: "Tried", system: "System") -> tuple[str, ...]:
    per = units.KINDS["mass"].us if system == "us" else "kg"
    steel = (plate.steel or 0.0) - (found.bare.steel or 0.0)
    gain = found.per_tonne(plate) * units.convert(1.0, "mass", per) ** -1
    return (
        f"{plate.length:.4g}",
        f"{plate.start:.5g}",
        f"{plate.stop:.5g}",
        shown(plate.twist, "rotational_stiffness", system),
        change(plate.twist, found.bare.twist),
        shown(steel, "mass", system, digits=3),
        shown(gain, "rotational_stiffness", system, digits=3),
        shown(plate.end_stress(found.case), "stress", system, digits=3),
    )


def _span(plate: "Tried") -> str:
    return f"{plate.start:.5g} to {plate.stop:.5g} mm"


def _verdicts(found: "BoxingSweep", system: "System") -> list[str]:
    """Return the best start and stop by several measures, a sentence each."""
    out = []
    of_length = [t for t in found.of_length if found.ranked(t)]
    if of_length:
        best = max(of_length, key=found.gain)
        out.append(
            f"Best place for {best.length:g} mm: {_span(best)}, twist"
            f" {change(best.twist, found.bare.twist)}."
        )
        ends = [(t.end_stress(found.case), t) for t in of_length]
        low = min(((s, t) for s, t in ends if s is not None), key=lambda e: e[0], default=None)
        if low is not None:
            out.append(
                f"Least stress at its ends: {_span(low[1])}, "
                f"{units.show(low[0], 'stress', system)}."
            )
    good = found.good()
    if good:
        best = max(good, key=found.per_tonne)
        gain = found.per_tonne(best) / 1000.0
        out.append(
            f"Most per kilogram: {_span(best)}, "
            f"{units.show(gain, 'rotational_stiffness', system)} for each."
        )
    return out


def _chart(found: "BoxingSweep", frame: "Frame", title: str, words: str) -> "Chart":
    import numpy as np

    from fea.out.sweep_chart import Chart, Panel, Scale
    from fea.result.answer import NM_PER_DEG

    n = len(found.stations)
    at = {round(x, 3): k for k, x in enumerate(found.stations)}
    fields = [np.full((n, n), np.nan) for _ in range(4)]
    for t in found.good():
        here = at[round(t.start, 3)], at[round(t.stop, 3)]
        stress = t.end_stress(found.case)
        values = (
            (t.twist or 0.0) * NM_PER_DEG,
            found.per_tonne(t) * NM_PER_DEG / 1000.0,
            np.nan if stress is None else stress,
            1000.0 * ((t.steel or 0.0) - (found.bare.steel or 0.0)),
        )
        for field, value in zip(fields, values, strict=True):
            field[here] = value
    marks: list[tuple[tuple[float, float, str], ...]] = [(), (), (), ()]
    of_length = [t for t in found.of_length if found.ranked(t)]
    if of_length:
        best = max(of_length, key=found.gain)
        marks[0] = ((best.start, best.stop, f"best of {best.length:g} mm"),)
    if found.good():
        most = max(found.good(), key=found.per_tonne)
        marks[1] = ((most.start, most.stop, "most per kg"),)
    names = ("Twist stiffness, N m/deg", "Twist gained per kilogram, N m/deg",
             f"Stress at the plate's ends, {found.case}, MPa", "Plates, kg")  # fmt: skip
    stations = np.array(found.stations)
    place = found.place
    lines = tuple(
        (float(m.path[0, 0]), m.name)
        for m in frame.members
        if m.kind == "crossmember" and place.low <= m.path[0, 0] <= place.high
    )
    return Chart(
        title=title,
        under=words,
        note="Lines: crossmembers. Dots: plates computed. " + many.CAUTION,
        x=Scale("start, mm", stations),
        y=Scale("stop, mm", stations),
        panels=tuple(
            Panel(name, field=field, marks=mark)
            for name, field, mark in zip(names, fields, marks, strict=True)
        ),
        lines=lines,
    )
