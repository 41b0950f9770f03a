"""From a validated case document to a `Case`."""

from pathlib import PurePath
from typing import TYPE_CHECKING

from fea.frame.case import Case, Hold, Place, Push, Read, Spread, Weight

if TYPE_CHECKING:
    from fea.document.schema_case import (
        ArmEntry,
        CaseDocument,
        ForceEntry,
        HoldEntry,
        MomentEntry,
        PushEntry,
        ReadEntry,
        SpreadForceEntry,
    )

_NONE = (0.0, 0.0, 0.0)


def build_case(document: "CaseDocument") -> Case:
    """Return the load case of a document; it is named after its file."""
    return Case(
        name=PurePath(document.origin.file).stem or document.title,
        title=document.title,
        about=document.about,
        measure=document.measure,
        holds=tuple(Hold(_place(h), h.motion, h.value) for h in document.hold),
        pushes=tuple(
            Push(
                _place(p),
                _along(p.force) if p.force else _NONE,
                p.couple,
                _about(p.moment) if p.moment else _NONE,
                _along(p.arm) if p.arm else _NONE,
            )
            for p in document.push
        ),
        spreads=tuple(Spread(s.start, s.end, _along(s.force), s.side) for s in document.spread),
        weight=None
        if document.weight is None
        else Weight(document.weight.factor, document.weight.masses, document.weight.laden),
        source=document.source,
        reads=tuple(Read(r.name, _place(r), r.motion) for r in document.read),
    )


def _place(entry: "HoldEntry | PushEntry | ReadEntry") -> Place:
    return Place(entry.axle, entry.station, entry.wheelbase, entry.point, entry.mount, entry.side)


def _along(entry: "ForceEntry | SpreadForceEntry | ArmEntry") -> tuple[float, float, float]:
    return entry.station, entry.offset, entry.height


def _about(entry: "MomentEntry") -> tuple[float, float, float]:
    return entry.roll, entry.pitch, entry.yaw
