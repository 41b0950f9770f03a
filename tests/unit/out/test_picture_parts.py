"""Small decisions of the picture page: texts joined, facts split, shares summed up."""

from types import ModuleType

import numpy as np
import pytest

from fea.out.marks import at_one_place, drawn_position, joined, symbols
from fea.out.panels import headline, softest


@pytest.mark.parametrize(
    ("texts", "expected"),
    [([], ""), (["held", "held"], "held"), (["1.3 kN"], "1.3 kN"),
     (["height held", "sideways held"], "height, sideways held"),
     (["height held", "moved 2 mm"], "height held, moved 2 mm"),
     (["a held", "b held", "c held"], "a, b,\nc held")],
)  # fmt: skip
def test_texts_of_one_place(texts: list[str], expected: str) -> None:
    assert joined(texts) == expected


@pytest.mark.parametrize(
    ("value", "expected"),
    [("1.46 x stock: 2310 N m/deg (1704 ft lbf/deg)",
      ("1.46 x stock", "2310 N m/deg (1704 ft lbf/deg)")),
     ("2310 N m/deg (1704 ft lbf/deg)", ("2310 N m/deg", "(1704 ft lbf/deg)")),
     ("1.46 x", ("1.46 x", ""))],
)  # fmt: skip
def test_the_first_fact_is_split(value: str, expected: tuple[str, str]) -> None:
    assert headline(value) == expected


def test_small_shares_are_summed_up_and_none_is_lost() -> None:
    many = tuple((f"bay {k}", v) for k, v in enumerate([30.0, 20, 12, 10, 8, 7, 6, 4, 2, 1]))
    rows = softest(many)
    assert [name for name, _ in rows] == [f"bay {k}" for k in range(6)] + ["4 others"]
    assert sum(v for _, v in rows) == pytest.approx(100.0)
    assert softest((("a", 98.0), ("b", 1.4), ("c", 0.3), ("d", 0.3))) == [
        ("a", 98.0), ("b", 1.4), ("2 others", pytest.approx(0.6))]  # fmt: skip
    assert softest((("a", 99.9), ("b", 0.1))) == [("a", 99.9), ("b", 0.1)]
    assert softest(()) == []


def test_arrows_push_and_wedges_stand_against(sample: ModuleType) -> None:
    scene = sample.build(10, 4)

    def flat(points: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
        return np.asarray(points)[..., [0, 2]]  # level view from the left

    found = symbols(scene, 40.0, flat, 1.0)
    places = at_one_place(scene.marks)
    assert len(found) == len(places) == 6
    assert [s.kind for s in found] == ["load"] * 2 + ["hold"] * 4
    down, up = found[:2]
    for symbol, marks, side in ((down, *list(places.values())[:1], 1.0),
                                (up, *list(places.values())[1:2], -1.0)):  # fmt: skip
        tip = flat(drawn_position(marks[0], scene.walls, 40.0))
        np.testing.assert_allclose(symbol.outlines[0][0], tip)
        assert side * (symbol.outlines[0][:, 1].mean() - tip[1]) > 0.0  # the tail is behind
        assert side * symbol.towards[1] > 0.0


def test_marks_move_with_the_nearest_wall_point(sample: ModuleType) -> None:
    scene = sample.build(10, 4)
    mark = scene.marks[0]
    nearest = np.argmin(np.linalg.norm(scene.walls.points - np.array(mark.position), axis=1))
    np.testing.assert_allclose(
        drawn_position(mark, scene.walls, 25.0) - np.array(mark.position),
        25.0 * scene.walls.movement[nearest],
    )
