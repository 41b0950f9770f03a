"""One document on the bench: variants solved as they are asked for, the latest ones kept."""

import threading
import time
from collections import OrderedDict
from dataclasses import dataclass, replace
from typing import TypeVar

from fea.analyse import analyse
from fea.bench.controls import Controls, controls
from fea.bench.wanted import Wanted
from fea.document.schema import FrameDocument
from fea.document.wear_added import with_wear
from fea.errors import FeaError
from fea.result.answer import Answer, answers
from fea.solve.condense import Memory, Store
from fea.study.variant import Setting, Variant, frame_of

K = TypeVar("K")
V = TypeVar("V")

KEPT = 24
"""Solved variants kept, so that going back costs nothing."""


@dataclass(frozen=True, eq=False)
class Solved:
    """The answers of a variant, one per case, and the seconds that each step took."""

    answers: tuple[Answer, ...]
    build: float
    solve: float
    kept: bool = False
    """Whether it was solved before and only looked up."""


class Bench:
    """A document, what can be changed of it, and what was solved.

    Any thread may ask; quick solves go one after the other, and so do those by sheet metal.
    """

    def __init__(self, setting: Setting, store: Store | None = None) -> None:
        """Take a setting with beam joints, and a store for condensed metal."""
        self.setting = setting
        self.controls: Controls = controls(setting.document, frame_of(setting, Variant()))
        self.store = store if store is not None else Memory()
        self._quick: OrderedDict[Wanted, Solved] = OrderedDict()
        self._sheet: OrderedDict[Wanted, Solved] = OrderedDict()
        self._worn: OrderedDict[str, FrameDocument] = OrderedDict()
        self._quick_lock, self._sheet_lock = threading.Lock(), threading.Lock()

    def quick(self, wanted: Wanted) -> Solved:
        """Return a variant with joints by beam rules."""
        with self._quick_lock:
            return self._solved(wanted, self._quick, sheet=False)

    def sheet(self, wanted: Wanted) -> Solved:
        """Return a variant with joints as sheet metal: seconds, unless the metal is kept."""
        with self._sheet_lock:
            return self._solved(wanted, self._sheet, sheet=True)

    def document(self, wanted: Wanted) -> FrameDocument:
        """Return the document of a variant before its edits: worn as far as it is asked for."""
        if not wanted.loss:
            return self.setting.document
        worn = self._worn.get(wanted.loss)
        if worn is None:
            rails = [rail.name for rail in self.setting.document.rail]
            worn = with_wear(self.setting.document, rails, wanted.loss)
            _keep(self._worn, wanted.loss, worn)
        return worn

    def _solved(
        self, wanted: Wanted, known: "OrderedDict[Wanted, Solved]", *, sheet: bool
    ) -> Solved:
        if wanted in known:
            known.move_to_end(wanted)
            return replace(known[wanted], build=0.0, solve=0.0, kept=True)
        start = time.perf_counter()
        setting = replace(self.setting, document=self.document(wanted), mounts=wanted.mounts)
        frame = frame_of(setting, wanted.variant)
        built = time.perf_counter()
        store = self.store if sheet else None
        found = answers(analyse(frame, setting.cases, sheet_joints=sheet, store=store))
        solved = Solved(tuple(found), built - start, time.perf_counter() - built)
        _keep(known, wanted, solved)
        return solved


def told(error: FeaError) -> list[str]:
    """Return what is wrong in lines for a reader, each complaint one line."""
    return [
        "; ".join(text for text in (c.where, c.rule, c.found and f"found {c.found}", c.do) if text)
        for c in error.complaints
    ]


def _keep(known: "OrderedDict[K, V]", key: K, value: V) -> None:
    known[key] = value
    while len(known) > KEPT:
        known.popitem(last=False)
