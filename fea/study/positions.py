"""A crossmember in each of its positions, and turned round: stiffness, and what its ends bear.

The loads of an end are what its rail puts on it, at the bolts' middle: what the nearest
beam of the member carries, carried over to there; nothing acts on the member in between.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.document.schema import FrameDocument
from fea.document.spelling import choices
from fea.element import beam
from fea.errors import Complaint, ModelError
from fea.frame.build import allowed_positions
from fea.frame.model import Frame, Joint
from fea.frame.slots import crossmember_entries, mount_station, reversible
from fea.mesh.bolts import has_pattern, pattern
from fea.result.answer import Answer
from fea.result.forces import end_forces
from fea.solve.condense import Store
from fea.study.attempt import Values
from fea.study.engine import Row, Runner, run
from fea.study.variant import Setting, Variant, solve_variant

Array = NDArray[np.float64]

COUPLE = 1e6
"""N mm, of twist that loads are told for: 1000 N m."""

FORCE = 1e3
"""N, of bending that loads are told for: 1 kN in all."""


@dataclass(frozen=True)
class EndLoad:
    """What a rail puts on one end: N and N mm along and about the vehicle's x, y, z."""

    onto: str
    force: tuple[float, float, float]
    moment: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Bolted:
    """A crossmember bolted at a station one way round.

    Attributes
    ----------
    station, mount : mm, of its line and of what it carries
    twist, bending : N mm/rad and N/mm, None where refused
    in_twist, in_bending : its ends' loads for `COUPLE` and for `FORCE`
    """

    station: float
    turned: bool
    mount: float
    twist: float | None = None
    bending: float | None = None
    in_twist: tuple[EndLoad, ...] = ()
    in_bending: tuple[EndLoad, ...] = ()
    complaints: tuple[Complaint, ...] = ()


@dataclass(frozen=True, eq=False)
class PositionSweep:
    """A crossmember tried everywhere; `station`, mm, is where the document has it."""

    name: str
    station: float
    joint: str
    tried: tuple[Bolted, ...]


def movable(document: FrameDocument, source: str, name: str | None) -> str:
    """Return the crossmember asked for, or the one that can be bolted in several ways.

    Raises
    ------
    ModelError
        If there is none, more than one and none is named, or the named one is fixed.
    """
    names = list(dict.fromkeys((*allowed_positions(document), *reversible(document))))
    if name is None and len(names) == 1:
        return names[0]
    if name in names:
        return names[names.index(name)]
    if name is None:
        rule = "more than one crossmember can be bolted elsewhere: say which"
        rule = rule if names else "no crossmember has several positions or can be turned round"
        do = ", ".join(names) or "give it positions, or reversible = true"
        raise ModelError(Complaint(rule, source, do=do))
    rule = f'there is no crossmember "{name}" with several positions, and none to be turned round'
    raise ModelError(Complaint(rule, source, do=choices(names, name)))


def ways(document: FrameDocument, name: str) -> list[tuple[float, bool]]:
    """Return every station, mm, that a crossmember can be bolted at, with whether it is turned."""
    entry = crossmember_entries(document)[name]
    stations = allowed_positions(document).get(name, (entry.station,))
    around = (False, True) if entry.reversible else (False,)
    return [(s, t) for t in around for s in stations]


def position_sweep(
    setting: Setting, base: Variant, name: str, runner: Runner | None = None
) -> PositionSweep:
    """Return a crossmember at each of its positions and, if it can be turned, both ways round."""
    entry = crossmember_entries(setting.document)[name]
    slotted = name in allowed_positions(setting.document)
    places = ways(setting.document, name)
    chosen = [_variant(base, name, s if slotted else None, turned=t) for s, t in places]
    rows = run(setting, chosen, bolted_values, runner)
    tried = tuple(
        _bolted(s, t, mount_station(entry, s, turned=t), row, name)
        for (s, t), row in zip(places, rows, strict=True)
    )
    joint = str(entry.joint) if entry.joint else "mixed"
    return PositionSweep(name, dict(base.positions).get(name, entry.station), joint, tried)


def bolted_values(setting: Setting, variant: Variant, store: Store | None) -> Values:
    """Return the stiffnesses, and per case the loads on all crossmembers' ends by member."""
    found = solve_variant(setting, variant, store)
    return {
        "twist": next((a.twist_stiffness for a in found if a.twist_stiffness), None),
        "bending": next((a.bending_stiffness for a in found if a.bending_stiffness), None),
        "loads": {
            a.case.measure: _loads(a, _named(setting.document))
            for a in found
            if a.case.measure != "none"
        },
    }


def _named(document: FrameDocument) -> tuple[str, ...]:
    return tuple(dict.fromkeys((*allowed_positions(document), *reversible(document))))


def _loads(answer: Answer, names: Sequence[str]) -> dict[str, list[list[float | str]]]:
    """Return per member its ends' rail, force and moment for the load they are told for."""
    total = answer.solution.loads.total
    applied = abs(total[3]) / COUPLE if answer.case.measure == "twist" else abs(total[2]) / FORCE
    frame = answer.frame
    there = {m.name for m in frame.members}
    return {
        name: [
            [joint.onto, *(joint_load(frame, answer.solution, joint) / applied).tolist()]
            for joint in frame.joints
            if joint.member == name
        ]
        for name in names
        if name in there
    }


def joint_load(frame: Frame, solution: Solution, joint: Joint) -> Array:
    """Return force and moment, (6,), N and N mm, that a rail puts on a member's end.

    In vehicle axes, at the middle of its bolts, or at the end of the member's line.

    Raises
    ------
    ModelError
        If the member is sheet metal from end to end.
    """
    mesh = solution.mesh
    elements = np.flatnonzero(mesh.elements.member == mesh.members.index(joint.member))
    if not len(elements):
        rule = "the loads of its ends cannot be told: no beam is left between them"
        raise ModelError(Complaint(rule, joint.member, do="take --joints beam"))
    at_start = joint.end == "start"
    place = mesh.elements.place[elements]
    outer = int(elements[np.argmin(place[:, 0]) if at_start else np.argmax(place[:, 1])])
    nodal = np.einsum("ij,i->j", beam.geometry(mesh.beams)[outer], end_forces(solution)[outer])
    column = 0 if at_start else 1
    force = nodal.reshape(2, -1)[column]
    node = mesh.points[mesh.elements.nodes[outer, column]]
    at = frame.member(joint.member).path[0 if at_start else -1]
    if has_pattern(joint):
        at = pattern(frame, joint).centre
    return np.concatenate([force[:3], force[3:6] + np.cross(node - at, force[:3])])


def _variant(base: Variant, name: str, station: float | None, *, turned: bool) -> Variant:
    positions = dict(base.positions)
    if station is not None:
        positions[name] = station
    around = {*base.turned} - {name} | ({name} if turned else set())
    parts = None if base.parts is None else sorted(base.parts)
    return Variant.of(parts, positions, dict(base.edits), sorted(around))


def _bolted(station: float, turned: bool, mount: float, row: Row, name: str) -> Bolted:
    if row.values is None:
        return Bolted(station, turned, mount, complaints=row.complaints)
    loads = {
        case: tuple(EndLoad(onto, tuple(six[:3]), tuple(six[3:])) for onto, *six in found[name])
        for case, found in row.values["loads"].items()
        if name in found
    }
    return Bolted(
        station,
        turned,
        mount,
        row.values["twist"],
        row.values["bending"],
        loads.get("twist", ()),
        loads.get("bending", ()),
    )
