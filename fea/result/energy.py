"""Strain energy by member and joint: what gives way is what stores it."""

from dataclasses import dataclass

import numpy as np

from fea.analyse import Solution


@dataclass(frozen=True)
class Share:
    """A member's or joint's part of the whole strain energy (0 to 1), and the energy, N mm."""

    name: str
    share: float
    energy: float


def shares(solution: Solution) -> list[Share]:
    """Return the shares of all members and springs, largest first; they sum to 1."""
    mesh = solution.mesh
    each = 0.5 * np.sum(solution.deformations * solution.forces, axis=1)
    by_member = np.bincount(mesh.elements.member, each, len(mesh.members))
    named = dict(zip(mesh.members, by_member.tolist(), strict=True))
    springs = 0.5 * solution.spring_motion * solution.spring_force
    for label, energy in zip(mesh.springs.label, springs.tolist(), strict=True):
        named[label] = named.get(label, 0.0) + energy
    for piece in solution.metal:  # what a joint's metal stores goes to the members it is of
        motion = piece.canonical(solution.u)
        energies = 0.5 * np.einsum("i,kij,j->k", motion, piece.kept.energy, motion)
        for name, energy in zip(piece.patch.canon.members, energies.tolist(), strict=True):
            named[name] = named.get(name, 0.0) + energy
    total = sum(named.values()) or 1.0
    found = [Share(name, energy / total, energy) for name, energy in named.items()]
    return sorted(found, key=lambda s: -s.energy)
