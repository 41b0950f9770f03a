"""Makers of midlines from the outer dimensions that a tape or a caliper reads.

Every wall is drawn at mid-thickness with sharp corners, so a midline dimension is the outer
one less half a wall at each end.  `corner`, where a shape has it, rounds its bends: the outside
radius, mm, as everything else is measured over the outside.  All shapes are made in one position
and turned later:

- shapes with a web (channel, lipped, boxed, capped, angle, Z, I): web on the z axis (y = 0),
  middle of its depth at the origin, open side toward +y;
- box, tube, two channels toe to toe: origin at the centre; a hat: on its axis of symmetry at
  mid-depth, open downward; plate and flat bar: origin at the centre.

The held wall, by which other members hold this one, is the web.  A box has no web: there it
is the side wall at -y, so that on a rail, whose open side faces inboard, the held wall is the
outboard one for an open, a boxed and a closed length of the same rail alike.

Walls are named as the section stands: "web", "top flange", "left side"; a mirrored or turned
section has the words changed with it.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from fea.errors import Complaint, ModelError
from fea.section.corners import chain, mid_radius
from fea.section.corners import midline as _midline
from fea.section.midline import Midline

# Enough sides that J of the polygon is within 0.1 % of the circle's.
TUBE_SIDES = 120

_CHANNEL = ("bottom flange", "web", "top flange")
_SIDES = {"left": "right", "right": "left"}
_OVER = {"top": "bottom", "bottom": "top"}
_QUARTER = {"right": "top", "top": "left", "left": "bottom", "bottom": "right"}


def channel(*, depth: float, flange: float, wall: float, corner: float | None = None) -> Midline:
    """Return a channel: web upright, flanges toward +y."""
    _check_wall(wall, depth=depth, flange=flange, halves=("depth",))
    radius = mid_radius(corner, wall, {"depth": depth / 2, "flange": flange})
    y, z = flange - wall / 2, (depth - wall) / 2
    corners = [(y, -z), (0, -z), (0, z), (y, z)]
    walls = [(name, wall) for name in _CHANNEL]
    return chain(corners, walls, held=1, radius=radius, rounded=(1, 2))


def lipped_channel(
    *, depth: float, flange: float, lip: float, wall: float, corner: float | None = None
) -> Midline:
    """Return a channel whose flanges end in lips turned toward each other.

    `lip` is measured over the outside, from the flange's outer face to the lip's edge.
    """
    _check_wall(wall, depth=depth, flange=flange, lip=lip, halves=("depth", "flange"))
    _check_fit("two lips", 2 * lip, "depth", depth)
    room = {"depth": depth / 2, "flange": flange / 2, "lip": lip}
    radius = mid_radius(corner, wall, room)
    y, z, tip = flange - wall, (depth - wall) / 2, depth / 2 - lip
    corners = [(y, -tip), (y, -z), (0, -z), (0, z), (y, z), (y, tip)]
    walls = [(name, wall) for name in ("bottom lip", *_CHANNEL, "top lip")]
    return chain(corners, walls, held=2, radius=radius, rounded=(1, 2, 3, 4))


def boxed_channel(
    *, depth: float, flange: float, wall: float, plate: float, corner: float | None = None
) -> Midline:
    """Return a channel closed by a flush plate between its flange tips.

    The plate stands on the line of the flange tips and is `depth` less one wall high.
    """
    _check_wall(wall, depth=depth, flange=flange, halves=("depth",))
    _check_wall(plate, name="plate", flange=flange, halves=())
    radius = mid_radius(corner, wall, {"depth": depth / 2, "flange": flange})
    y, z = flange - wall / 2, (depth - wall) / 2
    corners = [(y, -z), (0, -z), (0, z), (y, z)]
    walls = [(name, wall) for name in _CHANNEL] + [("plate", plate)]
    return chain(corners, walls, held=1, radius=radius, rounded=(1, 2))


def capped_channel(
    *, depth: float, flange: float, wall: float, plate: float, plate_depth: float | None = None
) -> Midline:
    """Return a channel with a plate laid over its flange tips.

    The plate's `plate_depth` is that of the channel unless given.  The flanges are drawn
    on to the plate's middle, half a plate more metal than there is.
    """
    _check_wall(wall, depth=depth, flange=flange, halves=("depth",))
    _check_wall(plate, name="plate", flange=flange, halves=())
    height = depth if plate_depth is None else plate_depth
    y, z, over = flange + (plate - wall) / 2, (depth - wall) / 2, height / 2
    if over < z:
        rule = "a cap plate must reach over both flanges"
        do = f"give a plate depth of at least {depth - wall:g} mm, or box the channel instead"
        raise ModelError(Complaint(rule, found=f"{height:g} mm", do=do))
    corners = [(y, -z), (0, -z), (0, z), (y, z)]
    walls = [(0, 1), (1, 2), (2, 3), (3, 0)]
    thickness = [wall, wall, wall, plate]
    names = [*_CHANNEL, "plate"]
    if over > z:
        corners += [(y, -over), (y, over)]
        walls += [(4, 0), (3, 5)]
        thickness += [plate, plate]
        names += ["plate", "plate"]
    return _midline(corners, walls, thickness, held=1, names=names)


def toe_to_toe(*, depth: float, flange: float, wall: float, corner: float | None = None) -> Midline:
    """Return two equal channels welded flange tip to flange tip; `flange` is each one's."""
    _check_wall(wall, depth=depth, flange=flange, halves=("depth",))
    mid_radius(corner, wall, {"depth": depth / 2, "flange": flange})
    return box(depth=depth, width=2 * flange, wall=wall, corner=corner)


def box(*, depth: float, width: float, wall: float, corner: float | None = None) -> Midline:
    """Return a rectangular tube; the held wall is the side at -y."""
    _check_wall(wall, depth=depth, width=width, halves=("depth", "width"))
    radius = mid_radius(corner, wall, {"depth": depth / 2, "width": width / 2})
    y, z = (width - wall) / 2, (depth - wall) / 2
    corners = [(y, -z), (-y, -z), (-y, z), (y, z)]
    walls = [(name, wall) for name in ("bottom", "left side", "top", "right side")]
    return chain(corners, walls, held=1, radius=radius, rounded=range(4))


def tube(*, diameter: float, wall: float) -> Midline:
    """Return a round tube as a regular polygon of `TUBE_SIDES` sides.

    Radius and wall of the polygon are such that its area 2 pi r t and its second moment
    pi r^3 t are exactly those of the thin circle of mean radius r.
    """
    _check_wall(wall, diameter=diameter, halves=("diameter",))
    radius, half = (diameter - wall) / 2, math.pi / TUBE_SIDES
    # Polar moment of a side a from the centre and 2 s long: 2 s (a^2 + s^2/3) t.
    corner = radius / math.sqrt(math.cos(half) ** 2 + math.sin(half) ** 2 / 3)
    thickness = wall * math.pi * radius / (TUBE_SIDES * corner * math.sin(half))
    # Corners half a side off the axes, so that a flat faces each way; the held one at -y.
    angle = math.pi + half * (2 * np.arange(TUBE_SIDES) - 1)
    corners = corner * np.column_stack((np.cos(angle), np.sin(angle)))
    return chain(corners.tolist(), [("wall", thickness)] * TUBE_SIDES, held=0)


def hat(*, depth: float, width: float, lip: float, wall: float) -> Midline:
    """Return a hat, open downward: top, two sides and a lip outward at the foot of each.

    `width` is over the sides; `lip` is measured underneath, from a side's inner face to
    the lip's edge.  The held wall is the top.
    """
    _check_wall(wall, depth=depth, width=width, lip=lip, halves=("depth", "width"))
    y, z = (width - wall) / 2, (depth - wall) / 2
    edge = y - wall / 2 + lip
    corners = [(-edge, -z), (-y, -z), (-y, z), (y, z), (y, -z), (edge, -z)]
    names = ("left lip", "left side", "top", "right side", "right lip")
    return chain(corners, [(name, wall) for name in names], held=2)


def angle(*, depth: float, flange: float, wall: float) -> Midline:
    """Return an angle: one leg upright on the z axis, the other at its foot toward +y."""
    _check_wall(wall, depth=depth, flange=flange, halves=())
    foot = (wall - depth) / 2
    corners = [(0, depth / 2), (0, foot), (flange - wall / 2, foot)]
    return chain(corners, [("web", wall), ("bottom flange", wall)], held=0)


def zed(*, depth: float, flange: float, wall: float) -> Midline:
    """Return a Z: web upright, lower flange toward +y, upper flange toward -y."""
    _check_wall(wall, depth=depth, flange=flange, halves=("depth",))
    y, z = flange - wall / 2, (depth - wall) / 2
    corners = [(y, -z), (0, -z), (0, z), (-y, z)]
    return chain(corners, [(name, wall) for name in _CHANNEL], held=1)


def i_section(
    *, depth: float, flange: float, wall: float, flange_wall: float | None = None
) -> Midline:
    """Return an I: web upright in the middle; `flange` is the whole flange width."""
    edge = wall if flange_wall is None else flange_wall
    _check_wall(wall, flange=flange, halves=("flange",))
    _check_wall(edge, name="flange wall", depth=depth, halves=("depth",))
    y, z = flange / 2, (depth - edge) / 2
    corners = [(0, -z), (0, z), (-y, -z), (y, -z), (-y, z), (y, z)]
    walls = [(0, 1), (2, 0), (0, 3), (4, 1), (1, 5)]
    names = ("web", "bottom flange", "bottom flange", "top flange", "top flange")
    return _midline(corners, walls, [wall, edge, edge, edge, edge], held=0, names=names)


def plate(*, depth: float, wall: float) -> Midline:
    """Return an upright flat plate."""
    _check_wall(wall, depth=depth, halves=())
    return chain([(0, -depth / 2), (0, depth / 2)], [("wall", wall)], held=0)


def flat(*, depth: float, width: float) -> Midline:
    """Return a solid rectangular bar as one thick wall along its longer side."""
    for name, value in (("depth", depth), ("width", width)):
        _check_positive(name, value)
    if depth >= width:
        return chain([(0, -depth / 2), (0, depth / 2)], [("wall", width)], held=0)
    return chain([(-width / 2, 0), (width / 2, 0)], [("wall", depth)], held=0)


def free(
    corners: Mapping[str, tuple[float, float]],
    walls: Sequence[tuple[str, str, float]],
    *,
    held: int = 0,
    names: Sequence[str] = (),
) -> Midline:
    """Return a midline of the user's own.

    Parameters
    ----------
    corners : mapping of name to (y, z), mm
    walls : sequence of (corner, corner, thickness in mm)
    held : int
        Number of the wall by which other members hold this one.
    names : sequence of str
        One per wall; "a to b" for a wall from corner a to corner b if left out.
    """
    number = {name: k for k, name in enumerate(corners)}
    pairs, used = [], set()
    for start, end, thickness in walls:
        _check_positive("thickness", thickness)
        for name in (start, end):
            if name not in number:
                rule = "a wall must run between two named corners"
                do = "the corners are " + ", ".join(f'"{corner}"' for corner in corners)
                raise ModelError(Complaint(rule, found=f'"{name}"', do=do))
        if math.dist(corners[start], corners[end]) < 1e-6:
            rule = "a wall must have a length greater than 0 mm"
            raise ModelError(Complaint(rule, found=f'from "{start}" to "{end}"'))
        pairs.append((number[start], number[end]))
        used |= {start, end}
    loose = [name for name in corners if name not in used]
    if loose:
        raise ModelError(Complaint("every corner must belong to a wall", found=f'"{loose[0]}"'))
    called = names or [f"{start} to {end}" for start, end, _ in walls]
    thick = [wall[2] for wall in walls]
    midline = _midline(list(corners.values()), pairs, thick, held=held, names=called)
    if _pieces(midline) > 1:
        raise ModelError(Complaint("the walls of a section must all hang together"))
    return midline


def turn(midline: Midline, quarters: int) -> Midline:
    """Return the section turned by quarter turns from y to z: one takes +y to +z."""
    c, s = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarters % 4]
    turned = midline.points @ np.array([[c, s], [-s, c]], dtype=np.float64)
    # Adding 0 makes -0 into 0: equal sections keep equal fingerprints.
    names = midline.names
    for _ in range(quarters % 4):
        names = _reworded(names, _QUARTER)
    return replace(midline, points=turned + 0.0, names=names)


def mirror(midline: Midline, *, axis: str = "y") -> Midline:
    """Return the section with the sign of one coordinate changed, ``"y"`` or ``"z"``."""
    sign = np.array([-1.0, 1.0] if axis == "y" else [1.0, -1.0])
    names = _reworded(midline.names, _SIDES if axis == "y" else _OVER)
    return replace(midline, points=midline.points * sign + 0.0, names=names)


def _reworded(names: tuple[str, ...], words: Mapping[str, str]) -> tuple[str, ...]:
    """Return the names with their words of direction changed."""
    return tuple(" ".join(words.get(word, word) for word in name.split(" ")) for name in names)


def extent(midline: Midline) -> tuple[float, float]:
    """Return outer depth (along z) and width (along y), mm, walls with their thickness."""
    a, b = midline.points[midline.walls[:, 0]], midline.points[midline.walls[:, 1]]
    along = (b - a) / np.linalg.norm(b - a, axis=1)[:, None]
    across = np.column_stack((-along[:, 1], along[:, 0])) * midline.thickness[:, None] / 2
    faces = np.concatenate((a + across, a - across, b + across, b - across))
    width, depth = faces.max(axis=0) - faces.min(axis=0)
    return float(depth), float(width)


def is_open(midline: Midline) -> bool:
    """Return whether the walls enclose no cell: as many walls as a tree has branches."""
    return len(midline.walls) == len(midline.points) - _pieces(midline)


def area(midline: Midline) -> float:
    """Return the metal's area as length times thickness of all walls, mm2."""
    step = midline.points[midline.walls[:, 1]] - midline.points[midline.walls[:, 0]]
    return float(np.linalg.norm(step, axis=1) @ midline.thickness)


def _pieces(midline: Midline) -> int:
    """Count the parts of the midline that do not touch each other."""
    group = list(range(len(midline.points)))
    for a, b in midline.walls.tolist():
        old, new = group[b], group[a]
        group = [new if g == old else g for g in group]
    return len(set(group))


def _check_positive(name: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0.0):
        rule = f"{name} must be greater than 0 mm"
        raise ModelError(Complaint(rule, found=f"{value:g} mm", do="give it as measured"))


def _check_wall(wall: float, *, name: str = "wall", halves: Sequence[str], **outer: float) -> None:
    """Refuse a wall too thick for an outer dimension; two walls stand across `halves`."""
    _check_positive(name, wall)
    for key, value in outer.items():
        _check_positive(key, value)
        most = value / 2 if key in halves else value
        if wall >= most:
            part = "half the " if key in halves else "the "
            raise ModelError(
                Complaint(
                    f"{name} must be thinner than {part}{key}, {most:g} mm",
                    found=f"{wall:g} mm",
                    do="give wall and outer dimensions as measured",
                )
            )


def _check_fit(what: str, size: float, where: str, room: float) -> None:
    if size > room:
        rule = f"{what} must fit into the {where} of {room:g} mm"
        raise ModelError(Complaint(rule, found=f"{size:g} mm"))


MAKERS: Mapping[str, Callable[..., Midline]] = {
    "channel": channel,
    "lipped channel": lipped_channel,
    "boxed channel": boxed_channel,
    "capped channel": capped_channel,
    "toe to toe": toe_to_toe,
    "box": box,
    "tube": tube,
    "hat": hat,
    "angle": angle,
    "Z": zed,
    "I": i_section,
    "plate": plate,
    "flat": flat,
}
"""The maker of every shape by its name in a document; its arguments are the outer dimensions."""
