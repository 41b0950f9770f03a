"""A body's stiffness between the points where mounts and ties hold it, to measured figures.

The grillage is condensed to those points.  Two figures of the body alone scale it.  The
twist of a body that is its own mirror image is antisymmetric about y = 0 and its bending
symmetric, and such motions do no work on each other: with P the projectors on both kinds,
``K = a Pa K Pa + s Ps K Ps`` has the twist stiffness a times, the bending stiffness s
times as large, rigid motions still cost nothing, and nothing becomes negative.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import cross_matrix
from fea.errors import Complaint, ModelError
from fea.frame.body import Body, BodyFigure, Tie
from fea.mesh.body import N_FREEDOMS, NEAR, BodyMesh, Label, beam_gap, body_mesh, place
from fea.solve.grillage import condense_body, rigid
from fea.solve.rigid import balanced

Array = NDArray[np.float64]
Index = NDArray[np.intp]

MIRROR = np.array([1.0, -1.0, 1.0, -1.0, 1.0, -1.0])
"""Signs of a point's freedoms when y is turned round."""

SAME_POINT = 1e-3
"""How far, mm, a point may lie from the mirror image of another and count as it."""

SAME_STIFFNESS = 1e-8
"""Likewise for stiffnesses, of the diagonal; condensing leaves 1e-12 or so."""


@dataclass(frozen=True, eq=False)
class BodyStiffness:
    """A body between its kept points.

    Attributes
    ----------
    name : the body's
    points : (m, 3), mm
    labels : m, what takes hold there: ("mount", name, side), ("tie", pair, side) or
        ("bending", number) of a loaded point of the bending figure
    stiffness : (6m, 6m), ux uy uz rx ry rz of each point
    factors : what the antisymmetric and the symmetric part were scaled by
    places : every label -> its row in `points`, and the rigid arm, mm, from there to its
        own point; zero unless several labels share a point, which then bears the first
    """

    name: str
    points: Array
    labels: tuple[Label, ...]
    stiffness: Array
    factors: tuple[float, float]
    places: dict[Label, tuple[int, Array]]

    def point(self, label: Label) -> Array:
        """Return where a label takes hold, (3,), mm."""
        row, arm = self.places[label]
        return np.asarray(self.points[row] + arm)


def body_stiffness(
    body: Body,
    ties: Sequence[Tie],
    more: Mapping[Label, tuple[float, float, float]] | None = None,
) -> BodyStiffness:
    """Return a body's stiffness between its mount points and its ties, to its figures.

    Ties to other bodies are passed over.  With one figure the whole stiffness is scaled by
    one factor; with both the body must be its own mirror image.

    Parameters
    ----------
    more : other points to keep, mm

    Raises
    ------
    ModelError
        If a point lies beside every beam, a figure names what the body has not, or a body
        with two figures is not its own mirror image.
    SolveError
        If the body falls into pieces or can move within itself.
    """
    extra: dict[Label, tuple[float, float, float]] = {}
    for k, point in enumerate(body.bending.at if body.bending else (), start=1):
        extra["bending", str(k)] = point
    extra |= {("tie", t.pair, t.side): t.body_point for t in ties if t.body == body.name}
    extra |= more or {}
    both = body.twist is not None and body.bending is not None
    if not body.points and not extra:
        raise ModelError(Complaint("a body needs a mount or a tie", where=f"body {body.name}"))
    images = _images(body, extra) if both else {}
    plain = condensed(body_mesh(body, extra | images))
    if body.twist is not None and body.bending is not None:
        scaled = _scaled_apart(plain, body.twist, body.bending)
        return _without(scaled, len(images)) if images else scaled
    factor = 1.0
    if body.twist is not None:
        factor = body.twist.stiffness / alone_twist(plain, body.twist)
    elif body.bending is not None:
        factor = body.bending.stiffness / alone_bending(plain, body.bending)
    return replace(plain, stiffness=factor * plain.stiffness, factors=(factor, factor))


def condensed(mesh: BodyMesh) -> BodyStiffness:
    """Return a body as its beams and panels alone make it; labels on one node share a point."""
    nodes, first, row = np.unique(mesh.label_nodes, return_index=True, return_inverse=True)
    order = np.argsort(first)  # rows in the order of the labels
    first, row = first[order], np.argsort(order)[row]
    points = mesh.label_points[first]
    return BodyStiffness(
        name=mesh.name,
        points=points,
        labels=tuple(mesh.labels[k] for k in first),
        stiffness=condense_body(mesh, nodes[order], points),
        factors=(1.0, 1.0),
        places={
            label: (int(r), p - points[r])
            for label, r, p in zip(mesh.labels, row, mesh.label_points, strict=True)
        },
    )


# ---- The figures of the body alone -----------------------------------------------------


def alone_twist(body: BodyStiffness, figure: BodyFigure) -> float:
    """Return the twist stiffness of a body alone on its mounts, N mm/rad.

    As :class:`~fea.frame.body.BodyFigure` has it: equal and opposite vertical forces at the
    front pair, the rear pair held upright, the mean of the front pair held up; the rest
    statically determinate and without force.
    """
    (right, left, front_wide), (back_right, back_left, rear_wide) = _pairs(body, figure)
    front, rear = (right - left) / front_wide, (back_right - back_left) / rear_wide
    held = np.array([back_right, back_left, right + left])
    motion = _alone(body, held, front)
    return 1.0 / float((front - rear) @ motion)


def alone_bending(body: BodyStiffness, figure: BodyFigure) -> float:
    """Return the bending stiffness of a body alone on its mounts, N/mm.

    Both pairs are held upright, the load stands in equal shares at the figure's points.
    """
    if not figure.at:
        raise ModelError(
            Complaint(
                "a bending stiffness needs the points where the load stands",
                where=f"body {body.name}, bending stiffness",
            )
        )
    pairs = _pairs(body, figure)
    held = np.array([row for pair in pairs for row in pair[:2]])
    labels = [("bending", str(k)) for k in range(1, len(figure.at) + 1)]
    at_pairs = {body.places["mount", name, side][0]
                for name in figure.between for side in ("right", "left")}  # fmt: skip
    if all(body.places[label][0] in at_pairs for label in labels):
        raise ModelError(
            Complaint(
                "the loaded points of a bending stiffness must lie away from the held mounts",
                where=f"body {body.name}, bending stiffness",
                found="; ".join(place(np.array(p)) for p in figure.at),
            )
        )
    load = np.mean([_vertical(body, label) for label in labels], axis=0)
    return 1.0 / float(load @ _alone(body, held, load))


def _vertical(body: BodyStiffness, label: Label) -> Array:
    """Return the row, (6m,), of a labelled point's vertical movement."""
    row, arm = body.places[label]
    out = np.zeros(len(body.stiffness))
    out[N_FREEDOMS * row + np.array([2, 3, 4])] = [1.0, arm[1], -arm[0]]
    return out


def _pairs(body: BodyStiffness, figure: BodyFigure) -> list[tuple[Array, Array, float]]:
    """Return the vertical movements, right and left, and the distance of both pairs."""
    out, wrong = [], []
    where = f"body {body.name}, {'bending' if figure.at else 'twist'} stiffness"
    for name in figure.between:
        right, left = ("mount", name, "right"), ("mount", name, "left")
        if right not in body.places or left not in body.places:
            have = [label[1] for label in body.places if label[0] == "mount"]
            paired = [n for n in dict.fromkeys(have) if have.count(n) == 2]
            wrong.append(
                Complaint(
                    "a stiffness of a body is between two pairs of its mounts, right and left",
                    where=where,
                    found=name,
                    do=f"one of {', '.join(paired)}" if paired else "give the body pairs of mounts",
                )
            )
            continue
        wide = float(body.point(right)[1] - body.point(left)[1])
        out.append((_vertical(body, right), _vertical(body, left), wide))
    if len(set(figure.between)) < 2:
        rule = "a stiffness of a body is between two different pairs of mounts"
        wrong.append(Complaint(rule, where=where, found=figure.between[0]))
    if wrong:
        raise ModelError(*wrong)
    return out


def _alone(body: BodyStiffness, held: Array, load: Array) -> Array:
    """Return the motion, (6m,), of a body under vertical loads with vertical rows held.

    Its plan motions, which such loads leave alone, are held against the mean.  With C all
    held rows, ``C u = 0`` makes ``K u = (K + C'C) u``, which is definite; the reactions
    follow from C u = 0.
    """
    diagonal = np.diagonal(body.stiffness)
    scale = 1.0 / np.sqrt(np.where(diagonal > 0.0, diagonal, 1.0))
    plan = rigid(body.points)[:, [0, 1, 5]] / scale[:, None]
    C = np.concatenate([held * scale, np.linalg.qr(plan)[0].T])
    C /= np.linalg.norm(C, axis=1)[:, None]
    A = body.stiffness * np.outer(scale, scale) + C.T @ C
    solved = np.linalg.solve(A, np.column_stack([scale * load, C.T]))
    free, by_reaction = solved[:, 0], solved[:, 1:]
    reaction = np.linalg.solve(C @ by_reaction, -C @ free)
    return np.asarray(scale * (free + by_reaction @ reaction))


# ---- Mirror images ---------------------------------------------------------------------


def _images(
    body: Body, extra: dict[Label, tuple[float, float, float]]
) -> dict[Label, tuple[float, float, float]]:
    """Return the mirror images that are not among the body's points yet."""
    held: dict[Label, tuple[float, float, float]]
    held = {("mount", *k): p for k, p in body.points.items()} | extra
    points = np.array(list(held.values()))
    images: dict[Label, tuple[float, float, float]] = {}
    for label, (x, y, z) in held.items():
        image = (x, -y, z)
        if np.min(np.linalg.norm(points - image, axis=1)) > SAME_POINT:
            if beam_gap(body, image) > NEAR:
                raise _lopsided(body.name, f"no beam at {place(np.array(image))}")
            images["image", *label] = image
    return images


def _lopsided(name: str, found: str) -> ModelError:
    return ModelError(
        Complaint(
            "a body with both a twist and a bending stiffness must be its own mirror image",
            where=f"body {name}",
            found=found,
            do="make its two sides alike, or give one of the two figures",
        )
    )


def _reflection(body: BodyStiffness) -> Array:
    """Return M, (6m, 6m), that brings motions to their mirror image."""
    gaps = np.linalg.norm(body.points[:, None] - body.points[None] * MIRROR[:3], axis=2)
    partner = np.argmin(gaps, axis=1)
    alone = np.flatnonzero(gaps[np.arange(len(gaps)), partner] > SAME_POINT)
    if len(alone):
        raise _lopsided(body.name, f"only one side has {' '.join(body.labels[int(alone[0])])}")
    M = np.zeros((len(gaps), N_FREEDOMS, len(gaps), N_FREEDOMS))
    M[np.arange(len(gaps)), :, partner] = np.diag(MIRROR)
    return M.reshape(body.stiffness.shape)


def _scaled_apart(plain: BodyStiffness, twist: BodyFigure, bending: BodyFigure) -> BodyStiffness:
    """Return the stiffness with its antisymmetric and symmetric parts to both figures."""
    M = _reflection(plain)
    K = plain.stiffness
    for figure in (twist, bending):
        labels: list[Label] = [("mount", name, side) for name in figure.between
                               for side in ("right", "left")]  # fmt: skip
        _pairs(plain, figure)  # that they are there
        labels += [("bending", str(k)) for k in range(1, len(figure.at) + 1)]
        for group in (labels[:2], labels[2:4], labels[4:]):
            total = sum((_vertical(plain, label) for label in group), np.zeros(len(K)))
            if np.max(np.abs(M @ total - total), initial=0.0) > SAME_POINT:
                raise _lopsided(plain.name, " ".join(group[0]))
    scale = np.sqrt(np.diagonal(K))
    unlike = np.abs(M @ K @ M.T - K) / np.outer(scale, scale)
    if float(unlike.max()) > SAME_STIFFNESS:
        worst = int(np.argmax(unlike.max(axis=1))) // N_FREEDOMS
        label = " ".join(plain.labels[worst])
        raise _lopsided(plain.name, f"its two sides differ in stiffness, most at {label}")
    even, odd = 0.5 * (np.eye(len(K)) + M), 0.5 * (np.eye(len(K)) - M)
    symmetric, antisymmetric = even @ K @ even, odd @ K @ odd
    plain = replace(plain, stiffness=symmetric + antisymmetric)
    a = twist.stiffness / alone_twist(plain, twist)
    s = bending.stiffness / alone_bending(plain, bending)
    scaled = balanced(a * antisymmetric + s * symmetric, rigid(plain.points))
    return replace(plain, stiffness=scaled, factors=(a, s))


def _without(body: BodyStiffness, n_images: int) -> BodyStiffness:
    """Return a body without its last labels: nothing takes hold of the images."""
    labels = list(body.places)[: len(body.places) - n_images]
    places = {label: body.places[label] for label in labels}
    m = 1 + max(row for row, _ in places.values())  # rows are in the order of labels
    cut = N_FREEDOMS * m
    K = body.stiffness
    rest = K[:cut, :cut] - K[:cut, cut:] @ np.linalg.solve(K[cut:, cut:], K[cut:, :cut])
    points = body.points[:m]
    return replace(
        body,
        points=points,
        labels=body.labels[:m],
        stiffness=balanced(rest, rigid(points)),
        places=places,
    )


def between(body: BodyStiffness, labels: Sequence[Label]) -> Array:
    """Return a body's stiffness between the own points of some labels, (6k, 6k).

    No two of the labels may share a point; the body's other points move freely.
    """
    rows = [body.places[label][0] for label in labels]
    others = [r for r in range(len(body.points)) if r not in rows]
    order = (6 * np.array([*rows, *others])[:, None] + np.arange(6)).ravel()
    K, n = body.stiffness[np.ix_(order, order)], 6 * len(rows)
    kept = K[:n, :n]
    if others:
        kept = kept - K[:n, n:] @ np.linalg.solve(K[n:, n:], K[n:, :n])
    arms = np.zeros((n, n))
    for k, label in enumerate(labels):
        arms[6 * k : 6 * k + 6, 6 * k : 6 * k + 6] = np.eye(6)
        # The kept point stands at -arm from the label's own: turn x -arm = arm x turn.
        arms[6 * k : 6 * k + 3, 6 * k + 3 : 6 * k + 6] = cross_matrix(body.places[label][1])
    kept = arms.T @ kept @ arms
    return np.asarray(0.5 * (kept + kept.T))
