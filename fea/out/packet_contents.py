"""What goes into a packet: every study it tells of, run once and kept together.

A study that a frame cannot have (no body to tie, no part to fit) is kept as the reason in words,
so that the packet says why a chapter is short.
"""

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from fea.analyse import analyse
from fea.document.schema import FrameDocument
from fea.errors import FeaError, ModelError
from fea.frame.case import Case
from fea.frame.model import Frame
from fea.result.answer import Answer, answers
from fea.result.envelope import Envelope, envelope
from fea.section.seam import Stitch
from fea.shop.cut_list import CutList, cut_list
from fea.shop.stand_levels import OffLevel, off_level
from fea.shop.stand_places import allowed
from fea.shop.stands import Standing, bench, best
from fea.shop.weld_model import WeldModel
from fea.shop.weld_order import OrderStudy
from fea.shop.weld_order import study as study_orders
from fea.shop.weld_runs import plan as weld_plan
from fea.shop.weld_schedule import Schedule, schedule
from fea.shop.weld_shrinkage import PROCESSES
from fea.strength.report import Strength, Wanted, strength
from fea.study.parts import PartStudy
from fea.study.parts import study as study_parts
from fea.study.ties import TieStudy
from fea.study.variant import Setting, Variant
from fea.units import System
from fea.verify.find import validation_folder

if TYPE_CHECKING:
    from fea.solve.condense import Store

GRADES = ("rubber", "urethane", "solid")
"""Of the mounts, that ties are tried with."""

PROCESS = "mig"
"""Of welding, that the schedule is for."""

LEVEL = float(np.radians(0.1))
"""Twist between the axles, rad, that stands off level may bring."""

COARSE = 2.0
"""How much larger sheet metal's quadrilaterals are in the study of parts: ranks stay."""

Found = TypeVar("Found")


@dataclass(frozen=True, eq=False)
class Asked:
    """What a packet is asked for.

    Attributes
    ----------
    document, text : the frame document and the file's own text
    frame, stock : the frame as chosen; without any part, None if no part is fitted
    twist, bending : the cases that measure stiffness
    cases : the load cases that strength is taken over
    options : what the user chose, in words, for the record and the fingerprint
    stitches : part -> how its plates are welded
    """

    document: FrameDocument
    text: str
    frame: Frame
    stock: Frame | None
    twist: Case
    bending: Case
    cases: tuple[Case, ...]
    options: Mapping[str, str]
    positions: Mapping[str, float]
    body: str | None
    mounts: str | None
    sheet_joints: bool
    system: System
    stitches: Mapping[str | None, Stitch]

    @property
    def fingerprint(self) -> str:
        """Return the SHA-256 of the document's text, the choices and the version."""
        told = {"document": self.text, "options": dict(self.options), "version": release()}
        text = json.dumps(told, sort_keys=True, ensure_ascii=False)
        return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


@dataclass(frozen=True, eq=False)
class Loaded:
    """The load cases' answers and the worst of them."""

    answers: tuple[Answer, ...]
    worst: Envelope


@dataclass(frozen=True, eq=False)
class Stands:
    """The best four and six stands for the bare frame; how true those of the first must be."""

    sets: tuple[Standing, ...]
    moves: tuple[OffLevel, ...]


@dataclass(frozen=True, eq=False)
class Welding:
    """The orders of welding, and the schedule of the best."""

    orders: OrderStudy
    schedule: Schedule


@dataclass(frozen=True, eq=False)
class Contents:
    """All results of a packet; a reason in words where there is none.

    `now` and `stock`: twist then bending, `stock` None if no part is fitted.
    """

    asked: Asked
    now: tuple[Answer, ...]
    stock: tuple[Answer, ...] | None
    parts: PartStudy | str
    ties: TieStudy | str
    loaded: Loaded | str
    strength: Strength | str
    stands: Stands | str
    welding: Welding | str
    cuts: CutList | str
    validation: int


def release() -> str:
    """Return the version that is installed."""
    try:
        return version("plumbrail")
    except PackageNotFoundError:
        return "not installed"


def gather(
    asked: Asked,
    now: Sequence[Answer],
    stock: Sequence[Answer] | None,
    store: "Store | None" = None,
) -> Contents:
    """Return everything that a packet tells.

    Parameters
    ----------
    now, stock : the frame under twist and bending, and its stock form
    store : of condensed joints, with joints as sheet metal

    Raises
    ------
    SolveError
        As :func:`fea.analyse.analyse`.
    """
    return Contents(
        asked,
        tuple(now),
        tuple(stock) if stock is not None else None,
        _parts(asked),
        _ties(asked, store),
        _or_reason(lambda: _loaded(asked, store)),
        _or_reason(
            lambda: strength(
                asked.frame,
                asked.cases,
                asked.twist,
                Wanted(stitches=asked.stitches),
                sheet_joints=asked.sheet_joints,
                store=store,
            )
        ),
        _or_reason(lambda: _stands(asked, store)),
        _or_reason(lambda: _welding(asked)),
        _or_reason(lambda: cut_list(asked.document, asked.frame)),
        len(list(validation_folder().glob("*.toml"))),
    )


def _or_reason(make: Callable[[], Found]) -> Found | str:
    """Return what is made, or in one sentence why it cannot be."""
    try:
        return make()
    except FeaError as error:
        first = error.complaints[0]
        return "; ".join(t for t in (first.rule, first.where, first.found) if t)


def _parts(asked: Asked) -> PartStudy | str:
    if not asked.document.part:
        return "the document offers no part to fit"
    setting = Setting(
        asked.document,
        asked.frame.name,
        (asked.twist, asked.bending),
        sheet_joints=asked.sheet_joints,
        coarse=COARSE if asked.sheet_joints else 1.0,
        body=asked.body,
        mounts=asked.mounts,
    )
    base = Variant.of(positions=asked.positions)
    return _or_reason(lambda: study_parts(setting, base, keep=asked.frame.fitted))


def _ties(asked: Asked, store: "Store | None") -> TieStudy | str:
    from fea.frame.ties import candidates
    from fea.study.ties import study

    if not asked.frame.bodies:
        return "no body was chosen to stand on the frame"
    spare = [t for t in candidates(asked.frame) if not t.fitted]
    return _or_reason(
        lambda: study(
            asked.frame,
            spare,
            GRADES,
            (asked.twist, asked.bending),
            sheet_joints=asked.sheet_joints,
            store=store,
        )
    )


def _loaded(asked: Asked, store: "Store | None") -> Loaded:
    solved = answers(
        analyse(asked.frame, asked.cases, sheet_joints=asked.sheet_joints, store=store)
    )
    return Loaded(tuple(solved), envelope(solved))


def _stands(asked: Asked, store: "Store | None") -> Stands:
    on = bench(asked.frame, allowed(asked.frame), store=store if asked.sheet_joints else None)
    four = best(on, 2, keep=1)[0]
    return Stands((four, best(on, 3, keep=1)[0]), tuple(off_level(four, LEVEL)))


def _welding(asked: Asked) -> Welding:
    if not asked.frame.fitted:
        rule = "no part is fitted, so nothing is welded"
        raise ModelError(rule)
    planned = weld_plan(asked.frame, asked.frame.fitted, stitches=asked.stitches)
    orders = study_orders(WeldModel(planned))
    when = schedule(planned.runs, orders.best.order, PROCESSES[PROCESS])
    return Welding(orders, when)
