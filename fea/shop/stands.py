"""A frame on stands: what each bears, how it sags, and where stands are best.

A stand is a support under a rail that can push up only.  The free frame is solved once, with unit
forces at every place that may take a stand; any set of stands is then a small dense system::

    [ A   R ] [ f ]   [ g - w ]       A: heights of the places under unit forces there
    [ R'  0 ] [ q ] = [ loads ]       R: the same under heave, pitch and roll

with f the stands' forces, q how the frame as a whole settles, w the heights under its weight, and
g how far each stand is off level.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.frame.case import Case, Hold, Place, Weight
from fea.frame.model import Frame
from fea.frame.spots import places as case_places
from fea.load import loads
from fea.mesh.discretise import discretise
from fea.mesh.mesh import empty_rows
from fea.shop.convex import turn
from fea.shop.rig import Grip, both, grip_rows, moved, on_rails, places, steadied
from fea.solve.condense import Store
from fea.solve.system import hold, system

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Least = Literal["max", "rms"]

UP = (0.0, 0.0, 1.0)
READ_EVERY = 50.0
"""Steps, mm, between the stations where the rails' heights are read."""
PUSHES = 1e-6
"""A stand that bears less than this share of the weight bears nothing."""
AT_ONCE = 1000
"""Sets of stands solved together, for the memory they take."""


@dataclass(frozen=True, eq=False)
class Bench:
    """A frame solved for all the stands it may get.

    Attributes
    ----------
    stations : (p,), mm, where stands may be; place 2k is the right one there, 2k + 1 the left
    plan : (2p, 2), station and offset of the places
    A : (2p, 2p), mm/N; w : (2p,), mm, under weight alone, as the free frame is held
    reads : (r,), mm, stations where heights are read, right then left: read_w (2r,) under weight,
        `under` (2r, 2p) under unit forces
    read_plan : (2r, 2)
    twist : (2r,), rad/mm, of the heights read: front right up positive, front axle to rear
    weight : N; centre : (2,), mm, station and offset of the centre of mass
    """

    frame: Frame
    stations: Array
    plan: Array
    A: Array
    w: Array
    reads: Array
    under: Array
    read_w: Array
    read_plan: Array
    twist: Array
    weight: float
    centre: Array

    def rigid(self, plan: Array) -> Array:
        """Return heights under heave, pitch and roll about the centre of mass, (n, 3)."""
        off = (plan - self.centre) / np.ptp(self.read_plan, axis=0)
        return np.column_stack([np.ones(len(plan)), off])

    def place(self, k: int) -> str:
        """Return the words for a place."""
        return f"{self.stations[k // 2]:.0f} mm {'right' if k % 2 == 0 else 'left'}"


@dataclass(frozen=True, eq=False)
class Standing:
    """A frame on a set of stands.

    Attributes
    ----------
    stands : (n,), places; forces : (n,), N, zero where it has lifted off
    heights : (2r,), mm, of the rails off the stands' level
    """

    bench: Bench
    stands: Index
    forces: Array
    heights: Array

    @property
    def lifted(self) -> Index:
        """Stands that bear nothing."""
        return np.flatnonzero(self.forces <= PUSHES * self.bench.weight)

    @property
    def twist(self) -> float:
        """Twist between the axles, rad."""
        return float(self.bench.twist @ self.heights)

    @property
    def sag(self) -> float:
        """The most that a rail is off the stands' level, mm, either way."""
        return float(np.abs(self.heights).max())

    @property
    def rms(self) -> float:
        """Root of the mean square of the rails' heights, mm."""
        return float(np.sqrt(np.mean(self.heights**2)))


def bench(
    frame: Frame,
    stations: Sequence[float],
    *,
    masses: bool = False,
    laden: bool = False,
    store: Store | None = None,
) -> Bench:
    """Return a frame solved for unit forces at stations of both rails, and for its weight.

    Parameters
    ----------
    stations : mm, where stands may be
    masses, laden : whether what the frame carries weighs too, and people and payload
    store : Store, optional
        For joints as sheet metal; by beam rules without it.
    """
    at = [a for x in stations for a in on_rails(frame, x)]
    reads = read_stations(frame, stations)
    seen = [a for x in reads for a in on_rails(frame, x)]
    hold_somewhere = (Hold(Place(station=float(reads[0])), "height"),)
    weigh = Weight(masses=masses or laden, laden=laden)
    case = Case("weight", "weight", "", "none", hold_somewhere, weight=weigh)
    wanted = both(places([*at, *seen]), case_places(frame, case))
    mesh = discretise(frame, wanted, sheet_joints=store is not None)
    load = loads(frame, mesh, case)
    rows = grip_rows(mesh, [Grip("", ((a, UP),)) for a in at])
    read_rows = grip_rows(mesh, [Grip("", ((a, UP),)) for a in seen])
    unit = [rows.transposed(e, mesh.n_freedoms) for e in np.eye(len(at))]
    force = np.stack([*unit, load.force], axis=1)
    steady = steadied(mesh, empty_rows())
    held = hold(system(mesh, store), steady, np.zeros((steady.n_rows, force.shape[1])))
    u, _, _ = held.solve(force)
    heights, read = moved(rows, u), moved(read_rows, u)
    read_plan = np.array([a.point[:2] for a in seen])
    down = -float(load.total[2])
    return Bench(
        frame=frame,
        stations=np.asarray(stations, dtype=np.float64),
        plan=np.array([a.point[:2] for a in at]),
        A=heights[:, :-1],
        w=heights[:, -1],
        reads=reads,
        under=read[:, :-1],
        read_w=read[:, -1],
        read_plan=read_plan,
        twist=_twist(frame, reads, read_plan),
        weight=down,
        # The moment of the weight about the origin is (-y, x) times it.
        centre=np.array([load.total[4], -load.total[3]]) / down,
    )


def read_stations(frame: Frame, more: Sequence[float] = ()) -> Array:
    """Return stations along both rails, rising: their ends, every 50 mm, and `more`."""
    rails = [m.path for m in frame.members if m.kind == "rail" and m.side in ("right", "left")]
    if len(rails) < 2:
        rule = "stands need a right and a left rail"
        raise ModelError(Complaint(rule, frame.source, f"{len(rails)} of them"))
    low, high = max(p[0, 0] for p in rails), min(p[-1, 0] for p in rails)
    even = np.linspace(low, high, 1 + max(2, round((high - low) / READ_EVERY)))
    axles = [a.station for a in frame.axles if low < a.station < high]
    every = sorted([*even.tolist(), *more, *axles])
    kept = [every[0]]
    kept += [b for a, b in pairwise(every) if b - a > 1e-6]
    return np.array(kept)


def _twist(frame: Frame, reads: Array, plan: Array) -> Array:
    """Return the row of the twist between the axles, or between the rails' ends."""
    at = [a.station for a in frame.axles if reads[0] <= a.station <= reads[-1]]
    ends = (min(at), max(at)) if len(at) > 1 else (reads[0], reads[-1])
    row = np.zeros(2 * len(reads))
    for station, sign in zip(ends, (1.0, -1.0), strict=True):
        k = int(np.argmin(np.abs(reads - station)))
        wide = float(plan[2 * k, 1] - plan[2 * k + 1, 1])
        row[2 * k] += sign / wide
        row[2 * k + 1] -= sign / wide
    return row


def forces_on(on: Bench, stands: Index, level: Array) -> tuple[Array, Array]:
    """Return the forces (..., n) and settlements (..., 3) of stands (..., n) at levels g, mm.

    As if every stand could pull as well; N and the unit of :meth:`Bench.rigid`.
    """
    n = stands.shape[-1]
    shape = stands.shape[:-1]
    rigid = on.rigid(on.plan)[stands]
    # Forces in units that make both blocks of one size, for the sake of the pivots.
    unit = float(np.abs(on.A).max())
    matrix = np.zeros((*shape, n + 3, n + 3))
    matrix[..., :n, :n] = on.A[stands[..., :, None], stands[..., None, :]] / unit
    matrix[..., :n, n:] = rigid
    matrix[..., n:, :n] = np.swapaxes(rigid, -1, -2)
    right = np.zeros((*shape, n + 3))
    right[..., :n] = level - on.w[stands]
    right[..., n] = on.weight * unit  # it acts at the centre: no pitch, no roll
    found = np.linalg.solve(matrix, right[..., None])[..., 0]
    return found[..., :n] / unit, found[..., n:]


def heights_on(on: Bench, stands: Index, forces: Array, settled: Array) -> Array:
    """Return the heights read, (..., 2r), mm, of sets of stands (..., n)."""
    unit = np.moveaxis(on.under[:, stands], 0, -2)
    bent = np.einsum("...rn,...n->...r", unit, forces)
    return np.asarray(on.read_w + bent + settled @ on.rigid(on.read_plan).T)


def stand(on: Bench, stands: Sequence[int], level: Array | None = None) -> Standing:
    """Return a frame on stands, those that would have to pull left out.

    Parameters
    ----------
    stands : places of the bench
    level : (n,), mm, how much each is too high; none by default

    Raises
    ------
    ModelError
        If the frame would tip off them.
    """
    every = np.array(stands, dtype=np.intp)
    heights = np.zeros(len(every)) if level is None else level
    active = list(range(len(every)))
    while True:
        kept = every[active]
        plan = on.plan[kept]
        flat = len(kept) < 3 or np.linalg.matrix_rank(on.rigid(plan), tol=1e-6) < 3
        if flat or margin(plan, on.centre) < 0.0:
            rule = "the frame must not tip off its stands"
            where = ", ".join(on.place(int(k)) for k in every)
            do = "put stands on all sides of its centre of mass"
            found = f"centre of mass at {on.centre[0]:.0f} mm"
            raise ModelError(Complaint(rule, where, found, do))
        forces, settled = forces_on(on, kept, heights[active])
        if forces.min() >= -PUSHES * on.weight:
            break
        active.pop(int(np.argmin(forces)))
    out = np.zeros(len(every))
    out[active] = forces
    return Standing(on, every, out, heights_on(on, kept, forces, settled))


def margin(plan: Array, centre: Array) -> float:
    """Return how far a point is inside the polygon round points (n, 2), mm; negative outside."""
    hull = _hull(plan)
    if len(hull) < 3:
        return -float(np.min(np.linalg.norm(plan - centre, axis=1)))
    step = np.roll(hull, -1, axis=0) - hull
    off = centre - hull
    inside = (step[:, 0] * off[:, 1] - step[:, 1] * off[:, 0]) / np.linalg.norm(step, axis=1)
    return float(inside.min())


def _hull(plan: Array) -> Array:
    """Return the corners of the convex polygon round points, counter-clockwise.

    References
    ----------
    .. [1] A. M. Andrew, "Another efficient algorithm for convex hulls in two dimensions",
       Information Processing Letters 9 (1979), 216-219.
    """
    points = sorted(map(tuple, plan.tolist()))

    def half(order: list[tuple[float, ...]]) -> list[tuple[float, ...]]:
        chain: list[tuple[float, ...]] = []
        for p in order:
            while len(chain) > 1 and turn(chain[-2], chain[-1], p) <= 0.0:
                chain.pop()
            chain.append(p)
        return chain[:-1]

    return np.array(half(points) + half(points[::-1]))


def best(on: Bench, pairs: int, least: Least = "max", keep: int = 3) -> list[Standing]:
    """Return the best sets of pairs of stands, by trying them all.

    Sets with a stand that bears nothing are left out: they are sets of fewer.

    Parameters
    ----------
    pairs : stands on each side
    least : what to make small: the largest height of a rail off level, or the mean square
    """
    sets = np.array(list(combinations(range(len(on.stations)), pairs)), dtype=np.intp)
    if not len(sets):
        rule = "there must be as many places for stands as there are stands"
        found = f"{len(on.stations)} stations for {pairs} pairs"
        raise ModelError(Complaint(rule, "--allowed", found, "allow more places"))
    size = np.full(len(sets), np.inf)
    for start in range(0, len(sets), AT_ONCE):
        some = sets[start : start + AT_ONCE]
        stands = np.stack([2 * some, 2 * some + 1], axis=-1).reshape(len(some), -1)
        forces, settled = forces_on(on, stands, np.zeros(stands.shape))
        fine = np.flatnonzero(forces.min(axis=1) > PUSHES * on.weight)
        heights = heights_on(on, stands[fine], forces[fine], settled[fine])
        size[start + fine] = (
            np.abs(heights).max(axis=1) if least == "max" else np.sqrt((heights**2).mean(axis=1))
        )
    order = [k for k in np.argsort(size, kind="stable")[:keep].tolist() if np.isfinite(size[k])]
    if not order:
        rule = "no set of the allowed places carries the frame with every stand bearing"
        do = "allow places on both sides of the centre of mass, or fewer stands"
        raise ModelError(
            Complaint(rule, "--allowed", f"centre of mass at {on.centre[0]:.0f} mm", do)
        )
    return [stand(on, [p for k in sets[i].tolist() for p in (2 * k, 2 * k + 1)]) for i in order]
