"""A mesh as one system to be solved: assembled once, held and factorised per support set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.mesh.mesh import Mesh, Rows
from fea.solve import assemble, constrain, factorise, mechanism
from fea.solve.operator import Operator, operator

if TYPE_CHECKING:
    from fea.solve.condense import Metal, Store

Array = NDArray[np.float64]

REFINEMENTS = 1
"""Steps of iterative refinement, with residuals taken element by element: they win back what
short elements between long ones cost in the assembled matrix."""


@dataclass(frozen=True, eq=False)
class Block:
    """A piece condensed onto some freedoms of the mesh: name, freedoms (m,), stiffness (m, m)."""

    name: str
    freedoms: NDArray[np.intp]
    stiffness: Array


@dataclass(frozen=True, eq=False)
class System:
    """An assembled mesh.

    Attributes
    ----------
    metal : its condensed sheet metal; bodies : its condensed bodies
    K : (n_freedoms, n_freedoms); structure : the same, element by element
    links : what its rigid ties make of the freedoms; K_links : the stiffness after that
    """

    mesh: Mesh
    metal: tuple[Metal, ...]
    bodies: tuple[Block, ...]
    K: sp.csr_array
    structure: Operator
    links: constrain.Links
    K_links: sp.csr_array

    def over_links(self, rows: Rows) -> sp.csr_array:
        """Return rows over the independent freedoms, (m, n_independent)."""
        return sp.csr_array(assemble.sparse_rows(rows, self.mesh.n_freedoms) @ self.links.matrix)


@dataclass(frozen=True, eq=False)
class Held:
    """A system held by support rows, and factorised.

    Attributes
    ----------
    rows : (m, n_independent), the support rows
    supports : the transformation they make; its `imposed` has a column per set of motions
    K : (n_free, n_free), what was factorised
    """

    system: System
    rows: sp.csr_array
    supports: constrain.Supports
    K: sp.csr_array
    factor: factorise.Factor

    def solve(self, force: Array, refinements: int = REFINEMENTS) -> tuple[Array, Array, Array]:
        """Return the motions under loads and the imposed motions.

        Parameters
        ----------
        force : (n_freedoms, k), with the columns of the imposed motions

        Returns
        -------
        u : (n_freedoms, k)
        motion : (n_independent, k), the same of the independent freedoms
        left : (n_independent, k), forces left over there: what the supports bear
        """
        s, links = self.system, self.system.links
        imposed = self.supports.imposed
        if imposed.shape[1] != force.shape[1]:
            imposed = np.zeros((len(imposed), force.shape[1]))
        motion, left = imposed, s.K_links @ imposed - links.matrix.T @ force
        for _ in range(1 + refinements):
            free = self.factor.solve(self.supports.matrix.T @ left)
            motion = motion - self.supports.matrix @ free
            u = links.matrix @ motion
            left = links.matrix.T @ (s.structure.internal(u) - force)
        return u, motion, left

    def answers_to(self, rows: sp.csr_array) -> Array:
        """Return the free motions under unit forces along rows over the links, (n_free, m)."""
        return self.factor.solve((rows @ self.supports.matrix).T.toarray())


def system(mesh: Mesh, store: Store | None = None) -> System:
    """Return a mesh assembled.

    Parameters
    ----------
    store : Store, optional
        Where condensed sheet metal is kept; by default for this call only.
    """
    metal = _metal(mesh, store)
    bodies = _bodies(mesh)
    blocks = [(b.freedoms, b.stiffness) for b in metal]
    blocks += [(b.freedoms, b.stiffness) for b in bodies]
    K = assemble.stiffness(mesh, blocks)
    links = constrain.links(mesh, K)
    return System(
        mesh=mesh,
        metal=metal,
        bodies=bodies,
        K=K,
        structure=operator(mesh, blocks),
        links=links,
        K_links=sp.csr_array(links.matrix.T @ K @ links.matrix),
    )


def hold(system: System, support_rows: Rows, values: Array, backend: str = "auto") -> Held:
    """Return a system held by support rows and factorised.

    Parameters
    ----------
    values : (m, k), motions imposed on the rows, a column per set
    backend : see :func:`fea.solve.factorise.factorise`

    Raises
    ------
    SolveError
        If something can move freely, or rows contradict each other.
    """
    rows = system.over_links(support_rows)
    held = constrain.supports(rows, values, system.K_links.diagonal())
    K_free = sp.csr_array(held.matrix.T @ system.K_links @ held.matrix)
    try:
        factor = factorise.factorise(K_free, backend)
    except factorise.NotDefiniteError:
        raise mechanism.explain(system.mesh, K_free, system.links, held, system.structure) from None
    return Held(system, rows, held, K_free, factor)


def _metal(mesh: Mesh, store: Store | None) -> tuple[Metal, ...]:
    """Return the condensed sheet metal of a mesh's patches."""
    if not mesh.patches:
        return ()
    from fea.solve.condense import Memory, metals  # shells and all: only where needed

    return metals(mesh.patches, store or Memory())


def _bodies(mesh: Mesh) -> tuple[Block, ...]:
    """Return the condensed bodies of a mesh."""
    if not mesh.bodies:
        return ()
    from fea.solve.body_kept import KNOWN

    return tuple(
        Block(
            at.body.name if at.body.name.startswith("body") else f"body {at.body.name}",
            at.freedoms,
            KNOWN.between(at.body, at.ties, at.labels),
        )
        for at in mesh.bodies
    )


def same_supports(rows: Sequence[Rows]) -> list[list[int]]:
    """Group sets of support rows that are equal: they share a factorisation."""
    groups: dict[bytes, list[int]] = {}
    for k, item in enumerate(rows):
        key = item.row.tobytes() + item.freedom.tobytes() + item.coefficient.tobytes()
        groups.setdefault(key, []).append(k)
    return list(groups.values())
