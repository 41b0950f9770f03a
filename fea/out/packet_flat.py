"""Flat patterns in a packet: every blank at a scale, so large as the paper lets it be."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fea.out import packet_html as page
from fea.out.drawn import Dimension, dimensions
from fea.out.flat_svg import bend_lines, dimension, outlines
from fea.out.packet_html import Markup
from fea.out.palette import THEME
from fea.out.spread import spread
from fea.shop.cut_list import Cut, CutList
from fea.shop.cut_plates import Blank
from fea.shop.cut_record import notes
from fea.units import show_sheet

Array = NDArray[np.float64]

SCALES = (1, 2, 5, 10, 20, 50)
WIDE, HIGH = 178.0, 78.0
"""Of a drawing with its dimensions, mm on the paper, at most."""

LETTER = 2.7
"""Height of text on the paper, mm; a dimension's is 0.8 of it."""

FIGURE = 2.9
"""Width of a length such as 1330.6, in heights of text."""

ALIKE = 0.05
"""An end as high as the whole blank, to this, mm, is not dimensioned again."""

MOST = 16
"""Corners, or holes, that are listed by their places."""


def flats(cuts: CutList) -> Markup:
    """Return the drawings of all blanks, and how to read them; nothing without any."""
    drawn = [_figure(cut, cut.piece) for cut in cuts.cuts if isinstance(cut.piece, Blank)]
    if not drawn:
        return Markup("")
    words = (
        "Dimensions in mm, from the lower left corner of the rectangle that the blank is cut from."
        " Full line: cut; broken line: bend. Each is true to its scale where the page is printed"
        " at its full size; cut by the figures, not by the drawing."
    )
    head = page.heading("Flat patterns")
    return page.join((head, page.say(words, "quiet"), *drawn))


def _figure(cut: Cut, piece: Blank) -> Markup:
    scale = fitting(piece)
    head = f"{cut.number}  {piece.part}: {piece.name}"
    lines = (
        f"{cut.count} off, {show_sheet(piece.wall)}, {piece.material.name}; scale 1:{scale}.",
        " ".join(f"{line[:1].upper()}{line[1:]}." for line in notes(cut)),
        _places("Corners, counter-clockwise, (along; up)", piece.pattern.outline),
        _places(
            "Middles of holes, (along; up)",
            np.array([o.centre for o in piece.pattern.openings]).reshape(-1, 2),
        ),
    )
    words = page.escaped(" ".join(filter(None, lines)))
    under = Markup(f"<b>{page.escaped(head)}</b>; {words}")
    return page.figure(drawing(cut, piece, scale), under, kind="flat")


def _places(words: str, points: Array) -> str:
    r"""Return points in words.

    >>> _places("Corners", np.array([[0.0, 0.0], [10.04, 2.0]]))
    'Corners: (0.0;\xa00.0), (10.0;\xa02.0).'
    """
    if not len(points):
        return ""
    # Adding nothing turns a zero with a minus sign into a plain one.
    told = [f"({x:.1f};\u00a0{y:.1f})" for x, y in (points[:MOST].round(1) + 0.0).tolist()]
    more = f" and {len(points) - MOST} more" if len(points) > MOST else ""
    return f"{words}: {', '.join(told)}{more}."


def fitting(piece: Blank) -> int:
    """Return the largest scale, 1 to how many, at which the drawing fits the paper."""
    wide, high = piece.pattern.size
    room = 2.0 * _room(True)
    for scale in SCALES:
        if wide / scale + room <= WIDE and high / scale + room <= HIGH:
            return scale
    return SCALES[-1]


def drawing(cut: Cut, piece: Blank, scale: int) -> Markup:
    """Return a blank as SVG, a millimetre of the paper for `scale` of the blank."""
    tall = LETTER * scale
    wide, high = piece.pattern.size
    across, up, *rest = dimensions(cut)
    below, above = ([d for d in rest if _runs_along(d) and d.away * s > 0.0] for s in (-1, 1))
    ends = [d for d in rest if not _runs_along(d) and abs(d.length - high) > ALIKE]
    left, right = ([d for d in ends if d.away * s > 0.0] for s in (1, -1))
    under, over = _room(bool(below)) * scale, (_room(True) - LETTER if above else LETTER) * scale
    before = (2.0 + 2.2 * len(left)) * tall
    x0, y0 = before + 1.4 * tall, over + high
    sizes = [replace(across, away=-under), replace(up, away=before)]
    sizes += [replace(d, away=s * 1.8 * tall) for s, ds in ((1, left), (-1, right)) for d in ds]
    drawn = [dimension(one, x0, y0, tall) for one in sizes]
    drawn += _running(below, piece, (x0, y0, tall), -1.0) + _running(above, piece, (x0, y0, tall))
    width = x0 + wide + (2.4 if right else 0.8) * tall
    height = y0 + under + 0.5 * tall
    thin = 0.12 * scale
    dash = f"{2 * tall:.1f} {0.5 * tall:.1f} {0.3 * tall:.1f} {0.5 * tall:.1f}"
    groups = (
        (outlines(piece, x0, y0), f'fill="none" stroke="{THEME.ink}" stroke-width="{2 * thin:g}"'),
        (bend_lines(piece, x0, y0),
         f'fill="none" stroke="{THEME.curve}" stroke-width="{2 * thin:g}"'
         f' stroke-dasharray="{dash}"'),
        (drawn, f'fill="{THEME.ink}" stroke="none" font-size="{0.8 * tall:.2f}"'),
    )  # fmt: skip
    body = "".join(f"<g {style}>{''.join(rows)}</g>" for rows, style in groups if rows)
    return Markup(
        f'<svg style="width:{width / scale:.1f}mm" viewBox="0 0 {width:.1f} {height:.1f}"'
        f' role="img" font-family="Arial, Liberation Sans, sans-serif"'
        f' aria-label="Flat pattern of piece {cut.number}, 1:{scale}">{body}</svg>'
    )


def _room(lengths: bool) -> float:
    """Return how far below a blank its overall length stands, mm on the paper."""
    return ((1.8 + FIGURE if lengths else 0.0) + 1.9) * LETTER


def _runs_along(one: Dimension) -> bool:
    """Return whether a dimension counts along the blank from where it begins."""
    return bool(one.start[0] == 0.0 and one.start[1] == one.end[1])


def _running(
    found: list[Dimension], piece: Blank, place: tuple[float, float, float], side: float = 1.0
) -> list[str]:
    """Return lengths from one end at the places they reach, upright, above or below the blank.

    Side by side on one line they would stand in each other's way where places are close.
    """
    if not found:
        return []
    x0, y0, tall = place
    wide = piece.pattern.size[0]
    at = np.array([d.length for d in found])
    aside = spread(at, 1.05 * tall, 0.0, wide)
    stroke = f'stroke="{THEME.quiet}" stroke-width="{0.03 * tall:.2f}" fill="none"'
    out = []
    for d, x, beside in zip(found, at.tolist(), aside.tolist(), strict=True):
        y = y0 - float(d.end[1])
        near, far = y - side * 0.3 * tall, y - side * 1.5 * tall
        out.append(f'<path d="M{x0 + x:.2f} {near:.2f}L{x0 + beside:.2f} {far:.2f}" {stroke}/>')
        text_x, text_y = x0 + beside + 0.28 * tall, far - side * 0.2 * tall
        anchor = "start" if side > 0.0 else "end"
        out.append(
            f'<text x="{text_x:.2f}" y="{text_y:.2f}" text-anchor="{anchor}"'
            f' transform="rotate(-90 {text_x:.2f} {text_y:.2f})">{x:.1f}</text>'
        )
    return out
