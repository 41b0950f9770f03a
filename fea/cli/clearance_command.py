"""The command `clearance`: how near metal comes to shaft, exhaust, ground and the rest."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fea.cli import options
from fea.cli.options import At, FrameName, Json, Stock, With, Without

if TYPE_CHECKING:
    from fea.shop.clearance import ClearanceStudy

CAUTION = "A planning aid, not a certification: local codes and a licensed engineer decide."
NEAR = 60.0
"""Distances beyond what is asked by more than this, mm, are left out of the table."""


def clearance(
    frame: FrameName,
    everything: Annotated[
        bool, typer.Option("--all", help="Stock members too, not the added parts alone.")
    ] = False,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    png: Annotated[
        Path | None,
        typer.Option("--png", metavar="FILE", help="Draw plan and side view, the worst marked."),
    ] = None,
    as_json: Json = False,
) -> None:
    """Tell how near added parts come to shaft, exhaust, ground and what must stay clear.

    The document's tables shaft, exhaust, keep_clear, ground and gearbox say what that is.
    """
    from fea.shop.clearance import study_clearance
    from fea.shop.clearance_record import as_record

    choice = options.choose(frame, fit, leave, at, stock=stock)
    study = study_clearance(choice.document, choice.frame(), everything=everything or stock)
    if as_json:
        from fea.out.record import to_json

        typer.echo(to_json(as_record(study)), nl=False)
    else:
        _print(study)
    if png is not None:
        from fea.cli.busy import busy
        from fea.out.clearance_chart import write_clearance_chart

        with busy("drawing"):
            write_clearance_chart(study, png)
        if not as_json:
            typer.echo(f"Wrote {png}.")


def _print(study: "ClearanceStudy") -> None:
    from fea.cli.tables import Page
    from fea.cli.wrapped import flush
    from fea.shop.clearance_record import BASIS, lines, remedy, verdict

    page = Page()
    scope = "every member" if study.everything else "added parts"
    flush(page, f"{study.frame.title}: clearance of {scope}", "bold")
    flush(page, f"Verdict: {verdict(study)}.", "bold")
    shown = [one for one in study.found if one.least - one.asked <= NEAR]
    rows = [
        (
            one.metal,
            one.obstacle,
            f"{one.least:.1f}",
            f"{one.asked:g}",
            one.status,
            *(f"{value + 0.0:.0f}" for value in one.at.round()),
            "" if one.lift is None else f"{one.lift:+.0f}",
        )
        for one in shown
    ]
    heads = ("metal", "to", "least", "asked", "", "station", "offset", "height", "shaft")
    page.table("Least distances, mm; shaft: its rear joint's lift", heads, rows, (2, 3, 5, 6, 7, 8))
    left = len(study.found) - len(shown)
    if left:
        flush(page, f"{left} more are clear by over {NEAR:g} mm beyond what is asked.")
    for one in study.broken:
        flush(page, f"{one.metal}: {remedy(one)}.")
        if one.jounce is not None and one.jounce < 0.0:
            flush(page, f"{one.metal} meets the ground at full jounce, by {-one.jounce:.0f} mm.")
    for line in (*lines(study), BASIS, CAUTION):
        flush(page, line)
