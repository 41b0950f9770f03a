"""One row of a fleet: a document read, changed as asked, solved, and what it says of itself.

A document, a value or a solution that is refused is a row that tells why; nothing that is
wrong with one row reaches another.
"""

import pickle
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from fea.document.read import frame_of_text
from fea.document.schema import FrameDocument
from fea.errors import Complaint, FeaError, SolveError
from fea.frame.build import build_frame
from fea.frame.case import Case
from fea.result.answer import NM_PER_DEG, Answer
from fea.study.attempt import Outcome, shared_store
from fea.study.fleet_plan import Asked
from fea.study.variant import Setting, Variant, solve_variant
from fea.study.vary import meant

SOLVED, FAILED, REFUSED = 0, 1, 2
"""How a row ended, as the command's own exit status tells: solved, not solved, input wrong."""


@dataclass(frozen=True)
class Common:
    """What all rows of a fleet share: load cases and the choices made on the command line.

    `stress`: look for the highest stress as well; the rest as in
    :func:`fea.frame.build.build_frame` and :class:`fea.study.variant.Setting`.
    """

    cases: tuple[Case, ...]
    fit: tuple[str, ...] = ()
    leave: tuple[str, ...] = ()
    stock: bool = False
    positions: tuple[tuple[str, float], ...] = ()
    body: str | None = None
    mounts: str | None = None
    sheet_joints: bool = False
    stress: bool = False
    backend: str = "auto"


@dataclass(frozen=True, eq=False)
class _Read:
    """A document that was read, or what was wrong with it."""

    document: FrameDocument | None
    common: Common
    source: str
    fitted: tuple[str, ...] = ()
    failed: Outcome = field(default_factory=dict)


def pack(text: str | None, path: Path, common: Common) -> bytes:
    """Return what all variants of a document share, packed for other processes.

    Without its text, since it is no longer what it was, its rows are to be tried again.
    """
    return zlib.compress(pickle.dumps((text, path, common)))


def work(job: bytes, asked: Asked) -> Outcome:
    """Return the row of one variant: its figures and checks, or its complaints."""
    try:
        read = _read(job)
        if read.document is None:
            return read.failed
        return _solved(read, read.document, asked)
    except FeaError as error:
        status = FAILED if isinstance(error, SolveError) else REFUSED
        return complained(error.complaints, status)
    except Exception as error:  # noqa: BLE001 - whatever it is, it must not end a fleet
        return unforeseen(error)


def complained(complaints: Sequence[Complaint], status: int) -> Outcome:
    """Return the row of what has no figures."""
    words = (
        c.rule + (f" ({c.found})" if c.found else "") + (f" [{c.where}]" if c.where else "")
        for c in complaints
    )
    return {"status": status, "complaint": "; ".join(dict.fromkeys(words))}


def unforeseen(error: Exception) -> Outcome:
    """Return the row of something that no rule foresaw."""
    name = type(error).__name__
    return complained([Complaint("this could not be computed", found=f"{name}: {error}")], FAILED)


@lru_cache(maxsize=2)
def _read(job: bytes) -> _Read:
    """Return a document, read once for all its variants that come to this process."""
    text, path, common = pickle.loads(zlib.decompress(job))
    if text is None:
        rule = "this document was changed while the fleet ran: start the fleet again"
        changed = {"complaints": [[rule, "", "", ""]], "lost": True}
        return _Read(None, common, str(path), failed=changed)
    try:
        document = frame_of_text(text, path)
        frame = build_frame(
            document,
            source=str(path),
            fit=common.fit,
            leave=common.leave,
            stock=common.stock,
            positions=dict(common.positions),
            body=common.body,
            mounts=common.mounts,
        )
    except FeaError as error:
        return _Read(None, common, str(path), failed=complained(error.complaints, REFUSED))
    return _Read(document, common, str(path), frame.fitted)


def _solved(read: _Read, document: FrameDocument, asked: Asked) -> Outcome:
    common, parts = read.common, set(read.fitted)
    edits = {}
    for key, text in asked:
        part, value = meant(key, text, document)
        if part is None:
            edits[key] = value
        elif value:
            parts.add(part)
        else:
            parts.discard(part)
    setting = Setting(
        document, read.source, common.cases, common.sheet_joints,
        body=common.body, mounts=common.mounts, backend=common.backend,
    )  # fmt: skip
    variant = Variant.of(sorted(parts), dict(common.positions), edits)
    store = shared_store() if common.sheet_joints else None
    found = solve_variant(setting, variant, store)
    return _row(found, stress=common.stress)


def _row(found: Sequence[Answer], *, stress: bool) -> Outcome:
    frame, checks = found[0].frame, [a.checks for a in found]
    twist = next((a.twist_stiffness for a in found if a.twist_stiffness is not None), None)
    bending = next((a.bending_stiffness for a in found if a.bending_stiffness is not None), None)
    row: Outcome = {
        "status": SOLVED,
        "complaint": "",
        "title": frame.title,
        "parts_fitted": ", ".join(frame.fitted),
        "twist_stiffness_nm_per_deg": None if twist is None else float(twist * NM_PER_DEG),
        "bending_stiffness_n_per_mm": None if bending is None else float(bending),
        "steel_kg": float(1000.0 * found[0].mass.steel),
        "kerb_kg": float(1000.0 * found[0].mass.kerb),
        "residual": max(float(c.residual) for c in checks),
        "force_balance": max(float(c.force_balance) for c in checks),
        "moment_balance": max(float(c.moment_balance) for c in checks),
        "energy_balance": max(float(c.energy_balance) for c in checks),
        "solver": ", ".join(dict.fromkeys(c.backend for c in checks)),
        "free_motions": max(int(c.freedoms) for c in checks),
    }
    if stress:
        worst = max((p for a in found for p in a.peaks), key=lambda p: p.utilisation, default=None)
        row |= {
            "highest_stress_mpa": None if worst is None else float(worst.von_mises),
            "highest_utilisation": None if worst is None else float(worst.utilisation),
            "highest_in": None if worst is None else worst.member,
        }
    return row
