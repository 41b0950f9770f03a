"""What welding parts into a crooked frame locks in.

Three ways to do it, by the mechanics of :mod:`fea.shop.staged`:

- as it stands: the frame keeps its shape, and is harder to straighten afterwards;
- forced to its sheet by clamps, welded, let go: some springs back, and stress stays;
- a part that is too short or too long, its gap closed by force (:mod:`fea.shop.gaps`).

The crooked frame is taken as free of stress and its stiffness as that of a straight one.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.errors import Complaint, ModelError
from fea.frame import path
from fea.frame.model import Frame
from fea.mesh.discretise import discretise
from fea.result.stress import Peak, peaks
from fea.shop.gaps import Gap, gaps
from fea.shop.left_in import Left, left_in
from fea.shop.rig import Grip, both, places, point_reads
from fea.shop.shape_csv import Shape
from fea.shop.staged import Staged, stage, stiffer
from fea.shop.survey_measures import Measure, measures
from fea.shop.survey_points import Pair, pairs
from fea.solve.condense import Store
from fea.solve.system import System, system

Array = NDArray[np.float64]

UP = (0.0, 0.0, 1.0)
SHOWN = ("twist", "diamond", "sag", "sidesway")
"""The measures told; the level ones are how it stands, not what it is."""


@dataclass(frozen=True)
class Figure:
    """A measure, mm or rad: as surveyed, in the clamps, and after they are off.

    `off` is None where the shape does not tell it; the others are then changes alone.
    """

    measure: Measure
    off: float | None
    forced: float
    after: float

    @property
    def springs_back(self) -> float | None:
        """Share of what the clamps took off that comes back; None where they moved nothing."""
        took = self.forced - (self.off or 0.0)
        return (self.after - self.forced) / -took if abs(took) > 1e-9 else None


@dataclass(frozen=True, eq=False)
class Locked:
    """What welding the parts locks in.

    Attributes
    ----------
    base : the frame before the parts, without what they replace
    stiffer : times the work that the same straightening takes once they are in
    clamping : highest stress of every member in the clamps
    left : highest stress left in every member after they are off
    replaced : members of the stock frame that the parts replace
    by_rule : times the work that the clamps would take by the beam rules for joints, which
        stress and gaps are by
    """

    frame: Frame
    base: Frame
    shape: Shape
    staged: Staged
    figures: tuple[Figure, ...]
    stiffer: float
    clamping: tuple[Peak, ...]
    left: tuple[Left, ...]
    gaps: tuple[Gap, ...]
    replaced: tuple[str, ...]
    by_rule: float
    sheet_joints: bool

    def worst(self, key: str) -> Figure | None:
        """Return the figure of a measure that is most off, None if there is none."""
        found = [f for f in self.figures if f.measure.key == key]
        return max(found, key=lambda f: abs(f.off or 0.0), default=None)


def before_parts(frame: Frame, stock: Frame) -> Frame:
    """Return a stock frame without the members that the parts of `frame` replace."""
    kept = {m.name for m in frame.members}
    gone = {m.name for m in stock.members} - kept
    return replace(
        stock,
        members=tuple(m for m in stock.members if m.name in kept),
        joints=tuple(j for j in stock.joints if not {j.member, j.onto} & gone),
        meetings=tuple(m for m in stock.meetings if not {n for n, _ in m.members} & gone),
        bulkheads=tuple(b for b in stock.bulkheads if b.member not in gone),
    )


def shared_places(*frames: Frame) -> dict[str, list[float]]:
    """Return where the members of several frames have joints, corners or a new section."""
    wanted: dict[str, list[float]] = {}
    for frame in frames:
        for m in frame.members:
            ends = [d for r in m.runs for d in (r.start, r.end)]
            wanted.setdefault(m.name, []).extend([*ends, *path.lengths(m.path).tolist()])
        for joint in frame.joints:
            wanted.setdefault(joint.onto, []).append(joint.distance)
        for meeting in frame.meetings:
            for name, distance in meeting.members:
                wanted.setdefault(name, []).append(distance)
    return wanted


def assembled(frame: Frame, wanted: Mapping[str, Sequence[float]], store: Store | None) -> System:
    """Return a frame assembled, with sheet-metal joints if there is a store."""
    there = {n: d for n, d in wanted.items() if any(m.name == n for m in frame.members)}
    return system(discretise(frame, there, sheet_joints=store is not None), store)


def clamp_grips(shape: Shape, names: Sequence[str], *, square: bool) -> tuple[list[Grip], Array]:
    """Return the clamps, and how far each must move its point, mm.

    Heights at the pairs `names` (the first, the middle one and the last if there are none); with
    `square`, also a chain on the longer diagonal between the first pair and the last.
    """
    twins = [p for p in pairs(shape.points) if shape.told[[p.right, p.left], 2].all()]
    if names:
        known = {p.name: p for p in twins}
        odd = [n for n in names if n not in known]
        if odd:
            rule = "clamps must be at pairs whose heights the shape tells"
            do = "one of " + ", ".join(known)
            raise ModelError(Complaint(rule, "--clamp", ", ".join(odd), do))
        chosen = [known[n] for n in dict.fromkeys(names)]
    elif len(twins) > 2:
        middle = 0.5 * (twins[0].station + twins[-1].station)
        inner = min(twins[1:-1], key=lambda p: abs(p.station - middle))
        chosen = [twins[0], inner, twins[-1]]
    else:
        chosen = twins
    if len(chosen) < 2:
        rule = "clamps need the heights of at least two pairs of points"
        raise ModelError(Complaint(rule, shape.source, f"{len(chosen)} pairs"))
    grips = [
        Grip(shape.points[k].key, ((shape.at[k], UP),)) for p in chosen for k in (p.right, p.left)
    ]
    motions = [-float(shape.off[k, 2]) for p in chosen for k in (p.right, p.left)]
    if square:
        grip, motion = _chain(shape, pairs(shape.points))
        grips.append(grip)
        motions.append(motion)
    return grips, np.array(motions)


def _chain(shape: Shape, twins: Sequence[Pair]) -> tuple[Grip, float]:
    """Return a chain on the longer diagonal, and its shortening: half of what they differ by.

    A bay that is pushed out of square has one diagonal longer by as much as the other is shorter.
    """
    a, b = twins[0], twins[-1]
    ends = ((a.right, b.left), (a.left, b.right))
    if not shape.told[[a.right, a.left, b.right, b.left], :2].all():
        rule = "--square needs stations and offsets of the first and the last pair"
        raise ModelError(Complaint(rule, shape.source, do="measure diagonals and offsets as well"))
    longer, units = [], []
    for one, other in ends:
        step = np.subtract(shape.at[other].point, shape.at[one].point)
        step[2] = 0.0
        units.append(step / np.linalg.norm(step))
        longer.append(float((shape.off[other] - shape.off[one]) @ units[-1]))
    k = int(np.argmax(longer))
    one, other = ends[k]
    x, y, z = units[k].tolist()
    words = f"chain {shape.points[one].key} to {shape.points[other].key}"
    grip = Grip(words, ((shape.at[other], (x, y, z)), (shape.at[one], (-x, -y, -z))))
    return grip, -0.5 * abs(longer[0] - longer[1])


def locked(
    frame: Frame,
    stock: Frame,
    shape: Shape,
    *,
    clamps: Sequence[str] = (),
    square: bool = False,
    store: Store | None = None,
) -> Locked:
    """Return what welding the parts of `frame` into its crooked `stock` locks in.

    Parameters
    ----------
    clamps : names of pairs of points; see :func:`clamp_grips`
    store : Store, optional
        For joints as sheet metal in shape, forces and work; by beam rules without it.  Stress
        and gaps are by beam rules always.

    Raises
    ------
    ModelError
        If no part is fitted, or the shape does not tell what the clamps need.
    """
    if not frame.fitted:
        rule = "there must be a part to weld in"
        raise ModelError(Complaint(rule, frame.source, do="fit one, as in --with NAME"))
    base = before_parts(frame, stock)
    grips, motions = clamp_grips(shape, clamps, square=square)
    # Elements of both meshes end at the same places, so that their stresses add up.
    wanted = both(shared_places(base, frame), places(shape.at))
    one, other = (assembled(f, wanted, None) for f in (base, frame))
    by_rule = stage(one, other, grips, motions)
    every = gaps(frame, shape.points, shape.at, other, wanted)
    staged = by_rule
    if store is not None:
        one, other = (assembled(f, places(shape.at), store) for f in (base, frame))
        staged = stage(one, other, grips, motions)
    return Locked(
        frame=frame,
        base=base,
        shape=shape,
        staged=staged,
        figures=_figures(frame, shape, staged),
        stiffer=stiffer(one, other, grips, motions),
        clamping=tuple(peaks(by_rule.forced)),
        left=tuple(left_in(by_rule)),
        gaps=tuple(every),
        replaced=tuple(
            m.name for m in stock.members if m.name not in {b.name for b in base.members}
        ),
        by_rule=by_rule.work / staged.work,
        sheet_joints=store is not None,
    )


def _figures(frame: Frame, shape: Shape, staged: Staged) -> tuple[Figure, ...]:
    forced, released = staged.steps(point_reads(shape.at))
    off, told = shape.off.ravel(), shape.told.ravel()
    found = []
    for m in measures(frame, shape.points):
        if m.key in SHOWN and not m.plumb:
            known = bool(told[m.row != 0.0].all())
            was = float(m.row @ off) * m.per if known else None
            inside = float(m.row @ forced) * m.per
            after = inside + float(m.row @ released) * m.per
            start = was or 0.0
            found.append(Figure(m, was, start + inside, start + after))
    return tuple(found)
