"""From a validated case document to a `Case`."""

from pathlib import PurePath
from typing import TYPE_CHECKING

from fea.frame.case import Case, Hold, Place, Push, Spread, Weight

if TYPE_CHECKING:
    from fea.document.schema_case import (
        CaseDocument,
        ForceEntry,
        HoldEntry,
        PushEntry,
        SpreadForceEntry,
    )


def build_case(document: "CaseDocument") -> Case:
    """Return the load case of a document; it is named after its file."""
    return Case(
        name=PurePath(document.origin.file).stem or document.title,
        title=document.title,
        about=document.about,
        measure=document.measure,
        holds=tuple(Hold(_place(h), h.motion, h.value) for h in document.hold),
        pushes=tuple(
            Push(_place(p), _force(p.force) if p.force else (0.0, 0.0, 0.0), p.couple)
            for p in document.push
        ),
        spreads=tuple(Spread(s.start, s.end, _force(s.force), s.side) for s in document.spread),
        weight=None
        if document.weight is None
        else Weight(document.weight.factor, document.weight.masses, document.weight.laden),
        source=document.source,
    )


def _place(entry: "HoldEntry | PushEntry") -> Place:
    return Place(entry.axle, entry.station, entry.wheelbase, entry.point, entry.mount, entry.side)


def _force(entry: "ForceEntry | SpreadForceEntry") -> tuple[float, float, float]:
    return entry.station, entry.offset, entry.height
