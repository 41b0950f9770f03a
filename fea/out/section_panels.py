"""The panels of a section drawing: walls with sizes, shear flow as bands, figures."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from fea.frame.model import Section
from fea.out.palette import THEME, colours
from fea.section.midline import Midline
from fea.section.properties import SectionProperties, properties

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]

_STEEL, _NEW = THEME.bar, THEME.ghost_edge
_FIGURES = 0.27
"""Width of the figures, of the page."""
_BAND = 0.13
"""Width of the widest flow band, of the section's larger size."""


@dataclass(frozen=True, eq=False)
class Frame:
    """The box around all sections of a page, mm: its middle, its size, the room around it."""

    middle: Array
    size: Array
    margin: float


@dataclass(frozen=True, eq=False)
class Label:
    """The walls of one name: where its label stands, which way that is from the wall."""

    name: str
    walls: NDArray[np.intp]
    at: Array
    out: Array
    longest: int
    length: float


def outlines(midline: Midline) -> list[Array]:
    """Return each wall's outline, shape (4, 2), run on into the corners that it shares."""
    a, b = midline.walls.T
    step = midline.points[b] - midline.points[a]
    along = step / np.linalg.norm(step, axis=1)[:, None]
    found = []
    for k in range(len(midline.walls)):
        ends = [midline.points[a[k]].copy(), midline.points[b[k]].copy()]
        for number, corner, sign in ((0, a[k], -1.0), (1, b[k], 1.0)):
            reach = 0.0
            for other in np.flatnonzero((a == corner) | (b == corner)):
                if other != k:
                    away = along[other] if a[other] == corner else -along[other]
                    cosine = float(np.clip(away @ (sign * along[k]), -1.0, 1.0))
                    # A bend by an angle needs tan(angle/2) of half the other wall.
                    bend = np.sqrt((1.0 - cosine) / (1.0 + cosine)) if cosine > -0.5 else 1.0
                    reach = max(reach, min(bend, 1.0) * midline.thickness[other] / 2.0)
            ends[number] += sign * reach * along[k]
        across = np.array([-along[k, 1], along[k, 0]]) * midline.thickness[k] / 2.0
        found.append(
            np.array([ends[0] + across, ends[1] + across, ends[1] - across, ends[0] - across])
        )
    return found


def labels(midline: Midline) -> list[Label]:
    """Return where the label of each wall stands, in the order they are drawn."""
    middle = (midline.points.min(axis=0) + midline.points.max(axis=0)) / 2
    ends = midline.points[midline.walls]
    length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    found = []
    for name in dict.fromkeys(midline.names):
        walls = np.array([k for k, n in enumerate(midline.names) if n == name], dtype=np.intp)
        longest = int(walls[np.argmax(length[walls])])
        at = ends[longest].mean(axis=0)
        along = (ends[longest, 1] - ends[longest, 0]) / length[longest]
        out = np.array([-along[1], along[0]])
        side = float((at - middle) @ out)
        out = -out if side < -1e-9 else out
        found.append(Label(name, walls, at, out, longest, float(length[longest])))
    return found


def draw_walls(axes: "Axes", section: Section, p: SectionProperties) -> None:
    """Draw the walls to scale with their names, the centres, the axes and the outer sizes."""
    size = float(max(np.ptp(section.midline.points, axis=0)))
    if section.nominal is not None:
        _fill(axes, section.nominal.midline, _NEW, edge=THEME.ghost_edge)
    _fill(axes, section.midline, _STEEL)
    _principal_axes(axes, p, size)
    _sizes(axes, section, size)
    for label in labels(section.midline):
        thickness = float(section.midline.thickness[label.longest])
        upright = abs(label.out[0]) > 0.7
        # Inside an upright wall, clear of the axis through its middle; outside the others.
        out = -label.out if upright else label.out
        at = label.at + out * (thickness / 2 + 0.025 * size)
        at = at + np.array([0.0, 0.25 * label.length if upright else 0.0])
        across, along = _beside(out)
        axes.text(
            at[0], at[1], f"{label.name} {thickness:.3g}", fontsize=8.5, color=THEME.ink,
            rotation=90.0 if upright else 0.0, ha=across, va=along, zorder=5,
            bbox={"facecolor": THEME.paper, "edgecolor": "none", "pad": 0.5},
        )  # fmt: skip
    _centres(axes, p, size)


def _beside(
    out: Array,
) -> tuple[Literal["left", "center", "right"], Literal["bottom", "center", "top"]]:
    """Return the alignment, across and along, of a text off a wall in a direction."""
    if abs(out[0]) > 0.7:
        return "left" if out[0] > 0 else "right", "center"
    return "center", "bottom" if out[1] > 0 else "top"


def _fill(axes: "Axes", midline: Midline, colour: str, edge: str | None = None) -> None:
    for outline in outlines(midline):
        # A hairline of the same colour closes the gaps that smoothing leaves between walls.
        axes.fill(*outline.T, facecolor=colour, edgecolor=edge or colour, linewidth=0.4, zorder=2)


def _centres(axes: "Axes", p: SectionProperties, size: float) -> None:
    """Mark centroid, shear centre and reference line, each with its letter."""
    gap = 0.035 * size
    axes.plot(0.0, 0.0, marker="+", markersize=11.0, markeredgewidth=1.5, color=THEME.ink, zorder=6)
    c, s = p.centroid, p.shear_centre
    axes.plot(*c, marker="o", markersize=6.5, color=THEME.curve, zorder=6)
    axes.plot(
        *s, marker="o", markersize=8.0, markerfacecolor=THEME.paper, markeredgewidth=1.8,
        color=THEME.load, zorder=6,
    )  # fmt: skip
    near = float(np.linalg.norm(c - s)) < 0.12 * size
    places = (("C", c, THEME.curve, gap), ("S", s, THEME.load, -gap if near else gap))
    for letter, at, colour, lift in places:
        axes.text(
            at[0] + abs(gap), at[1] + lift, letter, fontsize=12.0, fontweight="bold", color=colour,
            ha="left", va="bottom" if lift > 0 else "top", zorder=7,
        )  # fmt: skip


def _principal_axes(axes: "Axes", p: SectionProperties, size: float) -> None:
    """Draw the principal axes through the centroid, numbered; 1 bends the stiffer way or y'."""
    for number, direction in enumerate(p.principal_axes, start=1):
        ends = p.centroid + np.outer([-1.0, 1.0], direction) * 0.62 * size
        axes.plot(*ends.T, color=THEME.quiet, linewidth=0.8, linestyle=(0, (9, 3, 2, 3)), zorder=1)
        y, z = ends[1] + direction * 0.035 * size
        axes.text(
            y, z, str(number), fontsize=9.0, color=THEME.quiet,
            ha="center", va="center",
        )  # fmt: skip


def _sizes(axes: "Axes", section: Section, size: float) -> None:
    """Draw the outer depth and width as dimension lines."""
    new = section.nominal or section
    faces = np.vstack(outlines(new.midline))
    low, high = faces.min(axis=0), faces.max(axis=0)
    gap = 0.16 * size
    lines = [
        ((low[0] - gap, low[1]), (low[0] - gap, high[1]), new.depth, 90.0),
        ((low[0], low[1] - gap), (high[0], low[1] - gap), new.width, 0.0),
    ]
    for start, end, length, turn in lines:
        axes.annotate(
            "", xy=start, xytext=end,
            arrowprops={"arrowstyle": "<|-|>", "color": THEME.quiet, "linewidth": 0.9,
                        "shrinkA": 0.0, "shrinkB": 0.0, "mutation_scale": 9.0},
        )  # fmt: skip
        middle = (np.array(start) + np.array(end)) / 2
        axes.text(
            middle[0], middle[1], f"{length:.4g}", fontsize=9.5, color=THEME.ink,
            ha="center", va="center", rotation=turn,
            bbox={"facecolor": THEME.paper, "edgecolor": "none", "pad": 1.5},
        )  # fmt: skip
    for y in (low[1], high[1]):
        axes.plot(
            [low[0] - 1.15 * gap, low[0] - 0.2 * gap], [y, y], color=THEME.rule, linewidth=0.8
        )
    for x in (low[0], high[0]):
        axes.plot(
            [x, x], [low[1] - 1.15 * gap, low[1] - 0.2 * gap], color=THEME.rule, linewidth=0.8
        )


def draw_flow(
    axes: "Axes", section: Section, p: SectionProperties, flow: Array, top: float
) -> None:
    """Draw the flow along each wall as a band, with arrows and the largest value of each wall.

    Parameters
    ----------
    flow : array, shape (m, k), N/mm, at even places along each wall
    top : float, N/mm
        Flow of the widest band, one for all sections of the page.
    """
    from matplotlib.collections import PolyCollection

    midline = section.midline
    size = float(max(np.ptp(midline.points, axis=0)))
    _fill(axes, midline, THEME.ghost)
    strips, values = [], []
    ends = midline.points[midline.walls]
    for k in range(len(midline.walls)):
        step = ends[k, 1] - ends[k, 0]
        across = np.array([-step[1], step[0]]) / np.linalg.norm(step)
        half = np.abs(flow[k]) / top * _BAND * size / 2
        at = ends[k, 0] + np.linspace(0.0, 1.0, flow.shape[1])[:, None] * step
        upper, lower = at + half[:, None] * across, at - half[:, None] * across
        for n in range(flow.shape[1] - 1):
            strips.append(np.array([upper[n], upper[n + 1], lower[n + 1], lower[n]]))
            values.append(abs(flow[k, n] + flow[k, n + 1]) / 2)
    strips += _joins(midline, flow, _BAND * size / top, values)
    face = colours(np.array(values), 0.0, top)
    axes.add_collection(
        PolyCollection(strips, facecolors=face, edgecolors=face, linewidths=0.4, zorder=3)
    )
    for label in labels(midline):
        _flow_label(axes, label, ends, flow, size, top)
    axes.plot(*p.shear_centre, marker="o", markersize=5.0, markerfacecolor=THEME.paper,
              markeredgewidth=1.3, color=THEME.load, zorder=6)  # fmt: skip


def _joins(midline: Midline, flow: Array, width: float, values: list[float]) -> list[Array]:
    """Return a disc at each corner that walls share, as wide as the widest band there.

    Their flows are added to `values`.
    """
    turn = np.linspace(0.0, 2.0 * np.pi, 25)
    ring = np.column_stack([np.cos(turn), np.sin(turn)]) * width / 2
    start, end = midline.walls.T
    found = []
    for corner, place in enumerate(midline.points):
        ends = np.abs(np.concatenate([flow[start == corner, 0], flow[end == corner, -1]]))
        if len(ends) > 1:
            found.append(place + float(ends.max()) * ring)
            values.append(float(ends.max()))
    return found


def _flow_label(
    axes: "Axes", label: Label, ends: Array, flow: Array, size: float, top: float
) -> None:
    """Write the largest flow of a wall beside it, and point the way it goes."""
    most = float(np.abs(flow[label.walls]).max())
    if most < 0.01 * top:
        return
    length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    inside = label.out * (_BAND * size * most / top / 2 + 0.045 * size)
    for k in label.walls:
        # Walls in pieces, as flanges of an I: an arrow each, but none for bits of a bend.
        if k == label.longest or length[k] > 0.2 * size:
            _arrows(axes, ends[k] - inside, flow[k], most, size)
    upright = abs(label.out[0]) > 0.7
    at = label.at + label.out * (_BAND * size * most / top / 2 + 0.03 * size)
    if upright:  # clear of a shear centre outside the web
        at = at + np.array([0.0, 0.3 * min(label.length, size)])
    across, along = _beside(label.out)
    axes.text(
        at[0], at[1], f"{most:.3g} N/mm", fontsize=8.5, color=THEME.ink, zorder=6,
        rotation=90.0 if upright else 0.0, ha=across, va=along,
    )  # fmt: skip


def _arrows(axes: "Axes", ends: Array, flow: Array, most: float, size: float) -> None:
    """Point the way that a wall's flow goes; where it turns round, each half has an arrow."""
    step = ends[1] - ends[0]
    length = float(np.linalg.norm(step))
    turns = flow.min() < -0.02 * most and flow.max() > 0.02 * most
    # The short walls of a round tube have arrows longer than themselves.
    reach = 0.1 * size if length < 0.2 * size else (0.18 if turns else 0.3) * length
    for part in (0.25, 0.75) if turns else (0.5,):
        value = float(np.interp(part, np.linspace(0.0, 1.0, len(flow)), flow))
        if abs(value) < 0.02 * most:
            continue
        middle = ends[0] + part * step
        half = np.sign(value) * step / length * min(0.12 * size, reach)
        axes.annotate(
            "", xy=middle + half, xytext=middle - half, zorder=5,
            arrowprops={"arrowstyle": "-|>", "color": THEME.ink, "linewidth": 1.2,
                        "shrinkA": 0.0, "shrinkB": 0.0, "mutation_scale": 10.0},
        )  # fmt: skip


def draw_figures(
    figure: "Figure", section: Section, p: SectionProperties, place: tuple[float, float, float]
) -> None:
    """Write the section's figures, those of the new section beside where it is worn."""
    left, top, tall = place
    new = None if section.nominal is None else properties(section.nominal.midline)
    rows = figures(p, new)
    columns = (left, left + 0.64 * _FIGURES, left + 0.98 * _FIGURES)
    heads = ("", "", "") if new is None else ("", "now", "new")
    for number, row in enumerate((heads, *rows)):
        y = top - (0.28 + 0.235 * number) / tall
        for column, (x, text) in enumerate(zip(columns, row, strict=True)):
            quiet = column != 1 or number == 0
            figure.text(
                x if column == 0 else x + 0.004, y, text, fontsize=9.5, va="center",
                ha="left" if column == 0 else "right", color=THEME.quiet if quiet else THEME.ink,
            )  # fmt: skip


def figures(p: SectionProperties, new: SectionProperties | None) -> list[tuple[str, str, str]]:
    """Return the figures: what, now, and new where the section is worn."""

    def values(q: SectionProperties) -> list[str]:
        return [
            f"{q.A:.0f} mm²",
            _power(q.Iy, "mm⁴"),
            _power(q.Iz, "mm⁴"),
            _power(q.J, "mm⁴"),
            _power(q.Cw, "mm⁶"),
            f"{1.0 / q.shear[1, 1]:.0f} mm²",
            f"{1.0 / q.shear[0, 0]:.0f} mm²",
            "{:.1f}, {:.1f}".format(*(q.centroid.round(1) + 0.0)),
            "{:.1f}, {:.1f}".format(*(q.shear_centre.round(1) + 0.0)),
            f"{q.A * 7.85e-3:.2f} kg/m",
        ]

    names = (
        "area A", "Iy, up and down", "Iz, sideways", "J, torsion", "Cw, warping",
        "shear area upright", "shear area sideways", "C from +, mm", "S from +, mm", "steel",
    )  # fmt: skip
    beside = [""] * len(names) if new is None else values(new)
    return list(zip(names, values(p), beside, strict=True))


def _power(value: float, unit: str) -> str:
    """Return a large figure in powers of ten that an eye can compare."""
    if abs(value) < 1e4:
        return f"{value:.0f} {unit}"
    power = 3 * int(np.floor(np.log10(abs(value)) / 3))
    raised = "".join("⁰¹²³⁴⁵⁶⁷⁸⁹"[int(digit)] for digit in str(power))
    return f"{value / 10.0**power:.4g}·10{raised} {unit}"
