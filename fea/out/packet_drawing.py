"""Line drawings of a packet: the frame from above and from the side, curves along the stations.

Plain SVG, made of figures rounded to a tenth, so that equal frames give equal text.
"""

import html
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from fea.frame.model import Frame, Member
from fea.frame.path import lengths, point_at
from fea.out.packet_html import Markup
from fea.out.palette import THEME
from fea.out.scene import Curve

Array = NDArray[np.float64]
Place = Callable[[Array], tuple[float, float]]
"""From a point of the vehicle to one of the drawing."""

STEEL, ADDED = "#9aa1a5", THEME.curve
WIDE = {"rail": 34.0, "crossmember": 22.0, "brace": 22.0}
LETTER = 0.56
"""Mean width of a letter, of its height."""

FONT = 'font-family="Arial, Liberation Sans, sans-serif"'


def frame_drawing(frame: Frame) -> Markup:
    """Return the frame from above, front to the left and right side on top, and from the side."""
    every = np.vstack([m.path for m in frame.members])
    low, high = every.min(axis=0), every.max(axis=0)
    long = max(float(high[0] - low[0]), 1.0)
    letter = long / 58.0
    left, wide = float(low[0]) - 2.5 * letter, long + 5.0 * letter
    names, rows = _names(frame, letter)
    half = float(np.abs(every[:, 1]).max()) + 1.5 * letter
    plan = half + (rows + 0.6) * 1.25 * letter
    ruler = plan + half + 1.2 * letter
    tall = float(high[2] - low[2])
    side = ruler + 2.6 * letter + tall
    bottom = side + 1.2 * letter
    pieces = [
        _text(x, plan - half - (row + 0.1) * 1.25 * letter, name, letter) for x, row, name in names
    ]
    spans = ((plan - half, plan + half), (side - tall - 0.5 * letter, side + 0.7 * letter))
    pieces += [_axles(frame, above, below) for above, below in spans]
    pieces += [_member(m, lambda p: (float(p[0]), plan - float(p[1]))) for m in _drawn(frame)]
    pieces += [
        _member(m, lambda p: (float(p[0]), side - float(p[2] - low[2]))) for m in _drawn(frame)
    ]
    pieces += [
        f'<circle cx="{m.position[0]:.0f}" cy="{plan - m.position[1]:.0f}" r="{0.45 * letter:.0f}"'
        f' fill="{THEME.paper}" stroke="{THEME.ink}" stroke-width="{0.14 * letter:.0f}"/>'
        for m in frame.mounts
    ]
    pieces.append(_ruler(float(low[0]), float(high[0]), ruler, letter))
    pieces.append(_text(left + 0.2 * letter, plan, "front", letter, "start", THEME.quiet))
    return Markup(
        f'<svg viewBox="{left:.0f} 0 {wide:.0f} {bottom:.0f}" role="img" {FONT}'
        ' aria-label="The frame from above and from the side">' + "".join(pieces) + "</svg>"
    )


def _drawn(frame: Frame) -> list[Member]:
    """Return the members, the rails first so that the others lie on them."""
    return sorted(frame.members, key=lambda m: m.kind != "rail")


def _member(member: Member, place: Place) -> str:
    """Return a member's line; what a part brings in the colour of parts."""
    wide = WIDE[member.kind]
    colour = ADDED if member.part else STEEL
    out = _line([place(p) for p in member.path], colour, wide)
    along = lengths(member.path)
    for run in member.runs:
        if run.part is None or member.part:
            continue
        inner = [s for s in along.tolist() if run.start < s < run.end]
        at = point_at(member.path, np.array([run.start, *inner, run.end]))
        out += _line([place(p) for p in at], ADDED, 0.62 * wide)
    return out


def _line(points: Sequence[tuple[float, float]], colour: str, wide: float) -> str:
    told = " ".join(f"{x:.0f},{y:.0f}" for x, y in points)
    return (
        f'<polyline points="{told}" fill="none" stroke="{colour}" stroke-width="{wide:.0f}"'
        ' stroke-linejoin="round"/>'
    )


def _names(frame: Frame, letter: float) -> tuple[list[tuple[float, int, str]], int]:
    """Return where members from side to side are named: station, row, name; and the rows."""
    edges: list[float] = []
    found = []
    cross = [(float(m.path[:, 0].mean()), m.name) for m in frame.members if m.kind != "rail"]
    for x, name in sorted(cross):
        half = 0.5 * LETTER * letter * len(name)
        row = next((k for k, edge in enumerate(edges) if x - half > edge), len(edges))
        if row == len(edges):
            edges.append(0.0)
        edges[row] = x + half + 0.6 * letter
        found.append((x, row, name))
    return found, len(edges)


def _axles(frame: Frame, top: float, foot: float) -> str:
    return "".join(
        f'<line x1="{a.station:.0f}" y1="{top:.0f}" x2="{a.station:.0f}" y2="{foot:.0f}"'
        f' stroke="{THEME.quiet}" stroke-width="6" stroke-dasharray="40 22"/>'
        for a in frame.axles
    )


def _ruler(low: float, high: float, y: float, letter: float) -> str:
    step = next((s for s in (100, 200, 250, 500, 1000, 2000) if (high - low) / s <= 12), 5000)
    # Adding nothing turns a zero with a minus sign into a plain one.
    ticks = np.arange(np.ceil(low / step) * step, high + 1.0, step) + 0.0
    out = (
        f'<line x1="{low:.0f}" y1="{y:.0f}" x2="{high:.0f}" y2="{y:.0f}" stroke="{THEME.quiet}"'
        ' stroke-width="5"/>'
    )
    for x in ticks.tolist():
        out += (
            f'<line x1="{x:.0f}" y1="{y - 0.25 * letter:.0f}" x2="{x:.0f}"'
            f' y2="{y + 0.25 * letter:.0f}" stroke="{THEME.quiet}" stroke-width="5"/>'
        )
        out += _text(x, y + 1.2 * letter, f"{x:.0f}", 0.9 * letter, colour=THEME.quiet)
    return out


def _text(
    x: float, y: float, text: str, size: float, anchor: str = "middle", colour: str = THEME.ink
) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:.1f}" text-anchor="{anchor}"'
        f' fill="{colour}">{html.escape(text)}</text>'
    )


def curves(title: str, lines: Sequence[Curve], axles: Sequence[float]) -> Markup:
    """Return curves over the stations, the stock frame's dashed, 300 units wide."""
    wide, high, left, foot, top = 300.0, 165.0, 30.0, 26.0, 20.0
    x = np.concatenate([c.stations for c in lines])
    y = np.concatenate([c.values for c in lines] + [np.zeros(1)])
    x0, x1 = float(x.min()), float(x.max())
    y0, y1, step = _nice(float(y.min()), float(y.max()))

    def place(a: float, b: float) -> tuple[float, float]:
        across = left + (a - x0) / max(x1 - x0, 1e-9) * (wide - left - 6.0)
        return across, top + (y1 - b) / (y1 - y0) * (high - top - foot)

    out = [_text(0.0, 10.0, f"{title}, {lines[0].unit}", 11.0, "start")]
    for k in range(round((y1 - y0) / step) + 1):
        level = y0 + k * step
        _, at = place(x0, level)
        colour, thick = (THEME.quiet, 0.9) if abs(level) < 1e-9 * step else (THEME.rule, 0.7)
        out.append(_rule(left, at, wide - 6.0, at, colour, thick))
        out.append(_text(left - 4.0, at + 3.0, f"{level:.4g}", 8.5, "end", THEME.quiet))
    for station in axles:
        across, _ = place(station, 0.0)
        out.append(_rule(across, top, across, high - foot, THEME.rule, 0.9))
    for station in range(1000 * int(np.ceil(x0 / 1000.0)), int(x1) + 1, 1000):
        across, _ = place(station, 0.0)
        out.append(_text(across, high - foot + 11.0, f"{station}", 8.5, colour=THEME.quiet))
    out.append(_text(wide - 6.0, high - 3.0, "station, mm", 8.5, "end", THEME.quiet))
    for curve in lines:
        points = " ".join(
            "{:.1f},{:.1f}".format(*place(a, b))
            for a, b in zip(curve.stations.tolist(), curve.values.tolist(), strict=True)
        )
        how = (
            f'stroke="{THEME.quiet}" stroke-width="1.3" stroke-dasharray="5 3"'
            if curve.dashed
            else f'stroke="{THEME.curve}" stroke-width="2.2"'
        )
        out.append(f'<polyline points="{points}" fill="none" {how}/>')
    name = html.escape(title)
    return Markup(
        f'<svg viewBox="0 0 {wide:.0f} {high:.0f}" role="img" {FONT} aria-label="{name}">'
        + "".join(out)
        + "</svg>"
    )


def _rule(x1: float, y1: float, x2: float, y2: float, colour: str, thick: float) -> str:
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}"'
        f' stroke-width="{thick}"/>'
    )


def _nice(low: float, high: float) -> tuple[float, float, float]:
    """Return round ends around a range and the step between lines, four to eight of them."""
    span = max(high - low, 1e-9)
    power = 10.0 ** np.floor(np.log10(span / 5.0))
    step = next(float(m * power) for m in (1.0, 2.0, 2.5, 5.0, 10.0) if span / (m * power) <= 6.0)
    return float(np.floor(low / step) * step), float(np.ceil(high / step) * step), step
