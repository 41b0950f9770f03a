"""Placing labels: nothing overlaps, nothing leaves the panel."""

import numpy as np
import pytest

from fea.out.labels import Box, Cover, Label, place

PANEL = Box(0.0, 0.0, 800.0, 500.0)


def crowd(seed: int, n: int) -> list[Label]:
    rng = np.random.default_rng(seed)
    points = rng.uniform((300.0, 200.0), (420.0, 260.0), size=(n, 2))  # all in one small spot
    sizes = rng.uniform((40.0, 12.0), (120.0, 30.0), size=(n, 2))
    ways = rng.normal(size=(n, 2))
    return [
        Label((p[0], p[1]), (s[0], s[1]), (w[0], w[1]))
        for p, s, w in zip(points, sizes, ways, strict=True)
    ]


@pytest.mark.parametrize("seed", [3, 11, 29])
def test_a_crowd_of_labels_does_not_overlap(seed: int) -> None:
    taken = [Box(340.0, 210.0, 380.0, 250.0)]
    seats = place(crowd(seed, 22), PANEL, taken=taken, gap=(5.0, 2.0))
    boxes = taken + [seat.box for seat in seats if seat is not None]
    assert len(boxes) == 23
    for k, a in enumerate(boxes):
        assert PANEL.holds(a)
        for b in boxes[k + 1 :]:
            assert not a.touches(b, (5.0, 2.0))


def test_a_lone_label_stands_on_the_side_it_wants() -> None:
    for way in ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)):
        (seat,) = place([Label((400.0, 250.0), (60.0, 20.0), way)], PANEL)
        assert seat is not None
        middle = (0.5 * (seat.box.left + seat.box.right), 0.5 * (seat.box.bottom + seat.box.top))
        assert (middle[0] - 400.0) * way[0] + (middle[1] - 250.0) * way[1] > 10.0


def test_a_label_avoids_what_is_drawn() -> None:
    mask = np.zeros((500, 800), dtype=bool)
    mask[:, 400:] = True  # the right half is the frame
    (seat,) = place([Label((405.0, 250.0), (60.0, 20.0), (1.0, 0.0))], PANEL,
                    cover=Cover(mask, 1.0))  # fmt: skip
    assert seat is not None
    assert seat.box.right <= 400.0


def test_far_labels_get_a_leader_that_ends_at_the_point() -> None:
    label = Label((400.0, 250.0), (60.0, 20.0))
    (seat,) = place([label], PANEL, taken=[Box(350.0, 200.0, 450.0, 300.0)])
    assert seat is not None
    assert seat.leader is not None
    assert seat.leader[1] == label.point


def test_no_room_is_said() -> None:
    assert place([Label((5.0, 5.0), (60.0, 20.0))], Box(0.0, 0.0, 50.0, 50.0)) == [None]


def test_cover_counts_like_the_mean_of_the_mask() -> None:
    mask = np.random.default_rng(5).random((60, 90)) < 0.3
    cover = Cover(mask, 2.0)
    for x0, y0, x1, y1 in ((0, 0, 90, 60), (3, 7, 40, 21), (88, 58, 90, 60)):
        box = Box(2.0 * x0, 2.0 * y0, 2.0 * x1, 2.0 * y1)
        assert cover.share(box) == pytest.approx(mask[y0:y1, x0:x1].mean())
