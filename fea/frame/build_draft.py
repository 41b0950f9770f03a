"""What all of the building shares: materials and sections by name, and the complaints."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from fea.document.spelling import choices
from fea.errors import Complaint, ModelError
from fea.frame.model import Material, Section
from fea.frame.path import cross
from fea.section import shapes
from fea.section.holes import Hole, pierced
from fea.section.midline import Midline
from fea.section.seam import Stitch, stitched
from fea.section.wear import Wear, walls_called, words, worn

if TYPE_CHECKING:
    from fea.document.schema import FrameDocument

Array = NDArray[np.float64]
Loc = tuple[str | int, ...]

UP = np.array([0.0, 0.0, 1.0])

#: What the wall that boxes a channel is called.
PLATE = "plate"

# No side of these is the open one: `opens` may swap right and left, to bring the held wall
# to its side, but does not lay the section over.
_NOT_TURNED = frozenset({"box", "tube", "toe to toe", "I", "plate", "flat"})

_DIRECTIONS: Mapping[str, tuple[float, float, float]] = {
    "front": (-1.0, 0.0, 0.0),
    "rear": (1.0, 0.0, 0.0),
    "left": (0.0, -1.0, 0.0),
    "right": (0.0, 1.0, 0.0),
    "down": (0.0, 0.0, -1.0),
    "up": (0.0, 0.0, 1.0),
}


@dataclass(frozen=True)
class Work:
    """What was done to a section on one length of a member.

    `plate` is the thickness of a boxing plate, mm, and `stitch` how it is welded.
    """

    plate: float | None = None
    stitch: Stitch | None = None
    wears: tuple[Wear, ...] = ()
    holes: tuple[Hole, ...] = ()

    def words(self, name: str) -> str:
        """Return the name of a section with its plate."""
        return name if self.plate is None else f"{name} boxed"

    def at(self, midline: Midline) -> "Work":
        """Return the work without what was said of a plate that is not there."""
        if walls_called(midline, PLATE).any():
            return self
        wears = [
            replace(wear, walls=tuple(name for name in wear.walls if name != PLATE))
            for wear in self.wears
            if wear.walls != (PLATE,)
        ]
        holes = tuple(hole for hole in self.holes if hole.wall != PLATE)
        return replace(self, wears=tuple(wears), holes=holes)


@dataclass(frozen=True)
class Draft:
    """A frame in the making."""

    document: "FrameDocument"
    materials: Mapping[str, Material]
    complaints: list[Complaint] = field(default_factory=list)
    _made: dict[str, Midline | None] = field(default_factory=dict)
    _placed: dict[tuple[Any, ...], Section] = field(default_factory=dict)

    def complain(self, rule: str, loc: Loc, *, found: str | None = None, do: str = "") -> None:
        """Keep a complaint about what stands at `loc` in the document.

        Unless `found` says otherwise, what was found is what the user wrote there.
        """
        origin = self.document.origin
        found = origin.written(loc) if found is None else found
        self.complaints.append(Complaint(rule, origin.where(loc), found, do))

    def material(self, name: str | None, loc: Loc) -> Material:
        """Return a material by name, the first one if there is no name."""
        first = next(iter(self.materials.values()))
        if name is not None and name not in self.materials:
            do = choices(self.materials, name)
            self.complain(f'there is no material "{name}"', (*loc, "material"), do=do)
        return first if name is None else self.materials.get(name, first)

    def has_section(self, name: str, loc: Loc) -> bool:
        """Return whether a section is there, with a complaint if not."""
        if name in self.document.section:
            return self._midline(name) is not None
        do = choices(self.document.section, name)
        self.complain(f'there is no section "{name}"', (*loc, "section"), do=do)
        return False

    def can_box(self, name: str, plate: float, loc: Loc) -> bool:
        """Return whether a plate goes on a channel section, with a complaint if not."""
        return self._midline(name, plate, (*loc, "plate")) is not None

    def check_sections(self) -> None:
        """Make every section once, so that also an unused one is complained of."""
        for name in self.document.section:
            self._midline(name)

    def shape(self, name: str) -> str:
        """Return the trade's name of a section's shape."""
        return self.document.section[name].shape

    def section(
        self, name: str, axes: Array, opens: str | None, *, work: Work | None = None
    ) -> Section:
        """Return a section turned so that its open side faces where it should.

        Parameters
        ----------
        name : str
            A section that `has_section` found good.
        axes : array, shape (2, 3)
            The member's y and z axes in vehicle axes.
        opens : str or None
            front, rear, left, right, up or down; as made if None.
        work : Work, optional
            A boxing plate on a channel, wear, holes.

        Raises
        ------
        ModelError
            If wear or holes leave nothing of a wall; a plate has been checked before.
        """
        work = work or Work()
        quarter = None if opens is None else _facing(axes, _DIRECTIONS[opens])
        key = (name, quarter, work)
        if key not in self._placed:
            midline = self._midline(name, work.plate)
            if midline is None:
                raise KeyError(name)
            shape = self.shape(name)
            if quarter is not None:
                turned = _face(midline, shape, quarter)
                # Names of the user's own do not follow the section round.
                midline = replace(turned, names=midline.names) if shape == "free" else turned
            new = _section(work.words(name), midline, self._diameter(name))
            self._placed[key] = _marred(new, work.at(midline))
        return self._placed[key]

    def mirrored(self, section: Section) -> Section:
        """Return the section of the member on the other side."""
        key = ("mirrored", id(section))
        if key not in self._placed:
            self._placed[key] = replace(
                section,
                midline=shapes.mirror(section.midline),
                nominal=None if section.nominal is None else self.mirrored(section.nominal),
            )
        return self._placed[key]

    def _key(self, name: str, rule: str) -> Loc:
        """Return the place of the key that a maker's rule is about: "lip must be ..."."""
        key = rule.partition(" must ")[0].replace(" ", "_")
        known = key in type(self.document.section[name]).model_fields
        return ("section", name, key) if known else ("section", name)

    def _diameter(self, name: str) -> float | None:
        entry = self.document.section[name]
        return entry.diameter if entry.shape == "tube" else None

    def _midline(
        self, name: str, plate: float | None = None, loc: Loc | None = None
    ) -> Midline | None:
        """Return a section as its maker leaves it, None after a complaint."""
        key = name if plate is None else f"{name}+{plate!r}"
        if key not in self._made:
            try:
                self._made[key] = _make(self.document.section[name], plate)
            except ModelError as error:
                self._made[key] = None
                for c in error.complaints:
                    where = self.document.origin.where(loc or self._key(name, c.rule))
                    self.complaints.append(Complaint(c.rule, where, c.found, c.do))
        return self._made[key]


def materials(document: "FrameDocument") -> Mapping[str, Material]:
    """Return the document's materials by name."""
    return {
        name: Material(name, m.E, m.nu, m.density, m.yield_stress)
        for name, m in document.material.items()
    }


def member_axes(path: Array) -> tuple[Array, Array]:
    """Return a member's `up` and its y and z axes, shapes (3,) and (2, 3).

    Up is the vehicle's, but for a member that stands upright: there its z axis leans
    to the front.
    """
    x = path[1] - path[0]
    x = x / np.linalg.norm(x)
    up = UP if abs(x[2]) < 0.98 else np.array([-1.0, 0.0, 0.0])
    y = cross(up, x)
    y /= np.linalg.norm(y)
    return up, np.array([y, cross(x, y)])


def _section(name: str, midline: Midline, diameter: float | None) -> Section:
    depth, width = shapes.extent(midline) if diameter is None else (diameter, diameter)
    return Section(name, midline, depth, width, shapes.is_open(midline))


def _marred(new: Section, work: Work) -> Section:
    """Return a section with wear, stitched seams and holes in it; the same if there are none."""
    spared = () if work.plate is None else (PLATE,)
    text = [new.name]
    midline = worn(new.midline, work.wears, spared=spared)
    text.append(words(new.midline, midline, spared=spared))
    if work.stitch is not None and work.stitch.weld < work.stitch.pitch:
        midline = stitched(midline, work.stitch, PLATE)
        text.append(f"stitched {work.stitch.weld:g}/{work.stitch.pitch:g}")
    for hole in work.holes:
        midline = pierced(midline, hole)
    text.append("holed " + ", ".join(hole.words() for hole in work.holes) if work.holes else "")
    name = " ".join(word for word in text if word)
    return new if name == new.name else replace(new, name=name, midline=midline, nominal=new)


def _facing(axes: Array, direction: tuple[float, float, float]) -> int:
    """Return which of +y, +z, -y, -z (0 to 3) is nearest to a direction."""
    y, z = axes @ np.array(direction)
    return int(np.argmax((y, z, -y, -z)))


def _face(midline: Midline, shape: str, quarter: int) -> Midline:
    """Turn a section's open side to `quarter`; to the opposite one by mirroring."""
    made = 3 if shape == "hat" else 0
    turn = (quarter - made) % 4
    if turn == 2:
        return shapes.mirror(midline, axis="z" if shape == "hat" else "y")
    if turn and shape not in _NOT_TURNED:
        return shapes.turn(midline, turn)
    return midline


def _make(entry: Any, plate: float | None) -> Midline:  # noqa: ANN401 - one of many classes
    """Make a section's midline from its table in the document."""
    if entry.shape == "free":
        held = [k for k, wall in enumerate(entry.walls) if wall.held]
        midline = shapes.free(
            {name: (y, z) for name, (y, z) in entry.corners.items()},
            [(wall.start, wall.end, wall.thickness) for wall in entry.walls],
            held=held[0] if held else 0,
            names=[wall.name or f"{wall.start} to {wall.end}" for wall in entry.walls],
        )
    else:
        sizes = entry.model_dump(exclude={"shape", "about", "upside_down"})
        if plate is not None:
            midline = shapes.boxed_channel(**sizes, plate=plate)
        else:
            midline = shapes.MAKERS[entry.shape](**sizes)
    return shapes.mirror(midline, axis="z") if entry.upside_down else midline
