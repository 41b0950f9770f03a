"""The worst of many cases: of every member, joint and mount, and which case governs.

Forces are what is taken on from the neighbour: of a joint, by the end of the member that it
holds, next to the joint (next to its metal where it is sheet metal); of a mount, by the
frame.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fea.analyse import Solution
from fea.frame.model import Joint
from fea.result.answer import Answer
from fea.result.forces import end_forces

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Worst:
    """The largest of a figure over the cases, and the case."""

    value: float
    case: str


@dataclass(frozen=True)
class Row:
    """One member, joint or mount; None where a figure does not apply.

    stress, von Mises, MPa; utilisation, of yield; force, N, and moment, N mm, as lengths of
    their vectors; station, mm, of the highest utilisation or stress.
    """

    kind: Literal["member", "joint", "mount"]
    name: str
    stress: Worst | None = None
    utilisation: Worst | None = None
    force: Worst | None = None
    moment: Worst | None = None
    station: float | None = None

    @property
    def governs(self) -> str:
        """The case that governs: by utilisation, else by stress, else by force."""
        worst = self.utilisation or self.stress or self.force
        return worst.case if worst else ""


@dataclass(frozen=True, eq=False)
class Envelope:
    """The rows of members, joints and mounts, worst first, over some cases."""

    cases: tuple[str, ...]
    rows: tuple[Row, ...]

    def of(self, kind: str) -> list[Row]:
        """Return the rows of one kind."""
        return [r for r in self.rows if r.kind == kind]


def envelope(answers: Sequence[Answer]) -> Envelope:
    """Return the envelope of the answers of one frame, one per case."""
    rows = [*_members(answers), *_joints(answers), *_mounts(answers)]
    return Envelope(tuple(a.case.name for a in answers), tuple(rows))


def _worst(figures: Iterable[tuple[str, float | None]]) -> Worst | None:
    """Return the largest figure with its case; the first of equals."""
    told = [(case, value) for case, value in figures if value is not None]
    if not told:
        return None
    case, value = max(told, key=lambda pair: pair[1])
    return Worst(value, case)


def _members(answers: Sequence[Answer]) -> list[Row]:
    peaks = [{p.member: p for p in a.peaks} for a in answers]
    names = [a.case.name for a in answers]
    ends = [_along(a.solution) for a in answers]
    rows = []
    for member in answers[0].solution.mesh.members:
        found = [(n, p[member]) for n, p in zip(names, peaks, strict=True) if member in p]
        use = _worst((n, p.utilisation) for n, p in found)
        rows.append(
            Row(
                "member",
                member,
                stress=_worst((n, p.von_mises) for n, p in found),
                utilisation=use,
                force=_worst((n, e[member][0] if member in e else None)
                             for n, e in zip(names, ends, strict=True)),
                moment=_worst((n, e[member][1] if member in e else None)
                              for n, e in zip(names, ends, strict=True)),
                station=next((p.station for n, p in found if use and n == use.case), None),
            )
        )  # fmt: skip
    return sorted(rows, key=lambda r: -(r.utilisation.value if r.utilisation else 0.0))


def _sizes(solution: Solution) -> Array:
    """Return force, N, and moment, N mm, at both ends of every element, (n, 2 ends, 2)."""
    ends = end_forces(solution).reshape(-1, 2, 7)
    return np.stack(
        [np.linalg.norm(ends[..., :3], axis=-1), np.linalg.norm(ends[..., 3:6], axis=-1)], axis=-1
    )


def _along(solution: Solution) -> dict[str, tuple[float, float]]:
    """Return the largest force and moment at the nodes along every member's beams."""
    sizes = _sizes(solution)
    member = solution.mesh.elements.member
    return {
        name: (float(mine[..., 0].max()), float(mine[..., 1].max()))
        for k, name in enumerate(solution.mesh.members)
        if len(mine := sizes[member == k])
    }


def _joints(answers: Sequence[Answer]) -> list[Row]:
    names = [a.case.name for a in answers]
    metal = [{p.joint: p for p in a.joint_peaks} for a in answers]
    joints = answers[0].frame.joints
    called = [f"{j.member} on {j.onto}" for j in joints]
    force = [_taken(a.solution, joints) for a in answers]
    rows = []
    for k, name in enumerate(called):
        at = [next((p for key, p in m.items() if key.split(", ")[0] == name), None) for m in metal]
        stress = _worst((n, p.von_mises if p else None) for n, p in zip(names, at, strict=True))
        taken = [(n, f[k]) for n, f in zip(names, force, strict=True)]
        rows.append(
            Row(
                "joint",
                name,
                stress=stress,
                force=_worst((n, f[0] if f else None) for n, f in taken),
                moment=_worst((n, f[1] if f else None) for n, f in taken),
                station=float(answers[0].frame.member(joints[k].member).path[
                    0 if joints[k].end == "start" else -1, 0]),
            )
        )  # fmt: skip
    known = set(called)
    for name in dict.fromkeys(key for m in metal for key in m):
        if name.split(", ")[0] not in known:  # plate ends, kinks and bulkheads
            peaks = [(n, m[name]) for n, m in zip(names, metal, strict=True) if name in m]
            stress = _worst((n, p.von_mises) for n, p in peaks)
            station = next((p.station for n, p in peaks if stress and n == stress.case), None)
            rows.append(Row("joint", name, stress=stress, station=station))
    return sorted(
        rows,
        key=lambda r: (
            -(r.stress.value if r.stress else 0.0),
            -(r.force.value if r.force else 0.0),
        ),
    )


def _taken(solution: Solution, joints: Sequence[Joint]) -> list[tuple[float, float] | None]:
    """Return force and moment at every joint, in the nearest beam of the member it holds."""
    sizes, elements = _sizes(solution), solution.mesh.elements
    number = {name: k for k, name in enumerate(solution.mesh.members)}
    out: list[tuple[float, float] | None] = []
    for joint in joints:
        mine = np.flatnonzero(elements.member == number[joint.member])
        if not len(mine):
            out.append(None)
            continue
        first = joint.end == "start"
        place = elements.place[mine, 0 if first else 1]
        row = mine[int(np.argmin(place) if first else np.argmax(place))]
        force, moment = sizes[row, 0 if first else 1]
        out.append((float(force), float(moment)))
    return out


def _mounts(answers: Sequence[Answer]) -> list[Row]:
    """Return what mounts carry: through their springs to a body, else from their masses."""
    names = [a.case.name for a in answers]
    each = [mount_forces(a.solution) for a in answers]
    rows = []
    for mount in answers[0].frame.mounts:
        key = (mount.name, mount.side)
        found = [(n, float(np.linalg.norm(e[key]))) for n, e in zip(names, each, strict=True)
                 if key in e]  # fmt: skip
        if found:
            label = mount.name if mount.name.endswith(mount.side) else f"{mount.name} {mount.side}"
            rows.append(Row("mount", label, force=_worst(found), station=mount.position[0]))
    return sorted(rows, key=lambda r: -(r.force.value if r.force else 0.0))


def mount_forces(solution: Solution) -> dict[tuple[str, str], Array]:
    """Return the force of every mount, N along x, y, z, by its name and side.

    With a body that stands on it, what its springs carry; otherwise what masses put on it.
    """
    road = solution.loads.road
    found = dict(road.on_mounts) if road is not None else {}
    by_label: dict[str, list[float]] = {}
    springs = solution.mesh.springs
    for label, force in zip(springs.label, solution.spring_force.tolist(), strict=True):
        by_label.setdefault(label, []).append(force)
    for at in solution.mesh.bodies:
        for name, side in at.body.points:
            if f"mount {name} {side}" in by_label:
                # Springs stand in the order x, y, z; turns, after them, are left out.
                found[name, side] = np.array(by_label[f"mount {name} {side}"][:3])
            else:
                found[name, side] = np.zeros(3)
    return found
