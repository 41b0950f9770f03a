"""Frames for tests: the shipped ones, ladders written out from a few figures, and mirrors.

A `Ladder` writes itself as a document in millimetres or in inches, so that a test goes the
way a user's file goes; small frames without a document are put together as plain data.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Literal

import numpy as np

from fea import units
from fea.document.find import find_case, find_frame, shipped_cases, shipped_frames
from fea.document.read import read_case, read_frame
from fea.frame.build import build_frame
from fea.frame.build_case import build_case
from fea.frame.case import Case, Hold, Place, Push
from fea.frame.model import Axle, Frame, Joint, Material, Member, Mount, Run, Seat, Section
from fea.section import shapes
from fea.section.midline import Midline

FRAMES = tuple(shipped_frames())
CASES = tuple(shipped_cases())
DEMOS = tuple(
    (name, stock)
    for name in FRAMES
    for stock in ((False, True) if read_frame(find_frame(name)).part else (False,))
)
"""Every shipped frame with its parts, and without where it has any."""

MIRROR = np.array([1.0, -1.0, 1.0])
SWAP: dict[str, Literal["right", "left", "centre"]] = {
    "right": "left",
    "left": "right",
    "centre": "centre",
}
STEEL = Material("steel", 200e3, 0.25, 7.85e-9, 250.0)


@cache
def demo(name: str, stock: bool = False, fit: tuple[str, ...] = ()) -> Frame:
    """Return a shipped frame; frozen, so that tests may share it."""
    path = find_frame(name)
    return build_frame(read_frame(path), source=str(path), stock=stock, fit=fit)


@cache
def case(name: str) -> Case:
    """Return a shipped load case."""
    return build_case(read_case(find_case(name)))


# ------------------------------------------------------------------ ladders as documents


@dataclass(frozen=True)
class Sheet:
    """A section: its shape and dimensions, mm."""

    shape: str
    sizes: tuple[tuple[str, float], ...]

    def grown(self, factor: float) -> "Sheet":
        """Return the same outside with a thicker wall."""
        sizes = ((k, v * factor if k == "wall" else v) for k, v in self.sizes)
        return replace(self, sizes=tuple(sizes))


@dataclass(frozen=True)
class Cross:
    """A crossmember: where, how it is joined, how far it hangs, which way it opens."""

    station: float
    section: Sheet
    joint: str
    drop: float = 0.0
    opens: str = "rear"


@dataclass(frozen=True)
class Plate:
    """A boxing plate between two stations; side "both" or one of them."""

    start: float
    end: float
    thickness: float
    side: str = "both"


@dataclass(frozen=True)
class Ladder:
    """A ladder frame in a few figures, mm; two rails that are mirror images.

    `points`: station, offset, height and section of the right rail's corners.
    `seats`: stations of the front and of the rear axle's seats.
    """

    points: tuple[tuple[float, float, float, Sheet], ...]
    crosses: tuple[Cross, ...]
    axles: tuple[float, float]
    seats: tuple[tuple[float, ...], tuple[float, ...]]
    plates: tuple[Plate, ...] = ()

    def toml(self, system: Literal["mm", "in"] = "mm") -> str:
        """Return the ladder's document; every figure carries all its digits."""
        write = _Writer(system)
        sections = {s: f"S{k}" for k, s in enumerate(dict.fromkeys(self._sections()))}
        lines = ['title = "Ladder"', "[material.steel]"]
        lines += [f'E = "{write(206e3, "stress")}"', "nu = 0.3"]
        lines += [f'density = "{write(7.85e-9, "density")}"', f'yield = "{write(240.0, "stress")}"']
        for sheet, name in sections.items():
            lines += [f"[section.{name}]", f'shape = "{sheet.shape}"']
            lines += [f'{k} = "{write(v, "length")}"' for k, v in sheet.sizes]
        lines += ["[[rail]]", 'name = "rail"', "points = ["]
        for k, (station, offset, height, sheet) in enumerate(self.points):
            place = zip(("station", "offset", "height"), (station, offset, height), strict=True)
            words = [f'name = "P{k}"', *(f'{n} = "{write(v, "length")}"' for n, v in place)]
            if k < len(self.points) - 1:
                words.append(f'section = "{sections[sheet]}"')
            lines.append("    { " + ", ".join(words) + " },")
        lines.append("]")
        for k, cross in enumerate(self.crosses):
            lines += self._crossmember(write, f"X{k}", cross, sections[cross.section])
        for plate in self.plates:
            lines += ["[[boxing]]", 'rail = "rail"', f'side = "{plate.side}"']
            for word, value in (("from", plate.start), ("to", plate.end)):
                lines.append(f'{word} = "{write(value, "length")}"')
            lines.append(f'plate = "{write(plate.thickness, "length")}"')
        for axle, station, seats in zip(("front", "rear"), self.axles, self.seats, strict=True):
            lines += [f"[axle.{axle}]", f'station = "{write(station, "length")}"']
            listed = ", ".join(f'{{ station = "{write(s, "length")}" }}' for s in seats)
            lines += [f'track = "{write(1400.0, "length")}"', f"seats = [{listed}]"]
        return "\n".join(lines) + "\n"

    def _sections(self) -> Sequence[Sheet]:
        return [*(p[3] for p in self.points[:-1]), *(c.section for c in self.crosses)]

    def _crossmember(self, write: "_Writer", name: str, cross: Cross, section: str) -> list[str]:
        lines = ["[[crossmember]]", f'name = "{name}"', f'section = "{section}"']
        lines += [f'station = "{write(cross.station, "length")}"', f'joint = "{cross.joint}"']
        lines += [f'drop = "{write(cross.drop, "length")}"']
        if cross.section.shape in ("channel", "lipped channel", "hat"):
            lines.append(f'opens = "{cross.opens}"')
        if cross.joint == "bolted":
            move = write(2e5, "stiffness")
            turn = write(3e8, "rotational_stiffness")
            lines.append(f'joint_stiffness = {{ move = "{move}", turn = "{turn}" }}')
        return lines

    def frame(self, folder: Path, system: Literal["mm", "in"] = "mm") -> Frame:
        """Write the document, read it again and return its frame."""
        path = folder / f"ladder_{system}.toml"
        path.write_text(self.toml(system), encoding="utf-8")
        return build_frame(read_frame(path), source=str(path))


_UNITS = {
    "mm": {
        "length": "mm", "stress": "MPa", "density": "kg/m3", "stiffness": "N/mm",
        "rotational_stiffness": "N mm/rad",
    },
    "in": {
        "length": "in", "stress": "psi", "density": "lb/in3", "stiffness": "lbf/in",
        "rotational_stiffness": "in lbf/rad",
    },
}  # fmt: skip


class _Writer:
    """Writes a value in base units as text in millimetres and newtons, or inches and pounds."""

    def __init__(self, system: Literal["mm", "in"]) -> None:
        self.units = _UNITS[system]

    def __call__(self, value: float, kind: str) -> str:
        unit = self.units[kind]
        return f"{units.convert(value, kind, unit)!r} {unit}"


# ------------------------------------------------------------------------ mirrored frames


def mirror(frame: Frame) -> Frame:
    """Return the mirror image in the plane offset = 0, right and left swapped.

    A section's y axis is ``up cross x``: in the mirror image of a member it points the
    other way, so that the midline's y changes sign in every member.
    """
    return replace(
        frame,
        members=tuple(_mirrored(m) for m in frame.members),
        meetings=tuple(replace(m, position=_turn(m.position)) for m in frame.meetings),
        mounts=tuple(_other_side(m) for m in frame.mounts),
        masses=tuple(replace(m, position=_turn(m.position)) for m in frame.masses),
        axles=tuple(replace(a, seats=tuple(_other_side(s) for s in a.seats)) for a in frame.axles),
    )


def _mirrored(member: Member) -> Member:
    runs = tuple(replace(r, section=_mirrored_section(r.section)) for r in member.runs)
    return replace(
        member, path=member.path * MIRROR, up=member.up * MIRROR, runs=runs, side=SWAP[member.side]
    )


def _mirrored_section(section: Section) -> Section:
    line = section.midline
    return replace(section, midline=replace(line, points=line.points * [-1.0, 1.0]))


def _other_side(item: Mount | Seat) -> "Mount | Seat":
    return replace(item, side=SWAP[item.side], position=_turn(item.position))


def _turn(position: tuple[float, float, float]) -> tuple[float, float, float]:
    return position[0], -position[1], position[2]


# ------------------------------------------------------------- small frames as plain data


def section(midline: Midline, name: str = "S", *, is_open: bool = False) -> Section:
    """Return a section with its midline; the outer sizes are those of the midline."""
    width, depth = np.ptp(midline.points, axis=0).tolist()
    return Section(name, midline, depth, width, is_open)


def square_tube(side: float, wall: float) -> Section:
    """Return a square tube of the given side at mid-wall."""
    return section(shapes.box(depth=side + wall, width=side + wall, wall=wall), "tube")


def member(
    name: str,
    path: Sequence[Sequence[float]],
    shape: Section,
    kind: Literal["rail", "crossmember", "brace"] = "rail",
    side: Literal["right", "left", "centre"] = "centre",
    material: Material = STEEL,
) -> Member:
    """Return a member with one section from end to end, its section upright."""
    corners = np.asarray(path, dtype=float)
    length = float(np.sum(np.linalg.norm(np.diff(corners, axis=0), axis=1)))
    run = Run(0.0, length, shape, material, None, material.yield_stress)
    names = tuple(f"{name} {k}" for k in range(len(corners)))
    return Member(name, kind, side, corners, names, (run,), np.array([0.0, 0.0, 1.0]))


SMALL_TUBE = square_tube(60.0, 3.0)


def cantilever(length: float, rail: Section) -> Frame:
    """Return one straight rail on the centreline from station 0: no axle, no crossmember."""
    one = member("rail", [(0.0, 0.0, 0.0), (length, 0.0, 0.0)], rail)
    return Frame("one", "One rail", "one", (one,), ())


def two_rails(
    length: float,
    width: float,
    rail: Section,
    cross: Section,
    stations: Sequence[float],
    joint: Joint | None = None,
) -> Frame:
    """Return two straight rails with crossmembers `X0`, `X1` ... at the stations.

    Axles stand at both ends of the rails.  All joints are of the kind of `joint`, rigid
    unless it is given.
    """
    model = joint or Joint("", "start", "", 0.0, "rigid")
    y = width / 2.0
    members = [
        member("rail right", [(0.0, y, 0.0), (length, y, 0.0)], rail, side="right"),
        member("rail left", [(0.0, -y, 0.0), (length, -y, 0.0)], rail, side="left"),
    ]
    joints = []
    for k, x in enumerate(stations):
        path = [(x, -y, 0.0), (x, y, 0.0)]
        members.append(member(f"X{k}", path, cross, "crossmember"))
        for end, onto in (("start", "rail left"), ("end", "rail right")):
            joints.append(replace(model, member=f"X{k}", end=end, onto=onto, distance=x))
    axles = tuple(
        Axle(
            name,
            x,
            width,
            tuple(
                Seat(side, (x, s * y, 0.0), f"rail {side}", x, 1.0)
                for side, s in (("right", 1.0), ("left", -1.0))
            ),
        )
        for name, x in (("front", 0.0), ("rear", length))
    )
    return Frame("small", "Small", "small", tuple(members), tuple(joints), axles=axles)


def simply_held(
    pushes: Sequence[Push] = (), measure: Literal["twist", "bending", "none"] = "none"
) -> Case:
    """Return a case that holds both axles' seats in height and the rest just enough."""
    front, rear = Place(axle="front"), Place(axle="rear")
    holds = (
        Hold(front, "height"),
        Hold(rear, "height"),
        Hold(replace(rear, side="mean"), "station"),
        Hold(replace(rear, side="mean"), "offset"),
        Hold(replace(front, side="mean"), "offset"),
    )
    return Case("held", "Held", "", measure, holds, tuple(pushes))
