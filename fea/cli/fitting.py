"""What `fit` does and prints: a frame fitted to readings of a stand test, or a sheet for one."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea import units
from fea.cli.busy import busy
from fea.cli.options import Choice, load_cases
from fea.cli.tables import Page
from fea.errors import Complaint, DocumentError

if TYPE_CHECKING:
    from fea.frame.model import Frame
    from fea.study.fit import Fitted
    from fea.study.fit_gauges import Hint
    from fea.units import System

WIDTH = 108
"""Characters of a line of words."""

MODEL = "Friction, play and preload are not modelled; a joint that slips reads as a softer one."
CAUTION = "A planning aid, not a certification: local codes and a licensed engineer decide."


def write_sheet(choice: Choice, path: Path, names: Sequence[str], *, as_json: bool) -> None:
    """Write the sheet for doing the test, with the gauges that would tell most."""
    from fea.out.fit_sheet import write_fit_sheet
    from fea.study.fit_plan import plan
    from fea.study.variant import Setting

    frame = choice.frame()
    setting = Setting(choice.document, str(choice.path), (), body=choice.body)
    with busy("choosing gauges"):
        planned = plan(setting, frame, names, positions=choice.positions)
    write_fit_sheet(frame, planned, path)
    if as_json:
        gauges = [
            {"gauge": g.name, "station_mm": g.place.station, "side": g.place.side,
             "motion": g.motion, "expected_mm": e.tolist()}
            for g, e in zip(planned.readings.gauges, planned.expected, strict=True)
        ]  # fmt: skip
        typer.echo(json.dumps({"frame": frame.name, "gauges": gauges, "written": str(path)}))
    else:
        typer.echo(f"Wrote {path}.")


def fit_frame(
    choice: Choice,
    readings: Path,
    names: Sequence[str],
    system: "System",
    *,
    joints: str,
    out: Path | None,
    overwrite: bool,
    as_json: bool,
) -> None:
    """Fit, print, and write the fitted document."""
    from fea.document.read import read_text
    from fea.out.files import write_text
    from fea.store import store
    from fea.study.fit import document_text, fit, rig_for
    from fea.study.fit_csv import read_readings
    from fea.study.fit_record import as_record
    from fea.study.fit_words import next_gauge
    from fea.study.variant import Setting

    if joints not in ("sheet", "beam"):
        raise DocumentError(Complaint("unknown joints", "--joints", joints, "sheet or beam"))
    target = _target(choice, out, overwrite=overwrite)
    taken = read_readings(read_text(readings), str(readings))
    frame = choice.frame()
    setting = Setting(choice.document, str(choice.path), (), sheet_joints=joints == "sheet")
    kept = store() if setting.sheet_joints else None
    rig = rig_for(setting, frame, taken, names, positions=choice.positions, store=kept)
    measured = load_cases(None) if _has_axles(frame) else []
    with busy("fitting"):
        found = fit(rig, stiffness=measured)
        better = None if setting.sheet_joints else next_gauge(found)
    write_text(target, document_text(found, readings.name))
    if as_json:
        record = as_record(found, better, str(target))
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        _print(found, better, frame, system)
        typer.echo(f"Wrote {target}.")


def _target(choice: Choice, out: Path | None, *, overwrite: bool) -> Path:
    """Return where the fitted document goes: beside the original, a shipped one's here."""
    from fea.document.find import shipped_frames

    name = f"{choice.path.stem}_fitted.toml"
    shipped = choice.path in shipped_frames().values()
    target = out or (Path(name) if shipped else choice.path.with_name(name))
    if target.exists() and not overwrite:
        rule = "the fitted document is there already"
        do = "--overwrite, or another place with --out"
        raise DocumentError(Complaint(rule, str(target), do=do))
    if target.exists() and choice.path.exists() and target.samefile(choice.path):
        rule = "the fitted document must not replace the one it is made from"
        raise DocumentError(Complaint(rule, str(target), do="another place with --out"))
    return target


def _has_axles(frame: "Frame") -> bool:
    return frame.axle("front") is not None and frame.axle("rear") is not None


def _print(found: "Fitted", better: "Hint | None", frame: "Frame", system: "System") -> None:
    from fea.study.fit_words import sentences

    page = Page()
    rig = found.rig
    page.say(f"{frame.title}: fitted to {rig.readings.source}", "bold")
    parts = ", ".join(frame.fitted)
    page.say(f"Parts fitted: {parts}." if parts else "Stock frame: no added part fitted.")
    rows = [
        (u.words, u.show(x), f"{u.show(low)} to {u.show(high)}")
        if free
        else (u.words, "as written", "not told")
        for u, x, low, high, free in zip(
            rig.unknowns, found.x, found.low, found.high, found.free, strict=True
        )
    ]
    page.table("Fitted, with bands that hold together at 95 %", ("", "", "band"), rows, (1, 2))
    _print_gauges(page, found)
    for line in sentences(found, better):
        _say(page, line)
    _print_stiffness(page, found, system)
    for line in (*rig.asked.notes, _basis(found), MODEL, CAUTION):
        _say(page, line)


def _say(page: Page, text: str) -> None:
    import textwrap

    for line in textwrap.wrap(text, WIDTH):
        page.say(line)


def _print_gauges(page: Page, found: "Fitted") -> None:
    rig = found.rig
    rows = []
    for t, fitted, left, sigma in zip(
        rig.readings.taken, found.predicted, found.left, found.usual, strict=True
    ):
        load = rig.readings.loads[t.load]
        off = abs(left) / sigma
        rows.append(
            (
                rig.gauges[t.gauge].name,
                units.show(load.couple, "moment").partition(" (")[0],
                f"{t.value:+.3f}",
                f"{fitted:+.3f}",
                f"{left:+.3f}",
                "far off" if off > 3.0 else "",
            )
        )
    heads = ("gauge", "couple", "read, mm", "fitted", "left", "")
    page.table("Readings", heads, rows, (1, 2, 3, 4))


def _print_stiffness(page: Page, found: "Fitted", system: "System") -> None:
    before = found.stiffness
    if before is None:
        return
    rows = []
    for name, kind, old, new, half in (
        ("twist", "rotational_stiffness", before.written.twist, before.fitted.twist,
         before.twist_half),
        ("bending", "stiffness", before.written.bending, before.fitted.bending,
         before.bending_half),
    ):  # fmt: skip
        if old and new:
            band = "" if half is None else f"±{100.0 * half / new:.2g} %"
            shown = units.show(old, kind, system), units.show(new, kind, system)
            rows.append((name, *shown, f"{100.0 * (new / old - 1.0):+.1f} %", band))
    heads = ("stiffness", "as written", "fitted", "", "band")
    page.table("Before and after", heads, rows, (1, 2, 3, 4))


def _basis(found: "Fitted") -> str:
    import math

    from fea.study.fit_readings import USUAL

    m, n = len(found.left), len(found.x)
    counts = f"{m} readings, {n} unknown{'s' * (n != 1)}"
    if found.variance is None:
        source = "their uncertainty" if found.told else f"{USUAL:g} mm for each, taken"
        return f"{counts}: nothing is left to judge the fit by; bands from {source}."
    rms = math.sqrt(float((found.left**2).mean()))
    source = "what is left" if math.isfinite(found.spread.freedom) else "the gauges' uncertainty"
    return f"{counts}, {rms:.3f} mm left on the average; bands from {source}."
