"""A welding order drawn: the frame from above, both rails from the side, every run numbered.

Pale runs come early, dark ones late.  In the view from above, the numbers at a crossmember's end
are those of the runs round it; seams are numbered in the side views.
"""

import warnings
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, MissingExtraError
from fea.frame.model import Member
from fea.out import panels
from fea.out.camera import FROM_ABOVE
from fea.out.display import INSTALL_DRAWING
from fea.out.files import write_whole
from fea.out.palette import THEME, hexes
from fea.shop.weld_order import OrderStudy, Outcome

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Array = NDArray[np.float64]

_WIDE = 16.0  # inches
_EDGE, _HEAD, _FOOT, _GAP = 0.35, 1.25, 0.4, 0.35
_ROOM = 120.0
"""Left free round the frame, mm."""
_CLOSE = 0.24
"""Inches that a run's number needs."""


def write_weld_chart(study: OrderStudy, chosen: Outcome, path: Path, *, width: int = 2400) -> None:
    """Write the drawing of an order, as PNG or, by the file's ending, as SVG.

    Parameters
    ----------
    width : int, pixels, of a PNG

    Raises
    ------
    MissingExtraError
        If matplotlib is not installed.
    """
    if find_spec("matplotlib") is None:
        rule = "a drawing of welds needs matplotlib"
        raise MissingExtraError(Complaint(rule, found="not installed", do=INSTALL_DRAWING))
    import matplotlib as mpl

    ending = "svg" if path.suffix.lower() == ".svg" else "png"
    with mpl.rc_context(), warnings.catch_warnings():
        mpl.rcdefaults()  # the user's own matplotlib settings must not reach the page
        mpl.rcParams["text.parse_math"] = False
        mpl.rcParams["svg.hashsalt"] = "plumbrail"  # the same order is the same file
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        figure = page(study, chosen, width)
        stamp = (
            {"Date": None, "Creator": "Plumbrail"} if ending == "svg" else {"Software": "Plumbrail"}
        )
        write_whole(path, lambda part: figure.savefig(part, format=ending, metadata=stamp))


def page(study: OrderStudy, chosen: Outcome, width: int) -> "Figure":
    """Return the drawn page; `width` in pixels."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure as Canvas

    frame = study.model.plan.frame
    every = np.concatenate([m.path for m in frame.members])
    low, high = every.min(axis=0) - _ROOM, every.max(axis=0) + _ROOM
    per_inch = (high[0] - low[0]) / (_WIDE - 2.0 * _EDGE)
    sides = [s for s in ("right", "left", "centre") if _rails(study, s)]
    plan, side = (high[1] - low[1]) / per_inch, (high[2] - low[2]) / per_inch
    tall = _HEAD + plan + len(sides) * (side + _GAP) + _FOOT
    figure = Canvas(figsize=(_WIDE, tall), dpi=width / _WIDE, facecolor=THEME.paper)
    FigureCanvasAgg(figure)
    _heading(figure, study, chosen)
    bottom = tall - _HEAD - plan
    for number in range(1 + len(sides)):
        high_here = plan if number == 0 else side
        place = (_EDGE / _WIDE, bottom / tall, 1.0 - 2.0 * _EDGE / _WIDE, high_here / tall)
        axes = figure.add_axes(place)
        k = 1 if number == 0 else 2
        axes.set_xlim(low[0], high[0])
        axes.set_ylim(low[k], high[k])
        axes.set_axis_off()
        if number == 0:
            _from_above(axes, study, chosen)
        else:
            _from_the_side(axes, study, chosen, sides[number - 1], per_inch)
        title = FROM_ABOVE if k == 1 else f"The {sides[number - 1]} rail"
        figure.text(
            _EDGE / _WIDE, (bottom + high_here) / tall, title, fontsize=10.5, fontweight="bold",
            color=THEME.ink, va="bottom",
        )  # fmt: skip
        bottom -= side + _GAP
    return figure


def _rails(study: OrderStudy, side: str) -> list[Member]:
    frame = study.model.plan.frame
    return [m for m in frame.members if m.kind == "rail" and m.side == side]


def _heading(figure: "Figure", study: OrderStudy, chosen: Outcome) -> None:
    tall = figure.get_figheight()
    plan = study.model.plan
    room = (_WIDE - 2.0 * _EDGE) / _WIDE * figure.get_window_extent().width
    title = figure.text(
        _EDGE / _WIDE, 1.0 - 0.2 / tall, f"{plan.frame.title}: welding order, {chosen.name}",
        fontsize=19.0, fontweight="bold", color=THEME.ink, va="top",
    )  # fmt: skip
    panels.shrink(title, room)
    under = figure.text(
        _EDGE / _WIDE, 1.0 - 0.62 / tall,
        f"{len(plan.runs)} runs; off by {chosen.shape.off:.2f} mm when cold"
        f" ({chosen.low:.2f} to {chosen.high:.2f}), {chosen.worst:.2f} mm at most on the way."
        "  Pale early, dark late.  Parts: " + ", ".join(plan.parts) + ".",
        fontsize=10.5, color=THEME.quiet, va="top",
    )  # fmt: skip
    panels.shrink(under, room)
    figure.text(
        _EDGE / _WIDE, 0.12 / tall,
        "Battery off, fuel tank out, stands instead of a jack. A planning aid, not a"
        " certification: local codes, a licensed welder and a licensed engineer decide.",
        fontsize=8.0, color=THEME.quiet,
    )  # fmt: skip


def _colour(rank: int, n: int) -> str:
    table = hexes()
    return table[round(rank / max(1, n - 1) * (len(table) - 1))]


def _from_above(axes: "Axes", study: OrderStudy, chosen: Outcome) -> None:
    plan = study.model.plan
    for member in plan.frame.members:
        width = 5.0 if member.kind == "rail" else 3.0
        axes.plot(member.path[:, 0], member.path[:, 1], color=THEME.ghost_edge, linewidth=width,
                  solid_capstyle="butt", zorder=1)  # fmt: skip
        if member.kind == "crossmember":
            x, y, _ = member.path[np.argmax(member.path[:, 1])]
            axes.annotate(
                f"{member.name}\n{x:.0f} mm", (x, y), xytext=(0.0, 7.0), ha="center",
                textcoords="offset points", va="bottom", fontsize=7.5, color=THEME.quiet,
            )  # fmt: skip
    at_ends: dict[int, list[int]] = {}
    for rank, number in enumerate(chosen.order):
        run = plan.runs[number]
        colour = _colour(rank, len(chosen.order))
        axes.plot(run.ends[:, 0], run.ends[:, 1], color=colour, linewidth=2.4, zorder=2)
        if run.kind == "end":
            at_ends.setdefault(run.stretch, []).append(rank + 1)
    for stretch, ranks in at_ends.items():
        here = [r for r in plan.runs if r.stretch == stretch]
        middle = np.mean([r.middle for r in here], axis=0)
        inward = -1.0 if middle[1] > 0.0 else 1.0
        left = middle[0] < np.mean(axes.get_xlim())
        axes.annotate(
            ", ".join(map(str, ranks)), (middle[0], middle[1]),
            xytext=(6.0 if left else -6.0, 22.0 * inward), ha="left" if left else "right",
            textcoords="offset points", fontsize=7.5, color=THEME.ink, va="center", zorder=4,
            bbox={"facecolor": THEME.paper, "edgecolor": "none", "pad": 0.8, "alpha": 0.85},
        )  # fmt: skip


def _from_the_side(
    axes: "Axes", study: OrderStudy, chosen: Outcome, side: str, per_inch: float
) -> None:
    plan = study.model.plan
    for member in _rails(study, side):
        axes.plot(member.path[:, 0], member.path[:, 2], color=THEME.ghost_edge, linewidth=1.2,
                  zorder=1)  # fmt: skip
    mine = [(k, plan.runs[n]) for k, n in enumerate(chosen.order)]
    seams = [(k, r) for k, r in mine if r.kind == "seam" and r.side == side]
    shortest = min((float(np.ptp(r.ends[:, 0])) for _, r in seams), default=1.0)
    every = max(1, int(np.ceil(0.5 * _CLOSE * per_inch / max(1.0, shortest))))
    counted: dict[str, int] = {}
    for rank, run in sorted(seams, key=lambda item: float(item[1].middle[0])):
        axes.plot(run.ends[:, 0], run.ends[:, 2], color=_colour(rank, len(chosen.order)),
                  linewidth=3.2, solid_capstyle="butt", zorder=2)  # fmt: skip
        nth = counted[run.edge] = counted.get(run.edge, -1) + 1
        if nth % every:
            continue
        above = run.edge in ("top", "right")
        away = 4.0 + 7.5 * (nth // every % 2)  # neighbours stand in two rows
        axes.annotate(
            str(rank + 1), (run.middle[0], run.middle[2]), xytext=(0.0, away if above else -away),
            textcoords="offset points", fontsize=6.5, color=THEME.ink, ha="center",
            va="bottom" if above else "top", zorder=3,
        )  # fmt: skip
