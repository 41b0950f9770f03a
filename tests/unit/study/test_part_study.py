"""What parts buy: figures equal those of direct solves, parts that bar each other, words."""

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from handmade import case

from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.document.schema import FrameDocument
from fea.errors import ModelError
from fea.study.parts import PartStudy, choose_parts, figure, study
from fea.study.parts_record import as_record, as_rows, paragraph
from fea.study.subsets import solve_sets
from fea.study.variant import Setting, Variant, measure
from fea.study.worth import Roll, Thresholds, roll_stiffness, verdict


def plate(name: str, start: int, end: int, side: str = "both") -> str:
    return f"""
[[part]]
name = "{name}"
[[part.boxing]]
rail = "rail"
side = "{side}"
from = "{start} mm"
to = "{end} mm"
plate = "3 mm"
"""


def cross(name: str, station: int, replaces: str = "") -> str:
    gone = f'replaces = ["{replaces}"]' if replaces else ""
    return f"""
[[part]]
name = "{name}"
{gone}
[[part.crossmember]]
name = "C {name}"
station = "{station} mm"
section = "new_box"
joint = "web"
"""


BOX = """
[section.new_box]
shape = "box"
depth = "80 mm"
width = "50 mm"
wall = "3 mm"
"""
MOUNT = """
[[part]]
name = "mounts"
[[part.mount]]
name = "M9"
station = "1300 mm"
offset = "500 mm"
height = "500 mm"
vertical = "500 N/mm"
lateral = "200 N/mm"
"""
BRACE = """
[[part]]
name = "brace"
[[part.brace]]
name = "strut"
path = [{ crossmember = "C box", offset = "0 mm" }, { crossmember = "X3", offset = "0 mm" }]
section = "new_box"
joint = "rigid"
"""
PLAIN = plate("right", 300, 1000, "right") + plate("left", 300, 1000, "left")
PLAIN += cross("box", 1500) + MOUNT


def document(folder: Path, *parts: str) -> FrameDocument:
    text = find_frame("ladder_web_butt").read_text(encoding="utf-8")
    path = folder / "ladder.toml"
    path.write_text(text + BOX + "".join(parts), encoding="utf-8")
    return read_frame(path)


def setting(folder: Path, *parts: str) -> Setting:
    return Setting(document(folder, *parts), "ladder.toml", (case("twist"), case("bending")))


@cache
def whole(folder: Path) -> PartStudy:
    return study(setting(folder, PLAIN), Variant(), workers=1)


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> PartStudy:
    return whole(tmp_path_factory.mktemp("parts"))


# ------------------------------------------------------------------------------- figures


def assert_direct(found: PartStudy) -> None:
    """Compare stock, full, alone and left out with direct solves of the same setting."""
    names = set(found.names)
    wanted = {0: set(), found.full: names}
    for k, name in enumerate(found.names):
        wanted |= {1 << k: {name}, found.full & ~(1 << k): names - {name}}
    for mask, parts in wanted.items():
        direct = measure(found.setting, Variant.of(sorted(parts)))
        assert found.figures[mask].twist == pytest.approx(direct.twist, rel=1e-9)
        assert found.figures[mask].bending == pytest.approx(direct.bending, rel=1e-9)
        assert found.figures[mask].steel == pytest.approx(direct.steel, rel=1e-12)


def test_figures_are_those_of_direct_solves(found: PartStudy) -> None:
    assert_direct(found)
    stock = measure(found.setting, Variant.of([]))
    alone = measure(found.setting, Variant.of(["box"]))
    k = found.names.index("box")
    assert alone.twist is not None
    assert stock.twist is not None
    assert found.gain(k, "twist") == pytest.approx(alone.twist / stock.twist - 1.0, rel=1e-9)
    # 4 x 3 mm walls round 77 x 47 mm, 800 mm long: 744 mm2 less nothing at the ends.
    assert found.mass(k) == pytest.approx(744.0 * 800.0 * 7.85e-9, rel=0.02)


def test_figures_are_those_of_direct_solves_in_metal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With a store of its own, from which the same study then takes no metal but what is there."""
    monkeypatch.setenv("PLUMBRAIL_CACHE", str(tmp_path / "joints"))
    base = setting(tmp_path, cross("box", 1500), MOUNT)
    metal = replace(base, sheet_joints=True, coarse=3.0)
    told: list[str] = []
    found = study(metal, Variant(), workers=1, told=lambda words, done, total: told.append(words))
    assert found.division.setting.sheet_joints
    assert_direct(found)
    assert_shares_sum(found)
    assert "condensing sheet metal" in told
    kept = sorted((tmp_path / "joints").iterdir())
    assert kept
    # The stiffness alone: none is as large as one whole piece.
    assert max(path.stat().st_size for path in kept) < 5e5

    told.clear()
    again = study(metal, Variant(), workers=1, told=lambda words, done, total: told.append(words))
    assert "condensing sheet metal" not in told
    assert again.figures == found.figures
    assert sorted((tmp_path / "joints").iterdir()) == kept


@pytest.mark.slow
def test_stress_in_metal_is_that_of_direct_solves(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With no store of the user's, so that the processes share a folder that passes."""
    monkeypatch.setenv("PLUMBRAIL_CACHE", "")
    metal = replace(setting(tmp_path, cross("box", 1500)), sheet_joints=True, coarse=3.0)
    found = study(metal, Variant(), stress=True, workers=2)
    direct = measure(metal, Variant.of(["box"]), stress=True)
    assert found.figures[1].peak == pytest.approx(direct.peak, rel=1e-6)
    assert found.figures[1].twist == pytest.approx(direct.twist, rel=1e-9)
    lean = measure(metal, Variant.of(["box"]))
    assert lean.twist == pytest.approx(direct.twist, rel=1e-9)
    assert lean.bending == pytest.approx(direct.bending, rel=1e-9)


def assert_shares_sum(found: PartStudy) -> None:
    for m in found.measures:
        shares = [found.share(k, m)[0] for k in range(len(found.names))]
        assert sum(shares) == pytest.approx(found.shared(m), rel=1e-9)
        assert found.shared(m) == pytest.approx(found.ratio(found.full, m) - 1.0, rel=1e-12)


def test_shares_sum_to_what_is_gained(found: PartStudy) -> None:
    assert_shares_sum(found)


def test_parts_that_mirror_each_other_share_alike(found: PartStudy) -> None:
    right, left = found.names.index("right"), found.names.index("left")
    for m in found.measures:
        assert found.share(right, m)[0] == pytest.approx(found.share(left, m)[0], rel=1e-9)
        assert abs(found.share(right, m)[0]) > 1e-3


def test_a_mount_without_a_body_does_nothing(found: PartStudy) -> None:
    k = found.names.index("mounts")
    for m in found.measures:
        assert abs(found.share(k, m)[0]) < 1e-9
        assert abs(found.gain(k, m)) < 1e-9
    assert found.mass(k) == 0.0


def test_the_build_up_follows_the_document(found: PartStudy) -> None:
    assert found.names == ("right", "left", "box", "mounts")
    assert found.steps() == [0, 1, 3, 7, 15]


def test_plates_on_both_sides_help_each_other(found: PartStudy) -> None:
    pair = next(p for p in found.pairs("twist") if {p.first, p.second} == {"right", "left"})
    one, other, both = (
        measure(found.setting, Variant.of(p)).twist
        for p in (["right"], ["left"], ["left", "right"])
    )
    stock = found.figures[0].twist
    assert None not in (one, other, both, stock)
    by_hand = (both - one - other + stock) / stock  # type: ignore[operator]
    assert pair.on_stock == pytest.approx(by_hand, rel=1e-6)


def test_more_processes_change_nothing(found: PartStudy) -> None:
    masks = [3, 0, 5, 3, 1, 2, 4, 7, 6, 8]
    one = solve_sets(found.setting, found.names, masks, workers=1)
    two = solve_sets(found.setting, found.names, masks, workers=2)
    assert list(one) == list(two) == [3, 0, 5, 1, 2, 4, 7, 6, 8]
    for mask, figures in one.items():
        assert two[mask].twist == pytest.approx(figures.twist, rel=1e-12)


def test_random_orders(found: PartStudy) -> None:
    some = study(found.setting, Variant(), orders=12, workers=1)
    assert some.division.shares.n_orders == 12
    for k in range(len(found.names)):
        mean, error = some.share(k, "twist")
        assert abs(mean - found.share(k, "twist")[0]) <= 4.0 * error + 1e-9
    assert some.share(0, "twist")[1] > 0.0
    again = study(found.setting, Variant(), orders=12, workers=1)
    assert (again.division.shares.mean == some.division.shares.mean).all()
    assert [p.on_stock for p in some.pairs("twist")] == pytest.approx(
        [p.on_stock for p in found.pairs("twist")], abs=1e-12
    )


def test_stress(tmp_path: Path) -> None:
    found = study(setting(tmp_path, cross("box", 1500)), Variant(), stress=True, workers=1)
    assert found.measures == ("twist", "bending", "peak")
    direct = measure(found.setting, Variant.of(["box"]), stress=True)
    assert found.figures[1].peak == pytest.approx(direct.peak, rel=1e-9)
    assert found.share(0, "peak")[0] == pytest.approx(found.gain(0, "peak"), rel=1e-9)


# --------------------------------------------------------------- parts that bar each other


def test_of_overlapping_plates_the_later_is_dropped(tmp_path: Path) -> None:
    base = setting(tmp_path, plate("long", 300, 1000), plate("short", 900, 1200))
    names, dropped = choose_parts(base, Variant())
    assert names == ("long",)
    assert [d.name for d in dropped] == ["short"]
    assert "cannot be fitted together with long: two boxing plates must not overlap" in (
        dropped[0].because
    )
    names, dropped = choose_parts(base, Variant(), keep=["short"])
    assert names == ("short",)
    assert [d.name for d in dropped] == ["long"]
    names, dropped = choose_parts(base, Variant(), leave=["long"])
    assert names == ("short",)
    assert dropped[0].because == "left out as asked"


def test_of_two_parts_for_one_piece_the_later_is_dropped(tmp_path: Path) -> None:
    two = cross("one", 1200, "X3"), cross("other", 1200, "X3")
    names, dropped = choose_parts(setting(tmp_path, *two), Variant())
    assert names == ("one",)
    assert "can be replaced by only one part" in dropped[0].because
    with pytest.raises(ModelError, match="replaced by only one part"):
        choose_parts(setting(tmp_path, *two), Variant(), keep=["one", "other"])


def test_a_part_that_leans_on_another_is_dropped(tmp_path: Path) -> None:
    base = setting(tmp_path, cross("box", 1500), BRACE)
    names, dropped = choose_parts(base, Variant())
    assert names == ("box",)
    assert dropped[0].because == "it cannot be fitted without box"


def test_names_that_are_none(tmp_path: Path) -> None:
    base = setting(tmp_path, cross("box", 1500))
    none = replace(measure(base, Variant()), bending=None)
    with pytest.raises(ModelError, match="bending cannot be measured on this frame"):
        figure(none, "bending")
    with pytest.raises(ModelError, match='there is no part "bax"'):
        choose_parts(base, Variant(), leave=["bax"])
    with pytest.raises(ModelError, match="both fitted and left off"):
        choose_parts(base, Variant(), keep=["box"], leave=["box"])
    with pytest.raises(ModelError, match="no part to study"):
        choose_parts(base, Variant(), leave=["box"])


# --------------------------------------------------------------------- is it worth it


ROLL = Roll(4e7, 4e7)  # 2e7 in series


def test_roll_stiffness_by_hand(tmp_path: Path) -> None:
    """Orchard pickup: 0.5 x 45 x 760^2 = 1.2996e7, 0.5 x 50 x 860^2 = 1.849e7 N mm/rad."""
    roll = roll_stiffness(read_frame(find_frame("orchard_pickup")))
    assert isinstance(roll, Roll)
    assert roll.front == pytest.approx(1.2996e7)
    assert roll.rear == pytest.approx(1.849e7)
    assert roll.series == pytest.approx(7.632e6, rel=1e-3)
    assert roll.share(3.0 * roll.series) == pytest.approx(0.75)
    bar = roll_stiffness(read_frame(find_frame("harbour_tourer")))
    assert isinstance(bar, Roll)
    assert bar.front == pytest.approx(0.5 * 25.0 * 1500.0**2 + 250e3 * 180.0 / math.pi)
    lacking = roll_stiffness(document(tmp_path))
    assert lacking == (
        "spring_rate and spring_base of the front axle and spring_rate and spring_base of the"
        " rear axle"
    )


def test_the_share_is_that_of_the_two_spring_model() -> None:
    """Front share of the load transfer, solved as springs, against K / (K + Ks)."""
    front, rear, k = 3.0, 2.0, 5.0
    moments = np.array([1.0, 4.0])

    def share(k: float, front: float, rear: float) -> float:
        turn = np.linalg.solve([[front + k, -k], [-k, rear + k]], moments)
        return float(front * turn[0] / moments.sum())

    free = share(0.0, front, rear)
    stiff = front / (front + rear)
    assert share(1e9, front, rear) == pytest.approx(stiff, rel=1e-6)
    assert (share(k, front, rear) - free) / (stiff - free) == pytest.approx(
        Roll(front, rear).share(k), rel=1e-9
    )


def test_the_words_follow_the_thresholds() -> None:
    soft = verdict(ROLL, 2e7, 6e7)  # 50 % to 75 %
    assert "50 % reaches the tyres" in soft
    assert "75 % with all these parts" in soft
    assert "the driver will notice" in soft
    assert "remains soft" in soft
    assert "0.50 degree stock and 0.25 with" in soft
    assert "less shake" in soft
    stiff = verdict(ROLL, 4e8, 4.4e8)  # 95.2 % to 95.7 %
    assert "will not notice the parts in the balance" in stiff
    assert "less than the 25 %" in stiff
    between = verdict(ROLL, 2e7, 2.1e7)
    assert "will not notice" in between
    assert "remains soft" in between
    assert "the driver will notice" in verdict(ROLL, 4e8, 4.4e8, limits=Thresholds(balance=0.001))
    assert "does not give the rates" in verdict("the rates", 2e7, 6e7)
    assert "3.00 times as stiff" in verdict("the rates", 2e7, 6e7)
    assert "The frame is 3.00 times as stiff" in soft
    assert "not counted here" in soft
    with_body = verdict(ROLL, 2e7, 6e7, body=True)
    assert "Frame and body are 3.00 times as stiff" in with_body
    assert "not counted here" not in with_body
    assert ", 60 % as the document fits it" in verdict(ROLL, 2e7, 6e7, fitted=3e7)


def test_record_and_rows_tell_the_same(found: PartStudy) -> None:
    record = as_record(found)
    rows = as_rows(found)
    assert len(rows) == 1 + len(found.names)
    assert len({len(row) for row in rows}) == 1
    at = {name: k for k, name in enumerate(rows[0])}
    for row, part in zip(rows[1:], record["parts"], strict=True):
        assert row[0] == part["name"]
        assert float(row[at["twist_alone_ratio"]]) == pytest.approx(part["alone"]["twist_ratio"])
        assert float(row[at["twist_shapley_share"]]) == pytest.approx(
            part["twist"]["shapley_share"], rel=1e-6, abs=1e-9
        )
        assert float(row[at["bending_loss_left_out"]]) == pytest.approx(
            part["bending"]["loss_left_out"], rel=1e-6, abs=1e-9
        )
    assert record["worth"]["words"] == paragraph(found)
    assert "does not give" in paragraph(found)
    assert "share_at_the_tyres" not in record["worth"]


def test_beside_shares_stands_what_has_the_same_joints(found: PartStudy) -> None:
    for k in range(len(found.names)):
        assert found.alone(k, "twist") == pytest.approx(found.gain(k, "twist"), abs=1e-12)
    soft = replace(found.division, figures={**found.division.figures, 1: found.figures[0]})
    assert replace(found, division=soft).alone(0, "twist") == 0.0
