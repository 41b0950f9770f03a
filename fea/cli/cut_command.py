"""The command `cutlist`: what to cut for the added parts, with flat patterns."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fea.cli import options
from fea.cli.options import At, FrameName, Json, Stock, With, Without

if TYPE_CHECKING:
    from fea.shop.cut_list import CutList

CAUTION = "A planning aid, not a certification: local codes and a licensed engineer decide."


def cutlist(
    frame: FrameName,
    fit: With = None,
    leave: Without = None,
    stock: Stock = False,
    at: At = None,
    dxf: Annotated[
        Path | None,
        typer.Option("--dxf", metavar="DIR", help="Write each blank's flat pattern there, as DXF."),
    ] = None,
    svg: Annotated[
        Path | None, typer.Option("--svg", metavar="DIR", help="The same patterns as SVG.")
    ] = None,
    as_csv: Annotated[
        Path | None, typer.Option("--csv", metavar="FILE", help="Write the list as CSV.")
    ] = None,
    as_json: Json = False,
) -> None:
    """List what to cut for the added parts: blanks, lengths of stock, masses, metres of weld.

    Boxing plates are unrolled along their rails, with bend lines and holes.
    """
    from fea.out.dxf import write_dxf
    from fea.out.files import write_text
    from fea.out.flat_svg import write_svg
    from fea.out.record import to_json
    from fea.shop import cut_record
    from fea.shop.cut_list import cut_list

    choice = options.choose(frame, fit, leave, at, stock=stock)
    found = cut_list(choice.document, choice.frame())
    written: list[Path] = []
    if dxf is not None:
        written += write_dxf(found, dxf)
    if svg is not None:
        written += write_svg(found, svg)
    if as_csv is not None:
        write_text(as_csv, cut_record.as_csv(found))
        written.append(as_csv)
    if as_json:
        typer.echo(to_json(cut_record.as_record(found)), nl=False)
        return
    _print(found)
    for path in written:
        typer.echo(f"Wrote {path}.")


def _print(found: "CutList") -> None:
    from fea.cli.tables import Page
    from fea.cli.wrapped import flush
    from fea.shop.cut_record import BASIS, notes, size
    from fea.units import show_sheet

    page = Page()
    flush(page, f"{found.frame.title}: what to cut for the added parts", "bold")
    if not found.cuts:
        flush(page, "No part is fitted that needs cutting.")
        return
    rows = [
        (
            str(cut.number),
            str(cut.count),
            cut.piece.part,
            cut.piece.name,
            size(cut),
            show_sheet(cut.piece.wall),
            cut.piece.material.name,
            f"{1000.0 * cut.mass:.2f}",
            f"{cut.weld / 1000.0:.2f}",
        )
        for cut in found.cuts
    ]
    heads = ("", "off", "part", "piece", "size, mm", "wall", "material", "kg", "weld, m")
    total = (
        "",
        "",
        "together",
        "",
        "",
        "",
        "",
        f"{1e3 * found.mass:.2f}",
        f"{found.weld / 1e3:.2f}",
    )
    page.table("", heads, [*rows, total], (0, 1, 5, 7, 8))
    for cut in found.cuts:
        if notes(cut):
            flush(page, f"{cut.number}: {'; '.join(notes(cut))}.")
    flush(page, BASIS)
    flush(page, CAUTION)
