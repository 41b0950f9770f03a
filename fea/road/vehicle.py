"""A rigid vehicle on its wheels: what the road must do to each for equilibrium.

Forces and moments are six together, N and N mm, about the origin: on the ground, under the
front axle's middle where the document counts from there.  Wheels press on the ground and
cannot pull.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.frame.model import Axle
from fea.frame.road import WHEELS, AxleName, Jack, Road, Wheel

Array = NDArray[np.float64]

AXLES: tuple[AxleName, AxleName] = ("front", "rear")

ROUND_OFF = 1e-9
"""Of the weight: a wheel that bears less counts as bearing nothing."""


@dataclass(frozen=True, eq=False)
class Standing:
    """What acts on a rigid vehicle beside the road's push on its wheels.

    Attributes
    ----------
    axles : front and rear
    sprung : (6,), on frame, body and all they carry
    unsprung : (2, 6), on each axle itself
    couple : N mm, lifts the bumped wheel and presses the other axle's other one; signed as
        a roll moment of the front axle
    size : N, the vehicle's weight
    """

    axles: tuple[Axle, Axle]
    sprung: Array
    unsprung: Array
    size: float
    couple: float = 0.0

    @property
    def total(self) -> Array:
        """All of it, (6,)."""
        return np.asarray(self.sprung + self.unsprung.sum(axis=0))


def roll_shares(axles: tuple[Axle, Axle], loads: Array) -> tuple[Array, bool]:
    """Return which share of the sprung roll moment each axle takes, (2,), and if by springs.

    By the roll stiffness of springs and bars; by the axles' `loads`, (2,), where neither
    axle tells any.
    """
    k = np.array([roll_stiffness(a) for a in axles])
    if k.sum() > 0.0:
        return k / k.sum(), True
    return loads / loads.sum(), False


def roll_stiffness(axle: Axle) -> float:
    """Return the roll stiffness of an axle's springs and bar, N mm/rad."""
    return 0.5 * axle.spring_rate * axle.spring_base**2 + axle.bar_rate


def axle_loads(standing: Standing, case: str) -> Array:
    """Return what each axle bears, (2,), N, from upward forces and pitch.

    Raises
    ------
    ModelError
        If an axle would have to pull.
    """
    front, rear = (a.station for a in standing.axles)
    total = standing.total
    on_rear = (total[4] + front * total[2]) / (rear - front)
    loads = np.array([-total[2] - on_rear, on_rear])
    if loads.min() < -ROUND_OFF * standing.size:
        name = AXLES[int(np.argmin(loads))]
        raise ModelError(
            Complaint(
                f"the {name} wheels would leave the ground",
                where=f"case {case}",
                found=f"{-loads.min():.0f} N too little on them",
                do="brake or pull less hard, or raise vertical",
            )
        )
    return np.asarray(np.maximum(loads, 0.0))


def lateral(standing: Standing) -> Array:
    """Return the sideways push of the road on each axle, (2,), N, from forces and yaw."""
    front, rear = (a.station for a in standing.axles)
    total = standing.total
    on_rear = (-total[5] + front * total[1]) / (rear - front)
    return np.array([-total[1] - on_rear, on_rear])


def roll(standing: Standing, road: Road, loads: Array, case: str) -> tuple[Array, list[str], float]:
    """Return the roll moment of each axle's wheels, (2,), notes, and what is left to no wheel.

    Parameters
    ----------
    loads : (2,), what each axle bears, N

    Returns
    -------
    moments : (2,), N mm, right wheel up positive
    notes : sentences
    left : float, N mm, beyond what wheels that only press can balance
    """
    track = np.array([a.track for a in standing.axles])
    most = loads * track / 2.0
    total = -standing.total[3]
    if road.lifted is not None:
        k = AXLES.index("front" if road.lifted.startswith("front") else "rear")
        moments = np.empty(2)
        moments[k] = -most[k] if road.lifted.endswith("right") else most[k]
        moments[1 - k] = total - moments[k]
        if abs(moments[1 - k]) > most[1 - k] + ROUND_OFF * standing.size * track[1 - k]:
            raise ModelError(
                Complaint(
                    "the three other wheels must keep the vehicle upright",
                    where=f"case {case}",
                    found=f"{road.lifted} lifted, the {AXLES[1 - k]} axle too light",
                    do=f"lift a wheel of the {AXLES[1 - k]} axle, the lighter one",
                )
            )
        return moments, [f"the {road.lifted} wheel bears nothing"], 0.0
    share, by_springs = roll_shares(standing.axles, loads)
    from_links = np.asarray(road.roll_centre) * (lateral(standing) + standing.unsprung[:, 1])
    own = -standing.unsprung[:, 3] - from_links
    moments = own + share * (total - own.sum())
    moments += standing.couple * np.array([1.0, -1.0])
    notes = [_roll_words(share, road, by_springs=by_springs)]
    over = np.abs(moments) > most + ROUND_OFF * standing.size * track
    left = 0.0
    if over.any():
        k = int(np.argmax(np.abs(moments) - most))
        moments[k] = np.sign(moments[k]) * most[k]
        rest = total - moments[k]
        moments[1 - k] = np.sign(rest) * min(abs(rest), most[1 - k])
        left = rest - moments[1 - k]
        side = "right" if moments[k] < 0.0 else "left"
        notes.append(
            f"the {AXLES[k]} {side} wheel leaves the ground; the {AXLES[1 - k]} axle bears the rest"
        )
    return moments, notes, float(left)


def _roll_words(share: Array, road: Road, *, by_springs: bool) -> str:
    front = f"{100.0 * share[0]:.0f} %"
    by = "by the roll stiffness of springs and bars" if by_springs else "by the axles' loads"
    if any(road.roll_centre):
        centres = " and ".join(f"{z:.0f}" for z in road.roll_centre)
        height = f"roll centres at {centres} mm"
    else:
        height = "roll centres on the ground"
    return f"the front axle takes {front} of the sprung roll moment, {by}, with {height}"


def brake_share(road: Road, static: Array) -> float:
    """Return the front axle's share of the braking; `static` are the axles' loads, (2,)."""
    if road.brake_share_front is not None:
        return road.brake_share_front
    return float(static[0] / static.sum())


def wheel_forces(standing: Standing, vertical: tuple[Array, Array], along: Array) -> Array:
    """Return the road's push on every wheel, (4, 3), N, in the order of `WHEELS`.

    Parameters
    ----------
    vertical : loads of the axles and their roll moments, (2,) each
    along : (2,), N, rearward push on each axle

    Within an axle, pushes along and sideways go by what its wheels bear.
    """
    loads, moments = vertical
    track = np.array([a.track for a in standing.axles])
    up = np.stack([0.5 * loads + moments / track, 0.5 * loads - moments / track], axis=1)
    up[np.abs(up) <= ROUND_OFF * standing.size] = 0.0
    part = np.where(loads[:, None] > 0.0, up / np.where(loads > 0.0, loads, 1.0)[:, None], 0.5)
    rearward = part * along[:, None]
    wheel = np.array([[a.station, y] for a in standing.axles for y in (a.track / 2, -a.track / 2)])
    with_pull = Standing(
        standing.axles,
        standing.sprung + _at_ground(wheel, rearward.ravel()),
        standing.unsprung,
        standing.size,
    )
    sideways = part * lateral(with_pull)[:, None]
    return np.stack([rearward.ravel(), sideways.ravel(), up.ravel()], axis=1)


def _at_ground(wheel: Array, rearward: Array) -> Array:
    """Return rearward pushes on the ground at wheels, (k, 2), together about the origin."""
    return np.array([rearward.sum(), 0.0, 0.0, 0.0, 0.0, -(wheel[:, 1] * rearward).sum()])


def contact(axles: tuple[Axle, Axle]) -> dict[Wheel, Array]:
    """Return where every wheel stands, mm."""
    found = {}
    for wheel in WHEELS:
        end, side = wheel.split()
        axle = axles[0] if end == "front" else axles[1]
        found[wheel] = np.array(
            [axle.station, 0.5 * axle.track * (1.0 if side == "right" else -1.0), 0.0]
        )
    return found


def jacked(
    standing: Standing, jack: Jack, rail: tuple[float, float], case: str
) -> tuple[float, Array, Array]:
    """Return the jack's force, N, and the loads and roll moments of the axles, (2,) each.

    Frame and body are taken as stiff on their springs; the jack at `rail`, station and
    offset, lifts them until the corner's wheel hangs.

    Raises
    ------
    ModelError
        If springs are not told, or another wheel hangs as well.
    """
    axles = standing.axles
    rate = np.array([a.spring_rate for a in axles])
    turn = np.array([roll_stiffness(a) for a in axles])
    if min(rate.min(), turn.min()) <= 0.0:
        raise ModelError(
            Complaint(
                "a jacked vehicle needs the springs of both axles",
                where=f"case {case}",
                do="add spring_rate and spring_base to [axle.front] and [axle.rear]",
            )
        )
    x = np.array([a.station for a in axles])
    track = np.array([a.track for a in axles])
    loads = axle_loads(standing, case)
    moments, _, _ = roll(standing, Road(), loads, case)
    k = 0 if jack.corner.startswith("front") else 1
    sign = 1.0 if jack.corner.endswith("right") else -1.0
    # Unknown: heave, slope, roll, jack.  An axle's load falls by 2 k (heave + slope x), its
    # moment by the roll stiffness times roll.
    fall = np.array([[2.0 * r, 2.0 * r * at, 0.0, 0.0] for r, at in zip(rate, x, strict=True)])
    lean = np.array([[0.0, 0.0, t, 0.0] for t in turn])
    unit = np.array([0.0, 0.0, 0.0, 1.0])
    rows = np.array(
        [
            unit - fall.sum(axis=0),
            rail[0] * unit - x @ fall,
            rail[1] * unit - lean.sum(axis=0),
            fall[k] / 2.0 + sign * lean[k] / track[k],
        ]
    )
    hanging = loads[k] / 2.0 + sign * moments[k] / track[k]
    scale = np.abs(rows).max(axis=0)
    answer = np.linalg.solve(rows / scale, np.array([0.0, 0.0, 0.0, hanging])) / scale
    loads, moments = loads - fall @ answer, moments - lean @ answer
    least = float(np.min(loads / 2.0 - np.abs(moments) / track))
    if answer[3] < 0.0 or least < -1e-6 * standing.size:
        raise ModelError(
            Complaint(
                "a jack must lift one wheel and leave the other three on the ground",
                where=f"case {case}",
                found=f"{jack.corner}, station {jack.station:g} mm",
                do="set it nearer to that corner's wheel",
            )
        )
    return float(answer[3]), loads, moments
