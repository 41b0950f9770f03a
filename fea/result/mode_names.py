"""What a mode of a frame is called, from how its rails move and where its energy is."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import N_FREEDOMS
from fea.frame.model import Frame, Member
from fea.mesh.mesh import Mesh
from fea.solve import rigid
from fea.solve.inertia import Inertia

Array = NDArray[np.float64]

RIGID_WORDS = ("surge", "sway", "bounce", "roll", "pitch", "yaw")
"""Movements along and turns about x, y and z."""

WHOLE = 0.85
"""A mode with this share of its kinetic energy in a rigid motion is that motion."""

PURE = 0.8
"""Share of the rails' motion from which a mode is called by it alone."""

MOSTLY = 0.5
"""Share of the rails' motion from which a mixed mode has a chief part."""

LOCAL = 0.5
"""Share of the metal's kinetic energy in one crossmember that makes a mode its own."""

CARRIED = 0.6
"""Share of the kinetic energy in what stands on the mounts that makes a mode the body's."""

ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")

SAMPLES = 201
"""Stations at which the two rails are compared."""


@dataclass(frozen=True)
class Character:
    """What a mode does.

    Attributes
    ----------
    word : its chief part ("torsion"), or what moves ("X3, local")
    share : of the rails' motion in the chief part, 1 if it is no motion of the rails
    second : the next part of a mixed mode, "" if there is none
    counts : whether modes of this word are numbered
    """

    word: str
    share: float
    second: str = ""
    counts: bool = True


def participation(frame: Frame, mesh: Mesh, u: Array) -> dict[str, float]:
    """Return the shares of the rails' motion, adding up to one; none without two rails.

    Mean squares over the stations both rails have: torsion, right up and left down; vertical
    bending, both alike; lateral bending, both sideways, or one forwards and one back as in
    a ladder's shear; spreading, apart and together; lengthwise, both alike.
    """
    sides = [next((m for m in frame.members if _is_rail(m, s)), None) for s in ("right", "left")]
    right, left = sides
    if right is None or left is None:
        return {}
    low = max(float(m.path[0, 0]) for m in (right, left))
    high = min(float(m.path[-1, 0]) for m in (right, left))
    at = np.linspace(low, high, SAMPLES)
    one, other = (_along(mesh, u, m.name, at) for m in (right, left))
    both, apart = 0.5 * (one + other), 0.5 * (one - other)
    size = {
        "torsion": np.mean(apart[:, 2] ** 2),
        "vertical bending": np.mean(both[:, 2] ** 2),
        "lateral bending": np.mean(both[:, 1] ** 2) + np.mean(apart[:, 0] ** 2),
        "spreading of the rails": np.mean(apart[:, 1] ** 2),
        "lengthwise motion": np.mean(both[:, 0] ** 2),
    }
    whole = float(sum(size.values()))
    return {word: float(v) / whole for word, v in size.items()} if whole > 0.0 else {}


def _is_rail(member: Member, side: str) -> bool:
    return member.kind == "rail" and member.side == side


def _along(mesh: Mesh, u: Array, rail: str, stations: Array) -> Array:
    """Return a rail's movements at some stations, (n, 3)."""
    nodes = mesh.nodes_of[rail][1]
    moved = u.reshape(-1, N_FREEDOMS)[nodes, :3]
    x = mesh.points[nodes, 0]
    return np.stack([np.interp(stations, x, moved[:, c]) for c in range(3)], axis=1)


def rigid_part(mesh: Mesh, mass: Inertia, u: Array) -> tuple[float, str]:
    """Return the share of u' M u in rigid motion of the whole, and that motion's name."""
    centre = _centre(mesh, mass)
    R = rigid.motions(mesh.points, N_FREEDOMS, centre, 1.0)
    MR = mass.M @ R
    part = np.linalg.lstsq(R.T @ MR, MR.T @ u, rcond=None)[0]
    energy = part * (MR.T @ u)
    share = float(energy.sum() / (u @ (mass.M @ u)))
    return share, RIGID_WORDS[int(np.argmax(np.abs(energy)))]


def _centre(mesh: Mesh, mass: Inertia) -> Array:
    R = rigid.motions(mesh.points, N_FREEDOMS, np.zeros(3), 1.0)
    moment = R.T @ (mass.M @ R)
    x, y, z = moment[1, 5], moment[2, 3], moment[0, 4]
    return np.asarray(np.array([x, y, z]) / moment[0, 0])


def character(frame: Frame, mesh: Mesh, mass: Inertia, u: Array) -> Character:
    """Return what one mode does."""
    metal, carried = mass.shares(mesh, u)
    steel, whole = sum(metal.values()), sum(metal.values()) + sum(carried.values())
    share, motion = rigid_part(mesh, mass, u)
    if share > WHOLE:
        return Character(f"whole vehicle, {motion}", 1.0, counts=False)
    body = _body_motion(frame, mesh, carried, whole, u)
    if body:
        return Character(body, 1.0, counts=False)
    kinds = {m.name: m.kind for m in frame.members}
    name = max((n for n in metal if kinds[n] != "rail"), key=lambda n: metal[n], default=None)
    if name is not None and metal[name] > LOCAL * steel and steel > 0.2 * whole:
        return Character(f"{name}, local, {_direction(mesh, u, name)}", 1.0, counts=False)
    parts = sorted(participation(frame, mesh, u).items(), key=lambda item: -item[1])
    if not parts:
        most = max(metal, key=lambda n: metal[n])
        return Character(f"{most}, {_direction(mesh, u, most)}", 1.0, counts=False)
    (word, most_of), (second, _) = parts[:2]
    return Character(word, most_of, "" if most_of >= PURE else second)


def _direction(mesh: Mesh, u: Array, member: str) -> str:
    nodes = mesh.nodes_of[member][1]
    size = np.sum(u.reshape(-1, N_FREEDOMS)[nodes, :3] ** 2, axis=0)
    return ("fore and aft", "sideways", "up and down")[int(np.argmax(size))]


def _body_motion(
    frame: Frame, mesh: Mesh, carried: dict[str, float], whole: float, u: Array
) -> str:
    """Return what a body does that moves on its mounts and holds most of the energy, or ""."""
    by_name = {m.name: m for m in frame.masses}
    on_mounts = {n: e for n, e in carried.items() if by_name[n].carrier == "mounts"}
    if not mesh.bodies or sum(on_mounts.values()) < CARRIED * whole:
        return ""
    moved = u.reshape(-1, N_FREEDOMS)
    most = max(mesh.bodies, key=lambda b: float(np.sum(moved[b.nodes, :3] ** 2)))
    points, motion = mesh.points[most.nodes], moved[most.nodes, :3].ravel()
    R = rigid.motions(points, 3 + 3, points.mean(axis=0), 1.0).reshape(-1, 6, 6)[:, :3]
    R = R.reshape(-1, 6)
    part = np.linalg.lstsq(R, motion, rcond=None)[0]
    left = float(np.sum((motion - R @ part) ** 2) / np.sum(motion**2))
    size = [float(np.sum((R[:, k] * part[k]) ** 2)) for k in range(6)]
    what = "flexing" if left > 0.5 else RIGID_WORDS[int(np.argmax(size))]
    return f"body {most.body.name} on its mounts, {what}"


def names(characters: list[Character]) -> list[str]:
    """Return what modes are called, numbered among their like from the lowest on."""
    seen: dict[str, int] = {}
    out = []
    for c in characters:
        if not c.counts:
            out.append(c.word)
            continue
        if c.share < MOSTLY:
            out.append(f"mixed: {c.word} and {c.second}")
            continue
        number = seen.get(c.word, 0)
        seen[c.word] = number + 1
        ordinal = ORDINALS[number] if number < len(ORDINALS) else f"{number + 1}th"
        name = f"{ordinal} {c.word}"
        out.append(name if c.share >= PURE else f"mixed, mostly {name}")
    return out
