"""Bolts of a bracket: the pattern in balance, levers, friction, the worst bolt."""

from dataclasses import replace

import numpy as np
import pytest
from handmade import SMALL_TUBE, two_rails

from fea.errors import ModelError
from fea.frame.model import Bolts, Joint
from fea.mesh.bolts import pattern
from fea.strength.bolts import Fastener, bolt_load, shears, tensions
from fea.strength.joint_forces import JointForce
from fea.study import bolt

SQUARE = np.array([[-15.0, -15.0], [15.0, -15.0], [-15.0, 15.0], [15.0, 15.0]])
BOLTED = Joint("", "start", "", 0.0, "bolted", bolts=Bolts(4, 10.0, 30.0, 5.0))


def test_shears_add_up_to_force_and_twist() -> None:
    rng = np.random.default_rng(311)
    places = rng.uniform(-50.0, 50.0, (5, 2))
    found = shears(places, np.array([300.0, -700.0]), 4e4)
    r = places - places.mean(axis=0)
    assert found.sum(axis=0) == pytest.approx([300.0, -700.0])
    assert np.sum(r[:, 0] * found[:, 1] - r[:, 1] * found[:, 0]) == pytest.approx(4e4)


def test_tensions_add_up_to_pull_and_moments() -> None:
    found = tensions(SQUARE, 1000.0, np.array([6e4, -3e4]), 10.0)
    assert found.sum() == pytest.approx(1000.0)
    assert SQUARE[:, 1] @ found == pytest.approx(6e4)
    assert -SQUARE[:, 0] @ found == pytest.approx(-3e4)


def test_a_row_bears_a_moment_about_itself_by_its_heads() -> None:
    row = np.array([[-20.0, 0.0], [20.0, 0.0]])
    about_row = tensions(row, 0.0, np.array([3e4, 0.0]), 10.0)
    assert about_row == pytest.approx([3e4 / (2 * 7.5)] * 2)
    across = tensions(row, 0.0, np.array([0.0, 4e4]), 10.0)
    assert across == pytest.approx([1000.0, -1000.0])


def found_at(joint: Joint, local: list[float]) -> tuple:
    """Return a frame and a force given along the pattern's own axes at its middle."""
    frame = two_rails(1000.0, 700.0, SMALL_TUBE, SMALL_TUBE, (400.0,), joint)
    one = frame.joints[0]
    holes = pattern(frame, one)
    force = np.concatenate([np.array(local[:3]) @ holes.axes, np.array(local[3:]) @ holes.axes])
    return frame, JointForce(one, holes.centre, force, np.array([0.0, 1.0, 0.0]), "beam", False)


def test_the_worst_bolt_by_hand() -> None:
    frame, force = found_at(BOLTED, [800.0, 0.0, 400.0, 6e4, 0.0, 9e4])
    load = bolt_load(frame, force)
    assert load is not None
    corner = np.hypot(15.0, 15.0)
    twist = 9e4 / (4.0 * corner)  # at 45 degrees, on top of a quarter of the force
    shear = np.hypot(200.0 + twist / np.sqrt(2.0), twist / np.sqrt(2.0))
    assert load.shear == pytest.approx(shear)
    tension = 400.0 / 4.0 + 6e4 / (4.0 * 15.0)
    assert load.tension == pytest.approx(tension)
    assert load.bearing == pytest.approx(shear / (10.0 * 3.0))
    area, kind = bolt.stress_area(10.0), bolt.CLASSES["8.8"]
    assert load.preload == pytest.approx(0.7 * 580.0 * area)
    assert load.gape == pytest.approx(tension / load.preload)
    # Tension may be on either row, so the most sheared bolt is one of the most pulled.
    use = np.hypot(shear / (0.6 * 800.0 * area), tension / (kind.proof * area))
    assert load.bolt_use == pytest.approx(use)
    slip = shear / (bolt.FRICTION * (load.preload - tension))
    assert load.slip == pytest.approx(slip)
    assert load.use == pytest.approx(max(use, load.bearing / 250.0))


def test_a_single_bolt_bears_twist_by_friction() -> None:
    alone = replace(BOLTED, bolts=Bolts(1, 10.0, 0.0, 5.0))
    frame, force = found_at(alone, [0.0, 0.0, 0.0, 0.0, 0.0, 2e4])
    load = bolt_load(frame, force, Fastener(torque=45e3))
    assert load is not None
    assert load.shear == 0.0
    assert load.preload == pytest.approx(45e3 / (0.2 * 10.0))
    assert load.slip == pytest.approx(2e4 / 7.5 / (0.15 * load.preload))


def test_a_joint_without_bolts_told_has_none() -> None:
    plain = Joint("", "start", "", 0.0, "bolted", stiffness=(2e5,) * 3 + (3e8,) * 3)
    frame = two_rails(1000.0, 700.0, SMALL_TUBE, SMALL_TUBE, (400.0,), plain)
    force = JointForce(
        frame.joints[0], np.zeros(3), np.ones(6), np.array([0.0, 1.0, 0.0]), "beam", False
    )
    assert bolt_load(frame, force) is None


def test_an_unknown_property_class_is_refused() -> None:
    frame, force = found_at(BOLTED, [1.0] * 6)
    with pytest.raises(ModelError, match="property class"):
        bolt_load(frame, force, Fastener("7.7"))
