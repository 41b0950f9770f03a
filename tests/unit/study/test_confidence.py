"""Tolerances: how they are read, drawn and told to first order."""

import numpy as np
import pytest
from study_frames import setting

from fea import units
from fea.document.edit import edited
from fea.document.read import read_frame
from fea.errors import DocumentError, ModelError
from fea.study.confidence import _odds, confidence
from fea.study.tolerances import tolerances
from fea.study.variant import Setting, Variant, measure


@pytest.mark.parametrize(
    ("text", "kind", "mean", "half"),
    [
        ("3.0 +- 0.2 mm", "thickness", 3.0, 0.2),
        ("3.0 ± 0.2 mm", "thickness", 3.0, 0.2),
        ("3 mm +/- 0.01 in", "thickness", 3.0, 0.254),
        ("11 ga +- 0.1 mm", "thickness", 0.1196 * 25.4, 0.1),
        ("400 to 600 N/mm", "stiffness", 500.0, 100.0),
        ("3e8 +- 1e7 N mm/rad", "rotational_stiffness", 3e8, 1e7),
        ("1/8 to 3/16 in", "thickness", 25.4 * 5.0 / 32.0, 25.4 / 32.0),
        ("-5 +- 2 mm", "length", -5.0, 2.0),
        ("120 mm", "length", 120.0, 0.0),
    ],
)
def test_a_spread_is_a_mean_and_a_half_width(
    text: str, kind: str, mean: float, half: float
) -> None:
    assert units.parse_spread(text, kind) == pytest.approx((mean, half), rel=1e-12)


@pytest.mark.parametrize("text", ["3 + 2 mm", "6 to 4 mm", "3 +- -1 mm", "3 +- mm", "3 to", "to"])
def test_a_spread_that_makes_no_sense_is_refused(text: str) -> None:
    with pytest.raises(DocumentError):
        units.parse_spread(text, "length")


def test_a_document_takes_the_mean_and_all_of_a_spread_must_keep_the_limits() -> None:
    frame = setting("orchard_pickup")
    path = "section.C150x60.wall"
    plain = edited(frame.document, {path: "4.1 mm"})
    spread = edited(frame.document, {path: "4.1 +- 0.3 mm"})
    assert spread.section["C150x60"] == plain.section["C150x60"]
    (found,) = tolerances(spread)
    assert (found.path, found.mean, found.half) == (path, 4.1, pytest.approx(0.3))
    assert tolerances(plain) == []
    with pytest.raises(DocumentError, match="greater than 0"):
        edited(frame.document, {path: "0.2 +- 0.3 mm"})


def test_given_tolerances_are_amounts_or_per_cents() -> None:
    document = setting("orchard_pickup").document
    a, b = tolerances(document, {"mount.M1.vertical": "10 %", "rail.wall": "0.2 mm"})
    assert (a.kind, a.mean, a.half) == ("stiffness", 400.0, pytest.approx(40.0))
    assert (b.kind, b.half) == ("thickness", 0.2)
    with pytest.raises(DocumentError, match="tolerance"):
        tolerances(document, {"rail.wall": "0.2 N/mm"})


MADE = """
[section.belly]
shape = "box"
depth = "80 mm"
width = "50 mm"
wall = "3 mm"

[[part]]
name = "boxing"
[[part.boxing]]
rail = "rail"
from = "300 mm"
to = "1100 mm"
plate = "3 mm"

[[part]]
name = "cross"
[[part.crossmember]]
name = "belly box"
station = "1500 mm"
section = "belly"
joint = "web"
"""
PARTS = ("boxing", "cross")


@pytest.fixture(scope="module")
def ladder(tmp_path_factory: pytest.TempPathFactory) -> Setting:
    """Return the teaching ladder with two parts to fit."""
    plain = setting("ladder_web_butt")
    path = tmp_path_factory.mktemp("ladder") / "parts.toml"
    path.write_text(plain.document.origin.text + MADE, encoding="utf-8")
    return Setting(read_frame(path), str(path), plain.cases)


def toleranced(frame: Setting, edits: dict[str, str]) -> Setting:
    """Return a frame with tolerances written in its document."""
    return Setting(edited(frame.document, edits), frame.source, frame.cases)


def test_small_tolerances_are_as_first_order_tells(ladder: Setting) -> None:
    frame = toleranced(ladder, {
        "section.rail_channel.wall": "3 +- 0.03 mm",
        "section.belly.wall": "3 +- 0.06 mm",
        "part.boxing.boxing.1.plate": "3 +- 0.1 mm",
    })  # fmt: skip
    found = confidence(frame, tolerances(frame.document), PARTS, draws=20, seed=3)
    for m in ("twist", "bending"):
        for name in (*PARTS, ""):
            spread = found.gains[m][name]
            width = spread.band.high - spread.band.low
            # What is left is of second order: tolerances are 1 to 3 % of their figures.
            assert spread.linear.low == pytest.approx(spread.band.low, abs=0.05 * width + 1e-6)
            assert spread.linear.high == pytest.approx(spread.band.high, abs=0.05 * width + 1e-6)
            assert spread.shares.sum() == pytest.approx(1.0)
    whole = found.gains["twist"][""]
    stock, full = (measure(frame, Variant.of(p)).twist or 0.0 for p in ((), PARTS))
    assert whole.band.nominal == pytest.approx(full / stock - 1.0, rel=1e-10)
    assert found.ranking == PARTS
    assert (found.right, found.first) == (1.0, 1.0)


def test_draws_repeat_and_what_no_figure_touches_is_solved_once(ladder: Setting) -> None:
    frame = toleranced(ladder, {"part.boxing.boxing.1.plate": "2.8 to 3.2 mm"})
    one = confidence(frame, tolerances(frame.document), PARTS, draws=20, seed=5)
    two = confidence(frame, tolerances(frame.document), PARTS, draws=20, seed=5, jobs=2)
    # Stock and the other part alone do not feel the plate.
    assert one.reused == 2 * 20
    assert np.ptp(one.gains["twist"]["cross"].values) == 0.0
    assert np.ptp(one.gains["twist"]["boxing"].values) > 0.0
    np.testing.assert_array_equal(
        one.gains["twist"]["boxing"].values, two.gains["twist"]["boxing"].values
    )


def test_odds_of_a_ranking() -> None:
    right, first, ahead = _odds([
        np.array([3.0, 3.0, 1.5, 3.0]),
        np.array([2.0, 0.5, 2.0, 2.0]),
        np.array([1.0, 1.0, 1.0, 1.0]),
    ])  # fmt: skip
    assert (right, first) == (0.5, 0.75)
    assert ahead.tolist() == [0.75, 0.75]


def test_no_tolerance_is_told() -> None:
    with pytest.raises(ModelError, match="no figure carries a tolerance"):
        confidence(setting("harbour_tourer"), [], ("boxing_side",))
