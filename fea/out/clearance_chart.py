"""Plan and side view of metal and obstacles, the nearest places marked and numbered."""

import warnings
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, MissingExtraError
from fea.out.camera import FROM_ABOVE
from fea.out.display import INSTALL_DRAWING
from fea.out.files import write_whole
from fea.out.palette import THEME
from fea.shop.clearance import Clearance, ClearanceStudy
from fea.shop.clearance_record import verdict
from fea.shop.convex import Solid, hull
from fea.shop.metal_solids import pieces

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]

MOST = 14
"""Places that are marked and listed at most."""
NEAR = 60.0
"""Those that are clear by more than this, mm, beyond what is asked are not."""
_WIDE = 16.0  # inches
_LEFT, _HEAD, _FOOT, _GAP, _ROW = 0.6, 0.95, 0.45, 0.45, 0.26
_ARC = np.linspace(0.0, 2.0 * np.pi, 25)


def write_clearance_chart(study: ClearanceStudy, path: Path, *, width: int = 2000) -> None:
    """Write the picture, as PNG or, by the file's ending, as SVG.

    Raises
    ------
    MissingExtraError
        If matplotlib is not installed.
    """
    if find_spec("matplotlib") is None:
        rule = "a picture of clearances needs matplotlib"
        raise MissingExtraError(Complaint(rule, found="not installed", do=INSTALL_DRAWING))
    import matplotlib as mpl

    ending = "svg" if path.suffix.lower() == ".svg" else "png"
    with mpl.rc_context(), warnings.catch_warnings():
        mpl.rcdefaults()  # the user's own matplotlib settings must not reach the page
        mpl.rcParams["text.parse_math"] = False
        mpl.rcParams["svg.hashsalt"] = "plumbrail"  # the same study is the same file
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        figure = page(study, width)
        stamp = (
            {"Date": None, "Creator": "Plumbrail"} if ending == "svg" else {"Software": "Plumbrail"}
        )
        write_whole(path, lambda part: figure.savefig(part, format=ending, metadata=stamp))


def marked(study: ClearanceStudy) -> list[Clearance]:
    """Return the places to mark: those near their limits, the ground's only if too low."""
    near = [one for one in study.found if one.least - one.asked <= NEAR]
    return [one for one in near if one.kind != "ground" or one.status != "clear"][:MOST]


def page(study: ClearanceStudy, width: int) -> "Figure":
    """Return the drawn page; `width` in pixels."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure as Canvas

    every = [s for metal in pieces(study.frame, everything=True) for s in metal.solids]
    every += [s for one in study.obstacles for s in one.solids]
    low, high = (f([s.box for s in every], axis=(0, 1)) for f in (np.min, np.max))
    low, high = low - 60.0, high + 60.0
    scale = (_WIDE - 2 * _LEFT) / float(high[0] - low[0])
    plan, side = scale * float(high[1] - low[1]), scale * float(high[2] - low[2])
    places = marked(study)
    rows = _ROW * (len(places) + 1.5)
    tall = _HEAD + plan + side + rows + 2 * _GAP + _FOOT
    figure = Canvas(figsize=(_WIDE, tall), dpi=width / _WIDE, facecolor=THEME.paper)
    FigureCanvasAgg(figure)
    figure.text(_LEFT / _WIDE, 1.0 - 0.38 / tall, f"{study.frame.title}: clearance",
                fontsize=17.0, fontweight="bold", color=THEME.ink)  # fmt: skip
    scope = "every member" if study.everything else "added parts"
    figure.text(_LEFT / _WIDE, 1.0 - 0.7 / tall, f"{scope}; {verdict(study)}",
                fontsize=11.0, color=THEME.quiet)  # fmt: skip
    figure.text(_LEFT / _WIDE, 0.14 / tall, "A planning aid, not a certification.",
                fontsize=8.5, color=THEME.quiet)  # fmt: skip
    bottom = tall - _HEAD
    for name, axis, room in (
        (f"{FROM_ABOVE}; station and offset in mm", 1, plan),
        ("From the left: station and height in mm", 2, side),
    ):
        bottom -= room
        spot = (_LEFT / _WIDE, bottom / tall, 1.0 - 2 * _LEFT / _WIDE, room / tall)
        axes = figure.add_axes(spot)
        _frame_axes(axes, (low[0], high[0]), (low[axis], high[axis]), name)
        _draw(axes, study, axis)
        _marks(axes, places, axis)
        bottom -= _GAP
    _list(figure, places, (bottom + _GAP - 0.42) / tall, tall)
    return figure


def _frame_axes(
    axes: "Axes", along: tuple[float, float], up: tuple[float, float], name: str
) -> None:
    axes.set_xlim(*along)
    axes.set_ylim(*up)
    axes.set_facecolor("none")
    for spine in axes.spines.values():
        spine.set_color(THEME.rule)
    axes.tick_params(colors=THEME.quiet, labelsize=8.0, length=3.0)
    axes.text(0.004, 0.985, name, transform=axes.transAxes, va="top", fontsize=10.0,
              fontweight="bold", color=THEME.ink)  # fmt: skip


def _draw(axes: "Axes", study: ClearanceStudy, axis: int) -> None:
    """Draw stock members pale, what was measured darker, obstacles see-through over them."""
    from matplotlib.patches import Polygon

    looked = {(metal.name, metal.part) for metal in study.metals if metal.part is not None}
    for metal in pieces(study.frame, everything=True):
        added = (metal.name, metal.part) in looked
        face, edge = (THEME.bar, THEME.hold) if added else (THEME.ghost, THEME.ghost_edge)
        for solid in metal.solids:
            style = {"facecolor": face, "edgecolor": edge, "zorder": 2 if added else 1}
            axes.add_patch(Polygon(_outline(solid, axis), closed=True, linewidth=0.5, **style))
    colour = {"shaft": THEME.curve, "exhaust": THEME.load, "keep clear": THEME.ink}
    named: list[Array] = []
    for one in study.obstacles:
        for solid in one.solids:
            style = {"facecolor": colour[one.kind], "edgecolor": "none", "zorder": 3}
            axes.add_patch(Polygon(_outline(solid, axis), closed=True, alpha=0.30, **style))
        at = one.solids[0].points[0][[0, axis]]
        beside = sum(float(np.abs(at - other).max()) < 80.0 for other in named)
        named.append(at)
        axes.annotate(
            one.name, tuple(at), xytext=(-4.0, 9.0 - 13.0 * beside), textcoords="offset points",
            fontsize=8.5, ha="right", color=colour[one.kind], zorder=6,
        )  # fmt: skip


def _outline(solid: Solid, axis: int) -> Array:
    """Return a solid's shadow on a view, (n, 2), mm."""
    flat = solid.points[:, [0, axis]]
    if solid.radius:
        ring = solid.radius * np.column_stack((np.cos(_ARC), np.sin(_ARC)))
        flat = (flat[:, None] + ring[None]).reshape(-1, 2)
    return hull(flat)


def _colour(one: Clearance) -> str:
    return THEME.quiet if one.status == "clear" else THEME.load


def _marks(axes: "Axes", places: Sequence[Clearance], axis: int) -> None:
    """Ring the places; numbers of those that lie together stand in a row beside them."""
    groups: list[list[int]] = []
    for k, one in enumerate(places):
        for group in groups:
            first = places[group[0]].at
            if np.hypot(first[0] - one.at[0], first[axis] - one.at[axis]) < 45.0:
                group.append(k)
                break
        else:
            groups.append([k])
    for group in groups:
        for k in group:
            at = places[k].at
            axes.plot([at[0]], [at[axis]], "o", ms=7.0, mfc="none", mew=1.5,
                      color=_colour(places[k]), zorder=7)  # fmt: skip
        at = places[group[0]].at
        worst = places[group[0]]
        late = at[0] > axes.get_xlim()[1] - 400.0
        axes.annotate(
            ", ".join(str(k + 1) for k in group), (at[0], at[axis]),
            xytext=(-6.0 if late else 6.0, 6.0),
            ha="right" if late else "left",
            textcoords="offset points", fontsize=9.5, fontweight="bold", color=_colour(worst),
            zorder=8, bbox={"boxstyle": "round,pad=0.12", "fc": THEME.paper, "ec": "none",
                            "alpha": 0.8},
        )  # fmt: skip


def _list(figure: "Figure", places: Sequence[Clearance], top: float, tall: float) -> None:
    columns = (0.0, 0.022, 0.20, 0.37, 0.46, 0.53, 0.62)
    heads = ("", "metal", "to", "least, mm", "asked", "", "station, offset, height, mm")
    rows = [
        (
            f"{k + 1}", one.metal, one.obstacle,
            f"{one.least:.1f}", f"{one.asked:g}", one.status,
            "  ".join(f"{v + 0.0:.0f}" for v in one.at.round())
            + ("" if not one.lift else f"  (shaft {one.lift:+.0f})"),
        )
        for k, one in enumerate(places)
    ]  # fmt: skip
    for r, row in enumerate([heads, *rows]):
        for x, text in zip(columns, row, strict=True):
            colour = THEME.quiet if r == 0 else THEME.ink
            if r and text in ("overlap", "too near"):
                colour = THEME.load
            figure.text(_LEFT / _WIDE + x, top - r * _ROW / tall, text[:40], fontsize=9.5,
                        va="top", color=colour)  # fmt: skip
