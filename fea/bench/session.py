"""One document on the bench: variants solved as they are asked for, the latest ones kept."""

import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Literal, TypeVar

import numpy as np

from fea.analyse import analyse
from fea.bench.controls import Controls, controls
from fea.bench.estimate import Both, Estimate, estimates, mean_walls
from fea.bench.shelf import AtHand, NotAtHandError, Shelf, SupersededError, Watched
from fea.bench.wanted import Wanted
from fea.document.schema import FrameDocument
from fea.document.wear_added import with_wear
from fea.errors import Complaint, FeaError
from fea.result.answer import NM_PER_DEG, Answer, answers
from fea.solve.condense import Store
from fea.study.variant import Setting, Variant, frame_of

K = TypeVar("K")
V = TypeVar("V")

KEPT = 24
"""Solved variants kept, so that going back costs nothing."""

KEPT_SHEET = 6
"""Likewise by sheet metal: each may hold a hundred megabytes of it."""

PROMPT = 0.06
"""Seconds within which sheet metal at hand is answered with at once, so that it is drawn within
a tenth of a second; on a slower computer an estimate goes before."""


@dataclass(frozen=True, eq=False)
class Solved:
    """The answers of a variant, one per case, and the seconds that each step took.

    Attributes
    ----------
    joints : what they were taken as
    estimates : by measure, what sheet metal would say of a variant solved by beam rules
    kept : whether it was solved before and only looked up
    at_hand : whether all its sheet metal is condensed: it can follow in a moment
    """

    answers: tuple[Answer, ...]
    build: float
    solve: float
    kept: bool = False
    joints: Literal["beam", "sheet"] = "beam"
    estimates: dict[str, Estimate] = field(default_factory=dict)
    at_hand: bool = False


class Bench:
    """A document, what can be changed of it, and what was solved.

    Any thread may ask; quick solves go one after the other, and so do those by sheet metal.
    """

    def __init__(self, setting: Setting, behind: Callable[[], Store] | None = None) -> None:
        """Take a setting with beam joints, and what opens the store of condensed metal."""
        self.setting = setting
        self.controls: Controls = controls(setting.document, frame_of(setting, Variant()))
        self.shelf = Shelf() if behind is None else Shelf(behind)
        self._quick: OrderedDict[Wanted, Solved] = OrderedDict()
        self._sheet: OrderedDict[Wanted, Solved] = OrderedDict()
        self._both: dict[Wanted, Both] = {}
        self._condensed: set[Wanted] = set()
        self._worn: OrderedDict[str, FrameDocument] = OrderedDict()
        self._quick_lock, self._sheet_lock = threading.Lock(), threading.Lock()
        self._books = threading.Lock()
        self._pace = 0.0

    def quick(self, wanted: Wanted) -> Solved:
        """Return a variant with joints by beam rules."""
        with self._quick_lock:
            return self._solved(wanted, sheet=False)

    def sheet(self, wanted: Wanted, still: Callable[[], bool] = lambda: True) -> Solved:
        """Return a variant with joints as sheet metal: seconds, unless the metal is kept.

        Parameters
        ----------
        still : whether it is wanted still; asked now and then

        Raises
        ------
        SupersededError
            If it is not.
        """
        with self._sheet_lock:
            if not still():
                raise SupersededError(Complaint("another variant is wanted by now"))
            store = Watched(self.shelf, still)
            solved = self._solved(wanted, sheet=True, store=store)
        self._compare(wanted, self.quick(wanted), solved)
        return solved

    def at_once(self, wanted: Wanted) -> Solved:
        """Return the best that is known of a variant without a wait.

        That is sheet metal where it was solved or all of it is at hand, else beam rules set
        right by the nearest variant of which both are known.
        """
        with self._quick_lock:
            at_hand = _metal(wanted) in self._condensed
            if (at_hand and self._pace < PROMPT) or wanted in self._sheet:
                try:
                    return self._solved(wanted, sheet=True, store=AtHand(self.shelf))
                except NotAtHandError:
                    pass
            solved = self._solved(wanted, sheet=False)
        solved, figures = replace(solved, at_hand=at_hand), stiffnesses(solved)
        with self._books:
            nearest = min(self._both, key=lambda w: self._apart(wanted, figures, w), default=None)
            if nearest is None:
                return solved
            found = estimates(
                figures,
                self._both[nearest],
                self._both.values(),
                walls=mean_walls(solved.answers[0].frame),
                same_parts=_parts(wanted) == _parts(nearest),
            )
        return replace(solved, estimates=found)

    def document(self, wanted: Wanted) -> FrameDocument:
        """Return the document of a variant before its edits: worn as far as it is asked for."""
        if not wanted.loss:
            return self.setting.document
        worn = self._worn.get(wanted.loss)
        if worn is None:
            rails = [rail.name for rail in self.setting.document.rail]
            worn = with_wear(self.setting.document, rails, wanted.loss)
            with self._books:
                _keep(self._worn, wanted.loss, worn)
        return worn

    def _solved(self, wanted: Wanted, *, sheet: bool, store: Store | None = None) -> Solved:
        known = self._sheet if sheet else self._quick
        with self._books:
            if wanted in known:
                known.move_to_end(wanted)
                return replace(known[wanted], build=0.0, solve=0.0, kept=True)
        at_hand = sheet and _metal(wanted) in self._condensed
        start = time.perf_counter()
        setting = replace(self.setting, document=self.document(wanted), mounts=wanted.mounts)
        frame = frame_of(setting, wanted.variant)
        built = time.perf_counter()
        found = answers(analyse(frame, setting.cases, sheet_joints=sheet, store=store))
        end = time.perf_counter()
        joints: Literal["beam", "sheet"] = "sheet" if sheet else "beam"
        solved = Solved(tuple(found), built - start, end - built, joints=joints)
        with self._books:
            _keep(known, wanted, solved, KEPT_SHEET if sheet else KEPT)
            if sheet:
                self._condensed.add(_metal(wanted))
                if at_hand:
                    self._pace = end - start
        return solved

    def _compare(self, wanted: Wanted, quick: Solved, sheet: Solved) -> None:
        with self._books:
            self._both[wanted] = Both(
                stiffnesses(quick),
                stiffnesses(sheet),
                {a.case.measure: {s.name: s.share for s in a.shares} for a in sheet.answers},
                mean_walls(sheet.answers[0].frame),
            )

    def _apart(
        self, wanted: Wanted, figures: dict[str, float | None], other: Wanted
    ) -> tuple[int, float]:
        """Return how much a variant differs from another: in parts first, then in figures."""
        quick = self._both[other].quick
        pairs = [(figures[m], quick[m]) for m in figures]
        change = [abs(float(np.log(a / b))) for a, b in pairs if a and b]
        return len(_parts(wanted) ^ _parts(other)), sum(change)


def stiffnesses(solved: Solved) -> dict[str, float | None]:
    """Return twist (N m/deg) and bending stiffness (N/mm), None where no case measures it."""
    twist = next((a.twist_stiffness for a in solved.answers if a.twist_stiffness), None)
    bend = next((a.bending_stiffness for a in solved.answers if a.bending_stiffness), None)
    return {
        "twist": None if twist is None else float(twist * NM_PER_DEG),
        "bending": None if bend is None else float(bend),
    }


def told(error: FeaError) -> list[str]:
    """Return what is wrong in lines for a reader, each complaint one line."""
    return [
        "; ".join(text for text in (c.where, c.rule, c.found and f"found {c.found}", c.do) if text)
        for c in error.complaints
    ]


def _metal(wanted: Wanted) -> Wanted:
    """Return what variants of the same sheet metal have in common: not mounts, not ties."""
    edits = tuple(e for e in wanted.variant.edits if not e[0].startswith("tie."))
    return replace(wanted, variant=replace(wanted.variant, edits=edits), mounts=None)


def _parts(wanted: Wanted) -> set[object]:
    """Return what is switched on or off, or chosen by its name."""
    switched = {path for path, value in wanted.variant.edits if isinstance(value, bool)}
    return {*(wanted.variant.parts or ()), *switched, wanted.mounts}


def _keep(known: "OrderedDict[K, V]", key: K, value: V, most: int = KEPT) -> None:
    known[key] = value
    while len(known) > most:
        known.popitem(last=False)
