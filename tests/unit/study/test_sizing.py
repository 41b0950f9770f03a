"""The search for the least mass, against trying every design."""

from functools import cache
from itertools import product

import numpy as np
import pytest
from study_frames import setting

from fea.document.read import read_frame
from fea.document.split import Split, shared_sections, sized_text, with_splits
from fea.errors import DocumentError, ModelError, SolveError
from fea.frame.build import build_frame
from fea.result.mass import masses
from fea.study.gauges import METRIC, space, thicknesses
from fea.study.patterns import block, patterns, within
from fea.study.relaxed import Tangent, Target, relax
from fea.study.search import Design, Limits
from fea.study.sizing import size
from fea.study.sizing_check import Wanted, size_checked
from fea.study.soundness import largest_loss
from fea.study.variant import measure

GAUGES = ("2 mm", "3 mm", "4 mm")


@cache
def every_design(frame: str, vary: tuple[str, ...]) -> list[Design]:
    """Solve all designs that can be built."""
    designs = space(setting(frame), GAUGES, vary)
    out = []
    for levels in product(*(range(n) for n in designs.shape)):
        parts = designs.fitted(levels)
        if all(bool(k) == parts[w.part] for w, k in zip(designs.walls, levels, strict=True)):
            f = measure(designs.setting, designs.variant(levels))
            out.append(Design(levels, f.steel, f.twist, f.bending))
    return out


@pytest.mark.parametrize(
    ("frame", "vary", "gain"),
    [
        ("harbour_tourer", ("boxing_side", "cross_box"), {"twist": 1.3}),
        ("harbour_tourer", ("boxing_side", "rear_box"), {"twist": 1.2}),  # it replaces a channel
        ("harbour_tourer", ("boxing_side", "cross_box"), {"twist": 1.1, "bending": 0.42}),
        ("orchard_pickup", ("boxing_cab", "mid_tube"), {"twist": 0.9}),  # a shared section
    ],
)
def test_nothing_as_light_reaches_the_target(
    frame: str, vary: tuple[str, ...], gain: dict[str, float]
) -> None:
    designs = space(setting(frame), GAUGES, vary)
    stock = measure(designs.setting, designs.bare)
    targets = [Wanted(m, g, is_gain=True).target(stock) for m, g in gain.items()]
    found = size(designs, targets)
    known = every_design(frame, vary)
    good = sorted((d for d in known if d.reaches(targets)), key=lambda d: d.steel)
    assert 0 < len(good) < len(known) - 2  # neither trivial nor out of reach
    best = found.designs[0]
    assert best.levels == good[0].levels
    assert best.steel == pytest.approx(good[0].steel, rel=1e-12)
    for other in known:
        if other.levels != best.levels and other.steel <= best.steel + 1e-9:
            assert not other.reaches(targets)
    told = [d.steel for d in found.designs]
    assert told == pytest.approx([d.steel for d in good[: len(told)]], rel=1e-12)
    assert found.complete
    assert found.bound <= best.steel + 1e-12
    assert found.relaxed is not None
    assert found.relaxed.steel <= best.steel + 1e-9


def test_steel_adds_up_wall_by_wall() -> None:
    designs = space(setting("orchard_pickup"), GAUGES)
    levels = (1, 3, 2, 0, 2, 3, 1)
    assert designs.steel(levels) == pytest.approx(
        measure(designs.setting, designs.variant(levels)).steel, rel=1e-12
    )


def test_stress_limit_rules_out_designs_one_by_one() -> None:
    designs = space(setting("harbour_tourer"), GAUGES, ("boxing_side", "cross_box"))
    target = [Target("twist", 1.6 * (measure(designs.setting, designs.bare).twist or 0.0))]
    free = size(designs, target)
    limit = 0.99 * (free.designs[0].utilisation or 0.0)
    held = size(designs, target, Limits(stress=limit))
    assert held.strained >= 1
    assert held.designs[0].steel > free.designs[0].steel
    assert all((d.utilisation or 1.0) <= limit for d in held.designs)


def test_out_of_reach_says_how_near() -> None:
    designs = space(setting("harbour_tourer"), ("2 mm",), ("cross_box",))
    stock = measure(designs.setting, designs.bare)
    with pytest.raises(SolveError, match="no design reaches"):
        size(designs, [Target("twist", 3.0 * (stock.twist or 0.0))])


def test_relaxed_optimum_just_reaches_its_target() -> None:
    designs = space(setting("harbour_tourer"), GAUGES, ("boxing_side", "cross_box"))
    stock = measure(designs.setting, designs.bare)
    target = Target("twist", 2.3 * (stock.twist or 0.0))
    found = relax(designs, (True, True), [target])
    assert found.converged
    there = measure(designs.setting, designs.between(found.thickness.tolist(), (True, True)))
    assert there.twist == pytest.approx(target.value, rel=1e-4)


def test_block_rules_out_what_its_rules_say() -> None:
    designs = space(setting("harbour_tourer"), GAUGES, ("boxing_side", "cross_box"))
    here = block(designs, (True, True))
    here.miss((1, 0))
    assert here.under.tolist() == [[True, False, False], [True, False, False], [False] * 3]
    # Told compliance 1.2 - 0.1 (t1 - 3) over the target: beyond it up to 5 mm of the first wall.
    plane = Tangent(Target("twist", 2.0), np.array([3.0, 3.0]), 0.6, np.array([-0.15, 0.0]))
    here.cut(plane, 0.0)
    assert here.beyond.tolist() == [[True] * 3, [True] * 3, [False] * 3]
    assert plane.over_target(np.array([4.0, 2.0])) == pytest.approx(0.9)
    assert here.lightest(here.under | here.beyond) == ((2, 0), pytest.approx(here.steel[2, 0]))


def test_losses_are_found_between_comparable_designs_only() -> None:
    designs = space(setting("harbour_tourer"), GAUGES, ("boxing_side", "rear_box"))
    a = Design((1, 1), 0.1, 100.0, None)
    thicker = Design((2, 1), 0.1, 98.0, None)
    other = Design((3, 0), 0.1, 50.0, None)  # without what replaces a channel: another frame
    worst, pairs = largest_loss(designs, [a, thicker, other], ["twist"])
    assert (worst, pairs) == (pytest.approx(0.02), 1)
    assert within((True, False), (True, False), designs)
    assert not within((True, False), (True, True), designs)


def test_a_shared_section_is_split_and_the_text_keeps_its_comments() -> None:
    frame = setting("orchard_pickup")
    splits = shared_sections(frame.document, ["mid_tube", "rear_box"])
    assert splits == (Split("mid_tube", "T60", "T60 mid_tube"),)
    text = frame.document.origin.text
    new = sized_text(
        text,
        splits,
        {"section.T60 mid_tube.wall": "4 mm", "part.boxing_cab.boxing.1.plate": "2.5 mm"},
        {"mid_tube": True, "boxing_cab": True, "rear_box": False},
    )
    assert [c for c in text.splitlines() if c.startswith("#")] == [
        c for c in new.splitlines() if c.startswith("#")
    ]
    assert 'section = "T60 mid_tube"' in new
    same = with_splits(frame.document, splits)
    before, after = (build_frame(d, source="x") for d in (frame.document, same))
    assert masses(before).steel == masses(after).steel


def test_the_text_written_is_the_design_found(tmp_path) -> None:  # type: ignore[no-untyped-def]
    designs = space(setting("orchard_pickup"), GAUGES)
    levels = (0, 2, 0, 1, 3, 1, 0)
    file = tmp_path / "sized.toml"
    file.write_text(
        sized_text(
            setting("orchard_pickup").document.origin.text,
            designs.splits,
            designs.edits(levels),
            designs.fitted(levels),
        ),
        encoding="utf-8",
    )
    frame = build_frame(read_frame(file), source="x")
    assert masses(frame).steel == pytest.approx(designs.steel(levels), rel=1e-12)
    assert set(frame.fitted) == {p for p, on in designs.fitted(levels).items() if on}


def test_beam_joints_decide_where_asked() -> None:
    designs = space(setting("harbour_tourer"), GAUGES, ("boxing_side",))
    answer = size_checked(designs, [Wanted("twist", 0.6, is_gain=True)], sheet_joints=False)
    assert answer.reached
    assert answer.best.levels == (1,)
    assert answer.targets[0].value == pytest.approx(1.6 * (answer.stock.twist or 0.0))


def test_gauges_are_sorted_and_named() -> None:
    assert thicknesses(()) == METRIC
    assert thicknesses(("3 mm", "11 ga", "2 mm")) == ("2 mm", "3 mm", "11 ga")
    with pytest.raises(DocumentError, match="thickness"):
        thicknesses(("3",))


def test_every_choice_is_there_the_lightest_first() -> None:
    designs = space(setting("harbour_tourer"), GAUGES)
    found = patterns(designs)
    weights = [designs.steel([int(on) for on in p]) for p in found]
    assert weights == sorted(weights)
    assert len(found) == 2 ** len(designs.parts)


def test_unknown_walls_are_refused_with_what_there_is() -> None:
    with pytest.raises(ModelError, match="boxing_side"):
        space(setting("harbour_tourer"), GAUGES, ("sills",))
