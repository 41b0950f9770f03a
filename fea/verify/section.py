"""The section of a validation case: from numbers, a shape's dimensions, or its walls."""

import inspect
from dataclasses import replace

import numpy as np

from fea.document.spelling import choices
from fea.document.validation import SectionEntry
from fea.errors import Complaint, DocumentError, ModelError
from fea.section import shapes
from fea.section.midline import Midline
from fea.section.properties import SectionProperties, properties


def section_properties(entry: SectionEntry, where: str) -> SectionProperties:
    """Return the properties of a case's section.

    Parameters
    ----------
    where : str
        File and table, for messages.

    Raises
    ------
    DocumentError
        If the shape is unknown, or its dimensions are not those of the shape.
    """
    if entry.A is not None:
        return _from_numbers(entry)
    try:
        found = properties(_midline(entry, where))
    except ModelError as error:
        told = [replace(c, where=where) for c in error.complaints]
        raise DocumentError(*told) from None
    return replace(found, shear=np.zeros((2, 2))) if entry.rigid_in_shear else found


def _midline(entry: SectionEntry, where: str) -> Midline:
    if entry.corners is not None:
        walls = np.array(entry.walls)
        return Midline(np.array(entry.corners), walls[:, :2].astype(np.intp), walls[:, 2])
    shape = entry.shape or ""
    maker = shapes.MAKERS.get(shape)
    if maker is None:
        rule = "shape must be one that is known"
        raise DocumentError(Complaint(rule, where, f'"{shape}"', choices(shapes.MAKERS, shape)))
    wanted = inspect.signature(maker).parameters
    needed = {name for name, p in wanted.items() if p.default is p.empty}
    if not needed <= set(entry.dimensions) <= set(wanted):
        rule = f"a {shape} has other dimensions"
        do = "give " + ", ".join(wanted)
        raise DocumentError(Complaint(rule, where, ", ".join(entry.dimensions), do))
    return maker(**entry.dimensions)


def _from_numbers(entry: SectionEntry) -> SectionProperties:
    """Return properties without walls: there are no points to recover stress at."""
    none = np.zeros(0)
    one = {name: getattr(entry, name) or 0.0 for name in ("A", "I1", "I2", "J")}
    areas = (entry.shear_area_y or np.inf, entry.shear_area_z or np.inf)
    return SectionProperties(
        **one,
        centroid=np.array(entry.centroid),
        shear_centre=np.array(entry.shear_centre),
        Iy=one["I1"],
        Iz=one["I2"],
        Iyz=0.0,
        angle=0.0,
        J_cells=0.0,
        Cw=entry.Cw,
        shear=np.diag(1.0 / np.array(areas)),
        point_y=none,
        point_z=none,
        omega=none,
        flow_y=none,
        flow_z=none,
        flow_w=none,
        flow_t=none,
        point_t=none,
        point_s=none,
        held=np.zeros(3),
    )
