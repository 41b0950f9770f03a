"""Rows of the table of joints: pairs in one line, all else as it is."""

from dataclasses import replace

from handmade import SMALL_TUBE, cantilever, two_rails

from fea.cli.joint_rows import joint_rows
from fea.result.metal import JointPeak

FRAME = two_rails(1000.0, 600.0, SMALL_TUBE, SMALL_TUBE, [200.0, 500.0])
RIGHT = JointPeak("X0 on rail right", "rail right", 50.0, 231.0, 300.0, 30.0)
LEFT = replace(RIGHT, joint="X0 on rail left", member="rail left", offset=-300.0)


def names(*peaks: JointPeak) -> list[tuple[str, str]]:
    return [(row[0], row[2]) for row in joint_rows(FRAME, peaks, "si")]


def test_a_pair_is_one_line():
    other = JointPeak("X1 on rail right", "X1", 40.0, 500.0, 280.0, 30.0)
    assert names(RIGHT, other, LEFT) == [
        ("X0 on both rails", "both rails"),
        ("X1 on rail right", "X1"),
    ]
    kink = replace(RIGHT, joint="kink at station 300 on rail right")
    twin = replace(LEFT, joint="kink at station 300 on rail left", von_mises=50.1)
    assert names(twin, kink) == [("kink at station 300 on both rails", "both rails")]
    in_cross = [replace(p, member="X0") for p in (RIGHT, LEFT)]
    assert names(*in_cross) == [("X0 on both rails", "X0")]


def test_what_differs_stays_apart():
    kept = [("X0 on rail right", "rail right"), ("X0 on rail left", "rail left")]
    for change in ({"von_mises": 49.0}, {"station": 235.0}, {"height": -30.0}):
        assert names(RIGHT, replace(LEFT, **change)) == kept
    assert names(RIGHT, replace(LEFT, member="X0")) == [kept[0], ("X0 on rail left", "X0")]
    assert names(RIGHT, replace(LEFT, joint="X1 on rail left"))[0] == kept[0]
    assert names(RIGHT, RIGHT) == [kept[0], kept[0]]


def test_a_frame_without_two_rails():
    rows = joint_rows(cantilever(500.0, SMALL_TUBE), (RIGHT, LEFT), "si")
    assert [row[0] for row in rows] == ["X0 on rail right", "X0 on rail left"]
    assert rows[0][3] == "station 231, height 30"
