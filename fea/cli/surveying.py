"""What `survey` does and prints: measured points against the frame's own sheet."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea.cli.busy import busy
from fea.cli.options import Choice
from fea.cli.tables import Page
from fea.cli.wrapped import flush

if TYPE_CHECKING:
    from fea.shop.survey import Judged, Surveyed

STANDS = (
    "A frame sags and twists on its stands: rest it on three (two rear, one front middle) to see"
    " its own shape, and measure again after tacking and at half the welding."
)
CAUTION = "A planning aid, not a certification: local codes and a licensed engineer decide."


def write_form(choice: Choice, path: Path, *, as_json: bool) -> None:
    """Write the form for measuring the frame."""
    from fea.out.survey_sheet import write_survey_sheet
    from fea.shop.survey_plan import plan

    frame = choice.frame()
    planned = plan(frame)
    write_survey_sheet(frame, planned, path)
    if as_json:
        readings = [
            {"kind": r.kind, "reading": r.words(planned.points), "sheet_mm": r.value}
            for r in planned.readings
        ]
        record = {"frame": frame.name, "readings": readings, "written": str(path)}
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        typer.echo(f"Wrote {path}.")


def survey_frame(
    choice: Choice,
    points: Path,
    wanted: "tuple[Path | None, str | None, Sequence[str]]",
    *,
    fitted: Path | None,
    png: Path | None,
    as_json: bool,
) -> None:
    """Adjust, judge, print, write and draw."""
    from fea.document.read import read_text
    from fea.document.survey_table import read_survey_table
    from fea.out.files import write_text
    from fea.shop.survey import survey
    from fea.shop.survey_csv import read_survey
    from fea.shop.survey_limits import limits
    from fea.shop.survey_record import as_record, fitted_csv

    table, iso, own = wanted
    allowed = limits(read_survey_table(table) if table else {}, iso, own)
    frame = choice.frame()
    taken = read_survey(read_text(points), str(points), frame)
    with busy("adjusting"):
        found = survey(frame, taken, allowed)
    if as_json:
        record = as_record(found)
        typer.echo(json.dumps(record, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        _print(found)
    if fitted is not None:
        write_text(fitted, fitted_csv(found))
    if png is not None:
        from fea.out.survey_picture import write_survey_picture

        with busy("drawing"):
            write_survey_picture(found, png)
    if not as_json:
        for path in (fitted, png):
            if path is not None:
                typer.echo(f"Wrote {path}.")


def _print(found: "Surveyed") -> None:
    from fea.shop import survey_words as words

    page = Page()
    flush(page, f"{found.frame.title}: {found.readings.source}", "bold")
    flush(page, f"Verdict: {words.verdict(found)}.", "bold")
    for line in words.slips(found):
        flush(page, f"Slip: {line}")
    if found.snooped.lost:
        flush(page, "More readings contradict each other than can be sorted out: measure anew.")
    _print_measures(page, found)
    _print_pairs(page, found)
    _print_points(page, found)
    for line in (*words.unjudged(found), *words.unchecked(found), *words.basis(found)):
        flush(page, line)
    flush(page, STANDS)
    flush(page, CAUTION)


def _print_measures(page: Page, found: "Surveyed") -> None:
    from fea.shop import survey_words as words
    from fea.shop.survey_measures import TITLES

    rows = []
    for key, title in TITLES.items():
        judged = found.worst(key)
        if judged is None:
            rows.append((title, "", "no points for it", "", "", "not measured"))
            continue
        mark = " *" if key in found.limits.own else ""
        rows.append(
            (
                title,
                judged.measure.title,
                words.amount(judged),
                words.sense(judged) if judged.status != "not measured" else "",
                words.tolerance(judged) + mark,
                judged.status,
            )
        )
        if judged.measure.is_angle and judged.status != "not measured":
            rows.append(("", *words.at_corner(judged), "", "", ""))
    heads = ("measure", "the worst", "off by, 95 % band", "", "tolerance", "")
    page.table("Measures", heads, rows, ())
    if found.limits.own:
        page.say("* your own tolerance")


def _print_pairs(page: Page, found: "Surveyed") -> None:
    """Print width, middle and roll station by station, and the diagonals to the next pair."""
    from math import degrees

    from fea.shop.survey_points import pairs

    twins = pairs(found.readings.points)
    if not twins:
        return
    widths = found.of("width")
    by_title = {(j.measure.key, j.measure.title): j for j in found.judged}
    rows = []
    for k, (p, w) in enumerate(zip(twins, widths, strict=True)):
        after = twins[k + 1].name if k + 1 < len(twins) else ""
        square = by_title.get(("square", f"{p.name} to {after}"))
        off, told = found.off, found.told
        high = [bool(told[i, 2]) for i in (p.right, p.left)]
        roll = (
            f"{degrees((off[p.right, 2] - off[p.left, 2]) / w.measure.nominal):+.2f}"
            if all(high)
            else "-"
        )
        rows.append(
            (
                p.name,
                f"{p.station:.0f}",
                _signed(w),
                w.status,
                *(_signed(by_title.get((key, f"at {p.name}"))) for key in ("sidesway", "sag")),
                roll,
                _signed(square),
                square.status if square else "",
            )
        )
    heads = ("pair", "station", "width", "", "middle right", "middle up", "roll, deg",
             "diagonals", "")  # fmt: skip
    title = (
        "Along the frame, mm off the sheet: width, middle against a string from end to end, roll,"
        " diagonals to the next pair"
    )
    page.say()
    flush(page, title)
    page.table("", heads, rows, (1, 2, 4, 5, 6, 7))


def _signed(judged: "Judged | None") -> str:
    if judged is None:
        return ""
    if judged.status == "not measured":
        return "-"
    return f"{judged.value:+.1f} ± {judged.half:.1f}"


def _print_points(page: Page, found: "Surveyed") -> None:
    rows = []
    for point, off, half, told in zip(
        found.readings.points, found.off, found.half, found.told, strict=True
    ):
        cells = [
            f"{o:+.1f} ± {h:.1f}" if t else "-"
            for o, h, t in zip(off.tolist(), half.tolist(), told.tolist(), strict=True)
        ]
        rows.append((point.key, f"{point.station:.0f}", *cells))
    heads = ("point", "station", "rearward", "right", "up")
    page.table("Points off the sheet, mm, with 95 % bands", heads, rows, (1, 2, 3, 4))
