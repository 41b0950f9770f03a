"""One frame document in many variants: which parts, where bolted, with which figures."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from fea.analyse import Analysis, Checks, analyse
from fea.document.edit import Value, edited
from fea.document.schema import FrameDocument
from fea.frame.build import build_frame
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.result.answer import Answer, answers
from fea.result.case_figures import case_figures
from fea.result.mass import masses
from fea.solve.condense import Memory, Store
from fea.solve.stores import Lean


@dataclass(frozen=True, eq=False)
class Setting:
    """What all variants of a study share.

    `coarse`: see :func:`fea.analyse.analyse`; coarse sheet metal ranks as fine does.
    """

    document: FrameDocument
    source: str
    cases: tuple[Case, ...]
    sheet_joints: bool = False
    coarse: float = 1.0
    body: str | None = None
    mounts: str | None = None
    backend: str = "auto"


@dataclass(frozen=True)
class Variant:
    """One choice; equal choices are equal and hash alike.

    Attributes
    ----------
    parts : names of the parts that are fitted, None for those the document fits
    positions : pairs of a crossmember and its station, mm
    edits : pairs of a path (:mod:`fea.document.edit`) and what to put there
    turned : crossmembers bolted in turned round
    """

    parts: frozenset[str] | None = None
    positions: tuple[tuple[str, float], ...] = ()
    edits: tuple[tuple[str, Value], ...] = ()
    turned: tuple[str, ...] = ()

    @staticmethod
    def of(
        parts: Sequence[str] | None = None,
        positions: Mapping[str, float] | None = None,
        edits: Mapping[str, Value] | None = None,
        turned: Sequence[str] = (),
    ) -> "Variant":
        """Return the variant of plain lists and mappings, in one order."""
        return Variant(
            None if parts is None else frozenset(parts),
            tuple(sorted((positions or {}).items())),
            tuple(sorted((edits or {}).items())),
            tuple(sorted(turned)),
        )


@dataclass(frozen=True)
class Figures:
    """What a variant measures, in base units; None where no case measures it.

    `peak`, MPa, and `utilisation` are the worst over the cases, `peak_member` where;
    `residual` is the worst self-check.
    """

    twist: float | None
    bending: float | None
    steel: float
    peak: float | None
    utilisation: float | None
    peak_member: str = ""
    residual: float = field(default=0.0, compare=False)


def frame_of(setting: Setting, variant: Variant) -> Frame:
    """Return the frame of a variant.

    Raises
    ------
    DocumentError, ModelError
        If its edits or its choice do not fit the document.
    """
    document = setting.document
    if variant.edits:
        document = edited(document, dict(variant.edits))
    chosen = variant.parts is not None
    return build_frame(
        document,
        source=setting.source,
        fit=sorted(variant.parts or ()),
        stock=chosen,
        positions=dict(variant.positions),
        turned=variant.turned,
        body=setting.body,
        mounts=setting.mounts,
    )


def solve_variant(setting: Setting, variant: Variant, store: Store | None = None) -> list[Answer]:
    """Return the answers of a variant, one per case."""
    return answers(_analysis(setting, frame_of(setting, variant), store))


def measure(
    setting: Setting, variant: Variant, store: Store | None = None, *, stress: bool = False
) -> Figures:
    """Return the figures of a variant; with the highest stress if asked, which costs more."""
    if not stress:
        return _stiffness(setting, variant, store)
    found = solve_variant(setting, variant, store)
    worst = max((p for a in found for p in a.peaks), key=lambda p: p.utilisation, default=None)
    return Figures(
        twist=_first([a.twist_stiffness for a in found]),
        bending=_first([a.bending_stiffness for a in found]),
        steel=float(found[0].mass.steel),
        peak=worst.von_mises if worst else None,
        utilisation=worst.utilisation if worst else None,
        peak_member=worst.member if worst else "",
        residual=_residual([a.checks for a in found]),
    )


def _stiffness(setting: Setting, variant: Variant, store: Store | None) -> Figures:
    """Return the figures without stress, for which sheet metal's stiffness alone is enough."""
    frame = frame_of(setting, variant)
    found = _analysis(setting, frame, Lean(store or Memory()))
    told = [case_figures(frame, c, s) for c, s in zip(found.cases, found.solutions, strict=True)]
    return Figures(
        twist=_first([one.twist for one in told]),
        bending=_first([one.bending for one in told]),
        steel=float(masses(frame).steel),
        peak=None,
        utilisation=None,
        residual=_residual([s.checks for s in found.solutions]),
    )


def _analysis(setting: Setting, frame: Frame, store: Store | None) -> Analysis:
    return analyse(
        frame,
        setting.cases,
        backend=setting.backend,
        sheet_joints=setting.sheet_joints,
        store=store,
        coarse=setting.coarse,
    )


def _residual(checks: Sequence[Checks]) -> float:
    return max(max(c.residual, c.force_balance, c.moment_balance) for c in checks)


def _first(values: Sequence[float | None]) -> float | None:
    return next((float(v) for v in values if v is not None), None)
