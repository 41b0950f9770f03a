"""Where one more tie between body and frame matters, for every grade of mount.

One factorisation of the vehicle serves all: candidates, their stiffness and the grades of
the mounts are springs along a few rows, added and taken away by low-rank update
(:mod:`fea.solve.update`).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.frame.body import Tie
from fea.frame.case import Case
from fea.frame.model import Fastening, Frame, Mount
from fea.frame.mounts import effective, with_grade
from fea.frame.spots import all_places, stiff_ends
from fea.load import loads
from fea.mesh.discretise import discretise
from fea.mesh.mesh import Mesh, Rows, stack_rows, turned
from fea.mesh.vehicle import (
    mount_rows,
    mount_stiffness,
    tie_label,
    tie_rows,
    tie_stiffness,
    ways,
)
from fea.result.stiffness import Line, Profile, bending_stiffness, line, twist_stiffness
from fea.solve.condense import Store
from fea.solve.system import Held, System, hold, system
from fea.solve.update import Flexibility, Seen, see

Array = NDArray[np.float64]
Index = NDArray[np.intp]

FACTORS = (0.1, 0.3, 1.0, 3.0, 10.0)
"""Stiffness of a tie, over that of its bracket as drawn, for the table."""


LENT = 1000.0
"""N/mm each way, lent to a mount that holds nothing; see :func:`started`."""


@dataclass(frozen=True, eq=False)
class Candidate:
    """One tie or a pair of them, right and left, fitted together.

    Attributes
    ----------
    rows : (k,), the rows it resists along, over all ties
    stiffness : (k,), along them; ways : per tie, (its rows, their directions (k, 6))
    """

    name: str
    ties: tuple[Tie, ...]
    rows: Index
    stiffness: Array
    ways: tuple[tuple[Index, Array], ...]

    @property
    def station(self) -> float:
        """Where its body end is, mm; the mean of the two sides."""
        return float(np.mean([t.body_point[0] for t in self.ties]))


@dataclass(frozen=True, eq=False)
class Measured:
    """A vehicle in one state: its stiffnesses and twist profile, and what mounts bear.

    `mounts`: (n_mounts, 3), N along x, y, z under one degree of twist.
    """

    twist: float
    bending: float
    profile: Profile
    mounts: Array


@dataclass(frozen=True, eq=False)
class Outcome:
    """A candidate with one grade of mounts.

    Attributes
    ----------
    vehicle : the vehicle with it, as stiff as its bracket is drawn
    twist_gain, bending_gain : shares of the stiffness without it
    load : (n_ties, 6), N and N mm at its body end under one degree of twist
    by_stiffness : (n_factors,), twist gain with `FACTORS` times its stiffness
    neighbours : per tie, the nearest mounts of the same body and side: their numbers
    linked : whether its ends cannot move against each other, so that it can do nothing
    """

    vehicle: Measured
    twist_gain: float
    bending_gain: float
    load: Array
    by_stiffness: Array
    neighbours: tuple[tuple[int, ...], ...]
    linked: bool

    @property
    def force(self) -> float:
        """The larger force of its ties under one degree of twist, N."""
        return float(np.linalg.norm(self.load[:, :3], axis=1).max())


@dataclass(frozen=True, eq=False)
class Grade:
    """All candidates with one grade of mounts; `extra` is what it adds to the mounts' rows."""

    name: str
    bare: Measured
    outcomes: tuple[Outcome, ...]
    extra: Array


@dataclass(frozen=True, eq=False)
class TieStudy:
    """The vehicle prepared for the study, and its results.

    `mount_rows`: (n_mounts, 6), rows over all; `start`: (n_mounts, 6), their stiffness when
    the vehicle was solved; `seen`: per case, twist then bending.
    """

    frame: Frame
    cases: tuple[Case, Case]
    mesh: Mesh
    mounts: tuple[Mount, ...]
    candidates: tuple[Candidate, ...]
    mount_rows: Index
    start: Array
    line: Line
    seen: tuple[Seen, Seen]
    flexible: tuple[Flexibility, Flexibility]
    grades: tuple[Grade, ...] = ()

    def springs(self, extra: Array, chosen: Sequence[Candidate]) -> tuple[Index, Array]:
        """Return rows and stiffness of a grade's change of mounts with some candidates."""
        rows = [self.mount_rows.ravel(), *(c.rows for c in chosen)]
        return np.concatenate(rows), np.concatenate([extra.ravel(), *(c.stiffness for c in chosen)])


def study(
    frame: Frame,
    ties: Sequence[Tie],
    grades: Sequence[str],
    cases: tuple[Case, Case],
    *,
    sheet_joints: bool = False,
    store: Store | None = None,
) -> TieStudy:
    """Return the study of candidate ties.

    Parameters
    ----------
    frame : with the bodies that stand on it
    ties : the candidates; those that share a pair's name are fitted together
    grades : of the mounts, names of ready grades, or "as fitted"
    cases : one that measures twist and one that measures bending

    Raises
    ------
    ModelError
        If there is no body, no candidate, no such grade, or no pair of rails to measure on.
    """
    if not frame.bodies:
        raise ModelError(
            Complaint("a tie needs a body to be tied", frame.source, do="choose one with --body")
        )
    if not ties:
        raise ModelError(
            Complaint(
                "there is no place for a tie",
                frame.source,
                do='mark floor braces within reach of a rail with "floor = true", or widen --reach',
            )
        )
    for name in grades:
        if name != "as fitted":
            with_grade(frame, name)  # refuses an unknown one before minutes of sheet metal
    vehicle, mesh = meshed(frame, ties, cases, sheet_joints=sheet_joints)
    return solved(prepare(vehicle, mesh, cases, store), grades)


def meshed(
    frame: Frame, ties: Sequence[Tie], cases: Sequence[Case], *, sheet_joints: bool
) -> tuple[Frame, Mesh]:
    """Return the frame with the candidates as ties that are not fitted, and its mesh."""
    own = tuple(t for t in frame.ties if t.fitted)
    spare = tuple(replace(t, fitted=False) for t in ties if t not in own)
    vehicle = replace(frame, ties=(*own, *spare))
    wanted = all_places(vehicle, cases)
    ends = {end for case in cases for end in stiff_ends(vehicle, case)}
    mesh = discretise(started(vehicle), wanted, sheet_joints=sheet_joints, stiff_ends=ends)
    return vehicle, mesh


def started(frame: Frame) -> Frame:
    """Return a frame whose mounts all hold something.

    The body must stand on something to be solved; what a missing mount is lent to start with
    is taken away again with the first grade of mounts.
    """

    def standing(mount: Mount) -> Mount:
        if all(k > 0.0 for k in effective(mount)):
            return mount
        pads = (LENT, LENT, LENT)
        return replace(mount, stiffness=pads, bracket=np.inf, state="good", fastening=Fastening())

    return replace(frame, mounts=tuple(standing(m) for m in frame.mounts))


def prepare(
    frame: Frame, mesh: Mesh, cases: tuple[Case, Case], store: Store | None = None
) -> TieStudy:
    """Return the vehicle solved once, seen through its mounts and the candidates."""
    whole = system(mesh, store)
    mounts = {(m.name, m.side): m for m in frame.mounts}
    rows: list[Rows] = []
    held: list[Mount] = []
    for at in mesh.bodies:
        for name, side in at.body.points:
            if (name, side) in mounts:
                held.append(mounts[name, side])
                rows.append(mount_rows(mesh, held[-1], at.node_of["mount", name, side]))
    candidates, own = _candidates(frame, mesh, first=6 * len(held))
    rows += own
    found = line(frame, mesh)
    if found is None:
        raise ModelError(Complaint("this study needs a pair of rails", frame.source))
    every = stack_rows(rows)
    lent = started(replace(frame, mounts=tuple(held)))
    seen = tuple(_seen(frame, whole, case, every) for case in cases)
    flexible = tuple(s.flexibility(reading) for s, reading in zip(seen, found.rows(), strict=True))
    return TieStudy(
        frame=frame,
        cases=cases,
        mesh=mesh,
        mounts=tuple(held),
        candidates=candidates,
        mount_rows=np.arange(6 * len(held)).reshape(-1, 6),
        start=np.array([mount_stiffness(m) for m in lent.mounts]),
        line=found,
        seen=(seen[0], seen[1]),
        flexible=(flexible[0], flexible[1]),
    )


def solved(vehicle: TieStudy, grades: Sequence[str]) -> TieStudy:
    """Return the study with every candidate tried with every grade of mounts."""
    return replace(vehicle, grades=tuple(_grade(vehicle, name) for name in grades))


def _seen(frame: Frame, whole: System, case: Case, rows: Rows) -> Seen:
    load = loads(frame, whole.mesh, case)
    held: Held = hold(whole, load.rows, load.values[:, None])
    u, _, _ = held.solve(load.force[:, None])
    return see(held, rows, u)


def _candidates(frame: Frame, mesh: Mesh, first: int) -> tuple[tuple[Candidate, ...], list[Rows]]:
    """Return the ties that are not fitted by pairs, and the rows they resist along."""
    names = dict.fromkeys(t.pair for t in frame.ties if not t.fitted)
    node_of = {label: node for at in mesh.bodies for label, node in at.node_of.items()}
    out, rows = [], []
    for name in names:
        ties = tuple(t for t in frame.ties if t.pair == name and not t.fitted)
        mine, stiffness, pieces = [], [], []
        for tie in ties:
            motions, k = ways(tie_stiffness(tie))
            own = tie_rows(mesh, tie, node_of[tie_label(tie)])
            rows.append(turned(own, motions))
            at = np.arange(first, first + len(k))
            first += len(k)
            mine.append(at)
            stiffness.append(k)
            pieces.append((at, motions))
        out.append(
            Candidate(name, ties, np.concatenate(mine), np.concatenate(stiffness), tuple(pieces))
        )
    return tuple(out), rows


def _grade(vehicle: TieStudy, name: str) -> Grade:
    """Try every candidate with one grade of mounts."""
    extra = mount_change(vehicle, name)
    rows = vehicle.mount_rows.ravel()
    flexible = [f.with_springs(rows, extra.ravel()) for f in vehicle.flexible]
    now = extra + vehicle.start
    bare = _measure(vehicle, [f.c for f in flexible], flexible[0].b, now)
    outcomes = []
    for candidate in vehicle.candidates:
        outcomes.append(_try(vehicle, candidate, (flexible[0], flexible[1]), bare, now))
    return Grade(name, bare, tuple(outcomes), extra)


def mount_change(vehicle: TieStudy, grade: str) -> Array:
    """Return what a grade adds to the mounts' stiffness at the start, (n_mounts, 6)."""
    mounts = vehicle.mounts
    if grade != "as fitted":
        mounts = with_grade(replace(vehicle.frame, mounts=mounts), grade).mounts
    return np.asarray(np.array([mount_stiffness(m) for m in mounts]) - vehicle.start)


def _measure(vehicle: TieStudy, readings: Sequence[Array], motion: Array, k: Array) -> Measured:
    """Return the vehicle's figures from its readings and its mounts' motions under twist."""
    frame, (twist_case, bending_case), at = vehicle.frame, vehicle.cases, vehicle.line
    none = np.zeros(len(at.stations))
    profile = Profile(at.stations, readings[0][:, 0], none, none)
    bent = Profile(at.stations, none, readings[1][:, 0], none)
    twist = twist_stiffness(frame, twist_case, profile)
    degree = np.radians(1.0) / _twist(frame, profile)
    forces = degree * k * motion[vehicle.mount_rows, 0]
    return Measured(twist, bending_stiffness(frame, bending_case, bent), profile, forces[:, :3])


def measured(vehicle: TieStudy, number: int, u: Array) -> float:
    """Return the twist (number 0) or bending stiffness that motions u (n_freedoms,) tell."""
    rows = vehicle.line.rows()[number]
    read = np.zeros(rows.n_rows)
    np.add.at(read, rows.row, rows.coefficient * u[rows.freedom])
    none = np.zeros(len(read))
    case = vehicle.cases[number]
    if number == 0:
        return twist_stiffness(
            vehicle.frame, case, Profile(vehicle.line.stations, read, none, none)
        )
    return bending_stiffness(vehicle.frame, case, Profile(vehicle.line.stations, none, read, none))


def _twist(frame: Frame, profile: Profile) -> float:
    """Return the twist between the axles, rad, of either sign."""
    stations = [a.station for a in frame.axles]
    angle = np.interp([min(stations), max(stations)], profile.stations, profile.angle)
    return float(angle[0] - angle[1])


def _try(
    vehicle: TieStudy,
    candidate: Candidate,
    flexible: tuple[Flexibility, Flexibility],
    bare: Measured,
    k: Array,
) -> Outcome:
    rows, stiffness = candidate.rows, candidate.stiffness
    read, force = zip(*(f.read_with(rows, stiffness) for f in flexible), strict=True)
    twisted = flexible[0]
    motion = twisted.b - twisted.G[:, rows] @ force[0]
    found = _measure(vehicle, read, motion, k)
    degree = np.radians(1.0) / _twist(vehicle.frame, found.profile)
    at = {row: n for n, row in enumerate(rows.tolist())}
    load = np.array(
        [
            degree * motions.T @ force[0][[at[r] for r in own.tolist()], 0]
            for own, motions in candidate.ways
        ]
    )
    curve = []
    for other in twisted.read_scaled(rows, stiffness, np.array(FACTORS)):
        profile = Profile(
            vehicle.line.stations, other[:, 0], bare.profile.height, bare.profile.offset
        )
        curve.append(twist_stiffness(vehicle.frame, vehicle.cases[0], profile) / bare.twist - 1.0)
    return Outcome(
        vehicle=found,
        twist_gain=found.twist / bare.twist - 1.0,
        bending_gain=found.bending / bare.bending - 1.0,
        load=load,
        by_stiffness=np.array(curve),
        neighbours=tuple(_neighbours(vehicle, tie) for tie in candidate.ties),
        linked=all(f.linked(rows) for f in flexible),
    )


def _neighbours(vehicle: TieStudy, tie: Tie) -> tuple[int, ...]:
    """Return the nearest mount ahead of a tie and the nearest behind, on its body and side."""
    body = next(b for b in vehicle.frame.bodies if b.name == tie.body)
    here = tie.body_point[0]
    mine = [
        (m.position[0] - here, number)
        for number, m in enumerate(vehicle.mounts)
        if m.side == tie.side and (m.name, m.side) in body.points
    ]
    ahead = [item for item in mine if item[0] <= 0.0]
    behind = [item for item in mine if item[0] > 0.0]
    found = []
    if ahead:
        found.append(max(ahead)[1])
    if behind:
        found.append(min(behind)[1])
    return tuple(found)
