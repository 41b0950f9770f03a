"""Answers read off a validation case's model, and the unit each comes in."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.document.validation import (
    ElementDocument,
    ElementExpectEntry,
    SectionDocument,
    SectionExpectEntry,
    StructureDocument,
    StructureExpectEntry,
)
from fea.element.beam import N_FREEDOMS
from fea.errors import Complaint, DocumentError
from fea.result.forces import end_forces, section_forces
from fea.result.stress import stresses
from fea.section.properties import SectionProperties
from fea.verify.structure import FREEDOMS, Structure

Array = NDArray[np.float64]

# Powers of force and length; rad stands alone.
_POWERS: Mapping[str, tuple[int, int]] = {
    "ux": (0, 1), "uy": (0, 1), "uz": (0, 1), "move": (0, 1), "warp": (0, -1),
    "Fx": (1, 0), "Fy": (1, 0), "Fz": (1, 0), "Mx": (1, 1), "My": (1, 1), "Mz": (1, 1),
    "N": (1, 0), "Vy": (1, 0), "Vz": (1, 0), "T": (1, 1), "T_uniform": (1, 1),
    "T_warping": (1, 1), "M1": (1, 1), "M2": (1, 1), "B": (1, 2), "force": (1, 0),
    "energy": (1, 1), "normal": (1, -2), "shear": (1, -2), "von_mises": (1, -2),
    "A": (0, 2), "centroid_y": (0, 1), "centroid_z": (0, 1), "shear_centre_y": (0, 1),
    "shear_centre_z": (0, 1), "Iy": (0, 4), "Iz": (0, 4), "Iyz": (0, 4), "I1": (0, 4),
    "I2": (0, 4), "J": (0, 4), "J_cells": (0, 4), "Cw": (0, 6), "shear_area_y": (0, 2),
    "shear_area_z": (0, 2), "shear_yz": (0, -2), "omega": (0, 2), "flow_t": (0, -2),
    "arm_y": (0, 1), "arm_z": (0, 1),
}  # fmt: skip
_ANGLES = ("rx", "ry", "rz", "turn", "angle")
_FORCES = ("Fx", "Fy", "Fz", "Mx", "My", "Mz")
_STRESSES = ("normal", "shear", "von_mises")


def unit_of(read: str, units: str) -> str:
    """Return the unit of what is read, in a case's system of units.

    Examples
    --------
    >>> unit_of("B", "in kip")
    'kip in2'
    """
    if units == "none":
        return ""
    if read in _ANGLES:
        return "rad"
    if read in ("frequency", "buckling"):
        return "Hz" if read == "frequency" else ""
    length, force = units.split()
    powers = dict(zip((force, length), _POWERS[read], strict=True))
    if powers == {"N": 1, "mm": -2}:
        return "MPa"
    top = [f"{u}{p if p > 1 else ''}" for u, p in powers.items() if p > 0]
    bottom = [f"{u}{-p if p < -1 else ''}" for u, p in powers.items() if p < 0]
    return " ".join(top or ["1"]) + ("/" + " ".join(bottom) if bottom else "")


def element_unit(row: str, column: str, units: str) -> str:
    """Return the unit of an entry of an element's stiffness."""
    if units == "none":
        return ""
    length, force = units.split()
    of = {"u": 0, "r": 1, "w": 2}  # power of length in the conjugate force, a force alone 0
    power = of[row[0]] + of[column[0]] - 1
    per = ("", f" {length}", f" {length}2", f" {length}3", f"/{length}")[power]
    return force + per


def read_structure(
    document: StructureDocument, structure: Structure, solution: Solution
) -> list[float]:
    """Return every answer that is read off a loaded structure, in the order of the file.

    Frequencies and buckling factors are left as not-a-number (:mod:`fea.verify.swinging`).
    """
    return [
        np.nan
        if entry.number is not None
        else _read(entry, structure, solution, document.origin.where(("expect", k)))
        for k, entry in enumerate(document.expect)
    ]


def _read(
    entry: StructureExpectEntry, structure: Structure, solution: Solution, where: str
) -> float:
    if entry.read == "energy":
        if np.any(solution.loads.element_load):
            rule = "energy cannot be read with loads along bars"
            raise DocumentError(Complaint(rule, where))
        springs = float(solution.spring_motion @ solution.spring_force)
        return 0.5 * (float(np.sum(solution.deformations * solution.forces)) + springs)
    if entry.spring is not None:
        _insist(entry.read == "force", "a spring has a force alone", where)
        return float(solution.spring_force[structure.spring[entry.spring]])
    if entry.node is not None:
        return _at_node(entry, structure, solution, where)
    return _in_bar(entry, structure, solution, where)


def _at_node(
    entry: StructureExpectEntry, structure: Structure, solution: Solution, where: str
) -> float:
    node = structure.node[entry.node or ""]
    motions = solution.u.reshape(-1, N_FREEDOMS)
    motion = motions[node]
    if entry.less is not None:
        motion = motion - motions[structure.node[entry.less]]
    if entry.along is not None:
        part = motion[:3] if entry.read == "move" else motion[3:6]
        return float(part @ np.array(entry.along))
    if entry.read in FREEDOMS:
        return float(motion[FREEDOMS.index(entry.read)])
    words = (*_FORCES, "B")
    _insist(entry.read in words, "at a node there are motions and the forces of holds", where)
    held = solution.loads.rows.transposed(solution.reactions, solution.mesh.n_freedoms).reshape(
        -1, N_FREEDOMS
    )
    return float(held[node, words.index(entry.read)])


def _in_bar(
    entry: StructureExpectEntry, structure: Structure, solution: Solution, where: str
) -> float:
    elements = structure.elements[entry.bar or ""]
    if entry.read in _FORCES:
        _insist(entry.at in (0.0, 1.0), "at must be 0 or 1 for the force on a bar's end", where)
        first = entry.at == 0.0
        element = elements[0 if first else -1]
        return float(end_forces(solution)[element, _FORCES.index(entry.read) + (0 if first else 7)])
    # The element that holds the place; its start where two meet.
    scaled = entry.at * len(elements)
    number = min(int(scaled), len(elements) - 1)
    place = np.array([scaled - number])
    element = elements[number]
    if entry.read in _STRESSES:
        return _stress(entry, solution, element, place, where)
    forces = section_forces(solution, place)
    _insist(hasattr(forces, entry.read), "in a bar there are section forces and stresses", where)
    return float(getattr(forces, entry.read)[element, 0])


def _stress(
    entry: StructureExpectEntry,
    solution: Solution,
    element: np.intp,
    place: Array,
    where: str,
) -> float:
    section = int(solution.mesh.elements.section[element])
    group = next(g for g in stresses(solution, place) if g.section == section)
    row = int(np.flatnonzero(group.elements == element)[0])
    points = corner_rows(solution.mesh.sections[section], entry.corner, where)
    values = getattr(group, entry.read)[row, 0, points]
    return float(values[np.argmax(np.abs(values))])


def corner_rows(
    section: SectionProperties, corner: list[float] | None, where: str
) -> NDArray[np.intp]:
    """Return the recovery points of a section at a corner given in its own axes."""
    at = section.principal_axes @ (np.array(corner) - section.centroid)
    points = np.stack([section.point_y, section.point_z], axis=1)
    distance = np.linalg.norm(points - at, axis=1)
    size = float(np.max(np.abs(points), initial=0.0))
    found = np.flatnonzero(distance <= 1e-6 * size)
    if not len(found):
        corners = np.unique(np.round(points @ section.principal_axes + section.centroid, 9), axis=0)
        rule, do = "corner must be one of the section's", f"one of {corners.tolist()}"
        raise DocumentError(Complaint(rule, where, str(corner), do))
    return found


def read_section(document: SectionDocument, section: SectionProperties) -> list[float]:
    """Return every answer of a section, in the order of the file."""
    return [
        _section_value(entry, section, document.origin.where(("expect", k)))
        for k, entry in enumerate(document.expect)
    ]


def _section_value(entry: SectionExpectEntry, section: SectionProperties, where: str) -> float:
    axis = {"y": 0, "z": 1}
    if entry.read.startswith(("centroid", "shear_centre")):
        name, _, letter = entry.read.rpartition("_")
        return float(getattr(section, name)[axis[letter]])
    if entry.read.startswith("arm"):
        return float((section.shear_centre - section.centroid)[axis[entry.read[-1]]])
    if entry.read.startswith("shear_area"):
        return 1.0 / float(section.shear[axis[entry.read[-1]], axis[entry.read[-1]]])
    if entry.read == "shear_yz":
        return float(section.shear[0, 1])
    if entry.read == "omega":
        return float(section.omega[corner_rows(section, entry.corner, where)[0]])
    if entry.read == "flow_t":
        wall = entry.wall or 0
        _insist(2 * wall < len(section.flow_t), "the section has fewer walls", where)
        return float(section.flow_t[2 * wall])
    return float(getattr(section, entry.read))


def read_element(document: ElementDocument, stiffness: Array) -> list[float]:
    """Return every answer of an element, in the order of the file; stiffness (14, 14)."""

    def number(freedom: str) -> int:
        return FREEDOMS.index(freedom[:-1]) + N_FREEDOMS * (int(freedom[-1]) - 1)

    return [float(stiffness[number(e.row), number(e.column)]) for e in document.expect]


def check_unit(
    document: StructureDocument | SectionDocument | ElementDocument,
    number: int,
) -> None:
    """Refuse an answer whose unit is not that of what is read."""
    entry = document.expect[number]
    if entry.scale != 1.0:
        return  # a coefficient: its unit is the author's business
    if isinstance(entry, ElementExpectEntry):
        unit = element_unit(entry.row, entry.column, document.units)
    else:
        unit = unit_of(_word(entry), document.units)
    if entry.unit != unit:
        where = document.origin.where(("expect", number, "unit"))
        do = f'write "{unit}"'
        raise DocumentError(
            Complaint("unit must be that of what is read", where, f'"{entry.unit}"', do)
        )


def _word(entry: StructureExpectEntry | SectionExpectEntry) -> str:
    return str(entry.read)


def _insist(holds: bool, rule: str, where: str) -> None:
    if not holds:
        raise DocumentError(Complaint(rule, where))
