"""Strain energy by member, joint, mount, tie and body: what gives way is what stores it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fea.analyse import Solution

if TYPE_CHECKING:
    from fea.mesh.patches import Patch


@dataclass(frozen=True)
class Share:
    """A member's, joint's or body's part of the whole strain energy (0 to 1); energy, N mm."""

    name: str
    share: float
    energy: float


def shares(solution: Solution) -> list[Share]:
    """Return the shares of all members, springs and bodies, largest first; they sum to 1.

    Mounts and ties are springs, "mount M2 right", "tie sill link left"; a body between
    them is one piece, "body cab", with all its beams and panels.
    """
    mesh = solution.mesh
    each = 0.5 * np.sum(solution.deformations * solution.forces, axis=1)
    by_member = np.bincount(mesh.elements.member, each, len(mesh.members))
    named = dict(zip(mesh.members, by_member.tolist(), strict=True))
    springs = 0.5 * solution.spring_motion * solution.spring_force
    for label, energy in zip(mesh.springs.label, springs.tolist(), strict=True):
        named[label] = named.get(label, 0.0) + energy
    # What a joint's metal stores goes to the members it is of; what its bolts do, to them.
    for piece in solution.metal:
        motion = piece.canonical(solution.u)
        energies = 0.5 * np.einsum("i,kij,j->k", motion, piece.kept.energy, motion)
        names = (*piece.patch.canon.members, *bolt_labels(piece.patch))
        for name, energy in zip(names, energies.tolist(), strict=True):
            named[name] = named.get(name, 0.0) + energy
    for body in solution.bodies:
        motion = solution.u[body.freedoms]
        named[body.name] = named.get(body.name, 0.0) + 0.5 * float(motion @ body.stiffness @ motion)
    total = sum(named.values()) or 1.0
    found = [Share(name, energy / total, energy) for name, energy in named.items()]
    # Of mirror images, alike but for round-off, the first named comes first, whoever solves it.
    return sorted(found, key=lambda s: -round(s.share, 9))


def bolt_labels(patch: Patch) -> list[str]:
    """Return what the bolts of a patch's joints are called, as springs between beams are."""
    onto: dict[tuple[str, str], str] = {(j.member, j.end): j.onto for j in patch.frame.joints}
    return [f"{joint[0]} on {onto[joint]}, bolts" for joint in patch.canon.bolted]
