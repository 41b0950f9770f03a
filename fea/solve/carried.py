"""The masses of a document as lumps on the mesh.

On the frame: a point at its own place that follows the rails beside it, as their mean motion
would carry it; its height and offset therefore turn it.  Spread over stations: on the rails'
nodes there.  Through mounts: shared over them, upright forces and centre as for its weight
but no share below zero; on the body's points where a body stands there, else on the frame's.
The shares follow the mounts' movements, and hang together by the turn that fits these best,
so that total mass and centre are exact, and no rubber is asked to hold a turn.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.model import Frame, Mass
from fea.frame.spots import carriers, mass_places
from fea.mesh.mesh import Index, Mesh, Rows, arm_rows, stack_rows
from fea.solve.inertia import Lump

Array = NDArray[np.float64]

THIN = 0.02
"""Mounts that spread less than this across their line do not tell a turn about it."""


def lumps(frame: Frame, mesh: Mesh, *, laden: bool = False) -> tuple[Lump, ...]:
    """Return the document's masses, unsprung ones left out, on a mesh with nodes for them."""
    found: list[Lump] = []
    for mass in frame.masses:
        if mass.carrier == "unsprung" or (mass.laden and not laden):
            continue
        if mass.carrier == "mounts":
            found += _on_mounts(frame, mesh, mass)
        elif mass.spread is not None:
            found += _spread(frame, mesh, mass, mass.spread)
        else:
            found.append(_on_rails(frame, mesh, mass))
    return tuple(found)


def _on_rails(frame: Frame, mesh: Mesh, mass: Mass) -> Lump:
    at = np.array(mass.position)
    nodes = np.array([mesh.node_at(*place) for place in mass_places(frame, mass)], dtype=np.intp)
    share = _mean(mesh.points[nodes, 1], float(at[1]))
    return Lump(mass.name, mass.mass, _combined(arm_rows(nodes, at - mesh.points[nodes]), share))


def _mean(offsets: Array, at: float) -> Array:
    """Return shares of one that centre on an offset, as near to equal as can be."""
    middle = offsets - offsets.mean()
    size = float(middle @ middle)
    slope = (at - offsets.mean()) / size if size > 1.0 else 0.0
    return np.asarray(1.0 / len(offsets) + slope * middle)


def _combined(rows: Rows, share: Array) -> Rows:
    """Return three rows: the movements of some arms' ends, weighed and added."""
    moves = rows.row % 6 < 3
    factor = share[rows.row[moves] // 6]
    return Rows(rows.row[moves] % 6, rows.freedom[moves], factor * rows.coefficient[moves], 3)


def _spread(frame: Frame, mesh: Mesh, mass: Mass, span: tuple[float, float]) -> list[Lump]:
    found = []
    sides = [name for name, _ in mass_places(frame, mass)]
    middle = [mesh.points[mesh.node_at(*p), 1] for p in mass_places(frame, mass)]
    for name, share in zip(sides, _mean(np.array(middle), mass.position[1]), strict=True):
        member = frame.member(name)
        low, high = np.clip(span, member.path[0, 0], member.path[-1, 0])
        ends = [path.distance_at_station(member.path, float(x)) for x in (low, high)]
        distance, nodes = mesh.nodes_of[name]
        inside = (distance >= ends[0] - 1.0) & (distance <= ends[1] + 1.0)
        at, on = distance[inside], nodes[inside]
        part = np.zeros(len(at))
        part[:-1] += 0.5 * np.diff(at)
        part[1:] += 0.5 * np.diff(at)
        for node, weight in zip(on, part / part.sum(), strict=True):
            rows = arm_rows(np.array([node], dtype=np.intp), np.zeros((1, 3)))
            found.append(Lump(mass.name, mass.mass * share * weight, _combined(rows, np.ones(1))))
    return found


def _on_mounts(frame: Frame, mesh: Mesh, mass: Mass) -> list[Lump]:
    mounts = carriers(frame, mass)
    on_body = {label: node for b in mesh.bodies for label, node in b.node_of.items()}
    nodes, points = [], []
    for m in mounts:
        node = on_body.get(("mount", m.name, m.side))
        nodes.append(mesh.node_at(m.onto, m.distance) if node is None else node)
        points.append(m.position)
    where, number = np.array(points), np.array(nodes, dtype=np.intp)
    share = shares(where[:, :2], np.array(mass.position[:2]))
    beyond = np.array(mass.position) - share @ where
    moves = arm_rows(number, where - mesh.points[number])
    turned = _swing(where, moves, number, beyond)
    found = []
    for k in np.flatnonzero(share > 0.0):
        own = _combined(moves, np.arange(len(number)) == k)
        rows = stack_rows([own, turned])
        found.append(
            Lump(
                mass.name,
                float(mass.mass * share[k]),
                Rows(rows.row % 3, rows.freedom, rows.coefficient, 3),
            )
        )
    return found


def shares(points: Array, at: Array) -> Array:
    """Return the shares, none below zero, that sum to one and come nearest to centring.

    Parameters
    ----------
    points : (n, 2), mm; at : (2,), mm

    Returns
    -------
    array (n,); of all such shares the smallest in the mean square
    """
    from scipy.optimize import nnls

    size = max(1.0, float(np.max(np.abs(points - at))))
    firm = 1e4  # against the wish for small shares, which only chooses among equals
    rows = np.vstack([firm * ((points - at) / size).T, 1e2 * firm * np.ones(len(points))])
    wish = np.concatenate([np.zeros(2), [1e2 * firm]])
    found, _ = nnls(np.vstack([rows, np.eye(len(points))]), np.append(wish, np.zeros(len(points))))
    return np.asarray(found / found.sum())


def _swing(points: Array, moves: Rows, nodes: Index, beyond: Array) -> Rows:
    """Return three rows: the mounts' turn as one, crossed with where the mass lies beyond."""
    arm = points - points.mean(axis=0)
    cross = np.zeros((3 * len(points), 3))  # movement of every mount by a turn about x, y, z
    for k, turn in enumerate(np.eye(3)):
        cross[:, k] = np.cross(turn, arm).ravel()
    spread = np.sort(np.linalg.svd(arm, compute_uv=False))
    if len(points) >= 3 and spread[-2] > THIN * spread[-1]:
        fit = np.linalg.pinv(cross)  # (3, 3k): the turn from the movements
        column = 3 * (moves.row // 6) + moves.row % 6
        mine = moves.row % 6 < 3
        turn_of = fit[:, column[mine]]
        freedom, value = moves.freedom[mine], moves.coefficient[mine]
    else:  # in line: the nodes' own turns tell it
        mine = moves.row % 6 >= 3
        turn_of = np.eye(3)[:, moves.row[mine] % 6 - 3] / len(nodes)
        freedom, value = moves.freedom[mine], moves.coefficient[mine]
    swing = np.stack([np.cross(turn, beyond) for turn in np.eye(3)], axis=1)  # (3, 3)
    coefficient = swing @ (turn_of * value)
    row = np.repeat(np.arange(3), len(freedom))
    return Rows(row.astype(np.intp), np.tile(freedom, 3), coefficient.ravel(), 3)


def total(found: Sequence[Lump]) -> float:
    """Return the mass of some lumps, tonne."""
    return float(sum(lump.mass for lump in found))
