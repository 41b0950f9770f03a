"""Runs validation cases and lays computed beside expected, one row per answer."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from fea.analyse import solve
from fea.document.validation import (
    ElementExpectEntry,
    SectionDocument,
    SectionExpectEntry,
    StructureDocument,
    StructureExpectEntry,
    Validation,
    read_validation,
)
from fea.document.validation_fastening import (
    BoltCheck,
    BoltExpectEntry,
    WeldCheck,
    WeldExpectEntry,
)
from fea.document.validation_frame import FrameCheck, FrameExpectEntry
from fea.element import beam
from fea.element.beam import Beams, beam_axes
from fea.errors import Complaint, DocumentError, SolveError
from fea.store import store
from fea.verify import fastening, frame
from fea.verify.find import validation_folder
from fea.verify.reading import check_unit, read_element, read_section, read_structure
from fea.verify.section import section_properties
from fea.verify.structure import build

if TYPE_CHECKING:
    from fea.solve.condense import Store

Answer = (
    StructureExpectEntry
    | SectionExpectEntry
    | ElementExpectEntry
    | FrameExpectEntry
    | WeldExpectEntry
    | BoltExpectEntry
)


@dataclass(frozen=True)
class CaseResult:
    """One answer beside what it should be.

    Attributes
    ----------
    id : str
        Case, dot, name of the answer; ``.printed`` after it where computed is compared with
        the figure as its source prints it.
    tolerance : float
        Relative to `expected`, or absolute where that is 0.
    certainty : "found", "memory" or "derived"
    """

    id: str
    title: str
    source: str
    quantity: str
    unit: str
    computed: float
    expected: float
    tolerance: float
    ok: bool
    certainty: str
    note: str


def run_all(folder: Path | None = None) -> list[CaseResult]:
    """Return the results of every case in a folder, the shipped ones unless given.

    Raises
    ------
    DocumentError
        With everything that is wrong with any of the files.
    """
    place = validation_folder() if folder is None else folder
    documents = list(_read_all(sorted(place.glob("*.toml"))))
    if not documents:
        raise DocumentError(Complaint("there are no validation cases here", str(place)))
    kept = store()
    return [row for document in documents for row in run_case(document, kept)]


def _read_all(paths: Iterable[Path]) -> Iterator[Validation]:
    complaints: list[Complaint] = []
    seen: dict[str, Path] = {}
    for path in paths:
        try:
            document = read_validation(path)
            _check(document)
        except DocumentError as error:
            complaints += error.complaints
            continue
        if document.id in seen:
            where = document.origin.where(("id",))
            do = f"it is taken by {seen[document.id].name}"
            complaints.append(
                Complaint("every case needs an id of its own", where, document.id, do)
            )
        seen[document.id] = path
        if not complaints:
            yield document
    if complaints:
        raise DocumentError(*complaints)


def _check(document: Validation) -> None:
    """Refuse what can be told to be wrong before anything is solved."""
    if isinstance(document, FrameCheck):
        frame.check(document)
        return
    if isinstance(document, WeldCheck | BoltCheck):
        fastening.check(document)
        return
    for number in range(len(document.expect)):
        check_unit(document, number)


def run_case(document: Validation, kept: "Store | None" = None) -> list[CaseResult]:
    """Return the results of one case: a row per value and a row per printed figure.

    A model that cannot be solved has rows without a computed value, none of them ok.
    Condensed joints are sought and left in `kept`, for this call alone if it is None.
    """
    fault = ""
    try:
        computed = _compute(document, kept)
    except SolveError as error:
        computed = [math.nan] * len(document.expect)
        fault = str(error.complaints[0].rule)
    rows: list[CaseResult] = []
    answers: Sequence[Answer] = document.expect
    for entry, number in zip(answers, computed, strict=True):
        rows += _rows(document, entry, number * entry.scale, fault)
    return rows


def _compute(document: Validation, kept: "Store | None") -> list[float]:
    if isinstance(document, FrameCheck):
        return frame.read(document, kept)
    if isinstance(document, WeldCheck | BoltCheck):
        return fastening.read(document)
    if isinstance(document, StructureDocument):
        return _structure(document)
    where = document.origin.where(("section",))
    section = section_properties(document.section, where)
    if isinstance(document, SectionDocument):
        return read_section(document, section)
    one = np.ones(1)
    E, G = document.material.E, document.material.G
    beams = Beams(
        length=document.length * one,
        axes=beam_axes(np.eye(3)[:1], np.eye(3)[2:], section.angle * one),
        arms=np.zeros((1, 2, 3)),
        centroid=(section.principal_axes @ section.centroid)[None],
        shear_centre=(section.principal_axes @ section.shear_centre)[None],
        held=np.zeros((1, 2, 3)),
        EA=E * section.A * one,
        EI1=E * section.I1 * one,
        EI2=E * section.I2 * one,
        GJ=G * section.J * one,
        ECw=E * section.Cw * one,
        shear=section.shear[None] / G,
    )
    return read_element(document, beam.stiffness(beams)[0])


def _structure(document: StructureDocument) -> list[float]:
    structure = build(document)
    found = [math.nan] * len(document.expect)
    if any(entry.number is None for entry in document.expect):
        solution = solve(structure.mesh, [structure.loads])[0]
        found = read_structure(document, structure, solution)
    if any(entry.number is not None for entry in document.expect):
        from fea.verify.swinging import read_numbered

        numbered = read_numbered(document, structure)
        found = [numbered.get(k, value) for k, value in enumerate(found)]
    return found


def _rows(document: Validation, entry: Answer, computed: float, fault: str) -> Iterator[CaseResult]:
    source = ", ".join(filter(None, (document.source, document.where)))
    quantity = (
        f"{entry.row} {entry.column}" if isinstance(entry, ElementExpectEntry) else entry.read
    )

    def row(suffix: str, expected: float, tolerance: float, known: str, note: str) -> CaseResult:
        error = abs(computed - expected)
        size = abs(expected) if expected != 0.0 else 1.0
        return CaseResult(
            id=f"{document.id}.{entry.name}{suffix}",
            title=document.title,
            source=source,
            quantity=quantity,
            unit=entry.unit,
            computed=computed,
            expected=expected,
            tolerance=tolerance,
            ok=bool(error <= tolerance * size),
            certainty=known,
            note=fault or note,
        )

    if entry.value is not None:
        note = "; ".join(filter(None, (entry.formula, entry.reason)))
        yield row("", entry.value, entry.tolerance, "derived", note)
    if entry.printed is not None:
        expected = float(entry.printed)
        tolerance = entry.within or half_last_digit(entry.printed) / abs(expected)
        known = entry.certainty or document.certainty
        yield row(".printed", expected, tolerance, known, entry.why or "to its last digit")


def half_last_digit(printed: str) -> float:
    """Return half a unit of the last digit of a printed figure.

    Examples
    --------
    >>> half_last_digit("0.0314")
    5e-05
    """
    exponent = Decimal(printed).as_tuple().exponent
    return 0.5 * 10.0 ** int(exponent)


def as_json(results: Iterable[CaseResult]) -> dict[str, Any]:
    """Return the results as plain data; `computed` is None where there is no answer."""
    return {
        "cases": [
            {
                "id": r.id,
                "source": r.source,
                "computed": r.computed if math.isfinite(r.computed) else None,
                "expected": r.expected,
                "tolerance": r.tolerance,
                "ok": r.ok,
            }
            for r in results
        ]
    }
