"""Where the highest stress of a frame is, what comes near it, and how both move with a figure.

The place is held: an element's member, the share of the element's length, the recovery point
of its section and the surface of the wall there.  Along a smooth maximum the stress does not
change to first order with the place, so that its derivative there is that of the maximum;
at a node or a member's end the share of the length keeps the place on it.  Another place
within :data:`NEAR` that moves otherwise may take over: there the highest stress has a kink,
and the derivative is good to one side only.  Each of those has its own derivative.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from fea.analyse import solve
from fea.result.point_stress import StressPoint, Surface, governing, von_mises, von_mises_gradient
from fea.result.stress import Stress, corner_at, stresses
from fea.solve.operator import operator
from fea.study.sensitivity_adjoint import Adjoint, Reading, State, adjoint, derivative

if TYPE_CHECKING:
    from fea.analyse import Solution
    from fea.mesh.mesh import Mesh
    from fea.section.properties import SectionProperties
    from fea.study.variant import Setting

Array = NDArray[np.float64]
Sits = Literal["end of the member", "edge of sheet metal", "node", "between nodes"]

NEAR = 0.01
"""Places whose utilisation is this share below the highest, or less, may take over from it."""

MOST = 12
"""Places looked at beside the highest."""

CHORD = 2.0
"""Walls no longer than so many thicknesses are chords of a bend, round which stress is smooth."""


@dataclass(frozen=True)
class PeakPlace:
    """A place of high stress, held while figures change.

    Attributes
    ----------
    case : number of the case; member, section : their names
    distance : mm, along the member's path
    corner : (3,), mm, where it is in the vehicle
    von_mises : MPa; utilisation : of yield
    sits : on a member's end, where joint metal begins, on another node, or between nodes
    count : elements of its mesh
    """

    case: int
    member: str
    section: str
    at: StressPoint
    on: Surface
    distance: float
    corner: tuple[float, float, float]
    von_mises: float
    utilisation: float
    sits: Sits
    count: int


@dataclass(frozen=True, eq=False)
class Peaks:
    """The place of the highest utilisation and others near it, each with its adjoint."""

    places: tuple[PeakPlace, ...]
    adjoints: tuple[Adjoint, ...]

    def slopes(self, near: Sequence[tuple[float, State]]) -> tuple[float, ...]:
        """Return the derivative at every place from states nearby and their weights in it."""
        return tuple(derivative(item, near) for item in self.adjoints)


@dataclass(frozen=True, eq=False)
class _Run:
    """A stretch of one corner line of a member, all of it near the highest utilisation."""

    utilisation: float
    case: int
    group: Stress
    row: int
    place: int
    point: int

    @property
    def cut(self) -> tuple[int, int, int]:
        """Case, element and place along it."""
        return self.case, int(self.group.elements[self.row]), self.place


def peaks(state: State, setting: Setting) -> Peaks:
    """Return the highest place of a state over its cases and its rivals, with adjoints."""
    solved = solve(state.whole, state.loads, backend=setting.backend)
    places = peak_places(solved)
    return Peaks(places, tuple(adjoint(state, reading(p), setting.backend) for p in places))


def peak_places(solutions: Sequence[Solution]) -> tuple[PeakPlace, ...]:
    """Return the place of the highest utilisation, then others within `NEAR`, highest first.

    In beams: where joints are taken as sheet metal, outside of that.
    """
    groups = [(k, g) for k, solution in enumerate(solutions) for g in stresses(solution)]
    uses = [_use(solutions[k], g) for k, g in groups]
    top = max((float(u.max()) for u in uses), default=0.0)
    if top <= 0.0:
        return ()
    runs = [
        run
        for (k, group), use in zip(groups, uses, strict=True)
        if use.max() >= (1.0 - NEAR) * top
        for run in _runs(solutions[k], (k, group), use, (1.0 - NEAR) * top)
    ]
    # Mirror images differ by round-off: told in the order of the mesh.
    runs.sort(key=lambda r: (-round(r.utilisation / top, 9), *r.cut, r.point))
    kept = _one_a_bend(runs, solutions)
    return tuple(_place(solutions[r.case], r) for r in kept[: 1 + MOST])


def reading(place: PeakPlace) -> Reading:
    """Return the stress at a place as a reading."""

    def value(state: State, u: Array) -> float:
        load = state.loads[place.case].element_load
        return von_mises(state.whole.mesh, state.whole.structure, u, load, place.at, place.on)

    def gradient(state: State, u: Array) -> Array:
        load = state.loads[place.case].element_load
        return von_mises_gradient(
            state.whole.mesh, state.whole.structure, u, load, place.at, place.on
        )

    return Reading(place.case, value, gradient)


def stress_held(solution: Solution, place: PeakPlace) -> float | None:
    """Return the stress at a place in another solution; None if it is no longer there, MPa."""
    at = _found(solution.mesh, place)
    if at is None:
        return None
    load = solution.loads.element_load
    return von_mises(solution.mesh, operator(solution.mesh), solution.u, load, at, place.on)


def _use(solution: Solution, group: Stress) -> Array:
    limit = solution.mesh.elements.yield_stress[group.elements]
    return np.asarray(group.von_mises / limit[:, None, None])


def _runs(solution: Solution, case: tuple[int, Stress], use: Array, limit: float) -> Iterator[_Run]:
    """Return the stretches above a limit, corner line by corner line along every member."""
    number, group = case
    elements = solution.mesh.elements
    lines = _corner_lines(solution.mesh.sections[group.section])
    for member in np.unique(elements.member[group.elements]):
        rows = np.flatnonzero(elements.member[group.elements] == member)
        start, end = elements.place[group.elements[rows]].T
        order = np.argsort(start)
        rows, start, end = rows[order], start[order], end[order]
        breaks = np.flatnonzero(start[1:] > end[:-1] + 1e-6) + 1
        for points in lines:
            here = use[rows][:, :, points]
            if here.max() < limit:
                continue
            high = here.max(axis=2)
            for piece in np.split(np.arange(len(rows)), breaks):
                for k, place in _tops(high[piece], limit):
                    row = piece[k]
                    point = int(points[int(np.argmax(here[row, place]))])
                    yield _Run(float(high[row, place]), number, group, int(rows[row]), place, point)


def _tops(high: Array, limit: float) -> Iterator[tuple[int, int]]:
    """Return row and place of the highest sample of every stretch above a limit, (e, s)."""
    flat = high.ravel()
    above = np.flatnonzero(flat >= limit)
    for stretch in np.split(above, np.flatnonzero(np.diff(above) > 1) + 1):
        if len(stretch):
            row, place = divmod(int(stretch[int(np.argmax(flat[stretch]))]), high.shape[1])
            yield row, place


def _corner_of(p: SectionProperties) -> NDArray[np.intp]:
    """Return the number of the midline's corner that each recovery point is at."""
    corners = np.round(np.stack([p.point_y, p.point_z], axis=1), 3)
    _, which = np.unique(corners, axis=0, return_inverse=True)
    return np.asarray(which.reshape(-1))


def _corner_lines(p: SectionProperties) -> list[NDArray[np.intp]]:
    """Return the recovery points that share a corner of the midline, corner by corner."""
    which = _corner_of(p)
    return [np.flatnonzero(which == k) for k in range(int(which.max()) + 1)]


def _one_a_bend(runs: Sequence[_Run], solutions: Sequence[Solution]) -> list[_Run]:
    """Return the runs, highest first, without those beside a higher one round the same bend."""
    kept = []
    seen: dict[tuple[int, int, int], set[int]] = {}
    for run in runs:
        p = solutions[run.case].mesh.sections[run.group.section]
        which = _corner_of(p)
        mine = int(which[run.point])
        walls = which.reshape(-1, 2)[p.point_s[::2] <= CHORD * p.point_t[::2]]
        beside = {int(c) for wall in walls if mine in wall for c in wall} - {mine}
        here = seen.setdefault(run.cut, set())
        if not beside & here:
            kept.append(run)
        here.add(mine)
    return kept


def _place(solution: Solution, run: _Run) -> PeakPlace:
    mesh, group = solution.mesh, run.group
    element = int(group.elements[run.row])
    at = StressPoint(element, run.place / (group.normal.shape[1] - 1), run.point)
    member = mesh.members[int(mesh.elements.member[element])]
    start, end = mesh.elements.place[element].tolist()
    load = solution.loads.element_load
    x, y, z = corner_at(mesh, element, at.fraction, at.point).tolist()
    return PeakPlace(
        case=run.case,
        member=member,
        section=mesh.section_names[group.section],
        at=at,
        on=governing(mesh, operator(mesh), solution.u, load, at),
        distance=start + at.fraction * (end - start),
        corner=(x, y, z),
        von_mises=float(group.von_mises[run.row, run.place, run.point]),
        utilisation=run.utilisation,
        sits=_sits(mesh, member, at),
        count=len(mesh.elements.member),
    )


def _sits(mesh: Mesh, member: str, at: StressPoint) -> Sits:
    if at.fraction not in (0.0, 1.0):
        return "between nodes"
    node = int(mesh.elements.nodes[at.element, int(at.fraction)])
    if any(node in patch.nodes for patch in mesh.patches):
        return "edge of sheet metal"
    nodes = mesh.nodes_of[member][1]
    return "end of the member" if node in (nodes[0], nodes[-1]) else "node"


def _found(mesh: Mesh, place: PeakPlace) -> StressPoint | None:
    """Return a place on another mesh; where nodes come or go, by its distance along."""
    if place.member not in mesh.members:
        return None
    of = np.flatnonzero(mesh.elements.member == mesh.members.index(place.member))
    if not len(of):
        return None
    if len(mesh.elements.member) == place.count and place.at.element in of:
        return place.at
    start, end = mesh.elements.place[of].T
    fraction = np.clip((place.distance - start) / (end - start), 0.0, 1.0)
    gap = np.abs(start + fraction * (end - start) - place.distance)
    # Two elements meet at a node: the one that lies to the same side of it.
    best = int(np.lexsort((np.abs(fraction - place.at.fraction), np.round(gap, 6)))[0])
    points = mesh.sections[int(mesh.elements.section[of[best]])].point_y
    if place.at.point >= len(points):
        return None
    return StressPoint(int(of[best]), float(fraction[best]), place.at.point)
