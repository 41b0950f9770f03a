"""A whole frame as thin shells, under the same load cases: what the beams are held against.

Meshed from the same document by the same rules as the joint patches, but with no beam in
it.  Loads and supports act on the mean motion of the wall at the reference line.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.errors import Complaint, SolveError
from fea.frame import path
from fea.frame.case import Case
from fea.frame.model import Frame, Member
from fea.frame.spots import Spot, couple_forces, places, spots
from fea.load import COMPONENT
from fea.mesh.bolts import has_pattern
from fea.mesh.mesh import SAME_PLACE
from fea.mesh.sheet import Length, Sheet, sheet
from fea.solve.condense import tied
from fea.solve.factorise import NotDefiniteError, factorise

Array = NDArray[np.float64]

SIZE = 16.0
"""Edge of the quadrilaterals, mm, for a whole frame."""

GROUND = 1e5
"""N/mm put under the support rows before factorising; taken out again exactly."""


@dataclass(frozen=True, eq=False)
class MetalSolution:
    """One case on the sheet metal.

    Attributes
    ----------
    u : (n_freedoms,), of the sheet
    stations, angle, height : (k,), the profile of the two rails, mm, rad, mm
    residual : left-over force over the load
    """

    sheet: Sheet
    u: Array
    stations: Array
    angle: Array
    height: Array
    residual: float


def analyse_metal(frame: Frame, cases: Sequence[Case], size: float = SIZE) -> list[MetalSolution]:
    """Return the solutions of load cases on the whole frame as sheet metal.

    Raises
    ------
    SolveError
        If part of the metal hangs on nothing, or a bolted joint would carry it: those
        are not meshed.
    """
    stations = _profile_places(frame)
    seats: dict[str, list[float]] = {k: list(v) for k, v in stations.items()}
    for case in cases:
        for name, distances in places(frame, case).items():
            for d in distances:
                if all(abs(d - e) > SAME_PLACE for e in seats.setdefault(name, [])):
                    seats[name].append(d)
    lengths = [Length(m.name, 0.0, float(path.lengths(m.path)[-1])) for m in _welded(frame)]
    metal = sheet(frame, lengths, seats, size)
    links, K = tied(metal)
    return [_solve(frame, case, metal, (links.matrix, K), stations) for case in cases]


def _welded(frame: Frame) -> list[Member]:
    """Return the members that can be meshed; bolts without a pattern are left out."""
    bolted = {j.member for j in frame.joints if j.kind == "bolted" and not has_pattern(j)}
    return [m for m in frame.members if m.name not in bolted]


def _profile_places(frame: Frame) -> dict[str, list[float]]:
    places: dict[str, list[float]] = {}
    marks = [float(m.path[0, 0]) for m in frame.members if m.kind == "crossmember"]
    marks += [axle.station for axle in frame.axles]
    for m in frame.members:
        if m.kind == "rail":
            ends = (float(m.path[0, 0]), float(m.path[-1, 0]))
            inside = sorted({x for x in (*marks, *ends) if ends[0] <= x <= ends[1]})
            found = [path.distance_at_station(m.path, x) for x in inside]
            places[m.name] = [d for k, d in enumerate(found) if k == 0 or d - found[k - 1] > 0.5]
    return places


def _row(metal: Sheet, frame: Frame, spot: Spot, c: int) -> Array:
    """Return the motion of a spot along c as a row over the metal's freedoms, (n,)."""
    total = np.zeros(metal.n_freedoms)
    for name, d, point, share in zip(
        spot.members, spot.distances, spot.points, spot.shares, strict=True
    ):
        key = min((k for k in metal.seats if k[0] == name), key=lambda k: abs(k[1] - d))
        arm = point - path.point_at(frame.member(name).path, key[1])
        a, b = (c + 1) % 3, (c + 2) % 3
        weights = np.zeros(6)
        weights[c], weights[3 + a], weights[3 + b] = share, share * arm[b], -share * arm[a]
        total += metal.seats[key].transposed(weights, metal.n_freedoms)
    return total


def _support_rows(frame: Frame, case: Case, metal: Sheet) -> tuple[Array, Array]:
    """Return the support rows (m, n) of a case and their imposed motions (m,)."""
    rows: list[Array] = []
    values: list[float] = []
    for hold in case.holds:
        found = spots(frame, hold.place, case.name)
        each = [(s.side, _row(metal, frame, s, COMPONENT[hold.motion])) for s in found]
        if hold.place.side == "mean":
            kept = [np.mean(np.array([row for _, row in each]), axis=0)]
        else:
            kept = [row for side, row in each if hold.place.side in ("each", side)]
        rows += kept
        values += [hold.value] * len(kept)
    return np.array(rows), np.array(values)


def _solve(
    frame: Frame,
    case: Case,
    metal: Sheet,
    system: tuple[sp.csr_array, sp.csr_array],
    stations: dict[str, list[float]],
) -> MetalSolution:
    T, K = system
    rows, values = _support_rows(frame, case, metal)
    B = sp.csr_array(sp.csr_array(rows) @ T)
    force = np.zeros(metal.n_freedoms)
    for push in case.pushes:
        for spot, pull in couple_forces(spots(frame, push.place, case.name), push, case.name):
            force += sum(pull[c] * _row(metal, frame, spot, c) for c in range(3) if pull[c])
    f = T.T @ force
    try:
        factor = factorise(sp.csr_array(K + GROUND * (B.T @ B)), "superlu")
    except NotDefiniteError:
        loose = ", ".join(metal.unwelded)
        raise SolveError(
            Complaint("part of the sheet metal hangs on nothing", f"case {case.name}", loose)
        ) from None
    solved = factor.solve(np.column_stack([f, B.T.toarray()]))
    # The ground springs are taken out again by forces that bring the rows to their values.
    back = np.linalg.solve(B @ solved[:, 1:], values - B @ solved[:, 0])
    q = solved[:, 0] + solved[:, 1:] @ back
    left = K @ q - f
    reaction = np.linalg.lstsq(B.T.toarray(), left, rcond=None)[0]
    size = float(np.linalg.norm(f)) or 1.0
    residual = float(np.linalg.norm(left - B.T @ reaction)) / size
    u = np.asarray(T @ q)
    return MetalSolution(metal, u, *_profile(frame, metal, u, stations), residual)


def _profile(
    frame: Frame, metal: Sheet, u: Array, stations: dict[str, list[float]]
) -> tuple[Array, Array, Array]:
    lines: dict[str, dict[float, tuple[float, float]]] = {"right": {}, "left": {}}
    for m in frame.members:
        if m.kind == "rail" and m.side in lines:
            for d in stations[m.name]:
                rows = metal.seats[m.name, d]
                height = rows.row == 2
                z = float(rows.coefficient[height] @ u[rows.freedom[height]])
                x, y, _ = path.point_at(m.path, d)
                lines[m.side][round(float(x), 6)] = (float(y), z)
    both = sorted(set(lines["right"]) & set(lines["left"]))
    right, left = (np.array([lines[side][x] for x in both]) for side in ("right", "left"))
    angle = (right[:, 1] - left[:, 1]) / (right[:, 0] - left[:, 0])
    return np.array(both), angle, 0.5 * (right[:, 1] + left[:, 1])
