"""Surveys made up for tests: readings of known places, with or without chance errors."""

import numpy as np

from fea.frame.model import Frame
from fea.shop.survey_plan import Plan, plan
from fea.shop.survey_points import Point, sheet
from fea.shop.survey_readings import Reading, Readings, one

SIGMA = {"length": 1.0, "level": 0.4, "tilt": 0.002, "floor": 0.7, "offset": 1.0,
         "station": 1.0, "height": 1.0}  # fmt: skip


def twisted(points: tuple[Point, ...], degrees: float, base: float) -> np.ndarray:
    """Return the places of points twisted over a wheelbase, front right high."""
    at = sheet(points)
    angle = np.radians(degrees) * (base - at[:, 0]) / base
    y, z = at[:, 1].copy(), at[:, 2] - at[:, 2].mean()
    at[:, 1] = y * np.cos(angle) - z * np.sin(angle)
    at[:, 2] += y * np.sin(angle) + z * (np.cos(angle) - 1.0)
    return at


def readings(points, links, places, rng=None, slips=None) -> Readings:
    """Return readings of `links`, (kind, first, second), at given places."""
    x = np.append(places.ravel(), 0.0)
    found = []
    for number, (kind, first, second) in enumerate(links):
        sigma = SIGMA[kind]
        blank = Reading(kind, first, second, 0.0, sigma, number + 1)
        value = one(blank, x)[0] + (0.0 if rng is None else rng.normal(0.0, sigma))
        value += (slips or {}).get(number, 0.0)
        found.append(Reading(kind, first, second, value, sigma, number + 1))
    return Readings("survey.csv", tuple(points), tuple(found))


def links_of(planned: Plan) -> list[tuple[str, int, int]]:
    return [(r.kind, r.first, r.second) for r in planned.readings]


def planned(frame: Frame) -> tuple[Plan, list[tuple[str, int, int]]]:
    made = plan(frame)
    return made, links_of(made)
