"""Whether more twist stiffness is worth it, in words that follow from the springs' rates.

Front and rear axle, sprung in roll by Kf and Kr, are joined by the frame, K in twist.  Of the
change of the front-to-rear split of load transfer that springs and bars are meant to bring,
``K / (K + Ks)`` reaches the tyres, ``Ks = Kf Kr / (Kf + Kr)``: the front's share runs from that
of the masses at K = 0 to Kf / (Kf + Kr) at K without end.  On ground that twists by an angle
the frame, in series with the springs, twists by the rest of it, ``Ks / (K + Ks)``.  An axle
rolls at ``Kf = 0.5 k s^2 + bar``, k the rate of one side, s the base of the springs.
(Two-spring model, common practice, no source.)
"""

from dataclasses import dataclass

import numpy as np

from fea.document.schema import AxleEntry, FrameDocument

BALANCE = 0.05
"""Change of the share that reaches the tyres from which a driver is taken to notice it."""

ENOUGH = 0.9
"""Share from which the frame is taken not to stand in the springs' way."""

SHAKE = 0.25
"""Share of twist stiffness to be added for shake and door gaps to be taken to be noticed."""


@dataclass(frozen=True)
class Thresholds:
    """What the words hang on: see `BALANCE`, `ENOUGH`, `SHAKE`.  Our own, from no source."""

    balance: float = BALANCE
    enough: float = ENOUGH
    shake: float = SHAKE


@dataclass(frozen=True)
class Roll:
    """Roll stiffness of the two axles, N mm/rad."""

    front: float
    rear: float

    @property
    def series(self) -> float:
        """The two one behind the other, as the frame joins them."""
        return self.front * self.rear / (self.front + self.rear)

    def share(self, twist: float) -> float:
        """Return the share of the split that reaches the tyres with a twist stiffness."""
        return twist / (twist + self.series)


def roll_stiffness(document: FrameDocument) -> Roll | str:
    """Return the axles' roll stiffness, or in words what the document does not tell."""
    found, lacking = [], []
    for name in ("front", "rear"):
        axle: AxleEntry | None = getattr(document.axle, name)
        rate = 0.0 if axle is None else 0.5 * axle.spring_rate * axle.spring_base**2
        rate += 0.0 if axle is None else axle.bar_rate
        if axle is None:
            lacking.append(f"a {name} axle")
        elif axle.spring_rate > 0.0 and axle.spring_base == 0.0:
            lacking.append(f"spring_base of the {name} axle")
        elif rate <= 0.0:
            lacking.append(f"spring_rate and spring_base of the {name} axle")
        found.append(rate)
    return " and ".join(lacking) if lacking else Roll(found[0], found[1])


def verdict(
    roll: Roll | str,
    before: float,
    after: float,
    *,
    fitted: float | None = None,
    body: bool = False,
    limits: Thresholds | None = None,
) -> str:
    """Return one paragraph on whether the parts are worth it.

    Parameters
    ----------
    roll : from :func:`roll_stiffness`
    before, after : twist stiffness of the stock frame and of the full set, N mm/rad
    fitted : of the frame as the document fits it, where that is neither
    body : whether a body stands on the frame in these figures
    """
    limits = limits or Thresholds()
    if isinstance(roll, str):
        return (
            f"Is it worth it? The document does not give {roll}, so it cannot be told what of the"
            f" roll-stiffness split reaches the tyres. {_shake(before, after, limits, body=body)}"
        )
    degree = np.pi / 180e3
    low, high = roll.share(before), roll.share(after)
    middle = (
        f", {100.0 * roll.share(fitted):.0f} % as the document fits it"
        if fitted is not None
        else ""
    )
    alone = "" if body else " A body on the frame, not counted here, adds stiffness of its own."
    return (
        f"Is it worth it? The axles roll at {roll.front * degree:.0f} N m/deg in front and"
        f" {roll.rear * degree:.0f} behind, {roll.series * degree:.0f} in series through the"
        " frame. Of the front-to-rear roll-stiffness split that springs and bars are meant to"
        f" give, {100.0 * low:.0f} % reaches the tyres on the stock frame{middle} and"
        f" {100.0 * high:.0f} % with all these parts. {_balance(low, high, limits)}"
        f" Where the ground twists the axles by 1 degree, the frame takes {1.0 - low:.2f} degree"
        f" stock and {1.0 - high:.2f} with the parts, the springs the rest."
        f" {_shake(before, after, limits, body=body)}{alone} (Two springs joined by the frame; the"
        " thresholds are our own.)"
    )


def _balance(low: float, high: float, limits: Thresholds) -> str:
    points = 100.0 * (high - low)
    limit = f"{100.0 * limits.balance:.0f} points"
    if abs(points) >= 100.0 * limits.balance:
        felt = (
            f"That is {points:+.0f} points, and from {limit} on the driver will notice: a stiffer"
            " spring or bar at one end then does more of what it should to the balance in a bend."
        )
        if high < limits.enough:
            felt += (
                f" Still less than {100.0 * limits.enough:.0f} % gets through: the frame remains"
                " soft beside its springs."
            )
        return felt
    first = f"That is {points:+.1f} points, less than the {limit} from which it is noticed: "
    if low >= limits.enough:
        return first + (
            f"the stock frame already lets {100.0 * limits.enough:.0f} % or more through, so the"
            " driver will not notice the parts in the balance in a bend."
        )
    return first + (
        "the driver will not notice the parts in the balance in a bend, and the frame"
        " remains soft beside its springs."
    )


def _shake(before: float, after: float, limits: Thresholds, *, body: bool) -> str:
    gain = after / before - 1.0
    limit = f"{100.0 * limits.shake:.0f} %"
    if gain >= limits.shake:
        what, it = ("Frame and body are", "they twist") if body else ("The frame is", "it twists")
        return (
            f"{what} {after / before:.2f} times as stiff in twist, so under the same load {it}"
            f" {100.0 * (1.0 - before / after):.0f} % less; from {limit} more stiffness on"
            " that is noticed as less shake on bad roads, and in gaps, seams and glass that"
            " move less."
        )
    return (
        f"Twist stiffness changes by {100.0 * gain:+.1f} %, less than the {limit} from which"
        " less shake and steadier door gaps are noticed."
    )
