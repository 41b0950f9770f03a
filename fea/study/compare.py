"""Before and after: two states of a frame, or two frames, under the same load cases."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fea.analyse import analyse
from fea.errors import Complaint, ModelError
from fea.result.answer import Answer, answers
from fea.result.envelope import Row, envelope
from fea.study.compare_places import Place, worse_places

if TYPE_CHECKING:
    from fea.frame.case import Case
    from fea.frame.model import Frame
    from fea.result.modes import FrameModes
    from fea.solve.condense import Store

Kind = Literal["member", "joint", "mount"]

WORSE = 0.1
"""Share by which a figure must have risen to count as worse, if nothing else is asked for."""

SPARE = 6
"""Modes found beyond those asked for: parts change the order of modes."""

MIXED = "mixed, mostly "
"""What the name of a mode begins with that is one thing more than another."""


@dataclass(frozen=True, eq=False)
class State:
    """One of the two: its name in tables, its frame solved, one answer per case, its modes."""

    label: str
    frame: Frame
    answers: tuple[Answer, ...]
    modes: FrameModes | None = None
    n_modes: int = 0
    """How many of the modes were asked for; the rest are there to be matched."""


@dataclass(frozen=True)
class Figure:
    """One figure of the whole frame in base units, None where a state has none.

    `kind` is that of :data:`fea.units.KINDS`.
    """

    name: str
    kind: str
    before: float | None
    after: float | None
    case: str = ""

    @property
    def ratio(self) -> float | None:
        """After over before."""
        return self.after / self.before if self.before and self.after is not None else None


@dataclass(frozen=True)
class Pair:
    """A member, joint or mount before and after; None where it is not in that state."""

    kind: Kind
    name: str
    before: Row | None
    after: Row | None

    @property
    def figure(self) -> str:
        """What a change is told by: the first figure that either has."""
        for name in ("utilisation", "stress", "moment", "force"):
            if any(row is not None and getattr(row, name) for row in (self.before, self.after)):
                return name
        return "force"

    def value(self, state: Literal["before", "after"], figure: str) -> float | None:
        """Return a figure of a state, None where there is none."""
        row = self.before if state == "before" else self.after
        worst = getattr(row, figure) if row is not None else None
        return None if worst is None else float(worst.value)

    @property
    def change(self) -> float | None:
        """The change of its figure as a share, None where it is not in both states."""
        one, other = self.value("before", self.figure), self.value("after", self.figure)
        return other / one - 1.0 if one and other is not None else None


@dataclass(frozen=True)
class Group:
    """The pairs of one load case, or of the worst of several; the largest rise first."""

    cases: tuple[str, ...]
    title: str
    pairs: tuple[Pair, ...]

    def of(self, kind: Kind) -> list[Pair]:
        """Return the pairs of one kind."""
        return [p for p in self.pairs if p.kind == kind]


@dataclass(frozen=True, eq=False)
class Comparison:
    """Two states set side by side.

    Attributes
    ----------
    limit : share by which a figure must have risen to count as worse
    figures : of the whole frame; places : what got worse, along members first
    groups : one per case; overall : the worst over all cases
    """

    before: State
    after: State
    limit: float
    figures: tuple[Figure, ...]
    places: tuple[Place, ...]
    groups: tuple[Group, ...]
    overall: Group

    def heavier(self, kind: Kind) -> list[tuple[str, Pair]]:
        """Return the pairs of a kind that rose by more than the limit, with their cases."""
        return [
            (group.cases[0], pair)
            for group in self.groups
            for pair in group.of(kind)
            if pair.change is not None and pair.change > self.limit
        ]


def solve_state(
    label: str,
    frame: Frame,
    cases: Sequence[Case],
    *,
    modes: int = 3,
    sheet_joints: bool = False,
    store: Store | None = None,
) -> State:
    """Return a frame solved for all cases, with its lowest `modes` modes, hung in nothing."""
    solved = answers(analyse(frame, cases, sheet_joints=sheet_joints, store=store))
    found = None
    if modes:
        from fea.result.modes import frame_modes

        found = frame_modes(frame, modes + SPARE, sheet_joints=sheet_joints, store=store)
    return State(label, frame, tuple(solved), found, modes)


def compare(before: State, after: State, limit: float = WORSE) -> Comparison:
    """Return two states set side by side.

    Parameters
    ----------
    before, after : solved for the same cases, in the same order
    limit : share by which a figure must have risen to count as worse, 0.1 for a tenth

    Raises
    ------
    ModelError
        If the two were not solved for the same cases.
    """
    one, other = ([a.case.name for a in s.answers] for s in (before, after))
    if one != other:
        rule = "two states are compared under the same load cases"
        raise ModelError(Complaint(rule, found=f"{', '.join(one)} and {', '.join(other)}"))
    both = list(zip(before.answers, after.answers, strict=True))
    places = [p for a, b in both for p in worse_places(a, b, limit)]
    overall = (f"the worst of {len(both)} cases", before.answers, after.answers)
    return Comparison(
        before,
        after,
        limit,
        figures=(*_stiffness(both), *_masses(before, after), *_modes(before, after)),
        places=tuple(sorted(places, key=lambda p: (p.about != "", -p.rise))),
        groups=tuple(_group(b.case.title, [a], [b]) for a, b in both),
        overall=_group(*overall),
    )


def _stiffness(both: Sequence[tuple[Answer, Answer]]) -> list[Figure]:
    found = []
    for a, b in both:
        several = sum(b.case.measure == other.case.measure for _, other in both) > 1
        of = f", {b.case.name}" if several else ""
        for name, kind, values in (
            ("Twist stiffness", "rotational_stiffness", (a.twist_stiffness, b.twist_stiffness)),
            ("Bending stiffness", "stiffness", (a.bending_stiffness, b.bending_stiffness)),
        ):
            if values != (None, None):
                found.append(Figure(f"{name}{of}", kind, *values, case=b.case.name))
    return found


def _masses(before: State, after: State) -> list[Figure]:
    steel = [float(s.answers[0].mass.steel) for s in (before, after)]
    return [Figure("Frame steel", "mass", steel[0], steel[1])]


def _modes(before: State, after: State) -> list[Figure]:
    """Return the natural frequencies, those of the same chief motion side by side.

    What is among the lowest of one state is looked for a little further up in the other.
    """
    if before.modes is None or after.modes is None:
        return []
    both = ((before.modes.modes, before.n_modes), (after.modes.modes, after.n_modes))
    # From the highest down: of two of one name the lower one stands.
    every = [{_chief(m.name): m.frequency for m in found[::-1]} for found, _ in both]
    names = [_chief(m.name) for found, n in both for m in found[:n]]
    rows = [
        Figure(f"Mode: {n}", "frequency", every[0].get(n), every[1].get(n))
        for n in dict.fromkeys(names)
    ]
    return sorted(rows, key=lambda f: f.before or f.after or 0.0)


def _chief(name: str) -> str:
    """Return what a mode mostly is.

    >>> _chief("mixed, mostly first vertical bending")
    'first vertical bending'
    """
    return name.removeprefix(MIXED)


def _group(title: str, before: Sequence[Answer], after: Sequence[Answer]) -> Group:
    one, other = (envelope(found).rows for found in (before, after))
    rows = [{(r.kind, r.name): r for r in side} for side in (one, other)]
    pairs = [
        Pair(kind, name, rows[0].get((kind, name)), rows[1].get((kind, name)))
        for kind, name in dict.fromkeys((*rows[1], *rows[0]))
    ]
    ordered = sorted(pairs, key=lambda p: -(p.change if p.change is not None else -2.0))
    return Group(tuple(a.case.name for a in after), title, tuple(ordered))
