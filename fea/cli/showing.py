"""What `view` does after the figures are printed: picture, page or window."""

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea.cli.busy import busy
from fea.out.frame_scene import scene

if TYPE_CHECKING:
    from fea.result.answer import Answer
    from fea.units import System


def show(
    answer: "Answer",
    stock: "Answer | None",
    *,
    png: Path | None,
    html: Path | None,
    scale: float | None,
    colour: str,
    system: "System",
) -> None:
    """Write the picture and the page asked for; open a window if neither was."""
    picture = scene(answer, stock, colour, system)
    if png is not None:
        from fea.out.picture import write_png

        with busy("drawing"):
            report = write_png(picture, png, scale=scale)
        typer.echo(f"wrote {png} ({report.renderer})")
        if report.note:
            typer.echo(report.note, err=True)
    if html is not None:
        from fea.out.page import write_html

        with busy("writing the page"):
            write_html(picture, html, scale=scale)
        typer.echo(f"wrote {html}")
    if png is None and html is None:
        from fea.out.picture import show as open_window

        open_window(picture, scale=scale)
