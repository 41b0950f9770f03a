"""What a validation case may hold: a small model with known answers, and their source.

Numbers are plain, in one consistent system of units per case (`units`), so that a published
example keeps the figures it was printed with.  One class per kind of case: a structure of
bars, the properties of one section, the stiffness of one element; a whole frame document under
a load case is in :mod:`fea.document.validation_frame`, welds and bolts are in
:mod:`fea.document.validation_fastening`.
"""

import tomllib
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import Field, ValidationError, model_validator

from fea.document.complain import complain
from fea.document.entry import Entry, key
from fea.document.origin import Origin
from fea.document.quantity import Number, refuse
from fea.document.read import read_text
from fea.document.spelling import choices
from fea.document.validation_entry import ExpectEntry, Positive, Told
from fea.document.validation_fastening import BoltCheck, WeldCheck
from fea.document.validation_frame import FrameCheck
from fea.errors import Complaint, DocumentError

Freedom = Literal["ux", "uy", "uz", "rx", "ry", "rz", "warp"]
Vector = Annotated[list[Number], Field(min_length=3, max_length=3)]
Pair = Annotated[list[Number], Field(min_length=2, max_length=2)]
Units = Literal["mm N", "cm N", "m N", "m kN", "in kip", "in lbf", "none"]


class _Document(Told):
    """A small model of plain numbers."""

    units: Units = key("The consistent system of units of all numbers in the case.")


class SectionEntry(Entry):
    """A section: by its numbers, by a shape's outer dimensions, or by corners and walls."""

    A: Positive | None = key("Area.", default=None)
    I1: Positive | None = key("Second moment about y, resists bending in x-z.", default=None)
    I2: Positive | None = key("Second moment about z, resists bending in x-y.", default=None)
    J: Positive | None = key("Saint-Venant torsion constant.", default=None)
    Cw: Number = key("Warping constant.", default=0.0)
    shear_area_y: Positive | None = key("Rigid in shear if left out.", default=None)
    shear_area_z: Positive | None = key("Rigid in shear if left out.", default=None)
    centroid: Pair = key("From the bar's line.", default=[0.0, 0.0])
    shear_centre: Pair = key("From the bar's line.", default=[0.0, 0.0])
    shape: str | None = key("Name of a shape's maker.", default=None)
    dimensions: dict[str, Number] = key("The shape's outer dimensions.", default={})
    corners: list[Pair] | None = key("Corners, y and z.", default=None)
    walls: list[Vector] = key("From corner, to corner (counted from 0), thickness.", default=[])
    rigid_in_shear: bool = key("Leave out shear deformation.", default=False)

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        numbers = (self.A, self.I1, self.I2, self.J)
        ways = [all(n is not None for n in numbers), self.shape is not None, bool(self.corners)]
        if sum(ways) != 1 or (not ways[0] and any(n is not None for n in numbers)):
            raise refuse(
                "a section is given in one way", do="A, I1, I2, J; or shape; or corners and walls"
            )
        if self.corners is not None:
            self._check_walls(len(self.corners))
        return self

    def _check_walls(self, n: int) -> None:
        for a, b, t in self.walls:
            if not (a.is_integer() and b.is_integer() and 0 <= a < n and 0 <= b < n and t > 0):
                raise refuse(
                    "a wall is two corner numbers and a thickness", do=f"corners are 0 to {n - 1}"
                )
        if not self.walls:
            raise refuse("corners need walls", do="add walls")


class MaterialEntry(Entry):
    """Elastic constants."""

    E: Positive = key("Modulus of elasticity.")
    G: Positive = key("Shear modulus.")
    density: Positive | None = key("Mass per volume; needed to read a frequency.", default=None)


class BarEntry(Entry):
    """A straight bar between two nodes, or an arc of straight pieces if it has a centre."""

    name: str = key("Name of the bar.")
    start: str = key("Node where it starts.", alias="from")
    end: str = key("Node where it ends.", alias="to")
    section: str = key("Name of its section.")
    up: Vector = key("The section's z leans to this.", default=[0.0, 0.0, 1.0])
    segments: Annotated[int, Field(ge=1, le=1000)] = key("Elements along it.", default=1)
    turn: Number = key("Roll of the section about the bar, y to z, rad.", default=0.0)
    twist: Number = key("Further roll from start to end, rad.", default=0.0)
    arm_start: Vector = key("From the node to the bar's own start.", default=[0.0, 0.0, 0.0])
    arm_end: Vector = key("From the node to the bar's own end.", default=[0.0, 0.0, 0.0])
    centre: Vector | None = key("Centre of an arc of less than half a turn.", default=None)


class LinkEntry(Entry):
    """Motions of one node that follow another rigidly."""

    start: str = key("Node that leads.", alias="from")
    end: str = key("Node that follows.", alias="to")
    freedoms: list[Freedom] = key(
        "Motions that follow.", default=["ux", "uy", "uz", "rx", "ry", "rz"]
    )


class SpringEntry(Entry):
    """A spring between two nodes, or from a node to the ground."""

    name: str = key("Name of the spring.")
    node: str = key("Node.")
    other: str | None = key("The other node; the ground if left out.", default=None)
    freedom: Freedom = key("Direction.")
    stiffness: Positive = key("Stiffness.")


class BedEntry(Entry):
    """Springs to the ground at all nodes along a bar."""

    bar: str = key("Name of the bar.")
    freedom: Freedom = key("Direction.")
    stiffness: Positive = key("Stiffness per length.")


class HoldEntry(Entry):
    """Motions of nodes that are held or imposed."""

    nodes: list[str] = key("Nodes.", min_length=1)
    freedoms: list[Freedom] = key(
        "Motions; all seven if left out.", default=["ux", "uy", "uz", "rx", "ry", "rz", "warp"]
    )
    value: Number = key("Imposed motion.", default=0.0)


class LoadEntry(Entry):
    """Forces on a node."""

    node: str = key("Node.")
    force: Vector = key("Force.", default=[0.0, 0.0, 0.0])
    moment: Vector = key("Moment.", default=[0.0, 0.0, 0.0])
    bimoment: Number = key("Bimoment.", default=0.0)


class MassEntry(Entry):
    """A lump on a node, for frequencies."""

    node: str = key("Node.")
    mass: Positive = key("Mass.")
    arm: Vector = key("From the node to the lump, rigid.", default=[0.0, 0.0, 0.0])
    turn: Vector = key("Its own moments of inertia about x, y, z.", default=[0.0, 0.0, 0.0])


class SpreadEntry(Entry):
    """An even load along a bar."""

    bar: str = key("Name of the bar.")
    force: Vector = key("Force per length, along the global axes.")
    point: Pair = key(
        "Where in the section, principal axes from the bar's line.", default=[0.0, 0.0]
    )


MotionWord = Literal["ux", "uy", "uz", "rx", "ry", "rz", "warp", "move", "turn"]
ForceWord = Literal["Fx", "Fy", "Fz", "Mx", "My", "Mz"]
SectionForceWord = Literal["N", "Vy", "Vz", "T", "T_uniform", "T_warping", "M1", "M2", "B"]
StressWord = Literal["normal", "shear", "von_mises"]
WholeWord = Literal["energy", "frequency", "buckling"]
StructureWord = (
    MotionWord | ForceWord | SectionForceWord | StressWord | Literal["force"] | WholeWord
)
_WHOLE = ("energy", "frequency", "buckling")


class StructureExpectEntry(ExpectEntry):
    """An answer of a structure."""

    read: StructureWord = key(
        "At a node: a motion (move and turn need along), or the force or B of its holds. In a"
        " bar: a section force or stress at a place, or what the node puts on its end (Fx to"
        " Mz). In a spring: force. Of the whole: energy; frequency of a mode, rigid ones not"
        " counted; buckling, the factor on the loads."
    )
    number: Annotated[int, Field(ge=1, le=100)] | None = key(
        "Which frequency or buckling factor, lowest first.", default=None
    )
    node: str | None = key("Node that is read.", default=None)
    less: str | None = key("Node whose motion is taken off.", default=None)
    bar: str | None = key("Bar that is read.", default=None)
    spring: str | None = key("Spring that is read.", default=None)
    along: Vector | None = key("Direction of move or turn.", default=None)
    at: Number = key("Place along the bar, 0 to 1.", default=0.0)
    corner: Pair | None = key("Corner of the section, y and z, for a stress.", default=None)

    @model_validator(mode="after")
    def _place(self) -> Self:
        given = [name for name in ("node", "bar", "spring") if getattr(self, name) is not None]
        if len(given) != (0 if self.read in _WHOLE else 1):
            raise refuse("an answer is read at one node, in one bar or in one spring")
        if (self.read in ("frequency", "buckling")) != (self.number is not None):
            raise refuse("number goes with frequency and buckling, and with nothing else")
        if (self.read in ("move", "turn")) != (self.along is not None):
            raise refuse("along goes with move and turn, and with nothing else")
        if (self.read in ("normal", "shear", "von_mises")) != (self.corner is not None):
            raise refuse("corner goes with a stress, and with nothing else")
        if not 0.0 <= self.at <= 1.0:
            raise refuse("at must be from 0 to 1")
        return self


class StructureDocument(_Document):
    """Bars between nodes, held and loaded."""

    kind: Literal["structure"] = key("Bars between nodes.")
    material: MaterialEntry = key("Of all bars.")
    section: dict[str, SectionEntry] = key("Sections by name.")
    node: dict[str, Vector] = key("Nodes by name.")
    bar: list[BarEntry] = key("Bars.", min_length=1)
    link: list[LinkEntry] = key("Rigid links.", default=[])
    spring: list[SpringEntry] = key("Springs.", default=[])
    bed: list[BedEntry] = key("Springs along bars.", default=[])
    hold: list[HoldEntry] = key(
        "What is held; may be left out if only frequencies are read.", default=[]
    )
    mass: list[MassEntry] = key("Lumps on nodes.", default=[])
    rotary: bool = key(
        "Count the inertia of cross-sections that turn and warp in frequencies.", default=True
    )
    load: list[LoadEntry] = key("Loads on nodes.", default=[])
    spread: list[SpreadEntry] = key("Loads along bars.", default=[])
    expect: list[StructureExpectEntry] = key("Known answers.", min_length=1)

    @model_validator(mode="after")
    def _enough(self) -> Self:
        reads = {entry.read for entry in self.expect}
        if not self.hold and reads != {"frequency"}:
            raise refuse("a structure that is loaded must be held", do="add hold")
        if "frequency" in reads and self.material.density is None:
            raise refuse("a frequency needs the density of the material", do="add density")
        return self


class SectionExpectEntry(ExpectEntry):
    """An answer of a section."""

    read: Literal[
        "A", "centroid_y", "centroid_z", "shear_centre_y", "shear_centre_z", "Iy", "Iz", "Iyz",
        "I1", "I2", "angle", "J", "J_cells", "Cw", "shear_area_y", "shear_area_z", "shear_yz",
        "omega", "flow_t", "arm_y", "arm_z",
    ] = key(
        "What is read; omega at a corner, flow_t in a wall; arm_y and arm_z are the shear "
        "centre from the centroid."
    )  # fmt: skip
    corner: Pair | None = key("Corner, y and z, for omega.", default=None)
    wall: Annotated[int, Field(ge=0)] | None = key(
        "Wall, counted from 0, for flow_t.", default=None
    )

    @model_validator(mode="after")
    def _place(self) -> Self:
        if (self.read == "omega") != (self.corner is not None):
            raise refuse("corner goes with omega, and with nothing else")
        if (self.read == "flow_t") != (self.wall is not None):
            raise refuse("wall goes with flow_t, and with nothing else")
        return self


class SectionDocument(_Document):
    """The properties of one section."""

    kind: Literal["section"] = key("One section.")
    section: SectionEntry = key("The section.")
    expect: list[SectionExpectEntry] = key("Known answers.", min_length=1)


class ElementExpectEntry(ExpectEntry):
    """An entry of an element's stiffness."""

    row: str = key("Freedom and end, such as rx1.", pattern="^(u[xyz]|r[xyz]|warp)[12]$")
    column: str = key("Freedom and end, such as warp2.", pattern="^(u[xyz]|r[xyz]|warp)[12]$")


class ElementDocument(_Document):
    """The stiffness of one element along x, z up."""

    kind: Literal["element"] = key("One element.")
    material: MaterialEntry = key("Of the element.")
    section: SectionEntry = key("Of the element.")
    length: Positive = key("Of the element.")
    expect: list[ElementExpectEntry] = key("Known answers.", min_length=1)


Validation = (
    StructureDocument | SectionDocument | ElementDocument | FrameCheck | WeldCheck | BoltCheck
)

_KINDS: dict[str, type[Validation]] = {
    "structure": StructureDocument,
    "section": SectionDocument,
    "element": ElementDocument,
    "frame": FrameCheck,
    "weld": WeldCheck,
    "bolts": BoltCheck,
}


def read_validation(path: Path) -> Validation:
    """Return the validation case in a file.

    Raises
    ------
    DocumentError
        If the file cannot be read, or with every key and value in it that is wrong.
    """
    text = read_text(path)
    try:
        data: dict[str, Any] = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        rule = "this file is not valid TOML"
        raise DocumentError(Complaint(rule, str(path), str(error))) from None
    origin = Origin(str(path), text, data)
    kind = data.get("kind")
    model = _KINDS.get(kind) if isinstance(kind, str) else None
    if model is None:
        rule = "kind must be one of the words"
        found = "" if kind is None else f'"{kind}"'
        raise DocumentError(
            Complaint(rule, origin.where(("kind",)), found, choices(_KINDS, str(kind)))
        )
    try:
        document = model.model_validate(data)
    except ValidationError as error:
        raise DocumentError(*complain(model, error.errors(include_url=False), origin)) from None
    document.set_origin(origin)
    _check_names(document, origin)
    return document


def _check_names(document: Validation, origin: Origin) -> None:
    """Refuse two answers of one name: their rows could not be told apart."""
    names = [entry.name for entry in document.expect]
    complaints = [
        Complaint("every answer needs a name of its own", origin.where(("expect", k, "name")), name)
        for k, name in enumerate(names)
        if name in names[:k]
    ]
    if complaints:
        raise DocumentError(*complaints)
