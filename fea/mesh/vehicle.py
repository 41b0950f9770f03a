"""Bodies on a frame's mesh: their nodes, and the mounts and ties that hold them.

A body comes in as one condensed piece on the nodes at which mounts and ties take hold of
it; a mount is springs between a point fixed to a frame member and the same point fixed to
the body, a tie a bracket between two points.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.element import bracket
from fea.element.beam import N_FREEDOMS
from fea.frame.body import Body, Tie
from fea.frame.model import Frame, Mount
from fea.frame.mounts import effective, effective_turn
from fea.mesh.body import Label, body_mesh, words
from fea.mesh.mesh import Mesh, Rows, Springs, arm_rows, stack_rows, turned

Array = NDArray[np.float64]
Index = NDArray[np.intp]

LEAST = 1e-9
"""A way in which a bracket resists less than this of its stiffest one counts as free."""

LEVER = 100.0
"""At which a turn of a tie's end counts as a movement, mm; for the scale alone."""


@dataclass(frozen=True, eq=False)
class BodyAt:
    """A body and the mesh's nodes that stand for the points where it is held.

    Attributes
    ----------
    nodes : (k,), six freedoms each
    labels : k, what is held there, the first if several share a node
    node_of : every mount and tie -> its node
    """

    body: Body
    ties: tuple[Tie, ...]
    nodes: Index
    labels: tuple[Label, ...]
    node_of: dict[Label, int]

    @property
    def freedoms(self) -> Index:
        """The mesh's freedoms in the order of the nodes, six each."""
        return (N_FREEDOMS * self.nodes[:, None] + np.arange(6)).ravel()


def with_bodies(frame: Frame, mesh: Mesh) -> Mesh:
    """Return a mesh with the frame's bodies on it; the same one if there are none.

    Ties that are not fitted get their nodes all the same, so that a study can try them.
    """
    if not frame.bodies:
        return mesh
    points, names = [mesh.points], list(mesh.node_names)
    bodies: list[BodyAt] = []
    count = len(mesh.points)
    for body in frame.bodies:
        ties = tuple(t for t in frame.ties if t.body == body.name)
        at, where = _body_at(body, ties, count)
        bodies.append(at)
        points.append(where)
        names += [f"body {body.name} at {words(label)}" for label in at.labels]
        count += len(where)
    warping = N_FREEDOMS * np.arange(len(mesh.points), count, dtype=np.intp) + N_FREEDOMS - 1
    none = np.zeros(0, dtype=np.intp)
    still = Rows(none, none, np.zeros(0), len(warping))  # a body's points do not warp
    whole = replace(
        mesh,
        points=np.concatenate(points),
        node_names=tuple(names),
        ties=stack_rows([mesh.ties, still]),
        slaves=np.concatenate([mesh.slaves, warping]),
        bodies=tuple(bodies),
    )
    return replace(whole, springs=_springs(frame, whole))


def _body_at(body: Body, ties: tuple[Tie, ...], first: int) -> tuple[BodyAt, Array]:
    """Return a body's nodes, numbered from `first` on, and where they are, (k, 3)."""
    grillage = body_mesh(body, {tie_label(t): t.body_point for t in ties})
    labels: dict[int, Label] = {}
    for label, node in zip(grillage.labels, grillage.label_nodes.tolist(), strict=True):
        labels.setdefault(node, label)
    number = {node: first + k for k, node in enumerate(labels)}
    node_of = {
        label: number[node]
        for label, node in zip(grillage.labels, grillage.label_nodes.tolist(), strict=True)
    }
    kept = [grillage.labels.index(label) for label in labels.values()]
    nodes = np.arange(first, first + len(labels), dtype=np.intp)
    at = BodyAt(body, ties, nodes, tuple(labels.values()), node_of)
    return at, grillage.label_points[kept]


def body_node(mesh: Mesh, mount: Mount) -> int | None:
    """Return the node of the body above a mount, None if no body stands there."""
    label = ("mount", mount.name, mount.side)
    return next((b.node_of[label] for b in mesh.bodies if label in b.node_of), None)


def tie_label(tie: Tie) -> Label:
    """Return what a tie is called among the points of a body."""
    return ("tie", tie.pair, tie.side)


def _springs(frame: Frame, mesh: Mesh) -> Springs:
    rows, stiffness = [mesh.springs.rows], [mesh.springs.stiffness]
    labels = list(mesh.springs.label)
    mounts = {(m.name, m.side): m for m in frame.mounts}
    for at in mesh.bodies:
        for name, side in at.body.points:
            if (name, side) not in mounts:
                continue
            mount, node = mounts[name, side], at.node_of["mount", name, side]
            k = mount_stiffness(mount)
            own = mount_rows(mesh, mount, node)
            kept = np.flatnonzero(k > 0.0)
            rows.append(pick(own, kept))
            stiffness.append(k[kept])
            labels += [f"mount {name} {side}"] * len(kept)
        for tie in at.ties:
            if tie.fitted:
                own, k = tie_springs(mesh, tie, at.node_of[tie_label(tie)])
                rows.append(own)
                stiffness.append(k)
                labels += [f"tie {tie.pair} {tie.side}"] * len(k)
    return Springs(stack_rows(rows), np.concatenate(stiffness), tuple(labels))


def mount_stiffness(mount: Mount) -> Array:
    """Return what is left of a mount's stiffness along and about x, y, z, (6,)."""
    return np.array([*effective(mount), *effective_turn(mount)])


def mount_rows(mesh: Mesh, mount: Mount, body_node: int) -> Rows:
    """Return six rows: how the body moves against the frame at a mount."""
    frame_node = mesh.node_at(mount.onto, mount.distance)
    return _between(mesh, frame_node, body_node, np.array(mount.position))


def tie_rows(mesh: Mesh, tie: Tie, body_node: int) -> Rows:
    """Return six rows: how the body moves against the frame at a tie's body end."""
    frame_node = mesh.node_at(tie.onto, tie.distance)
    return _between(mesh, frame_node, body_node, np.array(tie.body_point))


def tie_stiffness(tie: Tie) -> Array:
    """Return the stiffness of a tie at its body end, (6, 6), N/mm, N and N mm."""
    if tie.stiffness is not None or tie.bracket is None:
        return np.diag([*(tie.stiffness or (0.0, 0.0, 0.0)), 0.0, 0.0, 0.0])
    b = tie.bracket
    span = np.array(tie.body_point) - np.array(tie.frame_point)
    size = (b.length, b.width, b.wall)
    return bracket.stiffness(span, size, b.ends_stiffness, pinned=b.ends == "pinned")


def tie_springs(mesh: Mesh, tie: Tie, body_node: int) -> tuple[Rows, Array]:
    """Return a tie as springs: the motions it resists, each with one stiffness, (k,)."""
    motions, k = ways(tie_stiffness(tie))
    return turned(tie_rows(mesh, tie, body_node), motions), k


def ways(stiffness: Array) -> tuple[Array, Array]:
    """Return the ways a stiffness (6, 6) resists, (k, 6), and how stiff each is, (k,), N/mm.

    A turn counts as a movement at :data:`LEVER`, and every way has length one: so ties of
    any stiffness see the vehicle at one scale.
    """
    scale = np.sqrt(np.maximum(np.diagonal(stiffness), 0.0))
    scale[scale == 0.0] = 1.0
    value, vector = np.linalg.eigh(stiffness / np.outer(scale, scale))
    kept = value > LEAST * value[-1]
    motions = (scale[:, None] * vector[:, kept]).T
    size = np.linalg.norm(motions / ([1.0] * 3 + [LEVER] * 3), axis=1)
    return motions / size[:, None], value[kept] * size**2


def _between(mesh: Mesh, frame_node: int, body_node: int, point: Array) -> Rows:
    """Return six rows: motion of a point fixed to a body node less that fixed to a frame's."""
    nodes = np.array([body_node, frame_node], dtype=np.intp)
    both = arm_rows(nodes, point - mesh.points[nodes])
    sign = np.where(both.row < 6, 1.0, -1.0)
    return Rows(both.row % 6, both.freedom, sign * both.coefficient, 6)


def pick(rows: Rows, kept: Index) -> Rows:
    """Return some of the rows, renumbered."""
    place = np.full(rows.n_rows, -1)
    place[kept] = np.arange(len(kept))
    mine = place[rows.row] >= 0
    return Rows(place[rows.row[mine]], rows.freedom[mine], rows.coefficient[mine], len(kept))
