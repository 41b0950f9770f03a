"""What the road does to the wheels, as marks on the frame's spring seats."""

import numpy as np
from numpy.typing import NDArray

from fea import units
from fea.frame.case import Place
from fea.frame.spots import spots
from fea.out.scene import Mark
from fea.result.answer import Answer

Array = NDArray[np.float64]

LEAST = 1e-6
"""A wheel pushed by less than this, of the vehicle's weight, has no mark."""


def road_marks(answer: Answer) -> list[Mark]:
    """Return an arrow per wheel that the road pushes, at the middle of its side's seats.

    It points as the push on the tyre does; the jack's stands under its rail.
    """
    road = answer.solution.loads.road
    if road is None:
        return []
    marks = []
    weight = sum(float(np.linalg.norm(f)) for f in road.wheels.values())
    for wheel, force in road.wheels.items():
        end, side = wheel.split()
        size = float(np.linalg.norm(force))
        if size <= LEAST * weight:
            continue
        place = Place(axle="front" if end == "front" else "rear")
        for spot in spots(answer.frame, place, answer.case.name):
            if spot.side == side:
                marks.append(_arrow(spot.shares @ spot.points, force, f"{wheel} wheel"))
    jack = answer.case.road.jack if answer.case.road else None
    if jack is not None and road.jack is not None:
        side = "right" if jack.corner.endswith("right") else "left"
        for spot in spots(answer.frame, jack.place, answer.case.name):
            if spot.side == side:
                marks.append(_arrow(spot.points[0], np.array([0.0, 0.0, road.jack]), "jack"))
    return marks


def _arrow(point: Array, force: Array, name: str) -> Mark:
    size = float(np.linalg.norm(force))
    x, y, z = (float(v) for v in point)
    a, b, c = (float(v) for v in force / size)
    return Mark("load", (x, y, z), (a, b, c), f"{name} {units.show(size, 'force')}")
