"""Charts of ties: nothing touches, everything is told, files are whole."""

import sys
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from texts import text_boxes, touching
from vehicles import VEHICLES, prepared

from fea.errors import MissingExtraError
from fea.out import tie_panels
from fea.out.palette import THEME
from fea.out.tie_chart import page, write_tie_charts
from fea.study.tie_sweep import TieSweep, sweep
from fea.study.ties import TieStudy, solved

THREE = ("rubber", "urethane", "solid")
EVERY = ("rubber 50", "rubber 60", "rubber 70", "urethane 80", "urethane 90", "soft rubber",
         "rubber", "urethane", "hard urethane", "solid")  # fmt: skip


@cache
def made(name: str, body: str, grades: tuple[str, ...] = THREE) -> tuple[TieStudy, TieSweep]:
    study = solved(prepared(name, body), grades)
    return study, sweep(study)


def many(count: int) -> tuple[TieStudy, TieSweep]:
    """Return a study in which each candidate stands several times, under other names."""
    study, found = made("harbour_tourer", "open")
    pick = np.arange(count) % len(study.candidates)
    candidates = tuple(
        replace(study.candidates[n], name=f"candidate number {k}") for k, n in enumerate(pick)
    )
    grades = tuple(replace(g, outcomes=tuple(g.outcomes[n] for n in pick)) for g in study.grades)
    return (
        replace(study, candidates=candidates, grades=grades),
        replace(found, gains=found.gains[pick]),
    )


@pytest.mark.picture
@pytest.mark.parametrize("grades", [THREE, EVERY, ("as fitted",)])
@pytest.mark.parametrize(("name", "body"), [VEHICLES[0], VEHICLES[3]])
def test_no_two_texts_touch(name: str, body: str, grades: tuple[str, ...]) -> None:
    figure = page(*made(name, body, grades), body, 1600)
    assert touching(figure) == []


@pytest.mark.picture
@pytest.mark.parametrize("count", [1, 2, 8, 9, 20])
def test_up_to_eight_have_a_colour_of_more_the_best_six(count: int) -> None:
    figure = page(*many(count), "open", 1600)
    assert touching(figure) == []
    (axes,) = (a for a in figure.axes if a.get_xscale() == "log")
    curves = [line for line in axes.lines if len(line.get_xdata()) == 15]
    grey = [line for line in curves if line.get_color() == THEME.ghost_edge]
    assert len(curves) == count
    assert len(grey) == (0 if count <= 8 else count - 6)
    named = {text for text, _ in text_boxes(figure)}
    assert len({t for t in named if t.startswith("candidate number")}) == min(count, 14)
    assert (f"grey: the other {count - 6}" in named) == (count > 8)
    assert (f"the best 14 of {count}" in named) == (count > 14)


def test_names_stand_where_the_curves_are_clear_of_each_other() -> None:
    fan = np.array([[1.0, 1.0], [1.0, 2.0], [1.0, 3.0]])
    assert tie_panels._clear_end(fan) == -1
    assert tie_panels._clear_end(fan[:, ::-1]) == 0


@pytest.mark.picture
def test_the_curves_are_the_sweep_s_and_the_bars_the_study_s() -> None:
    study, found = made("orchard_pickup", "closed")
    figure = page(study, found, "closed", 1600)
    (axes,) = (a for a in figure.axes if a.get_xscale() == "log")
    drawn = [line.get_ydata() for line in axes.lines if len(line.get_xdata()) == 15]
    order = tie_panels.ranked(study)
    assert np.array(drawn[::-1]) == pytest.approx(100.0 * found.gains[order])
    gain, load = (a for a in figure.axes if a.patches)
    widths = [[p.get_width() for p in a.patches] for a in (gain, load)]
    by_grade = [(g, n) for g in study.grades for n in order]
    assert widths[0] == pytest.approx([100.0 * g.outcomes[n].twist_gain for g, n in by_grade])
    assert widths[1] == pytest.approx([g.outcomes[n].force for g, n in by_grade])
    units = " ".join(a.get_xlabel() + a.get_ylabel() for a in figure.axes)
    for words in ("N/mm", "%", "station, mm", "deg", "N per degree"):
        assert words in units
    texts = {text for text, _ in text_boxes(figure)}
    assert {"rubber", "urethane", "solid", "Orchard pickup, closed body: one more tie"} <= texts


def test_at_most_four_grades_have_bars_the_extremes_among_them() -> None:
    study, _ = made("harbour_tourer", "open", EVERY)
    shown = tie_panels.shown_grades(study)
    twist = [g.bare.twist for g in shown]
    assert len(shown) == 4
    assert twist == sorted(twist)
    every = [g.bare.twist for g in study.grades]
    assert (twist[0], twist[-1]) == (min(every), max(every))


@pytest.mark.picture
def test_a_png_and_an_svg_that_comes_out_the_same_twice(tmp_path: Path) -> None:
    from matplotlib.image import imread

    study, found = made("harbour_tourer", "open")
    write_tie_charts(study, found, tmp_path / "deep" / "c.png", width=700)
    assert imread(tmp_path / "deep" / "c.png").shape[1] == 700
    first, second = tmp_path / "a.svg", tmp_path / "b.svg"
    for path in (first, second):
        write_tie_charts(study, found, path)
    assert first.read_bytes() == second.read_bytes()
    text = first.read_text(encoding="utf-8")
    ET.fromstring(text)
    assert "<!-- Harbour tourer, body: one more tie -->" in text
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.svg", "b.svg", "deep"]


def test_without_matplotlib(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    study, found = made("harbour_tourer", "open")
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    monkeypatch.setattr("fea.out.tie_chart.find_spec", lambda _: None)
    with pytest.raises(MissingExtraError, match="needs matplotlib"):
        write_tie_charts(study, found, tmp_path / "c.png")
    assert not list(tmp_path.iterdir())
