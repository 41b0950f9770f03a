"""Kerbs and steps: what they push at the wheels; and a bump's couple."""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.frame.model import Axle
from fea.frame.road import WHEELS, Bump, Kerb, Step, Wheel
from fea.road.vehicle import contact, roll_stiffness

Array = NDArray[np.float64]


def struck(what: str) -> list[Wheel]:
    """Return the wheels that are meant: one, or those of a side or an axle."""
    return [w for w in WHEELS if w == what or what in w.split()]


def kerb_pushes(
    kerb: Kerb, axles: tuple[Axle, Axle], mass: float, centre: Array, gravity: float
) -> tuple[Array, str]:
    """Return the kerb's push at every wheel, (4, 6) about the origin, and a note.

    The push is on the ground, toward the other side.  On two wheels of a side it is shared
    so that the vehicle does not yaw.
    """
    track = 0.5 * (axles[0].track + axles[1].track)
    overturning = mass * gravity * track / (2.0 * float(centre[2]))
    force = kerb.share * overturning if kerb.force is None else kerb.force
    wheels = struck(kerb.wheel)
    at = contact(axles)
    x = np.array([at[w][0] for w in wheels])
    part = np.full(len(wheels), 1.0 / len(wheels))
    if len(wheels) == 2 and x[0] != x[1]:
        part[0] = (x[1] - centre[0]) / (x[1] - x[0])
        part[1] = 1.0 - part[0]
    out = np.zeros((4, 6))
    for w, share in zip(wheels, part, strict=True):
        side = -1.0 if w.endswith("right") else 1.0
        push = np.array([0.0, side * force * share, 0.0])
        out[WHEELS.index(w)] = [*push, *np.cross(at[w], push)]
    note = (
        f"kerb: {force:.0f} N sideways, {force / overturning:.2f} of what would overturn"
        f" ({overturning:.0f} N: weight times half the track over the centre's height)"
    )
    return out, note


def step_pushes(
    step: Step,
    axles: tuple[Axle, Axle],
    static: Array,
    hub: Callable[[int], float | None],
    case: str,
) -> tuple[Array, str]:
    """Return a step's push rearward at every wheel, (4, 6) about the origin, and a note.

    It acts at the height of the wheel's centre and is `factor` times the wheel's static
    load over tan(theta), where sin(theta) = 1 - height/radius.

    Parameters
    ----------
    static : (4,), N, what the wheels bear standing still
    """
    out = np.zeros((4, 6))
    at = contact(axles)
    words = []
    for wheel in struck(step.wheel):
        k = WHEELS.index(wheel)
        radius = step.radius if step.radius is not None else hub(k // 2)
        if radius is None:
            raise ModelError(
                Complaint(
                    "a step needs the radius of the wheel",
                    where=f"case {case}",
                    do="give radius, or an unsprung mass at the height of the wheels' centre",
                )
            )
        if step.height >= radius:
            raise ModelError(
                Complaint(
                    "a wheel does not climb a step as high as its centre",
                    where=f"case {case}",
                    found=f"{step.height:g} mm high, wheel's radius {radius:g} mm",
                    do="make height less than the radius",
                )
            )
        ratio = 1.0 / math.tan(math.asin(1.0 - step.height / radius))
        push = np.array([step.factor * static[k] * ratio, 0.0, 0.0])
        out[k] = [*push, *np.cross(at[wheel] + [0.0, 0.0, radius], push)]
        words.append(f"{wheel} {push[0]:.0f} N")
    note = (
        f"step of {step.height:g} mm: {', '.join(words)} rearward at the wheel's centre,"
        f" {step.factor:g} times the static push ({ratio:.2f} of the wheel's load)"
    )
    return out, note


def bump_couple(
    bump: Bump, axles: tuple[Axle, Axle], loads: Array, moments: Array, case: str
) -> tuple[float, str]:
    """Return the couple of a bump at rest, N mm as a roll moment of the front axle, and a note.

    The smaller of what lifts another wheel and what the bump makes through tyres, springs
    and the frame's own twist one after the other.

    Parameters
    ----------
    loads, moments : (2,), what the axles bear on level ground, N and N mm
    """
    track = np.array([a.track for a in axles])
    springs = np.array([roll_stiffness(a) for a in axles])
    if springs.min() <= 0.0 or bump.frame_twist is None:
        raise ModelError(
            Complaint(
                "a bump needs the springs of both axles",
                where=f"case {case}",
                do="add spring_rate and spring_base to [axle.front] and [axle.rear]",
            )
        )
    sign = 1.0 if bump.wheel in ("front right", "rear left") else -1.0
    lift = float(np.min(loads * track / 2.0 - sign * np.array([1.0, -1.0]) * moments))
    gives = 1.0 / springs + 2.0 / (bump.tyre_rate * track**2)
    soft = float(gives.sum()) + 1.0 / bump.frame_twist
    mine = track[0 if bump.wheel.startswith("front") else 1]
    made = math.atan(bump.height / mine) / soft
    share = 1.0 / bump.frame_twist / soft
    degree = math.pi / 180.0 / 1000.0
    words = (
        f"bump of {bump.height:g} mm: {made / 1000.0:.0f} N m through tyres"
        f" ({bump.tyre_rate:g} N/mm), springs and a frame of {bump.frame_twist * degree:.0f}"
        f" N m/deg between its seats, which takes {100.0 * share:.0f} % of the twist;"
        f" another wheel lifts at {lift / 1000.0:.0f} N m"
    )
    if made < lift:
        words += "; the height limits it: a stiffer frame sees a larger couple"
    else:
        words += "; the lift limits it: a stiffer frame sees the same couple"
    return sign * min(made, lift), words
