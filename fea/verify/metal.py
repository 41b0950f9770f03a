"""Whole frames as thin shells beside the beams: stiffness, twist, stress and time.

Three answers to the same document and the same cases: the frame meshed throughout as
shells (:mod:`fea.metal`), the beams with joints as condensed sheet metal, and the beams
with the quick rules for joints.  What cannot be meshed is left out of all three.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution, analyse
from fea.document.find import shipped_frames
from fea.errors import Complaint, ModelError
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.metal import SIZE, MetalSolution, analyse_metal, meshable
from fea.result.answer import NM_PER_DEG
from fea.result.compare_metal import (
    MidBay,
    beam_stress,
    measure,
    metal_profile,
    metal_stress,
    mid_bays,
)
from fea.result.stiffness import Profile, profile

LADDERS = "ladder_"
"""How the names of the teaching ladders begin."""


@dataclass(frozen=True)
class Trio:
    """One figure three times; None where there is none."""

    shells: float
    sheet_joints: float | None
    beam_rules: float | None

    def off(self, scale: float | None = None) -> "tuple[float | None, float | None]":
        """Return by how much the beams' two figures are off the shells', over `scale`.

        Over the shells' own figure if it is not given.
        """
        size = self.shells if scale is None else scale
        one, two = (
            None if v is None or size == 0.0 else (v - self.shells) / abs(size)
            for v in (self.sheet_joints, self.beam_rules)
        )
        return one, two


@dataclass(frozen=True)
class CaseBeside:
    """One case: its stiffness in its trade unit, its twist by station, its mid-bay stress.

    Attributes
    ----------
    stiffness : N m/deg or N/mm as `measure` says; None if the case measures none
    twist : (station, mm, and angle, deg), for cases that measure twist
    stress : (bay, normal stress in the rails, MPa)
    residual : of the shells
    """

    case: Case
    measure: Literal["twist", "bending", "none"]
    stiffness: Trio | None
    twist: tuple[tuple[float, Trio], ...]
    stress: tuple[tuple[MidBay, Trio], ...]
    residual: float

    @property
    def whole_twist(self) -> float:
        """From end to end of the frame in shells, deg."""
        return float(np.ptp([t.shells for _, t in self.twist])) if self.twist else 0.0

    @property
    def whole_stress(self) -> float:
        """The largest of the shells, MPa."""
        return max((t.shells for _, t in self.stress), default=0.0)


@dataclass(frozen=True)
class FrameBeside:
    """One frame in shells beside its beams.

    `left_out` has a line on each thing left out of all three; `seconds` are wall-clock, with
    nothing kept from before; `freedoms` are those solved for.
    """

    frame: Frame
    left_out: tuple[str, ...]
    size: float
    freedoms: Trio
    seconds: Trio
    cases: tuple[CaseBeside, ...]


def teaching_ladders() -> dict[str, Path]:
    """Return the shipped teaching ladders, name to file."""
    return {name: path for name, path in shipped_frames().items() if name.startswith(LADDERS)}


def default_cases(path: Path) -> tuple[str, str]:
    """Return the cases of a frame when none is named.

    A teaching ladder's axles stand at its very ends; it is held further in to be bent.
    """
    return "twist", "ladder_bending" if path in teaching_ladders().values() else "bending"


def compare(frame: Frame, cases: Sequence[Case], size: float = SIZE) -> FrameBeside:
    """Return a frame in shells beside its beams.

    Raises
    ------
    ModelError, SolveError
        As :func:`fea.metal.analyse_metal` and :func:`fea.analyse.analyse`, or if the frame
        has no pair of rails.
    """
    sides = {m.side for m in frame.members if m.kind == "rail"}
    if not {"right", "left"} <= sides:
        raise ModelError(
            Complaint("a frame in sheet metal is read from its pair of rails", frame.source)
        )
    frame, left_out = meshable(frame)
    middles = mid_bays(frame)
    rows: dict[str, list[float]] = {}
    for middle in middles:
        for name, d in middle.rails:
            rows.setdefault(name, []).append(d)
    clock = [perf_counter()]
    shells = analyse_metal(frame, cases, size, rows)
    clock.append(perf_counter())
    sheet_joints = analyse(frame, cases, sheet_joints=True)
    clock.append(perf_counter())
    by_rules = analyse(frame, cases)
    clock.append(perf_counter())
    seconds = np.diff(clock).tolist()
    beams = (sheet_joints, by_rules)
    return FrameBeside(
        frame=frame,
        left_out=left_out,
        size=size,
        freedoms=Trio(shells[0].freedoms, *(a.solutions[0].checks.freedoms for a in beams)),
        seconds=Trio(*seconds),
        cases=tuple(
            _case(frame, case, shells[k], [a.solutions[k] for a in beams], middles)
            for k, case in enumerate(cases)
        ),
    )


def _case(
    frame: Frame,
    case: Case,
    shells: MetalSolution,
    beams: Sequence[Solution],
    middles: Sequence[MidBay],
) -> CaseBeside:
    lines = [metal_profile(shells), *(_line(frame, s) for s in beams)]
    found = [measure(frame, case, line) for line in lines]
    unit = NM_PER_DEG if case.measure == "twist" else 1.0
    own, *others = [None if v is None else float(v * unit) for v in found]
    stations = lines[0].stations
    angles = [_angles(line, stations) for line in lines]
    stress = [
        metal_stress(frame, shells, middles),
        *(beam_stress(frame, s, middles) for s in beams),
    ]
    return CaseBeside(
        case=case,
        measure=case.measure,
        stiffness=None if own is None else Trio(own, *others),
        twist=tuple(
            (float(x), Trio(shell_angle, *rest))
            for x, (shell_angle, *rest) in zip(stations, zip(*angles, strict=True), strict=True)
            if case.measure == "twist" and shell_angle is not None
        ),
        stress=tuple(
            (middle, Trio(own_stress, *rest))
            for middle, (own_stress, *rest) in zip(middles, zip(*stress, strict=True), strict=True)
            if own_stress is not None
        ),
        residual=shells.residual,
    )


def _angles(line: Profile, stations: NDArray[np.float64]) -> list[float | None]:
    """Return the twist angle at stations, deg; None beyond where a profile ends.

    A rail's end within a patch of sheet metal has no node of its own.
    """
    low, high = line.stations[[0, -1]]
    found = np.degrees(np.interp(stations, line.stations, line.angle)).tolist()
    return [a if low <= x <= high else None for a, x in zip(found, stations, strict=True)]


def _line(frame: Frame, solution: Solution) -> Profile:
    line = profile(frame, solution)
    assert line is not None, "compare() asks for both rails"
    return line


def as_record(compared: Sequence[FrameBeside], failed: Sequence[tuple[str, str]]) -> dict[str, Any]:
    """Return the comparisons as plain data, units in the names; `failed` are (frame, why)."""
    return {
        "format": 1,
        "frames": [_frame_record(one) for one in compared],
        "not_meshed": [{"frame": name, "why": why} for name, why in failed],
    }


def _frame_record(one: FrameBeside) -> dict[str, Any]:
    return {
        "frame": one.frame.name,
        "title": one.frame.title,
        "parts_fitted": list(one.frame.fitted),
        "left_out": list(one.left_out),
        "shell_size_mm": one.size,
        "freedoms": _plain(one.freedoms),
        "seconds": _plain(one.seconds),
        "cases": [_case_record(case) for case in one.cases],
    }


def _case_record(one: CaseBeside) -> dict[str, Any]:
    unit = {"twist": "nm_per_deg", "bending": "n_per_mm"}.get(one.measure)
    record: dict[str, Any] = {"case": one.case.name, "shell_residual": one.residual}
    if one.stiffness is not None:
        record[f"{one.measure}_stiffness_{unit}"] = _with_off(one.stiffness)
    if one.twist:
        record["end_to_end_twist_deg"] = one.whole_twist
        record["twist_deg"] = [
            {"station_mm": x, **_with_off(angle, one.whole_twist)} for x, angle in one.twist
        ]
    record["mid_bay_normal_stress_mpa"] = [
        {
            "between": middle.bay.words,
            "from_mm": middle.bay.start,
            "to_mm": middle.bay.end,
            "station_mm": middle.station,
            **_with_off(stress),
        }
        for middle, stress in one.stress
    ]
    return record


def _plain(figure: Trio) -> dict[str, Any]:
    return {
        "shells": figure.shells,
        "sheet_joints": figure.sheet_joints,
        "beam_rules": figure.beam_rules,
    }


def _with_off(figure: Trio, scale: float | None = None) -> dict[str, Any]:
    sheet_joints, beam_rules = (None if v is None else 100.0 * v for v in figure.off(scale))
    return {
        **_plain(figure),
        "sheet_joints_off_percent": sheet_joints,
        "beam_rules_off_percent": beam_rules,
    }
