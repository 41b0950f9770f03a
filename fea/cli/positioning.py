"""What `positions` does and prints: a crossmember bolted everywhere it can be."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea import units
from fea.cli import many
from fea.cli.options import Choice
from fea.cli.sweeping import change, shown
from fea.cli.tables import Page

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fea.out.sweep_chart import Chart
    from fea.study.positions import Bolted, EndLoad, PositionSweep
    from fea.units import System

WAYS = {False: "as drawn", True: "turned"}


def run_positions(
    choice: Choice,
    name: str | None,
    joints: str | None,
    where: tuple[int | None, str | None, Path | None],
    system: "System",
    *,
    as_json: bool,
    csv: Path | None,
    chart: Path | None,
) -> bool:
    """Try every position, print, draw; say whether any could be computed.

    Parameters
    ----------
    where : workers, scheduler, and the file to resume from
    """
    from fea.study.positions import movable, position_sweep, ways
    from fea.study.positions_record import as_csv, as_record

    many.check_joints(joints)
    member = movable(choice.document, str(choice.path), name)
    count = len(ways(choice.document, member))
    sheet = many.is_sheet(joints, count)
    setting, base, fitted = many.setting_of(choice, None, sheet=sheet)
    with many.running("trying positions", *where) as runner:
        found = position_sweep(setting, base, member, runner)
    if as_json:
        record = {
            "format": 1,
            "frame": choice.path.stem,
            "title": choice.document.title,
            "parts_fitted": list(fitted),
            "joints": "sheet" if sheet else "beam",
        } | as_record(found)
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        _print(found, choice, fitted, system)
    many.write_files(csv, lambda: as_csv(found))
    words = many.joints_sentence(joints, count, sheet=sheet)
    if chart is not None:
        from fea.out.sweep_chart import write_sweep_chart

        write_sweep_chart(_chart(found, choice.document.title, words), chart)
    if not as_json:
        Page().say(words)
        Page().say(many.CAUTION)
        many.wrote(csv, chart)
    return any(p.twist is not None for p in found.tried)


def _print(
    found: "PositionSweep", choice: Choice, fitted: "Sequence[str]", system: "System"
) -> None:
    page = Page()
    page.say(f"{choice.document.title}: {found.name} in every position", "bold")
    page.say(f"Parts fitted: {', '.join(fitted) or 'none'}. Stands at {found.station:g} mm now.")
    twist, bending = (
        units.KINDS[k].us if system == "us" else units.KINDS[k].si
        for k in ("rotational_stiffness", "stiffness")
    )
    heads = ("mm", "way round", "mount, mm", f"twist, {twist}", "", f"bending, {bending}", "",
             *("force", "moment") * 2)  # fmt: skip
    now = next((p for p in found.tried if abs(p.station - found.station) < 0.01), found.tried[0])
    page.table(
        "", heads, [_row(p, now, system) for p in found.tried], (0, 2, 3, 4, 5, 6, 7, 8, 9, 10)
    )
    force, moment = ("lbf", "ft lbf") if system == "us" else ("N", "N m")
    page.say(
        f"Force, {force}, and moment, {moment}, on the more loaded end: first two columns per"
        " 1000 N m of twist couple, last two per kN of bending. By axes and end: --json, --csv."
    )
    page.say("Per cents are over where it stands now, as drawn.")
    for p in found.tried:
        for c in p.complaints:
            page.say(f"Refused at {p.station:g} mm, {WAYS[p.turned]}: {c.rule}.")
    page.say(_spread(found))


def _row(p: "Bolted", now: "Bolted", system: "System") -> tuple[str, ...]:
    loads = []
    for ends in (p.in_twist, p.in_bending):
        force, moment = worst(ends)
        loads += [shown(force, "force", system, 3), shown(moment, "moment", system, 3)]
    return (
        f"{p.station:g}",
        WAYS[p.turned],
        f"{p.mount:g}",
        shown(p.twist, "rotational_stiffness", system),
        change(p.twist, now.twist),
        shown(p.bending, "stiffness", system),
        change(p.bending, now.bending),
        *loads,
    )


def worst(ends: "Sequence[EndLoad]") -> tuple[float | None, float | None]:
    """Return the largest force and the largest moment among the ends, N and N mm."""
    import numpy as np

    if not ends:
        return None, None
    return (
        float(max(np.linalg.norm(e.force) for e in ends)),
        float(max(np.linalg.norm(e.moment) for e in ends)),
    )


def _spread(found: "PositionSweep") -> str:
    """Say how much stiffness depends on where it is bolted, and where it is best."""
    known = [p for p in found.tried if p.twist is not None]
    if not known:
        return "No position could be computed."
    best = max(known, key=lambda p: p.twist or 0.0)
    least = min(p.twist or 0.0 for p in known)
    share = 100.0 * ((best.twist or 0.0) / least - 1.0)
    words = (
        f"Stiffest in twist at {best.station:g} mm, {WAYS[best.turned]}; the softest position is"
        f" {share:.1f} % behind."
    )
    if share < 2.0:
        words += " That is too little to choose by: bolt it where the gearbox wants it."
    return words


def _chart(found: "PositionSweep", title: str, words: str) -> "Chart":
    import numpy as np

    from fea.out.sweep_chart import Chart, Panel, Scale
    from fea.result.answer import NM_PER_DEG

    stations = sorted({p.station for p in found.tried})
    ways = sorted({p.turned for p in found.tried})
    at = {(p.station, p.turned): p for p in found.tried}
    names = (
        "Twist stiffness, N m/deg", "Bending stiffness, N/mm",
        "Force on an end per 1000 N m of twist, N", "Moment on an end per 1000 N m of twist, N m",
        "Force on an end per kN of bending, N", "Moment on an end per kN of bending, N m",
    )  # fmt: skip

    def figures(p: "Bolted") -> list[float]:
        pairs = (*worst(p.in_twist), *worst(p.in_bending))
        factors = (NM_PER_DEG, 1.0, 1.0, 1e-3, 1.0, 1e-3)
        values = (p.twist, p.bending, *pairs)
        return [np.nan if v is None else f * v for v, f in zip(values, factors, strict=True)]

    field = np.array([[figures(at[s, w]) for s in stations] for w in ways])
    return Chart(
        title=f"{title}: {found.name} in every position",
        under=words,
        note=many.CAUTION,
        x=Scale("station, mm", np.array(stations)),
        panels=tuple(
            Panel(name, tuple((WAYS[w], field[j, :, k]) for j, w in enumerate(ways)))
            for k, name in enumerate(names)
        ),
    )
