"""A whole frame as thin shells, under the same load cases: what the beams are held against.

Meshed from the same document by the same rules as the joint patches, but with no beam in
it.  Loads and supports act on the mean motion of the wall at the reference line.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.errors import Complaint, SolveError
from fea.frame import path
from fea.frame.case import Case
from fea.frame.model import Frame, Joint
from fea.frame.spots import Spot, couple_forces, places, spots
from fea.mesh.bolts import has_pattern
from fea.mesh.mesh import SAME_PLACE
from fea.mesh.piece import Length, Sheet
from fea.mesh.sheet import sheet
from fea.solve.condense import tied
from fea.solve.factorise import Factor, NotDefiniteError, factorise

Array = NDArray[np.float64]

SIZE = 16.0
"""Edge of the quadrilaterals, mm, for a whole frame."""

GROUND = 1e5
"""N/mm put under the support rows before factorising; taken out again exactly."""

ALONG = ("station", "offset", "height")
"""The motions that a case may hold, in the order of the axes."""

RESIDUAL_LIMIT = 1e-6
"""A solution that leaves more of its load unbalanced is refused."""


@dataclass(frozen=True, eq=False)
class MetalSolution:
    """One case on the sheet metal.

    Attributes
    ----------
    u : (n_freedoms,), of the sheet
    stations, angle, height, offset : (k,), the profile of the two rails, mm, rad, mm, mm;
        :class:`fea.result.stiffness.Profile` says what each is
    residual : left-over force over the load
    freedoms : how many motions were free to be solved for
    """

    sheet: Sheet
    u: Array
    stations: Array
    angle: Array
    height: Array
    offset: Array
    residual: float
    freedoms: int


@dataclass(frozen=True, eq=False)
class _Held:
    """The metal with springs under every support row of every case, factorised once.

    Attributes
    ----------
    T, K : from the free motions to the sheet's; the stiffness of the former, no springs
    rows : (m, n), the support rows of all cases over the free motions
    solved : (n, m), motions under a unit force along each row, springs and all
    """

    T: sp.csr_array
    K: sp.csr_array
    rows: sp.csr_array
    factor: Factor
    solved: Array


def meshable(frame: Frame) -> tuple[Frame, tuple[str, ...]]:
    """Return a frame without what cannot be meshed, and a line on each thing left out.

    A joint whose stiffness is a bare figure has no metal to mesh: its member goes.  Where
    members meet as one, that bond goes.
    """
    loose = [j for j in frame.joints if not _has_metal(j)]
    gone = {j.member for j in loose}
    words = {
        j.member: "bolted without a pattern of bolts"
        if j.kind == "bolted"
        else "joined by a stiffness given as a figure"
        for j in loose
    }
    lines = [
        f"{name} on {' and '.join(j.onto for j in loose if j.member == name)}: {how}, "
        "which has no metal to mesh"
        for name, how in words.items()
    ]
    while more := {j.member for j in frame.joints if j.onto in gone} - gone:
        lines += [f"{name}: it stands on what is left out" for name in sorted(more)]
        gone |= more
    lines += [f"the weld at {m.name}, where members meet as one" for m in frame.meetings]
    if not lines:
        return frame, ()
    kept = replace(
        frame,
        members=tuple(m for m in frame.members if m.name not in gone),
        joints=tuple(j for j in frame.joints if j.member not in gone),
        meetings=(),
        mounts=tuple(m for m in frame.mounts if m.onto not in gone),
    )
    return kept, tuple(lines)


def _has_metal(joint: Joint) -> bool:
    return has_pattern(joint) or (joint.kind != "bolted" and joint.stiffness is None)


def analyse_metal(
    frame: Frame,
    cases: Sequence[Case],
    size: float = SIZE,
    rows: Mapping[str, Sequence[float]] | None = None,
) -> list[MetalSolution]:
    """Return the solutions of load cases on the whole frame as sheet metal.

    Parameters
    ----------
    size : mm, wanted edge of the quadrilaterals
    rows : member -> further distances along it, mm, that need a row of nodes

    Raises
    ------
    ModelError
        If a case asks for a place that the frame does not have.
    SolveError
        If part of the frame cannot be meshed (see :func:`meshable`) or hangs on nothing, a
        case has loads that are not put on sheet metal, or an answer fails its own check.
    """
    _refuse(frame, cases)
    stations = _profile_places(frame, cases)
    seats: dict[str, list[float]] = {k: list(v) for k, v in stations.items()}
    for more in (*(places(frame, case) for case in cases), rows or {}):
        for name, distances in more.items():
            for d in distances:
                if all(abs(d - e) > SAME_PLACE for e in seats.setdefault(name, [])):
                    seats[name].append(d)
    lengths = [Length(m.name, 0.0, float(path.lengths(m.path)[-1])) for m in frame.members]
    metal = sheet(frame, lengths, seats, size)
    if metal.unwelded:
        raise SolveError(
            *(Complaint("a welded member must touch the metal", joint) for joint in metal.unwelded)
        )
    supports = [_support_rows(frame, case, metal) for case in cases]
    held = _hold(metal, [rows for rows, _ in supports])
    first = np.cumsum([0] + [len(values) for _, values in supports])
    return [
        _solve(frame, case, metal, held, (int(first[k]), supports[k][1]), stations)
        for k, case in enumerate(cases)
    ]


def _refuse(frame: Frame, cases: Sequence[Case]) -> None:
    """Complain of what would silently be missing from the metal."""
    faults = [Complaint("the whole frame must be meshed", line) for line in meshable(frame)[1]]
    faults += [
        Complaint("this is not put on sheet metal yet", f"case {case.name}", found)
        for case in cases
        for found in _beyond(case)
    ]
    faults += [
        Complaint("a load case must hold the frame somewhere", where=f"case {case.name}")
        for case in cases
        if not (case.holds or case.road or case.combine)
    ]
    if faults:
        raise SolveError(*faults)


def _beyond(case: Case) -> list[str]:
    """Return in words what of a case does not act on the mean movement of a rail's wall."""
    held = {h.motion for h in case.holds if h.motion not in ALONG}
    words = [f"{motion} held" for motion in sorted(held)]
    words += ["a spread load"] if case.spreads else []
    words += ["a weight"] if case.weight is not None else []
    words += ["a vehicle on the road"] if case.road is not None or case.combine else []
    words += ["a moment at a place"] if any(any(p.moment) for p in case.pushes) else []
    return words + (["a force on an arm"] if any(any(p.arm) for p in case.pushes) else [])


def _profile_places(frame: Frame, cases: Sequence[Case]) -> dict[str, list[float]]:
    """Return where the profile is read along each rail: what is fixed or pushed there, its ends."""
    marks = [float(m.path[0, 0]) for m in frame.members if m.kind == "crossmember"]
    marks += [axle.station for axle in frame.axles]
    for case in cases:
        for push in case.pushes:
            for spot in spots(frame, push.place, case.name):
                marks += spot.points[:, 0].tolist()
    found: dict[str, list[float]] = {}
    for m in frame.members:
        if m.kind == "rail":
            ends = (float(m.path[0, 0]), float(m.path[-1, 0]))
            inside = sorted({x for x in (*marks, *ends) if ends[0] <= x <= ends[1]})
            at = [path.distance_at_station(m.path, x) for x in inside]
            found[m.name] = [d for k, d in enumerate(at) if k == 0 or d - at[k - 1] > 0.5]
    return found


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
        each = [(s.side, _row(metal, frame, s, ALONG.index(hold.motion))) for s in found]
        if hold.place.side == "mean":
            kept = [np.mean(np.array([row for _, row in each]), axis=0)]
        else:
            kept = [row for side, row in each if hold.place.side in ("each", side)]
        rows += kept
        values += [hold.value] * len(kept)
    return np.array(rows), np.array(values)


def _hold(metal: Sheet, supports: Sequence[Array]) -> _Held:
    """Factorise the metal with springs under the support rows of all cases, (m, n) each."""
    links, K = tied(metal)
    rows = sp.csr_array(sp.csr_array(np.concatenate(supports)) @ links.matrix)
    try:
        factor = factorise(sp.csr_array(K + GROUND * (rows.T @ rows)), "superlu")
    except NotDefiniteError:
        raise SolveError(
            Complaint(
                "part of the sheet metal hangs on nothing",
                where=", ".join(_loose_members(metal, links.matrix, K)),
                do="look for a member that no weld holds, or for supports that leave it loose",
            )
        ) from None
    return _Held(links.matrix, K, rows, factor, factor.solve(rows.T.toarray()))


def _loose_members(metal: Sheet, T: sp.csr_array, K: sp.csr_array) -> list[str]:
    """Return the members that do not hang together with the most of the metal; else all."""
    from scipy.sparse.csgraph import connected_components

    _, label = connected_components(K, directed=False)
    most = int(np.argmax(np.bincount(label)))
    loose = []
    for k, name in enumerate(metal.members):
        nodes = np.unique(metal.quads[metal.member == k])
        moved = T[(6 * nodes[:, None] + np.arange(3)).ravel()].indices
        if not np.any(label[moved] == most):
            loose.append(name)
    return loose or list(metal.members)


def _solve(
    frame: Frame,
    case: Case,
    metal: Sheet,
    held: _Held,
    support: tuple[int, Array],
    stations: dict[str, list[float]],
) -> MetalSolution:
    """Return the solution of a case whose support rows begin at `first` of those held."""
    first, values = support
    force = np.zeros(metal.n_freedoms)
    for push in case.pushes:
        for spot, pull in couple_forces(spots(frame, push.place, case.name), push, case.name):
            force += sum(pull[c] * _row(metal, frame, spot, c) for c in range(3) if pull[c])
    f = held.T.T @ force
    free = held.factor.solve(f)
    # Forces p along all rows: where this case holds, such that the row moves as imposed;
    # elsewhere just what the spring there adds, so that it is taken out again.
    own = np.zeros(held.rows.shape[0], dtype=bool)
    own[first : first + len(values)] = True
    give, moved = held.rows @ held.solved, held.rows @ free
    imposed = np.zeros(len(own))
    imposed[own] = values
    left_side = np.where(own[:, None], give, np.eye(len(own)) - GROUND * give)
    right_side = np.where(own, imposed - moved, GROUND * moved)
    try:
        p = np.linalg.solve(left_side, right_side)
    except np.linalg.LinAlgError:
        raise _loose(case) from None
    q = free + held.solved @ p
    left = held.K @ q - f
    B = held.rows[np.flatnonzero(own)]
    reaction = np.linalg.lstsq(B.T.toarray(), left, rcond=None)[0]
    size = float(np.linalg.norm(np.concatenate([f, reaction]))) or 1.0
    residual = float(np.linalg.norm(left - B.T @ reaction)) / size
    if not residual < RESIDUAL_LIMIT:
        raise _loose(case, residual)
    u = np.asarray(held.T @ q)
    return MetalSolution(metal, u, *_profile(frame, metal, u, stations), residual, len(q))


def _loose(case: Case, residual: float = np.inf) -> SolveError:
    return SolveError(
        Complaint(
            "the supports of a case must hold the sheet metal",
            where=f"case {case.name}",
            found="" if np.isinf(residual) else f"{residual:.1e} of the load left over",
        )
    )


def _profile(
    frame: Frame, metal: Sheet, u: Array, stations: dict[str, list[float]]
) -> tuple[Array, Array, Array, Array]:
    """Return stations, twist angle, mean height and mean offset of the two rails' motion."""
    lines: dict[str, dict[float, tuple[float, float, float]]] = {"right": {}, "left": {}}
    for m in frame.members:
        if m.kind == "rail" and m.side in lines:
            for d in stations[m.name]:
                rows = metal.seats[m.name, d]
                move = np.bincount(rows.row, rows.coefficient * u[rows.freedom], 6)
                x, y, _ = path.point_at(m.path, d)
                lines[m.side][round(float(x), 6)] = (float(y), float(move[1]), float(move[2]))
    both = sorted(set(lines["right"]) & set(lines["left"]))
    right, left = (np.array([lines[side][x] for x in both]) for side in ("right", "left"))
    angle = (right[:, 2] - left[:, 2]) / (right[:, 0] - left[:, 0])
    mean = 0.5 * (right + left)
    return np.array(both), angle, mean[:, 2], mean[:, 1]
