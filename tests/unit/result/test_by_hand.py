"""Frames so simple that a page of hand calculation gives the whole answer.

Square tubes, thin-walled, side h at mid-wall, wall t:
A = 4 h t, I = 2/3 t h^3 + h t^3/6 (the walls about their own middle lines, half of them
flat), J = t h^3 + 4/3 h t^3 (cell and walls), shear area 5/3 t h (from the flows' energy),
no warping.
"""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from handmade import STEEL, member, simply_held, square_tube, two_rails

from fea.analyse import analyse
from fea.frame.case import Case, Hold, Place, Push, Spread, Weight
from fea.frame.model import Frame
from fea.load import GRAVITY
from fea.result.answer import Answer, answers
from fea.result.forces import section_forces
from fea.section.properties import properties

EXACT = 1e-9
CLOSE = 1e-6
"""Where shear counts: its area below neglects how thick walls bend by themselves."""

E, G = STEEL.E, STEEL.G


@dataclass(frozen=True)
class Square:
    """Hand values of a square tube."""

    h: float
    t: float

    @property
    def A(self) -> float:
        return 4.0 * self.h * self.t

    @property
    def I(self) -> float:  # noqa: E743
        return 2.0 / 3.0 * self.t * self.h**3 + self.h * self.t**3 / 6.0

    @property
    def J(self) -> float:
        return self.t * self.h**3 + 4.0 / 3.0 * self.h * self.t**3

    @property
    def shear_area(self) -> float:
        """From the shear flow of thin walls: 5/3 t h, but for the thick-wall part of I."""
        return 5.0 / 3.0 * self.t * self.h * (self.I / (2.0 / 3.0 * self.t * self.h**3)) ** 2


RAIL, CROSS = Square(80.0, 4.0), Square(60.0, 3.0)
LENGTH, WIDTH = 2000.0, 800.0


def test_the_hand_values_are_those_of_the_section() -> None:
    p = properties(square_tube(RAIL.h, RAIL.t).midline)
    assert pytest.approx(RAIL.A, rel=1e-12) == p.A
    assert pytest.approx(RAIL.I, rel=1e-12) == p.I1
    assert pytest.approx(RAIL.I, rel=1e-12) == p.I2
    assert pytest.approx(RAIL.J, rel=1e-12) == p.J
    assert p.Cw == 0.0
    assert 1.0 / p.shear[0, 0] == pytest.approx(RAIL.shear_area, rel=CLOSE)


def frame(*stations: float) -> Frame:
    return two_rails(
        LENGTH, WIDTH, square_tube(RAIL.h, RAIL.t), square_tube(CROSS.h, CROSS.t), stations
    )


def solved(frame: Frame, case: Case) -> Answer:
    return answers(analyse(frame, [case]))[0]


# -------------------------------------------------------------------- an H under twist

COUPLE = 1e6  # N mm


def twist() -> Case:
    """The front axle's seats move against each other, the rear axle's are held."""
    usual = simply_held([Push(Place(axle="front"), couple=COUPLE)], "twist")
    front = Hold(Place(axle="front", side="mean"), "height")
    return replace(usual, holds=(front, *usual.holds[1:]))


def test_an_h_frame_in_twist() -> None:
    """Crossmember in the middle: 2 dz/width in front, the same behind, against each other."""
    F, half = COUPLE / WIDTH, LENGTH / 2.0
    bending = F * half**3 / (3.0 * E * RAIL.I)
    shear = F * half / (G * RAIL.shear_area)
    torque = F * LENGTH  # of each rail's two forces about the crossmember
    turn = torque * WIDTH / (G * CROSS.J) / 2.0  # each end of the crossmember, rad
    angle = 2.0 * (bending + shear + turn * half) / WIDTH  # of one axle
    answer = solved(frame(half), twist())
    assert answer.twist_stiffness == pytest.approx(COUPLE / (2.0 * angle), rel=CLOSE)

    # Where the energy is, and the stress of the crossmember: shear alone.
    stored = {s.name: s.energy for s in answer.shares}
    assert stored["X0"] == pytest.approx(torque**2 * WIDTH / (2.0 * G * CROSS.J), rel=EXACT)
    assert stored["rail right"] == pytest.approx(F * (bending + shear), rel=CLOSE)
    assert stored["rail left"] == pytest.approx(stored["rail right"], rel=EXACT)
    assert sum(stored.values()) == pytest.approx(0.5 * COUPLE * 2.0 * angle, rel=CLOSE)
    assert sum(s.share for s in answer.shares) == pytest.approx(1.0, rel=1e-14)
    assert [s.energy for s in answer.shares] == sorted(stored.values(), reverse=True)
    peak = next(p for p in answer.peaks if p.member == "X0")
    # Bredt's flow for the cell's share of the torque, and the wall's own Saint-Venant stress.
    cell = torque * (CROSS.t * CROSS.h**3 / CROSS.J) / (2.0 * CROSS.h**2 * CROSS.t)
    wall = torque * CROSS.t / CROSS.J
    assert peak.von_mises == pytest.approx(np.sqrt(3.0) * (cell + wall), rel=EXACT)
    assert peak.normal == pytest.approx(0.0, abs=1e-6)  # MPa
    assert peak.utilisation == pytest.approx(peak.von_mises / STEEL.yield_stress, rel=1e-14)


def test_the_reactions_of_an_h_frame_in_twist() -> None:
    answer = solved(frame(LENGTH / 2.0), twist())
    forces = {r.place: r.force for r in answer.reactions}
    assert forces["rear axle right, height"] == pytest.approx(-COUPLE / WIDTH, rel=EXACT)
    assert forces["rear axle left, height"] == pytest.approx(COUPLE / WIDTH, rel=EXACT)
    others = [v for k, v in forces.items() if not k.startswith("rear axle") or "height" not in k]
    assert np.max(np.abs(others)) < 1e-6


def test_the_profile_and_the_bays_of_an_h_frame() -> None:
    answer = solved(frame(LENGTH / 2.0), twist())
    line = answer.profile
    assert line is not None
    assert line.stations[0] == 0.0
    assert line.stations[-1] == LENGTH
    assert line.angle[0] > 0.0  # right side up
    assert line.angle[-1] == pytest.approx(0.0, abs=1e-12)
    np.testing.assert_allclose(line.height, 0.0, atol=1e-9 * np.max(np.abs(line.angle)) * WIDTH)
    assert [b.words for b in answer.bays] == ["front axle to X0", "X0 to rear axle"]
    assert [b.share for b in answer.bays] == pytest.approx([0.5, 0.5], rel=1e-9)


def test_bays_of_more_crossmembers_sum_to_one() -> None:
    answer = solved(frame(100.0, 700.0, 1900.0), twist())
    assert len(answer.bays) == 4
    assert sum(b.share for b in answer.bays) == pytest.approx(1.0, rel=1e-12)
    assert answer.bays[0].start == 0.0
    assert answer.bays[-1].end == LENGTH


# ----------------------------------------------------------------- two rails that bend


@pytest.fixture
def bent() -> Answer:
    push = Push(Place(station=700.0), (0.0, 0.0, -1000.0))
    return solved(frame(0.0, LENGTH), simply_held([push], "bending"))


def test_bending_stiffness_of_simple_beams(bent: Answer) -> None:
    """A load at a from one end: F a^2 b^2/3EIL under it, and F ab/GAL from shear."""
    a, b = 700.0, LENGTH - 700.0
    sag = 1000.0 * a**2 * b**2 / (3.0 * E * RAIL.I * LENGTH)
    sag += 1000.0 * a * b / (G * RAIL.shear_area * LENGTH)
    assert bent.bending_stiffness == pytest.approx(2000.0 / sag, rel=CLOSE)
    assert bent.twist_stiffness is None
    assert bent.bays == ()


def test_stress_of_simple_beams(bent: Answer) -> None:
    """M z/I on the flange; shear flow V S/I at its corner beside it."""
    a, b = 700.0, LENGTH - 700.0
    moment = 1000.0 * a * b / LENGTH
    normal = moment * (RAIL.h / 2.0) / RAIL.I
    flow = 1000.0 * b / LENGTH / RAIL.I * RAIL.t * RAIL.h**2 / 4.0  # larger shear, in front
    shear = flow / RAIL.t
    top = bent.peaks[0]
    assert top.member in ("rail left", "rail right")
    assert abs(top.normal) == pytest.approx(normal, rel=EXACT)
    assert top.von_mises == pytest.approx(np.sqrt(normal**2 + 3.0 * shear**2), rel=EXACT)
    assert top.station == pytest.approx(a)
    assert abs(top.height) == pytest.approx(RAIL.h / 2.0)
    assert abs(abs(top.offset) - WIDTH / 2.0) == pytest.approx(RAIL.h / 2.0)


def test_section_forces_of_simple_beams(bent: Answer) -> None:
    """Signs: tension below, so ``M1`` is negative where a load sags the rail."""
    solution = bent.solution
    forces = section_forces(solution, np.array([0.0, 0.5, 1.0]))
    mesh = solution.mesh
    rail = np.flatnonzero(mesh.elements.member == mesh.members.index("rail right"))
    x = np.concatenate([mesh.elements.place[rail, :1] + forces.x[rail]]).ravel()
    sag = np.where(x <= 700.0, x * 1300.0 / LENGTH, (LENGTH - x) * 700.0 / LENGTH) * 1000.0
    np.testing.assert_allclose(forces.M1[rail].ravel(), -sag, atol=1e-9 * np.max(sag))
    front = rail[mesh.elements.place[rail, 1] <= 700.0]
    np.testing.assert_allclose(np.abs(forces.Vz[front]), 650.0, rtol=1e-9)
    for silent in ("N", "Vy", "T", "M2", "B"):
        assert np.max(np.abs(getattr(forces, silent)[rail])) < 1e-5


def test_energy_of_simple_beams(bent: Answer) -> None:
    stored = sum(s.energy for s in bent.shares)
    assert bent.bending_stiffness is not None
    assert stored == pytest.approx(2000.0**2 / (2.0 * bent.bending_stiffness), rel=EXACT)
    crossmembers = [s.share for s in bent.shares if s.name.startswith("X")]
    assert crossmembers == pytest.approx([0.0, 0.0], abs=1e-12)


def test_own_weight_of_simple_beams() -> None:
    """5 w L^4/384 E I and w L^2/8 G A at mid-span; the crossmembers stand on the supports."""
    fr = frame(0.0, LENGTH)
    answer = solved(fr, replace(simply_held(), weight=Weight()))
    w = RAIL.A * STEEL.density * GRAVITY
    stress = w * LENGTH**2 / 8.0 * (RAIL.h / 2.0) / RAIL.I
    rails = [p for p in answer.peaks if p.member.startswith("rail")]
    assert max(abs(p.normal) for p in rails) == pytest.approx(stress, rel=2e-2)
    # Exactly, with a node at mid-span:
    push = Push(Place(station=LENGTH / 2.0), (0.0, 0.0, 0.0))
    answer = solved(fr, replace(simply_held([push]), weight=Weight()))
    peak = max((p for p in answer.peaks if p.member.startswith("rail")), key=lambda p: p.von_mises)
    assert abs(peak.normal) == pytest.approx(stress, rel=EXACT)
    sag = 5.0 * w * LENGTH**4 / (384.0 * E * RAIL.I) + w * LENGTH**2 / (8.0 * G * RAIL.shear_area)
    assert answer.profile is not None
    middle = np.interp(LENGTH / 2.0, answer.profile.stations, answer.profile.height)
    assert -middle == pytest.approx(sag, rel=CLOSE)


def test_a_load_spread_over_half_the_rail() -> None:
    """Reactions 3/4 and 1/4 of the load; the moment under its end is w a^2/4 (a half length)."""
    half, w = LENGTH / 2.0, 2.0
    case = replace(simply_held(), spreads=(Spread(0.0, half, (0.0, 0.0, -w)),))
    answer = solved(frame(0.0, LENGTH), case)
    forces = {r.place: r.force for r in answer.reactions}
    assert forces["front axle right, height"] == pytest.approx(0.75 * w * half, rel=EXACT)
    assert forces["rear axle left, height"] == pytest.approx(0.25 * w * half, rel=EXACT)
    forces_inside = section_forces(answer.solution, np.array([0.0, 1.0]))
    mesh = answer.solution.mesh
    rail = mesh.elements.member == mesh.members.index("rail left")
    at_middle = rail & (mesh.elements.place[:, 1] == half)
    assert abs(forces_inside.M1[at_middle, 1]) == pytest.approx(w * half**2 / 4.0, rel=EXACT)


def test_a_brace_in_tension() -> None:
    """Two rails on their own holds, a tie rod between them, pulled apart: N = F, s = F/A."""
    base = frame()
    rod = square_tube(30.0, 2.0)
    tie = member("tie", [(LENGTH / 2, -WIDTH / 2, 0.0), (LENGTH / 2, WIDTH / 2, 0.0)], rod, "brace")
    ends = frame(LENGTH / 2).joints
    joints = tuple(replace(j, member="tie") for j in ends)
    pulled = replace(base, members=(*base.members, tie), joints=joints)
    pushes = [
        Push(Place(station=LENGTH / 2, side="right"), (0.0, 5000.0, 0.0)),
        Push(Place(station=LENGTH / 2, side="left"), (0.0, -5000.0, 0.0)),
    ]
    answer = solved(pulled, simply_held(pushes))
    peak = next(p for p in answer.peaks if p.member == "tie")
    assert peak.von_mises == pytest.approx(5000.0 / (4 * 30.0 * 2.0), rel=EXACT)
    assert peak.normal == pytest.approx(peak.von_mises, rel=EXACT)  # tension is positive
