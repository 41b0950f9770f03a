"""Random ladder frames, and what all property tests do alike.

Stations are whole multiples of 40 mm, so that no two places lie a hair apart; what then
happens is the subject of `test_close_places`.  Walls and depths are those of vehicles, and
there is a crossmember in every third of the length.  Without that a frame can be as good as
loose: rails 90 x 31 x 2 mm with two crossmembers 20 mm apart at the front have 0.3 N m/deg,
a scaled stiffness matrix with a condition number of 1e8, and round-off of 1e-8.
"""

import tempfile
from itertools import pairwise
from pathlib import Path
from typing import Literal

import numpy as np
from handmade import Cross, Ladder, Plate, Sheet, case
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st

from fea.analyse import Analysis, analyse
from fea.frame.model import Frame
from fea.mesh.discretise import discretise
from fea.result.answer import answers

SEED = 20611
"""Odd, written down: every run tries the same frames."""

MOST_ELEMENTS = 50
"""Per member; round-off grows with the cube of their number or faster."""

DEEP = settings().max_examples >= 1000
"""Asked for by ``pytest tests/properties --hypothesis-profile=deep``."""

PROPERTY = settings(
    deadline=None,
    derandomize=True,
    max_examples=1000 if DEEP else 16,
    # An example that fails is told as found: making it small takes minutes.
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow],
)

STEP = 40


def numbers(least: float, most: float) -> st.SearchStrategy[float]:
    """Return lengths to a tenth of a millimetre."""
    return st.integers(round(10 * least), round(10 * most)).map(lambda n: n / 10)


def stations(least: int, most: int) -> st.SearchStrategy[int]:
    return st.integers(least // STEP, most // STEP).map(lambda n: n * STEP)


@st.composite
def channels(draw: st.DrawFn, least: float, most: float) -> Sheet:
    depth = draw(numbers(least, most))
    sizes = {"depth": depth, "flange": draw(numbers(0.4 * depth, 0.6 * depth))}
    return Sheet("channel", (*sizes.items(), ("wall", draw(numbers(2.5, 5.0)))))


@st.composite
def boxes(draw: st.DrawFn, least: float, most: float) -> Sheet:
    sizes = {"depth": draw(numbers(least, most)), "width": draw(numbers(least, most))}
    return Sheet("box", (*sizes.items(), ("wall", draw(numbers(2.5, 5.0)))))


@st.composite
def lipped(draw: st.DrawFn) -> Sheet:
    depth, wall = draw(numbers(60.0, 85.0)), draw(numbers(2.5, 4.0))
    sizes = {"depth": depth, "flange": draw(numbers(0.4 * depth, 0.6 * depth))}
    return Sheet("lipped channel", (*sizes.items(), ("lip", 5.0 * wall), ("wall", wall)))


@st.composite
def hats(draw: st.DrawFn) -> Sheet:
    depth = draw(numbers(50.0, 80.0))
    sizes = {"depth": depth, "width": draw(numbers(0.8 * depth, 1.2 * depth))}
    return Sheet("hat", (*sizes.items(), ("lip", 20.0), ("wall", draw(numbers(2.5, 4.0)))))


@st.composite
def tubes(draw: st.DrawFn) -> Sheet:
    sizes = {"diameter": draw(numbers(40.0, 80.0)), "wall": draw(numbers(2.5, 4.0))}
    return Sheet("tube", tuple(sizes.items()))


@st.composite
def crosses(draw: st.DrawFn, station: float) -> Cross:
    joint = draw(st.sampled_from(["web", "web_and_flanges", "rigid", "bolted"]))
    sheet = draw(st.one_of(channels(60.0, 85.0), boxes(40.0, 80.0), tubes(), lipped(), hats()))
    drop = draw(st.sampled_from([0.0, 0.0, 35.5])) if joint != "web_and_flanges" else 0.0
    ways = ["up", "down"] if sheet.shape == "hat" else ["front", "rear"]
    return Cross(station, sheet, joint, drop, draw(st.sampled_from(ways)))


@st.composite
def ladders(draw: st.DrawFn, plain: bool = False) -> Ladder:
    """Draw a ladder; a plain one is the same left and right."""
    front, length = draw(stations(-800, -200)), draw(stations(2400, 4400))
    rear = front + length
    inner = sorted(draw(st.sets(stations(front + 200, rear - 200), min_size=0, max_size=2)))
    at = [front, *inner, rear]
    rail = draw(channels(100.0, 160.0))
    other = draw(st.one_of(st.just(rail), channels(100.0, 160.0), boxes(70.0, 140.0)))
    offsets = [draw(numbers(350.0, 500.0)) for _ in at]
    heights = [draw(numbers(400.0, 600.0)) for _ in at]
    sheets = [rail if k < len(at) // 2 else other for k in range(len(at))]
    thirds = [front + STEP, front + length // 3, front + 2 * length // 3, rear - STEP]
    where = {draw(stations(a, b)) for a, b in pairwise(thirds)}
    where |= draw(st.sets(stations(front + STEP, rear - STEP), max_size=3))
    axles = (float(front + 200), float(rear - 400))
    seats = [draw(st.sampled_from([(a,), (a - 200.0, a + 200.0)])) for a in axles]
    return Ladder(
        points=tuple(
            (float(x), y, z, s) for x, y, z, s in zip(at, offsets, heights, sheets, strict=True)
        ),
        crosses=tuple(draw(crosses(float(x))) for x in sorted(where)),
        axles=axles,
        seats=(seats[0], seats[1]),
        plates=draw(plates(tuple(at), tuple(sheets), plain)),
    )


@st.composite
def plates(
    draw: st.DrawFn, at: tuple[int, ...], sheets: tuple[Sheet, ...], plain: bool
) -> tuple[Plate, ...]:
    """Draw a plate, or none, on each stretch of channel between two corners."""
    found = []
    for start, end, sheet in zip(at[:-1], at[1:], sheets, strict=False):
        if sheet.shape == "channel" and draw(st.booleans()):
            low = draw(stations(start + STEP, end - 2 * STEP)) if end - start > 100 else start
            high = draw(stations(low + 2 * STEP, max(end, low + 2 * STEP)))
            side = draw(st.sampled_from(["both"] if plain else ["both", "right", "left"]))
            found.append(Plate(float(low), float(min(high, end)), draw(numbers(2.0, 4.0)), side))
    return tuple(found)


def build(ladder: Ladder, system: Literal["mm", "in"] = "mm") -> Frame:
    with tempfile.TemporaryDirectory() as folder:
        return ladder.frame(Path(folder), system)


def stiffnesses(frame: Frame, **options: object) -> np.ndarray:
    """Return twist (N mm/rad) and bending stiffness (N/mm), shape (2,)."""
    return measured(analyse(frame, [case("twist"), case("bending")], **options))


def measured(analysis: Analysis) -> np.ndarray:
    twist, bending = answers(analysis)
    return np.array([twist.twist_stiffness, bending.bending_stiffness])


def finest(frame: Frame, wanted: int) -> int:
    """Return the refinement nearest to the one wanted that keeps to `MOST_ELEMENTS`."""
    most = max(len(nodes) - 1 for _, nodes in discretise(frame).nodes_of.values())
    return max(2, min(wanted, MOST_ELEMENTS // most))
