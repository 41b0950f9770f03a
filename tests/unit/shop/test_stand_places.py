"""Stands: the published places for a uniform bar, statics by hand, and full solves beside."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from handmade import STEEL, demo, member, square_tube, two_rails

from fea.analyse import analyse
from fea.errors import ModelError
from fea.frame.case import Case, Hold, Place, Weight
from fea.frame.model import Frame
from fea.result.mass import masses
from fea.shop.stand_levels import off_level
from fea.shop.stand_places import allowed
from fea.shop.stands import Bench, bench, best, forces_on, heights_on, margin, stand

LONG = 6000.0
NOTHING = replace(STEEL, density=1e-18)


def bars(length: float = LONG) -> Frame:
    """Return two uniform bars held apart by ties that weigh nothing: under symmetric loads they
    only move and tilt as a whole."""
    frame = two_rails(length, 800.0, square_tube(40.0, 3.0), square_tube(40.0, 3.0), [0.0, length])
    light = tuple(
        member(m.name, m.path, square_tube(40.0, 3.0), "crossmember", material=NOTHING)
        if m.kind == "crossmember"
        else m
        for m in frame.members
    )
    return replace(frame, members=light)


def heights_at(on: Bench, stands: list[int]) -> np.ndarray:
    every = np.array(stands)
    forces, settled = forces_on(on, every, np.zeros(len(every)))
    return heights_on(on, every, forces, settled)[::2]  # the right rail


# ------------------------------------------------------------------- published places


def test_the_places_of_least_sag_of_a_uniform_bar() -> None:
    """Least largest deflection: 0.5537 of the length apart (often told as 0.2232 from the ends).

    There the middle and the ends sag alike.  In units of w L^4 / EI, with overhangs a and s
    between the supports: 5 s^4/384 - a^2 s^2/16 and a^4/8 - a (s^3/24 - a^2 s/4).
    """
    a = np.polynomial.Polynomial([0.0, 1.0])
    s = 1.0 - 2.0 * a
    alike = (
        5.0 * s**4 / 384.0 - a**2 * s**2 / 16.0 - a**4 / 8.0 + a * (s**3 / 24.0 - a**2 * s / 4.0)
    )
    (by_hand,) = [r.real for r in alike.roots() if abs(r.imag) < 1e-12 and 0.2 < r.real < 0.25]
    assert 1.0 - 2.0 * by_hand == pytest.approx(0.5537, abs=0.00005)
    step = 0.0005
    near = LONG * np.arange(0.215, 0.2301, step)
    on = bench(bars(), [*near, *(LONG - near[::-1])])
    first = best(on, 2, "max")[0]
    places = on.stations[first.stands[::2] // 2] / LONG
    # A set may lean by a step of the places.
    assert places == pytest.approx([by_hand, 1.0 - by_hand], abs=1.5 * step)
    middle = first.heights[2 * int(np.argmin(np.abs(on.reads - 0.5 * LONG)))]
    assert first.heights[[0, -1]].mean() == pytest.approx(middle, rel=0.05)


def test_ends_are_level_on_the_points_of_airy() -> None:
    """G. B. Airy, "On the flexure of a uniform bar supported by a number of equal pressures ...",
    Memoirs of the Royal Astronomical Society 15 (1846), 157-163: for n supports of equal load
    L / sqrt(n^2 - 1) apart; for two 0.5773 L."""
    off = 0.5 * LONG * (1.0 - 1.0 / np.sqrt(3.0))
    on = bench(bars(), [off, LONG - off])
    heights, x = heights_at(on, [0, 1, 2, 3]), on.reads
    slopes = np.gradient(heights, x, edge_order=2)
    assert abs(slopes[0]) < 2e-3 * np.abs(slopes).max()
    assert abs(slopes[-1]) < 2e-3 * np.abs(slopes).max()


def test_a_bar_shortens_least_on_the_points_of_bessel() -> None:
    """F. W. Bessel, Darstellung der Untersuchungen und Maassregeln ... (1839): 0.5594 L apart,
    where the axis, of constant length, loses least between its ends: half of slope^2 summed."""
    apart = np.array([0.5474, 0.5534, 0.5594, 0.5654, 0.5714])
    off = 0.5 * LONG * (1.0 - apart)
    on = bench(bars(), [*off[::-1], *(LONG - off)])
    lost = []
    for k in range(len(apart)):
        a, b = len(apart) - 1 - k, len(apart) + k
        heights = heights_at(on, [2 * a, 2 * a + 1, 2 * b, 2 * b + 1])
        slopes = np.diff(heights) / np.diff(on.reads)
        lost.append(float(0.5 * (slopes**2) @ np.diff(on.reads)))
    fit = np.polynomial.Polynomial.fit(apart, lost, 4)
    (least,) = [r.real for r in fit.deriv().roots() if abs(r.imag) < 1e-9 and 0.55 < r.real < 0.57]
    assert least == pytest.approx(0.5594, abs=0.0005)  # slopes are of steps of 50 mm


def test_equal_loads_on_the_points_of_airy_leave_the_ends_level() -> None:
    """The same for three and four supports of equal load, whatever heights that takes."""
    for n in (3, 4):
        stations = 0.5 * LONG + LONG / np.sqrt(n**2 - 1.0) * (np.arange(n) - 0.5 * (n - 1))
        on = bench(bars(), stations.tolist())
        equal = np.full(2 * n, on.weight / (2 * n))
        bent = heights_on(on, np.arange(2 * n), equal, np.zeros(3))[::2]
        slopes = np.gradient(bent, on.reads, edge_order=2)
        slopes -= (bent[-1] - bent[0]) / LONG  # the bar may lie askew as a whole
        assert np.abs(slopes[[0, -1]]).max() < 5e-3 * np.abs(slopes).max()


# ------------------------------------------------------------------------- statics


def test_loads_by_the_lever() -> None:
    frame = demo("orchard_pickup")
    on = bench(frame, [-200.0, 2900.0])
    held = stand(on, range(4))
    steel = masses(frame)
    assert on.weight == pytest.approx(steel.steel * 9806.65, rel=1e-9)
    assert on.centre[0] == pytest.approx(steel.centre[0], rel=1e-9)
    front = on.weight * (2900.0 - steel.centre[0]) / 3100.0
    assert held.forces[:2].sum() == pytest.approx(front, rel=1e-8)
    assert held.forces[0] == pytest.approx(held.forces[1], rel=1e-6)
    assert held.heights.max() < 0.2


def test_a_full_solve_says_the_same() -> None:
    """Supports of a load case, one of them raised: reactions are the stands' loads."""
    frame = demo("harbour_tourer", True)
    on = bench(frame, [-100.0, 1400.0, 3000.0], masses=True)
    level = np.array([0.0, 0.0, 0.4, 0.0, 0.0, 0.0])
    held = stand(on, range(6), level)
    assert not len(held.lifted)
    holds = [
        Hold(Place(station=x, side=side), "height", level[2 * k + (side == "left")])
        for k, x in enumerate((-100.0, 1400.0, 3000.0))
        for side in ("right", "left")
    ]
    mean = Place(station=3000.0, side="mean")
    holds += [Hold(mean, "station"), Hold(mean, "offset")]
    holds.append(Hold(Place(station=-100.0, side="mean"), "offset"))
    case = Case("stands", "", "", "none", tuple(holds), weight=Weight(masses=True))
    (solved,) = analyse(frame, [case]).solutions
    assert solved.reactions[:6] == pytest.approx(held.forces, rel=1e-6)


def test_the_best_is_the_best_of_all_solved_one_by_one() -> None:
    on = bench(demo("harbour_tourer"), [-600.0, -100.0, 1000.0, 1900.0, 2800.0])
    for least in ("max", "rms"):
        found = {}
        for pair in combinations(range(5), 2):
            try:
                one = stand(on, [p for k in pair for p in (2 * k, 2 * k + 1)])
            except ModelError:
                continue
            if not len(one.lifted):
                found[pair] = one.sag if least == "max" else one.rms
        first = best(on, 2, least)[0]
        pair = tuple(int(k) // 2 for k in first.stands[::2])
        assert pair == min(found, key=found.__getitem__)
    more = best(on, 3, "max")[0]
    assert more.sag <= best(on, 2, "max")[0].sag


# ----------------------------------------------------------------------- off level


def test_where_a_raised_stand_twists_and_where_one_comes_free() -> None:
    on = bench(demo("orchard_pickup", True), [0.0, 1500.0, 3000.0])
    held = stand(on, range(6))
    tolerance = np.radians(0.05)
    checked = 0
    for k, move in enumerate(off_level(held, tolerance)):
        level = np.zeros(6)
        number = k // 2
        assert move.place == number
        if move.twists is not None:
            level[number] = move.sign * move.twists
            twist = stand(on, range(6), level).twist - held.twist
            assert abs(twist) == pytest.approx(tolerance, rel=1e-6)
            checked += 1
        if move.lifts is not None:
            level[number] = move.sign * move.lifts
            forces = stand(on, range(6), level).forces
            assert move.lifted is not None
            assert abs(forces[move.lifted]) < 1e-5 * on.weight
            level[number] *= 1.02
            assert move.lifted in stand(on, range(6), level).lifted
            checked += 1
    assert checked > 8


def test_four_stands_rock_on_two_of_them_beyond_some_height() -> None:
    on = bench(demo("orchard_pickup", True), [0.0, 2900.0])
    held = stand(on, range(4))
    first = off_level(held, np.radians(0.1))[0]
    assert first.lifts is not None
    before = stand(on, range(4), np.array([0.9 * first.lifts, 0.0, 0.0, 0.0]))
    after = stand(on, range(4), np.array([1.5 * first.lifts, 0.0, 0.0, 0.0]))
    beyond = stand(on, range(4), np.array([2.0 * first.lifts, 0.0, 0.0, 0.0]))
    assert not len(before.lifted)
    assert len(after.lifted) == 1
    assert after.twist == pytest.approx(beyond.twist, rel=1e-6)  # it only tilts further
    assert first.most == pytest.approx(abs(after.twist - held.twist), rel=1e-6)


# ------------------------------------------------------------------------- tipping


def test_how_far_a_centre_is_inside() -> None:
    square = np.array([(0.0, 0.0), (1000.0, 0.0), (1000.0, 600.0), (0.0, 600.0)])
    assert margin(square, np.array([500.0, 300.0])) == pytest.approx(300.0)
    assert margin(square, np.array([100.0, 300.0])) == pytest.approx(100.0)
    assert margin(square, np.array([-50.0, 300.0])) == pytest.approx(-50.0)
    inner = np.vstack([square, [(500.0, 100.0)]])
    assert margin(inner, np.array([500.0, 300.0])) == pytest.approx(300.0)
    three = square[:3]
    far = 200.0 * 1000.0 / np.hypot(1000.0, 600.0)  # right of the long side, by 200 mm of height
    assert margin(three, np.array([500.0, 100.0])) == pytest.approx(min(far, 100.0))


def test_stands_on_one_side_of_the_centre_are_refused() -> None:
    on = bench(demo("orchard_pickup"), [0.0, 500.0, 3000.0])
    with pytest.raises(ModelError, match="must not tip"):
        stand(on, range(4))
    with pytest.raises(ModelError, match="as many places"):
        best(on, 4)
    front = bench(demo("orchard_pickup"), [0.0, 200.0, 500.0])
    with pytest.raises(ModelError, match="no set of the allowed places"):
        best(front, 2)


# --------------------------------------------------------------------------- places


def test_stands_keep_off_kinks_slopes_and_joints() -> None:
    frame = demo("orchard_pickup")
    every = allowed(frame)
    assert {0.0, 1500.0, 2900.0} <= set(every)
    assert not {x for x in every if 2350.0 < x < 2650.0}  # the kick-up
    clear = allowed(frame, step=10.0, clear_joints=True)
    assert all(abs(x - 1560.0) >= 75.0 for x in clear)
    assert set(clear) < set(allowed(frame, step=10.0))
    assert allowed(frame, [(1000.0, 1200.0), (1234.0, 1234.0)]) == [1000, 1100, 1200, 1234]
    with pytest.raises(ModelError, match="under the rails"):
        allowed(frame, [(9000.0, 9000.0)])
    with pytest.raises(ModelError, match="no place is left"):
        allowed(frame, [(2450.0, 2550.0)])
