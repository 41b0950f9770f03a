"""A validation case of a whole frame: its documents read and checked, run, and read off."""

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fea.analyse import Analysis, analyse
from fea.document.find import shipped_cases, shipped_frames
from fea.document.read import read_case, read_frame
from fea.document.spelling import choices
from fea.document.validation_frame import FrameCheck, FrameExpectEntry
from fea.errors import Complaint, DocumentError, ModelError
from fea.frame.build import build_frame
from fea.frame.build_case import build_case
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.frame.spots import places, sides
from fea.result.answer import NM_PER_DEG
from fea.result.readings import Reading, readings
from fea.result.stiffness import Profile, bending_stiffness, profile, twist_stiffness

if TYPE_CHECKING:
    from fea.solve.condense import Store

_MEASURES = {"twist_stiffness": "twist", "bending_stiffness": "bending"}
"""What the load case must measure for an answer to be read."""

_Fault = tuple[str, str, str, str]
"""What is wrong with an answer: the key, the rule, what was found, what to do."""


def check(document: FrameCheck) -> None:
    """Refuse a case that does not fit its frame, its load case or its units.

    Raises
    ------
    DocumentError
        With everything that is wrong with the case and the documents that it names.
    """
    _both(document)


def read(document: FrameCheck, store: "Store | None" = None) -> list[float]:
    """Return every answer of a frame, in the order of the file.

    Parameters
    ----------
    store : Store, optional
        Where condensed joints are kept.

    Raises
    ------
    DocumentError
        As :func:`check`, or if a station has no twist angle.
    SolveError
        As :func:`fea.analyse.analyse`.
    """
    frame, case = _both(document)
    try:
        found = analyse(frame, [case], sheet_joints=document.joints == "sheet", store=store)
        return [_read(document, number, found) for number in range(len(document.expect))]
    except ModelError as error:
        raise _at(document, ("case",), error) from None


def _both(document: FrameCheck) -> tuple[Frame, Case]:
    """Return frame and load case, both as they must be for the answers."""
    complaints: list[Complaint] = []
    frame: Frame | None = None
    case: Case | None = None
    try:
        frame = _frame(document)
    except DocumentError as error:
        complaints += error.complaints
    try:
        case = build_case(read_case(_find(document, "case", shipped_cases())))
    except DocumentError as error:
        complaints += error.complaints
    if frame is not None and case is not None:
        try:
            places(frame, case)
            complaints += _answer_faults(document, frame, case)
        except ModelError as error:
            complaints += _at(document, ("case",), error).complaints
    if complaints:
        raise DocumentError(*complaints)
    assert frame is not None
    assert case is not None
    return frame, case


def _frame(document: FrameCheck) -> Frame:
    path = _find(document, "frame", shipped_frames())
    try:
        return build_frame(
            read_frame(path), source=str(path), fit=document.fit, leave=document.leave
        )
    except ModelError as error:
        raise _at(document, ("frame",), error) from None


def _find(document: FrameCheck, key: str, shipped: Mapping[str, Path]) -> Path:
    """Return the file that a key names: from the case's own folder, else a shipped one."""
    name = str(getattr(document, key))
    path = Path(document.origin.file).parent / name
    if path.is_file():
        return path
    if name in shipped:
        return shipped[name]
    what = "frame" if key == "frame" else "load case"
    raise DocumentError(
        Complaint(
            f"there is no such {what}: neither a file there nor one that is shipped",
            document.origin.where((key,)),
            f'"{name}"',
            choices(shipped, Path(name).stem),
        )
    )


def _at(document: FrameCheck, loc: tuple[str | int, ...], error: ModelError) -> DocumentError:
    """Return complaints of the frame as those of the case that named it."""
    here = document.origin.where(loc)
    return DocumentError(
        *(
            Complaint(c.rule, f"{here}: {c.where}" if c.where else here, c.found, c.do)
            for c in error.complaints
        )
    )


def _answer_faults(document: FrameCheck, frame: Frame, case: Case) -> Iterator[Complaint]:
    """Yield a complaint per answer that cannot be read, or that names another unit."""
    for number, entry in enumerate(document.expect):
        fault = _place_fault(entry, frame, case) or _unit_fault(entry, case)
        if fault is not None:
            key, rule, found, do = fault
            yield Complaint(rule, document.origin.where(("expect", number, key)), found, do)


def _place_fault(entry: FrameExpectEntry, frame: Frame, case: Case) -> _Fault | None:
    """Return what keeps an answer from being read at all."""
    if entry.read == "reading":
        return _reading_fault(entry, frame, case)
    rails = {m.side for m in frame.members if m.kind == "rail"}
    if not {"right", "left"} <= rails:
        return "read", f"{entry.read} is read from a pair of rails", frame.name, ""
    wanted = _MEASURES.get(entry.read, case.measure)
    if wanted != case.measure:
        rule = f"{entry.read} is read from a load case that measures {wanted}"
        return "read", rule, f"case {case.name} measures {case.measure}", ""
    return None


def _reading_fault(entry: FrameExpectEntry, frame: Frame, case: Case) -> _Fault | None:
    name = entry.reading or ""
    read = next((r for r in case.reads if r.name == name), None)
    if read is None:
        do = choices([r.name for r in case.reads], name)
        return "reading", "the load case must have the reading", f'"{name}"', do
    there = [side for side, _ in sides(frame, read.place, case.name)]
    if entry.side is None and len(there) > 1:
        return "side", "this reading has a value on each side", "", f"add side: {choices(there)}"
    if entry.side is not None and entry.side not in there:
        return "side", "the reading must have the side", f'"{entry.side}"', choices(there)
    return None


def _unit_fault(entry: FrameExpectEntry, case: Case) -> _Fault | None:
    unit = _unit(entry, case)
    if entry.scale != 1.0 or entry.unit == unit:  # a coefficient's unit is its author's business
        return None
    return "unit", "unit must be that of what is read", f'"{entry.unit}"', f'write "{unit}"'


def _unit(entry: FrameExpectEntry, case: Case) -> str:
    if entry.read == "reading":
        motion = next(r.motion for r in case.reads if r.name == entry.reading)
        return Reading(entry.reading or "", motion, "", 0.0).unit
    if entry.read == "twist_angle":
        return "deg" if entry.over is None else ""
    return "N m/deg" if entry.read == "twist_stiffness" else "N/mm"


def _read(document: FrameCheck, number: int, found: Analysis) -> float:
    entry = document.expect[number]
    frame, case, solution = found.frame, found.cases[0], found.solutions[0]
    if entry.read == "reading":
        mine = [r for r in readings(solution) if r.name == entry.reading]
        return next(r.value for r in mine if entry.side in (None, r.side))
    line = profile(frame, solution)
    assert line is not None, "_answer_faults() asks for both rails"
    if entry.read == "twist_stiffness":
        return float(twist_stiffness(frame, case, line) * NM_PER_DEG)
    if entry.read == "bending_stiffness":
        return float(bending_stiffness(frame, case, line))
    angle = _angle(document, number, "station", line)
    return angle if entry.over is None else angle / _angle(document, number, "over", line)


def _angle(document: FrameCheck, number: int, key: str, line: Profile) -> float:
    """Return the twist angle at the station that a key of an answer gives, deg."""
    station = float(getattr(document.expect[number], key))
    low, high = line.stations[[0, -1]].tolist()
    if not low <= station <= high:
        raise DocumentError(
            Complaint(
                "the station must lie where both rails are",
                document.origin.where(("expect", number, key)),
                f"{station:g} mm",
                f"from {low:g} to {high:g} mm",
            )
        )
    return float(np.degrees(np.interp(station, line.stations, line.angle)))
