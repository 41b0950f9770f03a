"""What `locked` does and prints: what welding parts into a crooked frame locks in."""

import json
from collections.abc import Sequence
from math import degrees
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from fea.cli import options
from fea.cli.busy import busy
from fea.cli.options import Choice
from fea.cli.tables import Page
from fea.cli.wrapped import flush
from fea.errors import Complaint, DocumentError

if TYPE_CHECKING:
    from fea.shop.gaps import Gap
    from fea.shop.locked import Locked

MOST_MEMBERS = 8
"""Lines of the table of stress."""


def choose_parts(
    frame: str,
    parts: Sequence[str] | None,
    fit: Sequence[str] | None,
    leave: Sequence[str] | None,
) -> Choice:
    """Return the frame with the parts to be welded in: `parts` alone, or the document's own.

    Raises
    ------
    DocumentError
        If both ways are used at once.
    """
    named = [n.strip() for text in parts or () for n in text.split(",") if n.strip()]
    if named and (fit or leave):
        rule = (
            "parts are either all named with --parts, or the document's with --with and --without"
        )
        raise DocumentError(Complaint(rule))
    if named:
        return options.choose(frame, named, stock=True)
    return options.choose(frame, fit, leave)


def lock_in(
    choice: Choice,
    path: Path,
    clamps: Sequence[str],
    joints: str,
    *,
    square: bool,
    as_json: bool,
) -> None:
    """Read the shape, go through the steps, and print."""
    from fea.document.read import read_text
    from fea.shop.locked import locked
    from fea.shop.locked_words import as_record
    from fea.shop.shape_csv import read_shape

    if joints not in ("sheet", "beam"):
        raise DocumentError(Complaint("unknown joints", "--joints", joints, "sheet or beam"))
    stock = choice.stock_frame()
    shape = read_shape(read_text(path), str(path), stock)
    kept = None
    if joints == "sheet":
        from fea.store import store

        kept = store()
    with busy("solving"):
        found = locked(choice.frame(), stock, shape, clamps=clamps, square=square, store=kept)
    if as_json:
        typer.echo(json.dumps(as_record(found), indent=2, ensure_ascii=False, allow_nan=False))
    else:
        _print(found)


def _print(found: "Locked") -> None:
    from fea.shop import locked_words as words

    page = Page()
    flush(page, f"{found.frame.title}: what welding locks in", "bold")
    flush(page, f"Shape from {found.shape.source}. Parts: {', '.join(found.frame.fitted)}.")
    for line in words.sentences(found):
        flush(page, line)
    _print_figures(page, found)
    _print_clamps(page, found)
    _print_stress(page, found)
    if found.gaps:
        _print_gaps(page, found.gaps)
    flush(page, words.basis(found))
    flush(page, words.CAUTION)


def _print_figures(page: Page, found: "Locked") -> None:
    from fea.shop.locked import SHOWN
    from fea.shop.locked_words import amount, sense_of, share_back
    from fea.shop.survey_measures import TITLES

    rows = []
    for key in SHOWN:
        f = found.worst(key)
        if f is None:
            rows.append((TITLES[key], "", "no points for it", "", "", ""))
            continue
        if f.off is None:
            rows.append((TITLES[key], f.measure.title, "not told", "", "", ""))
            continue
        back = share_back(f)
        rows.append(
            (
                TITLES[key],
                f"{f.measure.title}: {sense_of(f)}",
                amount(f, f.off),
                amount(f, f.forced),
                amount(f, f.after),
                "-" if back is None else f"{100.0 * back:.0f} %",
            )
        )
    heads = ("measure", "where", "welded as it stands", "in the clamps", "let go after welding",
             "springs back")  # fmt: skip
    page.table("Shape", heads, rows, (2, 3, 4, 5))


def _print_clamps(page: Page, found: "Locked") -> None:
    from fea.shop.locked_words import sense

    s = found.staged
    rows = [
        (g.words, f"{m:+.1f}", f"{abs(f):.0f}", sense(g, f))
        for g, m, f in zip(s.grips, s.motions.tolist(), s.clamps.tolist(), strict=True)
    ]
    page.table("Clamps", ("at", "moves it, mm", "force, N", ""), rows, (1, 2))


def _print_stress(page: Page, found: "Locked") -> None:
    clamped = {p.member: p for p in found.clamping}
    rows = []
    for one in found.left[:MOST_MEMBERS]:
        was = clamped.get(one.member)
        rows.append(
            (
                one.member,
                "" if was is None else f"{was.von_mises:.0f}",
                "" if was is None else f"{100.0 * was.utilisation:.0f} %",
                f"{one.stress:.0f}",
                f"{100.0 * one.utilisation:.0f} %",
                f"{one.station:.0f}",
            )
        )
    heads = ("member", "in the clamps, MPa", "of yield", "left in, MPa", "of yield", "station, mm")
    page.table("Highest stress by member", heads, rows, (1, 2, 3, 4, 5))


def _print_gaps(page: Page, gaps: "Sequence[Gap]") -> None:
    rows = []
    for g in gaps:
        changes = []
        for key in ("twist", "width", "sag"):
            worst = g.worst(key)
            if worst is None:
                changes.append("")
            else:
                value = degrees(worst[1]) if worst[0].is_angle else worst[1]
                changes.append(
                    f"{value:+.3f}".replace("-0.000", "0.000").replace("+0.000", "0.000")
                )
        closing = "" if g.closing is None else f"{g.closing.von_mises:.0f}"
        stays = [
            "" if one is None else f"{one.stress:.0f} ({100.0 * one.utilisation:.0f} %)"
            for one in (g.own, g.elsewhere)
        ]
        rows.append((g.member, f"{g.force:.0f}", f"{g.drawn:.2f}", *changes, closing, *stays))
    flush(
        page,
        "Each mm that a part is too short, forced shut and welded (signs turn for too long; the"
        " rest of the frame is in already):",
    )
    heads = ("part's member", "force, N", "frame drawn, mm", "twist, deg", "width, mm", "sag, mm",
             "closing, MPa", "left in it, MPa", "elsewhere")  # fmt: skip
    page.table("", heads, rows, (1, 2, 3, 4, 5, 6, 7, 8))
