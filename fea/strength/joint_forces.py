"""What each member's end passes into the member it is joined to: force and moment at the weld.

All of what lies between the weld and the nearest beam of the member is cut free.  What the
rest of the member does to it at the cut, and what acts on it in between, it passes on:

- beam joints: the cut is the end of the member's elastic length;
- joints as sheet metal: the cut is where the patch's metal goes over to a beam.  A member
  that is metal all along is cut through its sheet half-way, by the forces in the nodes there.

What acts in between (loads, supports, bodies, mounts, members that end there) is
put where its node is.  Joints are at their walls: see :func:`fea.mesh.ends.trim`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.element import beam
from fea.element.beam import N_FREEDOMS
from fea.frame import path
from fea.frame.crossing import tip
from fea.frame.model import Frame, Joint
from fea.mesh.ends import trim
from fea.mesh.seams import end_distance
from fea.result.forces import end_forces
from fea.solve.condense import MIRROR, Metal

Array = NDArray[np.float64]
WORTH_TELLING = 0.01
"""Share of a joint's force above which what acts in between is told."""

Taken = Literal["beam", "cut of the sheet metal", "section through the sheet metal"]


@dataclass(frozen=True, eq=False)
class JointForce:
    """What a member's end does to what it is joined to.

    Attributes
    ----------
    point : (3,), mm, on the wall that the end is fixed to
    force : (6,), N and N mm about the point, vehicle axes
    inward : (3,), unit, from the end into the member
    taken : where the force was taken
    between : whether something of note acts between there and the joint
    """

    joint: Joint
    point: Array
    force: Array
    inward: Array
    taken: Taken
    between: bool

    @property
    def pull(self) -> float:
        """How the member pulls at the joint along itself, N; negative if it presses."""
        return float(self.force[:3] @ self.inward)

    @property
    def size(self) -> tuple[float, float]:
        """Size of force and moment, N and N mm."""
        return float(np.linalg.norm(self.force[:3])), float(np.linalg.norm(self.force[3:]))


def moved(force: Array, start: Array, to: Array) -> Array:
    """Return a force (6,) about `start` as one about `to`."""
    return np.concatenate([force[:3], force[3:] + np.cross(start - to, force[:3])])


def joint_forces(frame: Frame, solution: Solution) -> list[JointForce]:
    """Return what every joint of a frame passes on, in the frame's order."""
    return _Cutter(frame, solution).all()


class _Cutter:
    """Cuts the ends of members free; forces on nodes are worked out once."""

    def __init__(self, frame: Frame, solution: Solution) -> None:
        self.frame, self.solution, self.mesh = frame, solution, solution.mesh
        beams = self.mesh.beams
        # (n, 2, 6): what the nodes put on both ends of every element, vehicle axes, at the node.
        on_ends = np.einsum("nij,ni->nj", beam.geometry(beams), end_forces(solution))
        self.on_ends = on_ends.reshape(-1, 2, N_FREEDOMS)[:, :, :6]
        self.under_way: set[tuple[str, str]] = set()

    def all(self) -> list[JointForce]:
        """Return every joint's force."""
        return [self.at(joint) for joint in self.frame.joints]

    @cached_property
    def outside(self) -> Array:
        """Forces on every node from outside the beams and the metal, (n_nodes, 6)."""
        loads, beams = self.solution.loads, self.mesh.beams
        n = self.mesh.n_freedoms
        force = loads.force + loads.rows.transposed(self.solution.reactions, n)
        spread = np.einsum(
            "nij,ni->nj", beam.geometry(beams), beam.end_loads(beams, loads.element_load)
        ).reshape(-1, 2, N_FREEDOMS)
        total = force.reshape(-1, N_FREEDOMS)
        for end in (0, 1):  # even loads reach the nodes through the elements
            np.subtract.at(total, self.mesh.elements.nodes[:, end], spread[:, end])
        for block in self.solution.bodies:
            np.subtract.at(
                total.reshape(-1), block.freedoms, block.stiffness @ self.solution.u[block.freedoms]
            )
        here = np.asarray(total[:, :6])
        return here + self._springs() if len(self.mesh.springs.stiffness) else here

    def _springs(self) -> Array:
        """Return what springs do to every node, those of joints apart, (n_nodes, 6)."""
        springs = self.mesh.springs
        joints = tuple(f"{j.member} on {j.onto}," for j in self.frame.joints)
        mine = np.array([not label.startswith(joints) for label in springs.label], dtype=bool)
        pull = np.where(mine, self.solution.spring_force, 0.0)
        on = -springs.rows.transposed(pull, self.mesh.n_freedoms)
        return np.asarray(on.reshape(-1, N_FREEDOMS)[:, :6])

    def at(self, joint: Joint) -> JointForce:
        """Return what a joint passes on."""
        frame, mesh = self.frame, self.mesh
        member = frame.member(joint.member)
        tip_point, inward = tip(member, joint.end)
        point = tip_point + trim(frame, joint) * inward
        cut, force, taken = self._cut(joint, point)
        end = end_distance(member, joint.end)
        low, high = sorted((end, cut))
        places, nodes = mesh.nodes_of[joint.member]
        inside = [
            int(n) for d, n in zip(places, nodes, strict=True) if low - 1e-6 <= d <= high + 1e-6
        ]
        size = float(np.abs(force).max())
        between = False
        for n in inside:
            more = moved(self.outside[n], mesh.points[n], point)
            between |= float(np.abs(more).max()) > WORTH_TELLING * size
            force = force + more
        for other in self._others(joint, low, high):
            more = moved(other.force, other.point, point)
            between |= float(np.abs(more).max()) > WORTH_TELLING * size
            force = force + more
        return JointForce(joint, point, force, inward, taken, between)

    def _others(self, joint: Joint, low: float, high: float) -> list[JointForce]:
        """Return the forces of joints by which others end on the part that is cut free."""
        key = (joint.member, joint.end)
        self.under_way.add(key)
        found = [
            self.at(other)
            for other in self.frame.joints
            if other.onto == joint.member
            and low - 1e-6 <= other.distance <= high + 1e-6
            and (other.member, other.end) not in self.under_way
        ]
        self.under_way.discard(key)
        return found

    def _cut(self, joint: Joint, point: Array) -> tuple[float, Array, Taken]:
        """Return where a member is cut, and what the rest does to the end, (6,) about a point."""
        elements = self.mesh.elements
        mine = np.flatnonzero(elements.member == self.mesh.members.index(joint.member))
        if not len(mine):
            cut, force = self._through_metal(joint, point)
            return cut, force, "section through the sheet metal"
        at_start = joint.end == "start"
        first = elements.place[mine, 0]
        k = int(mine[np.argmin(first) if at_start else np.argmax(first)])
        side = 0 if at_start else 1
        node = int(elements.nodes[k, side])
        force = moved(-self.on_ends[k, side], self.mesh.points[node], point)
        cut = float(elements.place[k, side])
        end = end_distance(self.frame.member(joint.member), joint.end)
        return cut, force, "beam" if abs(cut - end) < 1e-6 else "cut of the sheet metal"

    def _through_metal(self, joint: Joint, point: Array) -> tuple[float, Array]:
        """Return the same for a member that is sheet metal from end to end, cut half-way."""
        member = self.frame.member(joint.member)
        middle = 0.5 * float(path.lengths(member.path)[-1])
        piece = next(m for m in self.solution.metal if joint.member in m.patch.canon.members)
        at, direction = path.point_at(member.path, middle), tip(member, joint.end)[1]
        return middle, _section(piece, joint.member, self.solution.u, (at, direction), point)


def _section(
    piece: Metal, member: str, u: Array, plane: tuple[Array, Array], point: Array
) -> Array:
    """Return what the metal beyond a plane does to a member's metal before it, (6,).

    `plane`: a point, and the direction of what is beyond.
    """
    from fea.element import shell
    from fea.element.shell import Shells

    kept, canon = piece.kept, piece.patch.canon
    flip = MIRROR[:6] if canon.mirrored else np.ones(6)
    points = (kept.points + canon.origin) * flip[:3]
    mine = np.flatnonzero(kept.member == canon.members.index(member))
    beyond = (points[kept.quads[mine]].mean(axis=1) - plane[0]) @ plane[1] > 0.0
    before = mine[~beyond]
    shared = np.intersect1d(kept.quads[before], kept.quads[mine[beyond]])
    edge = before[np.isin(kept.quads[before], shared).any(axis=1)]
    shells = Shells(
        kept.points[kept.quads[edge]], kept.thickness[edge], kept.E[edge], kept.nu[edge]
    )
    nodes = kept.quads[edge]
    freedoms = 6 * nodes[:, :, None] + np.arange(6)
    motion = kept.recover[freedoms.reshape(-1)].astype(float) @ piece.canonical(u)
    on = np.einsum("nij,nj->ni", shell.stiffness(shells), motion.reshape(len(edge), -1))
    each = on.reshape(-1, 6) * flip
    at = nodes.ravel()
    counted = np.isin(at, shared)
    parts: Sequence[Array] = [
        moved(f, points[n], point) for f, n in zip(each[counted], at[counted], strict=True)
    ]
    return np.asarray(np.sum(parts, axis=0))
