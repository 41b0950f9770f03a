"""A frame in a notebook: load it, change it, fit parts, solve it, look at it.

Examples
--------
>>> import fea
>>> frame = fea.load_frame("orchard_pickup", joints="beam")
>>> round(frame.twist / frame.stock().twist)  # what all its parts together buy
9
>>> frame.fitted
('boxing_cab', 'boxing_front', 'boxing_kick_up', 'boxing_rear', 'mid_tube', 'rear_box')
>>> frame.without("boxing_cab").twist < frame.twist
True
>>> thick = frame.change({"section.C150x60.wall": "5 mm"})
>>> thick.bending > frame.bending
True
>>> picture = frame.plot(case="twist")  # the last line of a cell shows it

Every method returns something new and leaves the frame as it was.  The heavy libraries
are imported when a frame is loaded, not with ``import fea``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from fea.errors import Complaint, DocumentError, ModelError

if TYPE_CHECKING:
    from fea.document.edit import Value
    from fea.document.schema import FrameDocument
    from fea.frame.case import Case
    from fea.result.answer import Answer
    from fea.study.variant import Setting, Variant

Joints = Literal["sheet", "beam"]
Colour = Literal["stress", "movement"]

USUAL = ("twist", "bending")
"""The cases that are solved when none is named."""


@dataclass(frozen=True)
class Picture:
    """A picture of a solved frame: shown by a notebook, kept with `save`."""

    png: bytes = field(repr=False)
    title: str

    def _repr_png_(self) -> bytes:
        return self.png

    def save(self, path: str | Path) -> Path:
        """Write the picture; a file of that name is replaced."""
        file = Path(path)
        file.write_bytes(self.png)
        return file


@dataclass(frozen=True, eq=False)
class Answers(Sequence["Answer"]):
    """The answers to some load cases, in the order asked: by number, or by name with `case`."""

    found: tuple[Answer, ...]

    def __len__(self) -> int:
        return len(self.found)

    def __iter__(self) -> Iterator[Answer]:
        return iter(self.found)

    def __getitem__(self, which: int) -> Answer:  # type: ignore[override]
        return self.found[which]

    def case(self, name: str) -> Answer:
        """Return the answer to one case by its name.

        Raises
        ------
        ModelError
            If that case was not solved.
        """
        from fea.document.spelling import choices

        by_name = {a.case.name: a for a in self.found}
        if name not in by_name:
            raise ModelError(
                Complaint("this case was not solved", found=name, do=choices(by_name, name))
            )
        return by_name[name]

    @property
    def twist(self) -> float | None:
        """Twist stiffness, N m/deg, or None where no case measures it."""
        return self._first("twist_stiffness_nm_per_deg")

    @property
    def bending(self) -> float | None:
        """Bending stiffness, N/mm, or None where no case measures it."""
        return self._first("bending_stiffness_n_per_mm")

    @property
    def figures(self) -> dict[str, dict[str, float]]:
        """The figures of every case by name, their units in the keys; a data frame takes it."""
        return {a.case.name: a.measures for a in self.found}

    def _first(self, key: str) -> float | None:
        return next((f[key] for f in self._stiffness if key in f), None)

    @cached_property
    def _stiffness(self) -> list[dict[str, float]]:
        from fea.result.answer import NM_PER_DEG

        found = []
        for a in self.found:
            one: dict[str, float] = {}
            if a.twist_stiffness is not None:
                one["twist_stiffness_nm_per_deg"] = float(a.twist_stiffness * NM_PER_DEG)
            if a.bending_stiffness is not None:
                one["bending_stiffness_n_per_mm"] = float(a.bending_stiffness)
            found.append(one)
        return found

    def __repr__(self) -> str:
        rows = [
            f"{a.case.name}: "
            + (", ".join(f"{k} {v:.4g}" for k, v in f.items()) or "no stiffness measured")
            for a, f in zip(self.found, self._stiffness, strict=True)
        ]
        return "\n".join(rows)


@dataclass(frozen=True, eq=False)
class FrameModel:
    """A frame document with a choice of parts, changes, body and joints.

    Attributes
    ----------
    document, source : the document and the file it came from
    parts : names of the parts that are fitted, None for those the document fits
    changes : what stands under some paths instead of what the document says
    positions : where bolted crossmembers stand, mm
    body, mounts : which body stands on the frame, on mounts of which grade
    joints : "sheet" (sheet metal, kept in the user's cache) or "beam" (quick rules)
    """

    document: FrameDocument = field(repr=False)
    source: str
    parts: frozenset[str] | None = None
    changes: Mapping[str, Value] = field(default_factory=dict)
    positions: Mapping[str, float] = field(default_factory=dict)
    body: str | None = None
    mounts: str | None = None
    joints: Joints = "sheet"

    @property
    def title(self) -> str:
        """The document's title."""
        return self.document.title

    @property
    def fitted(self) -> tuple[str, ...]:
        """Names of the parts that are on the frame, in order of name."""
        if self.parts is not None:
            return tuple(sorted(self.parts))
        return tuple(sorted(p.name for p in self.document.part if p.fitted))

    def change(self, edits: Mapping[str, Value]) -> FrameModel:
        """Return the frame with other figures: ``{"rail.wall": "5 mm"}``.

        Raises
        ------
        DocumentError
            If a path names nothing, or a value is refused where it is put.
        """
        from fea.document.edit import edited

        changes = {**self.changes, **edits}
        edited(self.document, changes)
        return replace(self, changes=changes)

    def fit(self, *parts: str) -> FrameModel:
        """Return the frame with these parts fitted as well."""
        return self._with_parts({*self.fitted, *self._known(parts)})

    def without(self, *parts: str) -> FrameModel:
        """Return the frame with these parts left off."""
        return self._with_parts(set(self.fitted) - set(self._known(parts)))

    def stock(self) -> FrameModel:
        """Return the frame with no added part."""
        return self._with_parts(set())

    def at(self, **stations: str) -> FrameModel:
        """Return the frame with bolted crossmembers elsewhere: ``at(X3="1200 mm")``."""
        from fea import units

        found = {name: units.parse(text, "length") for name, text in stations.items()}
        return replace(self, positions={**self.positions, **found})

    def run(
        self,
        *cases: str,
        joints: Joints | None = None,
        body: str | None = None,
        parts: Sequence[str] | None = None,
    ) -> Answers:
        """Return the answers to load cases, by name or path; twist and bending if none is named.

        Parameters
        ----------
        joints, body, parts
            In place of the frame's own for this once.

        Raises
        ------
        DocumentError, ModelError
            If a case, a part or a body is not there, or does not fit.
        SolveError
            If the frame is a mechanism, or an answer fails its own checks.
        """
        from fea.store import store
        from fea.study.variant import solve_variant

        model = self if parts is None else self._with_parts(set(self._known(parts)))
        model = replace(model, joints=joints or self.joints, body=body or self.body)
        setting, variant = model._asked(_cases(cases or USUAL))
        kept = store() if setting.sheet_joints else None
        return Answers(tuple(solve_variant(setting, variant, kept)))

    @property
    def twist(self) -> float:
        """Twist stiffness between the axles, N m/deg."""
        return _measured(self._usual.twist, "twist")

    @property
    def bending(self) -> float:
        """Bending stiffness at mid-wheelbase, N/mm."""
        return _measured(self._usual.bending, "bending")

    def plot(
        self,
        path: str | Path | None = None,
        *,
        case: str = "twist",
        colour: Colour = "stress",
        scale: float | None = None,
        width: int = 1600,
    ) -> Picture:
        """Return a picture of the frame as it moves under a case; written to `path` as well.

        Parameters
        ----------
        scale : float, optional
            How many times the movements are drawn.
        width : int, pixels

        Raises
        ------
        MissingExtraError
            If matplotlib is not installed.
        """
        import tempfile

        from fea.out.frame_scene import scene
        from fea.out.picture import write_png

        answer = self._usual.case(case) if case in USUAL else self.run(case)[0]
        shown = scene(answer, None, colour, "si")
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "picture.png"
            write_png(shown, file, scale=scale, width=width)
            picture = Picture(file.read_bytes(), f"{self.title}: {answer.case.title}")
        if path is not None:
            picture.save(path)
        return picture

    @cached_property
    def _usual(self) -> Answers:
        return self.run(*USUAL)

    def _asked(self, cases: tuple[Case, ...]) -> tuple[Setting, Variant]:
        from fea.study.variant import Setting, Variant

        setting = Setting(
            self.document,
            self.source,
            cases,
            sheet_joints=_sheet(self.joints),
            body=self.body,
            mounts=self.mounts,
        )
        parts = None if self.parts is None else sorted(self.parts)
        return setting, Variant.of(parts, self.positions, self.changes)

    def _known(self, parts: Sequence[str]) -> Sequence[str]:
        """Return the names, or complain of those that are no parts."""
        from fea.document.spelling import choices

        if isinstance(parts, str):
            parts = (parts,)
        there = [p.name for p in self.document.part]
        unknown = [
            Complaint("no part of that name", self.source, name, choices(there, name))
            for name in parts
            if name not in there
        ]
        if unknown:
            raise ModelError(*unknown)
        return parts

    def _with_parts(self, parts: set[str]) -> FrameModel:
        return replace(self, parts=frozenset(parts))


def load_frame(
    name: str | Path,
    *,
    joints: Joints = "sheet",
    body: str | None = None,
    mounts: str | None = None,
) -> FrameModel:
    """Return the frame of a document: a file of yours by path, or a shipped demo by name.

    Parameters
    ----------
    joints : "sheet" or "beam"
        Joints as sheet metal (slow the first time, then kept), or by quick beam rules.
    body, mounts : str, optional
        Which of the document's bodies stands on the frame, on mounts of which grade.

    Raises
    ------
    DocumentError
        If there is no such document, or with every complaint about it.
    """
    from fea.document.find import find_frame
    from fea.document.read import read_frame

    _sheet(joints)
    path = find_frame(name)
    return FrameModel(read_frame(path), str(path), body=body, mounts=mounts, joints=joints)


def _sheet(joints: str) -> bool:
    if joints not in ("sheet", "beam"):
        raise DocumentError(Complaint("unknown joints", "joints", joints, "sheet or beam"))
    return joints == "sheet"


def _measured(value: float | None, what: str) -> float:
    if value is None:  # pragma: no cover - the shipped cases measure both
        raise ModelError(Complaint("no stiffness was measured", where=what))
    return value


def _cases(names: Sequence[str]) -> tuple[Case, ...]:
    from fea.document.find import find_case
    from fea.document.read import read_case
    from fea.frame.build_case import build_case

    return tuple(build_case(read_case(find_case(name))) for name in names)
