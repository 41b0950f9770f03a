"""A validation case of a weld or of bolts: its line or pattern, and what is read off."""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from fea.document.validation_fastening import (
    BoltCheck,
    BoltExpectEntry,
    WeldCheck,
    WeldExpectEntry,
)
from fea.errors import Complaint, DocumentError
from fea.strength.bolts import shears, tensions
from fea.strength.line import WeldLine, polyline
from fea.strength.weld import THROAT, Electrode
from fea.study import bolt

Array = NDArray[np.float64]

SIDES = 720
"""Of the polygon that stands for a round weld."""

_UNITS = {
    "mm N": ("mm", "N", "MPa"),
    "in lbf": ("in", "lbf", "psi"),
    "in kip": ("in", "kip", "ksi"),
}
"""Length, force and stress of each system."""


def check(document: WeldCheck | BoltCheck) -> None:
    """Refuse answers in another unit, or at a place that the weld does not have.

    Raises
    ------
    DocumentError
        With everything that is wrong.
    """
    length, force, stress = _UNITS[document.units]
    units = {
        "length": length, "centroid_x": length, "centroid_y": length, "leg": length,
        "Sw_top": f"{length}2", "Sw_bottom": f"{length}2", "Jw": f"{length}3",
        "load": f"{force}/{length}", "allowed": f"{force}/{length}", "throat_stress": stress,
        "shear": force, "tension": force, "bearing": stress, "stress_area": f"{length}2",
        "preload": force,
    }  # fmt: skip
    complaints = []
    answers: Sequence[WeldExpectEntry | BoltExpectEntry] = document.expect
    for number, entry in enumerate(answers):
        unit = units[entry.read]
        if entry.scale == 1.0 and entry.unit != unit:
            where = document.origin.where(("expect", number, "unit"))
            rule = "unit must be that of what is read"
            complaints.append(Complaint(rule, where, f'"{entry.unit}"', f'write "{unit}"'))
        if isinstance(document, WeldCheck) and isinstance(entry, WeldExpectEntry):
            complaints += _place_fault(document, entry, number)
    if complaints:
        raise DocumentError(*complaints)


def _place_fault(document: WeldCheck, entry: WeldExpectEntry, number: int) -> list[Complaint]:
    if entry.at is None or np.any(_here(_line(document), entry.at)):
        return []
    where = document.origin.where(("expect", number, "at"))
    return [Complaint("the place must be an end of a stretch", where, str(entry.at))]


def read(document: WeldCheck | BoltCheck) -> list[float]:
    """Return every answer, in the order of the file."""
    if isinstance(document, WeldCheck):
        return [_weld(document, entry) for entry in document.expect]
    return [_bolts(document, entry) for entry in document.expect]


def _line(document: WeldCheck) -> WeldLine:
    if document.circle is not None:
        angle = 2.0 * np.pi * np.arange(SIDES + 1) / SIDES
        flat = 0.5 * document.circle * np.column_stack([np.cos(angle), np.sin(angle)])
        return polyline(np.column_stack([flat, np.zeros(SIDES + 1)]))
    ends = np.array(document.line).reshape(-1, 2, 2)
    return WeldLine(np.concatenate([ends, np.zeros((len(ends), 2, 1))], axis=2))


def _here(line: WeldLine, at: list[float]) -> NDArray[np.bool_]:
    return np.asarray(np.linalg.norm(line.ends[..., :2] - np.array(at), axis=2) < 1e-9)


def _weld(document: WeldCheck, entry: WeldExpectEntry) -> float:
    line = _line(document)
    plain: dict[str, Callable[[], float]] = {
        "length": lambda: line.length,
        "centroid_x": lambda: float(line.centroid[0]),
        "centroid_y": lambda: float(line.centroid[1]),
        "Sw_top": lambda: float(line.inertia[0, 0]) / line.furthest(1, 1.0),
        "Sw_bottom": lambda: float(line.inertia[0, 0]) / line.furthest(1, -1.0),
        "Jw": lambda: float(line.inertia[2, 2]),
    }
    if entry.read in plain:
        return plain[entry.read]()
    if entry.read == "allowed":
        assert document.electrode is not None
        assert document.leg is not None
        return Electrode(document.electrode).per_length(document.leg)
    assert document.force is not None
    each = np.linalg.norm(
        line.loads(np.array([*document.force, *document.moment]), np.array(document.point)), axis=2
    )
    highest = float(each.max() if entry.at is None else each[_here(line, entry.at)].max())
    if entry.read == "load":
        return highest
    if entry.read == "throat_stress":
        assert document.leg is not None
        return highest / (THROAT * document.leg)
    if document.allowable is not None:
        return highest / document.allowable
    assert document.electrode is not None
    return Electrode(document.electrode).leg(highest)


def _bolts(document: BoltCheck, entry: BoltExpectEntry) -> float:
    if entry.read == "stress_area":
        return bolt.stress_area(document.diameter)
    if entry.read == "preload":
        assert document.torque is not None
        return bolt.preload(document.torque, document.diameter)
    assert document.force is not None
    places, force = np.array(document.place), np.array(document.force)
    middle = np.append(places.mean(axis=0), 0.0)
    moment = np.cross(np.array(document.point) - middle, force)
    if entry.read == "tension":
        each = tensions(places, float(force[2]), moment[:2], document.diameter)
    else:
        each = np.linalg.norm(shears(places, force[:2], float(moment[2])), axis=1)
    one = float(each.max() if entry.bolt is None else each[entry.bolt - 1])
    if entry.read == "bearing":
        assert document.wall is not None
        return one / (document.diameter * document.wall)
    return one
