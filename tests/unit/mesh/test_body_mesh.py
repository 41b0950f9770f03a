"""A body's grillage as arrays: where nodes stand, where beams are split, what is refused."""

import numpy as np
import pytest

from fea.element import beam
from fea.errors import ModelError
from fea.frame.body import Body, BodyBeam, BodyPanel
from fea.frame.model import Material, Section
from fea.mesh.body import beam_gap, body_mesh
from fea.section import shapes
from fea.section.properties import properties

STEEL = Material("steel", 205000.0, 0.3, 7.85e-9, 240.0)


def section(midline=None) -> Section:
    midline = shapes.box(depth=80.0, width=50.0, wall=1.5) if midline is None else midline
    return Section("sill", midline, 80.0, 50.0, is_open=False)


def bar(name: str, *path, side="centre", midline=None) -> BodyBeam:
    return BodyBeam(name, side, np.array(path, dtype=float), section(midline), STEEL)


def sheet(name: str, *corners) -> BodyPanel:
    return BodyPanel(name, np.array(corners, dtype=float), 0.8, STEEL)


def body(*beams: BodyBeam, panels=(), **points) -> Body:
    return Body("cab", beams, tuple(panels), {(k, "right"): p for k, p in points.items()})


def pieces_of(mesh, at) -> list[set[tuple[float, ...]]]:
    return [{tuple(p) for p in mesh.points[pair].round(6).tolist()} for pair in at]


LONG = bar("sill", (0, 700, 0), (1000, 700, 0), (2000, 700, 0))


def test_nodes_stand_at_corners_mounts_and_ties_and_split_the_beam() -> None:
    mesh = body_mesh(body(LONG, M1=(300.0, 700.0, 0.0)), {("tie", "T", "right"): (1500, 700, 0)})
    assert sorted(mesh.points[:, 0]) == [0.0, 300.0, 1000.0, 1500.0, 2000.0]
    ends = np.sort(mesh.points[mesh.beam_nodes][:, :, 0], axis=1)
    assert sorted(map(tuple, ends.tolist())) == [
        (0.0, 300.0), (300.0, 1000.0), (1000.0, 1500.0), (1500.0, 2000.0),
    ]  # fmt: skip
    assert mesh.labels == (("mount", "M1", "right"), ("tie", "T", "right"))
    assert mesh.points[mesh.label_nodes].tolist() == [[300, 700, 0], [1500, 700, 0]]
    assert "mount M1, right" in mesh.names[mesh.label_nodes[0]]
    assert mesh.beams.length == pytest.approx([300.0, 700.0, 500.0, 500.0])


def test_places_within_half_a_millimetre_share_a_node() -> None:
    across = bar("brace", (1000.3, 700, 0.2), (1000, 0, 0))
    mesh = body_mesh(body(LONG, across, M1=(0.4, 700.0, 0.0), M2=(0.6, 700.0, 0.0)))
    # Corners 0, 1000, 2000 and the brace's other end; M2 is farther than that from 0.
    assert len(mesh.points) == 5
    first, second = mesh.label_nodes
    assert mesh.points[first].tolist() == [0.0, 700.0, 0.0]
    assert mesh.points[second].tolist() == [0.6, 700.0, 0.0]
    assert mesh.label_points[0].tolist() == [0.4, 700.0, 0.0]


def test_a_beam_is_split_where_another_ends_on_it_or_crosses_it() -> None:
    on = bar("brace", (400, 700, 0), (400, 0, 0))
    over = bar("brace 2", (1600, 900, 0), (1600, 500, 0))
    passing = bar("brace 3", (1800, 900, 40), (1800, 500, 40))
    mesh = body_mesh(body(LONG, on, over, passing))
    crossing = [n for n, p in enumerate(mesh.points) if np.allclose(p, [1600, 700, 0])]
    assert len(crossing) == 1
    assert int(np.sum(mesh.beam_nodes == crossing[0])) == 4
    at = [n for n, p in enumerate(mesh.points) if np.allclose(p, [400, 700, 0])]
    assert int(np.sum(mesh.beam_nodes == at[0])) == 3
    assert not any(np.allclose(p[:2], [1800, 700]) for p in mesh.points)


def test_a_point_just_beside_a_beam_is_rigid_with_the_node_on_it() -> None:
    mesh = body_mesh(body(LONG, M1=(300.0, 704.0, 0.0)))
    assert mesh.points[mesh.label_nodes[0]].tolist() == [300.0, 700.0, 0.0]
    assert mesh.label_points[0].tolist() == [300.0, 704.0, 0.0]


def test_all_points_beside_the_beams_are_named_at_once() -> None:
    wrong = body(LONG, M1=(300.0, 706.0, 0.0), M2=(900.0, 700.0, 0.0))
    with pytest.raises(ModelError) as told:
        body_mesh(wrong, {("tie", "sill tie", "left"): (300, -700, 0)})
    first, second = told.value.complaints
    assert "body cab" in first.where
    assert "mount M1, right" in first.where
    assert "6.0 mm" in first.found
    assert "tie sill tie, left" in second.where


@pytest.mark.parametrize(
    ("corners", "rule"),
    [
        ([(0, 0, 0), (900, 400, 0), (900, 0, 0), (0, 400, 0)], "in order"),
        ([(0, 0, 0), (900, 0, 0), (0, 0, 0), (0, 400, 0)], "in order"),
        ([(0, 0, 0), (900, 0, 200), (900, 400, 0), (0, 400, 200)], "in one plane"),
    ],
)
def test_a_panel_that_is_no_flat_quadrilateral_is_refused(corners, rule) -> None:
    with pytest.raises(ModelError, match=rule) as told:
        body_mesh(body(LONG, panels=[sheet("floor", *corners)]))
    assert told.value.complaints[0].where == "body cab, panel floor"


@pytest.mark.parametrize("path", [[(0, 0, 0), (0.3, 0, 0)], [(0, 0, 0)]])
def test_a_beam_without_length_is_refused(path) -> None:
    with pytest.raises(ModelError, match=r"0\.5 mm apart") as told:
        body_mesh(body(LONG, bar("stub", *path)))
    assert told.value.complaints[0].where == "body cab, beam stub, centre"


def test_a_body_without_beams_is_refused() -> None:
    with pytest.raises(ModelError, match="at least one beam"):
        body_mesh(body())


def test_panels_share_nodes_with_beams_and_split_them() -> None:
    floor = sheet("floor", (0, 700, 0), (500, 700, 0), (500, 0, 0), (0, 0, 0))
    mesh = body_mesh(body(LONG, panels=[floor]))
    assert mesh.points[mesh.panel_nodes[0]].tolist() == floor.corners.tolist()
    assert {(0.0, 700.0, 0.0), (500.0, 700.0, 0.0)} in pieces_of(mesh, mesh.beam_nodes)
    assert mesh.panels.thickness.tolist() == [0.8]
    assert mesh.panels.G.tolist() == [STEEL.G]


def test_beams_have_their_section_and_no_warping() -> None:
    channel = shapes.channel(depth=80.0, flange=40.0, wall=2.0)
    mesh = body_mesh(body(bar("rail", (0, 0, 0), (800, 0, 0), midline=channel)))
    p = properties(channel)
    b = mesh.beams
    assert p.Cw > 0.0
    K = beam.stiffness(b)[0]
    assert b.EA[0] == pytest.approx(STEEL.E * p.A)
    assert b.EI1[0] == pytest.approx(STEEL.E * p.I1)
    assert not K[[6, 13]].any()
    assert K[3, 3] == pytest.approx(STEEL.G * p.J / 800.0, rel=1e-12)


def test_depth_stands_upright_and_a_pillars_points_forward() -> None:
    mesh = body_mesh(body(bar("hoop", (0, 700, 0), (0, 700, 900), (0, -700, 900))))
    assert mesh.beams.axes[0, 2] == pytest.approx([-1.0, 0.0, 0.0])
    assert mesh.beams.axes[1, 2] == pytest.approx([0.0, 0.0, 1.0])


def test_the_gap_to_the_nearest_beam() -> None:
    assert beam_gap(body(LONG), (1200.0, 700.0, 3.0)) == pytest.approx(3.0)
    assert beam_gap(body(LONG), (2003.0, 704.0, 0.0)) == pytest.approx(5.0)
