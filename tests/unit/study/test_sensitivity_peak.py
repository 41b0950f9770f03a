"""Where the highest stress sits, what comes near it, and when that takes over."""

from dataclasses import replace

import pytest
from handmade import SMALL_TUBE, cantilever, case, section, simply_held, two_rails

from fea.analyse import Solution, analyse
from fea.document.find import find_frame
from fea.document.read import read_frame
from fea.frame.case import Case, Hold, Place, Push, Spread
from fea.result.stress import stresses
from fea.section import shapes
from fea.store import store
from fea.study.keys import NumericKey, key_at
from fea.study.sensitivity import Slope, differences
from fea.study.sensitivity_peak import NEAR, PeakPlace, peak_places, stress_held
from fea.study.sensitivity_peak_record import one_sided, words
from fea.study.variant import Setting, Variant, solve_variant

LOADED = replace(simply_held(), spreads=(Spread(0.0, 2000.0, (0.0, 0.0, -1.0)),))
SAGGING = two_rails(2000.0, 800.0, SMALL_TUBE, SMALL_TUBE, (0.0, 2000.0))


@pytest.fixture(scope="module")
def sagging() -> Solution:
    """Return two rails between supports under an even load."""
    (solution,) = analyse(SAGGING, [LOADED]).solutions
    return solution


def test_a_maximum_along_the_member_is_one_place_a_corner(sagging: Solution) -> None:
    places = peak_places([sagging])
    assert {p.sits for p in places} == {"between nodes"}
    assert {p.distance for p in places} == {1000.0}
    assert len({(p.member, p.corner) for p in places}) == len(places) == 8  # two rails' corners
    low, high = min(p.utilisation for p in places), places[0].utilisation
    assert high == pytest.approx(max(p.utilisation for p in places), rel=1e-9)
    assert low >= (1.0 - NEAR) * high
    assert words(places[0], [LOADED]).endswith("(held; between nodes)")


@pytest.mark.parametrize("refine", [1, 3])
def test_a_place_is_found_again_among_other_nodes(sagging: Solution, refine: int) -> None:
    (other,) = analyse(SAGGING, [LOADED], refine=refine).solutions
    for place in peak_places([sagging]):
        assert stress_held(other, place) == pytest.approx(place.von_mises, rel=1e-9)


def test_a_place_that_is_gone_is_not_found(sagging: Solution) -> None:
    (place, *_) = peak_places([sagging])
    assert stress_held(sagging, replace(place, member="X9")) is None
    assert stress_held(sagging, replace(place, count=0, at=replace(place.at, point=99))) is None


def test_a_bend_is_one_place() -> None:
    """Of a round tube the top and the bottom, not the chords beside them, and at its root."""
    tube = section(shapes.tube(diameter=60.0, wall=3.0))
    hold, push = Hold(Place(station=0.0), "clamped"), Push(Place(station=900.0), (0.0, 0.0, -1e3))
    bent = Case("held", "Held", "", "none", (hold,), (push,))
    found = peak_places(analyse(cantilever(900.0, tube), [bent]).solutions)
    assert {p.sits for p in found} == {"end of the member"}
    heights = sorted(p.corner[2] for p in found)
    assert heights == pytest.approx([-28.5, 28.5], abs=0.05)


def test_with_sheet_metal_it_is_that_of_the_beams_by_differences() -> None:
    cases = (case("twist"),)
    document = read_frame(find_frame("ladder_tubes"))
    frame = Setting(document, "ladder", cases, sheet_joints=True, coarse=2.0)
    kept = store()
    (answer,) = solve_variant(frame, Variant(), kept)
    places = peak_places([answer.solution])
    assert places[0].sits == "edge of sheet metal"
    key = key_at(document, "section.cross_tube.wall")
    found = differences(frame, Variant(), key, store=kept, places=places)
    assert not found.adjoint
    assert len(found.rivals) == len(places) - 1

    def highest(wall: float) -> float:
        edited = Variant.of(edits={key.path: f"{wall} mm"})
        (there,) = solve_variant(frame, edited, kept)
        return max(float(g.von_mises.max()) for g in stresses(there.solution))

    wide = (highest(3.0 + 0.006) - highest(3.0 - 0.006)) / 0.012  # at a step taken already
    assert found.peak == pytest.approx(wide, rel=1e-4)


KEY = NumericKey("rail.wall", "gauge", "thickness", 3.0)


@pytest.mark.parametrize(
    ("gap", "apart", "turns"),
    [
        (0.0, 0.0, False),  # a mirror image
        (0.0, 1.0, True),  # as high, and it moves otherwise
        (0.005, 1.0, True),  # 0.1 mm: 0.1 MPa of 10 MPa make up for half a per cent
        (0.005, -1.0, True),  # the same for one step down
        (0.005, 0.4, False),
    ],
)
def test_who_takes_over_within_a_step(
    sagging: Solution, gap: float, apart: float, turns: bool
) -> None:
    (found, *_) = peak_places([sagging])
    first = replace(found, von_mises=10.0, utilisation=0.1)
    second: PeakPlace = replace(first, utilisation=0.1 * (1.0 - gap))
    slope = Slope(KEY, None, None, 0.0, -2.0, (-2.0 + apart,))
    assert one_sided(slope, [first, second]) is turns
    assert one_sided(replace(slope, rivals=(None,)), [first, second])
    assert not one_sided(replace(slope, peak=None), [first, second])
