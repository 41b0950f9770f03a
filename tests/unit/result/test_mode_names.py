"""What modes are called."""

import numpy as np
import pytest
from handmade import demo

from fea.element.beam import N_FREEDOMS
from fea.mesh.discretise import discretise
from fea.result.mode_names import Character, names, participation

FRAME = demo("ladder_tubes")
MESH = discretise(FRAME)
X, Y = MESH.points[:, 0], MESH.points[:, 1]


def moved(component: int, how: np.ndarray) -> dict[str, float]:
    u = np.zeros((len(MESH.points), N_FREEDOMS))
    u[:, component] = how
    return participation(FRAME, MESH, u.ravel())


@pytest.mark.parametrize(
    ("component", "how", "word"),
    [
        (2, Y * X, "torsion"),
        (2, X**2, "vertical bending"),
        (1, X**2, "lateral bending"),
        (0, Y, "lateral bending"),
        (1, Y, "spreading of the rails"),
        (0, np.ones_like(X), "lengthwise motion"),
    ],
)
def test_a_pure_motion_of_the_rails(component: int, how: np.ndarray, word: str) -> None:
    found = moved(component, how)
    assert found[word] == pytest.approx(1.0, abs=1e-12)
    assert sum(found.values()) == pytest.approx(1.0)


def test_modes_are_numbered_among_their_like() -> None:
    shown = names(
        [
            Character("torsion", 0.95),
            Character("vertical bending", 0.99),
            Character("torsion", 0.6, "lateral bending"),
            Character("lateral bending", 0.4, "torsion"),
            Character("X3, local, up and down", 1.0, counts=False),
            Character("torsion", 0.9),
        ]
    )
    assert shown == [
        "first torsion",
        "first vertical bending",
        "mixed, mostly second torsion",
        "mixed: lateral bending and torsion",
        "X3, local, up and down",
        "third torsion",
    ]
