"""What a weld's shrinkage does to one element, to a free rail, and how it cools."""

from pathlib import Path

import numpy as np
import pytest
from weldable import ladder, lone_rail

from fea.element import beam
from fea.section.midline import Midline
from fea.section.properties import properties
from fea.section.seam import Stitch
from fea.shop.weld_model import READ, WeldModel, joined, plated, shrinkage_loads
from fea.shop.weld_order import follow
from fea.shop.weld_runs import outline, plan
from fea.shop.weld_shrinkage import (
    PROCESSES,
    cooling_time,
    fillet_area,
    free_bow,
    heat_per_length,
    okerblom_force,
    rise,
    tendon_force,
    transverse_shrinkage,
    white_force,
)

E = 206e3


def test_the_tendon_bows_a_beam_as_blodgett_says() -> None:
    area, d, length, inertia = 8.0, 40.0, 2000.0, 3e6
    by_force = tendon_force(area, E) * d * length**2 / (8.0 * E * inertia)
    assert by_force == pytest.approx(free_bow(area, d, length, inertia), rel=1e-12)
    # Okerblom's and White's factors of heat agree for steel within a tenth.
    assert okerblom_force(300.0, E) == pytest.approx(white_force(300.0), rel=0.1)
    assert transverse_shrinkage(fillet_area(4.0), 4.0) == pytest.approx(0.2)


@pytest.mark.parametrize("edge", ["top", "bottom"])
def test_one_stretch_shrinks_and_bends_as_a_bar_with_an_initial_strain(
    tmp_path: Path, edge: str
) -> None:
    """A free length: shortening F L / EA, turns F z L / EI1 and F y L / EI2, exactly."""
    model = WeldModel(plan(lone_rail(tmp_path), ["plates"], run=1600.0), tack=1.0)
    (number,) = (k for k, r in enumerate(model.plan.runs) if r.edge == edge)
    run = model.plan.runs[number]
    p = properties(model.plan.stretches[0].line)
    staged = model.start()
    at, force = model.weld(staged, number, frozenset())
    rhs = np.zeros(staged.n_free)
    rhs[at] = force
    moved = np.asarray(staged._motion @ staged.answers(rhs))
    corner = p.principal_axes @ (run_point(run, model) - p.centroid)
    F, L = tendon_force(run.area, E), 1600.0
    beams = model.mesh.beams
    shape = beam.deformation(beams) @ beam.geometry(beams)
    freedoms = 7 * model.mesh.elements.nodes[:, :, None] + np.arange(7)
    whole = np.einsum("ndk,nk->d", shape, moved[freedoms.reshape(len(shape), 14)])
    assert whole[beam.E_AXIAL] == pytest.approx(-F * L / (E * p.A), rel=1e-9)
    assert whole[beam.E_BEND_1] == pytest.approx(-F * corner[1] * L / (E * p.I1), rel=1e-9)
    assert whole[beam.E_BEND_2] == pytest.approx(F * corner[0] * L / (E * p.I2), rel=1e-9)


def run_point(run, model: WeldModel) -> np.ndarray:
    line = model.plan.stretches[run.stretch].line
    return run.weights @ line.points[line.walls].reshape(-1, 2)


@pytest.mark.parametrize(("tack", "band"), [(1.0, 0.02), (0.3, 0.15)])
def test_a_seam_along_a_free_rail_gives_blodgetts_bow(
    tmp_path: Path, tack: float, band: float
) -> None:
    """Run after run; 2 % for the twist that warping adds, 15 % for a plate that is tacked only."""
    model = WeldModel(plan(lone_rail(tmp_path), ["plates"]), tack)
    top = [k for k, r in enumerate(model.plan.runs) if r.edge == "top"]
    z = follow(model, top)[top].sum(axis=0).reshape(READ, 3)[:, 2]
    sag = 0.5 * (z[0] + z[-1]) - z[READ // 2]
    p = properties(model.plan.stretches[0].line)
    want = free_bow(fillet_area(3.0), 58.0, 1600.0, p.Iy)
    assert sag == pytest.approx(want, rel=band)


def test_an_end_welded_all_round_shortens_by_the_transverse_formula(tmp_path: Path) -> None:
    """Free to move, it is shorter by 0.10 Aw/t and neither bent nor warped, whatever the zone."""
    model = WeldModel(plan(ladder(tmp_path), ["middle"]), tack=1.0)
    mine = [r for r in model.plan.runs if r.stretch == 0]
    assert len(mine) == 4
    beams = model.beams(0, frozenset(range(4)))
    stretch = model.plan.stretches[0]
    force = sum(shrinkage_loads(r, stretch, beams, stretch.line) for r in mine)
    free = np.linalg.pinv(beam.stiffness(beams)[0]) @ force[0]
    found = (beam.deformation(beams) @ beam.geometry(beams))[0] @ free
    assert found[beam.E_AXIAL] == pytest.approx(-transverse_shrinkage(4.5, 3.0), rel=1e-6)
    for k in (beam.E_BEND_1, beam.E_BEND_2):
        assert abs(found[k]) < 1e-9
    # In the frame, the rails are drawn together.
    moved = follow(model, range(len(model.plan.runs))).sum(axis=0)
    across = moved.reshape(2, READ, 3)[:, READ // 2, 1]
    assert across[0] < across[1]


def test_the_first_run_on_a_tacked_end_turns_the_member(tmp_path: Path) -> None:
    """Welded on one wall, the end shortens there most: it leans that way."""
    model = WeldModel(plan(ladder(tmp_path), ["middle"]))
    stretch = model.plan.stretches[0]
    for number, run in enumerate(model.plan.runs[:4]):
        state = frozenset({number})
        beams = model.beams(0, state)
        force = shrinkage_loads(run, stretch, beams, model.section(0, state))
        free = np.linalg.pinv(beam.stiffness(beams)[0]) @ force[0]
        found = (beam.deformation(beams) @ beam.geometry(beams))[0] @ free
        leans = found[beam.E_BEND_1] if run.edge in ("top", "bottom") else found[beam.E_BEND_2]
        assert abs(leans) > 1e-3
        assert found[beam.E_AXIAL] < 0.0


def test_a_tacked_plate_has_its_share_of_the_cells_flow(tmp_path: Path) -> None:
    line = plan(lone_rail(tmp_path), ["plates"]).stretches[0].line
    whole, tacked = properties(line), properties(plated(line, 0, 2, 0.3))
    assert tacked.J_cells == pytest.approx(0.3 * whole.J_cells, rel=1e-9)
    one = properties(plated(line, 1, 2, 0.3))
    assert pytest.approx(whole.A, rel=1e-12) == one.A
    assert one.J_cells == pytest.approx(0.3 * whole.J_cells, rel=1e-9)
    assert plated(line, 2, 2, 0.3) is line
    fine, group = outline(line, 40.0)
    none, some = properties(joined(fine, np.zeros(0, dtype=int), 0.3)), np.flatnonzero(group == 0)
    assert pytest.approx(0.3 * whole.A, rel=1e-9) == none.A
    assert none.A < properties(joined(fine, some, 0.3)).A < whole.A


def test_cutting_an_outline_changes_no_property(tmp_path: Path) -> None:
    line: Midline = plan(lone_rail(tmp_path), ["plates"]).stretches[0].line
    fine, group = outline(line, 40.0)
    assert len(fine.walls) > len(line.walls)
    assert set(group) == set(range(int(group.max()) + 1))
    for name in ("A", "Iy", "Iz", "J", "Cw"):
        one, other = (getattr(properties(m), name) for m in (line, fine))
        assert one == pytest.approx(other, rel=1e-9)


def test_half_the_weld_pulls_half(tmp_path: Path) -> None:
    frame = ladder(tmp_path)
    full = plan(frame, ["plates"])
    half = plan(frame, ["plates"], stitches={"plates": Stitch(weld=25.0, pitch=50.0)})
    one, other = (WeldModel(p, tack=1.0) for p in (full, half))
    assert half.runs[0].length == pytest.approx(0.5 * full.runs[0].length)
    state = frozenset({0})
    assert other.pull(0, state)[1] == pytest.approx(0.5 * one.pull(0, state)[1], rel=1e-12)


def test_a_run_cools_faster_when_it_is_short_or_the_sheet_thick() -> None:
    heat = heat_per_length(fillet_area(3.0), PROCESSES["mig"])
    time = cooling_time(heat, 75.0, 7.0)
    assert rise(heat, 75.0, 7.0, time) == pytest.approx(40.0, rel=1e-6)
    assert cooling_time(heat, 25.0, 7.0) < time < cooling_time(heat, 75.0, 5.0)
    # An endless run leaves conduction away from the seam alone: 1 / sqrt(t).
    far = [rise(heat, 1e6, 7.0, t) for t in (100.0, 400.0)]
    assert far[0] == pytest.approx(2.0 * far[1], rel=1e-9)
    # Heat is kept: all of it lies under the curve across the seam, at any time.
    s = np.sqrt(13.0 * 100.0)
    x = np.linspace(-20 * s, 20 * s, 20001)
    under = np.trapezoid(far[0] * np.exp(-((x / (2 * s)) ** 2)), x)
    assert under * 3.85e-3 * 3.5 == pytest.approx(heat, rel=1e-6)
