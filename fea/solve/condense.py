"""Sheet metal condensed to the few freedoms by which the rest of a frame holds it.

The metal's freedoms are eliminated once; what stays are the seven of every cut, where
beams go on, and six for every seat, where something outside acts on the reference line.
A seat's motion is a mean over many nodes (rows S, motion s = S u): with the metal's
flexibility F under clamped cuts and X what the cuts' motions q make of it,
``s = S X q + S F S' p``, so the force there is ``p = (S F S')^-1 (s - S X q)``.

Equal pieces of metal are condensed once, wherever they sit and on whichever side: what
is kept is the canonical form (:class:`fea.mesh.patches.Canon`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from fea.element import shell
from fea.errors import Complaint, SolveError
from fea.mesh.mesh import stack_rows
from fea.mesh.patches import Patch
from fea.mesh.piece import Sheet
from fea.solve.assemble import sparse_rows
from fea.solve.constrain import Links, eliminate
from fea.solve.factorise import NotDefiniteError, factorise
from fea.solve.rigid import balanced, motions

Array = NDArray[np.float64]

MIRROR = np.array([1.0, -1.0, 1.0, -1.0, 1.0, -1.0, -1.0])
"""Signs of a node's freedoms when y is turned round."""


GROUND = 1e4
"""N/mm under the seats of floating metal while it is factorised; taken out again exactly."""


@dataclass(frozen=True, eq=False)
class Kept:
    """A condensed piece of metal in canonical form.

    Attributes
    ----------
    stiffness : (m, m), nodes in canonical order
    recover : (6 n, m), motions of the metal's n points from those of the nodes
    points : (n, 3), mm; quads : (k, 4); thickness, nu : (k,); E : (k, 2), E and G of the sheet
    member : (k,), index into the canonical members
    energy : (n_members + n_bolted, m, m), each member's share of the stiffness, then that of
        each joint's bolts, in the orders of :class:`fea.mesh.patches.Canon`
    """

    stiffness: Array
    recover: NDArray[np.float32]
    points: Array
    quads: NDArray[np.intp]
    thickness: Array
    E: Array
    nu: Array
    member: NDArray[np.intp]
    energy: Array


class Store(Protocol):
    """Where condensed pieces are kept."""

    def get(self, key: str) -> Kept | None:
        """Return what is kept under a key, or None."""

    def put(self, key: str, kept: Kept) -> None:
        """Keep a piece."""


class Memory:
    """A store that lasts as long as the process."""

    def __init__(self) -> None:
        self._kept: dict[str, Kept] = {}

    def get(self, key: str) -> Kept | None:
        """Return what is kept under a key, or None."""
        return self._kept.get(key)

    def put(self, key: str, kept: Kept) -> None:
        """Keep a piece."""
        self._kept[key] = kept


@dataclass(frozen=True, eq=False)
class Metal:
    """A patch of a mesh with its condensed metal.

    Attributes
    ----------
    patch : where it sits; freedoms : (m,), of the mesh
    stiffness : (m, m), in the order of `freedoms`
    kept : its canonical form
    turn : (m,), positions and signs that bring `freedoms` to the canonical order
    """

    patch: Patch
    freedoms: NDArray[np.intp]
    stiffness: Array
    kept: Kept
    order: NDArray[np.intp]
    sign: Array

    def canonical(self, u: Array) -> Array:
        """Return the motions of the patch's nodes, from a mesh's u, in canonical form."""
        return np.asarray((u[self.freedoms] * self.sign)[self.order])


def _to_canon(patch: Patch) -> tuple[NDArray[np.intp], Array]:
    """Return the canonical order of a patch's freedoms, and their signs before it."""
    count, start = patch.slots()
    order = np.concatenate([start[n] + np.arange(count[n]) for n in patch.canon.order])
    one = MIRROR if patch.canon.mirrored else np.ones(7)
    return order, np.concatenate([one[:c] for c in count])


def metals(patches: Sequence[Patch], store: Store) -> tuple[Metal, ...]:
    """Return the condensed metal of every patch; equal ones are condensed once."""
    out = []
    for patch in patches:
        order, sign = _to_canon(patch)
        kept = store.get(patch.canon.key)
        if kept is None or len(kept.stiffness) != len(order):
            kept = _canonical(patch, order, sign)
            store.put(patch.canon.key, kept)
        back = np.argsort(order)
        K = kept.stiffness[np.ix_(back, back)] * np.outer(sign, sign)
        out.append(Metal(patch, patch.freedoms, K, kept, order, sign))
    return tuple(out)


def _canonical(patch: Patch, order: NDArray[np.intp], sign: Array) -> Kept:
    sheet = patch.sheet()
    K, recover = condense(sheet)
    flip = MIRROR if patch.canon.mirrored else np.ones(7)
    n = len(sheet.points)
    rows = np.tile(flip[:6], n)
    names = {name: k for k, name in enumerate(patch.canon.members)}
    member = np.array([names[name] for name in sheet.members])[sheet.member]
    energy = [_share(sheet, recover, member == k) for k in range(len(patch.canon.members))]
    energy += [_bolts_share(sheet, recover, joint) for joint in patch.canon.bolted]
    at = np.ix_(order, order)
    both = np.outer(sign, sign)
    return Kept(
        stiffness=(K * both)[at],
        recover=(rows[:, None] * recover[: 6 * n] * sign)[:, order].astype(np.float32),
        points=sheet.points * flip[:3] - patch.canon.origin,
        quads=sheet.quads,
        thickness=sheet.shells.thickness,
        E=sheet.shells.E,
        nu=sheet.shells.nu,
        member=member,
        energy=np.stack([(e * both)[at] for e in energy]),
    )


def _share(sheet: Sheet, recover: Array, of: NDArray[np.bool_]) -> Array:
    """Return the part of the condensed stiffness that some of the quadrilaterals make."""
    K = _scatter(shell.stiffness(sheet.shells.part(of)), sheet.quads[of], sheet.n_freedoms)
    return np.asarray(recover.T @ (K @ recover))


def _bolts_share(sheet: Sheet, recover: Array, joint: tuple[str, str]) -> Array:
    """Return the part of the condensed stiffness that a joint's bolts make."""
    of = sheet.spring_joint == sheet.bolted.index(joint)
    motion = sparse_rows(sheet.springs, sheet.n_freedoms)[of] @ recover
    return np.asarray(motion.T @ (sheet.spring_stiffness[of, None] * motion))


def _scatter(blocks: Array, quads: NDArray[np.intp], n: int) -> sp.csr_array:
    freedoms = (6 * quads[:, :, None] + np.arange(6)).reshape(len(quads), -1)
    row = np.repeat(freedoms, 24, axis=1).ravel()
    column = np.tile(freedoms, (1, 24)).ravel()
    return sp.csr_array(sp.coo_array((blocks.ravel(), (row, column)), shape=(n, n)))


def stiffness(sheet: Sheet) -> sp.csr_array:
    """Return the stiffness of the metal and its bolts, shape (n_freedoms, n_freedoms)."""
    K = _scatter(shell.stiffness(sheet.shells), sheet.quads, sheet.n_freedoms)
    if len(sheet.spring_stiffness):
        B = sparse_rows(sheet.springs, sheet.n_freedoms)
        K = sp.csr_array(K + B.T @ (B * sheet.spring_stiffness[:, None]))
    return K


def tied(sheet: Sheet) -> tuple[Links, sp.csr_array]:
    """Return the transformation of the sheet's ties and the stiffness after it."""
    links = eliminate(sheet.ties, sheet.slaves, sheet.n_freedoms)
    return links, sp.csr_array(links.matrix.T @ stiffness(sheet) @ links.matrix)


def condense(sheet: Sheet) -> tuple[Array, Array]:
    """Return the condensed stiffness (m, m) and all motions from the kept ones (n, m).

    First seven rows per cut, then six per seat, in the sheet's order.

    Raises
    ------
    SolveError
        If part of the metal hangs on nothing.
    """
    links, K = tied(sheet)
    n_cut = 7 * len(sheet.cuts)
    first = sheet.n_freedoms - n_cut
    is_cut = links.independent >= first
    inner, outer = np.flatnonzero(~is_cut), np.flatnonzero(is_cut)
    rows = sparse_rows(stack_rows(list(sheet.seats.values())), sheet.n_freedoms)
    S = sp.csc_array(rows @ links.matrix)
    ground = np.zeros(0 if n_cut else rows.shape[0])
    if len(ground):  # metal without a cut floats: its seats stand on springs meanwhile
        ground[:] = np.tile([GROUND] * 3 + [GROUND * _span(sheet) ** 2] * 3, len(ground) // 6)
        K = sp.csr_array(K + S.T @ (S * ground[:, None]))
    by_column = sp.csc_array(K)
    K_io = by_column[:, outer][inner].toarray()
    S_i, S_o = S[:, inner], S[:, outer].toarray()
    try:
        factor = factorise(sp.csr_array(by_column[:, inner][inner]))
    except NotDefiniteError:
        names = ", ".join(dict.fromkeys(sheet.members))
        raise SolveError(
            Complaint("part of the sheet metal of a joint hangs on nothing", where=names)
        ) from None
    solved = factor.solve(np.hstack([-K_io, S_i.T.toarray()]))
    X, FS = solved[:, :n_cut], solved[:, n_cut:]
    D = S_i @ X + S_o
    m = n_cut + len(D)
    whole, from_kept = np.zeros((m, m)), np.zeros((len(links.independent), m))
    whole[:n_cut, :n_cut] = by_column[:, outer][outer].toarray() + K_io.T @ X
    from_kept[inner, :n_cut] = X
    from_kept[outer, np.arange(n_cut)] = 1.0
    if len(D):
        C_inverse = np.linalg.inv(S_i @ FS)
        to_seat = C_inverse @ np.hstack([-D, np.eye(len(D))])
        whole[:n_cut] -= D.T @ to_seat
        whole[n_cut:] = to_seat
        from_kept[inner] += FS @ to_seat
    whole[n_cut:, n_cut:] -= np.diag(ground) if len(ground) else 0.0
    return balanced(whole, _rigid(sheet, rows)), np.asarray(links.matrix @ from_kept)


def _span(sheet: Sheet) -> float:
    return float(np.max(np.ptp(sheet.points, axis=0)))


def _rigid(sheet: Sheet, rows: sp.csr_array) -> Array:
    """Return the kept freedoms of the six rigid motions, (m, 6)."""
    middle = sheet.points.mean(axis=0)
    span = _span(sheet)

    everywhere = np.zeros((sheet.n_freedoms, 6))
    everywhere[: 6 * len(sheet.points)] = motions(sheet.points, 6, middle, span)
    cuts = np.array([c.point for c in sheet.cuts]).reshape(-1, 3)
    return np.concatenate([motions(cuts, 7, middle, span), rows @ everywhere])
