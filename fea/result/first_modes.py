"""The first torsion and the first vertical bending of a vehicle, hung in nothing.

A body on its mounts moves in every low mode, so that the energy does not tell which of them
twists the vehicle.  Its rails do: their motion as one rigid body, by which they follow what
the mounts carry, is taken out, and what is left is divided as `modes` divides it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import N_FREEDOMS
from fea.frame.model import Frame
from fea.mesh.mesh import Mesh
from fea.result.mode_names import MOSTLY, participation
from fea.result.modes import FrameModes, frame_modes
from fea.solve import rigid

Array = NDArray[np.float64]

COUNT = 8
"""Modes looked through without a body."""

COUNT_BODY = 16
"""With one: each body adds six motions on its mounts."""

DEFORMED = 0.3
"""Share of the rails' motion, root mean square, that must be their own deformation; where it is
less, something moves on its mounts and the frame goes along."""

SPAN = 1000.0
"""At which a turn counts as a movement, mm; for the scale alone."""


@dataclass(frozen=True)
class First:
    """One mode: its place in the list of modes from 0 on, Hz, and what `modes` calls it."""

    number: int
    frequency: float
    name: str


@dataclass(frozen=True)
class FirstModes:
    """The two modes; None where none of those looked through is one."""

    torsion: First | None
    bending: First | None


def first_modes(frame: Frame) -> FirstModes:
    """Return the first modes of a frame with what it carries, unladen, by beam joints."""
    return of(solved(frame))


def solved(frame: Frame) -> FrameModes:
    """Return the modes that are looked through."""
    return frame_modes(frame, COUNT_BODY if frame.bodies else COUNT)


def of(found: FrameModes) -> FirstModes:
    """Return the first modes among those found."""

    def told(number: int | None) -> First | None:
        if number is None:
            return None
        mode = found.modes[number]
        return First(number, mode.frequency, mode.name)

    torsion, bending = pick(found.frame, found.mesh, found.raw.shape)
    return FirstModes(told(torsion), told(bending))


def pick(frame: Frame, mesh: Mesh, shape: Array) -> tuple[int | None, int | None]:
    """Return the numbers of the first torsion and vertical bending among modes (n, k)."""
    found: dict[str, int] = {}
    if any(m.kind == "rail" for m in frame.members):
        for number, u in enumerate(shape.T):
            own, share = deformation(frame, mesh, u)
            parts = participation(frame, mesh, own)
            word = max(parts, key=lambda w: parts[w], default="")
            if share >= DEFORMED and parts.get(word, 0.0) > MOSTLY:
                found.setdefault(word, number)
    return found.get("torsion"), found.get("vertical bending")


def deformation(frame: Frame, mesh: Mesh, u: Array) -> tuple[Array, float]:
    """Return motions (n,) less the rails' motion as one rigid body, and what is left of theirs.

    The rigid motion fits the rails' movements best in the mean square over their length; the
    share left is of root mean squares.
    """
    rails = [mesh.nodes_of[m.name] for m in frame.members if m.kind == "rail"]
    nodes = np.concatenate([n for _, n in rails])
    length = np.concatenate([np.gradient(distance) for distance, _ in rails])
    weight = np.repeat(np.sqrt(np.abs(length)), 3)
    freedoms = (N_FREEDOMS * nodes[:, None] + np.arange(3)).ravel()
    R = rigid.motions(mesh.points, N_FREEDOMS, mesh.points.mean(axis=0), SPAN)
    moved = weight * u[freedoms]
    part = np.linalg.lstsq(weight[:, None] * R[freedoms], moved, rcond=None)[0]
    own = u - R @ part
    size = float(np.linalg.norm(moved))
    left = float(np.linalg.norm(weight * own[freedoms]))
    return own, left / size if size > 0.0 else 0.0


def as_record(first: FirstModes) -> dict[str, object]:
    """Return the modes as plain data."""
    return {
        key: None if mode is None else {"frequency_hz": mode.frequency, "name": mode.name}
        for key, mode in (("first_torsion", first.torsion), ("first_bending", first.bending))
    }


def change(now: First | None, before: First | None) -> float | None:
    """Return by what share a frequency has changed; None where one is not known."""
    return None if now is None or before is None else now.frequency / before.frequency - 1.0
