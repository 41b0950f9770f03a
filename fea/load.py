"""Load cases on a mesh: support rows and force vectors, from the case and the frame."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.element import beam
from fea.element.beam import N_FREEDOMS
from fea.errors import Complaint, ModelError
from fea.frame import path
from fea.frame.case import MOTIONS, Case, Hold, Motion, Push, Read, Spread, Weight
from fea.frame.model import Frame, Mass
from fea.frame.road import OnTheRoad
from fea.frame.spots import (
    Spot,
    carriers,
    couple_forces,
    mass_places,
    place_words,
    push_moments,
    sides,
    spots,
)
from fea.mesh.mesh import Mesh, Rows, arm_motion, empty_rows
from fea.mesh.vehicle import body_node
from fea.section.midline import metal
from fea.solve.assemble import element_freedoms
from fea.statics import least_shares, shared

if TYPE_CHECKING:
    from fea.mesh.piece import Length

Array = NDArray[np.float64]

GRAVITY = 9806.65
"""Standard acceleration of gravity, mm/s2 (CGPM 1901)."""

Acceleration = Callable[[Array], Array]
"""What an acceleration is at points (..., 3), mm: the same shape, mm/s2."""

Triplets = list[tuple[int, int, float]]
"""Row, freedom and coefficient of rows in the making."""


@dataclass(frozen=True, eq=False)
class Loads:
    """A case in the mesh's freedoms.

    Attributes
    ----------
    name : str, for messages
    rows : support rows, m of them
    values : (m,), imposed motions, mm or rad
    labels : (m,), words for each row ("rear axle right, height")
    motions : (m,), what each row holds; empty where a row is a node's own freedom
    force : (n_freedoms,), loads on nodes, those of the elements included
    element_load : (n_elements, 6), even loads as :func:`fea.element.beam.even_load` gives
    total : (6,), N and N mm, all applied forces and their moments about the origin
    reads : rows of the motions that the case reports, r of them
    read_as : (r,), the item of the case and the side that each belongs to
    road : how the vehicle stands, of a road case
    """

    name: str
    rows: Rows
    values: Array
    labels: tuple[str, ...]
    force: Array
    element_load: Array
    total: Array
    motions: tuple[Motion, ...] = ()
    reads: Rows = field(default_factory=empty_rows)
    read_as: tuple[tuple[Read, str], ...] = ()
    road: OnTheRoad | None = None


def loads(frame: Frame, mesh: Mesh, case: Case) -> Loads:
    """Return the support rows and forces of a case.

    Raises
    ------
    ModelError
        If the case names a place the frame does not have, or holds nothing, or asks for
        warping where the mesh has none.
    """
    if not case.holds:
        raise ModelError(
            Complaint("a load case must hold the frame somewhere", where=f"case {case.name}")
        )
    gather = Gather(frame, mesh, case)
    gather.items()
    if case.weight is not None:
        gather.weigh(case.weight)
    return gather.finish()


class Gather:
    """Collects rows and forces while the items of a case are walked.

    `on_mounts`: (mount, side) -> what masses do to it, N along x, y, z.
    """

    def __init__(self, frame: Frame, mesh: Mesh, case: Case) -> None:
        self.frame, self.mesh, self.case = frame, mesh, case
        self.held: Triplets = []
        self.values: list[float] = []
        self.labels: list[str] = []
        self.motions: list[Motion] = []
        self.sought: Triplets = []
        self.read_as: list[tuple[Read, str]] = []
        self.force = np.zeros(mesh.n_freedoms)
        self.even = np.zeros((len(mesh.elements.nodes), 6))
        self.on_mounts: dict[tuple[str, str], Array] = {}

    def items(self) -> None:
        """Take in what the case holds, reads, pushes and spreads."""
        for hold in self.case.holds:
            self.hold(hold)
        for read in self.case.reads:
            self.read(read)
        for push in self.case.pushes:
            self.push(push)
        for spread in self.case.spreads:
            self.spread(spread)

    def hold(self, hold: Hold) -> None:
        """Add the rows of what is held."""
        for side, group in sides(self.frame, hold.place, self.case.name):
            for motion in hold.motions:
                self._row(self.held, len(self.values), group, motion)
                self.values.append(hold.value)
                self.labels.append(f"{place_words(hold.place)} {side}, {motion}")
                self.motions.append(motion)

    def read(self, read: Read) -> None:
        """Add the rows of what is read."""
        for side, group in sides(self.frame, read.place, self.case.name):
            self._row(self.sought, len(self.read_as), group, read.motion)
            self.read_as.append((read, side))
            if read.motion == "warping":
                self._refuse_idle(read, group)

    def push(self, push: Push) -> None:
        """Put a push on its spots."""
        found = spots(self.frame, push.place, self.case.name)
        for spot, force in couple_forces(found, push, self.case.name):
            self._apply(spot, force)
        for spot, moment in push_moments(found, push, self.case.name):
            for node, _, share in self._nodes(spot):
                self.put(node, np.zeros(3), share * moment)

    def _row(
        self, onto: Triplets, row: int, group: list[tuple[Spot, float]], motion: Motion
    ) -> None:
        """Add the mean of a motion over weighted spots as a row."""
        c = MOTIONS.index(motion)
        for spot, weight in group:
            for node, arm, share in self._nodes(spot):
                if motion == "warping":
                    self._refuse_inside(node)
                # A rigid arm turns with its node: only movements differ along it.
                at_end = arm_motion(node, arm, c) if c < 3 else [(N_FREEDOMS * node + c, 1.0)]
                onto += [(row, freedom, weight * share * value) for freedom, value in at_end]

    def _refuse_inside(self, node: int) -> None:
        """Refuse warping where a place acts on the wall of sheet metal, not on a section."""
        if any(node in p.nodes[p.n_cuts :] for p in self.mesh.patches):
            raise ModelError(
                Complaint(
                    "inside a joint taken as sheet metal no cross-section warps as a whole",
                    where=f"case {self.case.name}, {self.mesh.node_names[node]}",
                    do="hold the other motions one by one, read elsewhere, or take beam joints",
                )
            )

    def _refuse_idle(self, read: Read, group: list[tuple[Spot, float]]) -> None:
        """Refuse to read a warping that nothing in the mesh resists: it is not known."""
        resists = self.mesh.beams.ECw > 0.0
        cuts = [p.nodes[: p.n_cuts] for p in self.mesh.patches]
        warps = np.concatenate([self.mesh.elements.nodes[resists].ravel(), *cuts])
        for spot, _ in group:
            for node, _, _ in self._nodes(spot):
                if node not in warps:
                    raise ModelError(
                        Complaint(
                            "a section that resists no warping has none to read",
                            where=f"case {self.case.name}, read {read.name}",
                            found=self.mesh.node_names[node],
                            do="read roll there, or the warping of another place",
                        )
                    )

    def _nodes(self, spot: Spot) -> Iterable[tuple[int, Array, float]]:
        for name, distance, point, share in zip(
            spot.members, spot.distances, spot.points, spot.shares, strict=True
        ):
            node = self.mesh.node_at(name, distance)
            yield node, point - self.mesh.points[node], float(share)

    def _apply(self, spot: Spot, force: Array) -> None:
        for node, arm, share in self._nodes(spot):
            self.put(node, share * force, np.cross(arm, share * force))

    def put(self, node: int, force: Array, moment: Array) -> None:
        """Put a force and a moment on a node."""
        self.force[N_FREEDOMS * node : N_FREEDOMS * node + 3] += force
        self.force[N_FREEDOMS * node + 3 : N_FREEDOMS * node + 6] += moment

    def spread(self, spread: Spread) -> None:
        """Put a spread load on the rails."""
        wanted = ("right", "left", "centre") if spread.side in ("each", "mean") else (spread.side,)
        factor = 0.5 if spread.side == "mean" else 1.0
        force = factor * np.asarray(spread.force)
        shares = dict.fromkeys(wanted, force)
        if not self._line(spread.start, spread.end, shares):
            raise ModelError(
                Complaint(
                    "a spread load must lie on a rail",
                    where=f"case {self.case.name}",
                    found=f"station {spread.start:g} to {spread.end:g} mm",
                )
            )

    def _line(self, start: float, end: float, force: dict[str, Array]) -> bool:
        """Put an even load on the rails' reference lines; say whether it met any."""
        elements = self.mesh.elements
        middle = self.mesh.points[elements.nodes].mean(axis=1)[:, 0]
        inside = (middle > start) & (middle < end)
        side = {m.name: m.side for m in self.frame.members if m.kind == "rail"}
        none = np.zeros(3)
        by_member = np.array([force.get(side.get(m, ""), none) for m in self.mesh.members])
        load = np.where(inside[:, None], by_member[elements.member], 0.0)
        met = np.array([side.get(m, "") in force for m in self.mesh.members])[elements.member]
        self.even += beam.even_load(self.mesh.beams, load, np.zeros((len(load), 2)))
        for length, nodes in self._metal():
            force_here = force.get(side.get(length.member, ""))
            if force_here is not None:
                met_here = self._on_metal(length, nodes, _even(force_here), span=(start, end))
                met = np.append(met, met_here)
                inside = np.append(inside, met_here)
        return bool(np.any(inside & met))

    def _metal(self) -> list[tuple[Length, NDArray[np.intp]]]:
        """Return the lengths taken as sheet metal, with their patch's nodes."""
        return [(le, p.nodes) for p in self.mesh.patches for le in p.lengths]

    def _on_metal(
        self,
        length: Length,
        nodes: NDArray[np.intp],
        force: Acceleration,
        *,
        span: tuple[float, float] = (-np.inf, np.inf),
        weighs: bool = False,
    ) -> bool:
        """Put an even load on a length of sheet metal, as forces on its patch's nodes.

        `force`, of the place, is per length, or per mass if it `weighs`; `span` are stations.
        """
        member = self.frame.member(length.member)
        total, moment = np.zeros(3), np.zeros(3)
        corners = path.lengths(member.path)
        for leg, axes in enumerate(path.leg_axes(member.path, member.up)):
            for run in member.runs:
                low = max(run.start, length.start, corners[leg])
                high = min(run.end, length.end, corners[leg + 1])
                ends = path.point_at(member.path, np.array([low, high]))
                if high > low and axes[0, 0] > 1e-6 and np.isfinite(span[0]):
                    slope = axes[0, 0]
                    low, high = (
                        low + max(0.0, (span[0] - ends[0, 0]) / slope),
                        high - max(0.0, (ends[1, 0] - span[1]) / slope),
                    )
                if high <= low:
                    continue
                middle = path.point_at(member.path, 0.5 * (low + high))
                per = high - low
                if weighs:
                    area, centre = metal(run.section.midline)
                    middle = middle + centre @ axes[1:]
                    per = per * area * run.material.density
                each = per * force(middle)
                total += each
                moment += np.cross(middle, each)
        if not np.any(total):
            return False
        centre = self.mesh.points[nodes].mean(axis=0)
        for node in nodes:
            self.put(int(node), total / len(nodes), np.zeros(3))
        left = (moment - np.cross(centre, total)) / len(nodes)
        for node in nodes:
            self.put(int(node), np.zeros(3), left)
        return True

    def weigh(self, weight: Weight) -> None:
        """Put weight on the frame."""
        down = np.array([0.0, 0.0, -GRAVITY * weight.factor])
        self.own(_even(down))
        if weight.masses:
            for mass in self.frame.masses:
                if mass.carrier != "unsprung" and (weight.laden or not mass.laden):
                    self.carry(mass, mass.mass * down)

    def own(self, acceleration: Acceleration) -> None:
        """Put the frame's own mass times an acceleration on it, N; even along each element."""
        elements, beams = self.mesh.elements, self.mesh.beams
        off = np.einsum("nk,nkj->nj", beams.centroid, beams.axes[:, 1:])
        middle = self.mesh.origin_lines().mean(axis=0) + off
        per_length = elements.weight[:, None] * acceleration(middle)
        self.even += beam.even_load(beams, per_length, beams.centroid)
        for end in (0, 1):  # the rigid ends weigh too
            arm = beams.arms[:, end]
            lump = per_length * np.linalg.norm(arm, axis=1)[:, None]
            moment = np.cross(arm / 2.0 + off, lump)
            for c in range(3):
                at = N_FREEDOMS * elements.nodes[:, end] + c
                np.add.at(self.force, at, lump[:, c])
                np.add.at(self.force, at + 3, moment[:, c])
        for length, nodes in self._metal():
            self._on_metal(length, nodes, acceleration, weighs=True)

    def carry(self, mass: Mass, force: Array) -> None:
        """Share what a mass does, N, over what carries it, statically equivalent.

        Forces go by the shares of its weight; what moment they leave goes into vertical
        forces there as far as these can balance it, the rest in as moments.
        """
        seats = mass_places(self.frame, mass)
        nodes = [self.mesh.node_at(name, distance) for name, distance in seats]
        points = self.mesh.points[nodes]
        mounts = carriers(self.frame, mass) if mass.carrier == "mounts" else []
        if mounts:
            points = np.array([m.position for m in mounts])
            for k, mount in enumerate(mounts):
                on_body = body_node(self.mesh, mount)
                if on_body is not None:
                    nodes[k], points[k] = on_body, self.mesh.points[on_body]
        at = np.asarray(mass.position)
        if mass.spread is not None and mass.carrier == "frame":
            start, end = mass.spread
            sides = [self.frame.member(name).side for name, _ in seats]
            each = least_shares(points[:, :2], at[:2])[:, None] * force
            self._line(start, end, dict(zip(sides, each / (end - start), strict=True)))
            points[:, 0] = 0.5 * (start + end)  # the middle of the line
            left = np.cross(at, force) - np.cross(points, each).sum(axis=0)
        else:
            each, left = shared(points, at, force)
            for node, point, part in zip(nodes, points, each, strict=True):
                self.put(node, part, np.cross(point - self.mesh.points[node], part))
        for node in nodes:  # what vertical forces there cannot balance, as moments
            self.put(node, np.zeros(3), left / len(nodes))
        for mount, part in zip(mounts, each, strict=False):
            key = (mount.name, mount.side)
            self.on_mounts[key] = self.on_mounts.get(key, np.zeros(3)) + part

    def finish(self) -> Loads:
        """Return all that was gathered."""
        mesh, beams = self.mesh, self.mesh.beams
        natural = beam.end_loads(beams, self.even)
        at_nodes = np.einsum("nij,ni->nj", beam.geometry(beams), natural)
        np.add.at(self.force, element_freedoms(mesh.elements.nodes), at_nodes)
        total = resultant(mesh.points, self.force)
        return Loads(
            name=f"case {self.case.name}",
            rows=_rows(self.held, len(self.values)),
            values=np.array(self.values),
            labels=tuple(self.labels),
            force=self.force,
            element_load=self.even,
            total=total,
            motions=tuple(self.motions),
            reads=_rows(self.sought, len(self.read_as)),
            read_as=tuple(self.read_as),
        )


def _rows(triplets: Triplets, count: int) -> Rows:
    row = np.array([t[0] for t in triplets], dtype=np.intp)
    freedom = np.array([t[1] for t in triplets], dtype=np.intp)
    return Rows(row, freedom, np.array([t[2] for t in triplets]), count)


def resultant(points: Array, force: Array) -> Array:
    """Return the sum of nodal forces and of their moments about the origin, shape (6,)."""
    each = force.reshape(-1, N_FREEDOMS)
    moment = each[:, 3:6] + np.cross(points, each[:, :3])
    return np.concatenate([each[:, :3].sum(axis=0), moment.sum(axis=0)])


def _even(value: Array) -> Acceleration:
    """Return what is the same everywhere."""
    return lambda at: np.broadcast_to(value, at.shape)
