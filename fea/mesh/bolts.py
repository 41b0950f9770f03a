"""A bolted bracket: where its bolts sit on the wall of a rail, and how much they give.

The bracket itself is taken as a rigid plate at the end of the member.  It lies on the wall
that the member's axis meets, or, for a member that hangs below or lies above, on the wall
that faces it.  The bolts stand in one row along the rail (one to three) or in two columns
(four and more, an even number), in the middle of the wall or as near to where the member
ends as the wall allows.

What one bolt gives:

- along the wall, two sheets on one bolt in single shear after Huth [1]_, formula for bolted
  metal, ``1/k = 3 ((t1 + t2) / 2d)^(2/3) (1/t1 E1 + 1/t2 E2 + 1/2 t1 E3 + 1/2 t2 E3)``: the
  bolt bears on its hole.  While friction under the head still holds, it gives less.
- off the wall, its shank over the grip and one diameter, ``E 0.58 d2 / (t1 + t2 + d)``, with
  0.58 d2 the stress area of metric coarse threads (own estimate).
- In the beam rule also the rail's wall about the bolt, as a clamped round plate pulled in
  its middle [2]_, ``16 pi D / R2``, with R the distance to the wall's nearer edge (own
  estimate).  In sheet metal the wall is there to bend by itself.

References
----------
.. [1] H. Huth, Influence of fastener flexibility on the prediction of load transfer and
   fatigue life for multiple-row joints, in ASTM STP 927, 1986.
.. [2] S. Timoshenko, S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., 1959,
   sec. 19.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.element.beam import cross_matrix
from fea.errors import Complaint, ModelError
from fea.frame import path
from fea.frame.crossing import Crossing, axes_at, runs_at, tip
from fea.frame.model import Bolts, Frame, Joint, Run
from fea.mesh import weld
from fea.mesh.ends import wall_of
from fea.mesh.mesh import Rows

Array = NDArray[np.float64]
Index = NDArray[np.intp]

E_BOLT = 206000.0
"""MPa; steel, own estimate."""

STRESS_AREA = 0.58
"""Over the square of the diameter; M8 to M12 coarse threads lie between 0.57 and 0.59."""

WASHER = 0.75
"""Mean radius under head or washer over the bolt's diameter: a washer is two diameters wide."""

RING = 8
"""Points of that ring at which a bolt holds the sheet."""

REACH = 3.0
"""How far off the metal a point of the ring may lie, where the wall is bent, mm."""

EDGE = 1.0
"""Diameters that the middle of a bolt keeps from the edge of the wall."""


@dataclass(frozen=True, eq=False)
class Pattern:
    """Bolts on a wall.

    Attributes
    ----------
    centre : (3,), mm; axes : (3, 3), rows along the rail, across it in the wall, off the wall
    places : (n, 2), mm, from the centre along the first two axes
    to_edge : (n,), mm, from each bolt to the wall's nearer edge
    bolts : their sizes; run : the rail's length they sit on; thickness : mm, of the wall there
    bracket : MPa, modulus of the bracket
    """

    centre: Array
    axes: Array
    places: Array
    to_edge: Array
    bolts: Bolts
    run: Run
    thickness: float
    bracket: float

    @property
    def points(self) -> Array:
        """Where the bolts are, (n, 3), mm."""
        return self.centre + self.places @ self.axes[:2]

    def rings(self) -> Array:
        """Return the points of every bolt's ring, (n, RING, 3), mm."""
        angle = 2.0 * np.pi * np.arange(RING) / RING
        ring = WASHER * self.bolts.diameter * np.stack([np.cos(angle), np.sin(angle)], axis=1)
        return self.points[:, None] + ring @ self.axes[:2]

    def shear(self) -> float:
        """Return what one bolt resists along the wall, N/mm."""
        d, t1, t2 = self.bolts.diameter, self.thickness, self.bolts.wall
        e1, e2 = self.run.material.E, self.bracket
        sum_ = 1.0 / (t1 * e1) + 1.0 / (t2 * e2) + 0.5 / (t1 * E_BOLT) + 0.5 / (t2 * E_BOLT)
        return float(1.0 / (3.0 * ((t1 + t2) / (2.0 * d)) ** (2.0 / 3.0) * sum_))

    def pull(self) -> float:
        """Return what one bolt's shank resists off the wall, N/mm."""
        d = self.bolts.diameter
        return E_BOLT * STRESS_AREA * d**2 / (self.thickness + self.bolts.wall + d)

    def springs(self) -> Array:
        """Return the beam rule's springs along and about the three axes at the centre, (6,)."""
        nu = self.run.material.nu
        plate = self.run.material.E * self.thickness**3 / (12.0 * (1.0 - nu**2))
        wall = 16.0 * np.pi * plate / self.to_edge**2
        off = 1.0 / (1.0 / self.pull() + 1.0 / wall)
        along = np.full(len(off), self.shear())
        ring = 0.5 * (WASHER * self.bolts.diameter) ** 2
        a, b = self.places.T
        return np.array(
            [
                along.sum(),
                along.sum(),
                off.sum(),
                off @ (b**2 + ring),
                off @ (a**2 + ring),
                along @ (a**2 + b**2 + 2.0 * ring),
            ]
        )


def has_pattern(joint: Joint) -> bool:
    """Whether a joint's stiffness follows from its bolts."""
    return joint.kind == "bolted" and joint.bolts is not None and joint.stiffness is None


def places(bolts: Bolts) -> Array:
    """Return where bolts stand about their centre: along the rail, across, (n, 2), mm."""
    columns = bolts.count if bolts.count < 4 else 2
    rows = bolts.count // columns
    a = (np.arange(columns) - 0.5 * (columns - 1)) * bolts.spacing
    b = (np.arange(rows) - 0.5 * (rows - 1)) * bolts.spacing
    return np.stack(np.meshgrid(a, b), axis=-1).reshape(-1, 2)


def pattern(frame: Frame, joint: Joint) -> Pattern:
    """Return the bolts of a joint on their wall.

    Raises
    ------
    ModelError
        If the wall is too small for them.
    """
    bolts = joint.bolts
    if bolts is None:
        msg = f"{joint.member} has no bolts"
        raise ModelError(msg)
    member, onto = frame.member(joint.member), frame.member(joint.onto)
    local = axes_at(onto, joint.distance)
    origin = path.point_at(onto.path, joint.distance)
    point, inward = tip(member, joint.end)
    found = wall_of(frame, joint)
    if found is not None:
        at = (point + found.t * inward - origin) @ local.T
    else:
        at = (point - origin) @ local.T
        found = _facing(runs_at(onto, joint.distance), at[1:])
    line = found.run.section.midline
    a, b = (line.points[k] for k in line.walls[found.wall])
    length = float(np.linalg.norm(b - a))
    along = (b - a) / length
    spread = places(bolts)
    keep = EDGE * bolts.diameter + spread.max(axis=0)
    whole = float(path.lengths(onto.path)[-1])
    s = _inside(joint.distance + at[0], keep[0], whole, joint)
    f = _inside(float((at[1:] - a) @ along), keep[1], length, joint)
    middle = a + f * along
    axes = np.stack([local[0], along @ local[1:], np.cross(local[0], along @ local[1:])])
    return Pattern(
        centre=origin + (s - joint.distance) * local[0] + middle @ local[1:],
        axes=axes,
        places=spread,
        to_edge=np.minimum(f + spread[:, 1], length - f - spread[:, 1]),
        bolts=bolts,
        run=found.run,
        thickness=float(line.thickness[found.wall]),
        bracket=member.runs[0 if joint.end == "start" else -1].material.E,
    )


def ring_springs(
    bolts: Pattern, plate: int, points: Array, quads: Index
) -> tuple[list[Rows], list[float]]:
    """Return springs from the points of every bolt's ring to a plate, and their stiffness.

    Parameters
    ----------
    plate : node of the rigid plate, at the pattern's centre
    points : (n, 3), mm, of the sheet metal; quads : (k, 4), of the wall

    Returns
    -------
    rows : per ring point three, the wall's motion less the plate's along the pattern's axes,
        over six freedoms a node
    stiffness : N/mm, of every row
    """
    rings = bolts.rings().reshape(-1, 3)
    found = weld.locate(rings, points[quads], REACH)
    each = [bolts.shear() / RING, bolts.shear() / RING, bolts.pull() / RING]
    out: list[Rows] = []
    for point, q, weight, gap in zip(rings, found.quad, found.weight, found.gap, strict=True):
        if q < 0:
            continue
        rows = np.zeros((3, 5, 6))
        rows[:, :4, :3] = weight[:, None] * np.eye(3)[:, None]
        rows[:, :4, 3:] = -weight[:, None] * cross_matrix(gap)[:, None]
        rows[:, 4, :3] = -np.eye(3)
        rows[:, 4, 3:] = cross_matrix(point - bolts.centre)
        freedom = (6 * np.append(quads[q], plate)[:, None] + np.arange(6)).ravel()
        local = bolts.axes @ rows.reshape(3, -1)
        row, column = np.nonzero(local)
        on = freedom[column].astype(np.intp)
        out.append(Rows(row.astype(np.intp), on, local[row, column], 3))
    return out, each * len(out)


def _facing(runs: list[Run], at: Array) -> Crossing:
    """Return the wall nearest to a point of the section's plane; of two, the one that faces it."""
    best: tuple[float, float, Crossing] | None = None
    for run in runs:
        line = run.section.midline
        for wall, (i, j) in enumerate(line.walls):
            a, step = line.points[i], line.points[j] - line.points[i]
            f = float(np.clip((at - a) @ step / (step @ step), 0.0, 1.0))
            gap = at - a - f * step
            size = float(np.linalg.norm(gap))
            off = abs(float(gap[0] * step[1] - gap[1] * step[0])) / float(np.linalg.norm(step))
            rank = (round(size, 3), -round(off, 3))
            if best is None or rank < best[:2]:
                best = (*rank, Crossing(0.0, run, wall))
    assert best is not None
    return best[2]


def _inside(place: float, keep: float, length: float, joint: Joint) -> float:
    """Return the place nearest to `place` that keeps a distance from both ends."""
    if 2.0 * keep > length + 1e-6:
        assert joint.bolts is not None
        raise ModelError(
            Complaint(
                "the bolts of a joint must fit on the wall they go through",
                where=f"{joint.member}, {joint.end}, on {joint.onto}",
                found=f"{joint.bolts.count} bolts {joint.bolts.spacing:g} mm apart "
                f"on {length:.0f} mm",
                do="fewer bolts or closer ones, one diameter from the edge of the wall",
            )
        )
    return float(np.clip(place, keep, length - keep))
