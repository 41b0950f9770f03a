"""Frequencies and buckling factors of a validation case's structure."""

import math

import numpy as np

from fea.analyse import solve
from fea.document.validation import MassEntry, StructureDocument
from fea.mesh.mesh import arm_rows
from fea.solve.buckling import buckling
from fea.solve.inertia import Lump, inertia
from fea.solve.modes import modes
from fea.solve.system import System, hold, system
from fea.verify.structure import Structure


def read_numbered(document: StructureDocument, structure: Structure) -> dict[int, float]:
    """Return the frequencies and factors that a case reads, by their place in the file.

    A factor that is not there, since too little is compressed, is not a number.
    """
    whole = system(structure.mesh)
    out: dict[int, float] = {}
    for word, compute in (("frequency", _frequencies), ("buckling", _factors)):
        asked = {k: e.number or 0 for k, e in enumerate(document.expect) if e.read == word}
        if asked:
            found = compute(document, structure, whole, max(asked.values()))
            for k, number in asked.items():
                out[k] = found[number - 1] if number <= len(found) else math.nan
    return out


def _frequencies(
    document: StructureDocument, structure: Structure, whole: System, count: int
) -> list[float]:
    lumps = [_lump(entry, structure) for entry in document.mass]
    mass = inertia(whole, lumps=lumps, rotary=document.rotary, rigid_ends=False)
    found = modes(whole, mass, count, held=structure.loads.rows)
    return [float(f) for f in found.frequency]


def _lump(entry: MassEntry, structure: Structure) -> Lump:
    node = np.array([structure.node[entry.node]], dtype=np.intp)
    x, y, z = entry.turn
    return Lump(entry.node, entry.mass, arm_rows(node, np.array([entry.arm])), (x, y, z))


def _factors(
    document: StructureDocument, structure: Structure, whole: System, count: int
) -> list[float]:
    loads = structure.loads
    forces = solve(structure.mesh, [loads])[0].forces
    held = hold(whole, loads.rows, loads.values[:, None])
    return [float(f) for f in buckling(held, forces, count).factor]
