"""From a validated case document to a `Case`."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path, PurePath
from typing import TYPE_CHECKING

from fea.errors import Complaint, DocumentError
from fea.frame.case import Case, Hold, Place, Push, Read, Spread, Term, Weight
from fea.frame.road import Bump, Jack, Kerb, Road, Step, Torque, Tow

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
    from fea.document.schema_road import CombineEntry, RoadEntry, TowEntry

_NONE = (0.0, 0.0, 0.0)


def build_case(document: "CaseDocument") -> Case:
    """Return the load case of a document; it is named after its file.

    The cases of a sum are read from beside it, or are shipped ones.

    Raises
    ------
    DocumentError
        If a case of a sum cannot be read, or is a sum itself.
    """
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
        road=None if document.road is None else _road(document.road),
        combine=_terms(document.combine, document.origin.file),
    )


def _terms(entries: "Sequence[CombineEntry]", file: str) -> tuple[Term, ...]:
    if not entries:
        return ()
    from fea.document.find import find_case
    from fea.document.read import read_case  # the reader's library: only where a file is read

    terms, wrong = [], []
    for entry in entries:
        beside = Path(file).parent / entry.case
        found = [p for p in (beside, beside.with_name(f"{beside.name}.toml")) if p.is_file()]
        document = read_case(found[0] if found and file else find_case(entry.case))
        if document.combine:
            wrong.append(
                Complaint(
                    "a sum is of cases that are no sums themselves",
                    file,
                    entry.case,
                    "list its cases here, each with its factor",
                )
            )
            continue
        terms.append(Term(build_case(document), entry.factor))
    if wrong:
        raise DocumentError(*wrong)
    return tuple(terms)


def _road(entry: "RoadEntry") -> Road:
    found = Road(
        laden=entry.laden,
        vertical=entry.vertical,
        braking=entry.braking,
        cornering=entry.cornering,
        brake_share_front=entry.brake_share_front,
        roll_centre=(entry.roll_centre.front, entry.roll_centre.rear),
        lifted=None if entry.wheels == "all" else entry.wheels,
        tow=None if entry.tow is None else _tow(entry.tow),
        sources=tuple(entry.source.items()),
    )
    if entry.bump is not None:
        b = entry.bump
        found = replace(found, bump=Bump(b.wheel, b.height, b.tyre_rate, b.frame_twist))
    if entry.kerb is not None:
        k = entry.kerb
        found = replace(found, kerb=Kerb(k.wheel, k.force, 1.0 if k.share is None else k.share))
    if entry.step is not None:
        s = entry.step
        found = replace(found, step=Step(s.wheel, s.height, s.factor, s.radius))
    if entry.jack is not None:
        found = replace(found, jack=Jack(entry.jack.corner, entry.jack.station))
    if entry.engine_torque is not None:
        t = entry.engine_torque
        found = replace(found, torque=Torque(t.moment, t.at, t.station, t.driven))
    return found


def _tow(entry: "TowEntry") -> Tow:
    return Tow(
        end=entry.end,
        place=Place(station=entry.station, point=entry.point, side=entry.side),
        force=entry.force,
        share=entry.share or 0.0,
        up=entry.angle,
        side=entry.side_angle,
        against=entry.against,
    )


def _place(entry: "HoldEntry | PushEntry | ReadEntry") -> Place:
    return Place(entry.axle, entry.station, entry.wheelbase, entry.point, entry.mount, entry.side)


def _along(entry: "ForceEntry | SpreadForceEntry | ArmEntry") -> tuple[float, float, float]:
    return entry.station, entry.offset, entry.height


def _about(entry: "MomentEntry") -> tuple[float, float, float]:
    return entry.roll, entry.pitch, entry.yaw
