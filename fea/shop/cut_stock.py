"""Added crossmembers and braces as lengths of stock: how long, how each end is cut."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.frame import path
from fea.frame.crossing import axes_at, crossings, runs_at, tip
from fea.frame.model import Frame, Joint, Material, Member
from fea.section.bay import bay
from fea.section.midline import Midline, metal
from fea.section.shapes import extent
from fea.shop.metal_solids import PLATE, arched

Array = NDArray[np.float64]


@dataclass(frozen=True)
class EndCut:
    """How an end is cut: degrees off square in plan and in elevation, mm taken off, a note."""

    plan: float
    elevation: float
    short: float
    note: str

    @property
    def words(self) -> str:
        """The cut in a few words."""
        names = ("in plan", "in elevation")
        off = [
            f"{abs(angle):.1f} deg {name}"
            for name, angle in zip(names, (self.plan, self.elevation), strict=True)
            if abs(angle) >= 0.05
        ]
        return " and ".join(off) + " off square" if off else "square"


@dataclass(frozen=True, eq=False)
class Stock:
    """A length of tube, box or channel; `weld` is mm round its ends."""

    part: str
    name: str
    section: str
    wall: float
    material: Material
    length: float
    area: float
    ends: tuple[EndCut, ...]
    weld: float
    note: str = ""

    @property
    def mass(self) -> float:
        """Its mass, tonne, cut square at its mean length."""
        return self.area * self.length * self.material.density


def stock_lengths(frame: Frame) -> Iterator[Stock]:
    """Yield every added crossmember and brace."""
    for member in frame.members:
        if member.part is None or member.kind == "rail":
            continue
        arch = frame.packaging.arch(member.name)
        line = member.path if arch is None else arched(member.path, arch)
        joints = {joint.end: joint for joint in frame.joints if joint.member == member.name}
        ends, weld = [], 0.0
        run = member.runs[0]
        outline = _round(run.section.midline)
        for word in ("start", "end"):
            joint = joints.get("start" if word == "start" else "end")
            ends.append(_end(frame, member, joint, word))
            if joint is not None and joint.kind in ("web", "web_and_flanges", "through"):
                weld += outline
        length = float(path.lengths(line)[-1]) - sum(end.short for end in ends)
        notes = [f"arched by {arch.height:g} mm: length along the arch"] if arch else []
        turns = _turns(line)
        if turns:
            notes.append("bent or mitred by " + ", ".join(f"{t:.1f}" for t in turns) + " deg")
        section = run.section
        # A tube is a polygon whose sides are a trifle thinner than its wall.
        wall = round(float(section.midline.thickness.max()), 2)
        yield Stock(
            member.part, member.name, section.name, wall, run.material, length,
            metal(section.midline)[0], tuple(ends), weld, "; ".join(notes),
        )  # fmt: skip


def _round(midline: Midline) -> float:
    """Return the length of one weld along every wall, mm."""
    ends = midline.points[midline.walls]
    return float(np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1).sum())


def _turns(line: Array) -> list[float]:
    steps = np.diff(line, axis=0)
    steps = steps / np.linalg.norm(steps, axis=1)[:, None]
    cosines = np.clip((steps[:-1] * steps[1:]).sum(axis=1), -1.0, 1.0)
    return [float(t) for t in np.degrees(np.arccos(cosines)) if t > 0.05]


def _end(frame: Frame, member: Member, joint: Joint | None, word: str) -> EndCut:
    if joint is None:
        return EndCut(0.0, 0.0, 0.0, "free")
    onto = frame.member(joint.onto)
    point, inward = tip(member, word)
    axes = path.leg_axes(member.path, member.up)[0 if word == "start" else -1]
    normal = axes_at(onto, joint.distance)[1]
    normal = normal * np.sign(normal @ inward or 1.0)
    along = float(normal @ inward)
    plan, elevation = (float(np.degrees(np.arctan2(normal @ axes[k], along))) for k in (1, 2))
    short = (
        0.0 if joint.kind in ("through", "rigid", "bolted") else _taken(onto, joint, inward, point)
    )
    return EndCut(plan, elevation, short, _note(member, onto, joint))


def _taken(onto: Member, joint: Joint, inward: Array, point: Array) -> float:
    """Return how far the end stays short of the path's, to stand against a wall, mm.

    The held wall (a channel's web) where the line of the member meets it, or else the wall
    nearest to it: that of a box or a tube.
    """
    walls = crossings(onto, joint.distance, point, inward)
    run = runs_at(onto, joint.distance)[0]
    if not walls:
        return 0.0
    midline = run.section.midline
    named = [w for w in walls if w.wall == w.run.section.midline.held_wall]
    boxed = PLATE in midline.names or run.section.is_open
    wall = named[0] if boxed and named else max(walls, key=lambda w: w.t)
    slant = abs(float(inward @ axes_at(onto, joint.distance)[1]))
    thickness = float(wall.run.section.midline.thickness[wall.wall])
    return max(0.0, wall.t + 0.5 * thickness / max(slant, 0.1))


def _note(member: Member, onto: Member, joint: Joint) -> str:
    section = runs_at(onto, joint.distance)[0].section
    midline = section.midline
    tall = extent(member.runs[0].section.midline)[0]
    clear = section.depth - 2.0 * float(midline.thickness.max())
    if joint.kind == "bolted":
        return f"bolted to {onto.name}: its brackets are not listed"
    if joint.kind == "rigid":
        return f"to {onto.name}"
    if joint.kind == "through":
        return f"passes through {onto.name}: cut its walls to the outline"
    name = onto.name.removesuffix(f" {onto.side}")
    web = np.abs(np.diff(midline.points[midline.walls[midline.held_wall]], axis=0)[0])
    upright = bool(web[1] > web[0]) and bay(midline) is not None
    is_channel = upright and (section.is_open or PLATE in midline.names)
    words = f"to the web of {name}" if is_channel else f"to the side of {name}"
    if PLATE in midline.names:
        words = f"to the web of {name}, before its plate or through a cut-out in it"
    fits = tall <= clear + 1e-6
    if is_channel and not fits:
        words += f"; cope for the flanges: {clear:.0f} mm between them"
    if joint.kind == "web_and_flanges":
        words += f"; welded to the flanges too, {clear:.0f} mm between them"
    return words
