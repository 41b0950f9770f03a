"""What the bench says at once: exact where it can, else an estimate that owns up to its error."""

from typing import Any

import numpy as np
import pytest
from study_frames import setting

from fea.bench.estimate import LEAST, SURE, Both, estimates, missed
from fea.bench.record import Edges, paint_record, scene_record
from fea.bench.server import Turn
from fea.bench.session import Bench, Solved, stiffnesses
from fea.bench.shelf import AtHand, NotAtHandError, Shelf, SupersededError, Watched
from fea.bench.wanted import Wanted, wanted
from fea.solve.condense import Kept, Memory

WALLS = {"rail": {"C150": (0.25, 4.0), "C120": (0.75, 3.5)}, "X1": {"T60": (1.0, 3.0)}}


def both(quick: float, sheet: float) -> Both:
    shares = {"twist": {"rail": 0.6, "X1": 0.4}}
    return Both({"twist": quick, "bending": None}, {"twist": sheet, "bending": None}, shares, WALLS)


def estimate(quick: float, known: list[Both], **more: Any) -> Any:
    given = {"walls": WALLS, "same_parts": True} | more
    return estimates({"twist": quick, "bending": None}, known[0], known, **given)


def test_the_estimate_keeps_the_neighbours_ratio() -> None:
    found = estimate(1100.0, [both(1000.0, 800.0)])
    assert set(found) == {"twist"}
    assert found["twist"].value == pytest.approx(880.0, rel=1e-12)
    assert found["twist"].softer == pytest.approx(1.25, rel=1e-12)
    # the other reading: what the joints add to the give does not change
    constant = 1.0 / (1.0 / 800.0 + 1.0 / 1100.0 - 1.0 / 1000.0)
    assert found["twist"].error >= abs(880.0 / constant - 1.0) + LEAST * np.log(1.1) - 1e-12


def test_nothing_changed_is_told_as_surest_and_more_change_as_less_sure() -> None:
    known = [both(1000.0, 800.0)]
    errors = [estimate(1000.0 * s, known)["twist"].error for s in (1.0, 1.05, 1.2, 1.5)]
    assert errors[0] == SURE
    assert errors == sorted(errors)
    thin = WALLS | {"rail": {"C150": (0.25, 3.0), "C120": (0.75, 3.5)}}
    cube = (4.0 / 3.0) ** 3 - 1.0
    told = estimate(1000.0, known, walls=thin)["twist"].error
    assert told == pytest.approx((1.0 - 0.8) * 0.6 * 0.5 * cube, rel=1e-9)
    other = WALLS | {"rail": {"worn": (1.0, 3.625 * 0.75)}}
    told = estimate(1000.0, known, walls=other)["twist"].error
    assert told == pytest.approx((1.0 - 0.8) * 0.6 * cube, rel=1e-9)
    assert estimate(1050.0, known, same_parts=False)["twist"].error > errors[1]


def test_misses_that_were_seen_count() -> None:
    seen = [both(1000.0, 800.0), both(1200.0, 800.0 * 1.2**1.5)]
    assert missed(seen, "twist") == pytest.approx(0.5, rel=1e-9)
    assert missed(seen, "bending") == 0.0
    alone = estimate(1100.0, seen[:1])["twist"].error
    assert estimate(1100.0, seen)["twist"].error > alone


def piece(megabytes: int) -> Kept:
    none = np.zeros(0)
    whole = none.astype(int)
    big = np.zeros((megabytes, 250_000), dtype=np.float32)
    return Kept(none, big, none, whole, none, none, none, whole, none)


def test_a_shelf_holds_so_much_and_fetches_the_rest(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fea.bench.shelf.MOST", 3.5e6)
    behind = Memory()
    shelf = Shelf(lambda: behind)
    for name in "abcd":
        shelf.put(name, piece(1))
    assert shelf.at_hand("a") is None
    assert shelf.at_hand("d") is not None
    with pytest.raises(NotAtHandError):
        AtHand(shelf).get("a")
    assert shelf.get("a") is not None
    assert AtHand(shelf).get("a") is not None
    assert shelf.get("none") is None


def test_nobody_waits_any_more() -> None:
    store = Memory()
    watched = Watched(store, lambda: False)
    watched.put("a", piece(1))
    assert store.get("a") is not None
    with pytest.raises(SupersededError):
        watched.get("a")


def test_only_the_latest_question_is_answered() -> None:
    turn = Turn()
    first = turn.take()
    assert first()
    second = turn.take()
    assert (first(), second()) == (False, True)
    bench = Bench(setting("ladder_tubes"))
    with pytest.raises(SupersededError):
        bench.sheet(wanted({}, bench.controls), first)


@pytest.fixture(scope="module")
def worked() -> tuple[Bench, Wanted, Solved]:
    bench = Bench(setting("ladder_tubes"))
    start = wanted({}, bench.controls)
    assert bench.at_once(start).joints == "beam"
    assert not bench.at_once(start).estimates
    return bench, start, bench.sheet(start)


def test_what_was_worked_out_is_answered_with_at_once(
    worked: tuple[Bench, Wanted, Solved],
) -> None:
    bench, start, solved = worked
    again = bench.at_once(start)
    assert (again.joints, again.kept) == ("sheet", True)
    assert again.answers is solved.answers
    bench._sheet.clear()  # the solution is lost, its metal is at hand
    found = bench.at_once(start)
    assert (found.joints, found.kept) == ("sheet", False)
    assert stiffnesses(found) == stiffnesses(solved)


def test_a_neighbour_is_estimated_and_drawn_to_scale(worked: tuple[Bench, Wanted, Solved]) -> None:
    bench, _, solved = worked
    path = next(s.path for s in bench.controls.sliders if s.group == "walls")
    near = bench.at_once(wanted({"values": {path: "3.3 mm"}}, bench.controls))
    assert near.joints == "beam"
    assert not near.at_hand
    found, quick = near.estimates["twist"], stiffnesses(near)["twist"]
    start = bench._both[wanted({}, bench.controls)]
    assert found.value / stiffnesses(solved)["twist"] == pytest.approx(  # type: ignore[operator]
        quick / start.quick["twist"],
        rel=1e-12,  # type: ignore[operator]
    )
    record = scene_record(near, 0, Edges())
    plain = scene_record(
        bench.quick(wanted({"values": {path: "3.3 mm"}}, bench.controls)), 0, Edges()
    )
    assert record["figures"][0]["value"] == found.value
    assert "estimated" in record["figures"][0]["text"]
    drawn, own = (np.array(r["profile"]["curves"][0]["values"]) for r in (record, plain))
    np.testing.assert_allclose(drawn, own * quick / found.value, rtol=1e-12, atol=1e-15)


def test_shape_first_and_stress_afterwards_are_the_whole(
    worked: tuple[Bench, Wanted, Solved],
) -> None:
    _, _, solved = worked
    whole = scene_record(solved, 0, Edges())
    shape = scene_record(solved, 0, Edges(), whole=False)
    paint = paint_record(solved, 0, Edges())
    assert shape["walls"]["hang"] == paint["walls"]["hang"] == whole["walls"]["hang"]
    assert "fields" not in shape["walls"]
    assert shape["walls"]["edges"] == ""
    for key in ("fields", "edges", "inward"):
        assert paint["walls"][key] == whole["walls"][key]
    for key in ("figures", "members"):
        assert paint[key] == whole[key]
    assert shape["profile"] == whole["profile"]
    assert shape["figures"][0] == whole["figures"][0]
    assert shape["figures"][3]["value"] is None
    one, other = (np.frombuffer(unpacked(r), "<f4") for r in (shape, whole))
    np.testing.assert_allclose(one, other, atol=1e-4 * float(np.abs(other).max()))


def unpacked(record: dict[str, Any]) -> bytes:
    import base64

    return base64.b64decode(record["walls"]["movement"])
