"""Inside a body: rigid motions, and no other way of moving costs as little."""

import numpy as np
import pytest
from vehicles import VEHICLES, prepared

from fea.element.beam import N_FREEDOMS
from fea.frame.body import Body, BodyBeam, BodyPanel
from fea.frame.model import Material, Section
from fea.mesh.vehicle import BodyAt
from fea.section import shapes
from fea.solve.body import BodyStiffness, between, body_stiffness
from fea.solve.body_motion import body_motion

EACH = pytest.mark.parametrize(("name", "body"), VEHICLES)
STEEL = Material("steel", 205000.0, 0.3, 7.85e-9, 240.0)
TUBE = Section("tube", shapes.box(depth=40.0, width=40.0, wall=2.0), 40.0, 40.0, is_open=False)


def rigid(points: np.ndarray, move: np.ndarray, turn: np.ndarray) -> np.ndarray:
    return np.hstack([move + np.cross(turn, points), np.tile(turn, (len(points), 1))])


def whole(at: BodyAt, points: np.ndarray) -> BodyStiffness:
    """Return the body's stiffness with every node kept."""
    more = {("node", str(n)): tuple(p) for n, p in enumerate(points.tolist())}
    return body_stiffness(at.body, at.ties, more)


def energy(stiff: BodyStiffness, motions: np.ndarray) -> float:
    """Return twice the work of the motions of all nodes."""
    kept = np.zeros((len(stiff.points), 6))
    for n, motion in enumerate(motions):
        row, arm = stiff.places["node", str(n)]
        kept[row] = motion
        kept[row, :3] -= np.cross(motion[3:], arm)
    return float(kept.ravel() @ stiff.stiffness @ kept.ravel())


@EACH
def test_a_rigid_motion_is_rigid_all_through(name: str, body: str) -> None:
    move, turn = np.array([3.0, -2.0, 5.0]), np.array([0.01, -0.003, 0.02])
    mesh = prepared(name, body).mesh
    for at in mesh.bodies:
        found = body_motion(at.body, at.ties, at.labels, rigid(mesh.points[at.nodes], move, turn))
        wanted = rigid(found.mesh.points, move, turn)
        assert np.abs(found.motions - wanted)[:, :3].max() < 1e-6 * np.abs(wanted).max()


@pytest.mark.parametrize(("name", "body"), [VEHICLES[0], VEHICLES[-1]])
def test_it_costs_what_the_condensed_body_costs_and_nothing_costs_less(
    name: str, body: str
) -> None:
    study = prepared(name, body)
    mesh = study.mesh
    u = study.seen[0].base[:, 0].reshape(-1, N_FREEDOMS)[:, :6]
    random = np.random.default_rng(1731)
    for at in mesh.bodies:
        held = u[at.nodes]
        found = body_motion(at.body, at.ties, at.labels, held)
        stiff = whole(at, found.mesh.points)
        least = energy(stiff, found.motions)
        condensed = between(body_stiffness(at.body, at.ties), at.labels)
        assert least == pytest.approx(held.ravel() @ condensed @ held.ravel(), rel=1e-6)
        nodes = dict(zip(found.mesh.labels, found.mesh.label_nodes.tolist(), strict=True))
        taken = [nodes[label] for label in at.labels]
        free = np.setdiff1d(np.arange(len(found.motions)), taken)
        size = np.abs(found.motions).max(axis=0)
        for _ in range(5):
            other = found.motions.copy()
            other[free] += 0.01 * size * random.normal(size=(len(free), 6))
            assert energy(stiff, other) > least


def test_a_corner_of_panels_alone_goes_along() -> None:
    """A box with beams along the nine edges that do not meet at one corner."""
    corner = (800.0, 600.0, 500.0)
    spots = [(x, y, z) for x in (0.0, 800.0) for y in (-600.0, 600.0) for z in (0.0, 500.0)]
    edges = [
        (a, b)
        for i, a in enumerate(spots)
        for b in spots[i + 1 :]
        if sum(p != q for p, q in zip(a, b, strict=True)) == 1 and corner not in (a, b)
    ]
    assert len(edges) == 9
    beams = [BodyBeam(str(k), "centre", np.array(e), TUBE, STEEL) for k, e in enumerate(edges)]
    panels = []
    for axis in range(3):  # the three faces at the corner
        others = [k for k in range(3) if k != axis]
        face = []
        for low in ((0, 0), (1, 0), (1, 1), (0, 1)):
            point = list(corner)
            for k, side in zip(others, low, strict=True):
                point[k] = spots[0][k] if side else corner[k]
            face.append(point)
        panels.append(BodyPanel(str(axis), np.array(face), 1.0, STEEL))
    points = {("M", "right"): (0.0, 600.0, 0.0), ("M", "left"): (0.0, -600.0, 0.0)}
    body = Body("box", tuple(beams), tuple(panels), points)
    labels = [("mount", *key) for key in points]
    held = rigid(np.array(list(points.values())), np.array([1.0, 2.0, 3.0]), np.zeros(3))
    found = body_motion(body, [], labels, held)
    (k,) = np.flatnonzero(np.all(found.mesh.points == corner, axis=1))
    assert k not in found.mesh.beam_nodes
    assert found.motions[k] == pytest.approx([1.0, 2.0, 3.0, 0.0, 0.0, 0.0], abs=1e-8)
