"""Walls worn by corrosion or grinding, and walls by their names.

The metal is taken as lost evenly from both faces: a wall's middle stays where it was.  Loss
from one face alone moves the middle by half the loss, which this leaves out: 0.4 mm of a
150 mm rail for a loss of 0.8 mm.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.section.midline import Midline


@dataclass(frozen=True)
class Wear:
    """What some walls have lost, or what is left of them; one of the three is given.

    No `walls` means every wall but a plate that was put on later.

    Attributes
    ----------
    loss, left : mm; share : of each wall's own thickness, lost
    half : by how much it may be more or less, in the same unit; the walls take the middle
    """

    walls: tuple[str, ...] = ()
    loss: float | None = None
    left: float | None = None
    share: float | None = None
    half: float = 0.0


def wall_names(midline: Midline) -> tuple[str, ...]:
    """Return the names of a section's walls, each once, in the order they are drawn."""
    return tuple(dict.fromkeys(midline.names))


def walls_called(midline: Midline, name: str) -> NDArray[np.bool_]:
    """Return which walls a name means, shape (m,): "flange" means both of them."""
    return np.array([n == name or n.endswith(f" {name}") for n in midline.names], dtype=np.bool_)


def worn(midline: Midline, wears: Sequence[Wear], *, spared: Sequence[str] = ()) -> Midline:
    """Return the section with its walls worn.

    Parameters
    ----------
    spared : names of walls that wear of the whole section does not reach
        A plate that was welded on after the rest had rusted.

    Raises
    ------
    ModelError
        If a wall is not there, has no metal left, or is left thicker than it was.
    """
    thickness = midline.thickness.copy()
    for wear in wears:
        if wear.walls:
            hit = np.logical_or.reduce([walls_called(midline, name) for name in wear.walls])
            missing = [n for n in wear.walls if not walls_called(midline, n).any()]
            if missing:
                do = "its walls are " + ", ".join(f'"{n}"' for n in wall_names(midline))
                rule = "wall must be one that the section has"
                raise ModelError(Complaint(rule, found=f'"{missing[0]}"', do=do))
        else:
            hit = np.array([name not in spared for name in midline.names], dtype=np.bool_)
        for k in np.flatnonzero(hit):
            thickness[k] = _remaining(midline.names[k], float(midline.thickness[k]), wear)
    return replace(midline, thickness=thickness)


def words(midline: Midline, after: Midline, *, spared: Sequence[str] = ()) -> str:
    """Return what wear did to a section, short: "worn 0.8" or "worn web 0.8"; "" if nothing."""
    lost: dict[str, float] = {}
    for name, was, now in zip(midline.names, midline.thickness, after.thickness, strict=True):
        lost[name] = max(lost.get(name, 0.0), round(float(was - now), 6))
    if not any(lost.values()):
        return ""
    own = {value for name, value in lost.items() if name not in spared}
    rest = [name for name in spared if lost.get(name)]
    if len(own) == 1 and not rest:
        return f"worn {own.pop():.3g}"
    return "worn " + ", ".join(f"{name} {value:.3g}" for name, value in lost.items() if value)


def _remaining(name: str, nominal: float, wear: Wear) -> float:
    """Return what is left of one wall, mm; all that the wear may be must be possible."""
    if wear.left is not None:
        most = wear.left + wear.half
        if most > nominal + 1e-9:
            rule = f"left must not be more than the {name} has when new, {nominal:.4g} mm"
            do = "correct the measured wall, or the section's"
            found = f"{most:g} mm" if wear.half == 0.0 else f"up to {most:g} mm"
            raise ModelError(Complaint(rule, found=found, do=do))
        return wear.left
    of_wall = nominal if wear.share is not None else 1.0
    loss, half = (wear.share or wear.loss or 0.0) * of_wall, wear.half * of_wall
    most = loss + half
    if most >= nominal:
        rule = f"loss must leave some metal of the {name}, {nominal:.4g} mm when new"
        upto = "" if half == 0.0 else "up to "
        found = f"{upto}{most:g} mm lost, {nominal - most:.4g} mm left"
        do = "give the loss, not what is left (that is left = ...), or end the member there"
        raise ModelError(Complaint(rule, found=found, do=do))
    return nominal - loss
