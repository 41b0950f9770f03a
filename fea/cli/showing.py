"""What `view` does after the figures are printed: picture, film, pages or window."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea.cli.busy import busy
from fea.out.frame_scene import scene

if TYPE_CHECKING:
    from fea.out.scene import Scene
    from fea.result.answer import Answer
    from fea.units import System


@dataclass(frozen=True)
class Shown:
    """What the user asks to see, None where no file is to be written."""

    png: Path | None
    html: Path | None
    gif: Path | None
    moving: Path | None
    scale: float | None
    colour: str


def show(pairs: "Sequence[tuple[Answer, Answer | None]]", wanted: Shown, system: "System") -> None:
    """Write what is asked for, each answer beside the stock frame's; else open a window."""
    scenes = [scene(answer, stock, wanted.colour, system) for answer, stock in pairs]
    first = scenes[0]
    if wanted.png is not None:
        from fea.out.picture import write_png

        with busy("drawing"):
            report = write_png(first, wanted.png, scale=wanted.scale)
        typer.echo(f"wrote {wanted.png} ({report.renderer})")
        if report.note:
            typer.echo(report.note, err=True)
    if wanted.html is not None:
        from fea.out.page import write_html

        with busy("writing the page"):
            write_html(first, wanted.html, scale=wanted.scale)
        typer.echo(f"wrote {wanted.html}")
    if wanted.gif is not None or wanted.moving is not None:
        _move(scenes, wanted)
    if wanted.png is wanted.html is wanted.gif is wanted.moving is None:
        from fea.out.picture import show as open_window

        open_window(first, scale=wanted.scale)


def _move(scenes: "list[Scene]", wanted: Shown) -> None:
    """Write the film, and its page with all cases."""
    from fea.out.load_scene import load_scene

    moving = load_scene(scenes, wanted.scale)
    if wanted.gif is not None:
        from fea.out.film import write_film

        with busy("drawing"):
            write_film(moving, wanted.gif)
        typer.echo(f"wrote {wanted.gif}")
    if wanted.moving is not None:
        from fea.out.moving_page import write_moving_page

        with busy("writing the page"):
            write_moving_page(moving, wanted.moving)
        typer.echo(f"wrote {wanted.moving}")
