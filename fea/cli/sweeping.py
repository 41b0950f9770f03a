"""What `sweep` does and prints: figures while one or two keys of a document are varied."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea import units
from fea.cli import many
from fea.cli.options import Choice
from fea.cli.tables import Page
from fea.errors import Complaint, DocumentError

if TYPE_CHECKING:
    from fea.out.sweep_chart import Chart
    from fea.study.sweep import Point, Sweep
    from fea.study.variant import Figures
    from fea.units import System


def only_one(frames: Sequence[str], table: Path | None) -> str:
    """Return the one frame of a sweep that is printed.

    Raises
    ------
    DocumentError
        If there are several, or a table of variants: those rows go into a file.
    """
    do = "name a file for the rows, such as --parquet rows.parquet"
    if len(frames) > 1:
        rule = "a sweep that is printed takes one document"
        raise DocumentError(Complaint(rule, "FRAME", ", ".join(frames), do))
    if table is not None:
        rule = "a table of variants makes a file"
        raise DocumentError(Complaint(rule, "--table", str(table), do))
    return frames[0]


def run_sweep(
    choice: Choice,
    keys: Sequence[str],
    cases: Sequence[str] | None,
    joints: str | None,
    where: tuple[int | None, str | None, Path | None],
    system: "System",
    *,
    stress: bool,
    as_json: bool,
    csv: Path | None,
    chart: Path | None,
) -> bool:
    """Vary what is asked for, print, draw; say whether any variant could be computed.

    Parameters
    ----------
    where : workers, scheduler, and the file to resume from
    """
    from fea.study.sweep import sweep
    from fea.study.sweep_record import as_csv, as_record
    from fea.study.vary import parse

    many.check_joints(joints)
    if not 1 <= len(keys) <= 2:
        rule = "a sweep that is printed varies one key or two"
        do = 'such as --vary "rail.wall=2mm..5mm"; with --parquet more'
        raise DocumentError(Complaint(rule, "--vary", str(len(keys)), do))
    varied = [parse(text, choice.document) for text in keys]
    count = 1
    for vary in varied:
        count *= len(vary.values)
    sheet = many.is_sheet(joints, count)
    setting, base, fitted = many.setting_of(choice, cases, sheet=sheet)
    with many.running("sweeping", *where) as runner:
        found = sweep(setting, base, fitted, varied, stress=stress, runner=runner)
    title = choice.document.title
    if as_json:
        record = {
            "format": 1,
            "frame": choice.path.stem,
            "title": title,
            "parts_fitted": list(fitted),
            "joints": "sheet" if sheet else "beam",
        } | as_record(found)
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        _print(found, title, fitted, system)
    many.write_files(csv, lambda: as_csv(found))
    words = many.joints_sentence(joints, count, sheet=sheet)
    if chart is not None:
        from fea.out.sweep_chart import write_sweep_chart

        write_sweep_chart(_chart(found, title, words), chart)
    if not as_json:
        Page().say(words)
        Page().say(many.CAUTION)
        many.wrote(csv, chart)
    return any(p.figures is not None for p in found.points)


def _print(found: "Sweep", title: str, fitted: Sequence[str], system: "System") -> None:
    page = Page()
    page.say(f"{title}: {' and '.join(v.key for v in found.varied)} varied", "bold")
    page.say(f"Parts fitted: {', '.join(fitted) or 'none'}, unless varied.")
    kinds = {"twist": "rotational_stiffness", "bending": "stiffness", "steel": "mass"}
    unit = {k: units.KINDS[kind].us if system == "us" else units.KINDS[kind].si
            for k, kind in (*kinds.items(), ("stress", "stress"))}  # fmt: skip
    keys = [v.key for v in found.varied]
    heads = [*keys, f"twist, {unit['twist']}", "", f"bending, {unit['bending']}", "",
             f"steel, {unit['steel']}"]  # fmt: skip
    if found.stress:
        heads += [f"stress, {unit['stress']}", "of yield", "in"]
    first = next((p.figures for p in found.points if p.figures is not None), None)
    rows = [(*p.texts, *_cells(p, first, system, stress=found.stress)) for p in found.points]
    page.table("", heads, rows, range(len(keys), len(keys) + 7))
    page.say("Per cents are over the first row that could be computed.")
    for point in found.points:
        for c in point.complaints:
            at = ", ".join(f"{k} = {t}" for k, t in zip(keys, point.texts, strict=True))
            page.say(f"Refused at {at}: {c.rule}" + (f" ({c.found})" if c.found else "") + ".")


def _cells(point: "Point", first: "Figures | None", system: "System", *, stress: bool) -> list[str]:
    f = point.figures
    if f is None or first is None:
        return ["refused", *[""] * (7 if stress else 4)]
    cells = []
    for kind, value, base in (
        ("rotational_stiffness", f.twist, first.twist),
        ("stiffness", f.bending, first.bending),
    ):
        cells += [shown(value, kind, system), change(value, base)]
    cells.append(shown(f.steel, "mass", system, digits=4))
    if stress:
        use = "" if f.utilisation is None else f"{100.0 * f.utilisation:.1f} %"
        cells += [shown(f.peak, "stress", system), use, f.peak_member]
    return cells


def shown(value: float | None, kind: str, system: "System", digits: int = 4) -> str:
    """Return a figure in the system's unit, without the unit."""
    if value is None:
        return "-"
    asked = units.KINDS[kind]
    figure = units.convert(value, kind, asked.us if system == "us" and asked.us else asked.si)
    return f"{figure:.0f}" if abs(figure) >= 10.0**digits else f"{figure:.{digits}g}"


def change(value: float | None, base: float | None) -> str:
    """Return how much more a figure is than another, per cent."""
    return "" if value is None or not base else f"{100.0 * (value / base - 1.0):+.1f} %"


def _chart(found: "Sweep", title: str, words: str) -> "Chart":
    import numpy as np

    from fea.out.sweep_chart import Chart, Panel, scale_of
    from fea.result.answer import NM_PER_DEG

    shape = [len(v.values) for v in found.varied]
    quantities = [
        ("Twist stiffness, N m/deg", "twist", NM_PER_DEG),
        ("Bending stiffness, N/mm", "bending", 1.0),
        ("Steel, kg", "steel", 1000.0),
    ]
    if found.stress:
        quantities.append(("Highest stress, MPa", "peak", 1.0))
    drawn = []
    for name, key, factor in quantities:
        values = [None if p.figures is None else getattr(p.figures, key) for p in found.points]
        field = np.array([np.nan if v is None else factor * v for v in values]).reshape(shape)
        if len(shape) == 1:
            drawn.append(Panel(name, curves=(("", field),)))
        else:
            drawn.append(Panel(name, field=field))
    scales = [
        scale_of(f"{v.key}, {v.unit}" if v.unit and v.numbers else v.key, v.texts, v.numbers)
        for v in found.varied
    ]
    keys = " and ".join(v.key for v in found.varied)
    return Chart(
        title=f"{title}: {keys} varied",
        under=words,
        note=many.CAUTION,
        x=scales[0],
        panels=tuple(drawn),
        y=scales[1] if len(scales) > 1 else None,
    )
