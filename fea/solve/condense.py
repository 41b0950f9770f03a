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
from functools import cached_property
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
from fea.solve.levels import compliance
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
    """Where condensed pieces are kept: whole, and the stiffness alone of others."""

    @property
    def whole(self) -> bool:
        """Whether all pieces are wanted whole."""

    def get(self, key: str) -> Kept | None:
        """Return what is kept under a key, or None."""

    def put(self, key: str, kept: Kept) -> None:
        """Keep a piece."""

    def get_stiffness(self, key: str) -> Array | None:
        """Return the stiffness of a piece, kept whole or not, or None."""

    def put_stiffness(self, key: str, stiffness: Array) -> None:
        """Keep a piece's stiffness, (m, m), without what is inside it."""


class Memory:
    """A store that lasts as long as the process."""

    whole = True

    def __init__(self) -> None:
        self._kept: dict[str, Kept] = {}
        self._stiffness: dict[str, Array] = {}

    def get(self, key: str) -> Kept | None:
        """Return what is kept under a key, or None."""
        return self._kept.get(key)

    def put(self, key: str, kept: Kept) -> None:
        """Keep a piece."""
        self._kept[key] = kept

    def get_stiffness(self, key: str) -> Array | None:
        """Return the stiffness of a piece, kept whole or not, or None."""
        whole = self._kept.get(key)
        return self._stiffness.get(key) if whole is None else whole.stiffness

    def put_stiffness(self, key: str, stiffness: Array) -> None:
        """Keep a piece's stiffness, (m, m), without what is inside it."""
        self._stiffness[key] = stiffness


@dataclass(frozen=True, eq=False)
class Metal:
    """A patch of a mesh with its condensed metal.

    Attributes
    ----------
    patch : where it sits; freedoms : (m,), of the mesh
    stiffness : (m, m), in the order of `freedoms`
    order, sign : (m,), positions and signs that bring `freedoms` to the canonical order
    store : where its canonical form is kept
    known : that form, if it is at hand
    """

    patch: Patch
    freedoms: NDArray[np.intp]
    stiffness: Array
    order: NDArray[np.intp]
    sign: Array
    store: Store
    known: Kept | None = None

    @cached_property
    def kept(self) -> Kept:
        """The canonical form, condensed now if only its stiffness was wanted so far."""
        return self.known or _whole(self.patch, self.order, self.sign, self.store)

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
        known = _whole(patch, order, sign, store) if store.whole else None
        K = _stiffness(patch, order, sign, store) if known is None else known.stiffness
        back = np.argsort(order)
        K = K[np.ix_(back, back)] * np.outer(sign, sign)
        out.append(Metal(patch, patch.freedoms, K, order, sign, store, known))
    return tuple(out)


def _whole(patch: Patch, order: NDArray[np.intp], sign: Array, store: Store) -> Kept:
    kept = store.get(patch.canon.key)
    if kept is None or len(kept.stiffness) != len(order):
        kept = _canonical(patch, order, sign)
        store.put(patch.canon.key, kept)
    return kept


def _stiffness(patch: Patch, order: NDArray[np.intp], sign: Array, store: Store) -> Array:
    """Return the canonical stiffness alone."""
    K = store.get_stiffness(patch.canon.key)
    if K is None or len(K) != len(order):
        K = (stiffness_alone(patch.sheet()) * np.outer(sign, sign))[np.ix_(order, order)]
        store.put_stiffness(patch.canon.key, K)
    return K


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
    own, quads = np.unique(sheet.quads[of], return_inverse=True)
    K = _scatter(shell.stiffness(sheet.shells.part(of)), quads.reshape(-1, 4), 6 * len(own))
    motion = recover[(6 * own[:, None] + np.arange(6)).ravel()]
    return np.asarray(motion.T @ (K @ motion))


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


@dataclass(frozen=True, eq=False)
class _Split:
    """A sheet's stiffness by freedoms inside and at cuts, and what the seats make of both.

    Attributes
    ----------
    inner, outer : of the independent freedoms
    K_ii, K_io, K_oo : stiffness inside, across, and at the cuts
    S_i, S_o : motions of the seats; rows : the same, from all freedoms
    ground : (6 n_seats,), N/mm and N mm, springs under the seats where nothing else holds
    """

    links: Links
    inner: NDArray[np.intp]
    outer: NDArray[np.intp]
    K_ii: sp.csr_array
    K_io: Array
    K_oo: Array
    S_i: sp.csc_array
    S_o: Array
    rows: sp.csr_array
    ground: Array


def _split(sheet: Sheet) -> _Split:
    links, K = tied(sheet)
    n_cut = 7 * len(sheet.cuts)
    is_cut = links.independent >= sheet.n_freedoms - n_cut
    inner, outer = np.flatnonzero(~is_cut), np.flatnonzero(is_cut)
    rows = sparse_rows(stack_rows(list(sheet.seats.values())), sheet.n_freedoms)
    S = sp.csc_array(rows @ links.matrix)
    ground = np.zeros(0 if n_cut else rows.shape[0])
    if len(ground):  # metal without a cut floats: its seats stand on springs meanwhile
        ground[:] = np.tile([GROUND] * 3 + [GROUND * _span(sheet) ** 2] * 3, len(ground) // 6)
        K = sp.csr_array(K + S.T @ (S * ground[:, None]))
    by_column = sp.csc_array(K)
    return _Split(
        links=links,
        inner=inner,
        outer=outer,
        K_ii=sp.csr_array(by_column[:, inner][inner]),
        K_io=by_column[:, outer][inner].toarray(),
        K_oo=by_column[:, outer][outer].toarray(),
        S_i=S[:, inner],
        S_o=S[:, outer].toarray(),
        rows=rows,
        ground=ground,
    )


def condense(sheet: Sheet) -> tuple[Array, Array]:
    """Return the condensed stiffness (m, m) and all motions from the kept ones (n, m).

    First seven rows per cut, then six per seat, in the sheet's order.

    Raises
    ------
    SolveError
        If part of the metal hangs on nothing.
    """
    split = _split(sheet)
    n_cut = split.K_io.shape[1]
    try:
        factor = factorise(split.K_ii)
    except NotDefiniteError:
        raise _hangs(sheet) from None
    solved = factor.solve(np.hstack([-split.K_io, split.S_i.T.toarray()]))
    X, FS = solved[:, :n_cut], solved[:, n_cut:]
    D = split.S_i @ X + split.S_o
    K, to_seat = _kept(split, split.K_oo + split.K_io.T @ X, D, split.S_i @ FS)
    from_kept = np.zeros((len(split.links.independent), len(K)))
    from_kept[split.inner, :n_cut] = X
    from_kept[split.outer, np.arange(n_cut)] = 1.0
    from_kept[split.inner] += FS @ to_seat
    return balanced(K, _rigid(sheet, split.rows)), np.asarray(split.links.matrix @ from_kept)


def stiffness_alone(sheet: Sheet) -> Array:
    """Return the condensed stiffness (m, m) that `condense` finds, in half the time.

    Raises
    ------
    SolveError
        If part of the metal hangs on nothing.
    """
    split = _split(sheet)
    n_cut = split.K_io.shape[1]
    right = sp.csc_array(sp.hstack([sp.csc_array(-split.K_io), split.S_i.T]))
    try:
        G = compliance(split.K_ii, right)
    except NotDefiniteError:
        raise _hangs(sheet) from None
    D = G[n_cut:, :n_cut] + split.S_o
    K, _ = _kept(split, split.K_oo - G[:n_cut, :n_cut], D, G[n_cut:, n_cut:])
    return balanced(K, _rigid(sheet, split.rows))


def _kept(split: _Split, K_cut: Array, D: Array, C: Array) -> tuple[Array, Array]:
    """Return the stiffness of cuts and seats, and the seats' forces from their motions.

    Parameters
    ----------
    K_cut : (n_cut, n_cut), of the cuts with the seats left free
    D : (n_seat, n_cut), what the cuts' motions make the seats do; C : the seats' flexibility
    """
    n_cut, m = len(K_cut), len(K_cut) + len(D)
    whole = np.zeros((m, m))
    whole[:n_cut, :n_cut] = K_cut
    to_seat = np.asarray(np.linalg.inv(C) @ np.hstack([-D, np.eye(len(D))]), dtype=np.float64)
    whole[:n_cut] -= D.T @ to_seat
    whole[n_cut:] = to_seat
    whole[n_cut:, n_cut:] -= np.diag(split.ground) if len(split.ground) else 0.0
    return whole, to_seat


def _hangs(sheet: Sheet) -> SolveError:
    names = ", ".join(dict.fromkeys(sheet.members))
    rule = "part of the sheet metal of a joint hangs on nothing"
    return SolveError(Complaint(rule, where=names))


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
