"""Gussets, bulkheads and bolts, drawn with the walls that carry them along."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import cross_matrix
from fea.frame import path
from fea.frame.model import Joint
from fea.mesh.bolts import Pattern, has_pattern, pattern
from fea.mesh.bulkhead import corner_points
from fea.mesh.gusset import triangles
from fea.out.scene import Walls
from fea.result.answer import Answer
from fea.result.shape import Surface
from fea.units import show_sheet

Array = NDArray[np.float64]
Index = NDArray[np.intp]

HEAD_WIDTH, HEAD_HEIGHT = 1.6, 0.65
"""A bolt's head across its flats and its height, over the bolt's diameter."""

NEAREST = 24
"""Points of a wall that say how what stands on it moves."""


@dataclass(frozen=True, eq=False)
class _Piece:
    """A plate or a bolt's head to be drawn with the walls: it moves with them, unstressed."""

    points: Array
    movement: Array
    quads: Index
    member: int
    words: str


def with_fittings(walls: Walls, answer: Answer, skin: Surface) -> Walls:
    """Return walls with gussets, bulkheads and bolts; only their movement has a value there."""
    pieces = [*_gussets(answer, skin), *_bulkheads(answer, skin), *_bolts(answer, skin)]
    if not pieces:
        return walls
    count = [len(p.points) for p in pieces]
    offset = len(walls.points) + np.cumsum([0, *count[:-1]])
    movement = np.concatenate([p.movement for p in pieces])
    length = np.linalg.norm(movement, axis=1)
    fields = tuple(
        replace(f, values=np.append(f.values, length if f.unit == "mm" else 0.0 * length + np.nan))
        for f in walls.fields
    )
    return replace(
        walls,
        points=np.concatenate([walls.points, *(p.points for p in pieces)]),
        movement=np.concatenate([walls.movement, movement]),
        quads=np.concatenate(
            [walls.quads, *(p.quads + o for p, o in zip(pieces, offset, strict=True))]
        ),
        member=np.concatenate([walls.member, *(np.full(len(p.quads), p.member) for p in pieces)]),
        sections=(*walls.sections, *(p.words for p in pieces for _ in p.quads)),
        fields=fields,
    )


def _follow(skin: Surface, member: int, at: Array, points: Array) -> Array:
    """Return the movement of points (k, 3) that a member's walls near a place carry along.

    It is the rigid motion nearest to that of the `NEAREST` points of the walls.
    """
    own = np.unique(skin.quads[skin.member == member])
    near = own[np.argsort(np.linalg.norm(skin.points[own] - at, axis=1))[:NEAREST]]
    rows = np.concatenate([_rigid(r) for r in skin.points[near] - at])
    motion = np.linalg.lstsq(rows, skin.movement[near].ravel(), rcond=1e-9)[0]
    return np.array([_rigid(r) @ motion for r in points - at])


def _rigid(arm: Array) -> Array:
    """Return the movement of a point on an arm by three movements and three turns, (3, 6)."""
    return np.hstack([np.eye(3), -cross_matrix(arm)])


def _is_metal(answer: Answer, joint: Joint) -> bool:
    """Whether a joint is taken as sheet metal, its gussets drawn with it."""
    whole = float(path.lengths(answer.frame.member(joint.member).path)[-1])
    for piece in answer.solution.metal:
        lengths = piece.patch.lengths
        ends = {(le.member, "start") for le in lengths if le.start == 0.0}
        ends |= {(le.member, "end") for le in lengths if le.end == whole}
        if (joint.member, joint.end) in ends and joint.onto in {le.member for le in lengths}:
            return True
    return False


def _gussets(answer: Answer, skin: Surface) -> list[_Piece]:
    """Return the gussets of joints that are beams, each corner moving with what it stands on."""
    number = answer.solution.mesh.members.index
    out = []
    for joint in answer.frame.joints:
        gusset = joint.gusset
        if gusset is None or _is_metal(answer, joint):
            continue
        member, onto = number(joint.member), number(joint.onto)
        for plate in triangles(answer.frame, joint, gusset.legs):
            stands_on = zip((onto, onto, member), plate.corners, strict=True)
            corners = np.concatenate([_follow(skin, m, at, at[None]) for m, at in stands_on])
            movement = plate.shares @ corners
            words = f"gusset, {gusset.legs:g} mm legs, {show_sheet(gusset.wall)}"
            out.append(_Piece(plate.points, movement, plate.quads, member, words))
    return out


def _bulkheads(answer: Answer, skin: Surface) -> list[_Piece]:
    """Return the bulkheads of rails that are beams there, moving with the walls around."""
    number = answer.solution.mesh.members.index
    out = []
    for one in answer.frame.bulkheads:
        lengths = [le for piece in answer.solution.metal for le in piece.patch.lengths]
        if any(le.member == one.member and le.start <= one.distance <= le.end for le in lengths):
            continue  # drawn with the sheet metal
        points = corner_points(answer.frame.member(one.member), one)
        member = number(one.member)
        movement = _follow(skin, member, points.mean(axis=0), points)
        quads = np.array([[0, 1, 2, 3]], dtype=np.intp)
        out.append(_Piece(points, movement, quads, member, f"bulkhead, {show_sheet(one.wall)}"))
    return out


def _bolts(answer: Answer, skin: Surface) -> list[_Piece]:
    """Return head and nut of every bolt whose place is known, moving with the wall."""
    out = []
    for joint in answer.frame.joints:
        if not has_pattern(joint):
            continue
        bolts = pattern(answer.frame, joint)
        member = answer.solution.mesh.members.index(joint.member)
        onto = answer.solution.mesh.members.index(joint.onto)
        quads, words = _prism(), f"{bolts.bolts.count} bolts M{bolts.bolts.diameter:g}"
        for at in bolts.points:
            for face in (1.0, -1.0):
                points = at + _head(bolts, face)
                out.append(_Piece(points, _follow(skin, onto, at, points), quads, member, words))
    return out


def _head(bolts: Pattern, face: float) -> Array:
    """Return a bolt's head about its place, foot then top of six corners, (12, 3), mm."""
    angle = np.pi / 3.0 * np.arange(6)
    d = bolts.bolts.diameter
    radius = 0.5 * HEAD_WIDTH * d / np.cos(np.pi / 6.0)
    foot = radius * np.stack([np.cos(angle), np.sin(angle)], axis=1) @ bolts.axes[:2]
    high = 0.5 * (bolts.thickness + bolts.bolts.wall) + HEAD_HEIGHT * d
    return np.concatenate([foot, foot + face * high * bolts.axes[2]])


def _prism() -> Index:
    """Return the quadrilaterals of a head: six sides, two for the top, (8, 4)."""
    k = np.arange(6)
    sides = np.stack([k, (k + 1) % 6, (k + 1) % 6 + 6, k + 6], axis=1)
    return np.concatenate([sides, [[6, 7, 8, 9], [9, 10, 11, 6]]]).astype(np.intp)
