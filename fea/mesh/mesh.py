"""The mesh: nodes, beam elements, rigid links and springs as arrays; no behaviour.

A node has the seven freedoms of :mod:`fea.element.beam`; freedom c of node n is number
``7 n + c``.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import N_FREEDOMS, Beams
from fea.section.properties import SectionProperties

if TYPE_CHECKING:
    from fea.mesh.patches import Patch
    from fea.mesh.vehicle import BodyAt

Array = NDArray[np.float64]
Index = NDArray[np.intp]


SAME_PLACE = 0.5
"""Places along a member nearer than this, mm, share a node.

Much shorter elements would drown the frame's stiffness in round-off (12 EI/L^3 grows with
the cube), and what sits there keeps its exact position on an arm.
"""


@dataclass(frozen=True, eq=False)
class Rows:
    """Sparse rows over the freedoms, as triplets: row, freedom, coefficient; m rows."""

    row: Index
    freedom: Index
    coefficient: Array
    n_rows: int

    def transposed(self, values: Array, n_freedoms: int) -> Array:
        """Return what values on the rows put on the freedoms, shape (n_freedoms,)."""
        on = self.coefficient * values[self.row]
        return np.asarray(np.bincount(self.freedom, on, n_freedoms), dtype=np.float64)


@dataclass(frozen=True, eq=False)
class Springs:
    """Springs: the motion of each is a row over the freedoms, its stiffness one number.

    `label` says what each is, for energy tables ("X3 right end, bolted").
    """

    rows: Rows
    stiffness: Array
    label: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Elements:
    """Where each beam element comes from; its mechanics are in `beams`.

    Attributes
    ----------
    nodes : (n, 2)
    member : (n,), index into the mesh's member names
    place : (n, 2), mm, distances along the member's path at its ends
    section : (n,), index into the mesh's sections
    weight : (n,), tonne/mm, mass per length
    yield_stress : (n,), MPa
    part : (n,), index into the mesh's part names, -1 for stock
    """

    nodes: Index
    member: Index
    place: Array
    section: Index
    weight: Array
    yield_stress: Array
    part: Index


@dataclass(frozen=True, eq=False)
class Mesh:
    """A meshed frame.

    Attributes
    ----------
    points : (n_nodes, 3), mm
    elements, beams : of equal length
    ties : rigid dependencies; row k says freedom `slaves[k]` equals the row's sum
    slaves : (k,), freedoms that the ties define
    springs : local flexibility of joints
    members, sections, parts : what the element indices point to
    section_names : name of each section
    nodes_of : per member, the distances along its path (sorted) and their nodes
    node_names : node -> words for messages ("crossmember X3, right end")
    assumed : sentences on the joint rules taken, for the report
    patches : pieces taken as sheet metal, condensed onto the mesh's freedoms
    bodies : what stands on the frame, condensed likewise
    """

    points: Array
    elements: Elements
    beams: Beams
    ties: Rows
    slaves: Index
    springs: Springs
    members: tuple[str, ...]
    sections: tuple[SectionProperties, ...]
    section_names: tuple[str, ...]
    parts: tuple[str, ...]
    nodes_of: dict[str, tuple[Array, Index]]
    node_names: tuple[str, ...]
    assumed: tuple[str, ...] = ()
    patches: "tuple[Patch, ...]" = ()
    bodies: "tuple[BodyAt, ...]" = ()

    @property
    def n_freedoms(self) -> int:
        """Number of freedoms before any are tied or held."""
        return N_FREEDOMS * len(self.points)

    def origin_lines(self) -> Array:
        """Return the ends of every element's line of section origins, (2, n, 3), mm."""
        nodes = self.elements.nodes
        return np.stack([self.points[nodes[:, k]] + self.beams.arms[:, k] for k in (0, 1)])

    def node_at(self, member: str, distance: float) -> int:
        """Return the node of `member` nearest to a distance along its path.

        Raises
        ------
        KeyError
            If there is none within :data:`SAME_PLACE`.
        """
        distances, nodes = self.nodes_of[member]
        k = int(np.argmin(np.abs(distances - distance)))
        if abs(distances[k] - distance) > SAME_PLACE + 1e-6:
            msg = f"{member} has no node at {distance:.3f} mm"
            raise KeyError(msg)
        return int(nodes[k])


def empty_rows() -> Rows:
    """Return no rows at all."""
    none = np.zeros(0, dtype=np.intp)
    return Rows(none, none, np.zeros(0), 0)


def stack_rows(parts: list[Rows]) -> Rows:
    """Return rows one after the other."""
    if not parts:
        return empty_rows()
    start = np.concatenate(([0], np.cumsum([p.n_rows for p in parts])))
    return Rows(
        np.concatenate([p.row + s for p, s in zip(parts, start[:-1], strict=True)]),
        np.concatenate([p.freedom for p in parts]),
        np.concatenate([p.coefficient for p in parts]),
        int(start[-1]),
    )


def arm_rows(nodes: Index, arms: Array) -> Rows:
    """Return six rows per node: motion (3) and rotation (3) at the end of a rigid arm.

    Parameters
    ----------
    nodes : (k,)
    arms : (k, 3), mm, from the node, vehicle axes

    Returns
    -------
    Rows, 6 k of them, in the order of the nodes
    """
    k = len(nodes)
    base = N_FREEDOMS * nodes
    row0 = 6 * np.arange(k)
    row, freedom, value = [], [], []
    for c in range(6):
        row.append(row0 + c)
        freedom.append(base + c)
        value.append(np.ones(k))
    # u + R x r: ux += ry rz' - rz ry' and cyclic (r' the arm).
    for c, a, b in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        row += [row0 + c, row0 + c]
        freedom += [base + 3 + a, base + 3 + b]
        value += [arms[:, b], -arms[:, a]]
    return Rows(
        np.concatenate(row).astype(np.intp),
        np.concatenate(freedom).astype(np.intp),
        np.concatenate(value),
        6 * k,
    )


def arm_motion(node: int, arm: Array, component: int) -> list[tuple[int, float]]:
    """Return (freedom, coefficient) of a displacement at the end of an arm."""
    a, b = (component + 1) % 3, (component + 2) % 3
    base = N_FREEDOMS * node
    row = [(base + component, 1.0), (base + 3 + a, float(arm[b])), (base + 3 + b, -float(arm[a]))]
    return [(f, c) for f, c in row if c != 0.0]


def turned(rows: Rows, motions: Array) -> Rows:
    """Return combinations of rows: (k, n_rows) times them."""
    used, where = np.unique(rows.freedom, return_inverse=True)
    dense = np.zeros((rows.n_rows, len(used)))
    np.add.at(dense, (rows.row, where), rows.coefficient)
    row, column = np.nonzero(motions @ dense)
    return Rows(row, used[column], (motions @ dense)[row, column], len(motions))
