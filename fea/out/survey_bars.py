"""The measures of a survey as bars: the band of each beside its tolerance."""

from math import degrees
from typing import TYPE_CHECKING, Any

from fea.out import panels
from fea.out.palette import THEME
from fea.shop import survey_words as words
from fea.shop.survey import Judged, Surveyed
from fea.shop.survey_measures import TITLES

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

COLOURS = {"pass": THEME.curve, "fail": THEME.load, "cannot tell": THEME.quiet}
_WORDS = 0.44
"""Share of the width that the words beside the bars take."""
_FAR = 2.2
"""Times the tolerance at which the axis ends."""


def bars(figure: "Figure", place: panels.Place, found: Surveyed) -> None:
    """Draw a row per measure, its worst place; the axis counts tolerances."""
    panels.heading(figure, place, "Measures, the worst of each, over their tolerances (95 % bands)")
    left, bottom, wide, high = place
    rows = [(title, found.worst(key)) for key, title in TITLES.items()]
    axes = figure.add_axes(
        (left + _WORDS * wide, bottom + 0.018, (1.0 - _WORDS - 0.09) * wide, high - 0.045)
    )
    axes.set_facecolor("none")
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(THEME.quiet)
    axes.tick_params(colors=THEME.quiet, labelsize=8.5, length=3.0)
    axes.set_yticks([])
    axes.set_xticks([-2, -1, 0, 1, 2], ["2", "tolerance", "0", "tolerance", "2"])
    axes.set_xlim(-_FAR, _FAR)
    axes.set_ylim(len(rows) - 0.5, -0.5)
    axes.axvspan(-1.0, 1.0, color=THEME.wash, zorder=0)
    axes.axvline(0.0, color=THEME.rule, linewidth=1.0, zorder=1)
    beside = axes.get_yaxis_transform()
    for k, (title, judged) in enumerate(rows):
        ink: dict[str, Any] = {"va": "center", "transform": beside, "clip_on": False}
        share = _WORDS / (1.0 - _WORDS - 0.09)
        axes.text(-share, k, title, fontsize=9.5, color=THEME.ink, **ink)
        status = "not measured" if judged is None else judged.status
        axes.text(1.02, k, status, fontsize=9.5, fontweight="bold" if status == "fail" else
                  "normal", color=COLOURS.get(status, THEME.quiet), **ink)  # fmt: skip
        if judged is None:
            continue
        text = f"{judged.measure.title}: {words.figure(judged)}; {words.tolerance(judged)}"
        axes.text(-0.7 * share, k, text, fontsize=8.8, color=THEME.quiet, **ink)
        _bar(axes, k, judged)


def _bar(axes: "Axes", row: int, judged: Judged) -> None:
    if judged.tolerance is None or judged.status == "not measured":
        return
    at, half = judged.value / judged.tolerance, judged.half / judged.tolerance
    colour = COLOURS[judged.status]
    low, high = max(at - half, -_FAR), min(at + half, _FAR)
    axes.plot([low, high], [row, row], color=colour, linewidth=5.0, alpha=0.45,
              solid_capstyle="butt", zorder=2)  # fmt: skip
    inside = abs(at) <= _FAR
    mark = "o" if inside else (">" if at > 0.0 else "<")
    axes.plot([min(max(at, -_FAR), _FAR)], [row], mark, ms=6.5, color=colour, zorder=3,
              clip_on=False)  # fmt: skip
    axes.annotate(
        f"{degrees(judged.value):+.2f}" if judged.measure.is_angle else f"{judged.value:+.1f}",
        xy=(min(max(at, -_FAR), _FAR), row), xytext=(0.0, 5.0), textcoords="offset points",
        ha="center", va="bottom", fontsize=7.5, color=colour,
    )  # fmt: skip
