"""The frame as it stands while it is being welded: stretch by stretch stiffer, run by run bent.

How far a stretch is welded, and what it carries then:

* tacked: the plate takes the share `tack` of its normal stress and of the flow that the closed
  cell would have (at an end, every wall takes that share);
* welded along one edge: the plate takes all its normal stress, the flow stays that of the tacks,
  because a cell is closed by both edges only;
* welded along both: as built.  Of an end, the walls that are welded count in full.

The section warps as built throughout: shapes of warping that change from one short stretch to the
next would not fit each other, and would bend the frame by themselves.

The share of tacks is an estimate, not a measured figure; so is that a plate's weld stiffens its
own stretch at once.  A run's shrinkage is a strain that the weld would take up if it were free
(:mod:`fea.shop.weld_shrinkage`): along a seam the tendon force at its true place in the section,
on the beam as it is with that run in; across an end's weld what draws the walls together that it
joins.  Both load an element exactly: the force works on stretch, bending and warping at its place.
Steel that yields elsewhere, gravity, clamps and the heat of other runs are left out.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.element import beam
from fea.element.beam import E_AXIAL, E_BEND_1, E_BEND_2, E_WARP, N_FREEDOMS, Beams, beam_axes
from fea.errors import Complaint, ModelError
from fea.frame import path
from fea.frame.model import Frame, Member
from fea.mesh.discretise import discretise
from fea.mesh.joints import end_rules
from fea.mesh.mesh import Mesh, Rows
from fea.section.midline import Midline
from fea.section.properties import properties
from fea.section.wear import walls_called
from fea.shop.weld_runs import PLATE, Stretch, WeldPlan, WeldRun
from fea.shop.weld_shrinkage import TRANSVERSE, tendon_force
from fea.solve.staged import Change, Reach, Staged, three_points
from fea.solve.system import system

Array = NDArray[np.float64]
Index = NDArray[np.intp]
State = frozenset[int]
"""Which of a stretch's runs are welded: their numbers."""

TACK = 0.3
"""Share of the finished weld's stiffness that tacks give: an estimate."""

LEAST_TACK = 0.01
"""The least share that is taken; nothing holds a plate that is not tacked."""

READ = 9
"""Places along each rail that are looked at, its ends among them."""


@dataclass(frozen=True, eq=False)
class Look:
    """Where the frame is looked at.

    Attributes
    ----------
    rails : names; nodes : (rails, READ); points : (rails, READ, 3), mm
    """

    rails: tuple[str, ...]
    sides: tuple[str, ...]
    points: Array
    nodes: Index


class WeldModel:
    """A plan's frame with all its parts tacked, ready to be welded in any order."""

    def __init__(self, plan: WeldPlan, tack: float = TACK) -> None:
        if not LEAST_TACK <= tack <= 1.0:
            rule = "the share of stiffness that tacks give must be 0.01 to 1"
            raise ModelError(Complaint(rule, "--tack", f"{tack:g}", "0.3 if you do not know"))
        self.plan, self.tack = plan, tack
        frame = replace(plan.frame, bodies=(), ties=())
        rails = [m for m in frame.members if m.kind == "rail"]
        if not rails:
            rule = "a frame must have rails to be looked along"
            raise ModelError(Complaint(rule, frame.name))
        wanted = plan.places()
        for rail in rails:
            wanted.setdefault(rail.name, []).extend(_looked_at(rail))
        self.mesh = discretise(frame, wanted)
        self.look = _look(self.mesh, rails)
        self._elements = [_elements_of(self.mesh, s) for s in plan.stretches]
        self._held = [_held(frame, self.mesh, e) for e in self._elements]
        self._beams: dict[tuple[int, State], Beams] = {}
        self._stiffness: dict[tuple[int, State], Array] = {}
        self._changes: dict[tuple[int, State, State], list[Change]] = {}
        self._loads: dict[tuple[int, State], tuple[Index, Array]] = {}
        self._base = Staged(system(self._tacked()), _supports(self.look))
        nodes = self.mesh.elements.nodes
        self._reach: list[list[Reach]] = [
            [self._base.reach(nodes[e]) for e in elements] for elements in self._elements
        ]
        self.readings = self._base.reading(_rows(self.look))

    def start(self) -> Staged:
        """Return the frame with everything tacked."""
        return self._base.copy()

    def weld(self, staged: Staged, number: int, done: State) -> tuple[Index, Array]:
        """Weld a run in: stiffen its stretch, return its pull on the free freedoms.

        Parameters
        ----------
        done : runs of the same stretch that are welded already
        """
        stretch = self.plan.runs[number].stretch
        now = done | {number}
        for change in self.changes(stretch, done, now):
            staged.apply(change)
        return self.pull(number, now)

    def changes(self, stretch: int, before: State, after: State) -> list[Change]:
        """Return what welding changes in a stretch's elements."""
        key = (stretch, before, after)
        if key not in self._changes:
            less, more = self.stiffness(stretch, before), self.stiffness(stretch, after)
            pairs = zip(self._reach[stretch], more - less, strict=True)
            self._changes[key] = [self._base.change(r, k) for r, k in pairs]
        return self._changes[key]

    def stiffness(self, stretch: int, state: State) -> Array:
        """Return the stiffness of a stretch's elements, (n, 14, 14)."""
        key = (stretch, state)
        if key not in self._stiffness:
            self._stiffness[key] = beam.stiffness(self.beams(stretch, state))
        return self._stiffness[key]

    def beams(self, stretch: int, state: State) -> Beams:
        """Return a stretch's elements as they are with some of its runs welded."""
        key = (stretch, state)
        if key not in self._beams:
            line = self.section(stretch, state)
            e, s = self._elements[stretch], self.plan.stretches[stretch]
            self._beams[key] = _with_section(self.mesh, self.plan.frame, e, self._held[stretch], s,
                                             line)  # fmt: skip
        return self._beams[key]

    def section(self, stretch: int, state: State) -> Midline:
        """Return a stretch's section with some of its runs welded."""
        s = self.plan.stretches[stretch]
        if s.kind == "seam":
            edges = sum(r.stretch == stretch for r in self.plan.runs)
            return plated(s.line, len(state), edges, self.tack)
        walls = [self.plan.runs[k].walls for k in sorted(state)]
        return joined(s.line, np.concatenate(walls) if walls else _NONE, self.tack)

    def pull(self, number: int, state: State) -> tuple[Index, Array]:
        """Return the forces with which a run shrinks, on the free freedoms: where, how much."""
        key = (number, state)
        if key not in self._loads:
            run = self.plan.runs[number]
            beams = self.beams(run.stretch, state)
            force = shrinkage_loads(run, self.plan.stretches[run.stretch], beams,
                                    self.section(run.stretch, state))  # fmt: skip
            parts = [
                self._base.load(r, f) for r, f in zip(self._reach[run.stretch], force, strict=True)
            ]
            at = np.unique(np.concatenate([a for a, _ in parts]))
            total = np.zeros(len(at))
            for a, f in parts:
                total[np.searchsorted(at, a)] += f
            self._loads[key] = (at.astype(np.intp), total)
        return self._loads[key]

    def _tacked(self) -> Mesh:
        beams = self.mesh.beams
        fields = {name: getattr(beams, name).copy() for name in Beams.__dataclass_fields__}
        for k, elements in enumerate(self._elements):
            new = self.beams(k, frozenset())
            for name, values in fields.items():
                values[elements] = getattr(new, name)
        return replace(self.mesh, beams=Beams(**fields))


_NONE = np.zeros(0, dtype=np.intp)


def plated(line: Midline, welded: int, edges: int, tack: float) -> Midline:
    """Return a boxed section with its plate welded along some of its edges.

    The plate's share in shear flow is such that the whole cell has the share `tack` of its flow.
    """
    if welded >= edges:
        return line
    plate = walls_called(line, PLATE)
    size = np.linalg.norm(np.diff(line.points[line.walls], axis=1)[:, 0], axis=1)
    shear = np.ones(len(size)) if line.shear_factor is None else line.shear_factor.copy()
    normal = np.ones(len(size)) if line.normal_factor is None else line.normal_factor.copy()
    flow = np.abs(properties(line).flow_t[::2])
    cell = flow > 1e-9 * flow.max()
    slip = np.where(cell, size / (line.thickness * shear), 0.0)
    own = float(slip[plate].sum())
    shear[plate] *= own / (own + (1.0 / tack - 1.0) * float(slip.sum()))
    if not welded:
        normal[plate] *= tack
    return replace(line, shear_factor=shear, normal_factor=normal)


def joined(line: Midline, walls: Index, tack: float) -> Midline:
    """Return the section of a member's end with some of its walls welded."""
    share = np.full(len(line.walls), tack)
    share[walls] = 1.0
    own = (line.normal_factor, line.shear_factor)
    normal, shear = (share if f is None else share * f for f in own)
    return replace(line, normal_factor=normal, shear_factor=shear)


def shrinkage_loads(run: WeldRun, stretch: Stretch, beams: Beams, line: Midline) -> Array:
    """Return the end forces of a stretch's elements as a run on it shrinks, (n, 14).

    Parameters
    ----------
    beams, line : the stretch with that run in
    """
    p, built = properties(line), properties(stretch.line)
    y, z = float(run.weights @ p.point_y), float(run.weights @ p.point_z)
    omega = float(run.weights @ built.omega)
    flexible = float(beams.length.sum())
    if run.kind == "seam":
        # Of a stitched seam only the stitches pull.
        share = run.length / (stretch.end - stretch.start)
        force = tendon_force(run.area, stretch.E) * share
    else:
        # Walls t thick are drawn together by 0.10 Aw / t over the run's length.
        force = stretch.E * TRANSVERSE * run.area * run.length / flexible
    shape = beam.deformation(beams) @ beam.geometry(beams)
    at = shape[:, E_AXIAL] + z * shape[:, E_BEND_1] - y * shape[:, E_BEND_2]
    at = at + omega * shape[:, E_WARP] * (beams.ECw > 0.0)[:, None]
    return np.asarray(-force * at)


def _with_section(
    mesh: Mesh, frame: Frame, elements: Index, held: Array, stretch: Stretch, line: Midline
) -> Beams:
    """Return elements of a mesh with another section in them, that warps as built."""
    b, p, n = mesh.beams, properties(line), len(elements)
    built = properties(stretch.line)
    one = np.ones(n)
    up = np.broadcast_to(frame.member(stretch.member).up, (n, 3))
    warps = b.ECw[elements] > 0.0
    across = p.principal_axes
    turned = across @ built.principal_axes.T
    follows = np.concatenate((built.held[:1], turned @ built.held[1:]))
    return Beams(
        length=b.length[elements],
        axes=beam_axes(b.axes[elements, 0], up, p.angle * one),
        arms=b.arms[elements],
        centroid=one[:, None] * (across @ p.centroid),
        shear_centre=one[:, None] * (across @ built.shear_centre),
        held=held[:, :, None] * follows * warps[:, None, None],
        EA=stretch.E * p.A * one,
        EI1=stretch.E * p.I1 * one,
        EI2=stretch.E * p.I2 * one,
        GJ=stretch.G * p.J * one,
        ECw=stretch.E * built.Cw * one * warps,
        shear=one[:, None, None] * p.shear / stretch.G,
    )


def _elements_of(mesh: Mesh, stretch: Stretch) -> Index:
    number = mesh.members.index(stretch.member)
    middle = mesh.elements.place.mean(axis=1)
    inside = (middle > stretch.start) & (middle < stretch.end)
    found = np.flatnonzero((mesh.elements.member == number) & inside)
    if not len(found):
        rule = "a run must be longer than the nearest places the mesh tells apart"
        raise ModelError(Complaint(rule, stretch.member, do="choose longer runs"))
    return found


def _held(frame: Frame, mesh: Mesh, elements: Index) -> Array:
    """Return how far each end of some elements of one member follows its held wall, (n, 2)."""
    member = frame.member(mesh.members[int(mesh.elements.member[elements[0]])])
    if member.kind == "rail":
        return np.ones((len(elements), 2))
    rules = end_rules(frame, member)
    whole = float(path.lengths(member.path)[-1])
    place = mesh.elements.place[elements]
    out = np.zeros((len(elements), 2))
    out[:, 0] = np.where(place[:, 0] <= 0.0, rules[0].held, 0.0)
    out[:, 1] = np.where(place[:, 1] >= whole - 1e-6, rules[1].held, 0.0)
    return out


def _looked_at(rail: Member) -> list[float]:
    whole = float(path.lengths(rail.path)[-1])
    return [whole * k / (READ - 1) for k in range(READ)]


def _look(mesh: Mesh, rails: list[Member]) -> Look:
    nodes = np.array([[mesh.node_at(r.name, d) for d in _looked_at(r)] for r in rails])
    names = tuple(r.name for r in rails)
    return Look(names, tuple(r.side for r in rails), mesh.points[nodes], nodes)


def _supports(look: Look) -> Rows:
    """Return what holds the frame without forcing it: both ends of a rail, one of another."""
    ends = int(look.nodes[0, 0]), int(look.nodes[0, -1])
    away = np.abs(look.points[:, 0, 1] - look.points[0, 0, 1])
    other = int(np.argmax(away))
    return three_points(*ends, int(look.nodes[other, 0]) if away[other] > 1.0 else None)


def _rows(look: Look) -> Rows:
    """Return the motion of every place looked at along x, y, z."""
    freedom = (N_FREEDOMS * look.nodes.ravel()[:, None] + np.arange(3)).ravel()
    n = len(freedom)
    return Rows(np.arange(n, dtype=np.intp), freedom.astype(np.intp), np.ones(n), n)
