"""Wear told as a range: read, carried to bands, and kept to by a fit."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from stand_test import LADDER, rig, table, with_values

from fea.document.find import find_case, find_frame
from fea.document.read import read_case, read_frame
from fea.errors import DocumentError
from fea.frame.build import build_frame
from fea.frame.build_case import build_case
from fea.store import store
from fea.study.confidence import confidence
from fea.study.fit import document_text, fit, rig_for
from fea.study.fit_csv import read_readings
from fea.study.fit_model import Rig
from fea.study.fit_words import sentences
from fea.study.keys import key_at
from fea.study.tolerances import tolerances
from fea.study.variant import Setting, Variant, measure

BOXES = LADDER.replace(
    'shape = "channel"\ndepth = "120 mm"\nflange = "50 mm"',
    'shape = "box"\ndepth = "120 mm"\nwidth = "50 mm"',
).replace(
    'joint = "bolted"\njoint_stiffness = { move = "10 kN/mm", turn = "1.5e7 N mm/rad" }',
    'joint = "web"',
)
"""The ladder of tubes alone, welded: thin closed walls are as stiff as they are thick."""

PLACES = (("rail", "rail"), ("member", "A"), ("member", "B"), ("member", "C"))


def worn(loss: str, places: tuple[tuple[str, str], ...] = PLACES, key: str = "loss") -> str:
    return "".join(f'\n[[wear]]\n{kind} = "{n}"\n{key} = "{loss}"\n' for kind, n in places)


def setting(folder: Path, text: str) -> Setting:
    path = folder / "worn.toml"
    path.write_text(text, encoding="utf-8")
    cases = tuple(build_case(read_case(find_case(c))) for c in ("twist", "bending"))
    return Setting(read_frame(path), str(path), cases)


@pytest.mark.parametrize(
    ("loss", "mean", "half"),
    [
        ("5 % to 20 %", 0.125, 0.075),
        ("5 to 20 %", 0.125, 0.075),
        ("12 % +- 4 %", 0.12, 0.04),
        ("12 ± 4 %", 0.12, 0.04),
        ("0 to 20 %", 0.1, 0.1),
        ("12 %", 0.12, 0.0),
    ],
)
def test_per_cents_lost_are_read_with_their_range(
    tmp_path: Path, loss: str, mean: float, half: float
) -> None:
    document = setting(tmp_path, LADDER + worn(loss, PLACES[:1])).document
    read = document.wear[0].loss
    assert read is not None
    assert (read.mean, read.half, read.kind) == (
        pytest.approx(mean, rel=1e-14),
        pytest.approx(half, rel=1e-12, abs=1e-15),
        "share",
    )
    found = tolerances(document)
    if half == 0.0:
        assert found == []
    else:
        assert (found[0].path, found[0].kind) == ("wear.1.loss", "share")
        assert (found[0].mean, found[0].half) == pytest.approx((mean, half), rel=1e-12)
    assert key_at(document, "wear.1.loss").value == pytest.approx(mean, rel=1e-14)


def test_a_share_is_of_each_wall_and_the_middle_counts(tmp_path: Path) -> None:
    """The rails' walls are 4 mm: a tenth is 0.4 mm, told one way or another."""
    texts = [
        worn(loss, PLACES[:1], key)
        for loss, key in (
            ("10 %", "loss"),
            ("5 % to 15 %", "loss"),
            ("0.4 mm", "loss"),
            ("0.3 to 0.5 mm", "loss"),
            ("3.6 mm", "left"),
            ("3.6 +- 0.1 mm", "left"),
        )
    ]
    twists = [measure(setting(tmp_path, LADDER + t), Variant.of(())).twist for t in texts]
    assert twists == pytest.approx([twists[0]] * len(texts), rel=1e-12)


def test_wear_that_is_kept_for_later_is_no_tolerance(tmp_path: Path) -> None:
    text = LADDER + worn("5 % to 20 %", PLACES[:1])
    assert tolerances(setting(tmp_path, text + "applied = false\n").document) == []
    given = {"wear.1.loss": "4 %"}
    (found,) = tolerances(setting(tmp_path, text).document, given)
    assert found.half == pytest.approx(0.04)  # of the wall, as the document writes it
    with pytest.raises(DocumentError, match="loss must not be less than 0 %"):
        tolerances(setting(tmp_path, text).document, {"wear.1.loss": "13 %"})


def test_the_band_of_worn_tubes_is_the_hand_formula(tmp_path: Path) -> None:
    """All walls at 1 - s of their thickness: every stiffness is 1 - s of the new frame's.

    A common loss, so one figure: the same share drawn in four tables would be four figures.
    """
    new = measure(setting(tmp_path, BOXES), Variant.of(()))
    for loss in ("5 %", "20 %"):
        left = 1.0 - float(loss.removesuffix(" %")) / 100.0
        old = measure(setting(tmp_path, BOXES + worn(loss)), Variant.of(()))
        # Bending across a wall goes with its cube: some 1e-3 of these sections.
        assert (old.twist or 0.0) / (new.twist or 1.0) == pytest.approx(left, rel=2e-3)
        assert (old.bending or 0.0) / (new.bending or 1.0) == pytest.approx(left, rel=2e-3)


def test_bands_add_up_by_hand_and_widen_with_the_range(tmp_path: Path) -> None:
    """In tubes alone a share s lost in one part k takes e_k s, and the e_k add up to one."""
    found = {}
    for loss in ("5 % to 20 %", "10 % to 15 %"):
        frame = setting(tmp_path, BOXES + worn(loss))
        found[loss] = confidence(frame, tolerances(frame.document), (), draws=20, seed=3)
    wide, narrow = found.values()
    for m in ("twist", "bending"):
        assert narrow.stock[m].band.nominal == pytest.approx(wide.stock[m].band.nominal, rel=1e-12)
        # Per half of 7.5 %, of a stiffness that is 87.5 % of the new one's; cubes as above.
        told = -wide.stock[m].effects.sum() / wide.stock[m].band.nominal
        assert told == pytest.approx(0.075 / 0.875, rel=0.01)
        one, two = wide.stock[m].effects, narrow.stock[m].effects
        np.testing.assert_allclose(one, 3.0 * two, atol=1e-4 * np.abs(one).max())
        for band in ("band", "linear"):
            halves = [getattr(study.stock[m], band).half for study in (wide, narrow)]
            assert halves[0] == pytest.approx(3.0 * halves[1], rel=0.02)


def metal(folder: Path) -> Setting:
    """Return the teaching ladder with its middle tube worn, sheet metal coarse."""
    text = find_frame("ladder_tubes").read_text(encoding="utf-8")
    frame = setting(folder, text + worn("5 % to 40 %", (("member", "X3"),)))
    return replace(frame, sheet_joints=True, coarse=3.0)


def test_sheet_metal_is_solved_at_the_ends_and_drawn_between(tmp_path: Path) -> None:
    frame = metal(tmp_path)
    found = confidence(frame, tolerances(frame.document), (), draws=20, seed=3)
    assert found.solves == 4  # the middle, both ends, one draw
    twist = found.stock["twist"]
    ends = [
        measure(frame, Variant.of((), edits={"wear.1.loss": loss}), store()).twist or 0.0
        for loss in ("40.0 %", "5.0 %")
    ]
    assert twist.effects[0] == pytest.approx(0.5 * (ends[0] - ends[1]), rel=1e-9)
    assert ends[0] < twist.values.min() < twist.band.nominal < twist.values.max() < ends[1]
    assert found.miss is not None
    # A parabola in the logarithm over a third of the wall: the cubic rest is small.
    assert 0.0 < found.miss < 0.01 * (ends[1] - ends[0]) / ends[0]


def test_a_fit_in_sheet_metal_finds_what_was_planted(tmp_path: Path) -> None:
    frame = metal(tmp_path)
    built = build_frame(frame.document, source=frame.source)
    stood: Rig = rig_for(
        frame, built, read_readings(table((700, 2000)), "made up"), ("wear.1.loss",), store=store()
    )
    (unknown,) = stood.unknowns
    assert (unknown.lower, unknown.upper) == pytest.approx((0.15, 1.2), rel=1e-12)
    found = fit(with_values(stood, stood.predicted(np.array([0.75]))))
    # Metal is meshed anew at every trial: the search ends within its small jumps.
    assert found.x[0] == pytest.approx(0.75, abs=2e-3)
    written = re.search(r'^loss = "([0-9.]+) %"$', document_text(found, "made.csv"), re.MULTILINE)
    assert written is not None
    assert float(written[1]) == pytest.approx(100.0 * found.x[0] / 3.0, rel=1e-8)


def test_a_range_bounds_what_a_fit_looks_for(tmp_path: Path) -> None:
    more = worn("0.2 to 0.6 mm", PLACES[:1])
    inside = rig(tmp_path, (700, 2100), ("stretches",), more)
    truth = np.array([0.45])
    found = fit(with_values(inside, inside.predicted(truth)))
    np.testing.assert_allclose(found.x, truth, atol=1e-6)
    assert found.low[0] >= 0.2
    assert found.high[0] <= 0.6
    # What wore more than the document allows is told.
    far = fit(with_values(inside, inside.predicted(np.array([0.9]))))
    assert far.x[0] == pytest.approx(0.6, abs=1e-3)
    assert any("upper end of its range in the document" in s for s in sentences(far, None))


def test_a_range_that_is_not_looked_for_is_told_and_counts_with_its_middle(tmp_path: Path) -> None:
    stood = rig(tmp_path, names=("joints",), more=worn("5 % to 15 %", PLACES[:1]))
    assert stood.asked.notes[-1].startswith(
        "wear.1.loss is told as a range and taken at its middle, 10.0 %"
    )
    plain = rig(tmp_path, names=("joints",), more=worn("0.4 mm", PLACES[:1]))
    np.testing.assert_allclose(
        stood.predicted(np.zeros(1)), plain.predicted(np.zeros(1)), rtol=1e-10
    )
    assert plain.asked.notes == ()


def test_a_figure_with_a_tolerance_is_looked_for_from_its_middle(tmp_path: Path) -> None:
    text = LADDER.replace('wall = "3 mm"', 'wall = "2.8 to 3.2 mm"')
    path = tmp_path / "ranged.toml"
    path.write_text(text, encoding="utf-8")
    document = read_frame(path)
    frame = build_frame(document, source=str(path))
    stood = rig_for(
        Setting(document, str(path), ()),
        frame,
        read_readings(table((700,)), "made up"),
        ("section.cross.wall",),
    )
    assert stood.asked.edits([np.log(1.1)]) == {"section.cross.wall": "3.3 mm"}
