"""Blanks as SVG files at their true size in millimetres, one each."""

from html import escape
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fea.out.drawn import Dimension, dimensions, text_height
from fea.out.files import write_text
from fea.out.palette import THEME
from fea.shop.cut_list import Cut, CutList
from fea.shop.cut_plates import Blank
from fea.shop.cut_record import file_stem, title
from fea.shop.flat import Opening

Array = NDArray[np.float64]


def write_svg(found: CutList, folder: Path) -> list[Path]:
    """Write a file for each blank into a folder; return what was written."""
    written = []
    for cut in found.cuts:
        if isinstance(cut.piece, Blank):
            path = folder / f"{file_stem(cut)}.svg"
            write_text(path, svg(cut, cut.piece))
            written.append(path)
    return written


def svg(cut: Cut, piece: Blank) -> str:
    """Return the drawing of a blank as SVG text; layers are groups by name."""
    wide, high = piece.pattern.size
    tall = text_height(piece)
    lines = title(cut)
    room = 13.0 * tall
    below = room + 1.6 * tall * len(lines)
    width = max(wide, 0.62 * tall * max(len(line) for line in lines)) + 2 * room
    height = high + room + below
    # Heights count upward in the blank, downward in SVG.
    x0, y0 = room, room + high
    cut_lines, bends = outlines(piece, x0, y0), bend_lines(piece, x0, y0)
    words = [
        f'<text x="{x0:.3f}" y="{y0 + room + 1.6 * tall * k:.3f}">{escape(line)}</text>'
        for k, line in enumerate(lines)
    ]
    sizes = [dimension(one, x0, y0, tall) for one in dimensions(cut)]
    thin = max(0.15, 0.04 * tall)
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.3f}mm" height="{height:.3f}mm"'
            f' viewBox="0 0 {width:.3f} {height:.3f}" font-family="sans-serif">',
            f"<title>{escape(lines[0])}</title>",
            _group("cut", cut_lines, f'fill="none" stroke="{THEME.ink}" stroke-width="{2 * thin}"'),
            _group("bend", bends, f'fill="none" stroke="{THEME.curve}" stroke-width="{2 * thin}"'
                   f' stroke-dasharray="{2 * tall} {0.5 * tall} {0.3 * tall} {0.5 * tall}"'),
            _group("text", words, f'fill="{THEME.ink}" font-size="{tall}"'),
            _group("dimensions", sizes, f'fill="{THEME.quiet}" stroke="none"'
                   f' font-size="{0.8 * tall}"'),
            "</svg>\n",
        ]
    )  # fmt: skip


def outlines(piece: Blank, x0: float, y0: float) -> list[str]:
    """Return what is cut, the blank's lower left corner at x0, y0; lines without a colour."""
    edge = f'<path d="{_outline(piece.pattern.outline, x0, y0)}"/>'
    return [edge, *(_opening(one, x0, y0) for one in piece.pattern.openings)]


def bend_lines(piece: Blank, x0: float, y0: float) -> list[str]:
    """Return the lines to bend along, placed as those to cut."""
    return [_line(b.line[0], b.line[1], x0, y0) for b in piece.pattern.bends]


def _group(name: str, rows: list[str], style: str) -> str:
    return f'<g id="{name}" {style}>\n' + "\n".join(rows) + "\n</g>"


def _outline(points: Array, x0: float, y0: float) -> str:
    places = (f"{x0 + x:.6f} {y0 - y:.6f}" for x, y in points.tolist())
    return "M " + " L ".join(places) + " Z"


def _line(a: Array, b: Array, x0: float, y0: float) -> str:
    return (
        f'<line x1="{x0 + a[0]:.4f}" y1="{y0 - a[1]:.4f}" x2="{x0 + b[0]:.4f}"'
        f' y2="{y0 - b[1]:.4f}"/>'
    )


def _opening(one: Opening, x0: float, y0: float) -> str:
    radius = 0.5 * min(one.length, one.height)
    if one.is_round:
        x, y = one.centre.tolist()
        return f'<circle cx="{x0 + x:.6f}" cy="{y0 - y:.6f}" r="{radius:.6f}"/>'
    first, second = one.axis
    along = (second - first) / np.linalg.norm(second - first)
    aside = radius * np.array([-along[1], along[0]])
    a, b, c, d = (
        f"{x0 + p[0]:.6f} {y0 - p[1]:.6f}"
        for p in (first - aside, second - aside, second + aside, first + aside)
    )
    arc = f"A {radius:.6f} {radius:.6f} 0 0 0"
    return f'<path d="M {a} L {b} {arc} {c} L {d} {arc} {a} Z"/>'


def dimension(one: Dimension, x0: float, y0: float, tall: float) -> str:
    """Draw a dimension: two lines out from its ends, the line between, the figure on it."""
    along = (one.end - one.start) / max(one.length, 1e-9)
    out = one.away * np.array([-along[1], along[0]])
    thin = f'stroke="{THEME.quiet}" stroke-width="{max(0.1, 0.03 * tall)}"'
    rows = []
    for a, b in (
        (one.start, one.start + out),
        (one.end, one.end + out),
        (one.start + out, one.end + out),
    ):
        rows.append(_line(a, b, x0, y0).replace("/>", f" {thin}/>"))
    middle = 0.5 * (one.start + one.end) + out
    turn = -float(np.degrees(np.arctan2(along[1], along[0])))
    x, y = x0 + middle[0], y0 - middle[1]
    rows.append(
        f'<text x="{x:.3f}" y="{y - 0.3 * tall:.3f}" text-anchor="middle"'
        f' transform="rotate({turn:.3f} {x:.3f} {y:.3f})">{one.length:.1f}</text>'
    )
    return "\n".join(rows)
